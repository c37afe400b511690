// A file that says it is a book.
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "must.h"
#include "service/open_book.h"
#include "store/store.h"

namespace {

/// A folder of this process alone, in memory where there is one.
const std::filesystem::path& folder() {
  static const std::filesystem::path made = [] {
    const std::filesystem::path memory = "/dev/shm";
    const bool there = ::access(memory.c_str(), W_OK) == 0;
    auto path =
        (there ? memory : std::filesystem::temp_directory_path()) / ("lathbook-fuzz-" + std::to_string(::getpid()));
    std::filesystem::create_directories(path);
    return path;
  }();
  return made;
}

struct Gone {
  ~Gone() {
    std::error_code ignored;
    std::filesystem::remove_all(folder(), ignored);
  }
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  static const Gone gone;
  const auto path = folder() / "stranger.lathbook";
  for (const char* beside : {"", "-wal", "-shm"}) std::filesystem::remove(path.string() + beside);
  std::ofstream(path, std::ios::binary) << fuzz::text_of(data, size);
  {
    const auto opened = store::Store::open(path, store::Mode::kReadOnly);
    if (!opened.ok()) return 0;
    static_cast<void>(opened->read_all());
    static_cast<void>(opened->history(10));
    static_cast<void>(opened->verify());
  }
  auto book = service::OpenBook::open(path, store::Mode::kReadWrite);
  if (!book.ok()) return 0;
  static_cast<void>(book->open_form(true));
  static_cast<void>(book->undo("2026-03-01T10:00:00Z"));
  return 0;
}
