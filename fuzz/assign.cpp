// `field=value` words as a person, or a script, types them: a line each; the first byte picks the kind of item.
#include "service/assign.h"

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "book/json.h"
#include "must.h"
#include "schema/schema.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  if (size < 1) return 0;
  const auto& kind = book::kinds()[data[0] % book::kinds().size()];
  const auto pointer = "/$defs/" + std::string(kind.name);
  std::vector<std::string> words(1);
  for (const char c : fuzz::text_of(data + 1, size - 1)) {
    if (c == '\n') {
      words.emplace_back();
    } else {
      words.back() += c;
    }
  }
  const auto item = service::assign(service::Json{{"id", std::string(kind.prefix) + "1"}}, pointer, words);
  if (!item.ok() || !book::book_schema().check_part(pointer, *item).empty()) return 0;
  const auto canonical = book::canonical_item(kind.name, *item);
  fuzz::must(book::canonical_item(kind.name, canonical) == canonical, "the open form is its own open form");
  // What is shown can be typed back.
  std::vector<std::string> typed;
  for (const auto& field : service::written(pointer, canonical)) typed.push_back(field.name + "=" + field.value);
  static_cast<void>(service::assign(service::Json::object(), pointer, typed));
  return 0;
}
