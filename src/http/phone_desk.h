// The laptop's side of letting phones in: the code shown, the phones paired, what a phone is told to open.
#pragma once

#include <functional>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "phone/certificate.h"
#include "phone/devices.h"
#include "phone/pairing.h"
#include "reason/fault.h"

namespace lathbook::http {

/// May be used from many threads.
class PhoneDesk {
 public:
  struct Clock {
    std::function<phone::Pairing::Time()> now;
    std::function<std::string()> today;  ///< YYYY-MM-DD
  };
  /// `address` is what a phone opens, "https://192.168.1.5:23456".
  PhoneDesk(phone::Devices devices, std::string address, const phone::Identity& identity, Clock clock);

  /// For the laptop's page: where to point a phone, the code while it lives, the phones paired.
  [[nodiscard]] reason::Result<nlohmann::json> state();
  /// The same, with a new code.
  [[nodiscard]] reason::Result<nlohmann::json> new_code();
  /// The same, without that phone.
  [[nodiscard]] reason::Result<nlohmann::json> revoke(std::string_view id);

  struct Tried {
    phone::Pairing::Outcome outcome = phone::Pairing::Outcome::kNoCode;
    std::string token;  ///< when paired
  };
  /// A phone's try at the code. Fault: the list of phones cannot be written.
  [[nodiscard]] reason::Result<Tried> pair(std::string_view code, const std::string& name);

  /// Whether a token is that of a phone paired and not revoked. Faults as Devices::all.
  [[nodiscard]] reason::Result<bool> knows(std::string_view token);

  [[nodiscard]] const std::string& authority() const { return authority_; }  ///< its certificate, DER

 private:
  [[nodiscard]] reason::Result<nlohmann::json> told();

  std::mutex one_at_a_time_;
  phone::Devices devices_;
  phone::Pairing pairing_;
  std::string address_;
  std::string fingerprint_;
  std::string authority_;
  std::string authority_fingerprint_;
  Clock clock_;
};

}  // namespace lathbook::http
