// Values drawn from the schemas of the book and of every topic, half of them spoilt, and whether we say they fit: one
// JSON object a line, for another library to judge.
#include <iostream>
#include <nlohmann/json.hpp>

#include "book/json.h"
#include "calc/topic.h"
#include "schema/schema.h"
#include "testing/generate.h"

namespace {

void sample(const lathbook::schema::Schema& schema, const std::string& part, int count, std::uint64_t seed) {
  using lathbook::schema::Json;
  lathbook::testing::Generator draw(schema, seed);
  const Json& form = schema.document().at(Json::json_pointer(part));
  Json values = Json::array();
  for (int i = 0; i < count; ++i) {
    auto value = draw.value(form);
    for (auto times = draw.below(3); times > 0; --times) lathbook::testing::spoil(value, draw);
    values.push_back({{"value", value}, {"fits", schema.check_part(part, value).empty()}});
  }
  std::cout << Json{{"schema", schema.document()}, {"part", part}, {"values", std::move(values)}}.dump() << '\n';
}

}  // namespace

int main() {
  using namespace lathbook;
  std::uint64_t seed = 1;
  for (const auto& kind : book::kinds()) sample(book::book_schema(), "/$defs/" + std::string(kind.name), 200, seed++);
  for (const auto& topic : calc::topics()) sample(schema::Schema(calc::schema_of(topic)), "/input", 60, seed++);
}
