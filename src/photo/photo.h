// Photos made fit to be shown or handed on.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reason/fault.h"

namespace lathbook::photo {

/// A baseline JPEG without any metadata: no place, no time, no camera, no hidden thumbnail, no comment.
struct Picture {
  std::string jpeg;
  int width_px = 0;
  int height_px = 0;
};

struct Wanted {
  int longest_px = 1600;       ///< neither edge is longer; nothing is scaled up
  int quality = 80;            ///< 1 to 100
  std::size_t most_bytes = 0;  ///< quality goes down to 40 to stay under it, then the size by halves; 0 = as it comes
};

/// What is refused unopened: a picture of more pixels would take more memory than a page or paper is worth.
inline constexpr std::int64_t kMostPixels = 64'000'000;

/// A JPEG, PNG or WebP, turned upright, scaled by area, on white where it was clear. A JPEG cut short is given as far
/// as it goes. Faults name what is wrong: no such picture, too many pixels, damaged. Same bytes in, same bytes out.
[[nodiscard]] reason::Result<Picture> fit(std::string_view bytes, const Wanted& wanted);

/// `fit` of each of many, in their order, by up to `workers` threads at once. The bytes must stay where they are until
/// it returns. Same bytes in, same bytes out, however many work.
[[nodiscard]] std::vector<reason::Result<Picture>> fit_each(std::span<const std::string_view> photos,
                                                            const Wanted& wanted, std::size_t workers);

}  // namespace lathbook::photo
