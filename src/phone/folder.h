// The private folder of this person in which keys and the list of phones lie.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "reason/fault.h"

namespace lathbook::phone {

/// `$XDG_CONFIG_HOME/lathbook/phone`, or `~/.config/lathbook/phone`. Fault: there is neither.
[[nodiscard]] reason::Result<std::filesystem::path> usual_folder();

/// Makes it, for its owner alone (0700). Fault: it cannot be made, or others may look into it.
[[nodiscard]] reason::Result<reason::Done> make_private(const std::filesystem::path& folder);

/// A file of it; nothing when it is not there. Fault: it cannot be read, or others may read it.
[[nodiscard]] reason::Result<std::optional<std::string>> read_private(const std::filesystem::path& file);

/// Writes it whole for its owner alone (0600): under another name first, forced to the disk, then renamed.
[[nodiscard]] reason::Result<reason::Done> write_private(const std::filesystem::path& file, std::string_view bytes);

/// Holds a lock on the folder, against other programs, for as long as it lives.
class Locked {
 public:
  [[nodiscard]] static reason::Result<Locked> hold(const std::filesystem::path& folder);
  Locked(Locked&& other) noexcept : file_(other.file_) { other.file_ = -1; }
  Locked& operator=(Locked&&) = delete;
  ~Locked();

 private:
  explicit Locked(int file) : file_(file) {}
  int file_;
};

}  // namespace lathbook::phone
