#include "cli/hand_over.h"

#include <unistd.h>

#include <filesystem>
#include <ostream>
#include <system_error>

#include "cli/commands.h"

namespace lathbook::cli {

int hand_over(const World& world, std::string_view program, std::vector<std::string> words) {
  std::error_code error;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
  // Beside this program where it was built; in libexec where it was installed (packaging/CMakeLists.txt).
  const auto beside = self.parent_path() / program;
  const auto installed = self.parent_path().parent_path() / "libexec" / "lathbook" / program;
  world.out.flush();
  world.err.flush();
  for (auto path : {beside.string(), installed.string()}) {
    std::vector<char*> arguments{path.data()};
    for (auto& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    execv(path.c_str(), arguments.data());
  }
  return fail(world, {{beside.string(), "", "cannot be started",
                       "the program that comes with lathbook, beside it or in " + installed.parent_path().string(),
                       reason::FaultKind::kMissing}});
}

}  // namespace lathbook::cli
