// What the page may ask, and the answers: docs/formats/http.md.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "assets/assets.h"
#include "http/message.h"
#include "http/phone_desk.h"
#include "reason/fault.h"

namespace lathbook::http {

/// Where the time comes from; the site has no clock of its own.
struct Clock {
  std::function<std::string()> now;    ///< UTC, YYYY-MM-DDThh:mm:ssZ
  std::function<std::string()> today;  ///< the local day, YYYY-MM-DD
};

/// One book behind the page. May be called from many threads; requests are answered one after another, but for draws of
/// events, which run beside them. When another program has changed the book since, it is read again first.
class Site {
 public:
  /// `paper_program` makes papers (lathbook-papers); `desk` lets phones in, none = no phone may. Faults: as
  /// OpenBook::open.
  [[nodiscard]] static reason::Result<std::unique_ptr<Site>> open(const std::filesystem::path& book, Clock clock,
                                                                  const std::vector<assets::Asset>& files,
                                                                  std::filesystem::path paper_program = {},
                                                                  std::shared_ptr<PhoneDesk> desk = nullptr);
  ~Site();
  Site(const Site&) = delete;
  Site& operator=(const Site&) = delete;

  /// Where the file as it was is kept, if opening the book brought it up to date.
  [[nodiscard]] const std::optional<std::filesystem::path>& old_copy() const;

  /// Answers a request that the guard let through.
  [[nodiscard]] Response answer(const Request& request);

  /// What may be asked below /api/, with how: "GET book", "POST add".
  [[nodiscard]] static std::vector<std::string> questions();

  struct Impl;

 private:
  explicit Site(std::unique_ptr<Impl> impl);
  std::mutex one_at_a_time_;
  std::unique_ptr<Impl> impl_;
};

}  // namespace lathbook::http
