// The faces of the fabric, derived from rooms drawn as outlines on storeys, and what backs on to each.
//
// Faces (coordinates as in book.h): every room has a floor, a ceiling and an inside in plan coordinates, and one wall
// per edge of its outline in wall coordinates. The outline is taken anticlockwise: one given clockwise is read
// backwards with its first corner kept first, so corners 1 2 3 4 become 1 4 3 2 and wall 1 runs from the first corner
// given to the last. `roof-n` is the sloping part over height zone n; a room without height zones may name up to four
// slopes, each over its whole outline.
//
// What backs on to what: walls that face each other, within 10 degrees of parallel, heal into one wall when the gap or
// the overlap between them is at most 0.3 m; a nearer room hides one behind it. A ceiling backs on to the floors over
// it, by polygon overlay, when the build-up between is at most 1 m and no other room lies in it. A wall with nothing
// behind it faces outdoors, or something that was not drawn. Checked against GEOS overlays, and by moving, turning and
// mirroring whole houses. Page: docs/methods/fabric.md.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <unordered_map>
#include <vector>

#include "book/book.h"
#include "fabric/spread.h"
#include "reason/fault.h"

namespace lathbook::fabric {

inline constexpr double kUncertaintyM = 0.15;  ///< how far off its drawn place anything may be
inline constexpr double kDoubtfulGapM = 1;     ///< a wider gap between two walls was meant
inline constexpr double kHealM = 0.3;          ///< largest gap or overlap of two rooms that heals into a wall
inline constexpr double kFloorBuildUpM = 1.0;  ///< largest distance from a ceiling to the floor it carries
inline constexpr double kCrossVoidM = 0.6;     ///< a hole goes on across a void or shaft up to this deep
inline constexpr double kOutdoorsM = 30;       ///< largest stretch of open ground that a run may cross
inline constexpr int kRoofsWithoutZones = 4;   ///< slopes a room without height zones may name

/// A room as drawn, with everything resolved.
struct Space {
  book::RoomId id;
  std::string name;
  book::RoomKind kind = book::RoomKind::kRoom;
  std::size_t storey = 0;    ///< index in Plan::storeys()
  Ring outline;              ///< anticlockwise, first corner as given
  double floor_m = 0;        ///< level of its floor
  double height_m = 0;       ///< floor to flat ceiling
  double wall_height_m = 0;  ///< floor to the highest point of any ceiling
  std::vector<book::HeightZone> zones;
  Box box;
  std::size_t first_face = 0;  ///< its faces are consecutive: floor, ceiling, inside, walls, roofs
  std::size_t face_count = 0;

  /// A void, shaft or loft: what lies inside lies against its faces.
  [[nodiscard]] bool hollow() const {
    return kind == book::RoomKind::kVoid || kind == book::RoomKind::kShaft || kind == book::RoomKind::kLoft;
  }
  [[nodiscard]] std::size_t floor_face() const { return first_face; }
  [[nodiscard]] std::size_t ceiling_face() const { return first_face + 1; }
  [[nodiscard]] std::size_t inside_face() const { return first_face + 2; }
  [[nodiscard]] std::size_t wall_face(std::size_t edge) const { return first_face + 3 + edge; }  ///< edge from 0
  [[nodiscard]] std::size_t first_roof_face() const { return first_face + 3 + outline.size(); }
};

struct FaceInfo {
  std::size_t space = 0;
  book::Face face;
  Ring outline;  ///< in face coordinates, anticlockwise
  Box box;
  Point left;                         ///< walls: plan position of the left end as seen from inside
  Point along;                        ///< walls: unit vector in plan of growing wall coordinate
  std::vector<std::size_t> backings;  ///< into Plan::backings()
};

/// Part of a face and the face on the other side of it. Every backing has its twin seen from the other face.
struct Backing {
  std::size_t face = 0;
  std::size_t other = 0;
  std::vector<Ring> where;  ///< parts of `face` in its coordinates, each one simple ring
  Box box;
  double thickness_m = 0;  ///< of the wall or floor between; 0 when the drawings overlap
  bool wall = false;
  double shift_u_m = 0;   ///< walls: u on the other face is shift_u_m - u
  double shift_v_m = 0;   ///< walls: v on the other face is v + shift_v_m
  bool outdoors = false;  ///< no wall but open ground between two buildings, `thickness_m` wide

  /// The same spot on the other face, in its coordinates.
  [[nodiscard]] Point across(Point p) const { return wall ? Point{shift_u_m - p.x_m, p.y_m + shift_v_m} : p; }
};

class Plan;

/// Two walls that face each other too far apart to heal and too near for open ground to be meant, with nothing drawn
/// between: perhaps one wall, drawn apart. As it is drawn, neither backs on to the other.
struct Gap {
  std::size_t face = 0;
  std::size_t other = 0;
  double gap_m = 0;
  /// The rooms, the distance and what to do, in one sentence.
  [[nodiscard]] std::string text(const Plan& plan) const;
};

/// How faults name what they are about: by JSON Pointer for `lathbook calc`, by id for a book.
enum class Naming { kPointer, kId };

class Plan {
 public:
  /// Faults: an outline that crosses itself or has no area, a room on no storey, two rooms that overlap by more than
  /// 0.3 m, a storey or room whose ceiling is below its floor, a height zone off its room.
  [[nodiscard]] static reason::Result<Plan> build(std::span<const book::Storey> storeys,
                                                  std::span<const book::Room> rooms,
                                                  std::span<const book::Opening> openings = {},
                                                  Naming naming = Naming::kId);

  [[nodiscard]] std::span<const book::Storey> storeys() const { return storeys_; }
  [[nodiscard]] std::span<const book::Opening> openings() const { return openings_; }
  [[nodiscard]] std::span<const Space> spaces() const { return spaces_; }
  [[nodiscard]] std::span<const FaceInfo> faces() const { return faces_; }
  [[nodiscard]] std::span<const Backing> backings() const { return backings_; }

  [[nodiscard]] std::optional<std::size_t> find_space(const book::RoomId& room) const;
  [[nodiscard]] std::optional<std::size_t> find_face(std::size_t space, book::Face face) const;
  [[nodiscard]] std::optional<std::size_t> find_face(const book::RoomId& room, book::Face face) const;

  /// Which building each space stands in: spaces that back on to one another, however many lie between, share one.
  [[nodiscard]] std::vector<std::size_t> buildings() const;
  /// The same plan with what lies across open ground: outer walls of two buildings that face each other at most 30 m
  /// apart, with nothing drawn between, as backings marked `outdoors`. For routes; a hole through an outer wall meets
  /// nothing on the other side of the ground.
  [[nodiscard]] Plan with_open_ground() const;

  /// Gaps over 0.3 m and up to 1 m, widest first.
  [[nodiscard]] std::vector<Gap> gaps() const;

  /// A point of a face in plan coordinates (of a wall: its foot).
  [[nodiscard]] Point in_plan(std::size_t face, Point p) const;

 private:
  void add_faces(std::size_t space);
  void add_backing(Backing backing);
  enum class Across { kBuildings, kAnything };
  void add_walls_behind(double farthest_m, Across across = Across::kBuildings);
  void add_floors_over();

  std::vector<book::Storey> storeys_;
  std::vector<book::Opening> openings_;
  std::vector<Space> spaces_;
  std::vector<FaceInfo> faces_;
  std::vector<Backing> backings_;
  std::unordered_map<std::string, std::size_t> space_by_id_;
};

}  // namespace lathbook::fabric
