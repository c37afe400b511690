// A photo of the book, made fit to be shown.
#pragma once

#include <string_view>

#include "photo/photo.h"
#include "service/open_book.h"

namespace lathbook::service {

/// Document `id` as a picture: upright, scaled, and without place, time or camera. Faults: no such document, not a
/// picture, its bytes missing or damaged, too many pixels.
[[nodiscard]] reason::Result<photo::Picture> photo_of(const OpenBook& book, std::string_view id,
                                                      const photo::Wanted& wanted);

/// The bytes as they were attached, before anything is made of them; the faults of `photo_of` up to there.
[[nodiscard]] reason::Result<store::Blob> photo_bytes(const OpenBook& book, std::string_view id);

}  // namespace lathbook::service
