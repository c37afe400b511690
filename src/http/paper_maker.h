// Papers for the page: made by the program beside this one (lathbook-papers), in a folder of their own that is removed
// as soon as they are read. Names come from one table and from the jobs of the book; nothing of a request names a file.
//
// What was made is kept until the book or the day moves on, so that a preview and the download are the same bytes.
#pragma once

#include <atomic>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::http {

/// A kind of paper as docs/papers.md names it.
struct PaperKind {
  std::string_view name;
  bool redactable = false;  ///< sections may be left out of it
};
[[nodiscard]] std::span<const PaperKind> paper_kinds();

struct PaperFile {
  std::string name;  ///< "register.pdf", "tables/materials.csv"
  std::string media_type;
  std::string bytes;
};

/// The state of the book a paper is made of.
struct PaperMoment {
  long long revision = 0;
  std::string today;  ///< YYYY-MM-DD
};

class PaperMaker {
 public:
  /// `program` is the helper; `book` the file it reads.
  PaperMaker(std::filesystem::path program, std::filesystem::path book);
  ~PaperMaker();
  PaperMaker(const PaperMaker&) = delete;
  PaperMaker& operator=(const PaperMaker&) = delete;

  using Files = std::shared_ptr<const std::vector<PaperFile>>;

  /// The files of one order: a kind, a job's id for its brief or a person's for their exposure record, with sections to
  /// leave out ("handover,health,costs"). Faults: an unknown name (404), what the helper said on its way out (its own
  /// words), a helper that cannot be started or takes longer than a minute. May be called from many threads; orders are
  /// made one after another.
  [[nodiscard]] reason::Result<Files> files(const std::string& order, const PaperMoment& moment);

  /// One page of a PDF among them as a PNG about 1,000 pixels high, for a preview. `page` counts from 1. Faults: not a
  /// PDF, no such page, or pdftoppm (poppler-utils) is not there.
  [[nodiscard]] reason::Result<std::string> preview(const std::string& order, const std::string& file, int page,
                                                    const PaperMoment& moment);

  /// How many requests may be at papers at once, one at work and the others waiting; those beyond are turned away
  /// (409).
  static constexpr int kMostWaiting = 8;  // more than the six connections a browser opens

 private:
  class Turn;
  [[nodiscard]] reason::Result<Files> made(const std::string& order, const PaperMoment& moment);

  std::filesystem::path program_;
  std::filesystem::path book_;
  std::atomic<int> waiting_ = 0;
  std::mutex one_at_a_time_;
  PaperMoment moment_;
  std::map<std::string, Files> made_;
  std::map<std::string, std::string> previews_;
};

}  // namespace lathbook::http
