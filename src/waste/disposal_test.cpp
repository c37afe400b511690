#include "waste/disposal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lathbook::waste {
namespace {

using catalogue::LegalKind;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

const catalogue::Family& family(const char* id) {
  const auto* found = catalogue::shipped().find_family(id);
  if (found == nullptr) throw std::logic_error(id);
  return *found;
}

Disposal of(const char* id, bool whole = true, book::Damage damage = book::Damage::kNone, bool released = false,
            std::vector<book::Fibre> fibres = {}) {
  return disposal(family(id), whole, damage, released, fibres, "england", catalogue::shipped_waste_data("gb"));
}

TEST(Disposal, OnlyBondedWholeUnlicensedWasteGoesByOwnHands) {
  EXPECT_EQ(of("cement-profiled-sheet").way, Way::kOwnHands);
  EXPECT_EQ(of("thermoplastic-tile").way, Way::kOwnHands);
  EXPECT_EQ(of("cement-profiled-sheet", false).way, Way::kLicensedCarrier);
  EXPECT_EQ(of("cement-profiled-sheet", true, book::Damage::kHigh).way, Way::kLicensedCarrier);
  EXPECT_EQ(of("cement-profiled-sheet", true, book::Damage::kNone, true).way, Way::kOrdinary);
}

TEST(PropertyDisposal, LicensedAndLooseNeverGoByOwnHands) {
  // Every family of the catalogue, whole or broken, in every state: the law's licensed kinds, whatever sheds fibres,
  // and whatever is broken go by a carrier.
  int own = 0;
  for (const auto& one : catalogue::shipped().families) {
    if (!one.suspect) continue;
    for (const bool whole : {false, true}) {
      for (const auto damage : {book::Damage::kNone, book::Damage::kLow, book::Damage::kMedium, book::Damage::kHigh}) {
        for (const char* nation : {"england", "wales", "scotland", "northern-ireland", ""}) {
          const auto found = disposal(one, whole, damage, false, {}, nation, catalogue::shipped_waste_data("gb"));
          const bool barred =
              one.legal_kind == LegalKind::kInsulatingBoard || one.legal_kind == LegalKind::kInsulation ||
              one.legal_kind == LegalKind::kCoating || one.legal_kind == LegalKind::kUnboundOther ||
              one.binding != catalogue::Binding::kFirmlyBound || !whole || damage == book::Damage::kHigh;
          EXPECT_EQ(found.way == Way::kLicensedCarrier, barred) << one.id;
          EXPECT_FALSE(found.reasons.empty());
          EXPECT_FALSE(found.code.empty());
          EXPECT_FALSE(found.marks.empty());
          own += found.way == Way::kOwnHands;
        }
      }
    }
  }
  EXPECT_GT(own, 0);
}

TEST(Disposal, CodesAndTransport) {
  EXPECT_EQ(of("cement-profiled-sheet").code, "17 06 05*");
  EXPECT_EQ(of("pipe-lagging").code, "17 06 01*");
  EXPECT_THAT(of("cement-profiled-sheet").transport, HasSubstr("special provision 168"));
  EXPECT_THAT(of("insulating-board").transport, HasSubstr("UN2212"));
  EXPECT_THAT(of("pipe-lagging", true, book::Damage::kNone, false, {book::Fibre::kChrysotile}).transport,
              HasSubstr("UN2590"));
  EXPECT_THAT(
      of("pipe-lagging", true, book::Damage::kNone, false, {book::Fibre::kChrysotile, book::Fibre::kAmosite}).transport,
      HasSubstr("UN2212"));
  EXPECT_THAT(of("cement-profiled-sheet", false).transport, HasSubstr("UN2212")) << "broken, type not known";
}

TEST(Disposal, PapersByNation) {
  const auto& data = catalogue::shipped_waste_data("gb");
  for (const char* nation : {"england", "wales", "scotland", "northern-ireland"}) {
    const auto found = disposal(family("cement-profiled-sheet"), true, book::Damage::kNone, false, {}, nation, data);
    EXPECT_THAT(found.householder_papers, HasSubstr("o ")) << nation;
    EXPECT_FALSE(found.trade_papers.empty());
  }
  EXPECT_THAT(disposal(family("cement-profiled-sheet"), true, book::Damage::kNone, false, {}, "elsewhere", data)
                  .householder_papers,
              HasSubstr("Ask"));
}

TEST(Disposal, BoardSaysThatItIsLicensed) {
  EXPECT_THAT(of("insulating-board").why, HasSubstr("licensed people"));
  EXPECT_THAT(of("cement-profiled-sheet", false).why, Not(HasSubstr("licensed people")));
}

TEST(Mass, RangesAreTheirFactors) {
  book::Piece piece;
  piece.mass_kg = 20;
  EXPECT_DOUBLE_EQ(mass_of(piece, family("cement-profiled-sheet")).low_kg, 18);
  EXPECT_DOUBLE_EQ(mass_of(piece, family("cement-profiled-sheet")).high_kg, 22);
  // By size: waves make a profiled sheet longer than its plan, and cement drinks a tenth of water.
  piece.mass_kg.reset();
  piece.length_m = 2;
  piece.width_m = 1;
  piece.thickness_mm = 6;
  const auto& profiled = family("cement-profiled-sheet");
  const double volume = 2 * 1 * 0.006;
  EXPECT_NEAR(mass_of(piece, profiled).low_kg, volume * profiled.density_kg_per_m3.low * 1.15, 1e-9);
  EXPECT_NEAR(mass_of(piece, profiled).high_kg, volume * profiled.density_kg_per_m3.high * 1.35 * 1.1, 1e-9);
}

TEST(SiteView, DaysFromTripsAndMonths) {
  EXPECT_EQ(days_needed(0, 0).high, 0);
  EXPECT_EQ(days_needed(4, 1).low, 1);
  EXPECT_EQ(days_needed(4, 1).high, 4);
  EXPECT_EQ(days_needed(5, 3).low, 32) << "the last day of the first month, all of the second, the first of the third";
  EXPECT_EQ(days_needed(5, 3).high, 61);
}

TEST(Mass, FromSizeAndDensityOrAsWrittenDown) {
  book::Piece piece;
  piece.length_m = 2;
  piece.width_m = 1;
  piece.thickness_mm = 6;
  const auto& flat = family("cement-flat-sheet");
  const auto mass = mass_of(piece, flat);
  EXPECT_NEAR(mass.low_kg, 0.012 * flat.density_kg_per_m3.low, 1e-9);
  EXPECT_NEAR(mass.high_kg, 0.012 * flat.density_kg_per_m3.high * 1.1, 1e-9);
  EXPECT_GT(mass_of(piece, family("cement-profiled-sheet")).low_kg,
            0.012 * family("cement-profiled-sheet").density_kg_per_m3.low);
  piece.mass_kg = 20;
  EXPECT_EQ(mass_of(piece, flat).likely_kg, 20);
  EXPECT_EQ(mass_of(piece, flat).low_kg, 18);
}

TEST(SiteView, OwnFiguresComeFirstAndUnknownIsAsked) {
  book::Site site;
  site.rules = "gb-six-a-visit";
  auto view = site_view(site, catalogue::shipped_site_rules());
  EXPECT_EQ(view.limits.pieces, 6);
  EXPECT_EQ(view.pieces_per_months, std::pair(18, 12));
  EXPECT_THAT(view.ask, Contains(HasSubstr("largest sheet")));
  site.pieces_per_visit = 2;
  site.length_m = 1.8;
  view = site_view(site, catalogue::shipped_site_rules());
  EXPECT_EQ(view.limits.pieces, 2);
  EXPECT_EQ(view.limits.length_m, 1.8);
  site.rules = "";
  view = site_view(site, catalogue::shipped_site_rules());
  EXPECT_THAT(view.ask, Not(Contains(HasSubstr("at all")))) << "a site with limits takes some";
  EXPECT_THAT(view.ask, Contains(HasSubstr("how it must be wrapped")));
  site.pieces_per_visit.reset();
  view = site_view(site, catalogue::shipped_site_rules());
  EXPECT_THAT(view.ask, Contains(HasSubstr("takes asbestos from households at all")));
  site.rules = "gb-not-accepted";
  EXPECT_FALSE(site_view(site, catalogue::shipped_site_rules()).accepts_sheets);
}

TEST(SiteView, MonthsByTheSlowestRule) {
  const std::vector<LoadPiece> pieces = {
      {.id = "W1", .length_m = 1.8, .width_m = 0.9, .thickness_m = 0.006, .mass_kg = 15, .count = 20}};
  const LoadVehicle vehicle{.inside = {2, 1.2, 1}, .payload_kg = 500, .door_width_m = {}, .door_height_m = {}};
  const auto months = [&](const char* rules, std::optional<int> visits) {
    book::Site site;
    site.rules = rules;
    site.visits_per_month = visits;
    const auto view = site_view(site, catalogue::shipped_site_rules());
    return months_needed(*load_plan(pieces, vehicle, view.limits), view);
  };
  EXPECT_EQ(months("gb-six-a-visit", {}), 13) << "18 in the first year, 2 in the next";
  EXPECT_EQ(months("gb-sheets-by-size", {}), 7) << "3 a month";
  EXPECT_EQ(months("", 1), 1);
  EXPECT_EQ(months("gb-six-a-visit", 1), 13);
}

TEST(SiteView, ATripIsNotSpreadOverTwoPeriods) {
  LoadPlan plan;
  for (int i = 0; i < 3; ++i) plan.trips.push_back({.pieces = {{"W1", 2, How::kFlat}}, .piles = {}, .mass_kg = 25});
  SiteView site;
  site.pieces_per_months = std::pair(3, 1);
  EXPECT_EQ(months_needed(plan, site), 3) << "two trips of two are more than three a month";
  site.pieces_per_months = std::pair(4, 1);
  EXPECT_EQ(months_needed(plan, site), 2);
  site.mass_kg_per_months = std::pair(40.0, 12);
  EXPECT_EQ(months_needed(plan, site), 25) << "one trip a year";
}

TEST(Cost, PartsAddUp) {
  const std::vector<LoadPiece> pieces = {
      {.id = "W1", .length_m = 1.8, .width_m = 0.9, .thickness_m = 0.006, .mass_kg = 15, .count = 4}};
  const LoadVehicle vehicle{.inside = {2, 1.2, 1}, .payload_kg = 500, .door_width_m = {}, .door_height_m = {}};
  book::Site site;
  site.rules = "gb-paid-small-sheets";
  site.distance_km = 10;
  const auto view = site_view(site, catalogue::shipped_site_rules());
  const auto plan = load_plan(pieces, vehicle, view.limits);
  ASSERT_EQ(plan->trips.size(), 2U);
  const auto wrapping = wrap({{.size = pieces[0], .whole = true}});
  const auto cost = own_cost(*plan, *wrapping, view, 2, catalogue::shipped_waste_data("gb"));
  // One roll of polythene, one of tape, 1 + 1 bags, 4 labels, 2 × 2 sets of clothing, 40 km, 4 × 12.00 in fees.
  EXPECT_NEAR(cost.low_minor, 4000 + 300 + 2 * 50 + 4 * 10 + 4 * 1500 + 40 * 15 + 4 * 1200, 1e-9);
  EXPECT_NEAR(cost.high_minor, 8000 + 700 + 2 * 200 + 4 * 60 + 4 * 3500 + 40 * 45 + 4 * 1200, 1e-9);
}

}  // namespace
}  // namespace lathbook::waste
