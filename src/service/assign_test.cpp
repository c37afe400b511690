#include "service/assign.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;

Json assigned(const char* part, std::vector<std::string> fields, Json item = Json::object()) {
  auto result = assign(std::move(item), part, fields);
  EXPECT_TRUE(result.ok()) << (result.ok() ? "" : result.faults().front().text());
  return result.ok() ? *result : Json();
}

std::string refused(const char* part, std::vector<std::string> fields) {
  const auto result = assign(Json::object(), part, fields);
  EXPECT_FALSE(result.ok());
  return result.ok() ? "" : result.faults().front().text();
}

TEST(Assign, ReadsEachKindOfValueAsAPersonWritesIt) {
  EXPECT_EQ(
      assigned("/$defs/room", {"name=Front room", "outline=0,0 4.2,0 4.2,3 0,3", "height_m=2.4"}),
      (Json{{"name", "Front room"}, {"outline", {{0.0, 0.0}, {4.2, 0.0}, {4.2, 3.0}, {0.0, 3.0}}}, {"height_m", 2.4}}));
  EXPECT_EQ(assigned("/$defs/phase", {"years=1954"}), (Json{{"years", {{"from", 1954}, {"to", 1954}}}}));
  EXPECT_EQ(assigned("/$defs/phase", {"years=1954-1960"}), (Json{{"years", {{"from", 1954}, {"to", 1960}}}}));
  EXPECT_EQ(assigned("/$defs/phase", {"years=1960s"}), (Json{{"years", {{"from", 1960}, {"to", 1969}}}}));
  EXPECT_EQ(assigned("/$defs/phase", {"years=1950s-1960s"}), (Json{{"years", {{"from", 1950}, {"to", 1969}}}}));
  EXPECT_EQ(assigned("/$defs/phase", {"years=1958-1960s"}), (Json{{"years", {{"from", 1958}, {"to", 1969}}}}));
  EXPECT_EQ(assigned("/$defs/material", {"extent=12 m2"}), (Json{{"extent", {{"amount", 12.0}, {"unit", "m2"}}}}));
  EXPECT_EQ(assigned("/$defs/material", {"extent=3"}), (Json{{"extent", {{"amount", 3.0}, {"unit", "number"}}}}));
  EXPECT_EQ(assigned("/$defs/material", {"overhead_or_hard_to_reach=yes"}),
            (Json{{"overhead_or_hard_to_reach", true}}));
  EXPECT_EQ(assigned("/$defs/job", {"cost_plain=249.50"}), (Json{{"cost_plain", 24950}}));
  EXPECT_EQ(assigned("/$defs/job", {"after=J1, J2"}), (Json{{"after", {"J1", "J2"}}}));
  EXPECT_EQ(assigned("/$defs/material", {"proof.text=bill of 2006", "proof.installed_on=2006-05-01"}),
            (Json{{"proof", {{"text", "bill of 2006"}, {"installed_on", "2006-05-01"}}}}));
}

TEST(Assign, ReadsShapes) {
  const auto shape = [](const char* text) {
    return assigned("/$defs/cut", {std::string("shape=") + text}).value("shape", Json());
  };
  EXPECT_EQ(shape("point 1.2,2"), (Json{{"point", {1.2, 2.0}}}));
  EXPECT_EQ(shape("line 0,0 3,0 wide 0.1"), (Json{{"line", {{0.0, 0.0}, {3.0, 0.0}}}, {"width_m", 0.1}}));
  EXPECT_EQ(shape("outline 0,0 1,0 1,1"), (Json{{"outline", {{0.0, 0.0}, {1.0, 0.0}, {1.0, 1.0}}}}));
  EXPECT_EQ(shape("from 0.5 to 1.5 high 0 to 2.1"),
            (Json{{"left_m", 0.5}, {"right_m", 1.5}, {"low_m", 0.0}, {"high_m", 2.1}}));
  EXPECT_EQ(shape("whole"), Json());
}

TEST(Assign, AnEmptyValueTakesTheFieldAway) {
  EXPECT_EQ(assigned("/$defs/material", {"thickness_mm="}, {{"thickness_mm", 9}, {"name", "x"}}),
            (Json{{"name", "x"}}));
}

TEST(FaultAssign, SaysHowToWriteIt) {
  EXPECT_THAT(refused("/$defs/room", {"outline=0,0 4"}),
              HasSubstr("outline: \"0,0 4\" cannot be read; allowed: corners X,Y"));
  EXPECT_THAT(refused("/$defs/cut", {"shape=blob"}),
              HasSubstr("shape: \"blob\" cannot be read; allowed: whole; point X,Y"));
  EXPECT_THAT(refused("/$defs/job", {"cost_plain=1.234"}), HasSubstr("at most two decimals"));
  EXPECT_THAT(refused("/$defs/job", {"cost_plain=nan"}), HasSubstr("cannot be read"));
  EXPECT_THAT(refused("/$defs/room", {"colour=red"}),
              HasSubstr("colour: red is not a field of this; allowed: air_changes_per_h"));
  EXPECT_THAT(refused("/$defs/room", {"id=R7"}), HasSubstr("is given by the book"));
  EXPECT_THAT(refused("/$defs/room", {"name"}), HasSubstr("is not of the form field=value"));
  for (const char* nameless : {"=7", ".=7", " =7", " . . =7"})
    EXPECT_THAT(refused("/$defs/room", {nameless}), HasSubstr("is not of the form field=value")) << nameless;
  EXPECT_THAT(refused("/$defs/phase", {"years=soon"}), HasSubstr("1954, 1954-1960 or 1950s"));
  for (const char* no_decade : {"years=1954s", "years=60s", "years=s", "years=1960ss"})
    EXPECT_THAT(refused("/$defs/phase", {no_decade}), HasSubstr("cannot be read"));
}

TEST(FaultAssign, FindsEveryFault) {
  const std::vector<std::string> fields = {"colour=red", "height_m=tall"};
  EXPECT_EQ(assign(Json::object(), "/$defs/room", fields).faults().size(), 2U);
}

TEST(Fields, RequiredOnesFirstAndEveryOneSaysHow) {
  const auto fields = fields_of("/$defs/room");
  EXPECT_TRUE(fields.front().required);
  EXPECT_FALSE(fields.back().required);
  for (const auto& field : fields) {
    EXPECT_FALSE(field.how.empty()) << field.name;
    EXPECT_FALSE(field.what.empty()) << field.name;
  }
}

}  // namespace
}  // namespace lathbook::service
