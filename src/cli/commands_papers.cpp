// papers: handed to the program beside this one, so that no other command has to load what draws pages
#include "cli/commands.h"
#include "cli/hand_over.h"
#include "cli/words.h"

namespace lathbook::cli {

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

  std::vector<std::string> line{"--book", book->string(), "--to", to, "--today", request.today};
  if (const auto& paper = request.options.at("paper"); !paper.empty()) line.insert(line.end(), {"--paper", paper});
  if (const auto& without = request.options.at("without"); !without.empty())
    line.insert(line.end(), {"--without", without});
  if (request.flags.at("force")) line.emplace_back("--force");
  line.insert(line.end(), words.rest.begin(), words.rest.end());
  return hand_over(world, "lathbook-papers", std::move(line));
}

}  // namespace lathbook::cli
