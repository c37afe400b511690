// papers: handed to the program beside this one, so that no other command has to load what draws pages
#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <ostream>
#include <system_error>

#include "cli/commands.h"
#include "cli/words.h"

namespace lathbook::cli {

std::filesystem::path papers_program() {
  std::error_code error;
  return std::filesystem::read_symlink("/proc/self/exe", error).parent_path() / "lathbook-papers";
}

int run_papers(const Request& request, const World& world) {
  using reason::FaultKind;
  const auto words = sort_words(request.words, request.book);
  if (!words.fields.empty())
    return fail(world, {{"", words.fields.front(), "is one word too many", "names of papers, and the book",
                         FaultKind::kUsage}});
  const auto& to = request.options.at("to");
  if (to.empty())
    return fail(world, {{"--to", "", "is missing", "the folder to put the papers into", FaultKind::kUsage}});
  const auto book = find_book(words);
  if (!book.ok()) return fail(world, book.faults());

  const auto program = papers_program();
  std::vector<std::string> line{program.string(), "--book", book->string(), "--to", to, "--today", request.today};
  if (const auto& paper = request.options.at("paper"); !paper.empty()) line.insert(line.end(), {"--paper", paper});
  if (const auto& without = request.options.at("without"); !without.empty())
    line.insert(line.end(), {"--without", without});
  if (request.flags.at("force")) line.emplace_back("--force");
  line.insert(line.end(), words.rest.begin(), words.rest.end());

  std::vector<char*> arguments;
  for (auto& word : line) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  world.out.flush();
  world.err.flush();
  const pid_t child = fork();
  if (child == 0) {
    execv(arguments.front(), arguments.data());
    _exit(127);
  }
  int status = 0;
  while (child > 0 && waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (child < 0 || (WIFEXITED(status) && WEXITSTATUS(status) == 127)) {
    return fail(world, {{program.string(), "", "cannot be started", "the program that comes with lathbook, beside it",
                         FaultKind::kMissing}});
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : 1;
}

}  // namespace lathbook::cli
