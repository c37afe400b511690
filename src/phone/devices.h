// The paired phones of this person: one token each, which lies on the phone; here there is only its digest.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::phone {

struct Device {
  std::string id;         ///< "P1"; never given twice
  std::string name;       ///< as the person called it, at most 60 characters
  std::string paired_on;  ///< YYYY-MM-DD
  std::string digest;     ///< SHA-256 of its token, hex
};

/// The list lies in `phones.json` of a private folder and is read anew at every look, so that a phone revoked by
/// another program is out at once. Two programs may use it.
class Devices {
 public:
  explicit Devices(std::filesystem::path folder) : folder_(std::move(folder)) {}

  [[nodiscard]] reason::Result<std::vector<Device>> all() const;

  struct Added {
    Device device;
    std::string token;  ///< 256 random bits in hex, told once
  };
  [[nodiscard]] reason::Result<Added> add(std::string name, const std::string& day);

  /// Whose token this is; nothing for one that was never given out or was revoked.
  [[nodiscard]] reason::Result<std::optional<Device>> by_token(std::string_view token) const;

  /// Fault: there is no such phone (kMissing).
  [[nodiscard]] reason::Result<Device> revoke(std::string_view id);

 private:
  std::filesystem::path folder_;
};

}  // namespace lathbook::phone
