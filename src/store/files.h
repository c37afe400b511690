// Files that take their name only when they are whole.
#pragma once

#include <filesystem>

#include "reason/fault.h"

namespace lathbook::store {

/// A name beside `target` that no other file has, for building it. Removed again, with SQLite's side files, unless
/// placed.
class Draft {
 public:
  /// kMissing when the folder is not there, kConflict when `target` is and may not be replaced.
  [[nodiscard]] static reason::Result<Draft> beside(const std::filesystem::path& target, bool replace);

  Draft(Draft&& other) noexcept;
  Draft& operator=(Draft&&) = delete;
  ~Draft();

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  /// Has the disk keep the closed file, then gives it its name in one step that cannot hit a file made meanwhile.
  [[nodiscard]] reason::Result<reason::Done> place();

 private:
  Draft(std::filesystem::path path, std::filesystem::path target, bool replace);
  std::filesystem::path path_;
  std::filesystem::path target_;
  bool replace_ = false;
};

}  // namespace lathbook::store
