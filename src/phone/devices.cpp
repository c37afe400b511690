#include "phone/devices.h"

#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "phone/folder.h"
#include "schema/schema.h"

namespace lathbook::phone {
namespace {

using reason::Done;
using reason::Fault;
using reason::FaultKind;
using reason::Result;
using Json = nlohmann::json;

constexpr std::size_t kLongestName = 60;

std::string hex(const unsigned char* bytes, std::size_t count) {
  std::string text(count * 2 + 1, '\0');
  sodium_bin2hex(text.data(), text.size(), bytes, count);
  text.pop_back();
  return text;
}

std::string digest_of(std::string_view token) {
  std::array<unsigned char, crypto_hash_sha256_BYTES> digest{};
  crypto_hash_sha256(digest.data(), reinterpret_cast<const unsigned char*>(token.data()), token.size());
  return hex(digest.data(), digest.size());
}

const schema::Schema& form() {
  static const schema::Schema kForm(Json::parse(R"({
    "type": "object", "additionalProperties": false, "required": ["given", "phones"],
    "properties": {
      "given": {"type": "integer", "minimum": 0},
      "phones": {"type": "array", "items": {
        "type": "object", "additionalProperties": false, "required": ["id", "name", "paired_on", "digest"],
        "properties": {
          "id": {"type": "string", "pattern": "^P[1-9][0-9]*$"}, "name": {"type": "string"},
          "paired_on": {"type": "string"}, "digest": {"type": "string", "pattern": "^[0-9a-f]{64}$"}
        }}}
    }})"));
  return kForm;
}

struct Kept {
  std::int64_t given = 0;  ///< how many phones were ever paired
  std::vector<Device> devices;
};

Result<Kept> read(const std::filesystem::path& file) {
  const auto text = read_private(file);
  if (!text.ok()) return text.faults();
  if (!*text) return Kept{};
  const auto json = schema::parse_json(**text, file.string());
  if (!json.ok()) return json.faults();
  if (auto faults = form().check(*json); !faults.empty()) return reason::within(file.string() + ": ", faults);
  Kept kept{(*json)["given"].get<std::int64_t>(), {}};
  for (const auto& one : (*json)["phones"])
    kept.devices.push_back({one["id"].get<std::string>(), one["name"].get<std::string>(),
                            one["paired_on"].get<std::string>(), one["digest"].get<std::string>()});
  return kept;
}

Result<Done> write(const std::filesystem::path& file, const Kept& kept) {
  Json phones = Json::array();
  for (const auto& one : kept.devices)
    phones.push_back({{"id", one.id}, {"name", one.name}, {"paired_on", one.paired_on}, {"digest", one.digest}});
  const Json json = {{"given", kept.given}, {"phones", std::move(phones)}};
  return write_private(file, json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n");
}

}  // namespace

Result<std::vector<Device>> Devices::all() const {
  auto kept = read(folder_ / "phones.json");
  if (!kept.ok()) return kept.faults();
  return std::move(kept->devices);
}

Result<Devices::Added> Devices::add(std::string name, const std::string& day) {
  if (sodium_init() < 0) throw std::runtime_error("the operating system gives no random numbers");
  std::erase_if(name, [](unsigned char c) { return c < 0x20 || c == 0x7f; });
  while (name.size() > kLongestName || (!name.empty() && !schema::is_utf8(name))) name.pop_back();
  if (name.empty()) name = "A phone";
  if (const auto made = make_private(folder_); !made.ok()) return made.faults();
  const auto locked = Locked::hold(folder_);
  if (!locked.ok()) return locked.faults();
  auto kept = read(folder_ / "phones.json");
  if (!kept.ok()) return kept.faults();
  std::array<unsigned char, 32> random{};
  randombytes_buf(random.data(), random.size());
  Added added;
  added.token = hex(random.data(), random.size());
  added.device = {fmt::format("P{}", ++kept->given), std::move(name), day, digest_of(added.token)};
  kept->devices.push_back(added.device);
  if (const auto written = write(folder_ / "phones.json", *kept); !written.ok()) return written.faults();
  return added;
}

Result<std::optional<Device>> Devices::by_token(std::string_view token) const {
  const auto devices = all();
  if (!devices.ok()) return devices.faults();
  const auto digest = digest_of(token);  // what is compared is a digest: how long it takes tells nothing of a token
  const auto found = std::ranges::find(*devices, digest, &Device::digest);
  if (found == devices->end()) return std::optional<Device>();
  return std::optional(*found);
}

Result<Device> Devices::revoke(std::string_view id) {
  if (const auto made = make_private(folder_); !made.ok()) return made.faults();
  const auto locked = Locked::hold(folder_);
  if (!locked.ok()) return locked.faults();
  auto kept = read(folder_ / "phones.json");
  if (!kept.ok()) return kept.faults();
  const auto found = std::ranges::find(kept->devices, id, &Device::id);
  if (found == kept->devices.end())
    return Fault{"", std::string(id), "is no paired phone", "an id as `lathbook phones` lists them",
                 FaultKind::kMissing};
  Device gone = *found;
  kept->devices.erase(found);
  if (const auto written = write(folder_ / "phones.json", *kept); !written.ok()) return written.faults();
  return gone;
}

}  // namespace lathbook::phone
