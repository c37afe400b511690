// The book a command was asked about, opened for reading, with everything worked out of it.
#pragma once

#include <filesystem>
#include <memory>

#include "check/house.h"
#include "cli/words.h"
#include "reason/fault.h"
#include "service/open_book.h"

namespace lathbook::cli {

struct OpenHouse {
  std::filesystem::path path;
  std::unique_ptr<service::OpenBook> book;  ///< `house` points into it
  check::House house;
};

/// Faults: those of find_book(), of opening the book and of the house in it.
[[nodiscard]] reason::Result<OpenHouse> open_house(const Words& words);

}  // namespace lathbook::cli
