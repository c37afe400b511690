// A photo sent by the page: POST /api/photo.
#pragma once

#include <cstddef>
#include <string>

#include "reason/fault.h"
#include "service/edit.h"
#include "store/store.h"

namespace lathbook::http {

/// What the body of a photo, of a report or of edits with a report may hold; every other is far smaller (kLargestEdit).
inline constexpr std::size_t kLargestPhotoBody = std::size_t{16} << 20;
inline constexpr std::size_t kLargestEdit = std::size_t{1} << 20;

struct PhotoUpload {
  store::Revision revision = 0;
  std::string jpeg;        ///< made anew: upright, at most 2000 px, no place, time or camera
  service::Fields fields;  ///< of its document
};

/// `{"revision", "material" or "room", "title"?, "dated"?, "base64"}`. Faults: of neither or both, not base64, neither
/// a JPEG nor a PNG by its content, damaged, too many pixels.
[[nodiscard]] reason::Result<PhotoUpload> parse_photo(const std::string& body);

}  // namespace lathbook::http
