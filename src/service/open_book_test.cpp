#include "service/open_book.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <fstream>

#include "assets/assets.h"
#include "book/json.h"
#include "schema/schema.h"
#include "service/edit.h"
#include "testing/generate.h"

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

constexpr const char* kAt = "2026-11-25T12:00:00Z";

/// A folder of its own for each test, gone afterwards.
class Folder {
 public:
  Folder()
      : path_((std::filesystem::exists("/dev/shm") ? std::filesystem::path("/dev/shm")
                                                   : std::filesystem::temp_directory_path()) /
              ("lathbook-" + std::to_string(getpid()) + "-" + std::to_string(next()++))) {
    std::filesystem::create_directories(path_);
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] std::filesystem::path operator/(const char* name) const { return path_ / name; }

 private:
  static int& next() {
    static int count = 0;
    return count;
  }
  std::filesystem::path path_;
};

Json demo() { return Json::parse(assets::get("data/demo.json")); }

OpenBook make(const std::filesystem::path& path, const Json& form) {
  return OpenBook::create(path, form, "made", kAt).value();
}

/// One random action, of the kinds a person does; many are refused, as a person's would be.
bool random_action(OpenBook& book, testing::Generator& draw) {
  const auto items = book.items();
  const auto& record = items[draw.below(items.size())];
  const auto pointer = "/$defs/" + record.kind;
  const auto& part = book::book_schema().document()["$defs"][record.kind];
  switch (draw.below(4)) {
    case 0: {
      auto form = draw.value(part);
      form.erase("id");
      return record.kind != "about" && add(book, record.kind, {{}, form}, kAt).ok();
    }
    case 1:
      return record.kind != "about" && remove(book, record.id, draw.below(3) == 0, kAt).ok();
    default: {
      std::vector<std::string> names;
      for (const auto& [name, inner] : part["properties"].items()) {
        if (name != "id") names.push_back(name);
      }
      const auto& name = names[draw.below(names.size())];
      const Json value = draw.below(4) == 0 ? Json(nullptr) : draw.value(part["properties"][name]);
      return set(book, record.id, {{}, Json{{name, value}}}, kAt).ok();
    }
  }
}

/// The demo house with its first material written down so many times over.
Json crowded(std::size_t materials) {
  Json form = demo();
  auto& list = form["materials"];
  Json another = list.front();
  for (std::size_t number = 1000; list.size() < materials; ++number) {
    another["id"] = "M" + std::to_string(number);
    list.push_back(another);
  }
  return form;
}

TEST(OpenBookThreads, ALargeBookReadByTwoHandsIsTheOneWrittenDown) {
  const Folder folder;
  const Json form = crowded(2500);
  make(folder / "large.lathbook", form);
  const auto opened = OpenBook::open(folder / "large.lathbook", store::Mode::kReadOnly);
  ASSERT_TRUE(opened.ok());
  EXPECT_EQ(Json::diff(book::to_json(opened->book()), book::to_json(book::book_from_json(form).value())),
            Json::array());
}

TEST(PropertyOpenBook, UndoThenRedoIsTheIdentityOverRandomEdits) {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const Folder folder;
    auto book = make(folder / "house.lathbook", demo());
    testing::Generator draw(book::book_schema(), seed);
    std::vector<Json> states = {*book.open_form(true)};
    for (int tries = 0; tries < 120; ++tries) {
      if (!random_action(book, draw)) continue;
      auto state = *book.open_form(true);
      if (state != states.back()) states.push_back(std::move(state));
    }
    ASSERT_GT(states.size(), 10U) << "too few edits were taken for the property to mean anything";
    for (std::size_t i = states.size() - 1; i-- > 0;) {
      ASSERT_TRUE(book.undo(kAt).ok());
      ASSERT_TRUE(*book.open_form(true) == states[i]) << "seed " << seed << " undo to " << i;
    }
    EXPECT_THAT(book.undo(kAt).faults().front().problem, HasSubstr("nothing to take back"));
    for (std::size_t i = 1; i < states.size(); ++i) {
      ASSERT_TRUE(book.redo(kAt).ok());
      ASSERT_TRUE(*book.open_form(true) == states[i]) << "seed " << seed << " redo to " << i;
    }
    EXPECT_THAT(faults_of(book.book()), IsEmpty());
    const auto read_again = OpenBook::open(folder / "house.lathbook", store::Mode::kReadOnly);
    ASSERT_TRUE(read_again.ok());
    EXPECT_TRUE(*read_again->open_form(true) == states.back());
  }
}

TEST(PropertyOpenBook, ImportOfExportIsTheBook) {
  for (std::uint64_t seed = 11; seed <= 14; ++seed) {
    const Folder folder;
    auto book = make(folder / "a.lathbook", demo());
    testing::Generator draw(book::book_schema(), seed);
    for (int i = 0; i < 60; ++i) random_action(book, draw);
    std::ofstream(folder / "photo.png", std::ios::binary) << "\x89PNG\r\n\x1A\n"
                                                          << std::string(200, static_cast<char>(seed));
    ASSERT_TRUE(attach(book, folder / "photo.png", {{"title=Ceiling"}, std::nullopt}, kAt, Keep::kAsItIs).ok());
    const auto form = *book.open_form(true);
    ASSERT_EQ(form["files"].size(), 1U);
    const auto again = make(folder / "b.lathbook", Json::parse(form.dump()));
    EXPECT_TRUE(*again.open_form(true) == form);
  }
}

TEST(FaultOpenBook, ARefusedEditLeavesTheBookAsItWas) {
  const Folder folder;
  auto book = make(folder / "house.lathbook", demo());
  const auto before = *book.open_form(true);
  for (const char* wrong :
       {"family=granite", "room=R99", "face=wall-9", "shape=point 50,50", "alike=same look", "years=1990-1980"}) {
    EXPECT_FALSE(set(book, "M6", {{wrong}, std::nullopt}, kAt).ok()) << wrong;
  }
  EXPECT_TRUE(*book.open_form(true) == before);
  EXPECT_TRUE(*OpenBook::open(folder / "house.lathbook", store::Mode::kReadOnly)->open_form(true) == before);
}

TEST(FaultOpenBook, TwoWritersAtOnceAreToldAndNothingIsLost) {
  const Folder folder;
  make(folder / "house.lathbook", demo());
  auto one = *OpenBook::open(folder / "house.lathbook", store::Mode::kReadWrite);
  auto two = *OpenBook::open(folder / "house.lathbook", store::Mode::kReadWrite);
  ASSERT_TRUE(set(one, "M7", {{"damage=low"}, std::nullopt}, kAt).ok());
  const auto late = set(two, "M8", {{"damage=high"}, std::nullopt}, kAt);
  ASSERT_FALSE(late.ok());
  EXPECT_EQ(late.faults().front().kind, reason::FaultKind::kConflict);
  const auto now = *OpenBook::open(folder / "house.lathbook", store::Mode::kReadOnly);
  EXPECT_EQ(now.item("material", "M7")->at("damage"), "low");
  EXPECT_FALSE(now.item("material", "M8")->contains("damage"));
}

TEST(FaultOpenBook, AFaultyImportLeavesNoFile) {
  const Folder folder;
  auto form = demo();
  form["rooms"][0]["storey"] = "L77";
  EXPECT_FALSE(OpenBook::create(folder / "x.lathbook", form, "import", kAt).ok());
  form = demo();
  form["files"] = {{{"sha256", std::string(64, '0')}, {"media_type", "image/png"}, {"base64", "aGVsbG8="}}};
  const auto wrong = OpenBook::create(folder / "x.lathbook", form, "import", kAt);
  ASSERT_FALSE(wrong.ok());
  EXPECT_THAT(wrong.faults().front().text(), HasSubstr("is not the digest of these bytes"));
  EXPECT_FALSE(std::filesystem::exists(folder / "x.lathbook"));
}

TEST(FaultOpenBook, OnlyKindsOfFileABookTakesAreAttached) {
  EXPECT_EQ(media_type_of(std::string_view("\xFF\xD8\xFF\xE0", 4)), "image/jpeg");
  EXPECT_EQ(media_type_of("%PDF-1.7"), "application/pdf");
  EXPECT_EQ(media_type_of("a note"), "text/plain");
  EXPECT_EQ(media_type_of(std::string_view("MZ\0\0", 4)), std::nullopt);
  EXPECT_EQ(media_type_of(""), std::nullopt);
}

TEST(Remove, TakesWhatLeansOnItOnlyWhenTold) {
  const Folder folder;
  auto book = make(folder / "house.lathbook", demo());
  const auto refused = remove(book, "R4", false, kAt);
  ASSERT_FALSE(refused.ok());
  EXPECT_THAT(refused.faults().front().problem, HasSubstr("M4"));
  ASSERT_TRUE(remove(book, "R4", true, kAt).ok());
  EXPECT_FALSE(book.item("material", "M4"));
  EXPECT_FALSE(book.item("result", "LR1"));
  EXPECT_TRUE(book.item("material", "M1"));
  ASSERT_TRUE(book.undo(kAt).ok());
  EXPECT_TRUE(*book.open_form(true) == *make(folder / "again.lathbook", demo()).open_form(true));
}

TEST(Add, NeverGivesAnIdAgain) {
  const Folder folder;
  auto book = make(folder / "house.lathbook", demo());
  ASSERT_TRUE(remove(book, "J7", false, kAt).ok());
  const auto added = add(book, "job", {{"title=Another"}, std::nullopt}, kAt);
  ASSERT_TRUE(added.ok());
  EXPECT_EQ(added->changes.front().id, "J8");
}

}  // namespace
}  // namespace lathbook::service
