#include "http/phone_desk.h"

#include <nlohmann/json.hpp>

#include "phone/qr.h"

namespace lathbook::http {

using nlohmann::json;
using reason::Result;

PhoneDesk::PhoneDesk(phone::Devices devices, std::string address, const phone::Identity& identity, Clock clock)
    : devices_(std::move(devices)),
      address_(std::move(address)),
      fingerprint_(identity.fingerprint),
      authority_(identity.authority_der),
      authority_fingerprint_(identity.authority_fingerprint),
      clock_(std::move(clock)) {}

Result<json> PhoneDesk::told() {
  const auto devices = devices_.all();
  if (!devices.ok()) return devices.faults();
  json phones = json::array();
  for (const auto& one : *devices) phones.push_back({{"id", one.id}, {"name", one.name}, {"paired_on", one.paired_on}});
  json state = {{"on", true},
                {"address", address_},
                {"fingerprint", fingerprint_},
                {"authority_fingerprint", authority_fingerprint_},
                // The fingerprint travels with the address, so that whoever reads the square can compare it.
                {"qr", phone::qr_rows(address_ + "/pair#" + fingerprint_)},
                {"wrong", pairing_.wrong()},
                {"phones", std::move(phones)}};
  if (const auto shown = pairing_.shown(clock_.now())) {
    state["code"] = shown->code;
    state["seconds_left"] = shown->left.count();
  }
  return state;
}

Result<json> PhoneDesk::state() {
  const std::scoped_lock lock(one_at_a_time_);
  return told();
}

Result<json> PhoneDesk::new_code() {
  const std::scoped_lock lock(one_at_a_time_);
  pairing_.begin(clock_.now());
  return told();
}

Result<json> PhoneDesk::revoke(std::string_view id) {
  const std::scoped_lock lock(one_at_a_time_);
  if (const auto gone = devices_.revoke(id); !gone.ok()) return gone.faults();
  return told();
}

Result<PhoneDesk::Tried> PhoneDesk::pair(std::string_view code, const std::string& name) {
  const std::scoped_lock lock(one_at_a_time_);
  Tried tried;
  tried.outcome = pairing_.attempt(code, clock_.now());
  if (tried.outcome != phone::Pairing::Outcome::kPaired) return tried;
  auto added = devices_.add(name, clock_.today());
  if (!added.ok()) return added.faults();
  tried.token = std::move(added->token);
  return tried;
}

Result<bool> PhoneDesk::knows(std::string_view token) {
  if (token.empty()) return false;
  const std::scoped_lock lock(one_at_a_time_);
  const auto found = devices_.by_token(token);
  if (!found.ok()) return found.faults();
  return found->has_value();
}

}  // namespace lathbook::http
