// Shapes on a face as geometry: a point, a chain of segments or a filled outline, grown by a radius. Distances are
// exact up to rounding: that of the bare geometries less both radii, and 0 when the shapes overlap.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "book/book.h"

namespace lathbook::fabric {

using book::Point;
using Ring = std::vector<Point>;  ///< a closed outline, the first corner not repeated

struct Box {
  double x0 = 0;
  double y0 = 0;
  double x1 = 0;
  double y1 = 0;
  [[nodiscard]] bool meets(const Box& other, double within = 0) const {
    return x0 <= other.x1 + within && other.x0 <= x1 + within && y0 <= other.y1 + within && other.y0 <= y1 + within;
  }
  [[nodiscard]] Box grown(double by) const { return {x0 - by, y0 - by, x1 + by, y1 + by}; }
};
[[nodiscard]] Box box_of(std::span<const Point> points);

struct Spread {
  std::vector<Point> points;  ///< one: a point; more: a chain, or the corners of an outline when `filled`
  bool filled = false;
  double radius_m = 0;
  Box box;  ///< of the grown shape
};
[[nodiscard]] Spread make_spread(std::vector<Point> points, bool filled, double radius_m = 0);

[[nodiscard]] double distance_m(Point a, Point b);
[[nodiscard]] double distance_to_segment_m(Point p, Point a, Point b);
[[nodiscard]] double distance_m(const Spread& a, const Spread& b);
[[nodiscard]] double distance_m(const Spread& a, Point from,
                                Point to);  ///< to a bare segment, which may have no length
/// From a point to the area of an outline; 0 inside.
[[nodiscard]] double distance_to_ring_m(std::span<const Point> ring, Point p);

/// Signed area: positive when the corners run anticlockwise. [m2]
[[nodiscard]] double signed_area_m2(std::span<const Point> ring);
/// Inside the outline or on its edge.
[[nodiscard]] bool covers(std::span<const Point> ring, Point p);

/// The box of an outline that is an upright rectangle, as most are; nothing for any other.
[[nodiscard]] std::optional<Box> as_box(std::span<const Point> ring);

/// Two edges of a ring (counted from 0) that cross, touch, or run back over each other; nothing for a simple outline.
struct EdgePair {
  std::size_t first = 0;
  std::size_t second = 0;
};
[[nodiscard]] std::optional<EdgePair> crossing_edges(std::span<const Point> ring);

/// The point inside an outline that is farthest from its edge, and how far that is, to within `precision_m`.
struct Inmost {
  Point at;
  double depth_m = 0;
};
[[nodiscard]] Inmost inmost_point(std::span<const Point> ring, double precision_m = 0.01);

/// The area inside every ring of `all_of` (at least one) and inside none of `none_of` (Boost.Geometry). The answer's
/// parts are simple anticlockwise rings; one with a hole is parted in two. Parts below 1 mm2 are rounding and left out.
[[nodiscard]] std::vector<Ring> overlay(std::span<const Ring> all_of, std::span<const Ring> none_of = {});

}  // namespace lathbook::fabric
