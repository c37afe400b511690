// Pictures from anywhere: whatever the bytes, a small clean JPEG or a fault.
#include "photo/photo.h"

#include <algorithm>
#include <cstdint>
#include <string>

#include "must.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  const photo::Wanted wanted{.longest_px = 96, .quality = 70, .most_bytes = 6'000};
  const auto picture = photo::fit(fuzz::text_of(data, size), wanted);
  if (!picture.ok()) {
    fuzz::must(!picture.faults().front().problem.empty(), "a refusal says why");
    return 0;
  }
  fuzz::must(std::max(picture->width_px, picture->height_px) <= wanted.longest_px, "it is as small as asked for");
  fuzz::must(std::min(picture->width_px, picture->height_px) >= 1, "it has an area");
  fuzz::must(picture->jpeg.starts_with("\xFF\xD8\xFF"), "it is a JPEG");
  fuzz::must(picture->jpeg.find("Exif") == std::string::npos, "it says nothing of its taking");
  const auto again = photo::fit(picture->jpeg, wanted);
  fuzz::must(again.ok() && again->width_px == picture->width_px, "it can be taken in again");
  return 0;
}
