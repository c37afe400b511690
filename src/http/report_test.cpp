// A laboratory's report by way of the page: read, forgotten, and kept only with the results a person confirms.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "http/report_reader.h"
#include "http/testing.h"
#include "laboratory/testing.h"
#include "service/base64.h"

namespace lathbook::http {
namespace {

using service::Json;
using service::to_base64;
using ::testing::HasSubstr;

std::string report() {
  return laboratory::testing::pdf_of(
      {{"Asbestos in bulk samples", "Date of report: 24 November 2026", "",
        "Sample                    Result            Amount", "", "S1 front room ceiling     Chrysotile        2 %"}});
}

class ReportTest : public testing::DemoSite {};

TEST_F(ReportTest, IsReadAndNothingOfItIsKept) {
  const auto seen = revision();
  const auto [status, read] = post("/api/report", {{"base64", to_base64(report())}});
  ASSERT_EQ(status, 200) << read;
  EXPECT_EQ(read["proposals"][0]["result"], Json({{"sample", "S1"},
                                                  {"found", true},
                                                  {"fibres", {"chrysotile"}},
                                                  {"amount", "2 %"},
                                                  {"reported_on", "2026-11-24"}}));
  EXPECT_EQ(revision(), seen);
  const auto kept = service::OpenBook::open(path(), store::Mode::kReadOnly);
  ASSERT_TRUE(kept.ok());
  EXPECT_TRUE(kept->store().blobs()->empty());
}

TEST_F(ReportTest, WhatIsNoReportIsTold) {
  const auto told = [&](const std::string& base64) {
    const auto [status, json] = post("/api/report", {{"base64", base64}});
    EXPECT_EQ(status, 422) << json;
    return json["faults"][0]["problem"].get<std::string>();
  };
  EXPECT_THAT(told("not base64!"), HasSubstr("is not base64"));
  EXPECT_THAT(told(to_base64("<html>")), HasSubstr("is not a PDF"));
  EXPECT_THAT(told(to_base64("%PDF-1.4 and no more")), HasSubstr("is damaged"));
  EXPECT_THAT(told(to_base64(laboratory::testing::pdf_of({{}}))), HasSubstr("holds no text"));
  EXPECT_EQ(post("/api/report", Json::object()).first, 422);
  EXPECT_EQ(ask(*site_, "GET", "/api/report").status, 405);
}

TEST_F(ReportTest, ComesIntoTheBookWithTheResultsInOneStep) {
  const auto pdf = report();
  const Json result = {{"sample", "S1"}, {"found", true}, {"fibres", {"chrysotile"}}, {"document", "@report"}};
  const Json several = {
      {"revision", revision()},
      {"label", "results from a report"},
      {"parts",
       {{{"keep", to_base64(pdf)}, {"as", "@report"}, {"fields", {{"title", "Report"}, {"kind", "laboratory report"}}}},
        {{"add", "result"}, {"fields", result}}}}};
  const auto [status, told] = post("/api/several", several);
  ASSERT_EQ(status, 200) << told;
  EXPECT_EQ(told["changed"], Json({"D1", "LR7"}));
  EXPECT_EQ(get("/api/material/M1")["standing"], "identified");
  const auto kept = service::OpenBook::open(path(), store::Mode::kReadOnly);
  ASSERT_TRUE(kept.ok());
  const auto document = *kept->item("document", "D1");
  EXPECT_EQ(document["media_type"], "application/pdf");
  EXPECT_EQ(kept->store().get_blob(document["sha256"].get<std::string>())->bytes, pdf);
  EXPECT_EQ((*kept->item("result", "LR7"))["document"], "D1");
  EXPECT_EQ(post("/api/undo", {{"revision", revision()}}).first, 200);
  EXPECT_EQ(get("/api/material/M1")["standing"], "presumed");
}

TEST_F(ReportTest, NothingIsKeptWithAResultThatIsRefused) {
  const auto seen = revision();
  const auto with = [&](const std::string& keep, const std::string& sample, const Json& found) {
    return post("/api/several", {{"revision", seen},
                                 {"label", "x"},
                                 {"parts",
                                  {{{"keep", keep}, {"fields", {{"title", "Report"}, {"kind", "laboratory report"}}}},
                                   {{"add", "result"}, {"fields", {{"sample", sample}, {"found", found}}}}}}})
        .first;
  };
  EXPECT_EQ(with(to_base64(report()), "S1", "perhaps"), 422);
  // Of good form, but of a sample the book does not have: found out only when the whole is looked at.
  EXPECT_EQ(with(to_base64(report()), "S99", false), 422);
  EXPECT_EQ(with(to_base64("<html>"), "S1", false), 422);
  EXPECT_EQ(with("not base64!", "S1", false), 422);
  EXPECT_EQ(revision(), seen);
  const auto kept = service::OpenBook::open(path(), store::Mode::kReadOnly);
  ASSERT_TRUE(kept.ok());
  EXPECT_TRUE(kept->store().blobs()->empty());
}

}  // namespace
}  // namespace lathbook::http
