#include "event/model.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/special_functions/erf.hpp>
#include <cmath>
#include <map>
#include <set>

#include "air/aerodynamic.h"
#include "air/quick.h"
#include "dose/breathed.h"
#include "reason/units.h"

namespace lathbook::event {
namespace {

using catalogue::AirData;
using catalogue::Lognormal;

constexpr std::size_t kSizes = 5;
constexpr double kDayMin = 24 * 60;
constexpr double kWeekMin = 7 * kDayMin;
constexpr double kShareOfDayAtHome = 16.0 / 24;
constexpr double kLargestNearField = 0.2;  // of the room
constexpr double kSameTimeMin = 1e-9;
constexpr double kFractions[] = {0.001, 0.004, 0.012, 0.03, 0.06, 0.11, 0.19, 0.3, 0.45, 0.62, 0.8, 1.0};

double normal(double chance) { return std::sqrt(2.0) * boost::math::erf_inv(2 * chance - 1); }

double value_of(const Lognormal& one, double z) {
  return one.geometric_mean * std::exp(std::log(one.geometric_sd) * z);
}

/// f at the ends of a time as a sum over the table of times: integral read with a cubic between two of them.
struct Term {
  std::size_t time = 0;
  std::size_t zone = 0;
  double of_integral = 0;
  double of_level = 0;
};
using Probe = std::vector<Term>;

}  // namespace

struct Model::Work {
  Scene scene;
  const AirData* air;
  Layout layout;
  std::vector<Unknown> unknowns;
  double work_end = 0;
  double end = 0;
  double horizon = 0;

  // zones: rooms, then near fields
  std::vector<std::size_t> near_of;  // room -> zone of its near field, or npos
  std::vector<double> volume_m3;
  std::vector<double> floor_m2;
  std::vector<std::pair<std::size_t, std::size_t>> joined;

  struct Phase {
    double from_min = 0;
    double to_min = 0;
    std::vector<std::size_t> work;  // at it
    std::vector<std::size_t> cleaning;
    std::vector<std::vector<std::size_t>> states;  // per join between rooms: one entry per opening, index of the state
    std::vector<bool> window_open;                 // per room
    std::vector<std::size_t> floors;               // that give something off
    std::size_t plan = 0;
    std::vector<std::size_t> times;  // in the table
  };
  std::vector<Phase> phases;
  std::vector<air::QuickPlan> plans;
  std::vector<double> table_min;  // all times computed, rising; reported ones are those of `reported`
  std::vector<double> times_min;
  std::vector<std::size_t> reported;

  struct WindowSet {
    std::vector<Probe> probes;
    double hours = 1;
  };
  std::vector<WindowSet> ten;  // rooms, then people
  std::vector<WindowSet> four;
  std::vector<WindowSet> eight;  // empty unless asked for
  struct Breath {
    Probe probe;
    std::size_t mask = npos;  // index into masks
  };
  std::vector<std::vector<Breath>> breaths;  // per person
  struct MaskUnknown {
    Lognormal protection;
    std::size_t unknown = npos;
    std::optional<double> share;
    std::size_t share_unknown = npos;
    std::size_t beard_unknown = npos;
  };
  std::vector<MaskUnknown> masks;

  // indices into unknowns
  std::vector<std::size_t> emission_unknown;                        // per work
  std::vector<std::map<std::string, std::size_t>> control_unknown;  // per work
  std::map<std::string, std::size_t> place_unknown;
  std::map<std::string, std::size_t> state_unknown;
  std::size_t window_unknown = npos;
  std::size_t near_unknown = npos;
  std::size_t size_unknown = npos;
  std::size_t settling_unknown = npos;
  std::map<std::string, std::size_t> raise_unknown;
  std::vector<std::size_t> clean_unknown;
  AirData::FibreSize fibre;
  std::vector<std::string> state_words;

  static constexpr std::size_t npos = static_cast<std::size_t>(-1);

  std::size_t add(std::string id, std::string what, const std::string& source) {
    for (std::size_t i = 0; i < unknowns.size(); ++i) {
      if (unknowns[i].id == id) return i;
    }
    unknowns.push_back({std::move(id), std::move(what), source});
    return unknowns.size() - 1;
  }

  Work(const Scene& given, const AirData& data, const catalogue::Catalogue& catalogue, bool eight_hours)
      : scene(given), air(&data) {
    layout.eight = eight_hours;
    for (const auto& one : scene.work) work_end = std::max(work_end, one.to_min);
    end = std::max(end_min(scene), work_end);
    horizon = end + kDayMin + kWeekMin;
    make_zones();
    make_unknowns(catalogue);
    make_phases();
    make_times();
    make_probes();
  }

  void make_zones() {
    for (const auto& room : scene.rooms) {
      volume_m3.push_back(room.volume_m3);
      floor_m2.push_back(room.floor_m2);
    }
    near_of.assign(scene.rooms.size(), npos);
    for (const auto& one : scene.work) {
      if (near_of[one.room] != npos) continue;
      near_of[one.room] = volume_m3.size();
      const double share = std::min(air->near_field_m3 / volume_m3[one.room], kLargestNearField);
      volume_m3.push_back(share * volume_m3[one.room]);
      floor_m2.push_back(std::min(air->near_field_floor_m2, kLargestNearField * floor_m2[one.room]));
      volume_m3[one.room] -= volume_m3.back();
      floor_m2[one.room] -= floor_m2.back();
    }
    std::set<std::pair<std::size_t, std::size_t>> pairs;
    for (const auto& one : scene.openings) {
      if (one.to) pairs.insert(std::minmax(one.from, *one.to));
    }
    joined.assign(pairs.begin(), pairs.end());
    for (std::size_t room = 0; room < near_of.size(); ++room) {
      if (near_of[room] != npos) joined.emplace_back(room, near_of[room]);
    }
  }

  void make_unknowns(const catalogue::Catalogue& catalogue) {
    for (std::size_t i = 0; i < scene.work.size(); ++i) {
      const auto& one = scene.work[i];
      const auto* emission = catalogue::emission_of(*air, one.family, one.task);
      const auto* family = catalogue.find_family(one.family);
      const auto* task = catalogue.find_task(one.task);
      emission_unknown.push_back(
          add("emission:" + one.family + ":" + one.task,
              fmt::format("how much dust {} lets go ({})", family == nullptr ? one.family : family->name,
                          task == nullptr ? one.task : task->name),
              emission->fibres.backing.source));
      control_unknown.emplace_back();
      for (const auto& control : one.controls) {
        if (const auto* factor = catalogue::named(air->controls, control)) {
          control_unknown.back()[control] =
              add("control:" + control, "how well " + control + " kept it down", factor->backing.source);
        }
      }
    }
    for (const auto& room : scene.rooms) {
      if (room.air_changes_per_h) continue;
      place_unknown[room.place] = add("air-change:" + room.place, "how fast the air of each " + room.place + " changes",
                                      catalogue::named(air->air_change_per_h, room.place)->backing.source);
    }
    for (const auto& row : air->exchange_m3_per_h) state_words.push_back(row.id);
    const auto used = [&](const std::string& state) {
      state_unknown[state] = add("doors:" + state, "how much air passes a door that is " + state,
                                 catalogue::named(air->exchange_m3_per_h, state)->backing.source);
    };
    for (const auto& one : scene.openings) {
      if (one.to) {
        used(one.usual);
        for (const auto& during : one.during) used(during.state);
      } else if (one.usual == "open" || !one.during.empty()) {
        window_unknown =
            add("window", "how much an open window speeds the air", air->window_open_factor.backing.source);
      }
    }
    for (const auto& one : scene.work) {
      for (const auto& control : one.controls) {
        if (control == "window-open")
          window_unknown =
              add("window", "how much an open window speeds the air", air->window_open_factor.backing.source);
        if (control == "door-sealed") used("sealed");
      }
    }
    near_unknown = add("near-field", "how fast the dust spreads from the work into the room",
                       air->near_field_m3_per_min.backing.source);
    size_unknown = add("fibre-size", "how thick the fibres were", "judgement");
    settling_unknown =
        add("settling", "how fast fibres settle on everything in the room", air->settling_factor.backing.source);
    raise_unknown["living"] = add("raised:living", "how much living in the rooms raises again",
                                  catalogue::named(air->resuspension_per_h, "living")->backing.source);
    for (const auto& one : scene.cleaning) {
      const auto* raised = catalogue::named(air->resuspension_per_h, one.task);
      raise_unknown[one.task] =
          add("raised:" + one.task, "how much " + one.task + " raises again", raised->backing.source);
      const auto row =
          std::find_if(air->clean_up.begin(), air->clean_up.end(), [&](const auto& c) { return c.task == one.task; });
      clean_unknown.push_back(
          add("removed:" + one.task, "how much " + one.task + " takes away", row->removed.backing.source));
    }
    const auto wanted = scene.fibre.value_or(book::Fibre::kAmosite);
    for (const auto& row : air->fibres) {
      if (std::find(row.types.begin(), row.types.end(), wanted) != row.types.end()) fibre = row;
    }
    for (const auto& person : scene.people) {
      for (const auto& mask : person.masks) {
        MaskUnknown one;
        const auto* respirator = catalogue.find_respirator(mask.respirator);
        if (respirator->worn) {
          one.protection = {respirator->worn->geometric_mean, respirator->worn->geometric_sd,
                            respirator->worn->backing};
        } else if (const auto* known = catalogue::named(air->masks, mask.respirator)) {
          one.protection = *known;
        } else {
          one.protection = {respirator->assigned_protection, 2.0, {"judgement", catalogue::Sure::kJudgement}};
        }
        if (one.protection.geometric_mean > 1) {
          one.unknown =
              add("mask:" + person.id + ":" + mask.respirator,
                  fmt::format("how well the {} fitted {}", respirator->name, person.id), one.protection.backing.source);
        }
        one.share = mask.share_worn;
        if (!mask.share_worn)
          one.share_unknown =
              add("worn:" + person.id, "how much of the time " + person.id + " had the mask on", "judgement");
        if (mask.beard)
          one.beard_unknown =
              add("beard:" + person.id, "how much the beard lets in", air->beard_divides.backing.source);
        masks.push_back(std::move(one));
      }
    }
  }

  static bool within(double from, double to, double t) { return from <= t && t < to; }

  void make_phases() {
    std::set<double> cuts{0, end, end + kDayMin, horizon};
    for (const auto& one : scene.work) cuts.insert({one.from_min, one.to_min});
    for (const auto& one : scene.cleaning) cuts.insert({one.from_min, one.to_min});
    for (const auto& opening : scene.openings) {
      for (const auto& one : opening.during) cuts.insert({one.from_min, one.to_min});
    }
    std::map<std::vector<std::size_t>, std::size_t> plan_of;
    double before = 0;
    for (const double cut : cuts) {
      if (cut <= before) continue;
      Phase phase;
      phase.from_min = before;
      phase.to_min = cut;
      before = cut;
      const double t = 0.5 * (phase.from_min + phase.to_min);
      phase.window_open.assign(scene.rooms.size(), false);
      std::vector<bool> sealed(scene.rooms.size(), false);
      std::set<std::size_t> floors;
      for (std::size_t i = 0; i < scene.work.size(); ++i) {
        const auto& one = scene.work[i];
        if (!within(one.from_min, one.to_min, t)) continue;
        phase.work.push_back(i);
        for (const auto& control : one.controls) {
          if (control == "window-open") phase.window_open[one.room] = true;
          if (control == "door-sealed") sealed[one.room] = true;
        }
      }
      if (t > work_end) {
        for (std::size_t zone = 0; zone < volume_m3.size(); ++zone) floors.insert(zone);
      }
      for (std::size_t i = 0; i < scene.cleaning.size(); ++i) {
        const auto& one = scene.cleaning[i];
        if (!within(one.from_min, one.to_min, t)) continue;
        phase.cleaning.push_back(i);
        floors.insert(one.room);
        if (near_of[one.room] != npos) floors.insert(near_of[one.room]);
      }
      phase.states.resize(joined.size());
      for (const auto& opening : scene.openings) {
        std::string state = opening.usual;
        for (const auto& during : opening.during) {
          if (within(during.from_min, during.to_min, t)) state = during.state;
        }
        if (!opening.to) {
          if (state == "open") phase.window_open[opening.from] = true;
          continue;
        }
        if (sealed[opening.from] || sealed[*opening.to]) state = "sealed";
        const auto pair = std::minmax(opening.from, *opening.to);
        const auto join =
            std::find(joined.begin(), joined.end(), std::pair<std::size_t, std::size_t>(pair)) - joined.begin();
        const auto word = std::find(state_words.begin(), state_words.end(), state) - state_words.begin();
        phase.states[static_cast<std::size_t>(join)].push_back(static_cast<std::size_t>(word));
      }
      phase.floors.assign(floors.begin(), floors.end());
      const auto [at, fresh] = plan_of.try_emplace(phase.floors, plans.size());
      if (fresh) plans.emplace_back(volume_m3.size(), joined, phase.floors);
      phase.plan = at->second;
      phases.push_back(std::move(phase));
    }
  }

  void make_times() {
    std::set<double> marks;
    for (const auto& person : scene.people) {
      for (const auto& one : person.stays) marks.insert({one.from_min, one.to_min});
      for (const auto& one : person.masks) marks.insert({one.from_min, one.to_min});
    }
    table_min.push_back(0);
    reported.push_back(0);
    for (auto& phase : phases) {
      std::set<double> here;
      const double length = phase.to_min - phase.from_min;
      for (const double fraction : kFractions)
        here.insert(fraction == 1.0 ? phase.to_min : phase.from_min + fraction * length);
      const std::set<double> shown = here;
      for (const double mark : marks) {
        if (mark > phase.from_min + kSameTimeMin && mark < phase.to_min) here.insert(mark);
      }
      for (const double t : here) {
        phase.times.push_back(table_min.size());
        if (shown.contains(t)) reported.push_back(table_min.size());
        table_min.push_back(t);
      }
    }
    for (const std::size_t i : reported) times_min.push_back(table_min[i]);
    layout = {scene.rooms.size(), scene.people.size(), times_min.size(), layout.eight};
  }

  /// Adds `sign` times the integral in `zone` up to `t`.
  void integral_at(Probe& probe, std::size_t zone, double t, double sign) const {
    const auto after = std::lower_bound(table_min.begin(), table_min.end(), t);
    if (after == table_min.end()) {
      probe.push_back({table_min.size() - 1, zone, sign, 0});
      return;
    }
    const auto i = static_cast<std::size_t>(after - table_min.begin());
    if (*after == t || i == 0) {
      probe.push_back({i, zone, sign, 0});
      return;
    }
    const double width = table_min[i] - table_min[i - 1];
    const double s = (t - table_min[i - 1]) / width;
    const double rise = s * s * (3 - 2 * s);
    probe.push_back({i - 1, zone, sign * (1 - rise), sign * s * (1 - s) * (1 - s) * units::hours(width)});
    probe.push_back({i, zone, sign * rise, -sign * s * s * (1 - s) * units::hours(width)});
  }

  struct Leg {
    std::size_t zone;
    double from_min;
    double to_min;
  };

  WindowSet windows(const std::vector<Leg>& legs, double window_min) const {
    WindowSet out;
    out.hours = units::hours(window_min);
    if (legs.empty()) return out;
    std::set<double> starts;
    const double first = legs.front().from_min;
    const double last = std::max(legs.back().to_min - window_min, first);
    for (const double t : table_min) {
      for (const double start : {t, t - window_min}) {
        if (start >= first && start <= last) starts.insert(start);
      }
    }
    starts.insert({first, last});
    for (const double start : starts) {
      Probe probe;
      for (const auto& leg : legs) {
        const double a = std::max(start, leg.from_min);
        const double b = std::min(start + window_min, leg.to_min);
        if (b <= a) continue;
        integral_at(probe, leg.zone, b, 1);
        integral_at(probe, leg.zone, a, -1);
      }
      if (!probe.empty()) out.probes.push_back(std::move(probe));
    }
    return out;
  }

  void make_probes() {
    constexpr double kTen = 10;
    constexpr double kFour = 240;
    constexpr double kEight = 480;
    for (std::size_t room = 0; room < scene.rooms.size(); ++room) {
      const std::vector<Leg> all{{room, 0, end + kDayMin}};
      ten.push_back(windows(all, kTen));
      four.push_back(windows(all, kFour));
      if (layout.eight) eight.push_back(windows(all, kEight));
    }
    std::size_t mask_at = 0;
    for (const auto& person : scene.people) {
      std::vector<dose::Stay> stays;
      std::vector<dose::Mask> spells;
      for (const auto& one : person.stays) {
        const bool near = one.at_the_work && near_of[one.room] != npos;
        stays.push_back({near ? near_of[one.room] : one.room, one.from_min, one.to_min});
      }
      for (const auto& one : person.masks) spells.push_back({one.from_min, one.to_min, 2, 1});
      std::vector<Leg> legs;
      breaths.emplace_back();
      for (const auto& stretch : dose::stretches(stays, spells)) {
        legs.push_back({stretch.zone, stretch.from_min, stretch.to_min});
        Breath breath;
        integral_at(breath.probe, stretch.zone, stretch.to_min, 1);
        integral_at(breath.probe, stretch.zone, stretch.from_min, -1);
        for (std::size_t m = 0; m < person.masks.size(); ++m) {
          if (person.masks[m].from_min <= stretch.from_min && stretch.to_min <= person.masks[m].to_min)
            breath.mask = mask_at + m;
        }
        breaths.back().push_back(std::move(breath));
      }
      mask_at += person.masks.size();
      ten.push_back(windows(legs, kTen));
      four.push_back(windows(legs, kFour));
      if (layout.eight) eight.push_back(windows(legs, kEight));
    }
  }
};

struct Model::Bench::Held {
  std::vector<air::QuickSolver> solvers;  // one a plan
  std::vector<double> level;              // [time * zones + zone], f/ml
  std::vector<double> integral;           // the same, f/ml h since the start
  std::vector<double> air_fibres;         // [zone * sizes + size]
  std::vector<double> floor_fibres;
  std::vector<double> start, source, now, hours_in;
  std::vector<double> lost, settled, a_to_b, b_to_a, raised, cleaned;
  std::vector<double> before;    // integral at the phase's start
  std::vector<double> exchange;  // per state
  std::vector<double> factor;    // per mask
};

Model::Bench::Bench(std::unique_ptr<Held> held) : held_(std::move(held)) {}
Model::Bench::~Bench() = default;
Model::~Model() = default;

Model::Model(const Scene& scene, const AirData& air, const catalogue::Catalogue& catalogue, bool eight_hours)
    : work_(std::make_unique<const Work>(scene, air, catalogue, eight_hours)) {}

const std::vector<Unknown>& Model::unknowns() const { return work_->unknowns; }
const std::vector<double>& Model::times_min() const { return work_->times_min; }
const Layout& Model::layout() const { return work_->layout; }
double Model::work_end_min() const { return work_->work_end; }
double Model::horizon_min() const { return work_->horizon; }

std::unique_ptr<Model::Bench> Model::bench() const {
  auto held = std::make_unique<Bench::Held>();
  for (const auto& plan : work_->plans) held->solvers.emplace_back(plan, kSizes);
  return std::unique_ptr<Bench>(new Bench(std::move(held)));
}

void Model::draw(Bench& bench, std::span<const double> chances, std::span<double> outcome) const {
  const auto& work = *work_;
  auto& held = *bench.held_;
  const std::size_t zones = work.volume_m3.size();
  const std::size_t rooms = work.scene.rooms.size();
  const auto z = [&](std::size_t unknown) { return normal(chances[unknown]); };
  const auto& air = *work.air;

  // ---- the draw's figures
  const double settling = value_of(air.settling_factor, z(work.settling_unknown));
  std::array<double, kSizes> fall_m_per_h{};
  const double median_um =
      work.fibre.diameter_um.geometric_mean * std::exp(std::log(work.fibre.median_known_to) * z(work.size_unknown));
  static const std::array<double, kSizes> kMiddle = [] {
    std::array<double, kSizes> out{};
    for (std::size_t k = 0; k < kSizes; ++k) out[k] = normal((static_cast<double>(k) + 0.5) / kSizes);
    return out;
  }();
  for (std::size_t k = 0; k < kSizes; ++k) {
    const double d = median_um * std::exp(std::log(work.fibre.diameter_um.geometric_sd) * kMiddle[k]);
    const double length = std::max(work.fibre.length_um.geometric_mean, 3 * d);
    fall_m_per_h[k] =
        settling * 3600 * air::settling_m_per_s(air::fibre_aerodynamic_um(d, length, work.fibre.density_g_per_cm3));
  }
  held.exchange.assign(work.state_words.size(), 0.0);
  for (std::size_t s = 0; s < work.state_words.size(); ++s) {
    const auto found = work.state_unknown.find(work.state_words[s]);
    if (found != work.state_unknown.end())
      held.exchange[s] = value_of(air.exchange_m3_per_h[s].value, z(found->second));
  }
  const double near_m3_per_h = 60 * value_of(air.near_field_m3_per_min, z(work.near_unknown));
  const double window =
      work.window_unknown == Work::npos ? 1 : std::max(1.0, value_of(air.window_open_factor, z(work.window_unknown)));
  const auto raise = [&](const std::string& activity) {
    return value_of(*catalogue::named(air.resuspension_per_h, activity), z(work.raise_unknown.at(activity)));
  };
  const double living = raise("living");

  held.settled.resize(zones * kSizes);
  for (std::size_t i = 0; i < zones; ++i) {
    for (std::size_t k = 0; k < kSizes; ++k)
      held.settled[i * kSizes + k] = fall_m_per_h[k] * work.floor_m2[i] / work.volume_m3[i];
  }
  held.air_fibres.assign(zones * kSizes, 0.0);
  held.floor_fibres.assign(zones * kSizes, 0.0);
  held.level.assign(work.table_min.size() * zones, 0.0);
  held.integral.assign(work.table_min.size() * zones, 0.0);
  held.before.assign(zones, 0.0);

  // ---- phase by phase
  for (const auto& phase : work.phases) {
    const auto& plan = work.plans[phase.plan];
    auto& solver = held.solvers[phase.plan];
    const std::size_t n = plan.compartments();
    held.lost.assign(zones, 0.0);
    held.a_to_b.assign(work.joined.size(), 0.0);
    held.b_to_a.assign(work.joined.size(), 0.0);
    held.raised.assign(phase.floors.size(), 0.0);
    held.cleaned.assign(phase.floors.size(), 0.0);
    held.source.assign(n * kSizes, 0.0);
    held.start.assign(n * kSizes, 0.0);
    for (std::size_t room = 0; room < rooms; ++room) {
      const auto& one = work.scene.rooms[room];
      const double changes = one.air_changes_per_h ? *one.air_changes_per_h
                                                   : value_of(*catalogue::named(air.air_change_per_h, one.place),
                                                              z(work.place_unknown.at(one.place)));
      held.lost[room] = changes * (phase.window_open[room] ? window : 1.0) * one.volume_m3 / work.volume_m3[room];
    }
    for (std::size_t e = 0; e < work.joined.size(); ++e) {
      const auto [a, b] = work.joined[e];
      double flow = b >= rooms ? near_m3_per_h : 0.0;
      for (const std::size_t state : phase.states[e]) flow += held.exchange[state];
      held.a_to_b[e] = flow / work.volume_m3[a];
      held.b_to_a[e] = flow / work.volume_m3[b];
    }
    for (std::size_t f = 0; f < phase.floors.size(); ++f) {
      const std::size_t zone = phase.floors[f];
      if (phase.from_min >= work.work_end) held.raised[f] += living;
      for (const std::size_t c : phase.cleaning) {
        const auto& one = work.scene.cleaning[c];
        if (zone != one.room && zone != work.near_of[one.room]) continue;
        held.raised[f] += raise(one.task);
        const auto row =
            std::find_if(air.clean_up.begin(), air.clean_up.end(), [&](const auto& r) { return r.task == one.task; });
        const double removed =
            row->removed.low + (row->removed.high - row->removed.low) * chances[work.clean_unknown[c]];
        held.cleaned[f] += -std::log1p(-removed) / units::hours(one.to_min - one.from_min);
      }
      for (std::size_t k = 0; k < kSizes; ++k)
        held.start[(zones + f) * kSizes + k] = held.floor_fibres[zone * kSizes + k];
    }
    for (const std::size_t w : phase.work) {
      const auto& one = work.scene.work[w];
      const auto* emission = catalogue::emission_of(air, one.family, one.task);
      double per_min = value_of(emission->fibres, z(work.emission_unknown[w]));
      if (emission->per_hole) per_min *= one.count / (one.to_min - one.from_min);
      for (const auto& [control, unknown] : work.control_unknown[w]) {
        per_min *= std::min(1.0, value_of(*catalogue::named(air.controls, control), z(unknown)));
      }
      for (std::size_t k = 0; k < kSizes; ++k)
        held.source[work.near_of[one.room] * kSizes + k] += per_min * 60 / kSizes;
    }
    std::copy(held.air_fibres.begin(), held.air_fibres.end(), held.start.begin());
    solver.set({held.lost, held.settled, held.a_to_b, held.b_to_a, held.raised, held.cleaned});
    solver.start(held.start, held.source);
    held.now.resize(n * kSizes);
    held.hours_in.resize(n * kSizes);
    for (const std::size_t t : phase.times) {
      solver.at(units::hours(work.table_min[t] - phase.from_min), held.now, held.hours_in);
      for (std::size_t i = 0; i < zones; ++i) {
        double fibres = 0;
        double fibre_hours = 0;
        for (std::size_t k = 0; k < kSizes; ++k) {
          fibres += held.now[i * kSizes + k];
          fibre_hours += held.hours_in[i * kSizes + k];
        }
        const double per_ml = units::f_per_ml(1 / work.volume_m3[i]);
        held.level[t * zones + i] = fibres * per_ml;
        held.integral[t * zones + i] = held.before[i] + fibre_hours * per_ml;
      }
    }
    const std::size_t last = phase.times.back();
    for (std::size_t i = 0; i < zones; ++i) {
      held.before[i] = held.integral[last * zones + i];
      for (std::size_t k = 0; k < kSizes; ++k) {
        held.air_fibres[i * kSizes + k] = held.now[i * kSizes + k];
        held.floor_fibres[i * kSizes + k] += held.settled[i * kSizes + k] * held.hours_in[i * kSizes + k];
      }
    }
    for (std::size_t f = 0; f < phase.floors.size(); ++f) {
      for (std::size_t k = 0; k < kSizes; ++k)
        held.floor_fibres[phase.floors[f] * kSizes + k] = held.now[(zones + f) * kSizes + k];
    }
  }

  // ---- what comes of it
  const auto& layout = work.layout;
  const auto read = [&](const Probe& probe) {
    double sum = 0;
    for (const auto& term : probe) {
      const std::size_t at = term.time * zones + term.zone;
      sum += term.of_integral * held.integral[at] + term.of_level * held.level[at];
    }
    return sum;
  };
  const auto largest = [&](const Work::WindowSet& set) {
    double best = 0;
    for (const auto& probe : set.probes) best = std::max(best, read(probe));
    return best / set.hours;
  };
  const auto minutes_below = [&](std::size_t zone, double level) {
    const std::size_t count = work.table_min.size();
    if (held.level[(count - 1) * zones + zone] >= level) return work.horizon - work.work_end;
    for (std::size_t t = count - 1; t-- > 0 && work.table_min[t] >= work.work_end;) {
      const double above = held.level[t * zones + zone];
      if (above < level) continue;
      const double under = held.level[(t + 1) * zones + zone];
      const double share = under > 0 ? std::log(above / level) / std::log(above / under) : 0.5;
      return work.table_min[t] + share * (work.table_min[t + 1] - work.table_min[t]) - work.work_end;
    }
    return 0.0;
  };
  // The week is the last phase; its first time is the end of the phase before.
  const std::size_t week_from = work.phases.back().times.front() - 1;
  for (std::size_t room = 0; room < rooms; ++room) {
    for (std::size_t t = 0; t < layout.times; ++t)
      outcome[layout.level(room, t)] = held.level[work.reported[t] * zones + room];
    outcome[layout.ten_minutes(room)] = largest(work.ten[room]);
    outcome[layout.four_hours(room)] = largest(work.four[room]);
    if (layout.eight) outcome[layout.eight_hours(room)] = largest(work.eight[room]);
    outcome[layout.below_clearance_min(room)] = minutes_below(room, kClearance);
    outcome[layout.below_background_min(room)] = minutes_below(room, kBackground);
    double load = 0;
    double area = work.floor_m2[room];
    for (std::size_t k = 0; k < kSizes; ++k) load += held.floor_fibres[room * kSizes + k];
    if (work.near_of[room] != Work::npos) {
      area += work.floor_m2[work.near_of[room]];
      for (std::size_t k = 0; k < kSizes; ++k) load += held.floor_fibres[work.near_of[room] * kSizes + k];
    }
    outcome[layout.load(room)] = units::f_per_cm2(load / area);
    outcome[layout.week(room)] = kShareOfDayAtHome * (held.before[room] - held.integral[week_from * zones + room]);
  }
  held.factor.assign(work.masks.size(), 1.0);
  for (std::size_t m = 0; m < work.masks.size(); ++m) {
    const auto& mask = work.masks[m];
    double protection = mask.unknown == Work::npos ? 1 : std::max(1.0, value_of(mask.protection, z(mask.unknown)));
    if (mask.beard_unknown != Work::npos) {
      const auto& divides = air.beard_divides;
      protection = 1 + (protection - 1) / (divides.low + (divides.high - divides.low) * chances[mask.beard_unknown]);
    }
    const double share = mask.share ? *mask.share : chances[mask.share_unknown];
    held.factor[m] = dose::effective_factor(protection, share);
  }
  for (std::size_t p = 0; p < layout.people; ++p) {
    double bare = 0;
    double breathed = 0;
    for (const auto& breath : work.breaths[p]) {
      const double amount = std::max(0.0, read(breath.probe));
      bare += amount;
      breathed += amount / (breath.mask == Work::npos ? 1.0 : held.factor[breath.mask]);
    }
    outcome[layout.breathed(p)] = breathed;
    outcome[layout.without_mask(p)] = bare;
    outcome[layout.person_ten_minutes(p)] = largest(work.ten[rooms + p]);
    outcome[layout.person_four_hours(p)] = largest(work.four[rooms + p]);
    if (layout.eight) outcome[layout.person_eight_hours(p)] = largest(work.eight[rooms + p]);
  }
}

}  // namespace lathbook::event
