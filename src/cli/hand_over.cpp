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
  auto path = (self.parent_path() / program).string();
  std::vector<char*> arguments{path.data()};
  for (auto& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  world.out.flush();
  world.err.flush();
  execv(path.c_str(), arguments.data());
  return fail(world, {{path, "", "cannot be started", "the program that comes with lathbook, beside it",
                       reason::FaultKind::kMissing}});
}

}  // namespace lathbook::cli
