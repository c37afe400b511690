#include "waste/load.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <unordered_map>

namespace lathbook::waste {
namespace {

constexpr std::int64_t kSearchSteps = 2'500'000;  // in all; each number of trips tried may use half of what is left
constexpr std::int64_t kLayoutWork = 8'000'000;
constexpr double kHair = 1e-9;  // relative: a load of exactly the payload goes

/// Pieces that are the same in every way that matters, whatever their ids.
struct Kind {
  Sheet sheet;
  double mass_kg = 0;
  int count = 0;
  std::vector<std::pair<std::string, int>> ids;  ///< in the order given
};

/// The quantities of which each trip takes a limited amount, as shares of the limit. Infinite limits drop out as zeros.
constexpr std::size_t kQuantities = 4;  // mass, number, volume, height of the pile
using Shares = std::array<double, kQuantities>;

class Search {
 public:
  Search(std::vector<Kind> kinds, const LoadVehicle& vehicle, double mass_limit_kg, std::optional<int> most_pieces,
         std::optional<double> pile_limit_m)
      : kinds_(std::move(kinds)), layouts_(sheets(kinds_), vehicle.inside, kLayoutWork) {
    const double volume = vehicle.inside.length_m * vehicle.inside.width_m * vehicle.inside.height_m;
    for (const auto& kind : kinds_) {
      const auto& sheet = kind.sheet;
      shares_.push_back({kind.mass_kg / mass_limit_kg, most_pieces ? 1.0 / *most_pieces : 0.0,
                         sheet.length_m * sheet.width_m * sheet.thickness_m / volume,
                         pile_limit_m ? sheet.thickness_m / *pile_limit_m : 0.0});
    }
  }

  /// The packing with the fewest trips found.
  void run() {
    Counts all;
    for (const auto& kind : kinds_) all.push_back(kind.count);
    at_least_ = bound(all);
    const auto fallback = first_fit(all);
    int trips = at_least_;
    proved_ = true;
    for (;; ++trips) {
      if (trips >= static_cast<int>(fallback.size())) {
        trips_ = fallback;
        break;
      }
      trips_.clear();
      hopeless_.clear();
      unsure_ = false;
      steps_ = left_ / 2;
      left_ -= steps_;
      const bool packed = pack(all, trips);
      left_ += std::max<std::int64_t>(0, steps_);
      if (packed) {
        std::ranges::reverse(trips_);  // written down on the way back
        break;
      }
      // Not every way was seen: this number of trips may still do.
      if (unsure_ || steps_ <= 0) proved_ = false;
      if (proved_) at_least_ = trips + 1;
    }
    if (static_cast<int>(trips_.size()) == at_least_) proved_ = true;
  }

  [[nodiscard]] const std::vector<Counts>& trips() const { return trips_; }
  [[nodiscard]] bool proved() const { return proved_; }
  [[nodiscard]] int at_least() const { return at_least_; }
  [[nodiscard]] std::vector<Pile> layout(const Counts& trip) { return layouts_.layout(trip); }
  [[nodiscard]] const std::vector<Kind>& kinds() const { return kinds_; }

  [[nodiscard]] bool goes(const Counts& trip) {
    for (const double share : used(trip)) {
      if (share > 1 + kHair) return false;
    }
    --steps_;
    const Fits fits = layouts_.fits(trip);
    unsure_ = unsure_ || fits == Fits::kUnknown;
    return fits == Fits::kYes;
  }

 private:
  static std::vector<Sheet> sheets(const std::vector<Kind>& kinds) {
    std::vector<Sheet> out;
    for (const auto& kind : kinds) out.push_back(kind.sheet);
    return out;
  }

  [[nodiscard]] Shares used(const Counts& counts) const {
    Shares sum{};
    for (std::size_t i = 0; i < counts.size(); ++i) {
      for (std::size_t q = 0; q < kQuantities; ++q) sum[q] += counts[i] * shares_[i][q];
    }
    return sum;
  }

  /// Trips that any arrangement needs.
  [[nodiscard]] int bound(const Counts& counts) const {
    int most = 0;
    const Shares sum = used(counts);
    for (std::size_t q = 0; q < kQuantities; ++q)
      most = std::max(most, static_cast<int>(std::ceil(sum[q] - kHair * (1 + sum[q]))));
    // L2 for the mass: pieces above a half never share; those above 1 − a share with nothing of a or more.
    for (std::size_t at = 0; at < counts.size(); ++at) {
      const double a = shares_[at][0];
      if (counts[at] == 0 || a > 0.5) continue;
      int alone = 0, half = 0;
      double half_mass = 0, small_mass = 0;
      for (std::size_t i = 0; i < counts.size(); ++i) {
        const double share = shares_[i][0];
        if (share > 1 - a + kHair) {
          alone += counts[i];
        } else if (share > 0.5 + kHair) {
          half += counts[i];
          half_mass += counts[i] * share;
        } else if (share >= a - kHair) {
          small_mass += counts[i] * share;
        }
      }
      const double over = small_mass - (half - half_mass);
      most = std::max(most, alone + half + static_cast<int>(std::max(0.0, std::ceil(over - kHair * (1 + small_mass)))));
    }
    if (most == 0 && std::ranges::any_of(counts, [](int n) { return n > 0; })) most = 1;
    return most;
  }

  /// Each trip filled with what still goes, heaviest first: never the worst plan, and one to fall back on.
  [[nodiscard]] std::vector<Counts> first_fit(Counts left) {
    std::vector<Counts> trips;
    while (std::ranges::any_of(left, [](int n) { return n > 0; })) {
      Counts trip(left.size(), 0);
      for (std::size_t i = 0; i < left.size(); ++i) {
        int n = std::min(left[i], room(trip, i));
        trip[i] = n;
        while (trip[i] > 0 && !goes(trip)) --trip[i];
        left[i] -= trip[i];
      }
      trips.push_back(std::move(trip));
    }
    return trips;
  }

  /// How many of kind `i` the limited quantities still leave room for.
  [[nodiscard]] int room(const Counts& trip, std::size_t i) const {
    const Shares sum = used(trip);
    double most = std::numeric_limits<int>::max();
    for (std::size_t q = 0; q < kQuantities; ++q) {
      if (shares_[i][q] > 0) most = std::min(most, std::floor((1 + kHair - sum[q]) / shares_[i][q] + kHair));
    }
    return std::max(0, static_cast<int>(most));
  }

  bool pack(const Counts& left, int trips) {
    if (std::ranges::all_of(left, [](int n) { return n == 0; })) return true;
    if (trips == 0 || bound(left) > trips) return false;
    if (--steps_ <= 0) return false;
    if (const auto found = hopeless_.find(left_key(left)); found != hopeless_.end() && found->second >= trips)
      return false;
    // What this trip must take so that the rest can hold the remainder.
    const Shares whole = used(left);
    Shares needed{};
    for (std::size_t q = 0; q < kQuantities; ++q) needed[q] = whole[q] - (trips - 1) * (1 + kHair) - kHair;
    const auto lead = static_cast<std::size_t>(std::ranges::find_if(left, [](int n) { return n > 0; }) - left.begin());
    Counts trip(left.size(), 0);
    Shares ahead{};  // of kinds not yet decided
    ahead = whole;
    if (choose(left, trips, lead, lead, trip, Shares{}, ahead, needed)) return true;
    if (steps_ > 0) hopeless_[left_key(left)] = std::max(hopeless_[left_key(left)], trips);
    return false;
  }

  /// Decides how many of kind `i` and on; tries the fullest trips first.
  bool choose(const Counts& left, int trips, std::size_t lead, std::size_t i, Counts& trip, Shares taken, Shares ahead,
              const Shares& needed) {
    if (--steps_ <= 0) return false;
    for (std::size_t q = 0; q < kQuantities; ++q) {
      if (taken[q] + ahead[q] < needed[q]) return false;
    }
    while (i < left.size() && left[i] == 0) ++i;
    if (i == left.size()) {
      if (!largest(left, trip)) return false;
      Counts rest(left.size());
      for (std::size_t k = 0; k < left.size(); ++k) rest[k] = left[k] - trip[k];
      if (!pack(rest, trips - 1)) return false;
      trips_.push_back(trip);
      return true;
    }
    for (std::size_t q = 0; q < kQuantities; ++q) ahead[q] -= left[i] * shares_[i][q];
    int n = std::min(left[i], room(trip, i));
    for (; n >= (i == lead ? 1 : 0); --n) {
      trip[i] = n;
      // Whatever is decided later only adds to this trip, so one that does not go now never will.
      if (n > 0 && !goes(trip)) continue;
      Shares more = taken;
      for (std::size_t q = 0; q < kQuantities; ++q) more[q] += n * shares_[i][q];
      if (choose(left, trips, lead, i + 1, trip, more, ahead, needed)) return true;
      if (steps_ <= 0) break;
    }
    trip[i] = 0;
    return false;
  }

  /// No piece that is left could come along too: otherwise the same trip with it serves at least as well.
  bool largest(const Counts& left, Counts& trip) {
    for (std::size_t i = 0; i < left.size(); ++i) {
      if (trip[i] >= left[i]) continue;
      ++trip[i];
      const bool more = goes(trip);
      --trip[i];
      if (more) return false;
    }
    return true;
  }

  static std::string left_key(const Counts& left) {
    std::string key;
    for (const int n : left) {
      key += static_cast<char>(n & 0xFF);
      key += static_cast<char>((n >> 8) & 0xFF);
    }
    return key;
  }

  std::vector<Kind> kinds_;
  std::vector<Shares> shares_;
  Layouts layouts_;
  std::unordered_map<std::string, int> hopeless_;
  std::vector<Counts> trips_;
  std::int64_t left_ = kSearchSteps;
  std::int64_t steps_ = 0;
  bool unsure_ = false;
  bool proved_ = false;
  int at_least_ = 0;
};

Sheet sorted_sheet(const LoadPiece& piece) {
  std::array<double, 3> sides = {piece.length_m, piece.width_m, piece.thickness_m};
  std::ranges::sort(sides, std::greater{});
  return {sides[0], sides[1], sides[2]};
}

std::string metres(double value) { return fmt::format("{:.2f} m", value); }

/// Why a piece does not go even alone; nothing when it does.
std::optional<WillNotGo> refused(const LoadPiece& piece, const LoadVehicle& vehicle, const SiteLimits& site) {
  std::vector<std::string> why, take;
  const Sheet sheet = sorted_sheet(piece);
  const auto over = [](double value, double limit) { return value > limit * (1 + kHair); };
  if (over(piece.mass_kg, vehicle.payload_kg)) {
    why.push_back(fmt::format("weighs {:g} kg and the payload is {:g} kg", piece.mass_kg, vehicle.payload_kg));
    take.push_back(fmt::format("a vehicle with a payload of {:g} kg or more", piece.mass_kg));
  }
  Layouts alone({sheet}, vehicle.inside);
  if (alone.fits({1}) != Fits::kYes) {
    why.push_back(fmt::format("{} × {} × {:.3f} m lies neither flat, on edge nor leaning in {} × {} × {}",
                              metres(sheet.length_m), metres(sheet.width_m), sheet.thickness_m,
                              metres(vehicle.inside.length_m), metres(vehicle.inside.width_m),
                              metres(vehicle.inside.height_m)));
    take.push_back(fmt::format("a load space {} long and {} wide (flat) or high (on edge)", metres(sheet.length_m),
                               metres(sheet.width_m)));
  }
  if (vehicle.door_width_m || vehicle.door_height_m) {
    const double door_width = vehicle.door_width_m.value_or(vehicle.inside.width_m);
    const double door_height = vehicle.door_height_m.value_or(vehicle.inside.height_m);
    if (!goes_into({sheet.width_m, sheet.thickness_m}, {door_width, door_height})) {
      why.push_back(fmt::format("{} wide does not pass a door opening of {} × {}", metres(sheet.width_m),
                                metres(door_width), metres(door_height)));
      take.push_back(fmt::format("a door opening {} wide, or as much across its corners", metres(sheet.width_m)));
    }
  }
  const auto too_large = [&](const char* what, double size, const std::optional<double>& limit) {
    if (!limit || size <= *limit + kSameLength_m) return;
    why.push_back(fmt::format("is {} {} and the site takes up to {}", metres(size), what, metres(*limit)));
    take.push_back("another site, or a licensed carrier: it must not be cut");
  };
  if (site.length_m && site.width_m) {
    too_large("long", sheet.length_m, std::max(*site.length_m, *site.width_m));
    too_large("wide", sheet.width_m, std::min(*site.length_m, *site.width_m));
  } else {
    too_large("long", sheet.length_m, site.length_m);
    too_large("wide", sheet.width_m, site.width_m);
  }
  too_large("thick", sheet.thickness_m, site.height_m);
  if (site.mass_kg && over(piece.mass_kg, *site.mass_kg)) {
    why.push_back(fmt::format("weighs {:g} kg and the site takes {:g} kg a visit", piece.mass_kg, *site.mass_kg));
    take.push_back("another site, or a licensed carrier: it must not be cut");
  }
  if (why.empty()) return std::nullopt;
  std::vector<std::string> once;
  for (auto& one : take) {
    if (std::ranges::find(once, one) == once.end()) once.push_back(std::move(one));
  }
  return WillNotGo{piece.id, fmt::format("{}", fmt::join(why, "; ")), fmt::format("{}", fmt::join(once, "; "))};
}

reason::Faults faults_of(const std::vector<LoadPiece>& pieces, const LoadVehicle& vehicle, const SiteLimits& site) {
  reason::Faults faults;
  const auto positive = [&](const std::string& where, double value) {
    if (!(value > 0 && std::isfinite(value))) {
      faults.push_back(
          {.where = where, .value = fmt::format("{:g}", value), .problem = "is nothing", .allowed = "more than 0"});
    }
  };
  std::set<std::string> ids;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const auto at = [&](const char* field) { return fmt::format("/pieces/{}/{}", i, field); };
    if (!ids.insert(pieces[i].id).second)
      faults.push_back(
          {.where = at("id"), .value = pieces[i].id, .problem = "is used twice", .allowed = "an id of its own"});
    positive(at("length_m"), pieces[i].length_m);
    positive(at("width_m"), pieces[i].width_m);
    positive(at("thickness_m"), pieces[i].thickness_m);
    positive(at("mass_kg"), pieces[i].mass_kg);
    if (pieces[i].count < 1 || pieces[i].count > 10000) {
      faults.push_back({.where = at("count"),
                        .value = fmt::format("{}", pieces[i].count),
                        .problem = "is no count",
                        .allowed = "1 to 10000"});
    }
  }
  positive("/vehicle/length_m", vehicle.inside.length_m);
  positive("/vehicle/width_m", vehicle.inside.width_m);
  positive("/vehicle/height_m", vehicle.inside.height_m);
  positive("/vehicle/payload_kg", vehicle.payload_kg);
  if (vehicle.door_width_m) positive("/vehicle/door_width_m", *vehicle.door_width_m);
  if (vehicle.door_height_m) positive("/vehicle/door_height_m", *vehicle.door_height_m);
  if (site.pieces) positive("/site/pieces", *site.pieces);
  if (site.mass_kg) positive("/site/mass_kg", *site.mass_kg);
  if (site.length_m) positive("/site/length_m", *site.length_m);
  if (site.width_m) positive("/site/width_m", *site.width_m);
  if (site.height_m) positive("/site/height_m", *site.height_m);
  if (site.visits_per_month) positive("/site/visits_per_month", *site.visits_per_month);
  return faults;
}

/// Alike pieces together, the heaviest share of a trip first.
std::vector<Kind> kinds_of(const std::vector<const LoadPiece*>& pieces) {
  std::vector<Kind> kinds;
  for (const auto* piece : pieces) {
    const Sheet sheet = sorted_sheet(*piece);
    const auto same = std::ranges::find_if(kinds, [&](const Kind& kind) {
      return kind.sheet.length_m == sheet.length_m && kind.sheet.width_m == sheet.width_m &&
             kind.sheet.thickness_m == sheet.thickness_m && kind.mass_kg == piece->mass_kg;
    });
    Kind& kind = same == kinds.end()
                     ? kinds.emplace_back(Kind{.sheet = sheet, .mass_kg = piece->mass_kg, .count = 0, .ids = {}})
                     : *same;
    kind.count += piece->count;
    kind.ids.emplace_back(piece->id, piece->count);
  }
  std::ranges::stable_sort(kinds, std::greater{}, [](const Kind& kind) {
    return std::pair(kind.mass_kg, kind.sheet.length_m * kind.sheet.width_m * kind.sheet.thickness_m);
  });
  return kinds;
}

}  // namespace

reason::Result<LoadPlan> load_plan(const std::vector<LoadPiece>& pieces, const LoadVehicle& vehicle,
                                   const SiteLimits& site) {
  if (auto faults = faults_of(pieces, vehicle, site); !faults.empty()) return faults;
  LoadPlan plan;
  std::vector<const LoadPiece*> going;
  for (const auto& piece : pieces) {
    if (auto no = refused(piece, vehicle, site)) {
      plan.will_not_go.push_back(std::move(*no));
    } else {
      going.push_back(&piece);
    }
  }
  const double mass_limit = std::min(vehicle.payload_kg, site.mass_kg.value_or(vehicle.payload_kg));
  Search search(kinds_of(going), vehicle, mass_limit, site.pieces, site.height_m);
  search.run();
  plan.proved_fewest = search.proved();
  plan.at_least = search.at_least();

  auto ids = search.kinds();  // handed out in the order given
  std::vector<std::size_t> next(ids.size(), 0);
  for (const auto& counts : search.trips()) {
    Trip trip;
    std::map<std::pair<std::string, How>, std::size_t> lines;
    for (const auto& pile : search.layout(counts)) {
      TripPile drawn{pile.how, pile.x_m, pile.y_m, pile.size_x_m, pile.size_y_m, pile.height_m, {}};
      for (const auto kind : pile.sheets) {
        auto& [id, left] = ids[kind].ids[next[kind]];
        if (const auto [line, added] = lines.emplace(std::pair(id, pile.how), trip.pieces.size()); added) {
          trip.pieces.push_back({id, 1, pile.how});
        } else {
          ++trip.pieces[line->second].count;
        }
        drawn.pieces.push_back(id);
        trip.mass_kg += ids[kind].mass_kg;
        if (--left == 0) ++next[kind];
      }
      trip.piles.push_back(std::move(drawn));
    }
    plan.trips.push_back(std::move(trip));
  }
  const auto trips = static_cast<int>(plan.trips.size());
  if (site.visits_per_month) plan.months = (trips + *site.visits_per_month - 1) / *site.visits_per_month;

  plan.reasons.push_back({fmt::format("Payload {:g} kg; pieces whole, in piles side by side: flat, on edge or leaning.",
                                      vehicle.payload_kg),
                          "arithmetic"});
  if (site.pieces || site.mass_kg || site.length_m || site.width_m || site.height_m) {
    plan.reasons.push_back(
        {"The site's limits for one visit were kept; ask your site whether they still hold.", "judgement"});
  }
  if (plan.proved_fewest) {
    plan.reasons.push_back(
        {fmt::format("No arrangement of this kind needs fewer than {} trip(s).", trips), "martello-toth-1990"});
  } else {
    plan.reasons.push_back(
        {fmt::format("{} trips found; at least {} are needed; whether fewer than {} would do was not settled.", trips,
                     plan.at_least, trips),
         "martello-toth-1990"});
  }
  if (plan.months && *plan.months > 1)
    plan.reasons.push_back(
        {fmt::format("{} visit(s) a month spread them over {} months.", *site.visits_per_month, *plan.months),
         "arithmetic"});
  plan.reasons.push_back({"Nothing is cut or broken to fit: breaking a sheet frees fibres.", "common-practice"});
  return plan;
}

}  // namespace lathbook::waste
