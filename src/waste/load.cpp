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

#include "waste/fewest.h"

namespace lathbook::waste {
namespace {

constexpr std::int64_t kSearchWork = 32'000'000;  // some 50 ns each
constexpr std::int64_t kLayoutWork = 32'000'000;
constexpr double kHair = 1e-9;  // relative: a load of exactly the payload goes

/// Pieces that are the same in every way that matters, whatever their ids.
struct Kind {
  Sheet sheet;
  double mass_kg = 0;
  int count = 0;
  std::vector<std::pair<std::string, int>> ids;  ///< in the order given
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
    why.push_back(fmt::format("weighs {:.4g} kg and the payload is {:g} kg", piece.mass_kg, vehicle.payload_kg));
    take.push_back(fmt::format("a vehicle with a payload of {:g} kg or more", std::ceil(10 * piece.mass_kg) / 10));
  }
  Layouts alone({sheet}, vehicle.inside, 1);
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
    why.push_back(fmt::format("weighs {:.4g} kg and the site takes {:g} kg a visit", piece.mass_kg, *site.mass_kg));
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

/// Shares of what a trip may weigh, of how many pieces it may hold and of how high they may pile up.
std::vector<Scale> limits_of(const std::vector<Kind>& kinds, const LoadVehicle& vehicle, const SiteLimits& site) {
  std::vector<Scale> limits(1);
  const double mass_limit_kg = std::min(vehicle.payload_kg, site.mass_kg.value_or(vehicle.payload_kg));
  for (const auto& kind : kinds) limits[0].push_back(kind.mass_kg / mass_limit_kg);
  if (site.pieces) limits.emplace_back(kinds.size(), 1.0 / *site.pieces);
  if (site.height_m) {
    limits.emplace_back();
    for (const auto& kind : kinds) limits.back().push_back(kind.sheet.thickness_m / *site.height_m);
  }
  return limits;
}

Scale volumes(const std::vector<Kind>& kinds, const Box& inside) {
  Scale shares;
  const double whole = inside.length_m * inside.width_m * inside.height_m;
  for (const auto& kind : kinds)
    shares.push_back(kind.sheet.length_m * kind.sheet.width_m * kind.sheet.thickness_m / whole);
  return shares;
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
  auto kinds = kinds_of(going);
  Counts all;
  std::vector<Sheet> sheets;
  for (const auto& kind : kinds) {
    all.push_back(kind.count);
    sheets.push_back(kind.sheet);
  }
  Layouts layouts(sheets, vehicle.inside, kLayoutWork);
  const auto fewest =
      fewest_trips(all, limits_of(kinds, vehicle, site), {volumes(kinds, vehicle.inside)}, layouts, kSearchWork);
  plan.proved_fewest = fewest.proved;
  plan.at_least = fewest.at_least;

  std::vector<std::size_t> next(kinds.size(), 0);  // ids are handed out in the order given
  for (const auto& counts : fewest.trips) {
    Trip trip;
    std::map<std::pair<std::string, How>, std::size_t> lines;
    for (const auto& pile : layouts.layout(counts)) {
      TripPile drawn{pile.how, pile.x_m, pile.y_m, pile.size_x_m, pile.size_y_m, pile.height_m, {}};
      for (const auto kind : pile.sheets) {
        auto& [id, left] = kinds[kind].ids[next[kind]];
        if (const auto [line, added] = lines.emplace(std::pair(id, pile.how), trip.pieces.size()); added) {
          trip.pieces.push_back({id, 1, pile.how});
        } else {
          ++trip.pieces[line->second].count;
        }
        drawn.pieces.push_back(id);
        trip.mass_kg += kinds[kind].mass_kg;
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
  if (trips == 0) {
    if (!plan.will_not_go.empty()) plan.reasons.push_back({"Nothing goes: each piece says why.", "arithmetic"});
  } else if (plan.proved_fewest) {
    plan.reasons.push_back(
        {fmt::format("No arrangement of this kind needs fewer than {} {}.", trips, trips == 1 ? "trip" : "trips"),
         "martello-toth-1990"});
  } else {
    plan.reasons.push_back(
        {fmt::format("{} trips found; at least {} are needed; whether fewer than {} would do was not settled.", trips,
                     plan.at_least, trips),
         "martello-toth-1990"});
  }
  if (plan.months && *plan.months > 1)
    plan.reasons.push_back(
        {fmt::format("{} a month spread them over {} months.",
                     *site.visits_per_month == 1 ? "One visit" : fmt::format("{} visits", *site.visits_per_month),
                     *plan.months),
         "arithmetic"});
  plan.reasons.push_back({"Nothing is cut or broken to fit: breaking a sheet frees fibres.", "common-practice"});
  return plan;
}

}  // namespace lathbook::waste
