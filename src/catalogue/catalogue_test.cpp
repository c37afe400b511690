#include "catalogue/catalogue.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <map>

#include "assets/assets.h"
#include "book/words.h"
#include "schema/schema.h"
#include "testing/agreement.h"
#include "testing/csv.h"

namespace lathbook::catalogue {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

CatalogueTexts shipped_texts() {
  return {assets::get("data/families.json"), assets::get("data/tasks.json"), assets::get("data/controls.json"),
          assets::get("data/respirators.json"), assets::get("data/sources.json")};
}

std::string changed(std::string_view text, const std::string& from, const std::string& to) {
  std::string out(text);
  const auto at = out.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return out.replace(at, from.size(), to);
}

/// Signs are read from where one stands: a finger, a key or a knock is already work on the material.
TEST(Catalogue, NoSignTellsToTouchWhatMayHoldAsbestos) {
  for (const auto& family : shipped().families) {
    for (const auto& sign : family.look) {
      for (const char* touch : {"finger", "nail marks", "key", "knock", "scratch", "tapped", "magnet"}) {
        EXPECT_THAT(sign.text, Not(HasSubstr(touch))) << family.id;
      }
    }
    for (const auto& other : family.mistaken_for) {
      for (const char* touch : {"finger", "knock", "scratch", "tapped", "magnet"}) {
        EXPECT_THAT(other.tell, Not(HasSubstr(touch))) << family.id;
      }
    }
  }
}

TEST(Catalogue, EveryFileFitsItsSchema) {
  for (const std::string name : {"families", "tasks", "controls", "respirators", "sources"}) {
    const auto document = schema::parse_json(assets::get("data/" + name + ".json"));
    ASSERT_TRUE(document.ok()) << name;
    const auto form = schema::parse_json(assets::get("data/schemas/" + name + ".schema.json"));
    ASSERT_TRUE(form.ok()) << name;
    for (const auto& fault : schema::Schema(*form).check(*document, name)) ADD_FAILURE() << fault.text();
  }
}

TEST(Catalogue, HoldsTheFamiliesOfBritishHomes) {
  const auto suspects =
      std::count_if(shipped().families.begin(), shipped().families.end(), [](const Family& f) { return f.suspect; });
  EXPECT_EQ(suspects, 29);
  for (const char* id : {"insulating-board",
                         "insulating-board-core",
                         "cement-profiled-sheet",
                         "cement-flat-sheet",
                         "cement-slate",
                         "cement-moulded",
                         "textured-coating",
                         "pipe-lagging",
                         "boiler-insulation",
                         "sprayed-coating",
                         "loose-fill",
                         "millboard",
                         "paper",
                         "rope-seal",
                         "textile",
                         "flash-guard",
                         "gasket",
                         "thermoplastic-tile",
                         "vinyl-tile",
                         "vinyl-sheet-paper-backed",
                         "bitumen-felt",
                         "bitumen-adhesive",
                         "mastic-putty",
                         "resin-plastic",
                         "bakelite",
                         "sink-pad",
                         "magnesite-floor",
                         "heater-parts",
                         "wall-plug-powder"}) {
    EXPECT_NE(shipped().find_family(id), nullptr) << id;
  }
}

TEST(Catalogue, EverySourceHasATitleAndWhatWasReadAPublisher) {
  for (const auto& source : shipped().sources) {
    EXPECT_FALSE(source.title.empty()) << source.id;
    if (source.sure == Sure::kSeen) {
      EXPECT_FALSE(source.publisher.empty()) << source.id << " was read, so somebody published it";
    }
  }
}

TEST(Catalogue, HarderWorkNeverReleasesLess) {
  // Within one family and one kind of task, a task that disturbs more releases at least as much.
  for (const auto& family : shipped().families) {
    for (const auto& mild : shipped().tasks) {
      for (const auto& harsh : shipped().tasks) {
        if (mild.kind != harsh.kind || mild.disturbance >= harsh.disturbance) continue;
        EXPECT_LE(family.release_by(mild.id), family.release_by(harsh.id))
            << family.id << ": " << mild.id << " against " << harsh.id;
      }
    }
  }
}

TEST(Catalogue, FindsAFamilyByWhatPeopleCallIt) {
  EXPECT_EQ(family_called(shipped(), "AIB"), shipped().find_family("insulating-board"));
  EXPECT_EQ(family_called(shipped(), "Pipe lagging"), shipped().find_family("pipe-lagging"));
  EXPECT_EQ(family_called(shipped(), "Nine-inch floor tile"), shipped().find_family("thermoplastic-tile"));
  EXPECT_EQ(family_called(shipped(), "marble"), nullptr);
}

TEST(Catalogue, NoNameMeansTwoFamilies) {
  std::map<std::string, std::string> owners;
  for (const auto& family : shipped().families) {
    for (const auto& name : family.other_names) {
      const auto [at, fresh] = owners.emplace(name, family.id);
      EXPECT_TRUE(fresh || at->second == family.id) << name << " is " << at->second << " and " << family.id;
    }
  }
}

TEST(Catalogue, SuggestsTheNearestWord) {
  EXPECT_EQ(near_families(shipped(), "insulting-board").front(), "insulating-board");
  EXPECT_EQ(near_families(shipped(), "textured").front(), "textured-coating");
  EXPECT_EQ(near_families(shipped(), "fire blankt").front(), "textile");
  EXPECT_EQ(near_families(shipped(), "lagging").front(), "pipe-lagging");
  EXPECT_THAT(near_families(shipped(), "xyzzyplugh"), IsEmpty());
  EXPECT_THAT(near_families(shipped(), ""), IsEmpty());
  EXPECT_EQ(near_tasks(shipped(), "dril").front(), "drill");
  EXPECT_THAT(unknown_family(shipped(), "/family", "vinil-tile").text(), HasSubstr("perhaps vinyl-tile"));
  EXPECT_THAT(unknown_task(shipped(), "/task", "qqqqqqqq").text(), HasSubstr("data/tasks.json"));
}

TEST(PublishedFamilies, AgreeWithTheGuidesProductList) {
  testing::Agreement agreement("evidence_families");
  for (const auto& row : testing::read_csv("tests/published/gb_families.csv")) {
    const auto* family = shipped().find_family(row.at("family"));
    ASSERT_NE(family, nullptr) << row.at("family");
    EXPECT_EQ(word(family->legal_kind), row.at("legal_kind")) << family->id;
    EXPECT_EQ(family->product_score, std::stoi(row.at("product"))) << family->id;
    ASSERT_TRUE(family->use.has_value()) << family->id;
    EXPECT_EQ(family->use->last, std::stoi(row.at("last"))) << family->id;
    const auto content = std::find_if(family->fibres.begin(), family->fibres.end(), [&](const FibreContent& f) {
      return book::word(f.type) == row.at("main_fibre");
    });
    ASSERT_NE(content, family->fibres.end()) << family->id;
    // The list's range must lie within ours: we may be wider where lists differ, never narrower.
    EXPECT_LE(content->low_percent, std::stod(row.at("low_percent"))) << family->id;
    EXPECT_GE(content->high_percent, std::stod(row.at("high_percent"))) << family->id;
    EXPECT_EQ(word(content->backing.sure), row.at("sure")) << family->id << " claims more or less than was read";
    agreement.same();
  }
}

TEST(FaultCatalogue, NamesEveryFaultAtItsPlace) {
  auto texts = shipped_texts();
  auto families = changed(texts.families, "\"binding\": \"friable\"", "\"binding\": \"wobbly\"");
  families = changed(families, "\"low\": 600, \"high\": 900", "\"low\": 1600, \"high\": 900");
  texts.families = families;
  const auto tasks = changed(texts.tasks, "\"disturbance\": 2", "\"disturbance\": 9");
  texts.tasks = tasks;
  const auto parsed = parse_catalogue(texts);
  ASSERT_FALSE(parsed.ok());
  std::vector<std::string> lines;
  for (const auto& fault : parsed.faults()) lines.push_back(fault.text());
  EXPECT_THAT(lines, Contains(HasSubstr("data/families.json/families/0/binding")));
  EXPECT_THAT(lines, Contains(HasSubstr("data/families.json/families/0/density_kg_per_m3/low")));
  EXPECT_THAT(lines, Contains(HasSubstr("data/tasks.json/tasks/0/disturbance")));
}

TEST(FaultCatalogue, RefusesASourceOrTaskThatIsNotThereAndAnIdUsedTwice) {
  auto texts = shipped_texts();
  const auto unknown_source = changed(texts.controls, "\"source\": \"hsg210\"", "\"source\": \"hearsay\"");
  texts.controls = unknown_source;
  EXPECT_THAT(parse_catalogue(texts).faults().front().text(), HasSubstr("hearsay"));

  texts = shipped_texts();
  const auto unknown_task = changed(texts.families, "\"tasks\": [\"damp-wipe\"", "\"tasks\": [\"blast\"");
  texts.families = unknown_task;
  EXPECT_THAT(parse_catalogue(texts).faults().front().text(), HasSubstr("blast"));

  texts = shipped_texts();
  const auto twice = changed(texts.tasks, "\"id\": \"saw\"", "\"id\": \"drill\"");
  texts.tasks = twice;
  EXPECT_THAT(parse_catalogue(texts).faults().front().text(), HasSubstr("drill"));
}

TEST(FaultCatalogue, RefusesTextThatIsNotJson) {
  auto texts = shipped_texts();
  texts.sources = "{\"sources\": [";
  const auto parsed = parse_catalogue(texts);
  ASSERT_FALSE(parsed.ok());
  EXPECT_THAT(parsed.faults().front().text(), HasSubstr("data/sources.json"));
}

}  // namespace
}  // namespace lathbook::catalogue
