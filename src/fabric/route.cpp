#include "fabric/route.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <map>
#include <queue>
#include <set>
#include <unordered_map>
#include <unordered_set>

#include "fabric/route_grid.h"
#include "fabric/validate.h"

namespace lathbook::fabric {
namespace {

constexpr double kSameM = 1e-6;
constexpr double kAlongsideM = 0.3;  ///< this near an earlier route on the same face is the same way
constexpr double kSameWayShare = 0.7;
constexpr double kDearer = 3;  ///< near an earlier route, when looking for another
constexpr int kNoDirection = -1;
constexpr int kStateDirections = 8;  ///< four along the face, out, in, any other, none yet

/// What a search must keep from or finds dear.
struct Terms {
  Pass pass;
  std::set<std::size_t> closed;  ///< backings, the smaller index of each pair of twins
  std::vector<const Route*> dear;
  double at_most = std::numeric_limits<double>::infinity();  ///< an answer at this cost is at hand
  double slack =
      1;  ///< the answer may cost this many times the cheapest: a search that may err a little is far quicker
};

/// The backing and its twin under one number: they are stored side by side.
std::size_t crossing(std::size_t backing) { return backing / 2; }

struct Label {
  NodeRef node;
  int direction = kNoDirection;  ///< id of a direction in space
  double cost = 0;               ///< as searched
  double length_m = 0;
  double straight_m = 0;    ///< since the last bend
  bool free_elbow = false;  ///< the next bend is an elbow at a hole
  int bends = 0;
  std::int32_t parent = -1;
  std::int32_t backing = -1;  ///< the one just gone through
};

/// A run over one face of an earlier route, for the share of a new one that lies along it.
struct Run {
  std::size_t face;
  Point a, b;
};

std::vector<Run> runs_of(const Plan& plan, const Route& route) {
  std::vector<Run> runs;
  for (std::size_t i = 1; i < route.path.size(); ++i) {
    const Spot& a = route.path[i - 1];
    const Spot& b = route.path[i];
    if (a.room != b.room || a.face != b.face) continue;
    if (const auto face = plan.find_face(a.room, a.face)) runs.push_back({*face, a.at, b.at});
  }
  return runs;
}

class Search {
 public:
  Search(RouteGrid& grid, const RouteRequest& request, NodeRef from, NodeRef to)
      : grid_(grid),
        plan_(grid.plan()),
        request_(request),
        from_(from),
        to_(to),
        bounds_(plan_.faces().size()),
        slots_(plan_.faces().size()) {
    to_point_ = grid_.in_space(to);
    to_room_ = plan_.faces()[to.face].space;
  }

  std::optional<Route> cheapest(const Terms& terms);
  /// Nodes that can be reached, and the materials met at their edge.
  struct Reached {
    bool other_end = false;
    std::set<Owner> met;
  };
  Reached flood(NodeRef start, NodeRef goal, Pass pass);

 private:
  struct Slot {
    double cost = 0;
    std::uint32_t epoch = 0;
  };

  static constexpr double kFar = std::numeric_limits<double>::infinity();

  double hole_cost(const Backing& backing) const {
    const Weights& weights = request_.weights;
    const double hole = weights.hole(RouteGrid::fabric_of(backing), request_.service.diameter_m);
    if (!backing.outdoors) return hole;
    return hole + std::max(0.0, weights.open_ground_per_m - weights.per_m) * backing.thickness_m;
  }

  /// The least length from one box in space to another: along the axes in a square house, else as the crow flies.
  double apart_m(const Point3& low, const Point3& high, const Point3& other_low, const Point3& other_high) const {
    const double dx = std::max({0.0, low.x - other_high.x, other_low.x - high.x});
    const double dy = std::max({0.0, low.y - other_high.y, other_low.y - high.y});
    const double dz = std::max({0.0, low.z - other_high.z, other_low.z - high.z});
    return grid_.square() ? dx + dy + dz : std::sqrt(dx * dx + dy * dy + dz * dz);
  }

  /// Bends that a hole makes on its side in a room: a run lies along a face and a hole leads out of it. Not in a
  /// shallow void, which may be crossed straight on.
  double hole_bend(std::size_t room) const {
    const Space& space = plan_.spaces()[room];
    const bool straight_on = (space.kind == book::RoomKind::kVoid || space.kind == book::RoomKind::kShaft) &&
                             space.wall_height_m <= kCrossVoidM;
    return straight_on ? 0 : request_.weights.per_bend;
  }

  /// The least that the rest of the way costs from just before the hole of each backing: from hole to hole, each taken
  /// where it lies nearest to the next.
  void bound_portals(const Terms& terms) {
    const std::size_t count = plan_.backings().size();
    portals_.resize(count);
    portal_bound_.assign(count, kFar);
    for (std::size_t i = 0; i < count; ++i) {
      portals_[i] = grid_.portal(i, terms.pass);
      if (terms.closed.contains(crossing(i))) portals_[i].shut = kNever;
    }
    const auto open_to = [&](std::size_t i) {
      return terms.pass.may(portals_[i].shut) && terms.pass.may(portals_[i ^ 1].shut);
    };
    using Waiting = std::pair<double, std::size_t>;
    std::priority_queue<Waiting, std::vector<Waiting>, std::greater<>> open;
    // Through backing i and on, `after` being what follows from its far side.
    const auto relax = [&](std::size_t i, double after, bool ends_there) {
      const Backing& backing = plan_.backings()[i];
      const RouteGrid::Portal& here = portals_[i];
      const RouteGrid::Portal& there = portals_[i ^ 1];
      const double cost = hole_cost(backing) + hole_bend(plan_.faces()[backing.face].space) +
                          (ends_there ? 0 : hole_bend(plan_.faces()[backing.other].space)) +
                          request_.weights.per_m * apart_m(here.low, here.high, there.low, there.high) + after;
      if (cost >= portal_bound_[i]) return;
      portal_bound_[i] = cost;
      open.emplace(cost, i);
    };
    const auto each_portal = [&](std::size_t room, auto what) {
      const Space& space = plan_.spaces()[room];
      for (std::size_t face = space.first_face; face < space.first_face + space.face_count; ++face) {
        for (const std::size_t i : plan_.faces()[face].backings) {
          if (open_to(i)) what(i);
        }
      }
    };
    each_portal(to_room_, [&](std::size_t out) {
      const double length_m = apart_m(portals_[out].low, portals_[out].high, to_point_, to_point_);
      relax(out ^ 1, request_.weights.per_m * length_m, length_m <= kSameM);
    });
    bound_rooms(each_portal);
    while (!open.empty()) {
      const double cost = open.top().first;  // named one by one: clang 14 lets no lambda see a structured binding
      const std::size_t i = open.top().second;
      open.pop();
      if (cost > portal_bound_[i]) continue;
      each_portal(plan_.faces()[plan_.backings()[i].face].space, [&](std::size_t out) {
        if (out == i) return;
        const double length_m = apart_m(portals_[out].low, portals_[out].high, portals_[i].low, portals_[i].high);
        relax(out ^ 1, request_.weights.per_m * length_m + cost, false);
      });
    }
  }

  /// The least that the holes from each room to the end cost, with their bends and without any length.
  void bound_rooms(const auto& each_portal) {
    holes_bound_.assign(plan_.spaces().size(), kFar);
    using Waiting = std::pair<double, std::size_t>;
    std::priority_queue<Waiting, std::vector<Waiting>, std::greater<>> open;
    holes_bound_[to_room_] = 0;
    open.emplace(0, to_room_);
    while (!open.empty()) {
      const double cost = open.top().first;
      const std::size_t room = open.top().second;
      open.pop();
      if (cost > holes_bound_[room]) continue;
      each_portal(room, [&](std::size_t i) {
        const std::size_t other = plan_.faces()[plan_.backings()[i].other].space;
        // A run may end at its last hole.
        const double bends = hole_bend(other) + (room == to_room_ ? 0 : hole_bend(room));
        const double there = cost + hole_cost(plan_.backings()[i]) + bends;
        if (there >= holes_bound_[other]) return;
        holes_bound_[other] = there;
        open.emplace(there, other);
      });
    }
  }

  /// The least from each node of a face to the end through some hole of its room.
  const std::vector<double>& bound_of(std::size_t face) {
    FaceBound& bound = bounds_[face];
    if (bound.epoch == epoch_) return bound.through;
    bound.epoch = epoch_;
    const FaceGrid& g = grid_.grid(face);
    bound.through.assign(g.size(), kFar);
    const Space& space = plan_.spaces()[plan_.faces()[face].space];
    for (std::size_t of = space.first_face; of < space.first_face + space.face_count; ++of) {
      for (const std::size_t i : plan_.faces()[of].backings) {
        if (portal_bound_[i] == kFar) continue;
        const RouteGrid::Portal& portal = portals_[i];
        for (std::size_t node = 0; node < g.size(); ++node) {
          const Point3& p = g.places[node];
          bound.through[node] = std::min(
              bound.through[node], portal_bound_[i] + request_.weights.per_m * apart_m(p, p, portal.low, portal.high));
        }
      }
    }
    for (std::size_t node = 0; node < g.size(); ++node) {
      const Point3& p = g.places[node];
      const double holes = holes_bound_[plan_.faces()[face].space];
      if (holes > 0)
        bound.through[node] =
            std::max(bound.through[node], holes + request_.weights.per_m * apart_m(p, p, to_point_, to_point_));
    }
    return bound.through;
  }

  /// Never more than the rest of the way costs: within the room of the end at least the length to it (in a square house
  /// with a bend for each change of axis), else by the least through some hole.
  double least_to_go(NodeRef node, int direction) {
    double least = bound_of(node.face)[node.node];
    if (direction == kNoDirection) least -= request_.weights.per_bend;  // it may begin at the hole
    if (plan_.faces()[node.face].space != to_room_) return least;
    const Point3 p = grid_.in_space(node);
    double direct = request_.weights.per_m * apart_m(p, p, to_point_, to_point_);
    if (grid_.square()) {
      int needed = 0;
      bool on_course = direction == kNoDirection;
      const Point3 heading = direction == kNoDirection ? Point3{} : grid_.direction(direction);
      for (const auto& [delta, along] :
           {std::pair(to_point_.x - p.x, heading.x), std::pair(to_point_.y - p.y, heading.y),
            std::pair(to_point_.z - p.z, heading.z)}) {
        if (std::abs(delta) < kSameM) continue;
        ++needed;
        on_course = on_course || along * delta > 0.5 * std::abs(delta);
      }
      direct += request_.weights.per_bend * std::max(0, needed - (on_course ? 1 : 0));
    }
    return std::min(least, direct);
  }

  int slot_direction(const FaceGrid& g, int direction) const {
    if (direction == kNoDirection) return kStateDirections - 1;
    const auto found = std::find(g.directions.begin(), g.directions.end(), direction);
    return static_cast<int>(found - g.directions.begin());  // 6 when it is none of the face's own
  }

  bool dominated(const Label& label) {
    const FaceGrid& g = grid_.grid(label.node.face);
    const std::size_t key =
        label.node.node * kStateDirections + static_cast<std::size_t>(slot_direction(g, label.direction));
    auto& slots = slots_[label.node.face];
    if (slots.empty()) slots.resize(g.size() * kStateDirections);
    if (request_.service.bend_radius_m <= 0) {
      Slot& slot = slots[key];
      if (slot.epoch == epoch_ && slot.cost <= label.cost + 1e-12) return true;
      slot = {label.cost, epoch_};
      return false;
    }
    // With a bend radius a dearer label may still be better placed: keep those that are neither dearer nor shorter of
    // room.
    const double room = label.free_elbow ? std::numeric_limits<double>::infinity() : label.straight_m;
    auto& kept = front_[label.node.face * 4294967296ULL + key];
    for (const auto& [cost, straight] : kept) {
      if (cost <= label.cost + 1e-12 && straight >= room - 1e-12) return true;
    }
    std::erase_if(kept, [&](const auto& one) { return one.first >= label.cost && one.second <= room; });
    kept.emplace_back(label.cost, room);
    return false;
  }

  bool current(const Label& label) {
    const FaceGrid& g = grid_.grid(label.node.face);
    const std::size_t key =
        label.node.node * kStateDirections + static_cast<std::size_t>(slot_direction(g, label.direction));
    if (request_.service.bend_radius_m <= 0) return slots_[label.node.face][key].cost >= label.cost - 1e-12;
    const double room = label.free_elbow ? std::numeric_limits<double>::infinity() : label.straight_m;
    const auto& kept = front_[label.node.face * 4294967296ULL + key];
    return std::any_of(kept.begin(), kept.end(),
                       [&](const auto& one) { return one.first == label.cost && one.second == room; });
  }

  void push(Label label) {
    if (dominated(label)) return;
    const double to_go = least_to_go(label.node, label.direction);
    if (to_go == kFar) return;
    // What is given up beyond `at_most` would at best have cost `at_most` / `slack`.
    const double rank = label.cost + slack_ * to_go;
    if (rank > at_most_) return;
    labels_.push_back(label);
    open_.push({std::llround(rank * 1e9), label.cost, static_cast<std::int32_t>(labels_.size()) - 1});
  }

  /// Extends a label in a direction; nothing when a bend radius forbids the bend.
  std::optional<Label> turned_to(const Label& label, int direction, bool into_hole = false) const {
    Label next = label;
    next.direction = direction;
    next.backing = -1;
    if (label.direction == kNoDirection || label.direction == direction) return next;
    const double radius_m = request_.service.bend_radius_m;
    const bool first = label.bends == 0;
    if (radius_m > 0 && !label.free_elbow && !into_hole &&
        label.straight_m < (first ? radius_m : 2 * radius_m) - kSameM)
      return std::nullopt;
    next.bends += 1;
    next.cost += request_.weights.per_bend;
    next.straight_m = 0;
    next.free_elbow = false;
    return next;
  }

  bool dear(std::size_t face, Point a, Point b) const {
    const auto found = dear_runs_.find(face);
    if (found == dear_runs_.end()) return false;
    const Point middle{(a.x_m + b.x_m) / 2, (a.y_m + b.y_m) / 2};
    return std::any_of(found->second.begin(), found->second.end(),
                       [&](const Run& run) { return distance_to_segment_m(middle, run.a, run.b) < kAlongsideM; });
  }

  void expand(std::int32_t index, const Terms& terms);
  Route route_of(std::int32_t index);

  RouteGrid& grid_;
  const Plan& plan_;
  const RouteRequest& request_;
  NodeRef from_, to_;
  Point3 to_point_;
  std::size_t to_room_ = 0;
  std::vector<RouteGrid::Portal> portals_;  ///< per backing
  std::vector<double> portal_bound_;        ///< per backing
  std::vector<double> holes_bound_;         ///< per room
  struct FaceBound {
    std::uint32_t epoch = 0;
    std::vector<double> through;  ///< per node
  };
  std::vector<FaceBound> bounds_;  ///< per face
  std::vector<std::vector<Slot>> slots_;
  std::unordered_map<std::uint64_t, std::vector<std::pair<double, double>>> front_;
  std::uint32_t epoch_ = 0;
  double at_most_ = std::numeric_limits<double>::infinity();
  double slack_ = 1;
  std::vector<Label> labels_;
  std::unordered_map<std::size_t, std::vector<Run>> dear_runs_;
  /// Least rank first (in whole nanometres, so that rounding makes no order); of equals the one farthest on its way.
  struct Item {
    std::int64_t rank;
    double cost;
    std::int32_t label;
    bool operator<(const Item& other) const { return rank != other.rank ? rank > other.rank : cost < other.cost; }
  };
  std::priority_queue<Item> open_;
};

std::optional<Route> Search::cheapest(const Terms& terms) {
  ++epoch_;
  at_most_ = terms.at_most;
  slack_ = terms.slack;
  front_.clear();
  labels_.clear();
  open_ = {};
  dear_runs_.clear();
  for (const Route* route : terms.dear) {
    for (const auto& run : runs_of(plan_, *route)) dear_runs_[run.face].push_back(run);
  }
  if (!terms.pass.may(grid_.grid(from_.face).node[from_.node]) || !terms.pass.may(grid_.grid(to_.face).node[to_.node]))
    return std::nullopt;
  bound_portals(terms);
  push({from_, kNoDirection, 0, 0, 0, false, 0, -1, -1});
  while (!open_.empty()) {
    const std::int32_t index = open_.top().label;
    open_.pop();
    const Label label = labels_[static_cast<std::size_t>(index)];
    if (!current(label)) continue;
    if (label.node == to_) {
      const double radius_m = request_.service.bend_radius_m;
      if (radius_m <= 0 || label.bends == 0 || label.free_elbow || label.straight_m >= radius_m - kSameM)
        return route_of(index);
    }
    expand(index, terms);
  }
  return std::nullopt;
}

void Search::expand(std::int32_t index, const Terms& terms) {
  const Label label = labels_[static_cast<std::size_t>(index)];
  const NodeRef here = label.node;
  const FaceGrid& g = grid_.grid(here.face);
  const std::size_t nx = g.xs.size();
  const std::size_t ix = here.node % nx;
  const std::size_t iy = here.node / nx;
  for (int k = 0; k < 4; ++k) {
    const bool along_x = k < 2;
    const bool forward = k % 2 == 0;
    const std::size_t at = along_x ? ix : iy;
    const std::size_t count = along_x ? nx : g.ys.size();
    if (forward ? at + 1 >= count : at == 0) continue;
    if (label.direction == g.directions[static_cast<std::size_t>(k ^ 1)]) continue;  // never straight back
    const std::size_t step = along_x ? 1 : nx;
    const std::size_t next_node = forward ? here.node + step : here.node - step;
    const std::size_t edge_node = forward ? here.node : next_node;
    if (!terms.pass.may(along_x ? g.right[edge_node] : g.up[edge_node]) || !terms.pass.may(g.node[next_node])) continue;
    auto next = turned_to(label, g.directions[static_cast<std::size_t>(k)]);
    if (!next) continue;
    const auto& lines = along_x ? g.xs : g.ys;
    const double length_m = std::abs(lines[forward ? at + 1 : at - 1] - lines[at]);
    next->node = {here.face, next_node};
    next->length_m += length_m;
    next->straight_m += length_m;
    next->free_elbow = false;
    next->parent = index;
    const bool is_dear = !dear_runs_.empty() && dear(here.face, grid_.at(here), grid_.at(next->node));
    next->cost += request_.weights.per_m * length_m * (is_dear ? kDearer : 1);
    push(*next);
  }
  std::vector<NodeRef> edge;
  grid_.at_edge(here, edge);
  for (const NodeRef& there : edge) {
    if (!terms.pass.may(grid_.grid(there.face).node[there.node])) continue;
    Label next = label;
    next.node = there;
    next.parent = index;
    next.backing = -1;
    push(next);
  }
  const auto pass_on = [&](NodeRef there, double length_m, double extra, std::int32_t backing) {
    auto next = turned_to(label, g.directions[4], true);
    if (!next) return;
    next->node = there;
    next->length_m += length_m;
    next->straight_m += length_m;
    next->free_elbow = backing >= 0;
    next->cost += request_.weights.per_m * length_m + extra;
    next->parent = index;
    next->backing = backing;
    push(*next);
  };
  const auto apart = [&](NodeRef there) {
    const Point3 a = grid_.in_space(here);
    const Point3 b = grid_.in_space(there);
    return std::sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y) + (a.z - b.z) * (a.z - b.z));
  };
  const auto& backings = plan_.faces()[here.face].backings;
  for (std::size_t i = 0; i < backings.size(); ++i) {
    if (!terms.pass.may(g.holes[i][here.node])) continue;
    const std::size_t number = backings[i];
    if (terms.closed.contains(crossing(number))) continue;
    const Backing& backing = plan_.backings()[number];
    const auto there = grid_.through(here, i);
    if (!there || !terms.pass.may(grid_.grid(there->face).node[there->node])) continue;
    const bool is_dear =
        !dear_runs_.empty() && std::any_of(terms.dear.begin(), terms.dear.end(), [&](const Route* route) {
          return std::any_of(route->holes.begin(), route->holes.end(),
                             [&](const Hole& hole) { return crossing(hole.backing) == crossing(number); });
        });
    pass_on(*there, apart(*there), hole_cost(backing) * (is_dear ? kDearer : 1), static_cast<std::int32_t>(number));
  }
  if (const auto there = grid_.across_void(here)) {
    if (terms.pass.may(grid_.grid(there->face).node[there->node])) {
      auto next = turned_to(label, g.directions[5]);
      if (next) {
        const double length_m = apart(*there);
        next->node = *there;
        next->length_m += length_m;
        next->straight_m += length_m;
        next->cost += request_.weights.per_m * length_m;
        next->parent = index;
        push(*next);
      }
    }
  }
}

Route Search::route_of(std::int32_t index) {
  std::vector<const Label*> chain;
  for (std::int32_t i = index; i >= 0; i = labels_[static_cast<std::size_t>(i)].parent)
    chain.push_back(&labels_[static_cast<std::size_t>(i)]);
  std::reverse(chain.begin(), chain.end());
  Route route;
  const auto spot = [&](NodeRef node) {
    const FaceInfo& info = plan_.faces()[node.face];
    return Spot{plan_.spaces()[info.space].id, info.face, grid_.at(node)};
  };
  route.path.push_back(spot(chain.front()->node));
  for (std::size_t i = 1; i < chain.size(); ++i) {
    const Label& before = *chain[i - 1];
    const Label& label = *chain[i];
    if (label.backing >= 0) {
      const Backing& backing = plan_.backings()[static_cast<std::size_t>(label.backing)];
      route.holes.push_back({spot(before.node), spot(label.node), RouteGrid::fabric_of(backing), backing.thickness_m,
                             hole_cost(backing), static_cast<std::size_t>(label.backing)});
    }
    const bool same_run = i >= 2 && label.node.face == before.node.face &&
                          before.node.face == chain[i - 2]->node.face && label.direction == before.direction;
    if (same_run) {
      route.path.back() = spot(label.node);
    } else {
      route.path.push_back(spot(label.node));
    }
  }
  route.length_m = chain.back()->length_m;
  route.bends = chain.back()->bends;
  route.cost = request_.weights.per_m * route.length_m + request_.weights.per_bend * route.bends;
  for (const auto& hole : route.holes) route.cost += hole.cost;
  return route;
}

Search::Reached Search::flood(NodeRef start, NodeRef goal, Pass pass) {
  Reached reached;
  std::vector<std::vector<bool>> seen(plan_.faces().size());
  std::deque<NodeRef> open;
  const auto visit = [&](NodeRef node, Owner way) {
    const FaceGrid& g = grid_.grid(node.face);
    auto& marks = seen[node.face];
    if (marks.empty()) marks.resize(g.size());
    if (marks[node.node]) return;
    const Owner here = g.node[node.node];
    if (!pass.may(way) || !pass.may(here)) {
      for (const Owner owner : {way, here}) {
        if (owner > 0) reached.met.insert(owner);
      }
      return;
    }
    marks[node.node] = true;
    reached.other_end = reached.other_end || node == goal;
    open.push_back(node);
  };
  visit(start, kFree);
  std::vector<NodeRef> edge;
  while (!open.empty() && !reached.other_end) {
    const NodeRef here = open.front();
    open.pop_front();
    const FaceGrid& g = grid_.grid(here.face);
    const std::size_t nx = g.xs.size();
    const std::size_t ix = here.node % nx;
    const std::size_t iy = here.node / nx;
    if (ix + 1 < nx) visit({here.face, here.node + 1}, g.right[here.node]);
    if (ix > 0) visit({here.face, here.node - 1}, g.right[here.node - 1]);
    if (iy + 1 < g.ys.size()) visit({here.face, here.node + nx}, g.up[here.node]);
    if (iy > 0) visit({here.face, here.node - nx}, g.up[here.node - nx]);
    edge.clear();
    grid_.at_edge(here, edge);
    for (const NodeRef& there : edge) visit(there, kFree);
    const auto& backings = plan_.faces()[here.face].backings;
    for (std::size_t i = 0; i < backings.size(); ++i) {
      if (g.holes[i][here.node] == kNever) continue;
      if (const auto there = grid_.through(here, i)) visit(*there, g.holes[i][here.node]);
    }
    if (const auto there = grid_.across_void(here)) visit(*there, kFree);
  }
  return reached;
}

bool same_holes(const Route& a, const Route& b) {
  return std::equal(a.holes.begin(), a.holes.end(), b.holes.begin(), b.holes.end(),
                    [](const Hole& x, const Hole& y) { return crossing(x.backing) == crossing(y.backing); });
}

bool truly_different(const Plan& plan, const Route& route, const std::vector<Route>& from) {
  return std::all_of(from.begin(), from.end(), [&](const Route& other) {
    return !same_holes(route, other) || share_along(plan, route, other) < kSameWayShare;
  });
}

reason::Faults check_request(const Plan& plan, const RouteRequest& request, Naming naming) {
  reason::Faults faults;
  const bool pointer = naming == Naming::kPointer;
  for (const auto& [spot, name] : {std::pair(&request.from, "from"), std::pair(&request.to, "to")}) {
    const std::string where = pointer ? fmt::format("/{}", name) : name;
    if (spot->face.kind == book::FaceKind::kInside) {
      faults.push_back({where + (pointer ? "/face" : " face"), spot->face.text(), "is no surface to run over",
                        "floor, ceiling, a wall or a roof slope"});
      continue;
    }
    for (auto& fault : check_place(plan, {spot->room, spot->face, book::PointShape{spot->at}}, where, naming)) {
      if (fault.where.ends_with("shape")) fault.where.replace(fault.where.size() - 5, 5, "point");
      faults.push_back(std::move(fault));
    }
    const auto face = plan.find_face(spot->room, spot->face);
    if (faults.empty() && face && distance_to_ring_m(plan.faces()[*face].outline, spot->at) > 1e-9) {
      faults.push_back({where + (pointer ? "/point" : " point"),
                        fmt::format("({:g}, {:g})", spot->at.x_m, spot->at.y_m),
                        fmt::format("lies off {} of {}", spot->face.text(), spot->room.text), "a point on the face"});
    }
  }
  const auto positive = [&](double value, const char* name, bool zero_too) {
    if (std::isfinite(value) && (value > 0 || (zero_too && value == 0))) return;
    faults.push_back({pointer ? fmt::format("/{}", name) : name, fmt::format("{:g}", value), "is not possible",
                      zero_too ? "0 or more" : "more than 0"});
  };
  positive(request.service.diameter_m, "diameter_mm", false);
  positive(request.service.bend_radius_m, "bend_radius_mm", true);
  positive(request.weights.per_m, "weights/per_m", false);
  positive(request.weights.per_bend, "weights/per_bend", true);
  positive(request.weights.hole_partition, "weights/hole_partition", true);
  positive(request.weights.hole_wall, "weights/hole_wall", true);
  positive(request.weights.hole_floor, "weights/hole_floor", true);
  positive(request.weights.hole_per_mm, "weights/hole_per_mm", true);
  positive(request.weights.open_ground_per_m, "weights/open_ground_per_m", true);
  if (request.count < 1)
    faults.push_back({pointer ? "/count" : "count", fmt::format("{}", request.count), "is not possible", "1 or more"});
  return faults;
}

}  // namespace

std::string_view word(HoleFabric fabric) {
  switch (fabric) {
    case HoleFabric::kPartition:
      return "partition";
    case HoleFabric::kWall:
      return "wall";
    case HoleFabric::kFloor:
      return "floor";
    case HoleFabric::kOpenGround:
      return "open ground";
  }
  return {};
}

double Weights::hole(HoleFabric fabric, double diameter_m) const {
  const double base = fabric == HoleFabric::kPartition    ? hole_partition
                      : fabric == HoleFabric::kOpenGround ? 2 * hole_wall
                      : fabric == HoleFabric::kWall       ? hole_wall
                                                          : hole_floor;
  return base * (1 + hole_per_mm * diameter_m * 1000);
}

double share_along(const Plan& plan, const Route& route, const Route& other) {
  const auto theirs = runs_of(plan, other);
  double total_m = 0;
  double along_m = 0;
  constexpr double kStepM = 0.02;
  for (const auto& run : runs_of(plan, route)) {
    const double length_m = distance_m(run.a, run.b);
    total_m += length_m;
    const int steps = std::max(1, static_cast<int>(std::ceil(length_m / kStepM)));
    int near = 0;
    for (int i = 0; i < steps; ++i) {
      const double t = (i + 0.5) / steps;
      const Point p{run.a.x_m + t * (run.b.x_m - run.a.x_m), run.a.y_m + t * (run.b.y_m - run.a.y_m)};
      near += std::any_of(theirs.begin(), theirs.end(), [&](const Run& one) {
        return one.face == run.face && distance_to_segment_m(p, one.a, one.b) < kAlongsideM;
      });
    }
    along_m += length_m * near / steps;
  }
  return total_m > 0 ? along_m / total_m : 1;
}

std::vector<book::Cut> cuts_of(const Route& route, const Service& service) {
  std::vector<book::Cut> cuts;
  const auto add = [&](const Spot& at, book::Shape shape, book::Depth depth) {
    book::Cut cut;
    cut.task = "drill";
    cut.place = {at.room, at.face, std::move(shape)};
    cut.diameter_mm = service.diameter_m * 1000;
    cut.depth = depth;
    cuts.push_back(std::move(cut));
  };
  for (std::size_t i = 1; i < route.path.size(); ++i) {
    const Spot& a = route.path[i - 1];
    const Spot& b = route.path[i];
    if (a.room == b.room && a.face == b.face && distance_m(a.at, b.at) > kSameM)
      add(a, book::LineShape{{a.at, b.at}, service.diameter_m}, book::Depth::kLayer);
  }
  for (const auto& hole : route.holes) {
    add(hole.from, book::PointShape{hole.from.at}, book::Depth::kThrough);
    if (hole.fabric == HoleFabric::kOpenGround) add(hole.to, book::PointShape{hole.to.at}, book::Depth::kThrough);
  }
  return cuts;
}

std::optional<LaidRun> laid_run(const Plan& plan, std::span<const book::Cut> cuts) {
  constexpr std::array kLaying{"drill", "fix-through", "cut", "grind"};
  struct Piece {
    std::array<Spot, 2> ends;
    std::array<Point3, 2> at;
    double length_m = 0;
    double diameter_m = 0;
    bool hole = false;
    bool used = false;
  };
  const auto in_space = [&](const Spot& spot) {
    const std::size_t face = *plan.find_face(spot.room, spot.face);
    const FaceInfo& info = plan.faces()[face];
    const Space& space = plan.spaces()[info.space];
    const Point p = plan.in_plan(face, spot.at);
    const double up_m = info.face.kind == book::FaceKind::kWall    ? spot.at.y_m
                        : info.face.kind == book::FaceKind::kFloor ? 0
                                                                   : space.wall_height_m;
    return Point3{p.x_m, p.y_m, space.floor_m + up_m};
  };
  const auto apart_m = [](Point3 a, Point3 b) { return std::hypot(a.x - b.x, a.y - b.y, a.z - b.z); };

  std::map<std::size_t, Piece> pieces;  // by cut
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    const book::Cut& cut = cuts[i];
    const auto face = plan.find_face(cut.place.room, cut.place.face);
    if (!face || cut.place.face.kind == book::FaceKind::kInside || cut.count != 1) continue;
    if (std::find(kLaying.begin(), kLaying.end(), cut.task) == kLaying.end()) continue;
    const auto spot = [&](Point at) { return Spot{cut.place.room, cut.place.face, at}; };
    Piece piece;
    if (const auto* line = std::get_if<book::LineShape>(&cut.place.shape)) {
      if (cut.depth == book::Depth::kThrough || line->points.size() < 2) continue;
      piece.ends = {spot(line->points.front()), spot(line->points.back())};
      for (std::size_t k = 1; k < line->points.size(); ++k)
        piece.length_m += distance_m(line->points[k - 1], line->points[k]);
      piece.diameter_m = line->width_m;
    } else if (const auto* point = std::get_if<book::PointShape>(&cut.place.shape)) {
      if (cut.depth != book::Depth::kThrough && cut.task != "fix-through") continue;
      const auto& behind = plan.faces()[RouteGrid::run_face(plan, *face)].backings;
      const auto backing = std::find_if(behind.begin(), behind.end(), [&](std::size_t index) {
        const auto& where = plan.backings()[index].where;
        return std::any_of(where.begin(), where.end(), [&](const Ring& ring) { return covers(ring, point->at); });
      });
      if (backing == behind.end()) continue;  // outdoors, as far as is drawn
      const FaceInfo& other = plan.faces()[plan.backings()[*backing].other];
      piece.hole = true;
      piece.ends = {spot(point->at),
                    Spot{plan.spaces()[other.space].id, other.face, plan.backings()[*backing].across(point->at)}};
    } else {
      continue;
    }
    piece.at = {in_space(piece.ends[0]), in_space(piece.ends[1])};
    if (piece.hole) piece.length_m = apart_m(piece.at[0], piece.at[1]);
    piece.diameter_m = std::max(piece.diameter_m, cut.diameter_mm.value_or(0) / 1000);
    pieces.emplace(i, std::move(piece));
  }
  const auto first = std::find_if(pieces.begin(), pieces.end(), [](const auto& one) { return !one.second.hole; });
  if (first == pieces.end()) return std::nullopt;

  LaidRun run;
  std::array<Spot, 2> ends = first->second.ends;
  std::array<Point3, 2> at = first->second.at;
  const auto take = [&](std::size_t cut, Piece& piece) {
    piece.used = true;
    run.cuts.push_back(cut);
    run.length_m += piece.length_m;
    run.holes += piece.hole ? 1 : 0;
    run.diameter_m = std::max(run.diameter_m, piece.diameter_m);
  };
  take(first->first, first->second);
  for (bool grown = true; grown;) {
    grown = false;
    for (const std::size_t end : {1U, 0U}) {
      std::map<std::size_t, Piece>::iterator nearest = pieces.end();
      std::size_t nearest_end = 0;
      double nearest_m = kAlongsideM;
      for (auto one = pieces.begin(); one != pieces.end(); ++one) {
        for (const std::size_t theirs : {0U, 1U}) {
          const double off_m = apart_m(at[end], one->second.at[theirs]);
          if (one->second.used || off_m >= nearest_m) continue;
          nearest = one;
          nearest_end = theirs;
          nearest_m = off_m;
        }
      }
      if (nearest == pieces.end()) continue;
      ends[end] = nearest->second.ends[1 - nearest_end];
      at[end] = nearest->second.at[1 - nearest_end];
      take(nearest->first, nearest->second);
      grown = true;
    }
  }
  const bool whole =
      std::all_of(pieces.begin(), pieces.end(), [](const auto& one) { return one.second.used || one.second.hole; });
  if (!whole || apart_m(at[0], at[1]) < kSameM) return std::nullopt;
  std::sort(run.cuts.begin(), run.cuts.end());
  run.from = ends[0];
  run.to = ends[1];
  return run;
}

reason::Result<RouteAnswer> find_routes(const Plan& drawn, const MaterialIndex& materials,
                                        const std::vector<bool>& blocks, const RouteRequest& request, Naming naming) {
  if (auto faults = check_request(drawn, request, naming); !faults.empty()) return faults;
  const auto building = drawn.buildings();
  const bool detached = building[*drawn.find_space(request.from.room)] != building[*drawn.find_space(request.to.room)];
  const std::optional<Plan> across = detached ? std::optional(drawn.with_open_ground()) : std::nullopt;
  const Plan& plan = across ? *across : drawn;
  RouteGrid grid(plan, materials, blocks, request);
  const auto node_of = [&](const Spot& spot) {
    const auto face = RouteGrid::run_face(plan, *plan.find_face(spot.room, spot.face));
    const auto node = grid.node_at(face, spot.at);
    if (!node) throw std::logic_error("an end of a route has no node");
    return *node;
  };
  const NodeRef from = node_of(request.from);
  const NodeRef to = node_of(request.to);
  Search search(grid, request, from, to);

  RouteAnswer answer;
  answer.reasons.push_back(
      {fmt::format("Every run and hole keeps {:g} m and half its own diameter off whatever is not released.",
                   request.uncertainty_m),
       "judgement"});
  answer.reasons.push_back(
      {"What a metre, a bend and a hole count for is a judgement; give your own weights where it matters.",
       "judgement"});
  const auto named = [&](const book::RoomId& room) {
    return fmt::format("{} ({})", room.text, plan.spaces()[*plan.find_space(room)].name);
  };
  if (auto best = search.cheapest({})) {
    struct Candidate {
      Route route;
      std::set<std::size_t> closed;
    };
    answer.routes.push_back(std::move(*best));
    std::vector<Candidate> pool;
    std::set<std::set<std::size_t>> tried;
    std::set<std::size_t> closed_for_last;
    while (static_cast<int>(answer.routes.size()) < request.count) {
      const Route& last = answer.routes.back();
      const auto dearest_useful = [&] {
        double least = std::numeric_limits<double>::infinity();
        for (const auto& one : pool) least = std::min(least, one.route.cost);
        return least;
      };
      for (const auto& hole : last.holes) {
        Terms without;
        without.closed = closed_for_last;
        without.closed.insert(crossing(hole.backing));
        if (!tried.insert(without.closed).second) continue;
        without.at_most = dearest_useful();
        without.slack = kOtherRouteSlack;
        if (auto route = search.cheapest(without)) pool.push_back({std::move(*route), std::move(without.closed)});
      }
      if (pool.empty()) {
        Terms dear;
        for (const auto& route : answer.routes) dear.dear.push_back(&route);
        dear.slack = kOtherRouteSlack;
        if (auto route = search.cheapest(dear)) pool.push_back({std::move(*route), {}});
      }
      std::erase_if(pool, [&](const Candidate& one) { return !truly_different(plan, one.route, answer.routes); });
      const auto next = std::min_element(
          pool.begin(), pool.end(), [](const Candidate& a, const Candidate& b) { return a.route.cost < b.route.cost; });
      if (next == pool.end()) break;
      closed_for_last = next->closed;
      Route route = std::move(next->route);
      pool.erase(next);
      answer.routes.push_back(std::move(route));
    }
    std::stable_sort(answer.routes.begin(), answer.routes.end(),
                     [](const Route& a, const Route& b) { return a.cost < b.cost; });
    if (detached) {
      answer.reasons.push_back(
          {fmt::format(
               "{} and {} stand in different buildings: each route leaves one through an outer wall and crosses "
               "open ground straight to the other. The outside of those walls and what lies in the ground are "
               "not drawn: look at both before anything is drilled or dug.",
               named(request.from.room), named(request.to.room)),
           "judgement"});
    }
    return answer;
  }

  const auto forward = search.flood(from, to, {});
  const auto backward = search.flood(to, from, {});
  std::vector<Owner> in_the_way;
  std::set_intersection(forward.met.begin(), forward.met.end(), backward.met.begin(), backward.met.end(),
                        std::back_inserter(in_the_way));
  for (const Owner owner : in_the_way) {
    if (!search.flood(from, to, {owner, false}).other_end) continue;
    Terms released;
    released.pass.released = owner;
    if (auto route = search.cheapest(released))
      answer.blocked_by.push_back({static_cast<std::size_t>(owner - 1), std::move(*route)});
  }
  std::stable_sort(answer.blocked_by.begin(), answer.blocked_by.end(),
                   [](const Blocker& a, const Blocker& b) { return a.opens.cost < b.opens.cost; });
  answer.open_if_all_released = !answer.blocked_by.empty() || search.flood(from, to, {kFree, true}).other_end;
  if (!answer.blocked_by.empty()) {
    answer.reasons.push_back(
        {fmt::format("{} alone stands in the way: a test that clears it, or its removal, opens a route.",
                     materials.id(answer.blocked_by.front().material).text),
         "arithmetic"});
  } else if (answer.open_if_all_released) {
    answer.reasons.push_back(
        {"No single material stands in the way: at least two would have to be released together.", "arithmetic"});
  } else if (detached) {
    answer.reasons.push_back(
        {fmt::format(
             "{} and {} stand in different buildings, and no outer wall of the one faces the other's within {:g} "
             "m with nothing between: a run would have to go round outdoors, which is not drawn.",
             named(request.from.room), named(request.to.room), kOutdoorsM),
         "arithmetic"});
  } else {
    answer.reasons.push_back(
        {"The rooms as drawn give no way from one to the other, whatever is released.", "arithmetic"});
  }
  return answer;
}

}  // namespace lathbook::fabric
