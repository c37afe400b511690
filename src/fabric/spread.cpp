#include "fabric/spread.h"

#include <algorithm>
#include <boost/geometry.hpp>
#include <boost/geometry/geometries/multi_polygon.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/polygon.hpp>
#include <cmath>
#include <queue>

namespace lathbook::fabric {
namespace {

Point operator-(Point a, Point b) { return {a.x_m - b.x_m, a.y_m - b.y_m}; }
double cross(Point a, Point b) { return a.x_m * b.y_m - a.y_m * b.x_m; }
double dot(Point a, Point b) { return a.x_m * b.x_m + a.y_m * b.y_m; }

/// Sign of the turn a, b, c with a tolerance that scales with the coordinates: drawings are in metres, and a micrometre
/// is nothing.
int turn(Point a, Point b, Point c) {
  const double area = cross(b - a, c - a);
  const double scale =
      std::max({std::abs(b.x_m - a.x_m), std::abs(b.y_m - a.y_m), std::abs(c.x_m - a.x_m), std::abs(c.y_m - a.y_m)});
  if (std::abs(area) <= 1e-9 * std::max(1.0, scale)) return 0;
  return area > 0 ? 1 : -1;
}

bool on_segment(Point p, Point a, Point b) { return distance_to_segment_m(p, a, b) < 1e-9; }

bool segments_meet(Point a, Point b, Point c, Point d) {
  const int abc = turn(a, b, c);
  const int abd = turn(a, b, d);
  const int cda = turn(c, d, a);
  const int cdb = turn(c, d, b);
  if (abc * abd < 0 && cda * cdb < 0) return true;
  return on_segment(c, a, b) || on_segment(d, a, b) || on_segment(a, c, d) || on_segment(b, c, d);
}

double segment_distance_m(Point a, Point b, Point c, Point d) {
  if (segments_meet(a, b, c, d)) return 0;
  return std::min({distance_to_segment_m(a, c, d), distance_to_segment_m(b, c, d), distance_to_segment_m(c, a, b),
                   distance_to_segment_m(d, a, b)});
}

/// The segments of a bare geometry: of a point one of no length, of an outline its closing edge too.
std::size_t segment_count(const Spread& spread) {
  if (spread.points.size() == 1) return 1;
  return spread.filled ? spread.points.size() : spread.points.size() - 1;
}
Point segment_end(const Spread& spread, std::size_t i) { return spread.points[(i + 1) % spread.points.size()]; }

namespace bg = boost::geometry;
using BoostPoint = bg::model::d2::point_xy<double>;
using BoostPolygon = bg::model::polygon<BoostPoint, false, false>;  // anticlockwise, open: as our rings
using BoostPolygons = bg::model::multi_polygon<BoostPolygon>;

BoostPolygon to_boost(std::span<const Point> ring) {
  BoostPolygon polygon;
  for (const auto& p : ring) polygon.outer().emplace_back(p.x_m, p.y_m);
  bg::correct(polygon);
  return polygon;
}

/// Slivers thinner than a drawing can mean are the overlay's rounding, not a place.
constexpr double kLeastAreaM2 = 1e-6;

BoostPolygon box_polygon(double x0, double y0, double x1, double y1) {
  BoostPolygon polygon;
  polygon.outer() = {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}};
  return polygon;
}

Ring ring_of(const BoostPolygon::ring_type& from) {
  Ring ring;
  for (const auto& p : from) ring.push_back({p.x(), p.y()});
  return ring;
}

/// Parts without holes: a polygon with one is parted by an upright line through the hole's middle until none is left.
void add_rings(const BoostPolygon& polygon, std::vector<Ring>& rings) {
  if (bg::area(polygon) <= kLeastAreaM2) return;
  if (polygon.inners().empty()) {
    rings.push_back(ring_of(polygon.outer()));
    return;
  }
  const Box all = box_of(ring_of(polygon.outer()));
  const Box hole = box_of(ring_of(polygon.inners().front()));
  const double x = (hole.x0 + hole.x1) / 2;
  const double y0 = all.y0 - 1;
  const double y1 = all.y1 + 1;
  for (const auto& half : {box_polygon(all.x0 - 1, y0, x, y1), box_polygon(x, y0, all.x1 + 1, y1)}) {
    BoostPolygons parts;
    bg::intersection(polygon, half, parts);
    for (const auto& part : parts) add_rings(part, rings);
  }
}

double edge_distance_m(std::span<const Point> ring, Point p) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < ring.size(); ++i) {
    least = std::min(least, distance_to_segment_m(p, ring[i], ring[(i + 1) % ring.size()]));
  }
  return least;
}

double depth_m(std::span<const Point> ring, Point p) {
  const double to_edge = edge_distance_m(ring, p);
  return covers(ring, p) ? to_edge : -to_edge;
}

}  // namespace

Box box_of(std::span<const Point> points) {
  Box box{points[0].x_m, points[0].y_m, points[0].x_m, points[0].y_m};
  for (const auto& p : points) {
    box.x0 = std::min(box.x0, p.x_m);
    box.y0 = std::min(box.y0, p.y_m);
    box.x1 = std::max(box.x1, p.x_m);
    box.y1 = std::max(box.y1, p.y_m);
  }
  return box;
}

Spread make_spread(std::vector<Point> points, bool filled, double radius_m) {
  Spread spread;
  spread.box = box_of(points).grown(radius_m);
  spread.points = std::move(points);
  spread.filled = filled;
  spread.radius_m = radius_m;
  return spread;
}

// Plans are metres to kilometres across: nothing here can overflow, and this is called a great deal.
double distance_m(Point a, Point b) {
  const Point d = a - b;
  return std::sqrt(dot(d, d));
}

double distance_to_segment_m(Point p, Point a, Point b) {
  const Point ab = b - a;
  const double length2 = dot(ab, ab);
  if (length2 == 0) return distance_m(p, a);
  const double t = std::clamp(dot(p - a, ab) / length2, 0.0, 1.0);
  return distance_m(p, {a.x_m + t * ab.x_m, a.y_m + t * ab.y_m});
}

double distance_to_ring_m(std::span<const Point> ring, Point p) {
  return covers(ring, p) ? 0 : edge_distance_m(ring, p);
}

double distance_m(const Spread& a, const Spread& b) {
  if (a.filled && covers(a.points, b.points[0])) return 0;
  if (b.filled && covers(b.points, a.points[0])) return 0;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < segment_count(a); ++i) {
    for (std::size_t j = 0; j < segment_count(b); ++j) {
      least = std::min(least, segment_distance_m(a.points[i], segment_end(a, i), b.points[j], segment_end(b, j)));
      if (least == 0) return 0;
    }
  }
  return std::max(0.0, least - a.radius_m - b.radius_m);
}

double distance_m(const Spread& a, Point from, Point to) {
  if (a.filled && covers(a.points, from)) return 0;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < segment_count(a) && least > 0; ++i) {
    least = std::min(least, segment_distance_m(a.points[i], segment_end(a, i), from, to));
  }
  return std::max(0.0, least - a.radius_m);
}

std::optional<Box> as_box(std::span<const Point> ring) {
  if (ring.size() != 4) return std::nullopt;
  const Box box = box_of(ring);
  for (std::size_t i = 0; i < 4; ++i) {
    const Point a = ring[i];
    const Point b = ring[(i + 1) % 4];
    const bool corner = (a.x_m == box.x0 || a.x_m == box.x1) && (a.y_m == box.y0 || a.y_m == box.y1);
    if (!corner || (a.x_m != b.x_m) == (a.y_m != b.y_m)) return std::nullopt;
  }
  return box;
}

double signed_area_m2(std::span<const Point> ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i)
    twice += cross(ring[i] - ring[0], ring[(i + 1) % ring.size()] - ring[0]);
  return twice / 2;
}

bool covers(std::span<const Point> ring, Point p) {
  bool inside = false;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point a = ring[i];
    const Point b = ring[(i + 1) % ring.size()];
    if (on_segment(p, a, b)) return true;
    if ((a.y_m > p.y_m) != (b.y_m > p.y_m)) {
      const double x = a.x_m + (p.y_m - a.y_m) / (b.y_m - a.y_m) * (b.x_m - a.x_m);
      if (p.x_m < x) inside = !inside;
    }
  }
  return inside;
}

std::optional<EdgePair> crossing_edges(std::span<const Point> ring) {
  const std::size_t n = ring.size();
  const auto corner = [&](std::size_t i) { return ring[i % n]; };
  for (std::size_t i = 0; i < n; ++i) {
    if (distance_m(corner(i), corner(i + 1)) < 1e-9) return EdgePair{i, (i + 1) % n};
    // An edge that runs back over the one before it.
    const Point in = corner(i + 1) - corner(i);
    const Point out = corner(i + 2) - corner(i + 1);
    if (turn(corner(i), corner(i + 1), corner(i + 2)) == 0 && dot(in, out) < 0) return EdgePair{i, (i + 1) % n};
  }
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = i + 2; j < n; ++j) {
      if (i == 0 && j == n - 1) continue;
      if (segments_meet(corner(i), corner(i + 1), corner(j), corner(j + 1))) return EdgePair{i, j};
    }
  }
  return std::nullopt;
}

Inmost inmost_point(std::span<const Point> ring, double precision_m) {
  struct Cell {
    Point centre;
    double half;
    double depth;
    [[nodiscard]] double best_possible() const { return depth + half * std::sqrt(2.0); }
    bool operator<(const Cell& other) const { return best_possible() < other.best_possible(); }
  };
  const Box box = box_of(ring);
  const double side = std::max(1e-9, std::min(box.x1 - box.x0, box.y1 - box.y0));
  std::priority_queue<Cell> open;
  const auto add = [&](Point centre, double half) { open.push({centre, half, depth_m(ring, centre)}); };
  for (double x = box.x0; x < box.x1; x += side) {
    for (double y = box.y0; y < box.y1; y += side) add({x + side / 2, y + side / 2}, side / 2);
  }
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
  Inmost best{middle, depth_m(ring, middle)};
  while (!open.empty()) {
    const Cell cell = open.top();
    open.pop();
    if (cell.best_possible() - best.depth_m <= precision_m) break;
    if (cell.depth > best.depth_m) best = {cell.centre, cell.depth};
    const double half = cell.half / 2;
    for (const double dx : {-half, half}) {
      for (const double dy : {-half, half}) add({cell.centre.x_m + dx, cell.centre.y_m + dy}, half);
    }
  }
  return best;
}

std::vector<Ring> overlay(std::span<const Ring> all_of, std::span<const Ring> none_of) {
  Box common = box_of(all_of.front());
  bool boxes = true;
  for (const auto& ring : all_of) {
    const Box box = box_of(ring);
    if (!common.meets(box)) return {};
    common = {std::max(common.x0, box.x0), std::max(common.y0, box.y0), std::min(common.x1, box.x1),
              std::min(common.y1, box.y1)};
    boxes = boxes && as_box(ring).has_value();
  }
  std::vector<const Ring*> taken;
  for (const auto& ring : none_of) {
    if (box_of(ring).meets(common)) taken.push_back(&ring);
  }
  if (boxes && taken.empty()) {
    if ((common.x1 - common.x0) * (common.y1 - common.y0) <= kLeastAreaM2) return {};
    return {{{common.x0, common.y0}, {common.x1, common.y0}, {common.x1, common.y1}, {common.x0, common.y1}}};
  }
  BoostPolygons left{to_boost(all_of.front())};
  for (const auto& ring : all_of.subspan(1)) {
    BoostPolygons next;
    bg::intersection(left, to_boost(ring), next);
    left = std::move(next);
  }
  for (const Ring* ring : taken) {
    BoostPolygons next;
    bg::difference(left, to_boost(*ring), next);
    left = std::move(next);
  }
  std::vector<Ring> rings;
  for (const auto& polygon : left) add_rings(polygon, rings);
  return rings;
}

}  // namespace lathbook::fabric
