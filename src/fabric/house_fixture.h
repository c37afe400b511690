// Houses for the tests of this module: a few lines each, drawn as one would tell them.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "book/book.h"

namespace lathbook::fabric::fixture {

using book::FaceKind;
using book::Point;

inline book::Room room(std::string id, std::string storey, std::vector<Point> outline,
                       book::RoomKind kind = book::RoomKind::kRoom) {
  book::Room one;
  one.id = {id};
  one.name = id;
  one.storey = {std::move(storey)};
  one.outline = std::move(outline);
  one.kind = kind;
  return one;
}

inline std::vector<Point> box(double x0, double y0, double x1, double y1) {
  return {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}};
}

inline book::Material material(std::string id, std::string room, book::Face face, book::Shape shape = book::WholeFace{},
                               int layer = 0) {
  book::Material one;
  one.id = {id};
  one.name = id;
  one.family = "insulating-board";
  one.place = {{std::move(room)}, face, std::move(shape)};
  one.layer = layer;
  return one;
}

inline book::Cut cut(std::string task, std::string room, book::Face face, book::Shape shape, book::Depth depth) {
  book::Cut one;
  one.task = std::move(task);
  one.place = {{std::move(room)}, face, std::move(shape)};
  one.depth = depth;
  return one;
}

inline book::Cut hole(std::string room, book::Face face, Point at, book::Depth depth, double diameter_mm = 20) {
  book::Cut one = cut("drill", std::move(room), face, book::PointShape{at}, depth);
  one.diameter_mm = diameter_mm;
  return one;
}

inline book::Face wall(int n) { return {FaceKind::kWall, n}; }
inline book::Face roof(int n) { return {FaceKind::kRoof, n}; }
inline constexpr book::Face kFloor{FaceKind::kFloor, 0};
inline constexpr book::Face kCeiling{FaceKind::kCeiling, 0};
inline constexpr book::Face kInside{FaceKind::kInside, 0};

struct House {
  std::vector<book::Storey> storeys;
  std::vector<book::Room> rooms;
  std::vector<book::Material> materials;
  std::vector<book::Cut> cuts;
};

/// Kitchen and hall below, 0.1 m of wall between them; bathroom over both, a floor void under part of it; a loft on
/// top.
///
///   y 3 +--------------+  +-------+        bathroom and loft: x 0 … 6.1, y 0 … 3
///       |   kitchen    |  | hall  |        void: x 0 … 2, y 0 … 3 between kitchen and bathroom
///   y 0 +--------------+  +-------+
///       x 0            4  4.1    6.1
inline House house() {
  House h;
  h.storeys = {{{"L0"}, "ground", 0, 2.4},
               {{"LV"}, "floor void", 2.42, 0.2},
               {{"L1"}, "first", 2.65, 2.4},
               {{"L2"}, "loft", 5.15, 1.8}};
  h.rooms = {room("kitchen", "L0", box(0, 0, 4, 3)), room("hall", "L0", box(4.1, 0, 6.1, 3)),
             room("bathroom", "L1", box(0, 0, 6.1, 3)), room("void", "LV", box(0, 0, 2, 3), book::RoomKind::kVoid),
             room("loft", "L2", box(0, 0, 6.1, 3), book::RoomKind::kLoft)};
  return h;
}

/// The same house moved and turned; walls keep their numbers and wall coordinates.
inline Point moved(Point p, double turn, Point by) {
  return {by.x_m + std::cos(turn) * p.x_m - std::sin(turn) * p.y_m,
          by.y_m + std::sin(turn) * p.x_m + std::cos(turn) * p.y_m};
}

template <class Move>
void move_shape(book::Place& place, Move move) {
  if (place.face.kind == FaceKind::kWall) return;
  if (auto* point = std::get_if<book::PointShape>(&place.shape)) point->at = move(point->at);
  if (auto* line = std::get_if<book::LineShape>(&place.shape)) {
    for (auto& p : line->points) p = move(p);
  }
  if (auto* polygon = std::get_if<book::PolygonShape>(&place.shape)) {
    for (auto& p : polygon->outline) p = move(p);
  }
}

template <class Move>
House with_moved_plan(House h, Move move) {
  for (auto& one : h.rooms) {
    for (auto& p : one.outline) p = move(p);
    for (auto& zone : one.heights) {
      for (auto& p : zone.outline) p = move(p);
    }
  }
  for (auto& one : h.materials) move_shape(one.place, move);
  for (auto& one : h.cuts) move_shape(one.place, move);
  return h;
}

inline House turned(const House& h, double turn, Point by) {
  return with_moved_plan(h, [&](Point p) { return moved(p, turn, by); });
}

/// What `wall` of a room in the house turned inside out left to right is called, and the same spot on it: the outline
/// then runs clockwise, is read backwards from its first corner, and left becomes right.
inline void mirror_wall_place(book::Place& place, const std::vector<book::Room>& rooms) {
  if (place.face.kind != FaceKind::kWall) return;
  const book::Room* in = nullptr;
  for (const auto& one : rooms) {
    if (one.id == place.room) in = &one;
  }
  const auto n = static_cast<int>(in->outline.size());
  const auto i = static_cast<std::size_t>(place.face.number - 1);
  const Point a = in->outline[i];
  const Point b = in->outline[(i + 1) % in->outline.size()];
  const double length_m = std::hypot(a.x_m - b.x_m, a.y_m - b.y_m);
  place.face.number = n - place.face.number + 1;
  const auto flip = [&](Point p) { return Point{length_m - p.x_m, p.y_m}; };
  if (auto* point = std::get_if<book::PointShape>(&place.shape)) point->at = flip(point->at);
  if (auto* line = std::get_if<book::LineShape>(&place.shape)) {
    for (auto& p : line->points) p = flip(p);
  }
  if (auto* polygon = std::get_if<book::PolygonShape>(&place.shape)) {
    for (auto& p : polygon->outline) p = flip(p);
  }
  if (auto* span = std::get_if<book::SpanShape>(&place.shape)) {
    const double left_m = span->left_m;
    span->left_m = length_m - span->right_m;
    span->right_m = length_m - left_m;
  }
}

/// The mirrored house. Outlines must be anticlockwise in `h`.
inline House mirrored(House h) {
  for (auto& one : h.materials) mirror_wall_place(one.place, h.rooms);
  for (auto& one : h.cuts) mirror_wall_place(one.place, h.rooms);
  return with_moved_plan(std::move(h), [](Point p) { return Point{-p.x_m, p.y_m}; });
}

/// A house of `storeys` storeys of `across` by `deep` rooms of 4 m by 3 m with 0.1 m walls, and materials in random
/// places: one in eight covers its face, the rest are patches. Same seed, same house.
inline House big_house(int across, int deep, int storeys, int materials, std::uint64_t seed) {
  House h;
  std::mt19937_64 random(seed);
  const auto below = [&](int n) { return static_cast<int>(random() % static_cast<std::uint64_t>(n)); };
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int s = 0; s < storeys; ++s) {
    h.storeys.push_back({{"L" + std::to_string(s)}, "storey", 2.6 * s, 2.4});
    for (int y = 0; y < deep; ++y) {
      for (int x = 0; x < across; ++x) {
        h.rooms.push_back(room("R" + std::to_string(h.rooms.size()), "L" + std::to_string(s),
                               box(4.1 * x, 3.1 * y, 4.1 * x + 4, 3.1 * y + 3)));
      }
    }
  }
  for (int i = 0; i < materials; ++i) {
    const auto& in = h.rooms[static_cast<std::size_t>(below(static_cast<int>(h.rooms.size())))];
    const int which = below(6);
    const book::Face face = which == 0 ? kFloor : which == 1 ? kCeiling : wall(which - 1);
    book::Shape shape = book::WholeFace{};
    if (below(8) != 0) {
      const double wide = which == 3 || which == 5 ? 3 : 4;
      const double left = between(0, wide - 1);
      const double low = between(0, which < 2 ? 2 : 1.4);
      const double right = left + between(0.1, 0.9);
      const double high = low + between(0.1, 0.9);
      if (which < 2) {
        const Point o = in.outline[0];
        shape = book::PolygonShape{box(o.x_m + left, o.y_m + low, o.x_m + right, o.y_m + high)};
      } else {
        shape = book::SpanShape{left, right, low, high};
      }
    }
    h.materials.push_back(material("M" + std::to_string(i), in.id.text, face, std::move(shape), below(3)));
  }
  return h;
}

}  // namespace lathbook::fabric::fixture
