#include "papers/plan_drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "book/words.h"
#include "fabric/opening.h"
#include "fabric/plan.h"
#include "papers/source.h"

namespace lathbook::papers {
namespace {

constexpr double kWallStripM = 0.16;  ///< how far a wall's strip comes into the room
constexpr double kMarginMm = 3;
constexpr double kFocusMarginM = 0.8;  ///< what is seen round the rooms in focus
constexpr double kMostMmPerM = 30;

struct Extent {
  double left = 1e9;
  double right = -1e9;
  double low = 1e9;
  double high = -1e9;
};

/// Of the whole storey, or of the rooms in `focus` with a margin.
Extent extent_of(const fabric::Plan& plan, const book::StoreyId& storey, const std::set<std::string>& focus) {
  Extent extent;
  for (const auto& space : plan.spaces()) {
    if (plan.storeys()[space.storey].id != storey || (!focus.empty() && !focus.contains(space.id.text))) continue;
    extent.left = std::min(extent.left, space.box.x0);
    extent.right = std::max(extent.right, space.box.x1);
    extent.low = std::min(extent.low, space.box.y0);
    extent.high = std::max(extent.high, space.box.y1);
  }
  if (!focus.empty() && extent.right > extent.left) {
    extent.left -= kFocusMarginM;
    extent.right += kFocusMarginM;
    extent.low -= kFocusMarginM;
    extent.high += kFocusMarginM;
  }
  return extent;
}

/// Plan metres to paper millimetres.
struct Scale {
  double mm_per_m = 10;
  double left_mm = 0;
  double top_mm = 0;
  Extent extent;
  [[nodiscard]] Mm at(double x_m, double y_m) const {
    return {left_mm + (x_m - extent.left) * mm_per_m, top_mm + (extent.high - y_m) * mm_per_m};
  }
};

/// Where a shape lies on the plan: a polygon, or a line (two or more points), or one point.
struct Drawn {
  std::vector<Mm> points;
  enum class Kind { kArea, kLine, kPoint } kind = Kind::kArea;
};

Drawn on_plan(const fabric::Plan& plan, const Scale& scale, const book::Place& place) {
  Drawn drawn;
  const auto index = plan.find_face(place.room, place.face);
  if (!index) return drawn;
  const auto& face = plan.faces()[*index];
  if (place.face.kind == book::FaceKind::kWall) {
    double from = face.box.x0;
    double to = face.box.x1;
    if (const auto* span = std::get_if<book::SpanShape>(&place.shape)) {
      from = span->left_m;
      to = span->right_m;
    } else if (const auto* point = std::get_if<book::PointShape>(&place.shape)) {
      from = to = point->at.x_m;
    } else if (const auto* line = std::get_if<book::LineShape>(&place.shape)) {
      from = to = line->points.front().x_m;
      for (const auto& p : line->points) {
        from = std::min(from, p.x_m);
        to = std::max(to, p.x_m);
      }
    } else if (const auto* polygon = std::get_if<book::PolygonShape>(&place.shape)) {
      from = to = polygon->outline.front().x_m;
      for (const auto& p : polygon->outline) {
        from = std::min(from, p.x_m);
        to = std::max(to, p.x_m);
      }
    }
    if (to - from < 0.1) {
      const double middle = (from + to) / 2;
      from = middle - 0.05;
      to = middle + 0.05;
    }
    const auto a = plan.in_plan(*index, {from, 0});
    const auto b = plan.in_plan(*index, {to, 0});
    // Seen from inside the left end is on the left, so the room lies at right angles, to the right of b - a turned.
    const double length = std::hypot(b.x_m - a.x_m, b.y_m - a.y_m);
    const double in_x = (b.y_m - a.y_m) / length * kWallStripM;
    const double in_y = -(b.x_m - a.x_m) / length * kWallStripM;
    drawn.points = {scale.at(a.x_m, a.y_m), scale.at(b.x_m, b.y_m), scale.at(b.x_m + in_x, b.y_m + in_y),
                    scale.at(a.x_m + in_x, a.y_m + in_y)};
    return drawn;
  }
  const auto add = [&](const auto& points) {
    for (const auto& p : points) drawn.points.push_back(scale.at(p.x_m, p.y_m));
  };
  if (const auto* polygon = std::get_if<book::PolygonShape>(&place.shape)) {
    add(polygon->outline);
  } else if (const auto* line = std::get_if<book::LineShape>(&place.shape)) {
    add(line->points);
    drawn.kind = Drawn::Kind::kLine;
  } else if (const auto* point = std::get_if<book::PointShape>(&place.shape)) {
    drawn.points = {scale.at(point->at.x_m, point->at.y_m)};
    drawn.kind = Drawn::Kind::kPoint;
  } else {
    add(face.outline);
  }
  return drawn;
}

Mm middle_of(const std::vector<Mm>& points) {
  Mm low = points.front();
  Mm high = points.front();
  for (const auto& p : points) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  return {(low.x + high.x) / 2, (low.y + high.y) / 2};
}

/// A line thickened to a band that can be hatched.
std::vector<Mm> band(const std::vector<Mm>& line, double width_mm) {
  std::vector<Mm> left;
  std::vector<Mm> right;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const auto& a = line[i == 0 ? 0 : i - 1];
    const auto& b = line[i + 1 < line.size() ? i + 1 : i];
    const double length = std::max(1e-9, std::hypot(b.x - a.x, b.y - a.y));
    const Mm across{-(b.y - a.y) / length * width_mm / 2, (b.x - a.x) / length * width_mm / 2};
    left.push_back({line[i].x + across.x, line[i].y + across.y});
    right.push_back({line[i].x - across.x, line[i].y - across.y});
  }
  left.insert(left.end(), right.rbegin(), right.rend());
  return left;
}

/// Labels that step aside for each other.
class Labels {
 public:
  Labels(Canvas& canvas, double bottom_mm) : canvas_(canvas), bottom_mm_(bottom_mm) {}

  void put(Mm middle, const std::string& text, bool inverted) {
    const TextStyle style{6.6, true, false, Align::kLeft, inverted ? kWhite : kInk};
    const auto [width, height] = canvas_.measure(text, style);
    const double w = width + 1.2;
    const double h = height + 0.1;
    Mm at{middle.x - w / 2, middle.y - h / 2};
    for (int step = 0; step < 24 && overlaps(at, w, h); ++step) {
      // Round and round, a little further out each time.
      const double turn = step * 2.4;
      const double out = 1.8 + 0.45 * step;
      at = {middle.x - w / 2 + std::cos(turn) * out, middle.y - h / 2 + std::sin(turn) * out};
    }
    at.x = std::clamp(at.x, 0.0, std::max(0.0, canvas_.width_mm() - w));
    at.y = std::clamp(at.y, 0.0, std::max(0.0, bottom_mm_ - h));
    taken_.push_back({at, w, h});
    canvas_.box(at, w, h, inverted ? kInk : kWhite);
    if (!inverted) canvas_.frame(at, w, h, 0.12);
    canvas_.text({at.x + 0.6, at.y + 0.05}, text, style);
  }

  /// The name where it fits inside the room, in one line or wrapped; the room's id where it does not.
  void name_room(const std::vector<Mm>& outline, const std::string& name, const std::string& id) {
    Mm low = outline.front();
    Mm high = outline.front();
    for (const auto& p : outline) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    const TextStyle style{6.8, false, true, Align::kLeft, kInk};
    const auto attempt = [&](const std::string& text, double wrap) {
      const auto [w, h] = canvas_.measure(text, style, wrap);
      for (const double fy : {0.04, 0.2, 0.8, 0.35, 0.65, 0.96}) {
        for (const double fx : {0.5, 0.2, 0.8, 0.05, 0.95}) {
          const Mm at{low.x + 1 + (high.x - low.x - 2 - w) * fx, low.y + 1 + (high.y - low.y - 2 - h) * fy};
          if (!inside(outline, at, w, h) || overlaps(at, w, h)) continue;
          canvas_.box(at, w, h, kWhite);
          canvas_.text(at, text, style, wrap);
          taken_.push_back({at, w, h});
          return true;
        }
      }
      return false;
    };
    double longest_word = 0;
    for (std::size_t from = 0; from < name.size();) {
      const auto space = std::min(name.find(' ', from), name.size());
      longest_word = std::max(longest_word, canvas_.measure(name.substr(from, space - from), style).first);
      from = space + 1;
    }
    if (attempt(name, 0)) return;
    if (longest_word < high.x - low.x - 2 && attempt(name, longest_word + 0.3)) return;
    attempt(id, 0);
  }

  void reserve(Mm corner, double width, double height) { taken_.push_back({corner, width, height}); }

 private:
  struct Box {
    Mm corner;
    double width;
    double height;
  };
  [[nodiscard]] bool overlaps(Mm at, double w, double h) const {
    return std::any_of(taken_.begin(), taken_.end(), [&](const Box& box) {
      return at.x < box.corner.x + box.width && box.corner.x < at.x + w && at.y < box.corner.y + box.height &&
             box.corner.y < at.y + h;
    });
  }
  /// Corners and middle of a box inside a polygon: even crossings of a ray are outside.
  static bool inside(const std::vector<Mm>& outline, Mm at, double w, double h) {
    const auto in = [&](double x, double y) {
      bool odd = false;
      for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
        if ((outline[i].y > y) != (outline[j].y > y) &&
            x < (outline[j].x - outline[i].x) * (y - outline[i].y) / (outline[j].y - outline[i].y) + outline[i].x)
          odd = !odd;
      }
      return odd;
    };
    return in(at.x, at.y) && in(at.x + w, at.y) && in(at.x, at.y + h) && in(at.x + w, at.y + h) &&
           in(at.x + w / 2, at.y + h / 2);
  }
  Canvas& canvas_;
  double bottom_mm_;
  std::vector<Box> taken_;
};

void draw_openings(Canvas& canvas, const fabric::Plan& plan, const Scale& scale, const book::StoreyId& storey) {
  auto* cairo = canvas.cairo();
  for (const auto& opening : plan.openings()) {
    if (!opening.at || opening.kind == book::OpeningKind::kStair || opening.kind == book::OpeningKind::kHatch ||
        opening.kind == book::OpeningKind::kVent)
      continue;
    const auto space = plan.find_space(opening.from);
    if (!space || plan.storeys()[plan.spaces()[*space].storey].id != storey) continue;
    const auto& outline = plan.spaces()[*space].outline;
    // The wall it lies in is the nearest one; the gap runs along it.
    double nearest = 1e9;
    double along_x = 1;
    double along_y = 0;
    Mm middle;
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const auto& a = outline[i];
      const auto& b = outline[(i + 1) % outline.size()];
      const double length = std::hypot(b.x_m - a.x_m, b.y_m - a.y_m);
      const double ux = (b.x_m - a.x_m) / length;
      const double uy = (b.y_m - a.y_m) / length;
      const double t = std::clamp((opening.at->x_m - a.x_m) * ux + (opening.at->y_m - a.y_m) * uy, 0.0, length);
      const double distance = std::hypot(a.x_m + ux * t - opening.at->x_m, a.y_m + uy * t - opening.at->y_m);
      if (distance < nearest) {
        nearest = distance;
        along_x = ux;
        along_y = uy;
        middle = scale.at(a.x_m + ux * t, a.y_m + uy * t);
      }
    }
    if (nearest > fabric::kHealM) continue;
    const double half = opening.width_m / 2 * scale.mm_per_m;
    const Mm from{middle.x - along_x * half, middle.y + along_y * half};
    const Mm to{middle.x + along_x * half, middle.y - along_y * half};
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_set_line_width(cairo, 1.3);
    cairo_move_to(cairo, from.x, from.y);
    cairo_line_to(cairo, to.x, to.y);
    cairo_stroke(cairo);
    if (opening.kind == book::OpeningKind::kWindow) canvas.line(from, to, 0.15);
    for (const auto& leaf : fabric::leaves_of(plan, opening)) {
      const Mm hinge = scale.at(leaf.hinge.x_m, leaf.hinge.y_m);
      const Mm open = scale.at(leaf.open.x_m, leaf.open.y_m);
      const Mm shut = scale.at(leaf.shut.x_m, leaf.shut.y_m);
      canvas.line(hinge, open, 0.3);
      const double from_open = std::atan2(open.y - hinge.y, open.x - hinge.x);
      const double from_shut = std::atan2(shut.y - hinge.y, shut.x - hinge.x);
      const double turn = std::remainder(from_shut - from_open, 2 * std::numbers::pi);
      cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
      cairo_set_line_width(cairo, 0.12);
      cairo_new_sub_path(cairo);
      const double radius = std::hypot(open.x - hinge.x, open.y - hinge.y);
      cairo_arc(cairo, hinge.x, hinge.y, radius, std::min(from_open, from_open + turn),
                std::max(from_open, from_open + turn));
      cairo_stroke(cairo);
    }
  }
}

void draw_cut(Canvas& canvas, const Drawn& drawn) {
  auto* cairo = canvas.cairo();
  cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
  cairo_set_line_width(cairo, 0.7);
  if (drawn.kind == Drawn::Kind::kPoint) {
    const auto& p = drawn.points.front();
    cairo_new_path(cairo);
    cairo_arc(cairo, p.x, p.y, 1.5, 0, 6.2831853);
    cairo_set_source_rgb(cairo, 1, 1, 1);
    cairo_fill_preserve(cairo);
    cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
    cairo_stroke(cairo);
    canvas.line({p.x - 1.05, p.y - 1.05}, {p.x + 1.05, p.y + 1.05}, 0.5);
    canvas.line({p.x - 1.05, p.y + 1.05}, {p.x + 1.05, p.y - 1.05}, 0.5);
    return;
  }
  constexpr double kDashes[] = {1.8, 1.1};
  cairo_new_path(cairo);
  for (const auto& p : drawn.points) cairo_line_to(cairo, p.x, p.y);
  if (drawn.kind == Drawn::Kind::kArea) cairo_close_path(cairo);
  cairo_set_dash(cairo, kDashes, 2, 0);
  cairo_stroke(cairo);
  cairo_set_dash(cairo, nullptr, 0, 0);
}

}  // namespace

bool is_overhead(const book::Face& face) {
  return face.kind == book::FaceKind::kCeiling || face.kind == book::FaceKind::kRoof;
}

double plan_height_mm(const check::House& house, const PlanView& view, double width_mm, double most_mm) {
  const auto extent = extent_of(house.plan(), view.storey, view.focus);
  if (extent.right <= extent.left) return 0;
  const double per_m = std::min((width_mm - 2 * kMarginMm) / (extent.right - extent.left), kMostMmPerM);
  return std::min(most_mm, (extent.high - extent.low) * per_m + 2 * kMarginMm);
}

void hatch(Canvas& canvas, const std::vector<Mm>& outline, book::Standing standing) {
  auto* cairo = canvas.cairo();
  if (outline.size() < 3) return;
  Mm low = outline.front();
  Mm high = outline.front();
  for (const auto& p : outline) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  cairo_save(cairo);
  canvas.path(outline);
  cairo_clip(cairo);
  cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
  const auto diagonals = [&](double step, bool rising) {
    cairo_set_line_width(cairo, 0.16);
    const double width = high.x - low.x;
    const double height = high.y - low.y;
    // On a grid of the whole drawing, so that neighbours' lines meet.
    const double base = rising ? low.x + low.y : low.x - high.y;
    const double first = std::floor(base / step) * step;
    for (double c = first; c < base + width + height + step; c += step) {
      if (rising) {
        cairo_move_to(cairo, c - low.y, low.y);
        cairo_line_to(cairo, c - high.y, high.y);
      } else {
        cairo_move_to(cairo, c + low.y, low.y);
        cairo_line_to(cairo, c + high.y, high.y);
      }
    }
    cairo_stroke(cairo);
  };
  switch (standing) {
    case book::Standing::kIdentified:
      diagonals(1.9, true);
      diagonals(1.9, false);
      break;
    case book::Standing::kStronglyPresumed:
      diagonals(1.3, true);
      break;
    case book::Standing::kPresumed:
      diagonals(3.4, true);
      break;
    case book::Standing::kNoneDetected: {
      constexpr double kStep = 1.8;
      int line = static_cast<int>(std::floor(low.y / kStep));
      for (double y = line * kStep; y <= high.y; y += kStep, ++line) {
        const double shift = (line % 2 != 0) ? kStep / 2 : 0;
        for (double x = std::floor(low.x / kStep) * kStep + shift; x <= high.x; x += kStep) {
          cairo_new_sub_path(cairo);
          cairo_arc(cairo, x, y, 0.26, 0, 6.2831853);
        }
      }
      cairo_fill(cairo);
      break;
    }
    case book::Standing::kProvenLater:
      break;
  }
  cairo_restore(cairo);
  cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
  cairo_set_line_width(cairo, 0.22);
  canvas.path(outline);
  cairo_stroke(cairo);
}

void draw_plan(Canvas& canvas, const check::House& house, const PlanView& view) {
  const auto& plan = house.plan();
  const auto& book = house.book();
  auto* cairo = canvas.cairo();
  Scale scale;
  scale.extent = extent_of(plan, view.storey, view.focus);
  const double width_m = scale.extent.right - scale.extent.left;
  const double height_m = scale.extent.high - scale.extent.low;
  if (width_m <= 0 || height_m <= 0) return;
  scale.mm_per_m = std::min(
      {(canvas.width_mm() - 2 * kMarginMm) / width_m, (canvas.height_mm() - 2 * kMarginMm) / height_m, kMostMmPerM});
  scale.left_mm = (canvas.width_mm() - width_m * scale.mm_per_m) / 2;
  scale.top_mm = (canvas.height_mm() - height_m * scale.mm_per_m) / 2;

  const auto on_storey = [&](const book::Place& place) {
    const auto space = plan.find_space(place.room);
    return space && plan.storeys()[plan.spaces()[*space].storey].id == view.storey &&
           is_overhead(place.face) == view.overhead;
  };
  // What lies round the rooms in focus is cut off at the edge of their surroundings.
  const auto corner_low = scale.at(scale.extent.left, scale.extent.high);
  cairo_save(cairo);
  cairo_rectangle(cairo, corner_low.x - 0.5, corner_low.y - 0.5, width_m * scale.mm_per_m + 1,
                  height_m * scale.mm_per_m + 1);
  cairo_clip(cairo);

  // Large patches first, so that small ones on them stay visible.
  struct Patch {
    std::size_t material;
    Drawn drawn;
    double size;
  };
  std::vector<Patch> patches;
  for (const auto index : view.materials) {
    const auto& place = book.materials[index].place;
    if (!on_storey(place) || !house.known(index).family->suspect) continue;
    auto drawn = on_plan(plan, scale, place);
    if (drawn.points.empty()) continue;
    if (drawn.kind == Drawn::Kind::kLine) {
      const auto* line = std::get_if<book::LineShape>(&place.shape);
      drawn.points = band(drawn.points, std::max(1.6, line == nullptr ? 0 : line->width_m * scale.mm_per_m));
    } else if (drawn.kind == Drawn::Kind::kPoint) {
      const auto p = drawn.points.front();
      drawn.points = {{p.x - 1.3, p.y - 1.3}, {p.x + 1.3, p.y - 1.3}, {p.x + 1.3, p.y + 1.3}, {p.x - 1.3, p.y + 1.3}};
    }
    double area = 0;
    for (std::size_t i = 0; i < drawn.points.size(); ++i) {
      const auto& a = drawn.points[i];
      const auto& b = drawn.points[(i + 1) % drawn.points.size()];
      area += a.x * b.y - b.x * a.y;
    }
    patches.push_back({index, std::move(drawn), std::abs(area) / 2});
  }
  std::stable_sort(patches.begin(), patches.end(), [](const Patch& a, const Patch& b) { return a.size > b.size; });
  for (const auto& patch : patches) {
    hatch(canvas, patch.drawn.points, house.known(patch.material).belief.standing);
  }

  for (const auto& space : plan.spaces()) {
    if (plan.storeys()[space.storey].id != view.storey) continue;
    std::vector<Mm> outline;
    for (const auto& p : space.outline) outline.push_back(scale.at(p.x_m, p.y_m));
    cairo_set_source_rgb(cairo, kInk.red, kInk.green, kInk.blue);
    cairo_set_line_width(cairo, 0.6);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_MITER);
    canvas.path(outline);
    cairo_stroke(cairo);
  }
  draw_openings(canvas, plan, scale, view.storey);

  cairo_restore(cairo);

  Labels labels(canvas, canvas.height_mm());
  for (const auto& space : plan.spaces()) {
    if (plan.storeys()[space.storey].id != view.storey) continue;
    if (!view.focus.empty() && !view.focus.contains(space.id.text)) continue;
    std::vector<Mm> outline;
    for (const auto& p : space.outline) outline.push_back(scale.at(p.x_m, p.y_m));
    labels.name_room(outline, space.name, space.id.text);
  }
  std::vector<std::pair<Mm, std::string>> cuts;
  for (const auto& one : view.cuts) {
    if (!on_storey(one.cut->place)) continue;
    const auto drawn = on_plan(plan, scale, one.cut->place);
    if (drawn.points.empty()) continue;
    draw_cut(canvas, drawn);
    auto at = middle_of(drawn.points);
    if (drawn.kind == Drawn::Kind::kPoint) {
      labels.reserve({at.x - 1.7, at.y - 1.7}, 3.4, 3.4);
      at.x += 3.2;
    }
    cuts.emplace_back(at, fmt::format("cut {}", one.number));
  }
  for (const auto& [at, text] : cuts) labels.put(at, text, true);
  for (const auto& patch : patches)
    labels.put(middle_of(patch.drawn.points), book.materials[patch.material].id.text, false);

  // A metre rule, lower left, in the margin.
  const double y = canvas.height_mm() - 0.8;
  const double x = 0.5;
  canvas.line({x, y}, {x + scale.mm_per_m, y}, 0.3);
  canvas.line({x, y - 0.8}, {x, y + 0.5}, 0.3);
  canvas.line({x + scale.mm_per_m, y - 0.8}, {x + scale.mm_per_m, y + 0.5}, 0.3);
  canvas.text({x + scale.mm_per_m + 1, y - 2}, "1 m", {6, false, false, Align::kLeft, kInk});
}

void draw_legend(Canvas& canvas, bool cuts) {
  const TextStyle style{6.8, false, false, Align::kLeft, kInk};
  double x = 0;
  for (const auto& [standing, text] : book::words<book::Standing>()) {
    hatch(canvas, {{x, 0.6}, {x + 6.5, 0.6}, {x + 6.5, 5}, {x, 5}}, standing);
    x += 7.5 + canvas.text({x + 7.5, 1}, text, style).first + 3;
  }
  if (!cuts) return;
  draw_cut(canvas, {{{x + 1.6, 2.8}}, Drawn::Kind::kPoint});
  canvas.text({x + 4, 1}, "cut", style);
}

}  // namespace lathbook::papers
