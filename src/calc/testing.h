// Running a topic in a test: whatever it answers is held against the topic's own answer schema.
#pragma once

#include <gtest/gtest.h>

#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "calc/topic.h"
#include "schema/schema.h"

namespace lathbook::calc {

/// The topic of this name. Throws where there is none: the test itself is wrong then.
inline const Topic& topic_called(std::string_view name) {
  const auto* topic = find_topic(name);
  if (topic == nullptr) throw std::logic_error("no topic is called " + std::string(name));
  return *topic;
}

/// The answer, which has the form promised and says why. Throws with the first fault where the input is refused.
inline Json answered(std::string_view name, const Json& input) {
  const auto& topic = topic_called(name);
  const auto result = run(topic, input);
  if (!result.ok()) throw std::runtime_error(result.faults().front().text());
  const schema::Schema form(schema_of(topic));
  for (const auto& fault : form.check_part("/answer", *result)) ADD_FAILURE() << fault.text();
  EXPECT_FALSE(result->value("reasons", Json::array()).empty()) << name << " gives no reason";
  return *result;
}

/// The faults found in the input; none where it is taken.
inline reason::Faults refused(std::string_view name, const Json& input) {
  const auto result = run(topic_called(name), input);
  return result.ok() ? reason::Faults{} : result.faults();
}

/// The same as the lines a person reads.
inline std::vector<std::string> refused_in_words(std::string_view name, const Json& input) {
  std::vector<std::string> lines;
  for (const auto& fault : refused(name, input)) lines.push_back(fault.text());
  return lines;
}

}  // namespace lathbook::calc
