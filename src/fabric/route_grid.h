// The grid a route is searched on: lines over every face, and for every node, stretch and hole the material that owns
// it. Internal to the module.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "fabric/plan.h"
#include "fabric/route.h"
#include "fabric/touch.h"

namespace lathbook::fabric {

/// Who stands in the way at a node or on a stretch: nobody, one material (its index + 1), several, or the fabric itself
/// (outside the face, a door) so that no release helps.
using Owner = std::int32_t;
inline constexpr Owner kFree = 0;
inline constexpr Owner kSeveral = -1;
inline constexpr Owner kNever = -2;

/// What a search is allowed to pass.
struct Pass {
  Owner released = kFree;   ///< one material taken as released
  bool everything = false;  ///< all materials taken as released
  [[nodiscard]] bool may(Owner owner) const {
    return owner == kFree || (owner != kNever && (everything || (released != kFree && owner == released)));
  }
};

struct NodeRef {
  std::size_t face = 0;
  std::size_t node = 0;
  bool operator==(const NodeRef&) const = default;
};

struct Point3 {
  double x = 0;
  double y = 0;
  double z = 0;
};

/// One face's lines and owners; node (ix, iy) is iy * xs.size() + ix. Coordinates: of walls their own; of floors and
/// ceilings the plan turned into the room's frame.
struct FaceGrid {
  bool built = false;
  std::vector<double> xs;
  std::vector<double> ys;
  std::vector<Owner> node;
  std::vector<Owner> right;                        ///< of the stretch to (ix + 1, iy)
  std::vector<Owner> up;                           ///< of the stretch to (ix, iy + 1)
  std::vector<std::array<std::int16_t, 2>> edges;  ///< floors and ceilings: up to two outline edges a node lies on
  std::vector<std::vector<Owner>> holes;           ///< per backing of the face, per node
  std::vector<Point3> places;                      ///< of the nodes, in space, turned into the frame of a square house
  /// Per backing: the other face's lines that these lines meet, -1 where none does; empty when the two rooms lie askew.
  struct Meeting {
    bool built = false;
    std::vector<std::int32_t> x, y;
  };
  std::vector<Meeting> meetings;
  std::array<int, 6> directions{};  ///< ids of +x, -x, +y, -y, out, in
  [[nodiscard]] std::size_t size() const { return xs.size() * ys.size(); }
};

class RouteGrid {
 public:
  RouteGrid(const Plan& plan, const MaterialIndex& materials, const std::vector<bool>& blocks,
            const RouteRequest& request);

  [[nodiscard]] const Plan& plan() const { return plan_; }
  /// Built when first asked for.
  [[nodiscard]] const FaceGrid& grid(std::size_t face) {
    if (!grids_[face].built) build(face);
    return grids_[face];
  }
  [[nodiscard]] std::optional<NodeRef> node_at(std::size_t face, Point face_coordinates);
  [[nodiscard]] Point at(NodeRef node);  ///< in face coordinates
  [[nodiscard]] Point3 in_space(NodeRef node) { return grid(node.face).places[node.node]; }
  [[nodiscard]] bool square() const { return square_; }  ///< every room's walls lie along one frame

  /// Where holes through a backing may be, on its near face, and who keeps all of it shut. Roughly before its face's
  /// grid is built; after that, for a search that releases nothing, as its nodes have it.
  struct Portal {
    Point3 low;
    Point3 high;
    Owner shut = kFree;
  };
  [[nodiscard]] Portal portal(std::size_t backing, const Pass& pass) const;

  /// The same spot on another face of the room, at their shared edge.
  void at_edge(NodeRef node, std::vector<NodeRef>& out);
  /// Through a backing (by its place among its face's), if there is a node on the other side.
  [[nodiscard]] std::optional<NodeRef> through(NodeRef node, std::size_t of_face);
  /// From the floor of a shallow void to its ceiling and back.
  [[nodiscard]] std::optional<NodeRef> across_void(NodeRef node);

  [[nodiscard]] Point3 direction(int id) const { return directions_[static_cast<std::size_t>(id)]; }
  [[nodiscard]] static HoleFabric fabric_of(const Backing& backing);

  /// The face a spot is run over: a roof slope is run over as the ceiling.
  [[nodiscard]] static std::size_t run_face(const Plan& plan, std::size_t face);

 private:
  struct Obstacle {
    Spread shape;  ///< in coordinates of its face
    Owner owner = kFree;
    double clear_m = 0;
  };
  struct Lines {
    std::vector<double> x, y, z;  ///< x and y in the room's frame, z above the book's datum
  };

  Point3 in_frame(Point3 p) const;
  Point3 place(std::size_t face, Point p) const;
  Point to_grid(std::size_t face, Point p) const;
  Point from_grid(std::size_t face, Point p) const;
  Spread to_grid(std::size_t face, const Spread& shape) const;
  void choose_frames();
  void gather_obstacles();
  void add_ghosts();
  void add_openings();
  void gather_lines(const RouteRequest& request);
  void add_lines(std::size_t face, Point p);
  std::vector<Obstacle> behind(const Backing& backing, int voids_crossed) const;
  void append_face(std::size_t face, std::vector<Obstacle>& to) const;
  Spread inside_on_wall(const Spread& shape, std::size_t wall) const;
  void build(std::size_t face);
  void meet_lines(std::size_t face, std::size_t of_face);
  void build_lines(std::size_t face, FaceGrid& grid) const;
  void mark(std::size_t face, FaceGrid& grid, const Obstacle& obstacle) const;
  void mark_holes(std::size_t face, FaceGrid& grid, std::size_t backing_of_face) const;
  int direction_id(Point3 d);

  const Plan& plan_;
  const MaterialIndex& materials_;
  const std::vector<bool>& blocks_;
  double clear_m_;
  double radius_m_;
  bool square_ = true;
  std::vector<double> frame_;                     ///< per space: angle of its axes
  std::vector<std::vector<Obstacle>> obstacles_;  ///< per face
  std::vector<Lines> lines_;                      ///< per space
  std::vector<FaceGrid> grids_;                   ///< per face
  std::vector<Point3> directions_;                ///< in the frame of a square house
};

}  // namespace lathbook::fabric
