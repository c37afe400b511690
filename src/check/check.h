// "May I start this job?": what a planned job meets, what the law calls that, who may do it, and the cheapest way on.
//
// Joins fabric (what the cuts touch), evidence (what may be claimed of it) and law (the class of the work, who may do
// it). A pure function of the house, and of nothing else: no clock, no file.
//
// The rules of the verdict (docs/methods/check.md):
//  1. A material counts as asbestos unless its standing releases it (no asbestos detected, proven later than the ban)
//  or
//     its family is no suspect at all (brick, solid timber, glass). Belief, however low, never enters here.
//  2. A face that a cut goes into and of which nothing is written down is not released: it has to be looked at first,
//     unless its room was built wholly after the ban.
//  3. What remains is put to the rule pack with the job's own tasks, its minutes and those of other jobs within the
//     days over which the pack's limits count, the area that it and the jobs still to be done take out, the region, and
//     whoever is to do it. If every answer lets them, the job may start with precautions. If not: *not
//     by them* when something identified as asbestos is what the job is there to take out; *have it removed first, or
//     go round* when something identified is in its way; *test first* otherwise.
//  4. A room in which a licensed removal is under way, or done and not cleared, or in which something of that kind was
//     disturbed since it was last cleared (clearing.h), is not worked in: the same answer as for something identified
//     in its way.
// Adding evidence of asbestos can therefore only keep a verdict or make it stricter; tests/… hold this over random
// books.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "book/book.h"
#include "check/clearing.h"
#include "check/house.h"
#include "fabric/route.h"
#include "fabric/touch.h"
#include "law/classify.h"
#include "reason/reason.h"

namespace lathbook::check {

/// The five answers, mildest first.
enum class Verdict { kMayStart, kWithPrecautions, kTestFirst, kRemoveFirst, kNotByYou };

/// "may start", "may start with these precautions", "test first", "have it removed first, or go round", "not by you";
/// for a trade "not by this trade".
[[nodiscard]] std::string verdict_words(Verdict verdict, book::Who by);
/// 0, 10, 11, 12, 13 (docs/calc.md).
[[nodiscard]] int exit_status(Verdict verdict);

/// One material the job meets, once for the job, at its closest.
struct Touched {
  std::size_t material = 0;       ///< in Book::materials
  std::vector<std::size_t> cuts;  ///< in Job::cuts, ascending
  fabric::Certainty certainty = fabric::Certainty::kPossible;
  fabric::Side side = fabric::Side::kNear;
  double distance_m = 0;
  bool released = false;               ///< plain work on it is released
  std::optional<law::WorkClass> work;  ///< what the law makes of it; absent when released
  std::vector<std::string> tasks;      ///< the tasks of those cuts
};

/// A face a cut goes into and of which nothing is written down.
struct Unwritten {
  book::RoomId room;
  book::Face face;
  fabric::Side side = fabric::Side::kNear;
  std::vector<std::size_t> cuts;
};

enum class WayKind { kWriteDown, kTest, kGoRound, kAwaitRemoval, kRemove, kBringIn };

/// Another way to lay the run that a job lays: it keeps clear of every material that is not released.
struct OtherRoute {
  fabric::Route route;
  double diameter_m = 0;           ///< of the run, as the cuts draw it
  double extra_m = 0;              ///< beyond the run as drawn; negative when it is shorter
  int extra_holes = 0;             ///< through walls and floors, likewise
  std::vector<Unwritten> look_at;  ///< faces it goes into of which nothing is written down; `cuts` is empty
};

/// One way to make the job possible.
struct WayOn {
  WayKind kind = WayKind::kTest;
  std::string text;
  std::vector<book::MaterialId> materials;
  std::optional<book::Money> cost;  ///< of taking this way, above the job done plain; absent = not known
  std::optional<double> days_from;  ///< of waiting or work it adds
  std::optional<double> days_to;
  std::optional<double> chance_clear;     ///< of a test: that everything tested is found clear
  std::optional<OtherRoute> other_route;  ///< of going round with a cable, pipe or duct
  std::string command;                    ///< what the terminal does it with; empty where no one command does
  std::optional<Unwritten> at;            ///< of writing down: the face to look at; absent = what the job cuts
};

struct Answer {
  book::JobId job;
  Verdict verdict = Verdict::kMayStart;
  std::string sentence;          ///< the verdict with its ground, in one sentence
  std::vector<Touched> touched;  ///< strictest first
  std::vector<Unwritten> unwritten;
  std::vector<NotCleared> not_cleared;   ///< rooms it works in; not of materials in its way
  std::optional<law::WorkClass> work;    ///< the strictest class among what is touched; absent = nothing the rules meet
  std::vector<std::string> precautions;  ///< in the order one does them; only when the job may start with precautions
  std::vector<WayOn> ways;               ///< cheapest first; unknown costs last
  reason::Reasons reasons;
  std::vector<std::string> cautions;
};

/// Whether to look for another way to lay what a job lays: the dearest part of an answer.
enum class Routes { kLookFor, kLeaveOut };

/// Answers for the jobs of one house; what several jobs share is worked out once.
class Checker {
 public:
  /// `house` must outlive it.
  explicit Checker(const House& house);
  ~Checker();
  Checker(const Checker&) = delete;
  Checker& operator=(const Checker&) = delete;

  /// The answer for one job; `index` is its place in Book::jobs.
  [[nodiscard]] Answer job(std::size_t index, Routes routes = Routes::kLeaveOut);
  /// The answers for all jobs, in the order of the book, other routes left out.
  [[nodiscard]] std::vector<Answer> all();

 private:
  class Touches;
  class OneJob;
  const House& house_;
  std::vector<NotCleared> not_cleared_;
  std::unique_ptr<Touches> touches_;
};

}  // namespace lathbook::check
