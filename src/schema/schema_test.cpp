#include "schema/schema.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "assets/assets.h"

namespace lathbook::schema {
namespace {

Schema schema(const char* text) { return Schema(Json::parse(text)); }

std::vector<std::string> texts(const reason::Faults& faults) {
  std::vector<std::string> lines;
  for (const auto& fault : faults) lines.push_back(fault.text());
  return lines;
}

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

TEST(Schema, NamesFieldValueAndWhatIsAllowed) {
  const auto s = schema(R"({"type":"object","additionalProperties":false,"required":["product"],
                            "properties":{"product":{"type":"integer","minimum":1,"maximum":3}}})");
  EXPECT_THAT(texts(s.check(Json{{"product", 7}})),
              ElementsAre("/product: 7 is too large; allowed: a whole number from 1 to 3"));
  EXPECT_THAT(texts(s.check(Json::object())), ElementsAre("/product: is missing; allowed: a whole number from 1 to 3"));
  EXPECT_THAT(texts(s.check(Json{{"product", 1}, {"colour", 2}})),
              ElementsAre("/colour: 2 is a field that is not known here; allowed: the fields product"));
  EXPECT_THAT(s.check(Json{{"product", 2}}), IsEmpty());
}

TEST(Schema, FindsEveryFaultNotOnlyTheFirst) {
  const auto s = schema(R"({"type":"array","items":{"type":"number","exclusiveMinimum":0}})");
  EXPECT_EQ(s.check(Json{1, -1, "x", 0}).size(), 3U);
}

TEST(FaultSchema, StopsTellingAfterAThousandFaults) {
  const Schema list(Json{{"type", "array"}, {"items", {{"type", "integer"}}}});
  EXPECT_EQ(list.check(Json(std::vector<std::string>(999, "x"))).size(), 999U);
  const auto faults = list.check(Json(std::vector<std::string>(100'000, "x")));
  ASSERT_EQ(faults.size(), 1001U);
  EXPECT_EQ(faults.back().problem, "has more faults than are told here");
}

TEST(FaultSchema, TextWithAZeroInItIsRefusedWhereItIs) {
  const auto said = [](std::string_view text) {
    const auto read = parse_json(text, "the file");
    return read.ok() ? "" : read.faults().front().where;
  };
  EXPECT_EQ(said(R"({"a": ["x", {"b": "y\u0000z"}]})"), "the file/a/1/b");
  EXPECT_EQ(said(R"({"a\u0000": 1})"), "the file");
  EXPECT_EQ(said(R"({"a": "a backslash and letters: \\u0000"})"), "");
}

TEST(FaultSchema, AWholeNumberIsOneADoubleHolds) {
  const auto s = schema(R"({"type":"integer","minimum":0})");
  EXPECT_THAT(s.check(9007199254740991), IsEmpty());
  EXPECT_THAT(texts(s.check(9007199254740992)),
              ElementsAre("9007199254740992 is too long a number; allowed: a whole number of at least 0"));
  EXPECT_THAT(texts(s.check(4e33)), ElementsAre(HasSubstr("is too long a number")));
  EXPECT_THAT(texts(s.check(0.5)), ElementsAre(HasSubstr("is not a whole number")));
  EXPECT_THAT(texts(schema(R"({"type":["integer","null"]})").check(-1e300)),
              ElementsAre(HasSubstr("is too long a number")));
  EXPECT_THAT(schema(R"({"type":"number"})").check(4e33), IsEmpty());
}

/// Where a part of `document` takes whole numbers without saying up to which; references within it are followed.
std::vector<std::string> endless(const Json& document, const Json& part, const std::string& where) {
  std::vector<std::string> found;
  const auto add = [&](const Json& inner, const std::string& name) {
    for (auto& one : endless(document, inner, where + "/" + name)) found.push_back(std::move(one));
  };
  if (part.is_object() && part.value("type", Json()) == "integer" && !part.contains("maximum") &&
      !part.contains("exclusiveMaximum") && !part.contains("enum"))
    found.push_back(where);
  if (part.is_object() && part.contains("$ref")) {
    const Json::json_pointer pointer(part["$ref"].get<std::string>().substr(1));
    if (document.contains(pointer))
      add(document.at(pointer), "$ref");  // what several topics share is a file of its own
  }
  if (part.is_structured()) {
    for (const auto& [key, inner] : part.items()) add(inner, key);
  }
  return found;
}

TEST(Schema, EveryWholeNumberOfAFileOrAQuestionHasItsMost) {
  int seen = 0;
  for (const auto& asset : assets::all()) {
    const bool question = asset.name.starts_with("src/calc/schemas/");
    if (!question && !asset.name.starts_with("data/schemas/")) continue;
    ++seen;
    const auto document = Json::parse(asset.bytes);
    EXPECT_THAT(endless(document, question ? document.at("input") : document, std::string(asset.name)), IsEmpty());
  }
  EXPECT_EQ(seen, 32) << "16 topics and 16 files";
}

TEST(Schema, TellsOfTheClosestBranchOfAChoice) {
  const auto s =
      schema(R"({"anyOf":[{"type":"number","minimum":0},{"type":"array","items":{"type":"number"},"minItems":3}]})");
  EXPECT_THAT(texts(s.check(-2)), ElementsAre(HasSubstr("is too small; allowed: a number of at least 0")));
  EXPECT_THAT(texts(s.check(Json{1, 2})), ElementsAre(HasSubstr("has too few entries")));
  EXPECT_THAT(texts(s.check("x")),
              ElementsAre(HasSubstr("is of the wrong kind; allowed: a number of at least 0; or a list")));
}

TEST(Schema, ChecksDatesAgainstTheCalendar) {
  const auto s = schema(R"({"type":"string","format":"date"})");
  EXPECT_THAT(s.check("2024-02-29"), IsEmpty());
  EXPECT_THAT(texts(s.check("2023-02-29")),
              ElementsAre(HasSubstr("is not a day of the calendar; allowed: a day as YYYY-MM-DD")));
}

TEST(Schema, CountsCharactersNotBytes) {
  const auto s = schema(R"({"type":"string","maxLength":3})");
  EXPECT_THAT(s.check("äöü"), IsEmpty());
  EXPECT_FALSE(s.check("abcd").empty());
}

TEST(Schema, EscapesPointers) {
  const auto s = schema(R"({"type":"object","additionalProperties":{"type":"number"}})");
  EXPECT_EQ(s.check(Json{{"a/b~c", "x"}}).front().where, "/a~1b~0c");
}

TEST(Schema, RefusesASchemaItWouldNotFullyCheck) {
  EXPECT_THROW(schema(R"({"type":"object","patternProperties":{}})"), std::logic_error);
  EXPECT_THROW(schema(R"({"type":"string","format":"email"})"), std::logic_error);
}

TEST(ParseJson, GivesLineAndColumn) {
  const auto bad = parse_json("{\n  \"a\": 1,\n  \"b\": }\n", "book.json");
  ASSERT_FALSE(bad.ok());
  EXPECT_THAT(bad.faults().front().text(), HasSubstr("book.json: is not JSON: line 3, column 8"));
}

TEST(ParseJson, RefusesDuplicateKeysBadUtf8AndDeepNesting) {
  EXPECT_THAT(parse_json(R"({"a":1,"a":2})").faults().front().text(), HasSubstr("given twice"));
  EXPECT_TRUE(parse_json(R"([{"a":1},{"a":2}])").ok());
  EXPECT_FALSE(parse_json("\"\xff\"").ok());
  EXPECT_FALSE(parse_json(std::string(100, '[') + std::string(100, ']')).ok());
  EXPECT_TRUE(parse_json(std::string("[\"") + std::string(100, '[') + "\"]").ok());
  EXPECT_FALSE(parse_json("1e999").ok());
  EXPECT_FALSE(parse_json("").ok());
  EXPECT_FALSE(parse_json("NaN").ok());
}

TEST(Schema, ATopicHoldsTwoSchemasSideBySide) {
  const Schema topic(Json::parse(
      R"({"title": "t", "input": {"$ref": "#/$defs/n"}, "answer": {"type": "string"}, "$defs": {"n": {"type": "integer"}}})"));
  EXPECT_TRUE(topic.check_part("/input", 3).empty());
  EXPECT_FALSE(topic.check_part("/input", "3").empty());
  EXPECT_TRUE(topic.check_part("/answer", "3").empty());
  EXPECT_THROW(Schema(Json::parse(R"({"input": {"typo": 1}, "answer": {}})")), std::logic_error);
}

}  // namespace
}  // namespace lathbook::schema
