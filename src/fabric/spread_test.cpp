// The geometry under the module, held against GEOS (another library, used in tests alone).
#include "fabric/spread.h"

#include <geos_c.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "fabric/house_fixture.h"
#include "fabric/plan.h"
#include "testing/agreement.h"

namespace lathbook::fabric {
namespace {

/// A GEOS session and the geometries made in it, freed together.
class Geos {
 public:
  Geos() : handle_(GEOS_init_r()) {}
  ~Geos() {
    for (auto* one : made_) GEOSGeom_destroy_r(handle_, one);
    GEOS_finish_r(handle_);
  }
  Geos(const Geos&) = delete;
  Geos& operator=(const Geos&) = delete;

  GEOSGeometry* polygon(const Ring& ring) {
    auto* sequence = GEOSCoordSeq_create_r(handle_, static_cast<unsigned>(ring.size() + 1), 2);
    for (unsigned i = 0; i <= ring.size(); ++i) {
      GEOSCoordSeq_setX_r(handle_, sequence, i, ring[i % ring.size()].x_m);
      GEOSCoordSeq_setY_r(handle_, sequence, i, ring[i % ring.size()].y_m);
    }
    return keep(GEOSGeom_createPolygon_r(handle_, GEOSGeom_createLinearRing_r(handle_, sequence), nullptr, 0));
  }
  GEOSGeometry* chain(const std::vector<Point>& points) {
    auto* sequence = GEOSCoordSeq_create_r(handle_, static_cast<unsigned>(points.size()), 2);
    for (unsigned i = 0; i < points.size(); ++i) {
      GEOSCoordSeq_setX_r(handle_, sequence, i, points[i].x_m);
      GEOSCoordSeq_setY_r(handle_, sequence, i, points[i].y_m);
    }
    return keep(points.size() == 1 ? GEOSGeom_createPoint_r(handle_, sequence)
                                   : GEOSGeom_createLineString_r(handle_, sequence));
  }
  GEOSGeometry* of(const Spread& spread) { return spread.filled ? polygon(spread.points) : chain(spread.points); }
  GEOSGeometry* common(const GEOSGeometry* a, const GEOSGeometry* b) { return keep(GEOSIntersection_r(handle_, a, b)); }
  GEOSGeometry* without(const GEOSGeometry* a, const GEOSGeometry* b) { return keep(GEOSDifference_r(handle_, a, b)); }
  GEOSGeometry* either(const GEOSGeometry* a, const GEOSGeometry* b) { return keep(GEOSUnion_r(handle_, a, b)); }
  double area(const GEOSGeometry* a) {
    double value = 0;
    GEOSArea_r(handle_, a, &value);
    return value;
  }
  double distance(const GEOSGeometry* a, const GEOSGeometry* b) {
    double value = 0;
    GEOSDistance_r(handle_, a, b, &value);
    return value;
  }
  bool valid(const GEOSGeometry* a) { return GEOSisValid_r(handle_, a) == 1; }

 private:
  GEOSGeometry* keep(GEOSGeometry* made) {
    made_.push_back(made);
    return made;
  }
  GEOSContextHandle_t handle_;
  std::vector<GEOSGeometry*> made_;
};

class Random {
 public:
  explicit Random(std::uint64_t seed) : random_(seed) {}
  double between(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
  int below(int n) { return static_cast<int>(random_() % static_cast<std::uint64_t>(n)); }
  Point point(double reach) { return {between(-reach, reach), between(-reach, reach)}; }

  Ring star(Point centre, double least, double most) {
    Ring ring;
    const int n = 3 + below(8);
    for (int i = 0; i < n; ++i) {
      const double angle = 2 * std::numbers::pi * (i + between(0, 0.8)) / n;
      const double r = between(least, most);
      ring.push_back({centre.x_m + r * std::cos(angle), centre.y_m + r * std::sin(angle)});
    }
    return ring;
  }
  /// An upright L: what extensions make of rooms.
  Ring ell(Point o) {
    const double a = between(2, 5);
    const double b = between(2, 5);
    const double c = between(0.5, a - 0.5);
    const double d = between(0.5, b - 0.5);
    return {{o.x_m, o.y_m},         {o.x_m + a, o.y_m},     {o.x_m + a, o.y_m + d},
            {o.x_m + c, o.y_m + d}, {o.x_m + c, o.y_m + b}, {o.x_m, o.y_m + b}};
  }
  Spread spread() {
    switch (below(4)) {
      case 0:
        return make_spread({point(3)}, false, between(0, 0.3));
      case 1:
        return make_spread({point(3), point(3), point(3)}, false, between(0, 0.3));
      case 2:
        return make_spread(ell(point(2)), true);
      default:
        return make_spread(star(point(3), 0.3, 2), true);
    }
  }

 private:
  std::mt19937_64 random_;
};

double area_of(const std::vector<Ring>& rings) {
  double sum = 0;
  for (const auto& ring : rings) {
    EXPECT_GT(signed_area_m2(ring), 0);
    EXPECT_FALSE(crossing_edges(ring)) << "a part is not simple";
    sum += signed_area_m2(ring);
  }
  return sum;
}

TEST(ReferenceSpread, OverlaysHaveTheAreaGeosGives) {
  testing::Agreement agreement("fabric_overlays");
  Random random(7);
  int some = 0;
  for (int i = 0; i < 400; ++i) {
    const Ring a = i % 2 == 0 ? random.ell(random.point(2)) : random.star(random.point(1), 1, 4);
    const Ring b = i % 3 == 0 ? random.star(random.point(1), 1, 4) : random.ell(random.point(2));
    const Ring hole = random.star(random.point(1), 0.2, 0.8);
    const Ring other_hole = random.ell(random.point(3));
    Geos geos;
    const auto* common = geos.common(geos.polygon(a), geos.polygon(b));
    const std::array<Ring, 2> both{a, b};
    const std::array<Ring, 2> none{hole, other_hole};
    EXPECT_NEAR(area_of(overlay(both)), geos.area(common), 1e-5) << i;
    agreement.apart(area_of(overlay(both)) - geos.area(common), 1e-5);
    const auto* rest = geos.without(common, geos.either(geos.polygon(hole), geos.polygon(other_hole)));
    EXPECT_NEAR(area_of(overlay(both, none)), geos.area(rest), 1e-5) << i;
    agreement.apart(area_of(overlay(both, none)) - geos.area(rest), 1e-5);
    some += geos.area(rest) > 0.1;
  }
  EXPECT_GT(some, 200);
}

TEST(ReferenceSpread, DistancesAreThoseOfGeos) {
  testing::Agreement agreement("fabric_distances");
  Random random(8);
  int apart = 0;
  for (int i = 0; i < 2000; ++i) {
    const Spread a = random.spread();
    const Spread b = random.spread();
    Geos geos;
    const double bare_m = geos.distance(geos.of(a), geos.of(b));
    EXPECT_NEAR(distance_m(a, b), std::max(0.0, bare_m - a.radius_m - b.radius_m), 1e-9) << i;
    EXPECT_NEAR(distance_m(a, b), distance_m(b, a), 1e-12);
    agreement.apart(distance_m(a, b) - std::max(0.0, bare_m - a.radius_m - b.radius_m), 1e-9);
    apart += bare_m > 0;
  }
  EXPECT_GT(apart, 500);
}

TEST(ReferenceSpread, CrossingOutlinesAreTheOnesGeosCallsInvalid) {
  testing::Agreement agreement("fabric_crossings");
  Random random(9);
  int crossed = 0;
  for (int i = 0; i < 1500; ++i) {
    Ring ring;
    const int n = 3 + random.below(5);
    for (int k = 0; k < n; ++k) ring.push_back({std::round(random.between(0, 6)), std::round(random.between(0, 6))});
    if (std::abs(signed_area_m2(ring)) < 1e-9) continue;
    Geos geos;
    const bool sound = geos.valid(geos.polygon(ring));
    bool repeats = false;
    for (std::size_t k = 0; k < ring.size(); ++k) repeats = repeats || ring[k] == ring[(k + 1) % ring.size()];
    if (repeats) continue;  // a repeated corner is valid to GEOS and a slip of the pen to us
    EXPECT_EQ(!crossing_edges(ring), sound) << i;
    agreement.same();
    crossed += !sound;
  }
  EXPECT_GT(crossed, 200);
}

TEST(PropertySpread, TheInmostPointIsInmost) {
  Random random(10);
  for (int i = 0; i < 40; ++i) {
    const Ring ring = i % 2 == 0 ? random.ell({0, 0}) : random.star({0, 0}, 0.5, 3);
    const auto inmost = inmost_point(ring, 0.01);
    EXPECT_TRUE(covers(ring, inmost.at));
    for (int k = 0; k < 400; ++k) {
      const Point p = random.point(5);
      if (!covers(ring, p)) continue;
      double edge_m = 1e9;
      for (std::size_t e = 0; e < ring.size(); ++e)
        edge_m = std::min(edge_m, distance_to_segment_m(p, ring[e], ring[(e + 1) % ring.size()]));
      EXPECT_LE(edge_m, inmost.depth_m + 0.01 + 1e-9);
    }
  }
}

TEST(ReferencePlan, WhatLiesOverACeilingIsTheOverlayGeosGives) {
  testing::Agreement agreement("fabric_ceilings");
  Random random(11);
  for (int i = 0; i < 60; ++i) {
    std::vector<book::Storey> storeys = {
        {{"L0"}, "ground", 0, 2.4}, {{"LV"}, "between", 2.42, 0.2}, {{"L1"}, "first", 2.65, 2.4}};
    const Ring below = random.ell({0, 0});
    const Ring above = random.ell(random.point(2));
    const Ring between = random.star({random.between(0.5, 1.5), random.between(0.5, 1.5)}, 0.3, 1);
    const std::vector<book::Room> rooms = {fixture::room("A", "L0", below),
                                           fixture::room("V", "LV", between, book::RoomKind::kVoid),
                                           fixture::room("B", "L1", above)};
    const auto plan = Plan::build(storeys, rooms);
    ASSERT_TRUE(plan.ok());
    Geos geos;
    const auto expected = [&](std::size_t from, std::size_t to) {
      const auto* a = geos.polygon(below);
      const auto* v = geos.polygon(between);
      const auto* b = geos.polygon(above);
      if (from == 0 && to == 1) return geos.area(geos.common(a, v));
      if (from == 1 && to == 2) return geos.area(geos.common(v, b));
      return geos.area(geos.without(geos.common(a, b), v));
    };
    for (const auto& [from, to] : {std::pair<std::size_t, std::size_t>{0, 1}, {1, 2}, {0, 2}}) {
      double told = 0;
      for (const auto& backing : plan->backings()) {
        if (backing.face == plan->spaces()[from].ceiling_face() && backing.other == plan->spaces()[to].floor_face())
          told += area_of(backing.where);
      }
      EXPECT_NEAR(told, expected(from, to), 1e-5) << i << ": " << from << " to " << to;
      agreement.apart(told - expected(from, to), 1e-5);
    }
  }
}

}  // namespace
}  // namespace lathbook::fabric
