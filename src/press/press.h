// Puts papers into a folder: opens the book, makes the papers asked for, writes them whole.
//
// All papers are made before the first is written, and every target is looked at first: with a fault nothing is
// written. Each file is written beside its name and renamed, so a full disk leaves no half file.
#pragma once

#include <filesystem>
#include <iosfwd>
#include <string>
#include <vector>

#include "papers/papers.h"
#include "reason/date.h"
#include "reason/fault.h"

namespace lathbook::press {

struct Order {
  std::filesystem::path book;
  std::filesystem::path folder;
  std::vector<std::string> which;  ///< kinds and ids of jobs; empty = everything
  reason::Date today;
  papers::Size size = papers::Size::kA4;
  std::set<papers::Section> without;
  bool force = false;  ///< replace what is there
};

/// Reads `--book FILE --to FOLDER --today DAY [--paper a4|letter] [--without a,b] [--force] [WHICH …]`.
[[nodiscard]] reason::Result<Order> read_order(const std::vector<std::string>& words);

struct Written {
  std::filesystem::path path;
  std::size_t bytes = 0;
};

/// Files written, in order. A line for each kind goes to `progress` as it is made.
[[nodiscard]] reason::Result<std::vector<Written>> print(const Order& order, std::ostream& progress);

/// Writes each file beside its name and renames it. Faults before anything is written: a target that is there (unless
/// `force`), a folder that cannot be made. While writing: a full disk; what was placed stays, nothing is half.
[[nodiscard]] reason::Result<std::vector<Written>> put(const std::vector<papers::File>& files,
                                                       const std::filesystem::path& folder, bool force);

}  // namespace lathbook::press
