#include "photo/photo.h"

#include <gtest/gtest.h>
#include <png.h>
#include <sys/resource.h>
#include <turbojpeg.h>
#include <webp/encode.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <random>
#include <string>
#include <vector>

namespace lathbook::photo {
namespace {

using Colour = std::array<int, 3>;
constexpr Colour kRed{200, 30, 30};
constexpr Colour kGreen{30, 160, 40};
constexpr Colour kBlue{30, 50, 200};
constexpr Colour kYellow{220, 210, 40};

/// Red and green above, blue and yellow below.
std::vector<unsigned char> quarters(int width, int height) {
  std::vector<unsigned char> rgb;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const auto& colour = y < height / 2 ? (x < width / 2 ? kRed : kGreen) : (x < width / 2 ? kBlue : kYellow);
      for (const int part : colour) rgb.push_back(static_cast<unsigned char>(part));
    }
  }
  return rgb;
}

std::string jpeg_of(const std::vector<unsigned char>& rgb, int width, int height, int quality = 95) {
  tjhandle writer = tjInitCompress();
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
  tjCompress2(writer, rgb.data(), width, 0, height, TJPF_RGB, &bytes, &size, TJSAMP_444, quality, 0);
  std::string out(reinterpret_cast<char*>(bytes), size);
  tjFree(bytes);
  tjDestroy(writer);
  return out;
}

/// With an Exif block that says which way up, and where it was taken.
std::string with_exif(const std::string& jpeg, char orientation) {
  using namespace std::string_literals;
  const std::string tiff = "II*\0\x08\0\0\0"s + "\x02\0"s +                                         // two entries
                           "\x12\x01\x03\0\x01\0\0\0"s + std::string(1, orientation) + "\0\0\0"s +  // orientation
                           "\x0E\x01\x02\0\x15\0\0\0\x26\0\0\0"s +                                  // description
                           "\0\0\0\0"s + "PLACE 51.5034N 0.1276W\0"s;
  const std::string body = "Exif\0\0"s + tiff;
  const auto length = body.size() + 2;
  return jpeg.substr(0, 2) + "\xFF\xE1"s + static_cast<char>(length >> 8) + static_cast<char>(length & 255) + body +
         jpeg.substr(2);
}

struct Seen {
  int width = 0;
  int height = 0;
  std::vector<unsigned char> rgb;
  [[nodiscard]] Colour at(int x, int y) const {
    const auto* p = &rgb[static_cast<std::size_t>((y * width + x) * 3)];
    return {p[0], p[1], p[2]};
  }
};

Seen seen(const std::string& jpeg) {
  Seen out;
  int sampling = 0;
  int colours = 0;
  tjhandle reader = tjInitDecompress();
  const auto* bytes = reinterpret_cast<const unsigned char*>(jpeg.data());
  tjDecompressHeader3(reader, bytes, jpeg.size(), &out.width, &out.height, &sampling, &colours);
  out.rgb.resize(static_cast<std::size_t>(out.width * out.height * 3));
  tjDecompress2(reader, bytes, jpeg.size(), out.rgb.data(), out.width, 0, out.height, TJPF_RGB, 0);
  tjDestroy(reader);
  return out;
}

void expect_near(const Colour& got, const Colour& want, const char* where) {
  for (std::size_t c = 0; c < 3; ++c) EXPECT_NEAR(got[c], want[c], 14) << where << " part " << c;
}

void expect_quarters(const std::string& jpeg, const Colour& a, const Colour& b, const Colour& c, const Colour& d) {
  const auto picture = seen(jpeg);
  const int x = picture.width / 4;
  const int y = picture.height / 4;
  expect_near(picture.at(x, y), a, "upper left");
  expect_near(picture.at(3 * x, y), b, "upper right");
  expect_near(picture.at(x, 3 * y), c, "lower left");
  expect_near(picture.at(3 * x, 3 * y), d, "lower right");
}

std::string png_of(const std::vector<unsigned char>& pixels, int width, int height, png_uint_32 format) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(width);
  image.height = static_cast<png_uint_32>(height);
  image.format = format;
  png_alloc_size_t size = 0;
  png_image_write_to_memory(&image, nullptr, &size, 0, pixels.data(), 0, nullptr);
  std::string out(size, '\0');
  png_image_write_to_memory(&image, out.data(), &size, 0, pixels.data(), 0, nullptr);
  return out.substr(0, size);
}

std::string refusal(const std::string& bytes) {
  const auto picture = fit(bytes, {});
  return picture.ok() ? "" : picture.faults().front().text();
}

TEST(Fit, ScalesDownAndKeepsTheShape) {
  const auto picture = fit(jpeg_of(quarters(800, 600), 800, 600), {.longest_px = 200});
  ASSERT_TRUE(picture.ok());
  EXPECT_EQ(picture->width_px, 200);
  EXPECT_EQ(picture->height_px, 150);
  expect_quarters(picture->jpeg, kRed, kGreen, kBlue, kYellow);
}

TEST(Fit, ScalesNothingUp) {
  const auto picture = fit(jpeg_of(quarters(64, 48), 64, 48), {.longest_px = 500});
  ASSERT_TRUE(picture.ok());
  EXPECT_EQ(picture->width_px, 64);
  EXPECT_EQ(picture->height_px, 48);
}

TEST(Fit, AnAreaBecomesItsMean) {
  // Stripes of black and white one pixel wide are an even grey at an odd scale.
  std::vector<unsigned char> rgb;
  for (int i = 0; i < 300 * 300; ++i) rgb.insert(rgb.end(), 3, (i % 300) % 2 == 0 ? 255 : 0);
  const auto picture = fit(png_of(rgb, 300, 300, PNG_FORMAT_RGB), {.longest_px = 75, .quality = 95});
  ASSERT_TRUE(picture.ok());
  const auto grey = seen(picture->jpeg);
  for (int i = 0; i < 75; ++i) EXPECT_NEAR(grey.at(i, 40)[0], 127, 4);
}

TEST(Fit, TurnsUprightAndForgetsThePlace) {
  const auto plain = jpeg_of(quarters(80, 48), 80, 48);
  const std::array<std::array<Colour, 4>, 8> want{{{kRed, kGreen, kBlue, kYellow},
                                                   {kGreen, kRed, kYellow, kBlue},
                                                   {kYellow, kBlue, kGreen, kRed},
                                                   {kBlue, kYellow, kRed, kGreen},
                                                   {kRed, kBlue, kGreen, kYellow},
                                                   {kBlue, kRed, kYellow, kGreen},
                                                   {kYellow, kGreen, kBlue, kRed},
                                                   {kGreen, kYellow, kRed, kBlue}}};
  for (char way = 1; way <= 8; ++way) {
    SCOPED_TRACE(static_cast<int>(way));
    const auto held = with_exif(plain, way);
    ASSERT_NE(held.find("PLACE 51.5034N"), std::string::npos);
    const auto picture = fit(held, {});
    ASSERT_TRUE(picture.ok());
    EXPECT_EQ(picture->width_px, way < 5 ? 80 : 48);
    const auto& w = want[static_cast<std::size_t>(way - 1)];
    expect_quarters(picture->jpeg, w[0], w[1], w[2], w[3]);
    EXPECT_EQ(picture->jpeg.find("PLACE"), std::string::npos);
    EXPECT_EQ(picture->jpeg.find("Exif"), std::string::npos);
  }
}

/// The picture's bytes with more put after its first `after` bytes.
std::string with(const std::string& picture, std::size_t after, const std::string& more) {
  return picture.substr(0, after) + more + picture.substr(after);
}

std::string jpeg_part(unsigned char kind, const std::string& body) {
  const auto length = body.size() + 2;
  const std::string head = {'\xFF', static_cast<char>(kind), static_cast<char>(length >> 8),
                            static_cast<char>(length & 255)};
  return head + body;
}

std::string png_chunk(const std::string& kind, const std::string& body) {
  std::uint32_t crc = 0xFFFFFFFFU;
  for (const char c : kind + body) {
    crc ^= static_cast<unsigned char>(c);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1) ^ ((crc & 1) != 0 ? 0xEDB88320U : 0U);
  }
  const auto number = [](std::size_t value) {
    std::string out;
    for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>(value >> shift);
    return out;
  };
  return number(body.size()) + kind + body + number(~crc);
}

constexpr std::size_t kPngHead = 8 + 25;  // signature and IHDR

TEST(Fit, KeepsNoWordOfWhatWasBesideThePixels) {
  using namespace std::string_literals;
  const auto rgb = quarters(64, 48);
  const auto jpeg = jpeg_of(rgb, 64, 48);
  const auto png = png_of(rgb, 64, 48, PNG_FORMAT_RGB);
  const auto xmp = "<x:xmpmeta><exif:GPSLatitude>51,30.2N SECRET</exif:GPSLatitude></x:xmpmeta>"s;
  std::uint8_t* raw = nullptr;
  const auto size = WebPEncodeLosslessRGB(rgb.data(), 64, 48, 192, &raw);
  std::string webp(reinterpret_cast<char*>(raw), size);
  WebPFree(raw);
  // RIFF takes more parts behind the picture, its length told anew.
  webp +=
      "EXIF"s + std::string(1, static_cast<char>(xmp.size())) + "\0\0\0"s + xmp + (xmp.size() % 2 != 0 ? "\0"s : ""s);
  const auto length = webp.size() - 8;
  for (std::size_t i = 0; i < 4; ++i) webp[4 + i] = static_cast<char>(length >> (8 * i));
  const std::vector<std::pair<const char*, std::string>> cases = {
      {"Exif", with_exif(with(jpeg, 2, jpeg_part(0xFE, "SECRET")), 1)},
      {"XMP", with(jpeg, 2, jpeg_part(0xE1, "http://ns.adobe.com/xap/1.0/\0"s + xmp))},
      {"IPTC", with(jpeg, 2,
                    jpeg_part(0xED,
                              "Photoshop 3.0\0"
                              "8BIM\x04\x04\0\0SECRET"s))},
      {"comment", with(jpeg, 2, jpeg_part(0xFE, "SECRET"))},
      {"unknown part", with(jpeg, 2, jpeg_part(0xEB, "SECRET"))},
      {"behind the end", jpeg + "SECRET"},
      {"PNG text", with(png, kPngHead, png_chunk("tEXt", "Comment\0SECRET"s))},
      {"PNG international text", with(png, kPngHead, png_chunk("iTXt", "XML:com.adobe.xmp\0\0\0\0\0"s + xmp))},
      {"PNG Exif", with(png, kPngHead, png_chunk("eXIf", "II*\0\x08\0\0\0\0\0SECRET"s))},
      {"PNG unknown chunk", with(png, kPngHead, png_chunk("seCr", "SECRET"))},
      {"WebP Exif", webp},
  };
  for (const auto& [what, bytes] : cases) {
    SCOPED_TRACE(what);
    ASSERT_NE(bytes.find("SECRET"), std::string::npos);
    const auto picture = fit(bytes, {});
    ASSERT_TRUE(picture.ok()) << picture.faults().front().text();
    expect_quarters(picture->jpeg, kRed, kGreen, kBlue, kYellow);
    EXPECT_EQ(picture->jpeg.find("SECRET"), std::string::npos);
    // Of the parts a JPEG can hold, those that make a picture alone: JFIF's own, tables, frame, scan.
    for (std::size_t at = 2; at + 4 <= picture->jpeg.size();) {
      const auto kind = static_cast<unsigned char>(picture->jpeg[at + 1]);
      ASSERT_EQ(static_cast<unsigned char>(picture->jpeg[at]), 0xFF);
      EXPECT_TRUE(kind == 0xE0 || kind == 0xDB || kind == 0xC4 || (kind >= 0xC0 && kind <= 0xC2) || kind == 0xDA)
          << std::hex << static_cast<int>(kind);
      if (kind == 0xDA) break;
      at += 2 + static_cast<std::size_t>(static_cast<unsigned char>(picture->jpeg[at + 2])) * 256 +
            static_cast<unsigned char>(picture->jpeg[at + 3]);
    }
  }
}

TEST(Fit, ReadsPngAndWebpAndPutsClearOnWhite) {
  auto rgb = quarters(64, 64);
  const auto png = fit(png_of(rgb, 64, 64, PNG_FORMAT_RGB), {});
  ASSERT_TRUE(png.ok());
  expect_quarters(png->jpeg, kRed, kGreen, kBlue, kYellow);
  std::vector<unsigned char> rgba;
  for (std::size_t i = 0; i < 64 * 64; ++i) {
    rgba.insert(rgba.end(), &rgb[i * 3], &rgb[i * 3] + 3);
    rgba.push_back(i < 64 * 32 ? 0 : 255);
  }
  const Colour white{255, 255, 255};
  const auto clear = fit(png_of(rgba, 64, 64, PNG_FORMAT_RGBA), {});
  ASSERT_TRUE(clear.ok());
  expect_quarters(clear->jpeg, white, white, kBlue, kYellow);
  std::uint8_t* bytes = nullptr;
  const auto size = WebPEncodeLosslessRGBA(rgba.data(), 64, 64, 256, &bytes);
  const std::string webp(reinterpret_cast<char*>(bytes), size);
  WebPFree(bytes);
  const auto third = fit(webp, {.longest_px = 32});
  ASSERT_TRUE(third.ok());
  EXPECT_EQ(third->width_px, 32);
  expect_quarters(third->jpeg, white, white, kBlue, kYellow);
}

TEST(Fit, StaysUnderTheBytesAskedFor) {
  std::mt19937 random(7);
  std::vector<unsigned char> noise(600 * 400 * 3);
  for (auto& byte : noise) byte = static_cast<unsigned char>(random());
  const auto bytes = jpeg_of(noise, 600, 400);
  const auto free = fit(bytes, {.longest_px = 600});
  const auto held = fit(bytes, {.longest_px = 600, .most_bytes = 20'000});
  ASSERT_TRUE(free.ok() && held.ok());
  EXPECT_GT(free->jpeg.size(), 100'000U);
  EXPECT_LE(held->jpeg.size(), 20'000U);
  EXPECT_EQ(held->jpeg, fit(bytes, {.longest_px = 600, .most_bytes = 20'000})->jpeg);
}

TEST(FitEach, ThreadsMakeWhatOneMakes) {
  std::vector<std::string> photos;
  for (int i = 0; i < 40; ++i) {
    const int width = 20 + 7 * i;
    // Every seventh is none, and is told as such in its own place.
    photos.push_back(i % 7 == 3 ? "no picture" : jpeg_of(quarters(width, 30), width, 30));
  }
  const std::vector<std::string_view> views(photos.begin(), photos.end());
  const Wanted wanted{.longest_px = 100};
  for (const std::size_t workers : {0U, 1U, 2U, 8U, 100U}) {
    const auto made = fit_each(views, wanted, workers);
    ASSERT_EQ(made.size(), photos.size());
    for (std::size_t i = 0; i < made.size(); ++i) {
      const auto alone = fit(views[i], wanted);
      ASSERT_EQ(made[i].ok(), alone.ok()) << i;
      if (alone.ok()) {
        EXPECT_EQ(made[i]->jpeg, alone->jpeg) << i;
      } else {
        EXPECT_EQ(made[i].faults().front().problem, alone.faults().front().problem) << i;
      }
    }
  }
  EXPECT_TRUE(fit_each({}, wanted, 4).empty());
}

TEST(FaultFit, ASmallFileDoesNotAskForAllTheMemory) {
  auto jpeg = jpeg_of(quarters(64, 64), 64, 64);
  const auto frame = jpeg.find("\xFF\xC0");
  ASSERT_NE(frame, std::string::npos);
  for (std::size_t i = 5; i < 9; ++i) jpeg[frame + i] = '\xF0';  // 61680 by 61680
  EXPECT_NE(refusal(jpeg).find("too many pixels"), std::string::npos);
  auto png = png_of(quarters(64, 64), 64, 64, PNG_FORMAT_RGB);
  png[18] = 0x3A;  // 14912 + 64 wide
  png[22] = 0x3A;
  std::uint32_t crc = 0xFFFFFFFFU;
  for (std::size_t i = 12; i < 29; ++i) {
    crc ^= static_cast<unsigned char>(png[i]);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1) ^ ((crc & 1) != 0 ? 0xEDB88320U : 0U);
  }
  crc = ~crc;
  for (std::size_t i = 0; i < 4; ++i) png[29 + i] = static_cast<char>(crc >> (24 - 8 * i));
  EXPECT_NE(refusal(png).find("too many pixels"), std::string::npos);
}

/// Zeros that take a thousandth of their room.
std::string squeezed(std::size_t size) {
  std::string out(compressBound(size), '\0');
  auto length = static_cast<uLongf>(out.size());
  const std::string zeros(size, '\0');
  compress2(reinterpret_cast<Bytef*>(out.data()), &length, reinterpret_cast<const Bytef*>(zeros.data()), size, 9);
  return out.substr(0, length);
}

TEST(FaultFit, NoBombGoesOff) {
  using namespace std::string_literals;
  const auto rgb = quarters(64, 48);
  const auto png = png_of(rgb, 64, 48, PNG_FORMAT_RGB);
  const auto bomb = squeezed(512U << 20U);
  ASSERT_LT(bomb.size(), 1U << 20U);
  std::string many;
  for (int i = 0; i < 20'000; ++i) many += png_chunk("tEXt", "Comment\0x"s);
  // A picture of the largest size that is taken, of as many scans as a JPEG may name: each costs a walk over all of it.
  tjhandle writer = tjInitCompress();
  unsigned char* raw = nullptr;
  unsigned long size = 0;
  const std::vector<unsigned char> grey(8000U * 8000U, 128);
  tjCompress2(writer, grey.data(), 8000, 0, 8000, TJPF_GRAY, &raw, &size, TJSAMP_GRAY, 50, TJFLAG_PROGRESSIVE);
  std::string scans(reinterpret_cast<char*>(raw), size);
  tjFree(raw);
  tjDestroy(writer);
  const auto last = scans.rfind("\xFF\xDA");
  ASSERT_NE(last, std::string::npos);
  const auto scan = scans.substr(last, scans.size() - 2 - last);
  const auto ending = scans.substr(scans.size() - 2);
  scans.resize(scans.size() - 2);
  const auto with_scans = [&](int count) {
    std::string more;
    for (int i = 0; i < count; ++i) more += scan.substr(0, std::min<std::size_t>(scan.size(), 400));
    return scans + more + ending;
  };

  const std::vector<std::pair<const char*, std::string>> bombs = {
      {"text", with(png, kPngHead, png_chunk("zTXt", "Comment\0\0"s + bomb))},
      {"colour profile", with(png, kPngHead, png_chunk("iCCP", "sRGB\0\0"s + bomb))},
      {"international text", with(png, kPngHead, png_chunk("iTXt", "XML:com.adobe.xmp\0\x01\0\0\0"s + bomb))},
      {"many chunks", with(png, kPngHead, many)},
      {"pixels beyond the picture", png.substr(0, kPngHead) + png_chunk("IDAT", bomb) + png_chunk("IEND", "")},
      {"many scans", with_scans(2000)},
      {"as many scans as are taken", with_scans(50)},
  };
  for (const auto& [what, bytes] : bombs) {
    SCOPED_TRACE(what);
    rusage before{};
    rusage after{};
    ::getrusage(RUSAGE_SELF, &before);
    const auto begun = std::chrono::steady_clock::now();
    const auto answer = fit(bytes, {});  // shown or refused, as it may be
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
    ::getrusage(RUSAGE_SELF, &after);
    EXPECT_LT(took.count(), 20) << "seconds";
    EXPECT_LT(after.ru_maxrss - before.ru_maxrss, 300 * 1024) << "KiB more than ever before";
    RecordProperty(what, std::to_string(took.count()));
    EXPECT_TRUE(answer.ok() || !answer.faults().empty());
  }
}

TEST(FaultFit, WhatIsNoPictureIsNamed) {
  EXPECT_NE(refusal("").find("no JPEG, PNG or WebP"), std::string::npos);
  EXPECT_NE(refusal("hello").find("no JPEG, PNG or WebP"), std::string::npos);
  EXPECT_NE(refusal("\xFF\xD8\xFF rubbish").find("damaged"), std::string::npos);
  EXPECT_NE(refusal("\x89PNG\r\n\x1A\n rubbish").find("damaged"), std::string::npos);
  EXPECT_NE(refusal(std::string("RIFF\x10\0\0\0WEBPVP8 ", 16)).find("damaged"), std::string::npos);
}

TEST(FaultFit, AnyCutAndAnyBentByteIsAnswered) {
  const auto rgb = quarters(48, 48);
  std::mt19937 random(11);
  for (const auto& whole : {with_exif(jpeg_of(rgb, 48, 48), 6), png_of(rgb, 48, 48, PNG_FORMAT_RGB)}) {
    std::size_t read = 0;
    for (std::size_t at = 0; at < whole.size(); at += 3) read += fit(whole.substr(0, at), {}).ok() ? 1U : 0U;
    for (int i = 0; i < 400; ++i) {
      auto bent = whole;
      bent[random() % bent.size()] = static_cast<char>(random());
      read += fit(bent, {}).ok() ? 1U : 0U;
    }
    EXPECT_GT(read, 0U);
  }
}

}  // namespace
}  // namespace lathbook::photo
