// calc
#include <fmt/format.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <ostream>

#include "calc/topic.h"
#include "cli/commands.h"
#include "cli/text.h"
#include "schema/schema.h"

namespace lathbook::cli {

int run_calc(const Request& request, const World& world) {
  using reason::FaultKind;
  if (request.flags.at("list")) {
    calc::Json list = calc::Json::array();
    Page page(request.use_colour);
    for (const auto& topic : calc::topics()) {
      list.push_back({{"topic", topic.name}, {"question", topic.question}});
      page.entry(topic.name, topic.question, 16, 0);
    }
    world.out << (request.json ? list.dump(2) + "\n" : page.text());
    return 0;
  }
  std::vector<std::string_view> names;
  for (const auto& topic : calc::topics()) names.push_back(topic.name);
  const auto allowed = fmt::format("{}", fmt::join(names, ", "));
  if (request.words.empty()) return fail(world, {{"", "", "the topic is missing", allowed, FaultKind::kUsage}});
  const auto* topic = calc::find_topic(request.words.front());
  if (topic == nullptr)
    return fail(world,
                {{"", fmt::format("\"{}\"", request.words.front()), "is not a topic", allowed, FaultKind::kUsage}});
  if (request.flags.at("schema")) {
    world.out << calc::schema_of(*topic).dump(2) << "\n";
    return 0;
  }
  if (request.words.size() > 2)
    return fail(world, {{"", fmt::format("\"{}\"", request.words[2]), "is one word too many",
                         "a topic, and a file or - for standard input", FaultKind::kUsage}});
  std::string text;
  if (request.words.size() == 1 || request.words[1] == "-") {
    text.assign(std::istreambuf_iterator<char>(world.in), {});
  } else {
    std::ifstream in(request.words[1], std::ios::binary);
    if (!in)
      return fail(world, {{request.words[1], "", "cannot be read", "a JSON file, or - for standard input",
                           FaultKind::kMissing}});
    text.assign(std::istreambuf_iterator<char>(in), {});
  }
  const auto input = schema::parse_json(text);
  if (!input.ok()) return fail(world, input.faults());
  const auto answered = calc::answer(*topic, *input);
  for (const auto& fault : answered.faults) world.err << fault.text() << "\n";
  if (!answered.output.is_null()) world.out << answered.output.dump(2) << "\n";
  return answered.exit_status;
}

}  // namespace lathbook::cli
