// serve, phones: handed to the program beside this one, so that no other command has to load what serves pages
#include "cli/commands.h"
#include "cli/hand_over.h"
#include "cli/words.h"

namespace lathbook::cli {

int run_serve(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  std::vector<std::string> words{"--book", path->string()};
  if (const auto& port = request.options.at("port"); !port.empty()) words.insert(words.end(), {"--port", port});
  if (request.today != world.today) words.insert(words.end(), {"--day", request.today});
  if (request.flags.at("no_open")) words.emplace_back("--no-open");
  if (request.flags.at("phone")) words.emplace_back("--phone");
  return hand_over(world, "lathbook-serve", std::move(words));
}

int run_phones(const Request& request, const World& world) {
  std::vector<std::string> words{"--phones"};
  if (request.json) words.emplace_back("--json");
  if (const auto& id = request.options.at("revoke"); !id.empty()) words.insert(words.end(), {"--revoke", id});
  return hand_over(world, "lathbook-serve", std::move(words));
}

}  // namespace lathbook::cli
