// Any topic of `lathbook calc`: first byte = topic; then either JSON, or (odd second byte) a seed for input drawn from
// the topic's own schema, which gets past it far more often; every other such with numbers at the ends of what fits.
#include <cstring>
#include <nlohmann/json.hpp>

#include "calc/topic.h"
#include "must.h"
#include "schema/schema.h"
#include "testing/generate.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  if (size < 2) return 0;
  const auto& topic = calc::topics()[data[0] % calc::topics().size()];
  calc::Json input;
  static std::map<std::string_view, schema::Schema> schemas;
  const auto& form = schemas.try_emplace(topic.name, calc::schema_of(topic)).first->second;
  if (data[1] % 2 == 1) {
    std::uint64_t seed = 0;
    std::memcpy(&seed, data + 2, std::min<std::size_t>(size - 2, sizeof seed));
    input = testing::Generator(form, seed, data[1] % 4 == 3).value(form.document()["input"]);
  } else {
    const auto parsed = schema::parse_json(fuzz::text_of(data + 2, size - 2));
    if (!parsed.ok()) return 0;
    input = *parsed;
  }
  const auto answered = calc::answer(topic, input);
  if (input.is_array()) return 0;
  if (answered.exit_status != 0) {
    fuzz::must(!answered.faults.empty(), "a refusal says why");
    return 0;
  }
  const auto faults = form.check_part("/answer", answered.output);
  fuzz::must(faults.empty(), std::string(topic.name) + " answers in its form, not: " +
                                 (faults.empty() ? "" : faults.front().text()) + "\nfor " + input.dump());
  return 0;
}
