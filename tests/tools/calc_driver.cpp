// `calc_driver TOPIC < input.json`: one calculation from the outside, for the scripts beside this file. The same edge
// as `lathbook calc TOPIC -`, without the rest of the program: the answer on standard output, faults a line each on
// standard error, the exit status of calc::answer.
#include <iostream>
#include <iterator>
#include <string>

#include "calc/topic.h"
#include "schema/schema.h"

int main(int count, char** words) {
  using namespace lathbook;
  if (count != 2) {
    std::cerr << "usage: calc_driver TOPIC < input.json\n";
    return 2;
  }
  const auto* topic = calc::find_topic(words[1]);
  if (topic == nullptr) {
    std::cerr << words[1] << " is not a topic\n";
    return 2;
  }
  std::ios::sync_with_stdio(false);
  const std::string text{std::istreambuf_iterator<char>(std::cin), std::istreambuf_iterator<char>()};
  const auto input = schema::parse_json(text);
  if (!input.ok()) {
    for (const auto& fault : input.faults()) std::cerr << fault.text() << '\n';
    return 2;
  }
  const auto answered = calc::answer(*topic, *input);
  for (const auto& fault : answered.faults) std::cerr << fault.text() << '\n';
  if (!answered.output.is_null()) std::cout << answered.output.dump() << '\n';
  return answered.exit_status;
}
