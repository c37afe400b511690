// The whole pack of papers, as a process of its own, so that its time and its memory are what somebody waits for: the
// demo's house, and 500 materials with 300 photos of 12 million pixels. The peer of the second is libjpeg-turbo alone,
// unpacking the same photos at the size they are asked for.
#include <benchmark/benchmark.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <turbojpeg.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "assets/assets.h"
#include "service/open_book.h"

namespace {

namespace fs = std::filesystem;
using namespace lathbook;
using Json = nlohmann::json;

constexpr const char* kNow = "2026-11-25T00:00:00Z";
constexpr int kPhotos = 300;
constexpr int kWidth = 4000;
constexpr int kHeight = 3000;
constexpr double kMB = 1e6;

struct Folder {
  fs::path path = fs::temp_directory_path() / ("papers-bench-" + std::to_string(getpid()));
  Folder() { fs::create_directories(path); }
  ~Folder() { fs::remove_all(path); }
};

const fs::path& folder() {
  static const Folder kept;
  return kept.path;
}

service::OpenBook made(const fs::path& path, const Json& form) {
  auto book = service::OpenBook::create(path, form, "import", kNow);
  if (!book.ok()) throw std::runtime_error(book.faults().front().text());
  return std::move(*book);
}

/// Shades and grain as a camera sees a wall, about 2 MB.
std::string camera_photo(unsigned seed) {
  std::mt19937 random(seed);
  std::vector<unsigned char> rgb(static_cast<std::size_t>(kWidth) * kHeight * 3);
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const double shade = 120 + 60 * std::sin(x / 310.0 + seed) + 40 * std::cos(y / 170.0);
      const int grain = static_cast<int>(random() % 17);
      auto* pixel = &rgb[(static_cast<std::size_t>(y) * kWidth + static_cast<std::size_t>(x)) * 3];
      for (int c = 0; c < 3; ++c) pixel[c] = static_cast<unsigned char>(shade + grain + 8 * c);
    }
  }
  tjhandle writer = tjInitCompress();
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
  tjCompress2(writer, rgb.data(), kWidth, 0, kHeight, TJPF_RGB, &bytes, &size, TJSAMP_420, 85, 0);
  std::string out(reinterpret_cast<char*>(bytes), size);
  tjFree(bytes);
  tjDestroy(writer);
  return out;
}

/// The same photo with a comment in it is another file.
std::string numbered(const std::string& jpeg, int number) {
  const auto text = std::to_string(number);
  const auto length = text.size() + 2;
  return jpeg.substr(0, 2) + "\xFF\xFE" + static_cast<char>(length >> 8) + static_cast<char>(length & 255) + text +
         jpeg.substr(2);
}

const std::vector<std::string>& camera_photos() {
  static const std::vector<std::string> photos{camera_photo(1), camera_photo(2), camera_photo(3)};
  return photos;
}

fs::path demo_book() {
  const auto path = folder() / "demo.lathbook";
  if (!fs::exists(path)) made(path, Json::parse(assets::get("data/demo.json")));
  return path;
}

fs::path large_book() {
  const auto path = folder() / "large.lathbook";
  if (fs::exists(path)) return path;
  const std::string command = std::string("/usr/bin/python3 ") + LATHBOOK_ROOT + "/bench/make_big_book.py 500 20";
  FILE* pipe = popen(command.c_str(), "r");
  std::string text;
  char piece[65536];
  for (std::size_t got = 0; pipe != nullptr && (got = fread(piece, 1, sizeof piece, pipe)) > 0;)
    text.append(piece, got);
  if (pipe == nullptr || pclose(pipe) != 0) throw std::runtime_error("make_big_book.py failed");
  auto book = made(path, Json::parse(text));
  std::vector<store::Edit> edits;
  for (int i = 1; i <= kPhotos; ++i) {
    const auto bytes = numbered(camera_photos()[static_cast<std::size_t>(i) % camera_photos().size()], i);
    const auto digest = book.store().put_blob(bytes, "image/jpeg");
    if (!digest.ok()) throw std::runtime_error(digest.faults().front().text());
    const auto id = "D" + std::to_string(i);
    edits.push_back({"document", id,
                     Json{{"id", id},
                          {"title", "Photo " + std::to_string(i) + " of a piece of the house"},
                          {"kind", "photo"},
                          {"media_type", "image/jpeg"},
                          {"sha256", *digest},
                          {"bytes", bytes.size()},
                          {"material", "M" + std::to_string(i)}}});
  }
  const auto put = book.apply("photos", kNow, std::move(edits));
  if (!put.ok()) throw std::runtime_error(put.faults().front().text());
  return path;
}

/// Runs the program as `lathbook papers` does; what it used, its answer thrown away.
rusage pack(const fs::path& book, const fs::path& to) {
  const std::string program = LATHBOOK_PAPERS;
  const pid_t child = fork();
  if (child == 0) {
    if (freopen("/dev/null", "w", stdout) == nullptr || freopen("/dev/null", "w", stderr) == nullptr) _exit(126);
    execl(program.c_str(), program.c_str(), "--book", book.c_str(), "--to", to.c_str(), "--today", "2026-11-25",
          "--force", nullptr);
    _exit(127);
  }
  int status = 0;
  rusage used{};
  if (child < 0 || wait4(child, &status, 0, &used) != child || status != 0)
    throw std::runtime_error("lathbook-papers failed");
  return used;
}

void measure(benchmark::State& state, const fs::path& book, const char* name) {
  const auto to = folder() / name;
  rusage used{};
  for (auto _ : state) used = pack(book, to);
  state.counters["peak_MB"] = static_cast<double>(used.ru_maxrss) * 1024 / kMB;
  state.counters["cpu_s"] = static_cast<double>(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
                            1e-6 * static_cast<double>(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
  state.counters["register_MB"] = static_cast<double>(fs::file_size(to / "register.pdf")) / kMB;
}

void demo_pack(benchmark::State& state) { measure(state, demo_book(), "demo"); }
BENCHMARK(demo_pack)->UseRealTime()->Iterations(5)->Unit(benchmark::kMillisecond);

void large_pack(benchmark::State& state) { measure(state, large_book(), "large"); }
BENCHMARK(large_pack)->UseRealTime()->Iterations(2)->Unit(benchmark::kMillisecond);

/// The peer: one thread, each photo unpacked once at a quarter of its edges, nothing done with it.
void photos_unpacked(benchmark::State& state) {
  const auto& photos = camera_photos();
  std::vector<unsigned char> pixels(static_cast<std::size_t>(kWidth / 4) * (kHeight / 4) * 3);
  for (auto _ : state) {
    tjhandle reader = tjInitDecompress();
    for (int i = 0; i < kPhotos; ++i) {
      const auto& jpeg = photos[static_cast<std::size_t>(i) % photos.size()];
      tjDecompress2(reader, reinterpret_cast<const unsigned char*>(jpeg.data()), jpeg.size(), pixels.data(), kWidth / 4,
                    0, kHeight / 4, TJPF_RGB, TJFLAG_ACCURATEDCT);
      benchmark::DoNotOptimize(pixels.data());
    }
    tjDestroy(reader);
  }
  state.counters["photo_MB"] = static_cast<double>(photos.front().size()) / kMB;
}
BENCHMARK(photos_unpacked)->Iterations(1)->Unit(benchmark::kMillisecond);

}  // namespace
