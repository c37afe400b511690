#include "fabric/validate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <span>
#include <vector>

#include "book/words.h"
#include "fabric/opening.h"
#include "fabric/touch.h"

namespace lathbook::fabric {
namespace {

using reason::Faults;

constexpr double kLeastAreaM2 = 1e-6;

std::string shown(Point p) { return fmt::format("({:g}, {:g})", p.x_m, p.y_m); }

std::string faces_of(const Space& space) {
  const std::size_t walls = space.outline.size();
  const std::size_t roofs = space.face_count - 3 - walls;
  return fmt::format("floor, ceiling, inside, wall-1 to wall-{}, roof-1{}", walls,
                     roofs > 1 ? fmt::format(" to roof-{}", roofs) : "");
}

/// Frames may touch, and people measure to the centimetre.
constexpr double kOverlapM = 0.01;

/// Doors and windows that would stand in each other. A vent may be set into a window.
Faults overlapping(const Plan& plan, std::span<const book::Opening> openings) {
  struct Set {
    const book::Opening* opening;
    Box box;
  };
  std::map<std::size_t, std::vector<Set>> on_face;
  Faults faults;
  for (const auto& opening : openings) {
    if (opening.kind != book::OpeningKind::kDoor && opening.kind != book::OpeningKind::kWindow) continue;
    bool told = false;
    for (const auto& on : faces_of(plan, opening)) {
      const Box box{on.outline[0].x_m, on.outline[0].y_m, on.outline[2].x_m, on.outline[2].y_m};
      auto& here = on_face[on.face];
      for (const auto& [other, at] : here) {
        const double wide_m = std::min(box.x1, at.x1) - std::max(box.x0, at.x0);
        const double tall_m = std::min(box.y1, at.y1) - std::max(box.y0, at.y0);
        if (told || wide_m <= kOverlapM || tall_m <= kOverlapM) continue;
        told = true;  // once, though it is in the walls of two rooms
        const FaceInfo& face = plan.faces()[on.face];
        const Space& space = plan.spaces()[face.space];
        faults.push_back({opening.id.text + " at", shown(*opening.at),
                          fmt::format("overlaps the {} {} on {} of {} ({}) by {:.2f} m", book::word(other->kind),
                                      other->id.text, face.face.text(), space.id.text, space.name, wide_m),
                          "doors and windows beside each other: move it, or make one of them narrower"});
      }
      here.push_back({&opening, box});
    }
  }
  return faults;
}

}  // namespace

reason::Faults check_place(const Plan& plan, const book::Place& place, const std::string& where, Naming naming) {
  const auto at = [&](const char* field) {
    return fmt::format("{}{}{}", where, naming == Naming::kPointer ? "/" : " ", field);
  };
  const auto space = plan.find_space(place.room);
  if (!space) return {{at("room"), place.room.text, "is not a room of this plan", "the id of a room"}};
  const auto face = plan.find_face(*space, place.face);
  if (!face) {
    return {{at("face"), place.face.text(), fmt::format("is not a face of {}", place.room.text),
             faces_of(plan.spaces()[*space])}};
  }
  if (std::holds_alternative<book::WholeFace>(place.shape)) return {};
  const bool on_wall = place.face.kind == book::FaceKind::kWall;
  if (std::holds_alternative<book::SpanShape>(place.shape) && !on_wall) {
    return {{at("shape"), place.face.text(), "does not take a span by heights",
             "a point, a line or an outline; a span is for walls"}};
  }
  const Spread shape = spread_of(plan, *face, place.shape);
  if (shape.points.empty()) return {{at("shape"), "", "has no point", "at least one"}};
  for (const auto& p : shape.points) {
    if (!std::isfinite(p.x_m) || !std::isfinite(p.y_m))
      return {{at("shape"), "", "has a point that is not a number", "metres"}};
  }
  Faults faults;
  if (shape.filled) {
    if (shape.points.size() < 3 || std::abs(signed_area_m2(shape.points)) < kLeastAreaM2) {
      faults.push_back({at("shape"), "", "has no area", "corners that enclose some of the face"});
    } else if (const auto pair = crossing_edges(shape.points)) {
      faults.push_back({at("shape"), "",
                        fmt::format("crosses or touches itself: the edge from {} and the edge from {}",
                                    shown(shape.points[pair->first]), shown(shape.points[pair->second])),
                        "corners in order round the shape"});
    }
  } else if (shape.points.size() > 1 && std::all_of(shape.points.begin(), shape.points.end(),
                                                    [&](Point p) { return distance_m(p, shape.points[0]) < 1e-9; })) {
    faults.push_back({at("shape"), "", "is a line without length", "two different points, or a point"});
  }
  const FaceInfo& info = plan.faces()[*face];
  for (const auto& p : shape.points) {
    const double off_m = distance_to_ring_m(info.outline, p);
    if (off_m <= kUncertaintyM + 1e-9) continue;
    const std::string limits =
        on_wall ? fmt::format("0 to {:.2f} m along the wall and 0 to {:.2f} m high", info.box.x1, info.box.y1)
                : fmt::format("the outline of {}, from {} to {}", place.room.text, shown({info.box.x0, info.box.y0}),
                              shown({info.box.x1, info.box.y1}));
    faults.push_back({at("shape"), shown(p),
                      fmt::format("lies {:.2f} m off {} of {}", off_m, place.face.text(), place.room.text), limits});
    break;
  }
  return faults;
}

reason::Faults validate(const book::Book& book) {
  const auto plan = Plan::build(book.storeys, book.rooms, book.openings, Naming::kId);
  if (!plan.ok()) return plan.faults();
  Faults faults = overlapping(*plan, book.openings);
  const auto place = [&](const book::Place& one, const std::string& where) {
    for (auto& fault : check_place(*plan, one, where)) faults.push_back(std::move(fault));
  };
  for (const auto& material : book.materials) place(material.place, material.id.text);
  for (const auto& job : book.jobs) {
    for (std::size_t i = 0; i < job.cuts.size(); ++i)
      place(job.cuts[i].place, fmt::format("{}/cuts/{}", job.id.text, i + 1));
  }
  for (const auto& event : book.events) {
    for (std::size_t i = 0; i < event.cuts.size(); ++i)
      place(event.cuts[i].place, fmt::format("{}/cuts/{}", event.id.text, i + 1));
  }
  return faults;
}

}  // namespace lathbook::fabric
