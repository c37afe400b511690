#include "sampling/spots.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace lathbook::sampling {
namespace {

using book::Point;

constexpr int kGrid = 40;        ///< cells along the longer side
constexpr int kOnAnEdge = 12;    ///< points along each edge
constexpr double kNearM = 0.05;  ///< nearer to the outline than this is at the edge

double squared(const Point& a, const Point& b) {
  return (a.x_m - b.x_m) * (a.x_m - b.x_m) + (a.y_m - b.y_m) * (a.y_m - b.y_m);
}

bool inside(const std::vector<Point>& outline, const Point& p) {
  bool in = false;
  for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
    const auto& a = outline[i];
    const auto& b = outline[j];
    if ((a.y_m > p.y_m) != (b.y_m > p.y_m) && p.x_m < (b.x_m - a.x_m) * (p.y_m - a.y_m) / (b.y_m - a.y_m) + a.x_m)
      in = !in;
  }
  return in;
}

void along(const Point& a, const Point& b, std::vector<Point>& to) {
  for (int i = 0; i <= kOnAnEdge; ++i) {
    const double f = static_cast<double>(i) / kOnAnEdge;
    to.push_back({a.x_m + f * (b.x_m - a.x_m), a.y_m + f * (b.y_m - a.y_m)});
  }
}

/// Corners and edges first, then the field.
std::vector<Point> places_in(const std::vector<Point>& outline) {
  std::vector<Point> places;
  if (outline.size() < 3) return places;
  for (std::size_t i = 0; i < outline.size(); ++i) along(outline[i], outline[(i + 1) % outline.size()], places);
  Point low = outline.front();
  Point high = outline.front();
  for (const auto& p : outline) {
    low = {std::min(low.x_m, p.x_m), std::min(low.y_m, p.y_m)};
    high = {std::max(high.x_m, p.x_m), std::max(high.y_m, p.y_m)};
  }
  const double step = std::max(high.x_m - low.x_m, high.y_m - low.y_m) / kGrid;
  if (step <= 0) return places;
  for (double x = low.x_m + step / 2; x < high.x_m; x += step) {
    for (double y = low.y_m + step / 2; y < high.y_m; y += step) {
      if (inside(outline, {x, y})) places.push_back({x, y});
    }
  }
  return places;
}

double to_outline_m(const std::vector<Point>& outline, const Point& p) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const auto& a = outline[i];
    const auto& b = outline[(i + 1) % outline.size()];
    const double length = squared(a, b);
    const double f =
        length == 0
            ? 0
            : std::clamp(((p.x_m - a.x_m) * (b.x_m - a.x_m) + (p.y_m - a.y_m) * (b.y_m - a.y_m)) / length, 0.0, 1.0);
    least = std::min(least, squared(p, {a.x_m + f * (b.x_m - a.x_m), a.y_m + f * (b.y_m - a.y_m)}));
  }
  return std::sqrt(least);
}

std::vector<Point> farthest_first(const std::vector<Point>& places, int count) {
  std::vector<Point> chosen;
  if (places.empty()) return chosen;
  std::vector<double> away(places.size(), std::numeric_limits<double>::infinity());
  std::size_t next = 0;
  while (static_cast<int>(chosen.size()) < count) {
    chosen.push_back(places[next]);
    for (std::size_t i = 0; i < places.size(); ++i) away[i] = std::min(away[i], squared(places[i], places[next]));
    next = static_cast<std::size_t>(std::max_element(away.begin(), away.end()) - away.begin());
  }
  return chosen;
}

/// What to look for, in the order in which it matters.
std::string looking_for(int number) {
  static constexpr const char* kWords[] = {
      "where it is already broken or open, or at a hidden edge",
      "at a join or a repair, if there is one",
      "where it looks different or newer, if it does anywhere",
  };
  return number < 3 ? kWords[number] : "in the plain field";
}

struct Shapes {
  const std::vector<Point>& whole;

  std::vector<Point> outline_of(const book::SpanShape& s) const {
    return {{s.left_m, s.low_m}, {s.right_m, s.low_m}, {s.right_m, s.high_m}, {s.left_m, s.high_m}};
  }
  std::vector<Point> outline_of(const book::PolygonShape& s) const { return s.outline; }
  std::vector<Point> outline_of(const book::WholeFace&) const { return whole; }
  template <class Other>
  std::vector<Point> outline_of(const Other&) const {
    return {};
  }
};

}  // namespace

std::vector<Spot> spots(const book::Shape& shape, const std::vector<Point>& outline, int count, const Tell& tell) {
  std::vector<Spot> list;
  const auto border = std::visit([&](const auto& s) { return Shapes{outline}.outline_of(s); }, shape);
  std::vector<Point> places;
  if (const auto* line = std::get_if<book::LineShape>(&shape)) {
    for (std::size_t i = 1; i < line->points.size(); ++i) along(line->points[i - 1], line->points[i], places);
  } else {
    places = places_in(border);
  }
  const auto chosen = farthest_first(places, count);
  for (int i = 0; i < count; ++i) {
    Spot spot;
    if (!chosen.empty()) {
      const auto& at = chosen[static_cast<std::size_t>(i)];
      spot.at = at;
      const bool edge = border.size() >= 3 && to_outline_m(border, at) < kNearM;
      spot.words = fmt::format("{}{}; {}", tell(at), edge ? "; at its edge" : "", looking_for(i));
    } else {
      spot.words = looking_for(i);
    }
    spot.words += "; through all layers";
    list.push_back(std::move(spot));
  }
  return list;
}

Label label(const std::string& material, const std::string& name, const std::string& room, int number, int count,
            const Spot& spot, const std::string& warning) {
  Label made;
  made.id = fmt::format("{}-{}", material, number);
  made.lines = {fmt::format("{}   {} of {}", made.id, number, count),
                room.empty() ? name : fmt::format("{}, {}", name, room), fmt::format("From: {}", spot.words),
                "Taken on ............ by ................", warning};
  return made;
}

}  // namespace lathbook::sampling
