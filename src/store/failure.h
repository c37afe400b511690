// What SQLite or the operating system says, in the words a person needs.
#pragma once

#include <SQLiteCpp/Exception.h>

#include <filesystem>
#include <string>
#include <string_view>

#include "reason/fault.h"

namespace lathbook::store {

[[nodiscard]] reason::Fault file_fault(const std::filesystem::path& path, std::string problem,
                                       reason::FaultKind kind = reason::FaultKind::kFile);

/// `error_number` is an errno; `doing` a clause such as "cannot be created".
[[nodiscard]] reason::Fault system_fault(const std::filesystem::path& path, std::string_view doing, int error_number);

/// By SQLite's result code: a busy file is a conflict, everything else a fault of the file.
[[nodiscard]] reason::Fault sqlite_fault(const std::filesystem::path& path, const SQLite::Exception& error);

/// Runs `body`, which answers a Result, and turns what SQLite throws into a fault.
template <class F>
[[nodiscard]] auto guarded(const std::filesystem::path& path, F&& body) -> decltype(body()) {
  try {
    return body();
  } catch (const SQLite::Exception& error) {
    return sqlite_fault(path, error);
  }
}

}  // namespace lathbook::store
