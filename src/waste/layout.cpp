#include "waste/layout.h"

#include <algorithm>
#include <array>
#include <map>
#include <numeric>
#include <span>
#include <stdexcept>

namespace lathbook::waste {
namespace {

bool within(double length, double room) { return length <= room + kSameLength_m; }

/// The floor a set of pieces takes up: x along the vehicle, y across it.
struct Footprint {
  double x = 0;
  double y = 0;
};

/// The smallest footprints of a set: x rising, y falling.
using Front = std::vector<Footprint>;
using FrontView = std::span<const Footprint>;

void add(Front& front, Footprint one) {
  // The last that is no longer than `one` is the narrowest of those.
  std::size_t after = 0;
  while (after < front.size() && within(front[after].x, one.x)) ++after;
  if (after > 0 && within(front[after - 1].y, one.y)) return;
  std::size_t from = after;
  while (from > 0 && within(one.x, front[from - 1].x)) --from;
  std::size_t to = from;
  while (to < front.size() && within(one.y, front[to].y)) ++to;
  if (from == to) {
    front.insert(front.begin() + static_cast<std::ptrdiff_t>(from), one);
  } else {
    front[from] = one;
    front.erase(front.begin() + static_cast<std::ptrdiff_t>(from) + 1, front.begin() + static_cast<std::ptrdiff_t>(to));
  }
}

/// Two parts one behind the other and side by side, as far as they stay on the floor. Each staircase is walked once.
void add_both_ways(Front& front, FrontView a, FrontView b, const Box& floor) {
  for (std::size_t i = 0, j = 0; i < a.size() && j < b.size();) {
    const double x = a[i].x + b[j].x;
    if (!within(x, floor.length_m)) break;
    add(front, {x, std::max(a[i].y, b[j].y)});
    // Only the wider part can make the whole narrower.
    const bool step_a = a[i].y >= b[j].y, step_b = b[j].y >= a[i].y;
    i += step_a;
    j += step_b;
  }
  for (std::size_t i = a.size(), j = b.size(); i > 0 && j > 0;) {
    const double y = a[i - 1].y + b[j - 1].y;
    if (!within(y, floor.width_m)) break;
    add(front, {std::max(a[i - 1].x, b[j - 1].x), y});
    const bool step_a = a[i - 1].x >= b[j - 1].x, step_b = b[j - 1].x >= a[i - 1].x;
    i -= step_a;
    j -= step_b;
  }
}

struct Some {
  std::size_t kind = 0;
  int count = 0;
};

/// What a pile needs to know of its pieces.
struct Gathered {
  double longest = 0;
  double widest = 0;
  double thick = 0;
  bool each_askew = true;
};

struct PileWay {
  How how = How::kFlat;
  Footprint footprint;
  double height = 0;
};

/// Pieces in a row, and for each run of them its smallest footprints when every cut falls between neighbours.
struct Runs {
  std::vector<std::size_t> pieces;
  std::vector<Front> fronts;

  [[nodiscard]] const Front& of(std::size_t from, std::size_t to) const {
    return fronts[from * (pieces.size() + 1) + to];
  }
};

constexpr std::size_t kLongestRow = 40;
constexpr double kQuickWork = 1e4;  // splits of a set and those within it, soon done

}  // namespace

const char* word(How how) {
  switch (how) {
    case How::kFlat:
      return "flat";
    case How::kOnEdge:
      return "on edge";
    case How::kLeaning:
      return "leaning";
  }
  throw std::logic_error("no such way to lie");
}

struct Layouts::State {
  std::vector<Sheet> kinds;
  Box box;
  std::int64_t work_limit;
  std::int64_t work = 0;
  std::vector<bool> askew;  ///< goes on the empty floor, turned any way

  // What is known, as a tree: from the empty set one piece a step, kinds in rising order. Sets that do not go are one
  // shared leaf.
  using Id = std::uint32_t;
  static constexpr Id kUnknown = 0, kNever = 1, kEmpty = 2;
  struct Set {
    std::size_t from = 0;  ///< its footprints in `pool`
    std::size_t size = 0;
    std::size_t row = 0;  ///< where in `children` its steps are; 0 = none known
  };
  std::vector<Set> sets = std::vector<Set>(3);
  std::vector<Id> children = {kUnknown};
  std::vector<Footprint> pool;
  std::map<Counts, Fits> rough;  ///< of sets too large to settle

  State(std::vector<Sheet> sheets, Box inside, std::int64_t limit)
      : kinds(std::move(sheets)), box(inside), work_limit(limit) {
    for (const auto& kind : kinds) {
      askew.push_back(goes_into({kind.length_m, kind.width_m}, {box.length_m, box.width_m}));
    }
  }

  [[nodiscard]] static std::vector<Some> pieces_of(const Counts& counts) {
    std::vector<Some> set;
    for (std::size_t i = 0; i < counts.size(); ++i) {
      if (counts[i] > 0) set.push_back({i, counts[i]});
    }
    return set;
  }

  [[nodiscard]] Id child(Id set, std::size_t kind) const {
    const std::size_t row = sets[set].row;
    return row == 0 ? kUnknown : children[row + kind];
  }

  void set_child(Id set, std::size_t kind, Id to) {
    if (sets[set].row == 0) {
      sets[set].row = children.size();
      children.resize(children.size() + kinds.size(), kUnknown);
    }
    children[sets[set].row + kind] = to;
  }

  /// What is known of a set: its id, kNever if it or a set on the way to it does not go, else kUnknown.
  [[nodiscard]] Id find(std::span<const Some> set) const {
    Id at = kEmpty;
    for (const auto& [kind, count] : set) {
      for (int n = 0; n < count && at > kNever; ++n) at = child(at, kind);
    }
    return at;
  }

  [[nodiscard]] bool too_big(std::span<const Some> set) const {
    double volume = 0;
    for (const auto& [kind, count] : set) {
      volume += count * kinds[kind].length_m * kinds[kind].width_m * kinds[kind].thickness_m;
    }
    return volume > box.length_m * box.width_m * box.height_m * (1 + 1e-9);
  }

  void gather(Gathered& pile, std::size_t kind, int count) const {
    pile.longest = std::max(pile.longest, kinds[kind].length_m);
    pile.widest = std::max(pile.widest, kinds[kind].width_m);
    pile.thick += count * kinds[kind].thickness_m;
    pile.each_askew = pile.each_askew && askew[kind];
  }

  [[nodiscard]] Gathered gathered(std::span<const Some> set) const {
    Gathered pile;
    for (const auto& [kind, count] : set) gather(pile, kind, count);
    return pile;
  }

  /// Every way in which a pile stays inside the vehicle, the plainest first, until `take` returns true.
  template <class Take>
  bool each_way(const Gathered& pile, Take take) const {
    const auto offer = [&](bool stands, double x, double y, How how, double height) {
      return stands && within(x, box.length_m) && within(y, box.width_m) && take(PileWay{how, {x, y}, height});
    };
    const double longest = pile.longest, widest = pile.widest, thick = pile.thick;
    const bool below_roof = within(thick, box.height_m);
    if (offer(below_roof, longest, widest, How::kFlat, thick)) return true;
    if (offer(below_roof, widest, longest, How::kFlat, thick)) return true;
    if (offer(below_roof && pile.each_askew, box.length_m, box.width_m, How::kFlat, thick)) return true;
    const std::array<std::pair<double, double>, 2> edges = {std::pair(longest, widest), std::pair(widest, longest)};
    for (const auto& [along, up] : edges) {
      if (offer(within(up, box.height_m), along, thick, How::kOnEdge, up)) return true;
      if (offer(within(up, box.height_m), thick, along, How::kOnEdge, up)) return true;
    }
    for (const auto& [along, up] : edges) {
      if (offer(goes_into({up, thick}, {box.width_m, box.height_m}), along, box.width_m, How::kLeaning, box.height_m))
        return true;
      if (offer(goes_into({up, thick}, {box.length_m, box.height_m}), box.length_m, along, How::kLeaning, box.height_m))
        return true;
    }
    return false;
  }

  [[nodiscard]] bool one_pile(std::span<const Some> set) const {
    return each_way(gathered(set), [](const PileWay&) { return true; });
  }

  void add_piles(Front& front, const Gathered& pile) const {
    each_way(pile, [&](const PileWay& way) {
      add(front, way.footprint);
      return false;
    });
  }

  [[nodiscard]] FrontView view(Id set) const {
    return {pool.data() + sets[set].from, pool.data() + sets[set].from + sets[set].size};
  }

  /// Splits of the set and of all sets within it.
  [[nodiscard]] static double exact_work(std::span<const Some> set) {
    double product = 0.5;
    for (const auto& some : set) product *= (some.count + 1.0) * (some.count + 2.0) / 2;
    return product;
  }

  /// All sets within a set, itself the last: the n-th has as many of each kind as n has in that place, the first kind
  /// in the lowest. What is left beside the n-th is the n-th from the end.
  struct Within {
    std::span<const Some> set;
    std::vector<std::size_t> place;  ///< what one piece of each adds to n
    std::size_t size = 1;

    explicit Within(std::span<const Some> of) : set(of) {
      for (const auto& some : set) {
        place.push_back(size);
        size *= static_cast<std::size_t>(some.count) + 1;
      }
    }
    [[nodiscard]] std::vector<Some> at(std::size_t n) const {
      std::vector<Some> out;
      for (std::size_t i = 0; i < set.size(); ++i) {
        const std::size_t count = n / place[i] % (static_cast<std::size_t>(set[i].count) + 1);
        if (count > 0) out.push_back({set[i].kind, static_cast<int>(count)});
      }
      return out;
    }
  };

  /// Ids of all sets within one of which they are all known and go, itself perhaps not.
  void ids_within(const Within& within, std::vector<Id>& ids) const {
    ids.assign(within.size, kEmpty);
    for (std::size_t i = 0; i < within.set.size(); ++i) {
      const std::size_t place = within.place[i];
      const std::size_t end = place * (static_cast<std::size_t>(within.set[i].count) + 1);
      for (std::size_t n = place; n < end; ++n) ids[n] = child(ids[n - place], within.set[i].kind);
    }
  }

  /// Works out the footprints of a set, all sets within it being known and going; `before` is it without one piece of
  /// its last kind.
  Id work_out(std::span<const Some> set, Id before) {
    const Within within(set);
    work += static_cast<std::int64_t>(1 + within.size / 2);
    ids_within(within, ids_);
    Front front;
    add_piles(front, gathered(set));
    const std::size_t whole = within.size - 1;
    for (std::size_t n = 1; n <= whole / 2; ++n) add_both_ways(front, view(ids_[n]), view(ids_[whole - n]), box);
    Id id = kNever;
    if (!front.empty()) {
      id = static_cast<Id>(sets.size());
      sets.push_back({.from = pool.size(), .size = front.size(), .row = 0});
      pool.insert(pool.end(), front.begin(), front.end());
    }
    set_child(before, set.back().kind, id);
    return id;
  }

  /// The id of a set, kNever when it does not go, kUnknown when the work ran out on the way.
  Id settle(std::span<const Some> set) {
    if (const Id known = find(set); known != kUnknown) return known;
    const Within within(set);
    std::vector<Id> ids(within.size, kEmpty);
    for (std::size_t i = 0; i < set.size(); ++i) {
      const std::size_t place = within.place[i];
      const std::size_t end = place * (static_cast<std::size_t>(set[i].count) + 1);
      for (std::size_t n = place; n < end; ++n) {
        const Id before = ids[n - place];
        ids[n] = child(before, set[i].kind);
        if (ids[n] == kUnknown) {
          if (work > work_limit) return kUnknown;
          ids[n] = work_out(within.at(n), before);
        }
        // What does not go without some of its pieces does not go with them.
        if (ids[n] == kNever) return kNever;
      }
    }
    return ids.back();
  }

  /// The pieces of a set in a row, by falling `measure`.
  template <class Measure>
  [[nodiscard]] std::vector<std::size_t> in_a_row(std::span<const Some> set, Measure measure) const {
    std::vector<std::size_t> row;
    for (const auto& some : set) row.insert(row.end(), static_cast<std::size_t>(some.count), some.kind);
    std::ranges::stable_sort(row, std::greater{}, [&](std::size_t kind) { return measure(kinds[kind]); });
    return row;
  }

  [[nodiscard]] std::array<std::vector<std::size_t>, 4> rows(std::span<const Some> set) const {
    return {in_a_row(set, [](const Sheet& one) { return one.length_m; }),
            in_a_row(set, [](const Sheet& one) { return one.width_m; }),
            in_a_row(set, [](const Sheet& one) { return one.thickness_m; }),
            in_a_row(set, [](const Sheet& one) { return one.length_m * one.width_m; })};
  }

  [[nodiscard]] Runs runs(std::vector<std::size_t> row) const {
    Runs out;
    out.pieces = std::move(row);
    const std::size_t n = out.pieces.size();
    out.fronts.resize(n * (n + 1));
    for (std::size_t length = 1; length <= n; ++length) {
      for (std::size_t from = 0; from + length <= n; ++from) {
        const std::size_t to = from + length;
        Front& front = out.fronts[from * (n + 1) + to];
        Gathered pile;
        for (std::size_t k = from; k < to; ++k) gather(pile, out.pieces[k], 1);
        add_piles(front, pile);
        for (std::size_t cut = from + 1; cut < to; ++cut) {
          add_both_ways(front, out.of(from, cut), out.of(cut, to), box);
        }
      }
    }
    return out;
  }

  /// A way for a set too large to look at every split of it.
  Fits roughly(std::span<const Some> set) {
    std::size_t pieces = 0;
    for (const auto& some : set) pieces += static_cast<std::size_t>(some.count);
    if (pieces > kLongestRow) return Fits::kUnknown;
    for (auto& row : rows(set)) {
      work += static_cast<std::int64_t>(pieces * pieces * pieces / 6);
      if (work > work_limit) return Fits::kUnknown;
      if (!runs(std::move(row)).of(0, pieces).empty()) return Fits::kYes;
    }
    return Fits::kUnknown;
  }

  Fits fits(const Counts& counts) {
    const auto set = pieces_of(counts);
    if (set.empty()) return Fits::kYes;
    if (const Id id = find(set); id != kUnknown) return id == kNever ? Fits::kNo : Fits::kYes;
    if (too_big(set)) return Fits::kNo;
    if (one_pile(set)) return Fits::kYes;
    const double exact = exact_work(set);
    if (exact <= kQuickWork) {
      if (const Id id = settle(set); id != kUnknown) return id == kNever ? Fits::kNo : Fits::kYes;
    }
    // A large set is most quickly found to go by a row of its pieces; only when that fails is it worth the whole work.
    if (const auto found = rough.find(counts); found != rough.end()) return found->second;
    Fits answer = roughly(set);
    if (answer == Fits::kUnknown && exact > kQuickWork && exact <= kExactWork) {
      if (const Id id = settle(set); id != kUnknown) answer = id == kNever ? Fits::kNo : Fits::kYes;
    }
    return rough.emplace(counts, answer).first->second;
  }

  /// One pile of the set within the limits, if there is one.
  bool place_pile(std::span<const Some> set, Footprint limit, Footprint at, std::vector<Pile>& out) const {
    return each_way(gathered(set), [&](const PileWay& way) {
      if (!within(way.footprint.x, limit.x) || !within(way.footprint.y, limit.y)) return false;
      Pile pile{.how = way.how,
                .x_m = at.x,
                .y_m = at.y,
                .size_x_m = way.footprint.x,
                .size_y_m = way.footprint.y,
                .height_m = way.height,
                .sheets = {}};
      std::vector<Some> by_area(set.begin(), set.end());
      std::ranges::stable_sort(by_area, std::greater{},
                               [&](const Some& some) { return kinds[some.kind].length_m * kinds[some.kind].width_m; });
      for (const auto& some : by_area)
        pile.sheets.insert(pile.sheets.end(), static_cast<std::size_t>(some.count), some.kind);
      out.push_back(std::move(pile));
      return true;
    });
  }

  /// A footprint of each part that together stay within the limit, and where the second part then begins.
  struct Halves {
    Footprint first;
    Footprint second;
    bool along = false;
  };
  static bool halves(FrontView a, FrontView b, Footprint limit, Halves& found) {
    for (const auto& one : a) {
      for (const auto& two : b) {
        const bool along = within(one.x + two.x, limit.x) && within(std::max(one.y, two.y), limit.y);
        const bool across = within(std::max(one.x, two.x), limit.x) && within(one.y + two.y, limit.y);
        if (!along && !across) continue;
        found = {one, two, along};
        return true;
      }
    }
    return false;
  }

  static Footprint beyond(Footprint at, const Halves& found) {
    return found.along ? Footprint{at.x + found.first.x, at.y} : Footprint{at.x, at.y + found.first.y};
  }

  void place(const std::vector<Some>& set, Footprint limit, Footprint at, std::vector<Pile>& out) const {
    if (place_pile(set, limit, at, out)) return;
    const Within within(set);
    std::vector<Id> ids;
    ids_within(within, ids);
    const std::size_t whole = within.size - 1;
    for (std::size_t n = 1; n <= whole / 2; ++n) {
      Halves found;
      if (!halves(view(ids[n]), view(ids[whole - n]), limit, found)) continue;
      place(within.at(n), found.first, at, out);
      place(within.at(whole - n), found.second, beyond(at, found), out);
      return;
    }
    throw std::logic_error("a layout was asked for that does not fit");
  }

  void place_run(const Runs& row, std::size_t from, std::size_t to, Footprint limit, Footprint at,
                 std::vector<Pile>& out) const {
    std::vector<Some> set;
    for (std::size_t k = from; k < to; ++k) set.push_back({row.pieces[k], 1});
    if (place_pile(set, limit, at, out)) return;
    for (std::size_t cut = from + 1; cut < to; ++cut) {
      Halves found;
      if (!halves(row.of(from, cut), row.of(cut, to), limit, found)) continue;
      place_run(row, from, cut, found.first, at, out);
      place_run(row, cut, to, found.second, beyond(at, found), out);
      return;
    }
    throw std::logic_error("a row was to be laid out that does not fit");
  }

  [[nodiscard]] std::vector<Pile> layout(const Counts& counts) {
    std::vector<Pile> out;
    const auto set = pieces_of(counts);
    const Footprint floor{box.length_m, box.width_m};
    if (set.empty() || place_pile(set, floor, {}, out)) return out;
    if (find(set) > kNever) {
      place(set, floor, {}, out);
      return out;
    }
    for (auto& row : rows(set)) {
      const Runs tried = runs(std::move(row));
      if (tried.of(0, tried.pieces.size()).empty()) continue;
      place_run(tried, 0, tried.pieces.size(), floor, {}, out);
      return out;
    }
    throw std::logic_error("a layout was asked for that does not fit");
  }

 private:
  std::vector<Id> ids_;  ///< kept between calls for its memory
};

Layouts::Layouts(std::vector<Sheet> kinds, Box box, std::int64_t work_limit)
    : state_(std::make_unique<State>(std::move(kinds), box, work_limit)) {}

Layouts::~Layouts() = default;

Fits Layouts::fits(const Counts& counts) { return state_->fits(counts); }

std::vector<Pile> Layouts::layout(const Counts& counts) { return state_->layout(counts); }

std::int64_t Layouts::work() const { return state_->work; }

}  // namespace lathbook::waste
