#include "service/report_answer.h"

#include <gtest/gtest.h>

namespace lathbook::service {
namespace {

book::Book two_samples() {
  book::Book book;
  book.samples.push_back(
      {.id = {"S1"}, .material = {"M1"}, .label = "M1-1", .sent_on = reason::Date::parse("2026-11-20")});
  book.samples.push_back({.id = {"S2"}, .material = {"M2"}, .label = "M2-1"});
  book.samples.push_back({.id = {"S3"}, .material = {"M2"}, .label = "M2-2"});
  book.samples.push_back({.id = {"S4"}, .material = {"M2"}, .label = "M2-3"});
  book.results.push_back({.id = {"LR1"}, .sample = {"S3"}});
  return book;
}

Json answer(const std::string& day) {
  const auto book = two_samples();
  const auto names = sample_names(book);
  return report_json(book, laboratory::read("Asbestos\nDate of report: " + day +
                                                "\n\nM1-1   Hall   No asbestos detected\n"
                                                "M2-1   Loft   Chrysotile   2 %\n"
                                                "M2-2   Loft   No asbestos detected\n",
                                            names));
}

TEST(ReportAnswer, HoldsTheFieldsOfAResultToBe) {
  const auto json = answer("25/11/2026");
  EXPECT_EQ(json["proposals"][0]["result"], Json({{"sample", "S1"}, {"found", false}, {"reported_on", "2026-11-25"}}));
  EXPECT_EQ(json["proposals"][1]["result"], Json({{"sample", "S2"},
                                                  {"found", true},
                                                  {"fibres", {"chrysotile"}},
                                                  {"amount", "2 %"},
                                                  {"reported_on", "2026-11-25"}}));
  EXPECT_EQ(json["not_named"], Json({"S4"}));
}

TEST(ReportAnswer, ASampleThatHasItsResultGetsNoOther) {
  const auto json = answer("25/11/2026");
  EXPECT_EQ(json["proposals"][2]["has_result"], "LR1");
  EXPECT_FALSE(json["proposals"][2].contains("result"));
}

TEST(ReportAnswer, AReportFromBeforeTheSampleIsNoReportOfIt) {
  const auto json = answer("19/11/2026");
  EXPECT_EQ(json["proposals"][0]["said"], "unclear");
  EXPECT_EQ(json["proposals"][0]["doubts"].size(), 1U);
  EXPECT_FALSE(json["proposals"][0].contains("result"));
  EXPECT_EQ(json["proposals"][1]["said"], "detected");  // its days are not known
}

}  // namespace
}  // namespace lathbook::service
