#include "http/photo_upload.h"

#include <nlohmann/json.hpp>

#include "http/forms.h"
#include "photo/photo.h"
#include "service/base64.h"
#include "service/open_book.h"

namespace lathbook::http {
namespace {

using reason::Fault;
using service::Json;

}  // namespace

reason::Result<PhotoUpload> parse_photo(const std::string& body) {
  const auto json = read_request("POST photo", body);
  if (!json.ok()) return json.faults();
  const auto bytes = service::from_base64((*json)["base64"].get_ref<const std::string&>());
  if (!bytes) return Fault{"photo", "", "is not base64", "RFC 4648 base64 with padding"};
  const auto type = service::media_type_of(*bytes);
  if (type != "image/jpeg" && type != "image/png") return Fault{"photo", "", "is not a photo", "a JPEG or PNG picture"};
  auto picture = photo::fit(*bytes, {.longest_px = 2000, .quality = 85});
  if (!picture.ok()) {
    auto faults = picture.faults();
    for (auto& fault : faults) fault.kind = reason::FaultKind::kValue;  // of what was sent, not of the book's own file
    return faults;
  }

  PhotoUpload upload;
  upload.revision = (*json)["revision"].get<store::Revision>();
  upload.jpeg = std::move(picture->jpeg);
  Json fields = {{"kind", "photo"}};
  for (const char* field : {"material", "room", "title", "dated"}) {
    if (json->contains(field)) fields[field] = (*json)[field];
  }
  upload.fields.open_form = std::move(fields);
  return upload;
}

}  // namespace lathbook::http
