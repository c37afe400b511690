#include "http/site.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <nlohmann/json.hpp>
#include <thread>

#include "http/testing.h"
#include "service/edit.h"
#include "service/open_book.h"

namespace lathbook::http {
namespace {

using service::Json;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Pair;

class SiteTest : public testing::DemoSite {
 protected:
  /// The key of the n-th edit that a page would draw.
  std::string key(int n) { return get("/api/book")["book_id"].get<std::string>() + fmt::format("-{:032x}", n); }
};

TEST_F(SiteTest, TellsTheWholeBookWithWhatFollowsFromIt) {
  const auto all = get("/api/book");
  EXPECT_EQ(all["revision"], 1);
  EXPECT_EQ(all["book"]["rooms"].size(), all["overview"]["rooms"]);
  EXPECT_EQ(all["materials"].size(), all["book"]["materials"].size());
  EXPECT_EQ(all["jobs"].size(), all["book"]["jobs"].size());
  EXPECT_EQ(all["materials"]["M14"]["standing"], "identified");
  EXPECT_EQ(all["steps"]["undo"], nullptr);
}

TEST_F(SiteTest, WallsLieWhereTheFabricHasThem) {
  const auto walls = get("/api/book")["walls"];
  // R4 is drawn anticlockwise from (3.6, 4); seen from inside, its first wall starts at the far end of that edge.
  EXPECT_EQ(walls["R4"]["wall-1"]["left"], Json({6.2, 4.0}));
  EXPECT_EQ(walls["R4"]["wall-1"]["along"], Json({-1.0, 0.0}));
  EXPECT_DOUBLE_EQ(walls["R4"]["wall-2"]["length_m"].get<double>(), 4.0);
}

TEST_F(SiteTest, AnswersJobsAndMaterialsAsTheCommandDoes) {
  const auto job = get("/api/check/J1");
  EXPECT_EQ(job["verdict"], "may start with these precautions");
  EXPECT_FALSE(job["reasons"].empty());
  EXPECT_EQ(get("/api/material/M2")["standing"], "presumed");
  EXPECT_FALSE(get("/api/material/M2")["reasons"].empty());
  EXPECT_EQ(ask(*site_, "GET", "/api/material/M99").status, 404);
  EXPECT_EQ(ask(*site_, "GET", "/api/check/../../etc/passwd").status, 404);
}

TEST_F(SiteTest, EditsAreWrittenToTheBookAndCanBeTakenBack) {
  const auto [status, done] = post("/api/set", {{"revision", revision()}, {"what", "M2"}, {"typed", {"damage=high"}}});
  EXPECT_EQ(status, 200) << done;
  const auto kept = service::OpenBook::open(path(), store::Mode::kReadOnly);
  ASSERT_TRUE(kept.ok());
  EXPECT_EQ((*kept->item("material", "M2"))["damage"], "high");
  EXPECT_THAT(get("/api/book")["steps"]["undo"].get<std::string>(), HasSubstr("M2"));
  EXPECT_EQ(post("/api/undo", {{"revision", revision()}}).first, 200);
  EXPECT_FALSE(get("/api/book")["steps"]["redo"].is_null());
  EXPECT_EQ(post("/api/redo", {{"revision", revision()}}).first, 200);
  EXPECT_TRUE(get("/api/book")["steps"]["redo"].is_null());
}

TEST_F(SiteTest, AddsInTheOpenFormAndAnswersTheNewId) {
  const auto [status, done] =
      post("/api/add",
           {{"revision", revision()},
            {"what", "material"},
            {"fields", {{"name", "Board"}, {"family", "insulating-board"}, {"room", "R2"}, {"face", "wall-1"}}}});
  EXPECT_EQ(status, 200) << done;
  EXPECT_EQ(done["changed"], Json({"M19"}));
  EXPECT_EQ(get("/api/material/M19")["standing"], "presumed");
}

TEST_F(SiteTest, TellsEveryFaultOfAnEditAndWritesNothing) {
  const auto before = revision();
  const auto [status, told] =
      post("/api/add", {{"revision", before},
                        {"what", "material"},
                        {"fields", {{"name", ""}, {"room", "R2"}, {"face", "wall-1"}, {"damage", "rather"}}}});
  EXPECT_EQ(status, 422);
  ASSERT_EQ(told["faults"].size(), 3u) << told;
  for (const auto& fault : told["faults"]) EXPECT_FALSE(fault["problem"].get<std::string>().empty());
  EXPECT_EQ(revision(), before);
}

TEST_F(SiteTest, OfTwoWritersOfOneItemTheLaterIsToldWhatWasDone) {
  const auto seen = revision();
  const auto other = reopened();
  EXPECT_EQ(ask(*other, "POST", "/api/set", Json{{"revision", seen}, {"what", "M2"}, {"typed", {"damage=low"}}}.dump())
                .status,
            200);
  const auto [status, told] = post("/api/set", {{"revision", seen}, {"what", "M2"}, {"typed", {"damage=high"}}});
  EXPECT_EQ(status, 409);
  EXPECT_EQ(told["faults"][0]["where"], "M2");
  EXPECT_THAT(told["faults"][0]["problem"].get<std::string>(), HasSubstr("change M2, Stippled ceiling, hall"));
  Json kept;
  const auto now = get("/api/book");
  for (const auto& one : now["book"]["materials"]) {
    if (one["id"] == "M2") kept = one["damage"];
  }
  EXPECT_EQ(kept, "low");
}

// ---- each edit once -------------------------------------------------------------------------------------------------

TEST_F(SiteTest, AnEditSentAgainIsAnsweredAsItWasAndDoneOnce) {
  const Json body = {
      {"revision", revision()},
      {"what", "material"},
      {"fields", {{"name", "Board"}, {"family", "insulating-board"}, {"room", "R2"}, {"face", "wall-1"}}}};
  const auto first = ask(*site_, "POST", "/api/add", body.dump(), key(1));
  EXPECT_EQ(first.status, 200) << first.body;
  EXPECT_EQ(post("/api/set", {{"revision", revision()}, {"what", "M2"}, {"typed", {"damage=low"}}}).first, 200);
  // Also quoted, as the draft of the header has it, and by a program started anew.
  EXPECT_EQ(ask(*site_, "POST", "/api/add", body.dump(), '"' + key(1) + '"').body, first.body);
  EXPECT_EQ(ask(*reopened(), "POST", "/api/add", body.dump(), key(1)).body, first.body);
  EXPECT_EQ(get("/api/book")["book"]["materials"].size(), 19U);
  EXPECT_EQ(revision(), 3);
  const auto another = ask(*site_, "POST", "/api/add", body.dump(), key(2));
  EXPECT_EQ(Json::parse(another.body)["changed"], Json({"M20"}));
}

TEST_F(SiteTest, EveryKindOfEditIsDoneOnce) {
  const auto drawn = key(0).substr(0, 17);
  const std::vector<std::pair<std::string, Json>> edits = {
      {"set", {{"what", "M2"}, {"typed", {"damage=high"}}}},
      {"undo", Json::object()},
      {"redo", Json::object()},
      {"several", {{"label", "two notes"}, {"parts", {{{"set", "R4"}, {"fields", {{"notes", "a"}}}}}}}},
      {"look", {{"room", "R2"}, {"families", {"textured-coating"}}, {"answer", "none seen"}}},
      {"add", {{"what", "J3/cuts"}, {"typed", {"task=drill", "room=R2", "face=wall-1", "shape=whole"}}}},
      {"remove", {{"what", "J3/cuts/3"}}},
  };
  int n = 16;
  for (auto [verb, body] : edits) {
    body["revision"] = revision();
    const auto of = key(++n);
    const auto first = ask(*site_, "POST", "/api/" + verb, body.dump(), of);
    ASSERT_EQ(first.status, 200) << verb << first.body;
    const auto after = revision();
    EXPECT_EQ(after, body["revision"].get<std::int64_t>() + 1) << verb;
    const auto again = ask(*site_, "POST", "/api/" + verb, body.dump(), of);
    EXPECT_EQ(again.status, 200) << verb << again.body;
    EXPECT_EQ(again.body, first.body) << verb;
    EXPECT_EQ(revision(), after) << verb;
  }
}

TEST_F(SiteTest, AnEditMeantForAnotherBookIsRefused) {
  const Json body = {{"revision", revision()}, {"what", "M2"}, {"typed", {"damage=high"}}};
  const auto foreign = ask(*site_, "POST", "/api/set", body.dump(), "0123456789abcdef" + key(1).substr(16));
  EXPECT_EQ(foreign.status, 409);
  EXPECT_THAT(foreign.body, HasSubstr("another book"));
  for (const auto& bad : {std::string("x"), key(1) + "0", key(1).substr(1), std::string("\"\"")})
    EXPECT_EQ(ask(*site_, "POST", "/api/set", body.dump(), bad).status, 400) << bad;
  EXPECT_EQ(revision(), 1);
}

TEST_F(SiteTest, AnEditTellsItsOwnRevisionSoThatNothingUnseenIsWrittenOver) {
  const auto seen = revision();
  const auto other = reopened();
  EXPECT_EQ(ask(*other, "POST", "/api/set", Json{{"revision", seen}, {"what", "M2"}, {"typed", {"damage=low"}}}.dump())
                .status,
            200);
  const auto merged = post("/api/set", {{"revision", seen}, {"what", "M4"}, {"typed", {"damage=low"}}}).second;
  EXPECT_EQ(merged["revision"], seen + 2);
  // Straight after it, before the book has been read again: what one has just done oneself can be taken back.
  EXPECT_EQ(post("/api/undo", {{"revision", merged["revision"]}}).first, 200);
}

TEST_F(SiteTest, NeverTellsAnOldBookUnderANewRevision) {
  // While another program writes: note and revision go up together, so each answer shows which revision it was read at.
  std::atomic<bool> over = false;
  std::jthread writer([&] {
    auto book = service::OpenBook::open(path(), store::Mode::kReadWrite);
    ASSERT_TRUE(book.ok());
    for (int written = 1; !over; ++written) {
      service::Fields fields;
      fields.typed = {fmt::format("notes={}", written + 1)};
      ASSERT_TRUE(service::set(*book, "M2", fields, {testing::kNow, {}}).ok());
    }
  });
  std::int64_t last = 1;
  for (int asked = 0; asked < 1000 && last < 200; ++asked) {
    const auto told = get("/api/book");
    for (const auto& material : told["book"]["materials"]) {
      if (material["id"] == "M2" && told["revision"] > 1) {
        EXPECT_EQ(material["notes"], told["revision"].dump());
      }
    }
    last = told["revision"].get<std::int64_t>();
  }
  over = true;
  EXPECT_GT(last, 1);
}

TEST_F(SiteTest, TellsTestsTimesAndWasteOfThisBook) {
  EXPECT_EQ(get("/api/testing")["currency"], "GBP");
  EXPECT_FALSE(get("/api/timeline")["activities"].empty());
  EXPECT_EQ(get("/api/waste")["pieces"].size(), 2);
  EXPECT_EQ(ask(*site_, "GET", "/api/paper/nothing").status, 404);
  EXPECT_EQ(ask(*site_, "POST", "/api/paper/register").status, 405);
  for (const char* path : {"/api/preview/register", "/api/preview/register/register.pdf", "/api/preview/register/a/0",
                           "/api/preview/register/a/1x", "/api/preview//1"})
    EXPECT_EQ(ask(*site_, "GET", path).status, 404) << path;
}

TEST_F(SiteTest, TriesAJobThatIsNotWrittenDown) {
  const auto before = revision();
  auto job = get("/api/book")["book"]["jobs"][1];
  const auto [status, answer] = post("/api/try", {{"job", job}});
  EXPECT_EQ(status, 200);
  auto written = get("/api/check/J2");
  written.erase("ways_on");
  auto tried = answer;
  tried.erase("ways_on");  // no other route is looked for while one draws
  EXPECT_TRUE(tried == written);
  job.erase("id");
  job["cuts"] = Json::array();
  EXPECT_EQ(post("/api/try", {{"job", job}}).second["job"], "J8");
  EXPECT_EQ(revision(), before);
  EXPECT_EQ(post("/api/try", {{"job", {{"title", 3}}}}).first, 422);
  EXPECT_EQ(post("/api/try", {{"event", job}}).first, 422);
}

TEST_F(SiteTest, ReckonsAnEventBesideOtherRequests) {
  const auto [status, begun] = post("/api/reckon", {{"event", "E1"}});
  ASSERT_EQ(status, 200);
  const auto path = "/api/reckon/" + begun["run"].dump();
  EXPECT_EQ(get("/api/now")["kinds"].size(), 3);
  EXPECT_TRUE(post("/api/stop", begun).second["stopped"]);
  for (Json look = get(path); look["state"] == "running"; look = get(path)) std::this_thread::yield();
  EXPECT_EQ(get(path)["state"], "stopped");
  EXPECT_EQ(ask(*site_, "GET", "/api/reckon/99").status, 404);
  EXPECT_EQ(post("/api/reckon", {{"event", "E9"}}).first, 404);
  EXPECT_EQ(post("/api/rough", {{"event", "E1"}}).second["draws"], 128);
}

TEST_F(SiteTest, EditsOfDifferentItemsMerge) {
  const auto seen = revision();
  const auto other = reopened();
  EXPECT_EQ(ask(*other, "POST", "/api/set", Json{{"revision", seen}, {"what", "M2"}, {"typed", {"damage=low"}}}.dump())
                .status,
            200);
  EXPECT_EQ(post("/api/set", {{"revision", seen}, {"what", "M4"}, {"typed", {"damage=low"}}}).first, 200);
  int low = 0;
  const auto now = get("/api/book");
  for (const auto& one : now["book"]["materials"]) {
    if ((one["id"] == "M2" || one["id"] == "M4") && one["damage"] == "low") ++low;
  }
  EXPECT_EQ(low, 2);
}

TEST_F(SiteTest, AWalkIsAnsweredAndReleasesNothing) {
  const auto before = get("/api/book");
  const auto walk = get("/api/walk/R4");
  ASSERT_FALSE(walk["questions"].empty());
  const auto& first = walk["questions"][0];
  const Json answer = {
      {"revision", before["revision"]}, {"room", "R4"}, {"families", {first["family"]}}, {"answer", "none seen"}};
  EXPECT_EQ(post("/api/look", answer).first, 200);
  EXPECT_EQ(post("/api/look", answer).first, 409);  // R4 has moved since
  EXPECT_EQ(get("/api/walk/R4")["questions"][0]["answer"], "none seen");
  EXPECT_EQ(get("/api/walk/R4")["questions"][0]["on"], "2026-11-25");
  const auto after = get("/api/book");
  EXPECT_EQ(after["materials"], before["materials"]);
  EXPECT_EQ(after["jobs"], before["jobs"]);
  EXPECT_EQ(ask(*site_, "GET", "/api/walk/R99").status, 404);
  for (const auto& [field, bad] : std::vector<std::pair<std::string, Json>>{{"room", "R99"},
                                                                            {"families", {"sofa"}},
                                                                            {"families", Json::array()},
                                                                            {"families", {"paper", "paper"}},
                                                                            {"answer", "no"}}) {
    auto wrong = answer;
    wrong["revision"] = after["revision"];
    wrong[field] = bad;
    EXPECT_NE(post("/api/look", wrong).first, 200) << field;
  }
}

TEST_F(SiteTest, OneAnswerToAllThatIsStillAskedIsOneStep) {
  const auto questions = [&] { return Json(get("/api/walk/R4")["questions"]); };
  Json open = Json::array();
  for (const auto all = questions(); const auto& one : all) {
    if (!one.contains("answer") && one["materials"].empty()) open.push_back(one["family"]);
  }
  ASSERT_GT(open.size(), 2U);
  const auto before = get("/api/book");
  Json none = {{"revision", before["revision"]}, {"room", "R4"}, {"families", open}, {"answer", "none seen"}};
  auto wrong = none;
  wrong["families"].push_back("sofa");
  wrong["families"].push_back("rug");
  const auto refused = post("/api/look", wrong);
  EXPECT_EQ(refused.second["faults"].size(), 2U);
  EXPECT_EQ(get("/api/book")["revision"], before["revision"]);  // all of it or none
  EXPECT_EQ(post("/api/look", none).first, 200);
  EXPECT_EQ(get("/api/book")["revision"].get<int>(), before["revision"].get<int>() + 1);
  for (const auto all = questions(); const auto& one : all) {
    const bool asked = std::find(open.begin(), open.end(), one["family"]) != open.end();
    EXPECT_EQ(asked ? one.value("answer", "") : "none seen", "none seen") << one["family"];
  }
  EXPECT_EQ(post("/api/undo", {{"revision", revision()}}).first, 200);
  for (const auto all = questions(); const auto& one : all) {
    const bool asked = std::find(open.begin(), open.end(), one["family"]) != open.end();
    EXPECT_FALSE(asked && one.contains("answer")) << one["family"];
  }
}

TEST_F(SiteTest, AFamilySaysHowThickItUsuallyIs) {
  const Json families = get("/api/schema")["families"];
  for (const auto& family : families) {
    const auto& thick = family["thickness_mm"];
    EXPECT_GT(thick["low"].get<double>(), 0) << family["id"];
    EXPECT_LE(thick["low"].get<double>(), thick["high"].get<double>()) << family["id"];
  }
  const auto board = std::find_if(families.begin(), families.end(),
                                  [](const Json& family) { return family["id"] == "insulating-board"; });
  ASSERT_NE(board, families.end());
  EXPECT_EQ((*board)["thickness_mm"], Json({{"low", 6}, {"high", 12.7}, {"source", "common-practice"}}));
}

TEST_F(SiteTest, APhotoIsKeptByItsContentAloneAndReadAgain) {
  constexpr const char* kDot =
      "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==";
  const auto seen = revision();
  const Json sent = {{"revision", seen}, {"material", "M2"}, {"dated", "2026-11-20"}, {"base64", kDot}};
  const auto [status, told] = post("/api/photo", sent);
  ASSERT_EQ(status, 200) << told;
  const std::string id = told["changed"][0];
  const auto now = get("/api/book");
  const auto& document = now["book"]["documents"].back();
  EXPECT_EQ(document["id"], id);
  EXPECT_EQ(document["material"], "M2");
  EXPECT_EQ(document["media_type"], "image/jpeg");  // made anew, not the PNG that was sent
  const auto read = ask(*site_, "GET", "/api/photo/" + id);
  EXPECT_EQ(read.content_type, "image/jpeg");
  EXPECT_TRUE(read.body.starts_with("\xFF\xD8\xFF"));
  EXPECT_EQ(ask(*site_, "GET", "/api/photo/D99").status, 404);

  // "<svg/>", "%PDF-1.4" and a PNG cut short, whatever they are called.
  for (const char* bad : {"PHN2Zy8+", "JVBERi0xLjQ=", "iVBORw0KGgo=", "not base64!", ""}) {
    auto wrong = sent;
    wrong["base64"] = bad;
    EXPECT_EQ(post("/api/photo", wrong).first, 422) << bad;
  }
  auto nobody = sent;
  nobody["material"] = "M999";
  auto both = sent;
  both["room"] = "R4";
  EXPECT_EQ(post("/api/photo", both).first, 422);
  EXPECT_NE(post("/api/photo", nobody).first, 200);
  EXPECT_EQ(ask(*site_, "POST", "/api/add", std::string((1 << 20) + 1, ' ')).status, 413);
  EXPECT_EQ(revision(), seen + 1);
  auto whole_room = sent;
  whole_room.erase("material");
  whole_room["room"] = "R4";
  whole_room["revision"] = seen + 1;
  ASSERT_EQ(post("/api/photo", whole_room).first, 200);
  EXPECT_EQ(get("/api/book")["book"]["documents"].back()["room"], "R4");
}

TEST_F(SiteTest, TellsWhatBacksOnToARoomAndWhereOpeningsAre) {
  const auto backs = get("/api/backs/R4");
  EXPECT_EQ(backs["faces"][1]["backs"][0]["room"], "R14");
  EXPECT_EQ(ask(*site_, "GET", "/api/backs/R99").status, 404);
  EXPECT_EQ(ask(*site_, "GET", "/api/backs").status, 404);
  EXPECT_EQ(get("/api/book")["openings"]["O2"].size(), 2);
}

TEST_F(SiteTest, TellsHowFarTheWalksHaveCome) {
  const auto of = [](const Json& walks, const std::string& room) {
    for (const auto& one : walks["rooms"]) {
      if (one["room"] == room) return one;
    }
    throw std::logic_error("no room " + room);
  };
  const auto before = get("/api/walks");
  EXPECT_EQ(before["rooms"].size(), get("/api/book")["book"]["rooms"].size());
  EXPECT_EQ(of(before, "R3")["asked"], get("/api/walk/R3")["questions"].size());
  EXPECT_EQ(post("/api/look",
                 {{"revision", revision()}, {"room", "R3"}, {"families", {"millboard"}}, {"answer", "none seen"}})
                .first,
            200);
  EXPECT_EQ(of(get("/api/walks"), "R3")["answered"].get<int>(), of(before, "R3")["answered"].get<int>() + 1);
}

TEST_F(SiteTest, NoUploadIsServedAsWhatItWas) {
  const std::vector<std::string> uploads = {"<script>alert(1)</script>", "<svg onload='alert(1)'/>",
                                            "%PDF-1.7 with whatever it does"};
  {
    auto other = service::OpenBook::open(path(), store::Mode::kReadWrite);
    ASSERT_TRUE(other.ok());
    for (const auto& upload : uploads)
      ASSERT_TRUE(
          service::attach(*other, upload, "upload.html", {{"room=R1"}, std::nullopt}, std::string(testing::kNow)).ok());
  }
  const auto documents = get("/api/book")["book"]["documents"];
  ASSERT_EQ(documents.size(), uploads.size());
  for (const auto& document : documents) {
    // As text or PDF by its content, whatever it is called; and no address gives the bytes out.
    EXPECT_NE(document["media_type"], "text/html");
    for (const char* place : {"/api/photo/", "/api/paper/", "/api/document/", "/"})
      EXPECT_GE(ask(*site_, "GET", place + document["id"].get<std::string>()).status, 400) << place;
  }
  for (const auto& response : {ask(*site_, "GET", "/api/book"), ask(*site_, "GET", "/api/material/M2")})
    EXPECT_EQ(response.content_type, "application/json");
}

TEST_F(SiteTest, SeveralEditsAreOneStep) {
  const auto seen = revision();
  const Json parts = {
      {{"add", "storey"}, {"as", "@top"}, {"fields", {{"name", "Attic"}, {"floor_m", 9}}}},
      {{"add", "room"},
       {"fields", {{"name", "Attic room"}, {"storey", "@top"}, {"outline", {{0.0, 0.0}, {3.0, 0.0}, {3.0, 3.0}}}}}},
      {{"set", "R4"}, {"fields", {{"use", "scullery"}}}}};
  const auto [status, told] = post("/api/several", {{"revision", seen}, {"label", "draw the attic"}, {"parts", parts}});
  ASSERT_EQ(status, 200) << told;
  EXPECT_EQ(told["label"], "draw the attic");
  EXPECT_EQ(told["changed"].size(), 3);
  EXPECT_EQ(get("/api/book")["steps"]["undo"], "draw the attic");
  // R4 has moved since `seen`: what else was asked for is not done either.
  EXPECT_EQ(post("/api/several", {{"revision", seen}, {"label", "again"}, {"parts", parts}}).first, 409);
  EXPECT_EQ(post("/api/undo", {{"revision", revision()}}).first, 200);
  for (const Json& bad : std::vector<Json>{{{"revision", seen}, {"label", ""}, {"parts", parts}},
                                           {{"revision", seen}, {"label", "x"}, {"parts", Json::array()}},
                                           {{"revision", seen}, {"label", "x"}, {"parts", {{{"drop", "R4"}}}}}})
    EXPECT_EQ(post("/api/several", bad).first, 422) << bad;
}

TEST_F(SiteTest, UndoTakesBackOnlyWhatTheWindowHasSeen) {
  const auto seen = revision();
  EXPECT_EQ(post("/api/set", {{"revision", seen}, {"what", "M2"}, {"typed", {"damage=low"}}}).first, 200);
  EXPECT_EQ(post("/api/undo", {{"revision", seen}}).first, 409);
  EXPECT_EQ(post("/api/undo", {{"revision", seen + 9}}).first, 400);
}

TEST_F(SiteTest, WhatOthersLeanOnStays) {
  const auto [status, told] = post("/api/remove", {{"revision", revision()}, {"what", "R4"}});
  EXPECT_EQ(status, 409);
  EXPECT_THAT(told["faults"][0]["problem"].get<std::string>(), HasSubstr("M4"));
}

TEST_F(SiteTest, RefusesBodiesThatAreNotAnEdit) {
  for (const char* body :
       {"", "{", "[]", "null", "{\"revision\":1}", "{\"revision\":\"1\",\"what\":\"M2\"}",
        "{\"revision\":1,\"what\":\"M2\",\"file\":\"/etc/passwd\"}", "{\"revision\":1,\"what\":\"sofa\"}"}) {
    const auto response = ask(*site_, "POST", "/api/add", body);
    EXPECT_TRUE(response.status == 400 || response.status == 422) << body << " " << response.status;
    EXPECT_FALSE(Json::parse(response.body)["faults"].empty());
  }
}

TEST_F(SiteTest, QuestionsAreReadAndEditsPosted) {
  EXPECT_EQ(ask(*site_, "POST", "/api/book", "{}").status, 405);
  EXPECT_EQ(ask(*site_, "GET", "/api/add").status, 405);
  EXPECT_EQ(ask(*site_, "POST", "/", "{}").status, 405);
  EXPECT_EQ(ask(*site_, "GET", "/api/sofa").status, 404);
  EXPECT_EQ(ask(*site_, "GET", "/api/").status, 404);
  EXPECT_THAT(ask(*site_, "GET", "/api/undo").headers, Contains(Pair("Allow", "POST")));
}

TEST_F(SiteTest, FilesAreFoundByNameAlone) {
  EXPECT_EQ(ask(*site_, "GET", "/").content_type, "text/html; charset=utf-8");
  EXPECT_EQ(ask(*site_, "GET", "/page.js").content_type, "text/javascript; charset=utf-8");
  for (const char* path : {"/../demo.lathbook", "//page.js", "/./page.js", "/..%2f..%2fetc%2fpasswd", "/etc/passwd",
                           "/demo.lathbook", "/page.js/", "/PAGE.JS"}) {
    EXPECT_EQ(ask(*site_, "GET", path).status, 404) << path;
  }
}

}  // namespace
}  // namespace lathbook::http
