#include "service/certificate_answer.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>

#include "assets/assets.h"
#include "book/json.h"
#include "calc/topic.h"
#include "service/answers.h"

namespace lathbook::service {
namespace {

using ::testing::HasSubstr;
using ::testing::SizeIs;

/// The demo house with one certificate, given as the book's own form has it, by an analyst of its own.
book::Book demo_with(Json certificate) {
  auto json = Json::parse(assets::get("data/demo.json"));
  json["parties"].push_back(
      {{"id", "PA9"}, {"name", "An analyst"}, {"role", "analyst"}, {"licence_expires_on", "2027-01-31"}});
  certificate.update({{"id", "C1"}});
  if (!certificate.contains("party")) certificate["party"] = "PA9";
  json["certificates"] = Json::array({std::move(certificate)});
  return book::book_from_json(json).value();
}

reason::Result<clearance::Clearance> answer_to(const book::Book& book) {
  const auto house = check::House::build(book, knowledge_for(book).value()).value();
  return certificate_answer(house, book.certificates.front());
}

const Json kStages = {"preliminary check", "visual inspection", "air test", "final look"};

Json sound() {
  const Json sample = {{"litres", 480}, {"fibres", 3}, {"fields", 200}};
  return {{"area_m2", 10.1},           {"height_m", 2.4},
          {"issued_on", "2026-12-05"}, {"work_finished_on", "2026-12-04"},
          {"stages", kStages},         {"samples", {sample, sample}},
          {"materials", {"M14"}}};
}

TEST(CertificateAnswer, BothDoorsSayTheSameOfTheSameFigures) {
  std::mt19937 random(7);
  const auto among = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
  const auto sometimes = [&] { return random() % 3 == 0; };
  int passed = 0;
  for (int round = 0; round < 300; ++round) {
    Json paper = {{"area_m2", among(2, 120)},  {"height_m", among(2, 4)},          {"stages", kStages},
                  {"issued_on", "2026-12-05"}, {"work_finished_on", "2026-12-04"}, {"samples", Json::array()}};
    const bool sound = random() % 2 == 0;
    for (auto left = sound ? 5 : 1 + random() % 5; left > 0; --left) {
      const bool off = !sound && sometimes();
      Json sample = {{"litres", off ? 400 : 500 + std::floor(among(0, 200))},
                     {"fibres", std::floor(among(0, off ? 60 : 12))},
                     {"fields", off ? 100 : 200}};
      if (sometimes()) sample["filter_mm"] = among(off ? 18 : 20.5, off ? 26 : 22);
      if (sometimes()) sample["graticule_um"] = among(off ? 70 : 100, 105);
      if (sometimes()) sample.update({{"blank_fibres", std::floor(among(0, off ? 6 : 3))}, {"blank_fields", 100}});
      if (sometimes()) sample.update({{"flow_l_per_min", 10}, {"minutes", sample["litres"].get<double>() / 10}});
      if (sometimes()) sample["f_per_ml"] = 0.01;
      paper["samples"].push_back(std::move(sample));
    }
    const auto book = demo_with(paper);
    const auto in_the_book = answer_to(book);
    ASSERT_TRUE(in_the_book.ok()) << in_the_book.faults().front().text();
    Json input = paper;
    input["accreditation_expires_on"] = "2027-01-31";
    const auto reckoned = calc::run(*calc::find_topic("clearance"), input);
    ASSERT_TRUE(reckoned.ok()) << reckoned.faults().front().text();
    const auto told = certificate_json(book.certificates.front(), *in_the_book);
    for (const char* same : {"pass", "samples_needed", "faults", "reasons"})
      EXPECT_EQ(told[same], (*reckoned)[same]) << same << " of " << paper;
    ASSERT_EQ(told["samples"].size(), (*reckoned)["samples"].size());
    for (std::size_t i = 0; i < told["samples"].size(); ++i) {
      EXPECT_EQ(told["samples"][i]["f_per_ml"], (*reckoned)["samples"][i]["f_per_ml"]);
      EXPECT_EQ(told["samples"][i]["reported"], (*reckoned)["samples"][i]["reported"]);
    }
    passed += in_the_book->pass;
  }
  EXPECT_GT(passed, 10) << "the rounds hold papers of both kinds";
  EXPECT_LT(passed, 290);
}

TEST(CertificateAnswer, TheFirmThatDidTheRemovalDoesNotClearIt) {
  EXPECT_TRUE(answer_to(demo_with(sound()))->pass);
  auto own = sound();
  own["party"] = "PA2";  // by whom A1 takes M14 out
  const auto answer = answer_to(demo_with(own));
  ASSERT_THAT(answer->findings, SizeIs(1));
  EXPECT_EQ(answer->findings.front().where, "independence");
  // Named by its room alone, the certificate is for the same removal.
  own.erase("materials");
  own["rooms"] = {"R5"};
  EXPECT_FALSE(answer_to(demo_with(own))->pass);
  // Another firm's removal, and an analyst who took out something else: nothing is said against either.
  own["rooms"] = {"R1"};
  const auto other = answer_to(demo_with(own));
  ASSERT_THAT(other->findings, SizeIs(1));
  EXPECT_EQ(other->findings.front().where, "party") << "a remover, though of nothing here";
  auto book = demo_with(sound());
  book.actions[0].by = {"PA9"};
  EXPECT_FALSE(answer_to(book)->pass);
  book.actions[0].kind = book::ActionKind::kSeal;
  EXPECT_TRUE(answer_to(book)->pass);
}

TEST(FaultCertificateAnswer, PlacesAreNamedAsTheCommandsNameThem) {
  auto paper = sound();
  paper["samples"][1]["fibres"] = 5000;
  const auto answer = answer_to(demo_with(paper));
  ASSERT_FALSE(answer.ok());
  EXPECT_EQ(answer.faults().front().where, "C1/samples/2 fibres");
  paper = sound();
  paper.erase("area_m2");
  EXPECT_EQ(answer_to(demo_with(paper)).faults().front().where, "C1 area_m2");
}

TEST(FaultCertificateAnswer, HalfABlankIsRefused) {
  auto json = Json::parse(assets::get("data/demo.json"));
  auto paper = sound();
  paper["samples"][0]["blank_fibres"] = 2;
  paper.update({{"id", "C1"}, {"party", "PA1"}});
  json["certificates"] = Json::array({paper});
  const auto book = book::book_from_json(json);
  ASSERT_FALSE(book.ok());
  EXPECT_EQ(book.faults().front().where, "/certificates/0/samples/0/blank_fields");
  EXPECT_THAT(book.faults().front().problem, HasSubstr("missing"));
}

}  // namespace
}  // namespace lathbook::service
