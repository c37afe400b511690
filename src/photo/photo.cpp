#include "photo/photo.h"

#include <fmt/format.h>
#include <libexif/exif-data.h>
#include <png.h>
#include <turbojpeg.h>
#include <webp/decode.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <memory>
#include <thread>
#include <vector>

namespace lathbook::photo {
namespace {

using reason::Fault;
using reason::FaultKind;

constexpr int kLowestQuality = 40;
constexpr int kQualityStep = 10;
constexpr int kSmallest = 64;

/// Rows of red, green and blue, one byte each.
struct Pixels {
  std::size_t width = 0;
  std::size_t height = 0;
  std::vector<unsigned char> rgb;

  Pixels() = default;
  Pixels(std::size_t wide, std::size_t high) : width(wide), height(high), rgb(wide * high * 3) {}
};

Fault damaged(std::string why) {
  return {"photo", "", fmt::format("cannot be shown: {}", why), "a whole JPEG, PNG or WebP", FaultKind::kFile};
}

reason::Result<reason::Done> small_enough(std::int64_t width, std::int64_t height) {
  if (width < 1 || height < 1) return damaged("it has no pixels");
  if (width > kMostPixels / height) {
    return Fault{"photo", fmt::format("{} × {} pixels", width, height), "cannot be shown: it has too many pixels",
                 fmt::format("up to {} million pixels", kMostPixels / 1'000'000), FaultKind::kValue};
  }
  return reason::Done{};
}

const unsigned char* raw(std::string_view bytes) { return reinterpret_cast<const unsigned char*>(bytes.data()); }

/// Which way up the camera was held, 1 to 8 (TIFF 6.0); 1 where it does not say.
int orientation_of(std::string_view jpeg) {
  const std::unique_ptr<ExifData, decltype(&exif_data_unref)> exif(
      exif_data_new_from_data(raw(jpeg), static_cast<unsigned>(jpeg.size())), &exif_data_unref);
  if (!exif) return 1;
  const ExifEntry* entry = exif_content_get_entry(exif->ifd[EXIF_IFD_0], EXIF_TAG_ORIENTATION);
  if (entry == nullptr || entry->format != EXIF_FORMAT_SHORT || entry->size < 2) return 1;
  const int way = exif_get_short(entry->data, exif_data_get_byte_order(exif.get()));
  return way >= 1 && way <= 8 ? way : 1;
}

Pixels upright(Pixels in, int way) {
  if (way == 1) return in;
  const bool on_its_side = way >= 5;
  Pixels out(on_its_side ? in.height : in.width, on_its_side ? in.width : in.height);
  for (std::size_t y = 0; y < out.height; ++y) {
    for (std::size_t x = 0; x < out.width; ++x) {
      std::size_t from_x = on_its_side ? y : x;
      std::size_t from_y = on_its_side ? x : y;
      // Columns run backwards in 2, 3, 7 and 8, rows in 3, 4, 6 and 7.
      if (way == 2 || way == 3 || way == 7 || way == 8) from_x = in.width - 1 - from_x;
      if (way == 3 || way == 4 || way == 6 || way == 7) from_y = in.height - 1 - from_y;
      std::copy_n(&in.rgb[(from_y * in.width + from_x) * 3], 3, &out.rgb[(y * out.width + x) * 3]);
    }
  }
  return out;
}

/// How much of which input pixels lies under each output pixel, along one edge.
struct Share {
  std::size_t from = 0;
  std::vector<float> weights;
};
std::vector<Share> shares(std::size_t in, std::size_t out) {
  std::vector<Share> all;
  const double step = static_cast<double>(in) / static_cast<double>(out);
  for (std::size_t i = 0; i < out; ++i) {
    const double begin = static_cast<double>(i) * step;
    const double end = std::min(begin + step, static_cast<double>(in));
    Share share{static_cast<std::size_t>(begin), {}};
    for (auto at = share.from; static_cast<double>(at) < end - 1e-9; ++at) {
      const double covered = std::min(end, static_cast<double>(at) + 1) - std::max(begin, static_cast<double>(at));
      share.weights.push_back(static_cast<float>(covered / step));
    }
    all.push_back(std::move(share));
  }
  return all;
}

Pixels scaled(const Pixels& in, std::size_t width, std::size_t height) {
  if (width == in.width && height == in.height) return in;
  const auto across = shares(in.width, width);
  const auto down = shares(in.height, height);
  Pixels out(width, height);
  std::vector<float> row(in.width * 3);
  for (std::size_t y = 0; y < height; ++y) {
    std::fill(row.begin(), row.end(), 0.0F);
    for (std::size_t i = 0; i < down[y].weights.size(); ++i) {
      const unsigned char* line = &in.rgb[(down[y].from + i) * in.width * 3];
      const float weight = down[y].weights[i];
      for (std::size_t c = 0; c < row.size(); ++c) row[c] += weight * static_cast<float>(line[c]);
    }
    for (std::size_t x = 0; x < width; ++x) {
      for (std::size_t c = 0; c < 3; ++c) {
        float sum = 0.5F;
        for (std::size_t i = 0; i < across[x].weights.size(); ++i)
          sum += across[x].weights[i] * row[(across[x].from + i) * 3 + c];
        out.rgb[(y * width + x) * 3 + c] = static_cast<unsigned char>(std::clamp(sum, 0.0F, 255.0F));
      }
    }
  }
  return out;
}

/// The size with its longer edge at most `longest`.
std::pair<std::size_t, std::size_t> within(std::size_t width, std::size_t height, std::size_t longest) {
  const auto edge = std::max(width, height);
  if (edge <= longest) return {width, height};
  const auto shrink = [&](std::size_t side) { return std::max<std::size_t>(1, (side * longest + edge / 2) / edge); };
  return {shrink(width), shrink(height)};
}

/// Each scan of a JPEG costs a walk over all its pixels, however few bytes it takes. Cameras and programs make up to a
/// dozen. Between markers 0xFF is always followed by zero, so that the pair is a marker, or part of a hidden thumbnail.
constexpr int kMostScans = 64;
int scans_of(std::string_view jpeg) {
  int count = 0;
  for (auto at = jpeg.find("\xFF\xDA"); at != std::string_view::npos; at = jpeg.find("\xFF\xDA", at + 2)) ++count;
  return count;
}

using Turbo = std::unique_ptr<void, decltype(&tjDestroy)>;

reason::Result<Pixels> from_jpeg(std::string_view bytes, int longest) {
  const Turbo reader(tjInitDecompress(), &tjDestroy);
  int width = 0;
  int height = 0;
  int sampling = 0;
  int colours = 0;
  const auto size = static_cast<unsigned long>(bytes.size());
  if (!reader || tjDecompressHeader3(reader.get(), raw(bytes), size, &width, &height, &sampling, &colours) != 0)
    return damaged("the JPEG is damaged");
  if (const auto fits = small_enough(width, height); !fits.ok()) return fits.faults();
  if (scans_of(bytes) > kMostScans) return damaged("the JPEG comes in too many layers");
  // Unpack no larger than needed: an eighth of the edge costs a sixty-fourth of the memory.
  int count = 0;
  const tjscalingfactor* factors = tjGetScalingFactors(&count);
  tjscalingfactor chosen{1, 1};
  for (int i = 0; i < count; ++i) {
    const auto& one = factors[i];
    if (one.num > one.denom || TJSCALED(std::max(width, height), one) < longest) continue;
    if (one.num * chosen.denom < chosen.num * one.denom) chosen = one;
  }
  Pixels out(static_cast<std::size_t>(TJSCALED(width, chosen)), static_cast<std::size_t>(TJSCALED(height, chosen)));
  const int status = tjDecompress2(reader.get(), raw(bytes), size, out.rgb.data(), static_cast<int>(out.width), 0,
                                   static_cast<int>(out.height), TJPF_RGB, TJFLAG_ACCURATEDCT | TJFLAG_LIMITSCANS);
  if (status != 0 && tjGetErrorCode(reader.get()) != TJERR_WARNING) return damaged("the JPEG is damaged");
  return upright(std::move(out), orientation_of(bytes));
}

reason::Result<Pixels> from_png(std::string_view bytes) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  const std::unique_ptr<png_image, decltype(&png_image_free)> freed(&image, &png_image_free);
  if (png_image_begin_read_from_memory(&image, bytes.data(), bytes.size()) == 0) return damaged("the PNG is damaged");
  if (const auto fits = small_enough(image.width, image.height); !fits.ok()) return fits.faults();
  image.format = PNG_FORMAT_RGB;
  Pixels out(image.width, image.height);
  const png_color white{255, 255, 255};
  if (png_image_finish_read(&image, &white, out.rgb.data(), 0, nullptr) == 0) return damaged("the PNG is damaged");
  return out;
}

reason::Result<Pixels> from_webp(std::string_view bytes, int longest) {
  WebPDecoderConfig config;
  if (WebPInitDecoderConfig(&config) == 0 ||
      WebPGetFeatures(raw(bytes), bytes.size(), &config.input) != VP8_STATUS_OK || config.input.has_animation != 0)
    return damaged("the WebP is damaged or moves");
  if (const auto fits = small_enough(config.input.width, config.input.height); !fits.ok()) return fits.faults();
  const auto [width, height] = within(static_cast<std::size_t>(config.input.width),
                                      static_cast<std::size_t>(config.input.height), static_cast<std::size_t>(longest));
  config.options.use_scaling = 1;
  config.options.scaled_width = static_cast<int>(width);
  config.options.scaled_height = static_cast<int>(height);
  std::vector<unsigned char> rgba(width * height * 4);
  config.output.colorspace = MODE_RGBA;
  config.output.is_external_memory = 1;
  config.output.u.RGBA.rgba = rgba.data();
  config.output.u.RGBA.stride = static_cast<int>(width * 4);
  config.output.u.RGBA.size = rgba.size();
  if (WebPDecode(raw(bytes), bytes.size(), &config) != VP8_STATUS_OK) return damaged("the WebP is damaged");
  Pixels out(width, height);
  for (std::size_t i = 0; i < width * height; ++i) {
    const int clear = 255 - rgba[i * 4 + 3];
    for (std::size_t c = 0; c < 3; ++c)
      out.rgb[i * 3 + c] = static_cast<unsigned char>((rgba[i * 4 + c] * (255 - clear) + 255 * clear + 127) / 255);
  }
  return out;
}

reason::Result<Picture> packed(const Pixels& pixels, int quality) {
  const Turbo writer(tjInitCompress(), &tjDestroy);
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
  const int status = !writer ? -1
                             : tjCompress2(writer.get(), pixels.rgb.data(), static_cast<int>(pixels.width), 0,
                                           static_cast<int>(pixels.height), TJPF_RGB, &bytes, &size, TJSAMP_420,
                                           quality, TJFLAG_ACCURATEDCT);
  const std::unique_ptr<unsigned char, decltype(&tjFree)> freed(bytes, &tjFree);
  if (status != 0) return damaged("it cannot be packed again");
  return Picture{std::string(reinterpret_cast<const char*>(bytes), size), static_cast<int>(pixels.width),
                 static_cast<int>(pixels.height)};
}

}  // namespace

reason::Result<Picture> fit(std::string_view bytes, const Wanted& wanted) {
  auto read = bytes.starts_with("\xFF\xD8\xFF")        ? from_jpeg(bytes, wanted.longest_px)
              : bytes.starts_with("\x89PNG\r\n\x1A\n") ? from_png(bytes)
              : bytes.starts_with("RIFF") && bytes.substr(0, 12).ends_with("WEBP")
                  ? from_webp(bytes, wanted.longest_px)
                  : reason::Result<Pixels>(damaged("it is no JPEG, PNG or WebP"));
  if (!read.ok()) return read.faults();
  auto longest = static_cast<std::size_t>(wanted.longest_px);
  auto quality = wanted.quality;
  for (;;) {
    const auto [width, height] = within(read->width, read->height, longest);
    *read = scaled(*read, width, height);
    auto picture = packed(*read, quality);
    if (!picture.ok() || wanted.most_bytes == 0 || picture->jpeg.size() <= wanted.most_bytes) return picture;
    if (quality > kLowestQuality) {
      quality = std::max(kLowestQuality, quality - kQualityStep);
    } else if (std::max(width, height) / 2 >= kSmallest) {
      longest = std::max(width, height) / 2;
    } else {
      return picture;
    }
  }
}

std::vector<reason::Result<Picture>> fit_each(std::span<const std::string_view> photos, const Wanted& wanted,
                                              std::size_t workers) {
  std::vector<reason::Result<Picture>> made(photos.size(), Picture{});
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < photos.size(); i = next++) made[i] = fit(photos[i], wanted);
  };
  std::vector<std::jthread> helpers;
  for (std::size_t w = 1; w < std::min(workers, photos.size()); ++w) helpers.emplace_back(work);
  work();
  helpers.clear();  // waits for each
  return made;
}

}  // namespace lathbook::photo
