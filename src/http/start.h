// What `lathbook-serve` is asked for, and doing it: opens the book, puts its page on loopback, hands the address over.
#pragma once

#include <filesystem>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "reason/fault.h"

namespace lathbook::http {

struct Start {
  std::filesystem::path book;
  int port = 0;                       ///< 0 = the book's usual one, or any free one
  std::optional<std::string> day;     ///< answer as if today were this day; empty = the clock goes on
  bool phone = false;                 ///< also for phones on the private network
  bool list_phones = false;           ///< instead of serving: the phones that are paired
  std::optional<std::string> revoke;  ///< instead of serving: this phone is out
  bool json = false;                  ///< tell of phones as JSON
  bool open_browser = true;           ///< where there is a desktop to open it on
};

/// Reads `--book FILE [--port NUMBER] [--day YYYY-MM-DD] [--no-open] [--phone]`, or `--phones [--revoke ID] [--json]`
/// alone. Faults: all words that do not fit.
[[nodiscard]] reason::Result<Start> read_start(const std::vector<std::string>& words);

/// The port a book is served on when nobody says otherwise and it is free: always the same, since what a browser keeps
/// for the program is kept under its address. From 20000 to 29999.
[[nodiscard]] int usual_port(const std::filesystem::path& book);

/// Serves until the process is told to end; the address goes to `out`. Papers are made by `lathbook-papers` beside this
/// program. Faults: a program built without its page, a book
/// that does not open, a port that is taken.
/// With `phone`, where phones find it and the first code go there too; with `list_phones` or `revoke` it only tells of
/// the phones paired and ends.
[[nodiscard]] reason::Result<reason::Done> start(const Start& wanted, std::ostream& out);

}  // namespace lathbook::http
