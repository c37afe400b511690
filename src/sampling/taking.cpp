#include "sampling/taking.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "sampling/take.h"

namespace lathbook::sampling {
namespace {

using book::Point;

double squared(const Point& a, const Point& b) {
  return (a.x_m - b.x_m) * (a.x_m - b.x_m) + (a.y_m - b.y_m) * (a.y_m - b.y_m);
}

bool inside(std::span<const Point> outline, const Point& p) {
  bool in = false;
  for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
    const auto& a = outline[i];
    const auto& b = outline[j];
    if ((a.y_m > p.y_m) == (b.y_m > p.y_m)) continue;
    if (p.x_m < (b.x_m - a.x_m) * (p.y_m - a.y_m) / (b.y_m - a.y_m) + a.x_m) in = !in;
  }
  return in;
}

std::vector<Point> grid_inside(std::span<const Point> outline) {
  constexpr double kPoints = 1000;
  Point low = outline.front();
  Point high = outline.front();
  for (const auto& p : outline) {
    low = {std::min(low.x_m, p.x_m), std::min(low.y_m, p.y_m)};
    high = {std::max(high.x_m, p.x_m), std::max(high.y_m, p.y_m)};
  }
  const double width = high.x_m - low.x_m;
  const double height = high.y_m - low.y_m;
  if (!(width > 0) || !(height > 0)) return {};
  const double step = std::sqrt(width * height / kPoints);
  // A long thin strip still gets a row of points along its middle.
  const int columns = std::clamp(static_cast<int>(width / step), 1, 2000);
  const int rows = std::clamp(static_cast<int>(height / step), 1, 2000);
  std::vector<Point> points;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const Point p{low.x_m + (c + 0.5) * width / columns, low.y_m + (r + 0.5) * height / rows};
      if (inside(outline, p)) points.push_back(p);
    }
  }
  return points;
}

std::size_t nearest(std::span<const Point> among, const Point& to) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < among.size(); ++i) {
    if (squared(among[i], to) < squared(among[best], to)) best = i;
  }
  return best;
}

std::vector<Point> spread_over(std::span<const Point> outline, int count) {
  const auto grid = grid_inside(outline);
  if (grid.empty()) return {};
  // Start from points as far apart as can be, then move each to the middle of what lies nearest to it.
  std::vector<Point> centres = {grid.front()};
  while (static_cast<int>(centres.size()) < count) {
    std::size_t furthest = 0;
    double distance = -1;
    for (std::size_t i = 0; i < grid.size(); ++i) {
      const double d = squared(grid[i], centres[nearest(centres, grid[i])]);
      if (d > distance) furthest = i, distance = d;
    }
    centres.push_back(grid[furthest]);
  }
  constexpr int kRounds = 30;
  for (int round = 0; round < kRounds; ++round) {
    std::vector<Point> sum(centres.size());
    std::vector<double> members(centres.size(), 0);
    for (const auto& p : grid) {
      const auto c = nearest(centres, p);
      sum[c] = {sum[c].x_m + p.x_m, sum[c].y_m + p.y_m};
      ++members[c];
    }
    for (std::size_t c = 0; c < centres.size(); ++c) {
      if (members[c] > 0) centres[c] = {sum[c].x_m / members[c], sum[c].y_m / members[c]};
    }
  }
  for (auto& centre : centres) {
    if (!inside(outline, centre)) centre = grid[nearest(grid, centre)];
  }
  return centres;
}

std::vector<Point> spread_along(const std::vector<Point>& points, int count) {
  double length = 0;
  for (std::size_t i = 1; i < points.size(); ++i) length += std::sqrt(squared(points[i - 1], points[i]));
  std::vector<Point> spots;
  for (int k = 0; k < count; ++k) {
    double left = length * (k + 0.5) / count;
    Point spot = points.back();
    for (std::size_t i = 1; i < points.size(); ++i) {
      const double part = std::sqrt(squared(points[i - 1], points[i]));
      if (left <= part && part > 0) {
        const double t = left / part;
        spot = {points[i - 1].x_m + t * (points[i].x_m - points[i - 1].x_m),
                points[i - 1].y_m + t * (points[i].y_m - points[i - 1].y_m)};
        break;
      }
      left -= part;
    }
    spots.push_back(spot);
  }
  return spots;
}

struct SpotsOn {
  std::span<const Point> outline;
  int count;

  std::vector<Point> operator()(const book::WholeFace&) const {
    return outline.size() < 3 ? std::vector<Point>{} : spread_over(outline, count);
  }
  std::vector<Point> operator()(const book::PointShape& shape) const {
    return std::vector<Point>(static_cast<std::size_t>(count), shape.at);
  }
  std::vector<Point> operator()(const book::LineShape& shape) const {
    return shape.points.empty() ? std::vector<Point>{} : spread_along(shape.points, count);
  }
  std::vector<Point> operator()(const book::PolygonShape& shape) const {
    return shape.outline.size() < 3 ? std::vector<Point>{} : spread_over(shape.outline, count);
  }
  std::vector<Point> operator()(const book::SpanShape& shape) const {
    const std::vector<Point> corners = {{shape.left_m, shape.low_m},
                                        {shape.right_m, shape.low_m},
                                        {shape.right_m, shape.high_m},
                                        {shape.left_m, shape.high_m}};
    return spread_over(corners, count);
  }
};

std::string where_in_words(int index, int count) {
  if (count == 1) return "at an edge or joint, through all layers";
  if (index == 0) return "at an edge or joint near one end, through all layers";
  if (index == 1)
    return "at a repair or a part that looks newer, if there is one; else at the other end; through all layers";
  return fmt::format("from part {} of {} equal parts, through all layers", index + 1, count);
}

}  // namespace

std::vector<Point> spots_on(const book::Shape& shape, std::span<const Point> outline, int count) {
  return std::visit(SpotsOn{outline, std::max(count, 1)}, shape);
}

Taking how_to_take(const book::Material& material, const catalogue::FamilyEvidence& family, book::Damage damage,
                   const catalogue::TakingData& data, std::span<const Point> outline, int count, int already_taken) {
  Taking taking;
  for (int i = 0; i < count; ++i) {
    taking.samples.push_back({fmt::format("{}-{}", material.id.text, already_taken + i + 1), where_in_words(i, count)});
  }
  if (count > 0) taking.spots = spots_on(material.place.shape, outline, count);
  taking.yourself = may_take_oneself(family, damage, material.overhead_or_hard_to_reach);
  if (!taking.yourself) {
    taking.why = {family.take_why, family.take_source};
    if (damage >= book::Damage::kMedium) {
      taking.why = {"It is damaged: the place already sheds fibre, and taking a sample sheds more.", "judgement"};
    }
    taking.steps.push_back(data.someone_else);
    return taking;
  }
  taking.why = {family.take_why, family.take_source};
  taking.bring = data.bring;
  taking.steps = data.steps;
  for (const auto& layer : data.layers) {
    if (std::find(layer.families.begin(), layer.families.end(), family.id) == layer.families.end()) continue;
    taking.steps.push_back(layer.note);
  }
  return taking;
}

std::vector<std::string> label_text(const SampleToTake& sample, const std::string& material_name) {
  return {sample.label, material_name, sample.where, "taken on ............ by ............",
          "May hold asbestos. Keep both bags shut."};
}

}  // namespace lathbook::sampling
