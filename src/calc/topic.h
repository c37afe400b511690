// Every calculation from the outside: one JSON object in, one JSON object out. The contract is docs/calc.md.
#pragma once

#include <nlohmann/json.hpp>
#include <span>
#include <string>
#include <string_view>

#include "reason/fault.h"
#include "reason/reason.h"

namespace lathbook::calc {

using Json = nlohmann::json;

/// One topic. `run` is only called with input that already fits the topic's schema; it still reports what a schema
/// cannot say (flows that do not balance, an id that is not there). Its answer must hold `reasons`.
struct Topic {
  std::string_view name;
  std::string_view question;  ///< one line for `lathbook calc --list`
  reason::Result<Json> (*run)(const Json& input);
};

/// All topics, in the order of docs/calc.md.
[[nodiscard]] std::span<const Topic> topics();

/// The topic called `name`, or nullptr.
[[nodiscard]] const Topic* find_topic(std::string_view name);

/// `{"title", "input", "answer"}`: the JSON Schemas of a topic, as `lathbook calc TOPIC --schema` prints them.
[[nodiscard]] Json schema_of(const Topic& topic);

/// Checks `input` against the topic's schema, then runs it.
[[nodiscard]] reason::Result<Json> run(const Topic& topic, const Json& input);

/// What `lathbook calc TOPIC` prints and its exit status: one object gives one answer (or none and `faults`, exit 2);
/// an array gives an array in which a bad object is `{"error": [lines]}` and the exit status is 1.
struct Answered {
  Json output;  ///< null when nothing is to be printed on standard output
  reason::Faults faults;
  int exit_status = 0;
};
[[nodiscard]] Answered answer(const Topic& topic, const Json& input);

/// `[{"text", "source"}]`, as every answer carries them.
[[nodiscard]] Json reasons_json(const reason::Reasons& reasons);

}  // namespace lathbook::calc
