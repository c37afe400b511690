// Helpers for the tests and the benchmark of the store.
#pragma once

#include <unistd.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <map>
#include <random>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "store/store.h"

namespace lathbook::store::testing {

inline constexpr std::string_view kNow = "2026-03-01T10:00:00Z";

/// A folder in memory where there is one: the tests force to the disk tens of thousands of times.
inline std::filesystem::path quick_place() {
  const std::filesystem::path memory = "/dev/shm";
  return ::access(memory.c_str(), W_OK) == 0 ? memory : std::filesystem::temp_directory_path();
}

/// A folder of its own for one test, gone after it.
class Folder {
 public:
  explicit Folder(const std::filesystem::path& place = quick_place()) {
    static int count = 0;
    path_ = place / ("lathbook-store-" + std::to_string(::getpid()) + "-" + std::to_string(++count));
    std::filesystem::create_directories(path_);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  [[nodiscard]] std::filesystem::path operator/(std::string_view name) const { return path_ / name; }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  /// The names in it, sorted, for "nothing else was left behind".
  [[nodiscard]] std::vector<std::string> names() const {
    std::vector<std::string> names;
    for (const auto& entry : std::filesystem::directory_iterator(path_))
      names.push_back(entry.path().filename().string());
    std::ranges::sort(names);
    return names;
  }

 private:
  std::filesystem::path path_;
};

/// All faults, one a line: what a test prints when it did not expect any.
template <class T>
std::string said(const Result<T>& result) {
  if (result.ok()) return "no fault";
  std::string text;
  for (const auto& fault : result.faults()) text += fault.text() + "\n";
  return text;
}

/// The value, or an exception that fails the test with the faults.
template <class T>
T got(Result<T> result) {
  if (!result.ok()) throw std::runtime_error(said(result));
  return std::move(result).value();
}

using Bodies = std::map<std::pair<std::string, std::string>, std::string>;

inline Bodies bodies(const Store& store) {
  Bodies out;
  for (auto& row : got(store.read_all_text()).records) out[{row.kind, row.id}] = row.body;
  return out;
}

inline std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline void write_bytes(const std::filesystem::path& path, std::string_view bytes) {
  std::ofstream(path, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

inline Json material(const std::string& id, int count) {
  return {
      {"id", id}, {"name", "Board no. " + std::to_string(count)}, {"family", "insulating-board"}, {"layer", count % 4}};
}

inline Edit put(const std::string& id, int count) { return {"material", id, material(id, count)}; }

/// Draws edits that can be made: puts, changes and removals over a few records of three kinds.
class RandomEdits {
 public:
  explicit RandomEdits(std::uint64_t seed) : random_(seed) {}

  std::vector<Edit> step(const Bodies& now) {
    std::vector<Edit> edits;
    Bodies then = now;
    const std::size_t count = 1 + below(4);
    for (std::size_t i = 0; i < count; ++i) {
      static const std::array<std::pair<const char*, const char*>, 3> kKinds = {
          {{"room", "R"}, {"material", "M"}, {"job", "J"}}};
      const auto& [kind, prefix] = kKinds[below(kKinds.size())];
      const std::string id = prefix + std::to_string(1 + below(12));
      const bool there = then.contains({kind, id});
      if (there && below(3) == 0) {
        edits.push_back({kind, id, std::nullopt});
        then.erase({kind, id});
      } else {
        Json body = {{"id", id},
                     {"name", text()},
                     {"size_m", std::uniform_real_distribution<double>(0, 1e3)(random_)},
                     {"list", Json::array({below(9), nullptr, true, text()})}};
        then[{kind, id}] = body.dump();
        edits.push_back({kind, id, std::move(body)});
      }
    }
    return edits;
  }

  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random_); }

 private:
  std::string text() {
    static const std::array<std::string, 8> kPieces = {"a", "é", "漢", "\"", "\\", "\n", "'", "🏠"};
    std::string out;
    for (std::size_t i = below(400); i > 0; --i) out += kPieces[below(kPieces.size())];
    return out;
  }

  std::mt19937_64 random_;
};

}  // namespace lathbook::store::testing
