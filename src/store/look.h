// Looks at a file before SQLite is let near it, so that a picture, a letter or half a book is called what it is.
#pragma once

#include <filesystem>

#include "reason/fault.h"

namespace lathbook::store {

/// Done when `path` is a whole SQLite file that says it is a book of at most `newest_version`. Only reads.
[[nodiscard]] reason::Result<reason::Done> look_at(const std::filesystem::path& path, int newest_version);

/// There are changes in `path`-wal that are not yet in the file itself.
[[nodiscard]] bool has_pending(const std::filesystem::path& path);

/// The fault for a book of a later schema.
[[nodiscard]] reason::Fault newer_fault(const std::filesystem::path& path, int version, int newest_version);

}  // namespace lathbook::store
