#include "schema/forms.h"

#include <gtest/gtest.h>

#include <stdexcept>
#include <string>

#include "schema/node.h"
#include "schema/parse.h"
#include "schema/schema.h"
#include "testing/generate.h"

namespace lathbook::schema {
namespace {

constexpr const char* kDocument = R"({
  "type": "object", "additionalProperties": false, "required": ["id", "list"],
  "properties": {
    "id": {"type": "string", "pattern": "^M[1-9][0-9]{0,6}$"},
    "list": {"type": "array", "minItems": 1, "maxItems": 4, "uniqueItems": true, "items": {"$ref": "#/$defs/entry"}},
    "pair": {"type": "array", "minItems": 2, "maxItems": 2, "prefixItems": [{"type": "number"}, {"type": "boolean"}]},
    "when": {"type": "string", "format": "date"}, "at": {"type": "string", "format": "date-time"},
    "word": {"enum": ["a", "b", 3]}, "one": {"const": 1},
    "text": {"type": "string", "minLength": 1, "maxLength": 5},
    "size": {"type": ["number", "null"], "exclusiveMinimum": 0, "maximum": 10},
    "many": {"type": "integer", "minimum": 0, "exclusiveMaximum": 9},
    "rest": {"type": "object", "additionalProperties": {"type": "number"}},
    "never": false, "all": {"allOf": [{"type": "number"}, {"minimum": 2}]}
  },
  "dependentRequired": {"when": ["at"]},
  "$defs": {"entry": {"oneOf": [{"type": "integer"}, {"type": "number", "minimum": 5}, {"$ref": "#/$defs/tree"}]},
            "tree": {"type": "object", "properties": {"left": {"$ref": "#/$defs/tree"}}, "additionalProperties": false}}
})";

TEST(PropertyForms, SaysYesExactlyWhenThereIsNothingToSay) {
  const Json document = Json::parse(kDocument);
  const Forms forms(document);
  const Schema schema(document);
  Parser parser;
  testing::Generator draw(schema, 5);
  int fitting = 0;
  int broken = 0;
  for (int i = 0; i < 20000; ++i) {
    auto value = draw.value(document);
    value.erase("never");
    if (value.contains("all")) value["all"] = 2 + static_cast<double>(draw.below(9));
    for (auto times = draw.below(3); times > 0; --times) testing::spoil(value, draw);
    const bool fits = forms.fit(document, value);
    ASSERT_EQ(fits, schema.explain("", value).empty()) << value.dump();
    const auto text = value.dump();
    ASSERT_EQ(forms.fit_taped(document, parser.tape(text).value()), fits) << text;
    (fits ? fitting : broken) += 1;
  }
  EXPECT_GT(fitting, 2000);
  EXPECT_GT(broken, 2000);
}

TEST(Forms, LeavesOpenWhetherUnsortedOrDoubleKeysFit) {
  const Json document = Json::parse(R"({"type": "object", "additionalProperties": {"type": "number"}})");
  const Forms forms(document);
  Parser parser;
  EXPECT_TRUE(forms.fit_taped(document, parser.tape(R"({"a": 1, "b": 2})").value()));
  EXPECT_FALSE(forms.fit_taped(document, parser.tape(R"({"b": 1, "a": 2})").value()));
  EXPECT_FALSE(forms.fit_taped(document, parser.tape(R"({"a": 1, "a": 2})").value()));
}

TEST(Forms, KnowsItsPartsByPointer) {
  const Json document =
      Json::parse(R"({"$defs": {"a/b~c": {"type": "null"}}, "items": {"anyOf": [true, {"type": "string"}]}})");
  const Forms forms(document);
  EXPECT_EQ(&forms.at("/$defs/a~1b~0c"), &document["$defs"]["a/b~c"]);
  EXPECT_EQ(&forms.at("/items/anyOf/1"), &document["items"]["anyOf"][1]);
  for (const char* none : {"/nothing", "/$defs", "/items/anyOf/2", "/items/anyOf/x", "/items/anyOf/1/type", "items"})
    EXPECT_THROW(static_cast<void>(forms.at(none)), std::logic_error) << none;
}

TEST(Forms, TellsADayAndTime) {
  for (const char* text : {"2024-02-29T10:00", "2024-02-29T23:59:59Z", "2024-02-29T10:00:00.125+01:30"})
    EXPECT_TRUE(is_date_time(text)) << text;
  for (const char* text :
       {"2024-02-29", "2024-02-30T10:00", "2024-02-29T24:00", "2024-02-29 10:00", "2024-02-29T10:00z"})
    EXPECT_FALSE(is_date_time(text)) << text;
  EXPECT_TRUE(is_date_time("2024-02-29T10:00:00." + std::string(1'000'000, '5')));
}

}  // namespace
}  // namespace lathbook::schema
