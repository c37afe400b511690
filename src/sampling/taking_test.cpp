#include "sampling/taking.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "assets/assets.h"

namespace lathbook::sampling {
namespace {

using book::Point;

double apart(const Point& a, const Point& b) { return std::hypot(a.x_m - b.x_m, a.y_m - b.y_m); }

const catalogue::EvidenceData& families() {
  static const auto kData = catalogue::parse_evidence(nlohmann::json::parse(assets::get("data/evidence.json")));
  return *kData;
}
const catalogue::TakingData& taking_data() {
  static const auto kData = catalogue::parse_taking(nlohmann::json::parse(assets::get("data/taking.json")));
  return *kData;
}

Taking take(const char* family, book::Damage damage, bool overhead, int count = 2) {
  book::Material m;
  m.id = {"M4"};
  m.overhead_or_hard_to_reach = overhead;
  m.place.shape = book::LineShape{{{0, 0}, {6, 0}}, 0.1};
  return how_to_take(m, *families().find(family), damage, taking_data(), {}, count, 1);
}

TEST(PropertyTaking, EveryPartOfAFaceIsNearASpotAndEverySpotIsOnIt) {
  const std::vector<Point> rectangle = {{0, 0}, {6, 0}, {6, 4}, {0, 4}};
  const std::vector<Point> corner = {{0, 0}, {8, 0}, {8, 1}, {1, 1}, {1, 8}, {0, 8}};  // a thin L
  for (const auto& outline : {rectangle, corner}) {
    for (int n = 1; n <= 9; ++n) {
      const auto spots = spots_on(book::PolygonShape{outline}, {}, n);
      ASSERT_EQ(spots.size(), static_cast<std::size_t>(n));
      for (const auto& spot : spots) {
        const bool on_l =
            spot.x_m > 0 && spot.y_m > 0 && ((spot.x_m < 8 && spot.y_m < 1) || (spot.x_m < 1 && spot.y_m < 8));
        const bool on_rectangle = spot.x_m > 0 && spot.x_m < 6 && spot.y_m > 0 && spot.y_m < 4;
        EXPECT_TRUE(outline == corner ? on_l : on_rectangle) << spot.x_m << ' ' << spot.y_m;
      }
      double worst = 0;
      for (const auto& p : outline) {
        double best = 1e9;
        for (const auto& spot : spots) best = std::min(best, apart(p, spot));
        worst = std::max(worst, best);
      }
      // A part of area A reaches, even as a strip twice as long as wide, about 1.2 sqrt(A) from its middle.
      const double part = std::sqrt((outline == corner ? 15.0 : 24.0) / n);
      if (outline == rectangle) {
        EXPECT_LT(worst, 1.2 * part) << n;
      } else if (n >= 4) {
        EXPECT_LT(worst, 15.0 / n + 1) << n;
      }
    }
  }
}

TEST(Taking, SpreadsAlongARun) {
  const auto spots = spots_on(book::LineShape{{{0, 0}, {3, 0}, {3, 3}}, 0.1}, {}, 3);
  ASSERT_EQ(spots.size(), 3U);
  EXPECT_NEAR(apart(spots[0], {1, 0}), 0, 1e-12);
  EXPECT_NEAR(apart(spots[1], {3, 0}), 0, 1e-12);
  EXPECT_NEAR(apart(spots[2], {3, 2}), 0, 1e-12);
}

TEST(Taking, AWholeFaceNeedsItsOutlineAndAThinStripStillGetsSpots) {
  EXPECT_TRUE(spots_on(book::WholeFace{}, {}, 2).empty());
  const std::vector<Point> square = {{0, 0}, {1, 0}, {1, 1}, {0, 1}};
  EXPECT_EQ(spots_on(book::WholeFace{}, square, 2).size(), 2U);
  EXPECT_EQ(spots_on(book::SpanShape{0, 10, 0, 0.001}, {}, 5).size(), 5U);
}

TEST(Taking, NotByOneselfWhereItShedsFibreOrHangsOverhead) {
  for (const char* family : {"pipe-lagging", "boiler-insulation", "sprayed-coating", "loose-fill"}) {
    const auto answer = take(family, book::Damage::kNone, false);
    EXPECT_FALSE(answer.yourself) << family;
    EXPECT_TRUE(answer.bring.empty()) << family;
    EXPECT_EQ(answer.steps.size(), 1U) << family << ": nothing but whom to call";
  }
  EXPECT_TRUE(take("insulating-board", book::Damage::kNone, false).yourself);
  EXPECT_FALSE(take("insulating-board", book::Damage::kNone, true).yourself);
  EXPECT_FALSE(take("insulating-board", book::Damage::kMedium, false).yourself);
  EXPECT_TRUE(take("cement-flat-sheet", book::Damage::kNone, true).yourself);
  EXPECT_THAT(take("cement-flat-sheet", book::Damage::kHigh, false).why.text, ::testing::HasSubstr("damaged"));
}

TEST(Taking, NumbersGoOnFromTheSamplesTaken) {
  const auto answer = take("cement-flat-sheet", book::Damage::kNone, false, 3);
  ASSERT_EQ(answer.samples.size(), 3U);
  EXPECT_EQ(answer.samples[0].label, "M4-2");
  EXPECT_EQ(answer.samples[2].label, "M4-4");
  EXPECT_EQ(answer.spots.size(), 3U);
  std::set<std::string> places;
  for (const auto& sample : answer.samples) places.insert(sample.where);
  EXPECT_EQ(places.size(), 3U);
  EXPECT_THAT(label_text(answer.samples[0], "Soffit"), ::testing::Contains("M4-2"));
}

TEST(Taking, TilesAreBaggedApartFromTheirGlue) {
  const auto answer = take("vinyl-tile", book::Damage::kNone, false);
  EXPECT_THAT(answer.steps.back().text, ::testing::HasSubstr("samples of their own"));
}

TEST(FaultTaking, RefusesAFileThatIsNotWhole) {
  auto bad = nlohmann::json::parse(assets::get("data/taking.json"));
  bad.erase("steps");
  EXPECT_FALSE(catalogue::parse_taking(bad).ok());
}

}  // namespace
}  // namespace lathbook::sampling
