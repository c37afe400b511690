#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "book/words.h"
#include "fabric/drawing.h"
#include "fabric/opening.h"
#include "fabric/touch.h"
#include "reason/xml.h"

namespace lathbook::fabric {
namespace {

constexpr double kPerM = 60;  ///< drawing units a metre
constexpr double kMargin = 40;
constexpr double kStripM = 0.16;  ///< how deep a strip along a wall is drawn
constexpr double kPointM = 0.12;  ///< a material noted as a point gets a disc of this radius
constexpr double kSheet = 1000;   ///< storeys stand side by side as far as this is wide
constexpr double kLine = 14;      ///< from one line of words to the next

struct Hatch {
  book::Standing standing;
  const char* id;
};
constexpr std::array<Hatch, 5> kHatches = {{{book::Standing::kIdentified, "identified"},
                                            {book::Standing::kStronglyPresumed, "strongly"},
                                            {book::Standing::kPresumed, "presumed"},
                                            {book::Standing::kNoneDetected, "none"},
                                            {book::Standing::kProvenLater, "later"}}};

const char* hatch_of(book::Standing standing) {
  for (const auto& one : kHatches) {
    if (one.standing == standing) return one.id;
  }
  return "presumed";
}

constexpr const char* kHead = R"svg(<defs>
<pattern id="identified" width="6" height="6" patternUnits="userSpaceOnUse"><path d="M0 0L6 6M6 0L0 6" stroke="#000" stroke-width="0.9"/></pattern>
<pattern id="strongly" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V5" stroke="#000" stroke-width="1.4"/></pattern>
<pattern id="presumed" width="11" height="11" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V11" stroke="#000" stroke-width="1.4"/></pattern>
<pattern id="none" width="9" height="9" patternUnits="userSpaceOnUse"><circle cx="2" cy="2" r="1" fill="#000"/></pattern>
<pattern id="later" width="9" height="9" patternUnits="userSpaceOnUse"></pattern>
<pattern id="bare" width="9" height="9" patternUnits="userSpaceOnUse"></pattern>
</defs>
<style>
text{font-family:Georgia,'DejaVu Serif',serif;font-size:11px;fill:#000;stroke:#fff;stroke-width:3px;paint-order:stroke;stroke-linejoin:round}
.title{font-size:18px}.storey{font-size:14px}.small{font-size:9px}.name{font-weight:bold}
.opening{fill:#fff;stroke:#000;stroke-width:1}
.leaf{fill:none;stroke:#000;stroke-width:1.8}
.arc{fill:none;stroke:#000;stroke-width:.7}
.room{fill:none;stroke:#000;stroke-width:2.2}
.floor,.wall{stroke:#000;stroke-width:1}
.ceiling{stroke:#000;stroke-width:1;stroke-dasharray:7 4}
.inside{stroke:#000;stroke-width:1.4;stroke-dasharray:1.5 3}
.cut{fill:none;stroke:#000;stroke-width:2.4}
.route{fill:none;stroke:#000;stroke-width:2.6;stroke-dasharray:12 4 2 4}
</style>
)svg";

/// One storey's corner of the sheet.
struct Frame {
  Box box;          ///< in plan
  double left = 0;  ///< on the sheet
  double top = 0;
  [[nodiscard]] double x(double x_m) const { return left + (x_m - box.x0) * kPerM; }
  [[nodiscard]] double y(double y_m) const { return top + (box.y1 - y_m) * kPerM; }
};

class Svg {
 public:
  explicit Svg(const Drawing& drawing) : drawing_(drawing), plan_(drawing.plan) {}

  std::string draw() {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < plan_.storeys().size(); ++i) {
      if (!drawing_.storey || plan_.storeys()[i].id == *drawing_.storey) order.push_back(i);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return plan_.storeys()[a].floor_m > plan_.storeys()[b].floor_m;
    });
    double top = kMargin;
    if (!drawing_.title.empty()) {
      text(kMargin, top, drawing_.title, "title");
      top += 28;
    }
    double left = kMargin;
    double bottom = top;
    for (const std::size_t storey : order) {
      const double wide = storey_width(storey);
      if (left > kMargin && left + wide > kMargin + kSheet) {
        left = kMargin;
        top = bottom + 12;
      }
      bottom = std::max(bottom, draw_storey(storey, left, top));
      left += wide + 50;
    }
    top = draw_key(bottom + 12);
    for (const std::size_t storey : order) top = list_storey(storey, top);
    top = list_routes(top);
    top = draw_foot(top);
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
        "height=\"{1:.0f}\" role=\"img\">\n"
        "<title>{2}</title>\n{3}<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{4}</svg>\n",
        std::max(right_ + kMargin, 560.0), top + kMargin,
        reason::xml_text(drawing_.title.empty() ? "Plan" : drawing_.title), kHead, body_ + letters_);
  }

 private:
  /// Letters go over everything else of the sheet.
  void text(double x, double y, const std::string& words, const char* kind = "", const char* anchor = "start") {
    letters_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" class=\"{}\" text-anchor=\"{}\">{}</text>\n", x, y, kind,
                            anchor, reason::xml_text(words));
  }

  static double width_of(const std::string& words, double size = 11) {
    const auto letters = std::count_if(words.begin(), words.end(), [](char c) { return (c & '\xC0') != '\x80'; });
    return static_cast<double>(letters) * size * 0.56;
  }

  /// A label in the drawing: centred on x, on a light ground, and moved down past others that are there already.
  void label(double x, double y, const std::string& words, const char* kind = "") {
    const double half = width_of(words) / 2 + 3;
    const auto there = [&] { return Box{x - half, y - 10, x + half, y + 3}; };
    while (std::any_of(labels_.begin(), labels_.end(), [&](const Box& other) { return other.meets(there()); })) y += 2;
    const Box box = there();
    labels_.push_back(box);
    letters_ += fmt::format(
        "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"#fff\" opacity=\"0.8\"/>\n", box.x0,
        box.y0, box.x1 - box.x0, box.y1 - box.y0);
    text(x, y, words, kind, "middle");
  }

  static std::string path_of(const Frame& frame, std::span<const Point> points, bool closed) {
    std::string d;
    for (std::size_t i = 0; i < points.size(); ++i)
      d += fmt::format("{}{:.1f} {:.1f}", i == 0 ? "M" : "L", frame.x(points[i].x_m), frame.y(points[i].y_m));
    return closed ? d + "Z" : d;
  }

  /// Where a shape of a face is drawn in plan: walls as a strip along their inside.
  std::vector<Point> footprint(std::size_t face, const Spread& shape, double deep_m) const {
    const FaceInfo& info = plan_.faces()[face];
    if (info.face.kind != book::FaceKind::kWall) return shape.points;
    double u0 = shape.box.x0;
    double u1 = shape.box.x1;
    if (u1 - u0 < 2 * kPointM) {
      const double middle = (u0 + u1) / 2;
      u0 = middle - kPointM;
      u1 = middle + kPointM;
    }
    u0 = std::max(u0, 0.0);
    u1 = std::min(u1, info.box.x1);
    const Point in{info.along.y_m * deep_m, -info.along.x_m * deep_m};
    const Point a = plan_.in_plan(face, {u0, 0});
    const Point b = plan_.in_plan(face, {u1, 0});
    return {a, b, {b.x_m + in.x_m, b.y_m + in.y_m}, {a.x_m + in.x_m, a.y_m + in.y_m}};
  }

  void draw_material(const Frame& frame, std::size_t index) {
    const auto& material = drawing_.materials[index];
    const auto face = plan_.find_face(material.place.room, material.place.face);
    if (!face) return;
    const bool suspect = drawing_.suspect.empty() || drawing_.suspect[index];
    const char* hatch = suspect ? hatch_of(drawing_.standings[index]) : "bare";
    const auto kind = material.place.face.kind;
    const char* edge = kind == book::FaceKind::kFloor    ? "floor"
                       : kind == book::FaceKind::kWall   ? "wall"
                       : kind == book::FaceKind::kInside ? "inside"
                                                         : "ceiling";
    const Spread shape = spread_of(plan_, *face, material.place.shape);
    const auto said =
        fmt::format("{} {}, {} of {}: {}", material.id.text, material.name, material.place.face.text(),
                    material.place.room.text, suspect ? book::word(drawing_.standings[index]) : "no suspect");
    const auto name = fmt::format("<title>{}</title>", reason::xml_text(said));
    const auto points = footprint(*face, shape, kStripM);
    Point middle{};
    if (shape.filled || kind == book::FaceKind::kWall) {
      body_ += fmt::format("<path class=\"{}\" fill=\"url(#{})\" d=\"{}\">{}</path>\n", edge, hatch,
                           path_of(frame, points, true), name);
      middle = inmost_point(points, 0.02).at;
    } else if (points.size() == 1) {
      body_ +=
          fmt::format("<circle class=\"{}\" fill=\"url(#{})\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\">{}</circle>\n",
                      edge, hatch, frame.x(points[0].x_m), frame.y(points[0].y_m), kPointM * kPerM, name);
      middle = points[0];
    } else {
      // A run: each stretch a strip of its width, so that the hatch shows.
      const double half_m = std::max(shape.radius_m, 0.06);
      for (std::size_t i = 1; i < points.size(); ++i) {
        const double length_m = std::max(1e-9, distance_m(points[i - 1], points[i]));
        const Point across{-(points[i].y_m - points[i - 1].y_m) / length_m * half_m,
                           (points[i].x_m - points[i - 1].x_m) / length_m * half_m};
        const Ring strip{{points[i - 1].x_m + across.x_m, points[i - 1].y_m + across.y_m},
                         {points[i].x_m + across.x_m, points[i].y_m + across.y_m},
                         {points[i].x_m - across.x_m, points[i].y_m - across.y_m},
                         {points[i - 1].x_m - across.x_m, points[i - 1].y_m - across.y_m}};
        body_ += fmt::format("<path class=\"{}\" fill=\"url(#{})\" d=\"{}\">{}</path>\n", edge, hatch,
                             path_of(frame, strip, true), name);
      }
      middle = {(points[0].x_m + points[1].x_m) / 2, (points[0].y_m + points[1].y_m) / 2};
    }
    label(frame.x(middle.x_m), frame.y(middle.y_m) + 4, material.id.text);
  }

  void draw_cut(const Frame& frame, const book::Cut& cut, const std::string& name) {
    const auto face = plan_.find_face(cut.place.room, cut.place.face);
    if (!face) return;
    const Spread shape = spread_of(plan_, *face, cut.place.shape, cut.diameter_mm.value_or(0) / 1000);
    const bool wall = cut.place.face.kind == book::FaceKind::kWall;
    const FaceInfo& info = plan_.faces()[*face];
    const auto on_wall = [&](double u) {
      const Point foot = plan_.in_plan(*face, {u, 0});
      return Point{foot.x_m + info.along.y_m * kStripM / 2, foot.y_m - info.along.x_m * kStripM / 2};
    };
    Point at = plan_.in_plan(*face, shape.points[0]);
    const bool long_on_wall = wall && shape.points.size() > 1 && shape.box.x1 - shape.box.x0 > 0.2;
    if (long_on_wall) {
      const std::array ends{on_wall(std::max(0.0, shape.box.x0)), on_wall(std::min(info.box.x1, shape.box.x1))};
      at = {(ends[0].x_m + ends[1].x_m) / 2, (ends[0].y_m + ends[1].y_m) / 2};
      body_ += fmt::format("<path class=\"cut\" d=\"{}\"/>\n", path_of(frame, ends, false));
    } else if (shape.points.size() == 1 || wall) {
      if (wall) at = on_wall((shape.box.x0 + shape.box.x1) / 2);
      const double x = frame.x(at.x_m);
      const double y = frame.y(at.y_m);
      body_ += fmt::format(
          "<path class=\"cut\" d=\"M{:.1f} {:.1f}l10 10m0 -10l-10 10\"/><circle class=\"cut\" cx=\"{:.1f}\" "
          "cy=\"{:.1f}\" r=\"7\"/>\n",
          x - 5, y - 5, x, y);
    } else {
      body_ += fmt::format("<path class=\"cut\" d=\"{}\"/>\n", path_of(frame, shape.points, shape.filled));
    }
    label(frame.x(at.x_m) + 18, frame.y(at.y_m) - 8, name, "small");
  }

  void draw_route(const Frame& frame, std::size_t storey, std::size_t number) {
    const Route& route = drawing_.routes[number];
    const auto here = [&](const Spot& spot) {
      const auto space = plan_.find_space(spot.room);
      return space && plan_.spaces()[*space].storey == storey;
    };
    const auto placed = [&](const Spot& spot) {
      const auto face = plan_.find_face(spot.room, spot.face);
      const FaceInfo& info = plan_.faces()[*face];
      Point p = plan_.in_plan(*face, spot.at);
      if (spot.face.kind == book::FaceKind::kWall)
        p = {p.x_m + info.along.y_m * kStripM / 2, p.y_m - info.along.x_m * kStripM / 2};
      return p;
    };
    std::vector<Point> run;
    const auto flush = [&] {
      if (run.size() > 1) body_ += fmt::format("<path class=\"route\" d=\"{}\"/>\n", path_of(frame, run, false));
      run.clear();
    };
    for (const auto& spot : route.path) {
      if (here(spot)) {
        run.push_back(placed(spot));
      } else {
        flush();
      }
    }
    flush();
    for (const auto& hole : route.holes) {
      if (!here(hole.from)) continue;
      const Point p = placed(hole.from);
      body_ += fmt::format("<rect class=\"cut\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"9\" height=\"9\"/>\n",
                           frame.x(p.x_m) - 4.5, frame.y(p.y_m) - 4.5);
    }
    for (const Spot* end : {&route.path.front(), &route.path.back()}) {
      if (!here(*end)) continue;
      const Point p = placed(*end);
      body_ += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"4\"/>\n", frame.x(p.x_m), frame.y(p.y_m));
      label(frame.x(p.x_m) + 20, frame.y(p.y_m) + 14, fmt::format("route {}", number + 1), "small");
    }
  }

  [[nodiscard]] std::vector<const Space*> spaces_of(std::size_t storey) const {
    std::vector<const Space*> spaces;
    for (const auto& space : plan_.spaces()) {
      if (space.storey == storey) spaces.push_back(&space);
    }
    return spaces;
  }

  [[nodiscard]] bool in_storey(const book::RoomId& room, std::size_t storey) const {
    const auto space = plan_.find_space(room);
    return space && plan_.spaces()[*space].storey == storey;
  }

  [[nodiscard]] double storey_width(std::size_t storey) const {
    const auto& info = plan_.storeys()[storey];
    double wide = width_of(info.id.text + "  " + info.name, 14);
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const Space* space : spaces_of(storey)) {
      low = std::min(low, space->box.x0);
      high = std::max(high, space->box.x1);
    }
    return std::max(wide, (high - low) * kPerM);
  }

  /// A door as a gap in its wall with its leaf and the arc it swings, a window as two lines, a hatch or stair as a
  /// crossed square.
  void draw_opening(const Frame& frame, const book::Opening& opening, const Space& space) {
    if (!opening.at || opening.kind == book::OpeningKind::kVent) return;
    const Point at = *opening.at;
    if (opening.kind == book::OpeningKind::kHatch || opening.kind == book::OpeningKind::kStair) {
      const double half = opening.width_m / 2 * kPerM;
      const double x = frame.x(at.x_m);
      const double y = frame.y(at.y_m);
      body_ += fmt::format(
          "<path class=\"opening\" d=\"M{0:.1f} {1:.1f}h{4:.1f}v{4:.1f}h-{4:.1f}Z M{0:.1f} {1:.1f}L{2:.1f} "
          "{3:.1f}M{2:.1f} "
          "{1:.1f}L{0:.1f} {3:.1f}\"><title>{5}</title></path>\n",
          x - half, y - half, x + half, y + half, 2 * half,
          reason::xml_text(fmt::format("{} {}", opening.id.text, book::word(opening.kind))));
      return;
    }
    std::optional<std::size_t> edge;
    double nearest_m = kHealM;
    for (std::size_t i = 0; i < space.outline.size(); ++i) {
      const double off_m = distance_to_segment_m(at, space.outline[i], space.outline[(i + 1) % space.outline.size()]);
      if (off_m < nearest_m) {
        nearest_m = off_m;
        edge = i;
      }
    }
    if (!edge) return;
    const FaceInfo& wall = plan_.faces()[space.wall_face(*edge)];
    const auto corner = [&](double u, double v) {
      return Point{at.x_m + wall.along.x_m * u + wall.along.y_m * v, at.y_m + wall.along.y_m * u - wall.along.x_m * v};
    };
    const double half_m = opening.width_m / 2;
    constexpr double kDeepM = 0.05;
    const std::array gap{corner(-half_m, -kDeepM), corner(half_m, -kDeepM), corner(half_m, kDeepM),
                         corner(-half_m, kDeepM)};
    const std::array leaf{corner(-half_m, 0), corner(half_m, 0)};
    body_ += fmt::format("<path class=\"opening\" d=\"{}{}\"><title>{}</title></path>\n", path_of(frame, gap, true),
                         opening.kind == book::OpeningKind::kWindow ? path_of(frame, leaf, false) : "",
                         reason::xml_text(fmt::format("{} {}", opening.id.text, book::word(opening.kind))));
    for (const auto& one : leaves_of(plan_, opening)) {
      const double turn = (one.open.x_m - one.hinge.x_m) * (one.shut.y_m - one.hinge.y_m) -
                          (one.open.y_m - one.hinge.y_m) * (one.shut.x_m - one.hinge.x_m);
      body_ += fmt::format(
          "<path class=\"leaf\" d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}\"/>"
          "<path class=\"arc\" d=\"M{:.1f} {:.1f}A{:.1f} {:.1f} 0 0 {} {:.1f} {:.1f}\"/>\n",
          frame.x(one.hinge.x_m), frame.y(one.hinge.y_m), frame.x(one.open.x_m), frame.y(one.open.y_m),
          frame.x(one.open.x_m), frame.y(one.open.y_m), distance_m(one.hinge, one.open) * kPerM,
          distance_m(one.hinge, one.open) * kPerM, turn > 0 ? 0 : 1, frame.x(one.shut.x_m), frame.y(one.shut.y_m));
    }
  }

  double draw_storey(std::size_t storey, double left, double top) {
    const auto& info = plan_.storeys()[storey];
    text(left, top + 12, fmt::format("{}  {}", info.id.text, info.name), "storey");
    const auto spaces = spaces_of(storey);
    if (spaces.empty()) {
      text(left, top + 30, "no room is drawn here");
      return top + 44;
    }
    Frame frame{spaces.front()->box, left, top + 24};
    for (const Space* space : spaces) {
      const Box& b = space->box;
      frame.box = {std::min(frame.box.x0, b.x0), std::min(frame.box.y0, b.y0), std::max(frame.box.x1, b.x1),
                   std::max(frame.box.y1, b.y1)};
    }
    right_ = std::max(right_, frame.x(frame.box.x1));
    for (const Space* space : spaces) {
      const Point middle = inmost_point(space->outline, 0.05).at;
      body_ += fmt::format("<path class=\"room\" d=\"{}\"><title>{}</title></path>\n",
                           path_of(frame, space->outline, true), reason::xml_text(space->id.text + " " + space->name));
      const std::string name = fmt::format("{} {}", space->id.text, space->name);
      const bool fits = width_of(name) < (space->box.x1 - space->box.x0) * kPerM;
      label(frame.x(middle.x_m), frame.y(middle.y_m), fits ? name : space->id.text, "name");
    }
    // Ceilings first, then floors, then what stands out: walls and what lies inside.
    for (const auto wanted : {book::FaceKind::kRoof, book::FaceKind::kCeiling, book::FaceKind::kFloor,
                              book::FaceKind::kWall, book::FaceKind::kInside}) {
      for (std::size_t i = 0; i < drawing_.materials.size(); ++i) {
        const auto& material = drawing_.materials[i];
        if (material.place.face.kind == wanted && !material.removed_on && in_storey(material.place.room, storey))
          draw_material(frame, i);
      }
    }
    for (const auto& opening : plan_.openings()) {
      for (const Space* space : spaces) {
        if (space->id != opening.from && space->id != opening.to) continue;
        draw_opening(frame, opening, *space);
        break;
      }
    }
    for (std::size_t i = 0; i < drawing_.routes.size(); ++i) draw_route(frame, storey, i);
    for (const auto& job : drawing_.jobs) {
      for (std::size_t i = 0; i < job.cuts.size(); ++i) {
        if (in_storey(job.cuts[i].place.room, storey))
          draw_cut(frame, job.cuts[i], fmt::format("{}/{}", job.id.text, i + 1));
      }
    }
    return frame.y(frame.box.y0) + 34;
  }

  /// One line of a list, an id and what it stands for.
  void entry(double& top, const std::string& id, const std::string& words) {
    text(kMargin, top, id);
    text(kMargin + 56, top, words);
    right_ = std::max(right_, kMargin + 56 + width_of(words));
    top += kLine;
  }

  /// What the ids on a storey stand for, so that a print says it without the book.
  double list_storey(std::size_t storey, double top) {
    double at = top + 20;
    const double first = at + 4;
    double next = first + kLine;
    for (const Space* space : spaces_of(storey)) {
      for (std::size_t i = 0; i < drawing_.materials.size(); ++i) {
        const auto& one = drawing_.materials[i];
        if (one.place.room != space->id || one.removed_on) continue;
        const bool suspect = drawing_.suspect.empty() || drawing_.suspect[i];
        entry(next, one.id.text,
              fmt::format("{}, {} of {}: {}", one.name, one.place.face.text(), space->id.text,
                          suspect ? book::word(drawing_.standings[i]) : "no suspect"));
      }
      for (const auto& job : drawing_.jobs) {
        for (std::size_t i = 0; i < job.cuts.size(); ++i) {
          const auto& cut = job.cuts[i];
          if (cut.place.room != space->id) continue;
          entry(next, fmt::format("{}/{}", job.id.text, i + 1),
                fmt::format("{}: {}, {} of {}", job.title, cut.task, cut.place.face.text(), space->id.text));
        }
      }
    }
    if (next == first + kLine) return top;
    const auto& info = plan_.storeys()[storey];
    text(kMargin, first, fmt::format("{}  {}", info.id.text, info.name), "storey");
    return next;
  }

  double list_routes(double top) {
    for (std::size_t i = 0; i < drawing_.routes.size(); ++i) {
      text(kMargin, top + 24, fmt::format("Route {}", i + 1), "storey");
      top += 24 + kLine;
      for (const auto& line : route_in_words(drawing_.routes[i])) entry(top, "", line);
    }
    return top;
  }

  double draw_key(double top) {
    body_ += fmt::format(
        "<path d=\"M{0:.1f} {1:.1f}v8M{0:.1f} {2:.1f}h{3:.1f}M{4:.1f} {2:.1f}h{3:.1f}M{4:.1f} {1:.1f}v8M{5:.1f} "
        "{1:.1f}v8\" stroke=\"#000\" stroke-width=\"1.5\"/>\n",
        kMargin, top, top + 4, kPerM, kMargin + kPerM, kMargin + 2 * kPerM);
    text(kMargin + 2 * kPerM + 8, top + 8, "2 m, in steps of 1 m");
    top += 26;
    double x = kMargin;
    for (const auto& one : kHatches) {
      body_ += fmt::format(
          "<rect class=\"floor\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"30\" height=\"18\" fill=\"url(#{})\"/>\n", x, top,
          one.id);
      text(x + 36, top + 13, std::string(book::word(one.standing)));
      x += 190;
      if (x > 480) {
        x = kMargin;
        top += 26;
      }
    }
    top += 26;
    const std::array<std::pair<const char*, const char*>, 3> edges = {
        {{"floor", "on a floor or wall"}, {"ceiling", "on a ceiling or roof"}, {"inside", "inside a void"}}};
    x = kMargin;
    for (const auto& [edge, words] : edges) {
      body_ += fmt::format("<path class=\"{}\" d=\"M{:.1f} {:.1f}h30\"/>\n", edge, x, top + 8);
      text(x + 36, top + 12, words);
      x += 190;
    }
    top += 24;
    body_ += fmt::format(
        "<path class=\"cut\" d=\"M{0:.1f} {1:.1f}l10 10m0 -10l-10 10\"/><circle class=\"cut\" cx=\"{2:.1f}\" "
        "cy=\"{3:.1f}\" r=\"7\"/>\n",
        kMargin + 3, top, kMargin + 8, top + 5);
    text(kMargin + 36, top + 9, "a planned cut: its job and number");
    if (!drawing_.routes.empty()) {
      body_ += fmt::format(
          "<path class=\"route\" d=\"M{:.1f} {:.1f}h30\"/><rect class=\"cut\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"9\" "
          "height=\"9\"/>\n",
          kMargin + 260, top + 5, kMargin + 297, top);
      text(kMargin + 312, top + 9, "a route, and a hole it needs");
    }
    body_ += fmt::format(
        "<path class=\"opening\" d=\"M{0:.1f} {1:.1f}h12v12h-12ZM{0:.1f} {1:.1f}l12 12m0 -12l-12 12\"/><rect "
        "class=\"opening\" x=\"{2:.1f}\" y=\"{3:.1f}\" width=\"30\" height=\"6\"/>\n",
        kMargin + 8, top + 18, kMargin + 230, top + 21);
    text(kMargin + 36, top + 28, "a hatch or a stair");
    text(kMargin + 266, top + 28, "a door; with a line along it, a window");
    return top + 34;
  }

  double draw_foot(double top) {
    top += 24;
    text(kMargin, top, "Shows what was written down, where it was drawn, give or take 0.15 m.", "small");
    text(kMargin, top + 13, "What is not shown is not known to be absent: an untested suspect is treated as asbestos.",
         "small");
    return top + 13;
  }

  const Drawing& drawing_;
  const Plan& plan_;
  std::string body_;
  std::string letters_;
  std::vector<Box> labels_;  ///< on the sheet
  double right_ = 0;
};

}  // namespace

std::string plan_svg(const Drawing& drawing) { return Svg(drawing).draw(); }

}  // namespace lathbook::fabric
