#include "book/json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "schema/schema.h"
#include "testing/generate.h"

namespace lathbook::book {
namespace {

using ::testing::HasSubstr;

TEST(BookJson, EveryKindOfTheSchemaIsAKindOfTheProgram) {
  const auto& listed = book_schema().document()["x-kinds"];
  ASSERT_EQ(listed.size(), kinds().size());
  for (std::size_t i = 0; i < listed.size(); ++i) {
    EXPECT_EQ(listed[i]["kind"], kinds()[i].name);
    EXPECT_EQ(listed[i]["list"], kinds()[i].list);
    EXPECT_EQ(listed[i]["prefix"], kinds()[i].prefix);
  }
}

TEST(BookJson, AnIdTellsItsKind) {
  EXPECT_EQ(kind_of_id("M7")->name, "material");
  EXPECT_EQ(kind_of_id("PE2")->name, "person");
  EXPECT_EQ(kind_of_id("Z2"), nullptr);
}

TEST(BookJson, RefusesForeignAndNewerForms) {
  EXPECT_THAT(book_from_json(Json{{"a", 1}}).faults().front().text(), HasSubstr("not a book in the open form"));
  EXPECT_THAT(book_from_json(Json::array()).faults().front().text(), HasSubstr("not a book"));
  const Json newer = {{"format", "lathbook-book"}, {"version", 2}, {"about", {{"title", "x"}}}};
  EXPECT_THAT(book_from_json(newer).faults().front().text(), HasSubstr("newer than this program"));
}

// Every field a schema knows is read and written back: nothing of an item is lost, whatever is filled in.
TEST(PropertyBookJson, CanonicalItemsKeepEveryField) {
  testing::Generator draw(book_schema(), 1);
  std::vector<std::string_view> names = {"about"};
  for (const auto& kind : kinds()) names.push_back(kind.name);
  for (const auto name : names) {
    const auto& part = book_schema().document()["$defs"][std::string(name)];
    for (int round = 0; round < 60; ++round) {
      const auto item = draw.value(part);
      ASSERT_TRUE(book_schema().check_part("/$defs/" + std::string(name), item).empty()) << item.dump();
      const auto canonical = canonical_item(name, item);
      EXPECT_TRUE(book_schema().check_part("/$defs/" + std::string(name), canonical).empty()) << canonical.dump();
      EXPECT_EQ(canonical_item(name, canonical), canonical);
      // What the writer leaves out must be a default: adding it again changes nothing.
      for (const auto& [key, value] : item.items()) {
        if (canonical.contains(key)) {
          if (!value.is_structured()) {
            EXPECT_EQ(canonical[key], value) << name << "." << key;
          }
          continue;
        }
        auto without = item;
        without.erase(key);
        const auto required = part.value("required", Json::array());
        ASSERT_EQ(std::find(required.begin(), required.end(), key), required.end())
            << name << "." << key << " was lost";
        EXPECT_EQ(canonical_item(name, without), canonical) << name << "." << key << " was lost";
      }
    }
  }
}

// The quick way from text to item and the way through JSON put the same item into a book, or find the same faults.
TEST(PropertyItemReader, ReadsTextAsItWouldReadJson) {
  testing::Generator draw(book_schema(), 23);
  ItemReader reader;
  int kept = 0;
  int refused = 0;
  for (int round = 0; round < 3000; ++round) {
    const auto& kind = kinds()[draw.below(kinds().size())];
    const std::string name(kind.name);
    auto item = draw.value(book_schema().document()["$defs"][name]);
    if (draw.below(2) == 0) testing::spoil(item, draw);
    Book quick;
    const auto text = item.dump();
    const auto faults = reader.read(quick, name, "X", text);
    if (!item.is_object()) {
      ASSERT_THAT(faults.at(0).problem, HasSubstr("damaged")) << text;
      continue;
    }
    ASSERT_EQ(faults, book_schema().check_part("/$defs/" + name, item, "X")) << text;
    (faults.empty() ? kept : refused) += 1;
    Book slow;
    if (faults.empty()) insert_item(slow, name, item);
    ASSERT_EQ(to_json(quick), to_json(slow)) << text;
  }
  EXPECT_GT(kept, 1000);
  EXPECT_GT(refused, 500);
}

TEST(FaultItemReader, NamesTheItemThatIsDamaged) {
  ItemReader reader;
  Book book;
  for (const char* text :
       {"", "{", "[]", "7", R"({"id":"L1","name":"a","name":"b"})", "{\"id\":\"L1\",\"name\":\"\xff\"}"}) {
    const auto faults = reader.read(book, "storey", "L1", text);
    ASSERT_EQ(faults.size(), 1U) << text;
    EXPECT_EQ(faults.front().text(), "L1: is damaged: its body is not an object") << text;
  }
  EXPECT_EQ(to_json(book), to_json(Book{}));
  // Keys that a person's tool wrote in another order are read all the same.
  EXPECT_TRUE(reader.read(book, "storey", "L1", R"({"name":"Ground","id":"L1","floor_m":0})").empty());
  EXPECT_EQ(book.storeys.at(0).name, "Ground");
}

TEST(PropertyBookJson, AWholeBookSurvivesTheRoundTrip) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    testing::Generator draw(book_schema(), seed);
    auto json = draw.value(book_schema().document());
    json.erase("files");
    const auto book = book_from_json(json);
    ASSERT_TRUE(book.ok()) << book.faults().front().text();
    const auto written = to_json(*book);
    const auto again = book_from_json(written);
    ASSERT_TRUE(again.ok()) << again.faults().front().text();
    EXPECT_EQ(to_json(*again), written);
    for (const auto& kind : kinds()) {
      const std::string list(kind.list);
      EXPECT_EQ(json.contains(list) ? json[list].size() : 0U, written.contains(list) ? written[list].size() : 0U)
          << list;
    }
  }
}

}  // namespace
}  // namespace lathbook::book
