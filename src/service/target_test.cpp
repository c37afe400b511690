#include "service/target.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace lathbook::service {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::UnorderedElementsAre;

TEST(Target, ReadsItemsListsAndEntries) {
  EXPECT_EQ(parse_target("M7")->kind, "material");
  EXPECT_EQ(parse_target("about")->pointer, "/$defs/about");
  const auto entry = parse_target("J3/cuts/2");
  ASSERT_TRUE(entry.ok());
  EXPECT_EQ(entry->id, "J3");
  EXPECT_EQ(entry->list, "cuts");
  EXPECT_EQ(entry->entry, 2U);
  EXPECT_EQ(entry->pointer, "/$defs/cut");
  EXPECT_EQ(parse_target("E1/stays")->pointer, "/$defs/event/properties/stays/items");
}

TEST(FaultTarget, RefusesWhatCannotBeThere) {
  for (const char* wrong :
       {"", "M", "M0", "M07", "m7", "ZZ1", "M7x", "J3/cuts/0", "J3/cuts/x", "J3/cuts/", "J3/holes", "M7/cuts/1"}) {
    EXPECT_FALSE(parse_target(wrong).ok()) << wrong;
  }
  EXPECT_THAT(parse_target("J3/holes").faults().front().text(), HasSubstr("allowed: cuts"));
}

TEST(Target, KnowsTheListsOfPartsOfEachKind) {
  EXPECT_THAT(part_lists("job"), ElementsAre("cuts"));
  EXPECT_THAT(part_lists("event"), UnorderedElementsAre("cuts", "stays", "masks", "cleaning", "openings"));
  EXPECT_THAT(part_lists("material"), IsEmpty());
}

TEST(Target, NamesThePlaceOfAFaultAsTheCommandsDo) {
  EXPECT_EQ(named_as_target("C1", "/samples/0/fibres"), "C1/samples/1 fibres");
  EXPECT_EQ(named_as_target("C1", "/area_m2"), "C1 area_m2");
  EXPECT_EQ(named_as_target("C1", "/stages/2"), "C1 stages.3") << "words of a list are a field, not parts";
  EXPECT_EQ(named_as_target("J3", "/cuts/1/controls/0"), "J3/cuts/2 controls.1");
  EXPECT_EQ(named_as_target("J3/cuts/2", "/controls/0"), "J3/cuts/2 controls.1");
  EXPECT_EQ(named_as_target("E1", "/stays/9"), "E1/stays/10");
  EXPECT_EQ(named_as_target("certificate", "/samples/0/litres"), "certificate/samples/1 litres");
  EXPECT_EQ(named_as_target("about", "/away/0/to"), "about/away/1 to");
  EXPECT_EQ(named_as_target("M7", ""), "M7");
  const auto faults = named_as_targets("C1", {{"/samples/3/fields", "0", "is no field", "1 or more"}});
  EXPECT_EQ(faults.front().where, "C1/samples/4 fields");
}

TEST(References, FindsIdsWhereverTheSchemaPutsThemAndNowhereElse) {
  const nlohmann::json job = {{"id", "J1"},
                              {"title", "M9"},
                              {"after", {"J2"}},
                              {"cuts", {{{"task", "drill"}, {"room", "R1"}, {"face", "ceiling"}}}}};
  EXPECT_THAT(references("job", job), UnorderedElementsAre("J2", "R1"));
}

}  // namespace
}  // namespace lathbook::service
