#include "waste/load.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <random>
#include <sstream>

#include "testing/agreement.h"
#include "testing/csv.h"
#include "waste/fewest.h"

namespace lathbook::waste {
namespace {

using ::testing::HasSubstr;

LoadPiece piece(std::string id, double l, double w, double t, double mass, int count = 1) {
  return {.id = std::move(id), .length_m = l, .width_m = w, .thickness_m = t, .mass_kg = mass, .count = count};
}

LoadVehicle van(double l = 2.4, double w = 1.3, double h = 1.2, double payload = 600) {
  return {.inside = {l, w, h}, .payload_kg = payload, .door_width_m = {}, .door_height_m = {}};
}

/// Every rule a plan must keep, checked afresh from its own figures.
void expect_sound(const LoadPlan& plan, const std::vector<LoadPiece>& pieces, const LoadVehicle& vehicle,
                  const SiteLimits& site) {
  std::map<std::string, LoadPiece> by_id;
  std::map<std::string, int> left;
  for (const auto& one : pieces) {
    by_id[one.id] = one;
    left[one.id] = one.count;
  }
  for (const auto& no : plan.will_not_go) left.erase(no.id);
  for (const auto& trip : plan.trips) {
    double mass = 0, pile_height = 0;
    int number = 0;
    std::map<std::string, int> in_lines, in_piles;
    for (const auto& line : trip.pieces) {
      in_lines[line.id] += line.count;
      left[line.id] -= line.count;
      mass += line.count * by_id[line.id].mass_kg;
      pile_height += line.count * by_id[line.id].thickness_m;
      number += line.count;
    }
    EXPECT_NEAR(mass, trip.mass_kg, 1e-6);
    EXPECT_LE(mass, std::min(vehicle.payload_kg, site.mass_kg.value_or(1e9)) * (1 + 1e-8));
    EXPECT_LE(number, site.pieces.value_or(1000000));
    EXPECT_LE(pile_height, site.height_m.value_or(1e9) + 1e-6);
    const double eps = 1e-6;
    for (std::size_t i = 0; i < trip.piles.size(); ++i) {
      const auto& pile = trip.piles[i];
      EXPECT_GE(pile.x_m, -eps);
      EXPECT_GE(pile.y_m, -eps);
      EXPECT_LE(pile.x_m + pile.size_x_m, vehicle.inside.length_m + eps);
      EXPECT_LE(pile.y_m + pile.size_y_m, vehicle.inside.width_m + eps);
      EXPECT_LE(pile.height_m, vehicle.inside.height_m + eps);
      double thick = 0;
      for (const auto& id : pile.pieces) {
        ++in_piles[id];
        thick += by_id[id].thickness_m;
      }
      for (const auto& id : pile.pieces) {
        const double l = std::max(by_id[id].length_m, by_id[id].width_m),
                     w = std::min(by_id[id].length_m, by_id[id].width_m);
        if (pile.how == How::kFlat) {
          EXPECT_LE(thick, pile.height_m + eps);
          EXPECT_TRUE(goes_into({l, w}, {pile.size_x_m + eps, pile.size_y_m + eps}));
        } else if (pile.how == How::kOnEdge) {
          const double along = std::max(pile.size_x_m, pile.size_y_m), across = std::min(pile.size_x_m, pile.size_y_m);
          const bool either =
              (l <= along + eps && w <= pile.height_m + eps) || (w <= along + eps && l <= pile.height_m + eps) ||
              (l <= across + eps && w <= pile.height_m + eps) || (w <= across + eps && l <= pile.height_m + eps);
          EXPECT_TRUE(either);
        }
      }
      for (std::size_t j = i + 1; j < trip.piles.size(); ++j) {
        const auto& other = trip.piles[j];
        const bool apart = pile.x_m + pile.size_x_m <= other.x_m + eps ||
                           other.x_m + other.size_x_m <= pile.x_m + eps ||
                           pile.y_m + pile.size_y_m <= other.y_m + eps || other.y_m + other.size_y_m <= pile.y_m + eps;
        EXPECT_TRUE(apart) << "two piles stand in one another";
      }
    }
    EXPECT_EQ(in_lines, in_piles);
  }
  for (const auto& [id, n] : left) EXPECT_EQ(n, 0) << id << " was not carried, or twice";
  EXPECT_LE(plan.at_least, static_cast<int>(plan.trips.size()));
}

LoadPlan checked(const std::vector<LoadPiece>& pieces, const LoadVehicle& vehicle, const SiteLimits& site = {}) {
  const auto plan = load_plan(pieces, vehicle, site);
  if (!plan.ok()) throw std::runtime_error(plan.faults().front().text());
  expect_sound(*plan, pieces, vehicle, site);
  return *plan;
}

TEST(Load, OneTripFlat) {
  const auto plan = checked({piece("W1", 2.4, 1.2, 0.006, 25, 10)}, van());
  ASSERT_EQ(plan.trips.size(), 1U);
  EXPECT_EQ(plan.trips[0].pieces[0].how, How::kFlat);
  EXPECT_EQ(plan.trips[0].mass_kg, 250);
  EXPECT_TRUE(plan.proved_fewest);
  EXPECT_FALSE(plan.reasons.empty());
}

TEST(Load, OnEdgeWhenTooWideToLieFlat) {
  const auto plan = checked({piece("W1", 2.0, 1.15, 0.006, 20, 3)}, van(2.4, 0.9, 1.2));
  ASSERT_EQ(plan.trips.size(), 1U);
  EXPECT_EQ(plan.trips[0].pieces[0].how, How::kOnEdge);
}

TEST(Load, LeaningWhenNeitherFlatNorOnEdge) {
  // 1.4 wide: 1.2 × 1.0 across has a diagonal of 1.56.
  const auto plan = checked({piece("W1", 2.0, 1.4, 0.006, 20, 3)}, van(2.4, 1.2, 1.0));
  ASSERT_EQ(plan.trips.size(), 1U);
  EXPECT_EQ(plan.trips[0].pieces[0].how, How::kLeaning);
  // Thickness counts: a thick bundle leans less far.
  EXPECT_EQ(checked({piece("W1", 2.0, 1.4, 0.3, 20)}, van(2.4, 1.2, 1.0)).will_not_go.size(), 1U);
}

TEST(Load, AskewOnTheFloor) {
  // 2.5 × 0.1 in 2.4 × 1.3: longer than the floor, shorter than its diagonal.
  const auto plan = checked({piece("gutter", 2.5, 0.1, 0.1, 6)}, van());
  EXPECT_EQ(plan.trips.size(), 1U);
}

TEST(Load, PilesSideBySide) {
  // Cisterns 0.6 × 0.6 × 0.5: four columns of two on 2.4 × 1.3 is eight; a single pile would take two.
  const auto plan = checked({piece("cistern", 0.6, 0.6, 0.5, 20, 16)}, van());
  EXPECT_EQ(plan.trips.size(), 1U);
  EXPECT_EQ(checked({piece("cistern", 0.6, 0.6, 0.5, 20, 17)}, van()).trips.size(), 2U);
}

TEST(Load, SiteLimits) {
  SiteLimits site;
  site.pieces = 3;
  EXPECT_EQ(checked({piece("W1", 1.8, 0.9, 0.006, 15, 10)}, van(), site).trips.size(), 4U);
  site.mass_kg = 30;
  EXPECT_EQ(checked({piece("W1", 1.8, 0.9, 0.006, 15, 10)}, van(), site).trips.size(), 5U);
  site.visits_per_month = 2;
  EXPECT_EQ(checked({piece("W1", 1.8, 0.9, 0.006, 15, 10)}, van(), site).months, 3);
  SiteLimits low;
  low.height_m = 0.02;
  EXPECT_EQ(checked({piece("W1", 1.8, 0.9, 0.006, 15, 10)}, van(), low).trips.size(), 4U);
}

TEST(Load, WhatIsExactlyAllowedGoes) {
  EXPECT_EQ(load_plan({piece("a", 2.4, 1.2, 0.1, 600)}, van(), {})->trips.size(), 1U) << "the whole payload";
  SiteLimits site;
  site.mass_kg = 30;
  EXPECT_EQ(load_plan({piece("a", 2.4, 1.2, 0.1, 30)}, van(), site)->trips.size(), 1U);
  // Whichever of its two sizes a site calls the length.
  site.length_m = 1.2;
  site.width_m = 2.4;
  EXPECT_EQ(load_plan({piece("a", 2.4, 1.2, 0.1, 30)}, van(), site)->trips.size(), 1U);
}

TEST(FaultLoad, WhatWillNotGoSaysWhyAndWhatWould) {
  SiteLimits site;
  site.length_m = 1.8;
  LoadVehicle vehicle = van(2.0, 1.0, 0.8, 40);
  vehicle.door_width_m = 0.7;
  vehicle.door_height_m = 0.5;
  const auto plan = checked({piece("big", 3.0, 1.5, 0.006, 45), piece("small", 1.0, 0.5, 0.006, 10)}, vehicle, site);
  ASSERT_EQ(plan.will_not_go.size(), 1U);
  const auto& no = plan.will_not_go[0];
  EXPECT_EQ(no.id, "big");
  EXPECT_THAT(no.why, HasSubstr("weighs 45 kg and the payload is 40 kg"));
  EXPECT_THAT(no.why, HasSubstr("lies neither flat, on edge nor leaning"));
  EXPECT_THAT(no.why, HasSubstr("does not pass a door opening"));
  EXPECT_THAT(no.why, HasSubstr("the site takes up to 1.80 m"));
  EXPECT_THAT(no.would_take, HasSubstr("a load space 3.00 m long and 1.50 m wide"));
  EXPECT_THAT(no.would_take, HasSubstr("it must not be cut"));
  EXPECT_EQ(plan.trips.size(), 1U);
}

TEST(Load, TheDoorTakesASheetAcrossItsCorners) {
  LoadVehicle vehicle = van(2.4, 1.3, 1.2);
  vehicle.door_width_m = 1.0;
  vehicle.door_height_m = 0.8;
  EXPECT_TRUE(checked({piece("W1", 2.0, 1.2, 0.006, 20)}, vehicle).will_not_go.empty()) << "diagonal 1.28";
  EXPECT_FALSE(checked({piece("W1", 2.0, 1.29, 0.006, 20)}, vehicle).will_not_go.empty());
}

TEST(FaultLoad, NamesEveryFigureThatIsNothing) {
  SiteLimits site;
  site.pieces = 0;
  const auto plan = load_plan({piece("a", 0, 1, 1, 0), piece("a", 1, 1, 1, 1, 0)}, van(2, 1, 1, 0), site);
  ASSERT_FALSE(plan.ok());
  EXPECT_EQ(plan.faults().size(), 6U);
  EXPECT_EQ(plan.faults()[1].where, "/pieces/0/mass_kg");
}

TEST(Load, NothingToCarry) {
  const auto plan = checked({}, van());
  EXPECT_TRUE(plan.trips.empty());
  EXPECT_TRUE(plan.proved_fewest);
}

TEST(PublishedLoad, OneDimensionalInstances) {
  testing::Agreement agreement("waste_printed");
  // Thin sheets in a high vehicle leave only the mass: one-dimensional bin packing.
  int checked_rows = 0;
  for (const auto& row : testing::read_csv("tests/published/bin_packing.csv")) {
    std::vector<LoadPiece> pieces;
    std::istringstream in(row.at("weights"));
    for (double mass = 0; in >> mass;) pieces.push_back(piece("p" + std::to_string(pieces.size()), 1, 1, 0.001, mass));
    ASSERT_EQ(static_cast<int>(pieces.size()), std::stoi(row.at("items"))) << row.at("id");
    const auto plan = checked(pieces, van(2, 2, 2, std::stod(row.at("capacity"))));
    EXPECT_EQ(static_cast<int>(plan.trips.size()), std::stoi(row.at("bins"))) << row.at("id");
    EXPECT_TRUE(plan.proved_fewest) << row.at("id");
    ++checked_rows;
    agreement.same();
  }
  EXPECT_EQ(checked_rows, 5);
}

/// Fewest trips over all partitions of the pieces, with `goes` as the only rule.
int brute_force(int n, const std::function<bool(const std::vector<int>&)>& goes) {
  int best = std::numeric_limits<int>::max();
  std::vector<std::vector<int>> groups;
  const auto place = [&](auto&& self, int i) -> void {
    if (static_cast<int>(groups.size()) >= best) return;
    if (i == n) {
      best = static_cast<int>(groups.size());
      return;
    }
    for (std::size_t g = 0; g < groups.size(); ++g) {
      groups[g].push_back(i);
      if (goes(groups[g])) self(self, i + 1);
      groups[g].pop_back();
    }
    groups.push_back({i});
    self(self, i + 1);
    groups.pop_back();
  };
  place(place, 0);
  return best;
}

/// Does a set go in, by the model's words alone: every way of cutting the floor, on a grid, without any of the code's
/// footprints. Sizes are whole decimetres, so a cut never needs to fall between grid lines.
struct GridModel {
  int length, width, height;  // dm
  struct Block {
    int l, w, t;
  };
  std::vector<Block> blocks;

  bool pile(const std::vector<int>& set, int x, int y) const {
    int thick = 0;
    for (const int i : set) thick += blocks[static_cast<std::size_t>(i)].t;
    const auto all = [&](auto&& test) {
      for (const int i : set) {
        if (!test(blocks[static_cast<std::size_t>(i)])) return false;
      }
      return true;
    };
    if (thick <= height && (all([&](const Block& b) { return b.l <= x && b.w <= y; }) ||
                            all([&](const Block& b) { return b.w <= x && b.l <= y; })))
      return true;
    if (thick <= height && x == length && y == width && all([&](const Block& b) {
          return goes_into({b.l * 1.0, b.w * 1.0}, {x * 1.0, y * 1.0});
        }))
      return true;
    for (const bool turned : {false, true}) {
      const auto up = [&](const Block& b) { return turned ? b.l : b.w; };
      const auto along = [&](const Block& b) { return turned ? b.w : b.l; };
      if (thick <= y && all([&](const Block& b) { return up(b) <= height && along(b) <= x; })) return true;
      if (thick <= x && all([&](const Block& b) { return up(b) <= height && along(b) <= y; })) return true;
      if (y == width && all([&](const Block& b) {
            return along(b) <= x && goes_into({up(b) * 1.0, thick * 1.0}, {width * 1.0, height * 1.0});
          }))
        return true;
      if (x == length && all([&](const Block& b) {
            return along(b) <= y && goes_into({up(b) * 1.0, thick * 1.0}, {length * 1.0, height * 1.0});
          }))
        return true;
    }
    return false;
  }

  bool fits(const std::vector<int>& set, int x, int y) const {
    if (pile(set, x, y)) return true;
    const auto n = set.size();
    for (unsigned part = 1; part + 1 < (1U << n); ++part) {
      std::vector<int> one, two;
      for (std::size_t k = 0; k < n; ++k) ((part >> k) & 1U ? one : two).push_back(set[k]);
      for (int cut = 1; cut < x; ++cut) {
        if (fits(one, cut, y) && fits(two, x - cut, y)) return true;
      }
      for (int cut = 1; cut < y; ++cut) {
        if (fits(one, x, cut) && fits(two, x, y - cut)) return true;
      }
    }
    return false;
  }
};

TEST(PropertyLoad, NoPartitionOfThickBlocksIsBetter) {
  testing::Agreement agreement("waste_blocks");
  std::mt19937 random(12);
  std::uniform_int_distribution<int> side(1, 6), mass(5, 30);
  int two_or_more = 0, split = 0;
  for (int round = 0; round < 60; ++round) {
    GridModel model{6, 4, 4, {}};
    std::vector<LoadPiece> pieces;
    const int n = 3 + round % 4;
    std::vector<double> masses;
    while (static_cast<int>(pieces.size()) < n) {
      int sides[3] = {side(random), side(random) % 4 + 1, side(random) % 3 + 1};
      std::sort(sides, sides + 3, std::greater<>());
      if (sides[0] > 6 || sides[1] > 4) continue;
      model.blocks.push_back({sides[0], sides[1], sides[2]});
      masses.push_back(mass(random));
      pieces.push_back(
          piece("p" + std::to_string(pieces.size()), sides[0] / 10.0, sides[1] / 10.0, sides[2] / 10.0, masses.back()));
    }
    const LoadVehicle vehicle = van(0.6, 0.4, 0.4, 60);
    const auto plan = checked(pieces, vehicle);
    ASSERT_TRUE(plan.will_not_go.empty());
    EXPECT_TRUE(plan.proved_fewest);
    const int best = brute_force(n, [&](const std::vector<int>& set) {
      double sum = 0;
      for (const int i : set) sum += masses[static_cast<std::size_t>(i)];
      return sum <= 60 && model.fits(set, 6, 4);
    });
    EXPECT_EQ(static_cast<int>(plan.trips.size()), best) << "round " << round;
    agreement.same();
    two_or_more += best > 1;
    for (const auto& trip : plan.trips) split += trip.piles.size() > 1;
  }
  EXPECT_GT(two_or_more, 20);
  EXPECT_GT(split, 20) << "the instances must exercise piles side by side";
}

TEST(PropertyLoad, NoPartitionOfSheetsIsBetter) {
  testing::Agreement agreement("waste_sheets");
  std::mt19937 random(30);
  std::uniform_int_distribution<int> mass(8, 40);
  for (int round = 0; round < 60; ++round) {
    std::vector<LoadPiece> pieces;
    const int n = 4 + round % 5;
    for (int i = 0; i < n; ++i) pieces.push_back(piece("p" + std::to_string(i), 1.8, 0.9, 0.006, mass(random)));
    SiteLimits site;
    if (round % 3 == 0) site.pieces = 2 + round % 4;
    const auto plan = checked(pieces, van(2.4, 1.3, 1.2, 70), site);
    EXPECT_TRUE(plan.proved_fewest);
    const int best = brute_force(n, [&](const std::vector<int>& set) {
      double sum = 0;
      for (const int i : set) sum += pieces[static_cast<std::size_t>(i)].mass_kg;
      return sum <= 70 && static_cast<int>(set.size()) <= site.pieces.value_or(100);
    });
    EXPECT_EQ(static_cast<int>(plan.trips.size()), best) << "round " << round;
    agreement.same();
  }
}

TEST(PropertyLoad, MorePayloadNeverNeedsMoreTrips) {
  std::mt19937 random(17);
  std::uniform_real_distribution<double> mass(8, 40);
  for (int round = 0; round < 10; ++round) {
    std::vector<LoadPiece> pieces;
    for (int i = 0; i < 14; ++i) pieces.push_back(piece("p" + std::to_string(i), 1.8, 0.9, 0.03, mass(random)));
    std::size_t before = 1000;
    for (double payload : {45.0, 60.0, 80.0, 120.0, 200.0, 400.0}) {
      const auto plan = checked(pieces, van(2.4, 1.3, 1.2, payload));
      EXPECT_TRUE(plan.proved_fewest);
      EXPECT_LE(plan.trips.size(), before);
      before = plan.trips.size();
    }
  }
}

TEST(PropertyLoad, ThirtyDifferentPiecesAreProved) {
  std::mt19937 random(23);
  std::uniform_real_distribution<double> length(0.8, 2.4), width(0.4, 1.2), thickness(0.004, 0.06), mass(5, 60);
  for (int round = 0; round < 12; ++round) {
    std::vector<LoadPiece> pieces;
    for (int i = 0; i < 30; ++i)
      pieces.push_back(piece("p" + std::to_string(i), length(random), width(random), thickness(random), mass(random)));
    SiteLimits site;
    if (round % 2 == 0) site.pieces = 3 + round % 5;
    const auto plan = checked(pieces, van(2.5, 1.3, 1.2, 120 + 40 * round), site);
    EXPECT_TRUE(plan.proved_fewest) << "round " << round << ": " << plan.trips.size() << " found, at least "
                                    << plan.at_least;
  }
}

TEST(PropertyLoad, ThirtyThickPiecesAreProved) {
  // Masses matter as little as may be: how the pieces stand together decides.
  std::mt19937 random(71);
  std::uniform_real_distribution<double> length(0.6, 2.4), width(0.4, 1.2), thickness(0.3, 0.9), mass(5, 60);
  int beyond_the_sums = 0;
  for (int round = 0; round < 4; ++round) {
    std::vector<LoadPiece> pieces;
    double kg = 0, m3 = 0;
    for (int i = 0; i < 30; ++i) {
      std::array<double, 3> sides = {length(random), width(random), thickness(random)};
      std::ranges::sort(sides, std::greater{});
      pieces.push_back(piece("p" + std::to_string(i), sides[0], sides[1], sides[2], mass(random)));
      kg += pieces.back().mass_kg;
      m3 += pieces.back().length_m * pieces.back().width_m * pieces.back().thickness_m;
    }
    const auto plan = checked(pieces, van(2.5, 1.3, 1.2, 250));
    EXPECT_TRUE(plan.proved_fewest) << "round " << round << ": " << plan.trips.size() << " found, at least "
                                    << plan.at_least;
    beyond_the_sums += plan.at_least > std::max(std::ceil(kg / 250), std::ceil(m3 / (2.5 * 1.3 * 1.2)));
  }
  EXPECT_GT(beyond_the_sums, 0) << "bounds by mass and volume alone would do";
}

TEST(PropertyLoad, NoPartitionIntoLoadsThatGoIsBetter) {
  // Larger than the grid model can hold: here the layouts say which sets go, and only the counting of trips is tried.
  std::mt19937 random(81);
  std::uniform_real_distribution<double> length(0.6, 1.8), width(0.4, 1.2), thickness(0.1, 0.7), mass(5, 60);
  int beyond_the_sums = 0;
  for (int round = 0; round < 600; ++round) {
    std::vector<LoadPiece> pieces;
    std::vector<Sheet> sheets;
    const int alike = 1 + round / 4 % 4;  // pieces of a kind
    const std::size_t kinds = static_cast<std::size_t>((8 + round % 4) / alike),
                      n = kinds * static_cast<std::size_t>(alike);
    const auto kind_of = [&](std::size_t i) { return i / static_cast<std::size_t>(alike); };
    double volume = 0, kg = 0;
    for (std::size_t kind = 0; kind < kinds; ++kind) {
      std::array<double, 3> sides = {length(random), width(random), thickness(random)};
      std::ranges::sort(sides, std::greater{});
      pieces.push_back(piece("p" + std::to_string(kind), sides[0], sides[1], sides[2], mass(random), alike));
      sheets.push_back({sides[0], sides[1], sides[2]});
      volume += alike * sides[0] * sides[1] * sides[2] / (1.8 * 1.25 * 1.2);
      kg += alike * pieces.back().mass_kg;
    }
    const LoadVehicle vehicle = van(1.8, 1.25, 1.2, 160);
    const auto plan = checked(pieces, vehicle);
    const auto refused = [&](std::size_t i) {
      return std::ranges::any_of(plan.will_not_go, [&](const WillNotGo& no) { return no.id == pieces[kind_of(i)].id; });
    };
    EXPECT_TRUE(plan.proved_fewest);
    // Sets as bits. Fewest trips of a set: one load that holds its first piece, and the fewest of what that leaves.
    Layouts layouts(sheets, vehicle.inside, 100'000'000);
    const std::size_t sets = std::size_t{1} << n;
    std::vector<char> goes(sets, 0);
    std::vector<int> fewest(sets, 1000);
    fewest[0] = 0;
    for (std::size_t set = 1; set < sets; ++set) {
      Counts counts(kinds, 0);
      double sum = 0;
      for (std::size_t i = 0; i < n; ++i) {
        if ((set >> i & 1U) == 0) continue;
        ++counts[kind_of(i)];
        sum += pieces[kind_of(i)].mass_kg;
      }
      const Fits fits = sum > 160 ? Fits::kNo : layouts.fits(counts);
      ASSERT_NE(fits, Fits::kUnknown);
      goes[set] = fits == Fits::kYes;
      const std::size_t first = set & (~set + 1);
      for (std::size_t load = set; load > 0; load = (load - 1) & set) {
        if ((load & first) != 0 && goes[load] != 0) fewest[set] = std::min(fewest[set], 1 + fewest[set ^ load]);
      }
    }
    std::size_t all = 0;
    for (std::size_t i = 0; i < n; ++i) all |= refused(i) ? 0 : std::size_t{1} << i;
    EXPECT_EQ(static_cast<int>(plan.trips.size()), fewest[all]) << "round " << round;
    beyond_the_sums += fewest[all] > std::max(std::ceil(volume), std::ceil(kg / 160));
  }
  EXPECT_GT(beyond_the_sums, 100) << "bounds by mass and volume alone would do";
}

TEST(PropertyLoad, NoPartitionOfManyAlikeIsBetter) {
  // As above, for many pieces of few kinds: sets as numbers of four digits, one a kind.
  constexpr std::size_t kKinds = 4, kAlike = 7, kBase = kAlike + 1;
  std::mt19937 random(91);
  std::uniform_real_distribution<double> length(0.6, 2.4), width(0.4, 1.2), thickness(0.05, 0.6), mass(5, 60);
  int beyond_the_sums = 0;
  std::size_t learnt = 0;
  for (int round = 0; round < 60; ++round) {
    std::vector<LoadPiece> pieces;
    std::vector<Sheet> sheets;
    double volume = 0, kg = 0;
    for (std::size_t kind = 0; kind < kKinds; ++kind) {
      std::array<double, 3> sides = {length(random), width(random), thickness(random)};
      std::ranges::sort(sides, std::greater{});
      pieces.push_back(piece("p" + std::to_string(kind), sides[0], sides[1], sides[2], mass(random), kAlike));
      sheets.push_back({sides[0], sides[1], sides[2]});
      volume += kAlike * sides[0] * sides[1] * sides[2] / (2.5 * 1.3 * 1.2);
      kg += kAlike * pieces.back().mass_kg;
    }
    const LoadVehicle vehicle = van(2.5, 1.3, 1.2, 250);
    const auto plan = checked(pieces, vehicle);
    ASSERT_TRUE(plan.will_not_go.empty());
    Layouts layouts(sheets, vehicle.inside, 1'000'000'000);
    const std::size_t sets = kBase * kBase * kBase * kBase;
    const auto digits = [](std::size_t set) {
      Counts counts(kKinds, 0);
      for (auto& count : counts) {
        count = static_cast<int>(set % kBase);
        set /= kBase;
      }
      return counts;
    };
    std::vector<std::pair<std::size_t, Counts>> loads;
    for (std::size_t set = 1; set < sets; ++set) {
      const Counts counts = digits(set);
      double sum = 0;
      for (std::size_t kind = 0; kind < kKinds; ++kind) sum += counts[kind] * pieces[kind].mass_kg;
      if (sum > 250) continue;
      const Fits fits = layouts.fits(counts);
      ASSERT_NE(fits, Fits::kUnknown);
      if (fits == Fits::kYes) loads.emplace_back(set, counts);
    }
    // What the search learns must hold for every load, not only for those it met.
    Scale masses, volumes;
    for (std::size_t kind = 0; kind < kKinds; ++kind) {
      const auto& sheet = sheets[kind];
      masses.push_back(pieces[kind].mass_kg / 250);
      volumes.push_back(sheet.length_m * sheet.width_m * sheet.thickness_m / (2.5 * 1.3 * 1.2));
    }
    const auto found = fewest_trips(Counts(kKinds, kAlike), {masses}, {volumes}, layouts, 30'000'000);
    for (const auto& scale : found.learnt) {
      for (const auto& [load, some] : loads) {
        double sum = 0;
        for (std::size_t kind = 0; kind < kKinds; ++kind) sum += some[kind] * scale[kind];
        ASSERT_LE(sum, 1 + 1e-6) << "round " << round;
      }
    }
    learnt += found.learnt.size();
    std::vector<int> fewest(sets, 1000);
    fewest[0] = 0;
    for (std::size_t set = 1; set < sets; ++set) {
      const Counts counts = digits(set);
      for (const auto& [load, some] : loads) {
        bool within = true;
        for (std::size_t kind = 0; kind < kKinds && within; ++kind) within = some[kind] <= counts[kind];
        if (within) fewest[set] = std::min(fewest[set], 1 + fewest[set - load]);
      }
    }
    EXPECT_LE(plan.at_least, fewest.back()) << "round " << round;
    if (plan.proved_fewest) {
      EXPECT_EQ(static_cast<int>(plan.trips.size()), fewest.back()) << "round " << round;
    }
    beyond_the_sums += fewest.back() > std::max(std::ceil(volume), std::ceil(kg / 250));
  }
  EXPECT_GT(beyond_the_sums, 20);
  EXPECT_GT(learnt, 20U);
}

TEST(Load, ManyPiecesComeWithABound) {
  std::mt19937 random(41);
  std::uniform_real_distribution<double> mass(10, 60);
  std::vector<LoadPiece> pieces;
  for (int i = 0; i < 80; ++i) pieces.push_back(piece("p" + std::to_string(i), 1.8, 0.9, 0.006, mass(random)));
  const auto plan = checked(pieces, van(2.4, 1.3, 1.2, 100));
  EXPECT_GE(plan.at_least, 1);
  EXPECT_LE(plan.trips.size(), static_cast<std::size_t>(plan.at_least) + 1);
}

TEST(FaultLoad, ThousandsOfTripsAreNoMatterOfTheStack) {
  // Two of a kind are just too heavy for one trip, one of each likewise: what only looking at every trip shows, or a
  // scale.
  for (const int count : {800, 9000}) {
    const std::vector<LoadPiece> pieces = {{"light", 1.2, 0.8, 0.01, 50.8, count},
                                           {"heavy", 1.2, 0.8, 0.02, 79.8, count}};
    const auto plan = load_plan(pieces, van(2, 1, 1, 97.4), {});
    ASSERT_TRUE(plan.ok());
    EXPECT_EQ(plan->trips.size(), 2U * static_cast<std::size_t>(count));
    EXPECT_TRUE(plan->proved_fewest);
  }
}

TEST(PropertyLoad, OrderAndNamesDoNotMatter) {
  std::mt19937 random(51);
  std::uniform_real_distribution<double> mass(8, 40);
  std::vector<LoadPiece> pieces;
  for (int i = 0; i < 16; ++i)
    pieces.push_back(piece("p" + std::to_string(i), 1.8, 0.9, 0.006, mass(random), 1 + i % 3));
  const auto trips = checked(pieces, van(2.4, 1.3, 1.2, 100)).trips.size();
  for (int round = 0; round < 5; ++round) {
    std::shuffle(pieces.begin(), pieces.end(), random);
    EXPECT_EQ(checked(pieces, van(2.4, 1.3, 1.2, 100)).trips.size(), trips);
  }
}

}  // namespace
}  // namespace lathbook::waste
