#include "air/solution.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <functional>
#include <map>
#include <utility>

#include "air/transition.h"
#include "reason/units.h"

namespace lathbook::air {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kPointsPerDoubling = 8;
constexpr double kSameTime = 1e-12;  // of the whole time
constexpr double kSecondsPerHour = 3600.0;
// Fewer report times than this in a phase are each computed afresh; more are stepped through.
constexpr std::size_t kWorthStepping = 24;

struct Flows {
  MatrixXd between;  // (to, from), m3/h
  VectorXd from_outdoors;
  VectorXd to_outdoors;
};

/// Everything about one phase that does not depend on the size class.
struct Stage {
  double hours = 0;
  Flows flows;
  VectorXd filtered_m3_per_h;
  VectorXd raised_per_h;      // resuspension
  VectorXd cleaned_per_h;     // surface removal
  VectorXd emitted_per_h;     // fibres per hour
  std::vector<Index> floors;  // zones whose floor is a compartment of its own: something leaves it
};

/// One class in one phase.
struct Course {
  Transition transition;
  VectorXd start;          // compartments: air of each zone, then the stage's floors
  VectorXd settled_per_h;  // air to floor, per zone
};

std::map<std::string, Index, std::less<>> zone_index(const Scene& scene) {
  std::map<std::string, Index, std::less<>> index;
  for (std::size_t i = 0; i < scene.zones.size(); ++i) index.emplace(scene.zones[i].id, static_cast<Index>(i));
  return index;
}

double root(const std::function<double(double)>& f, double a, double b, double fa, double fb, unsigned bits) {
  if (fa == 0) return a;
  if (fb == 0) return b;
  std::uintmax_t tries = 100;
  const auto [low, high] =
      boost::math::tools::toms748_solve(f, a, b, fa, fb, boost::math::tools::eps_tolerance<double>(bits), tries);
  return 0.5 * (low + high);
}

}  // namespace

struct Solution::Work {
  Scene scene;
  std::vector<Stage> stages;
  std::vector<std::vector<Course>> courses;  // [phase][class]
  std::vector<double> starts_h;              // of each phase, and the end
  std::vector<VectorXd> integrals;           // f/ml h per zone up to the start of each phase, and the end
  VectorXd end_load_f_per_cm2;
  VectorXd per_ml;  // fibres in a zone -> f/ml
  Balance balance;
  std::vector<double> grid_h;
  MatrixXd grid_level;     // zones x grid
  MatrixXd grid_integral;  // zones x grid

  explicit Work(const Scene& given) : scene(given) {
    const auto n = static_cast<Index>(scene.zones.size());
    per_ml.resize(n);
    for (Index i = 0; i < n; ++i) per_ml(i) = units::f_per_ml(1 / zone(i).volume_m3);
    make_stages();
    run();
  }

  const Zone& zone(Index i) const { return scene.zones[static_cast<std::size_t>(i)]; }
  Index zones() const { return per_ml.size(); }

  void make_stages() {
    const auto index = zone_index(scene);
    const auto n = zones();
    const auto* flows = &scene.flows;
    for (const auto& phase : scene.phases) {
      if (phase.flows) flows = &*phase.flows;
      Stage stage;
      stage.hours = units::hours(phase.minutes);
      stage.flows = {MatrixXd::Zero(n, n), VectorXd::Zero(n), VectorXd::Zero(n)};
      for (const auto& flow : *flows) {
        const bool from_outdoors = flow.from == kOutdoors;
        const bool to_outdoors = flow.to == kOutdoors;
        if (from_outdoors && !to_outdoors) stage.flows.from_outdoors(index.at(flow.to)) += flow.m3_per_h;
        if (to_outdoors && !from_outdoors) stage.flows.to_outdoors(index.at(flow.from)) += flow.m3_per_h;
        if (!from_outdoors && !to_outdoors)
          stage.flows.between(index.at(flow.to), index.at(flow.from)) += flow.m3_per_h;
      }
      stage.filtered_m3_per_h = VectorXd::Zero(n);
      stage.raised_per_h = VectorXd::Zero(n);
      stage.cleaned_per_h = VectorXd::Zero(n);
      stage.emitted_per_h = VectorXd::Zero(n);
      for (const auto& one : phase.filtration)
        stage.filtered_m3_per_h(index.at(one.zone)) += one.m3_per_h * one.efficiency;
      for (const auto& one : phase.resuspension) stage.raised_per_h(index.at(one.zone)) += one.per_h;
      for (const auto& one : phase.surface_removal) stage.cleaned_per_h(index.at(one.zone)) += one.per_h;
      for (const auto& one : phase.sources)
        stage.emitted_per_h(index.at(one.zone)) += one.f_per_min * units::kMinutesPerHour;
      for (Index i = 0; i < n; ++i) {
        if (zone(i).floor_m2 > 0 && stage.raised_per_h(i) + stage.cleaned_per_h(i) > 0) stage.floors.push_back(i);
      }
      stages.push_back(std::move(stage));
    }
  }

  Course course_of(const Stage& stage, const SizeClass& one, double share, const VectorXd& air,
                   const VectorXd& floor) const {
    const auto n = zones();
    const auto all = n + static_cast<Index>(stage.floors.size());
    MatrixXd moved = MatrixXd::Zero(all, all);
    VectorXd lost = VectorXd::Zero(all);
    VectorXd source = VectorXd::Zero(all);
    VectorXd start = VectorXd::Zero(all);
    VectorXd settled(n);
    start.head(n) = air;
    for (Index i = 0; i < n; ++i) {
      const double volume = zone(i).volume_m3;
      settled(i) = one.settling_m_per_s * kSecondsPerHour * zone(i).floor_m2 / volume;
      moved.col(i).head(n) = stage.flows.between.col(i) / volume;
      lost(i) = (stage.flows.to_outdoors(i) + stage.filtered_m3_per_h(i)) / volume + settled(i);
      source(i) = share * (stage.emitted_per_h(i) +
                           stage.flows.from_outdoors(i) * units::fibres_per_m3(scene.outdoor_f_per_ml));
    }
    for (std::size_t f = 0; f < stage.floors.size(); ++f) {
      const Index i = stage.floors[f];
      const Index at = n + static_cast<Index>(f);
      moved(at, i) = settled(i);
      lost(i) -= settled(i);
      lost(i) = std::max(lost(i), 0.0);
      moved(i, at) = stage.raised_per_h(i);
      lost(at) = stage.cleaned_per_h(i);
      start(at) = floor(i);
    }
    return {Transition(moved, lost, source, stage.hours), std::move(start), std::move(settled)};
  }

  void run() {
    const auto n = zones();
    double shares = 0;
    for (const auto& one : scene.classes) shares += one.share;
    const std::size_t phases = stages.size();
    starts_h.assign(1, 0.0);
    for (const auto& stage : stages) starts_h.push_back(starts_h.back() + stage.hours);
    integrals.assign(phases + 1, VectorXd::Zero(n));
    courses.resize(phases);
    end_load_f_per_cm2 = VectorXd::Zero(n);
    std::vector<VectorXd> gained(phases, VectorXd::Zero(n));
    for (const auto& one : scene.classes) {
      const double share = one.share / shares;
      VectorXd air(n);
      VectorXd floor(n);
      for (Index i = 0; i < n; ++i) {
        air(i) = share * units::fibres_per_m3(zone(i).start_f_per_ml) * zone(i).volume_m3;
        floor(i) = share * units::fibres_per_m2(zone(i).start_load_f_per_cm2) * zone(i).floor_m2;
      }
      balance.at_start += air.sum() + floor.sum();
      for (std::size_t p = 0; p < phases; ++p) {
        const auto& stage = stages[p];
        courses[p].push_back(course_of(stage, one, share, air, floor));
        const auto& course = courses[p].back();
        Transition::State state{course.start, VectorXd::Zero(course.start.size())};
        course.transition.step(course.transition.levels() - 1, state);
        const VectorXd air_hours = state.fibre_hours.head(n);
        air = state.fibres.head(n);
        gained[p] += air_hours.cwiseProduct(per_ml);
        std::vector<bool> own(static_cast<std::size_t>(n), false);
        for (std::size_t f = 0; f < stage.floors.size(); ++f) {
          const Index i = stage.floors[f];
          own[static_cast<std::size_t>(i)] = true;
          floor(i) = state.fibres(n + static_cast<Index>(f));
          balance.removed += stage.cleaned_per_h(i) * state.fibre_hours(n + static_cast<Index>(f));
        }
        for (Index i = 0; i < n; ++i) {
          const double volume = zone(i).volume_m3;
          if (!own[static_cast<std::size_t>(i)]) floor(i) += course.settled_per_h(i) * air_hours(i);
          balance.exhausted += stage.flows.to_outdoors(i) / volume * air_hours(i);
          balance.removed += stage.filtered_m3_per_h(i) / volume * air_hours(i);
          balance.emitted += share * stage.emitted_per_h(i) * stage.hours;
          balance.from_outdoors +=
              share * stage.flows.from_outdoors(i) * units::fibres_per_m3(scene.outdoor_f_per_ml) * stage.hours;
        }
      }
      balance.airborne += air.sum();
      balance.deposited += floor.sum();
      for (Index i = 0; i < n; ++i) {
        if (zone(i).floor_m2 > 0) end_load_f_per_cm2(i) += units::f_per_cm2(floor(i) / zone(i).floor_m2);
      }
    }
    for (std::size_t p = 0; p < phases; ++p) integrals[p + 1] = integrals[p] + gained[p];
    const double came = balance.emitted + balance.at_start + balance.from_outdoors;
    const double went = balance.exhausted + balance.deposited + balance.airborne + balance.removed;
    balance.relative_error = came > 0 ? std::abs(came - went) / came : 0.0;
    make_grid();
  }

  /// Levels on the searching grid: 0, the ends of phases and eight points for each doubling of time within a phase.
  void make_grid() {
    const auto n = zones();
    std::vector<VectorXd> level;
    std::vector<VectorXd> integral;
    for (std::size_t p = 0; p < stages.size(); ++p) {
      int most = 0;
      for (const auto& course : courses[p]) most = std::max(most, course.transition.levels());
      // All classes must be met at the same times: the length over powers of two, as far down as the fastest class
      // needs.
      std::vector<double> times;
      const int doublings = most - 1;
      const double shortest = std::ldexp(stages[p].hours, -doublings);
      for (int i = 0; i < kPointsPerDoubling; ++i) times.push_back(shortest * i);
      for (int level_at = 3; level_at < doublings; ++level_at) {
        for (int i = 0; i < kPointsPerDoubling; ++i)
          times.push_back(std::ldexp(shortest, level_at - 3) * (kPointsPerDoubling + i));
      }
      std::vector<VectorXd> level_here(times.size(), VectorXd::Zero(n));
      std::vector<VectorXd> integral_here(times.size(), integrals[p]);
      for (const auto& course : courses[p]) {
        Transition::State state{course.start, VectorXd::Zero(course.start.size())};
        const int own = course.transition.levels() - 1;
        for (std::size_t i = 0; i < times.size(); ++i) {
          if (i > 0) {
            // The grid's steps are the length over a power of two; a class that needs fewer doublings takes short ones.
            const double gap = times[i] - times[i - 1];
            const int down = static_cast<int>(std::lround(std::log2(stages[p].hours / gap)));
            if (down <= own) {
              course.transition.step(own - down, state);
            } else {
              course.transition.advance(gap, state);
            }
          }
          level_here[i] += state.fibres.head(n).cwiseProduct(per_ml);
          integral_here[i] += state.fibre_hours.head(n).cwiseProduct(per_ml);
        }
      }
      for (std::size_t i = 0; i < times.size(); ++i) {
        grid_h.push_back(starts_h[p] + times[i]);
        level.push_back(std::move(level_here[i]));
        integral.push_back(std::move(integral_here[i]));
      }
    }
    const auto end = at(starts_h.back());
    grid_h.push_back(starts_h.back());
    level.push_back(end.f_per_ml);
    integral.push_back(end.f_per_ml_h);
    grid_level.resize(n, static_cast<Index>(grid_h.size()));
    grid_integral.resize(n, static_cast<Index>(grid_h.size()));
    for (std::size_t i = 0; i < grid_h.size(); ++i) {
      grid_level.col(static_cast<Index>(i)) = level[i];
      grid_integral.col(static_cast<Index>(i)) = integral[i];
    }
  }

  std::size_t phase_at(double hours) const {
    const auto after = std::upper_bound(starts_h.begin(), starts_h.end(), hours);
    const auto p = static_cast<std::size_t>(std::max<std::ptrdiff_t>(after - starts_h.begin() - 1, 0));
    return std::min(p, stages.size() - 1);
  }

  /// Time since phase p began; a time that is a phase's end but for rounding is that end: with rates of 1e6 per hour
  /// even the last bit of a time would show.
  double time_into(std::size_t p, double hours) const {
    const double same = kSameTime * starts_h.back();
    if (hours <= starts_h[p] + same) return 0;
    if (hours >= starts_h[p + 1] - same) return stages[p].hours;
    return hours - starts_h[p];
  }

  Levels at(double hours) const {
    const auto n = zones();
    const std::size_t p = phase_at(hours);
    Levels out{VectorXd::Zero(n), integrals[p]};
    const double into = time_into(p, hours);
    for (const auto& course : courses[p]) {
      Transition::State state{course.start, VectorXd::Zero(course.start.size())};
      course.transition.advance(into, state);
      out.f_per_ml += state.fibres.head(n).cwiseProduct(per_ml);
      out.f_per_ml_h += state.fibre_hours.head(n).cwiseProduct(per_ml);
    }
    return out;
  }

  double level(std::size_t zone_at, double hours) const { return at(hours).f_per_ml(static_cast<Index>(zone_at)); }

  /// Integral in a zone since time 0, read off the grid with a cubic: good to about 1e-5, for finding brackets only.
  double rough_integral(std::size_t zone_at, double hours) const {
    const auto z = static_cast<Index>(zone_at);
    const auto after = std::upper_bound(grid_h.begin(), grid_h.end(), hours);
    if (after == grid_h.end()) return grid_integral(z, grid_integral.cols() - 1);
    if (after == grid_h.begin()) return 0;
    const auto i = static_cast<Index>(after - grid_h.begin());
    const double a = grid_h[static_cast<std::size_t>(i - 1)];
    const double width = grid_h[static_cast<std::size_t>(i)] - a;
    const double s = (hours - a) / width;
    const double y0 = grid_integral(z, i - 1);
    const double rise = grid_integral(z, i) - y0;
    const double m0 = grid_level(z, i - 1) * width;
    const double m1 = grid_level(z, i) * width;
    return y0 + s * (m0 + s * ((3 * rise - 2 * m0 - m1) + s * (m0 + m1 - 2 * rise)));
  }
};

namespace {

/// The leg somebody is on at a time, if any.
const Leg* leg_at(std::span<const Leg> legs, double hours) {
  const auto found =
      std::find_if(legs.begin(), legs.end(), [&](const Leg& leg) { return leg.from_h <= hours && hours < leg.to_h; });
  return found == legs.end() ? nullptr : &*found;
}

}  // namespace

reason::Result<Solution> Solution::of(const Scene& scene) {
  auto faults = check(scene);
  if (!faults.empty()) return faults;
  return Solution(std::make_shared<const Work>(scene));
}

double Solution::total_h() const { return work_->starts_h.back(); }
Levels Solution::at(double hours) const { return work_->at(hours); }
const Balance& Solution::balance() const { return work_->balance; }

double Solution::breathed_f_per_ml_h(std::span<const Leg> legs) const {
  double sum = 0;
  for (const auto& leg : legs) {
    const auto zone = static_cast<Index>(leg.zone);
    sum += at(leg.to_h).f_per_ml_h(zone) - at(leg.from_h).f_per_ml_h(zone);
  }
  return sum;
}

double Solution::largest_mean(std::span<const Leg> legs, double window_h) const {
  if (legs.empty()) return 0;
  const auto& work = *work_;
  const double first = legs.front().from_h;
  const double last = legs.back().to_h;
  if (last - first <= window_h) return breathed_f_per_ml_h(legs) / window_h;

  // A window's mean has its maximum where the levels at its two ends agree, or where one end meets a kink.
  std::vector<double> kinks;
  for (const double t : work.grid_h) {
    if (t > first && t < last) kinks.push_back(t);
  }
  for (const auto& leg : legs) {
    kinks.push_back(leg.from_h);
    kinks.push_back(leg.to_h);
  }
  std::vector<double> candidates{first, last - window_h};
  for (const double t : kinks) {
    if (t > first && t < last - window_h) candidates.push_back(t);
    if (t - window_h > first && t < last) candidates.push_back(t - window_h);
  }
  std::sort(candidates.begin(), candidates.end());
  const double same = kSameTime * total_h();
  candidates.erase(std::unique(candidates.begin(), candidates.end(), [&](double a, double b) { return b - a <= same; }),
                   candidates.end());

  const auto over = [&](double from, double to, const auto& integral) {
    double sum = 0;
    for (const auto& leg : legs) {
      const double a = std::max(from, leg.from_h);
      const double b = std::min(to, leg.to_h);
      if (b > a) sum += integral(leg.zone, b) - integral(leg.zone, a);
    }
    return sum;
  };
  const auto rough = [&](std::size_t zone, double t) { return work.rough_integral(zone, t); };
  const auto exact = [&](std::size_t zone, double t) { return at(t).f_per_ml_h(static_cast<Index>(zone)); };
  std::vector<double> guess;
  for (const double t : candidates) guess.push_back(over(t, t + window_h, rough));
  const double top = *std::max_element(guess.begin(), guess.end());
  if (top <= 0) return std::max(0.0, over(first, last, exact) / window_h);

  constexpr double kWorthALook = 1e-2;  // a guess this far below the best cannot be the best
  double best = 0;
  for (std::size_t k = 0; k < candidates.size(); ++k) {
    const bool peak = (k == 0 || guess[k - 1] <= guess[k]) && (k + 1 == candidates.size() || guess[k + 1] <= guess[k]);
    if (!peak || guess[k] < (1 - kWorthALook) * top) continue;
    best = std::max(best, over(candidates[k], candidates[k] + window_h, exact));
    for (std::size_t side = (k == 0 ? 1 : 0); side < (k + 1 == candidates.size() ? 1U : 2U); ++side) {
      const double a = candidates[k + side - 1];
      const double b = candidates[k + side];
      const Leg* here = leg_at(legs, 0.5 * (a + b));
      const Leg* there = leg_at(legs, 0.5 * (a + b) + window_h);
      const auto slope = [&](double t) {
        return (there != nullptr ? work.level(there->zone, t + window_h) : 0.0) -
               (here != nullptr ? work.level(here->zone, t) : 0.0);
      };
      const double at_a = slope(a);
      const double at_b = slope(b);
      if (!(at_a > 0 && at_b < 0)) continue;
      const double t = root(slope, a, b, at_a, at_b, 30);
      best = std::max(best, over(t, t + window_h, exact));
    }
  }
  return best / window_h;
}

std::optional<double> Solution::hours_until_below(std::size_t zone, double f_per_ml) const {
  const auto& work = *work_;
  double from = 0;
  for (std::size_t p = 0; p < work.stages.size(); ++p) {
    if (work.stages[p].emitted_per_h.sum() > 0) from = work.starts_h[p + 1];
  }
  const auto z = static_cast<Index>(zone);
  const auto count = work.grid_level.cols();
  if (work.grid_level(z, count - 1) >= f_per_ml) return std::nullopt;
  for (Index i = count - 1; i-- > 0;) {
    const double t = work.grid_h[static_cast<std::size_t>(i)];
    if (t < from - kSameTime * total_h()) break;
    if (work.grid_level(z, i) < f_per_ml) continue;
    const double next = work.grid_h[static_cast<std::size_t>(i + 1)];
    const auto above = [&](double hours) { return work.level(zone, hours) - f_per_ml; };
    return root(above, t, next, work.grid_level(z, i) - f_per_ml, work.grid_level(z, i + 1) - f_per_ml, 48) - from;
  }
  return 0.0;
}

std::vector<double> Solution::phase_integrals_f_per_ml_h(std::size_t zone) const {
  std::vector<double> out;
  for (std::size_t p = 0; p < work_->stages.size(); ++p) {
    out.push_back(work_->integrals[p + 1](static_cast<Index>(zone)) - work_->integrals[p](static_cast<Index>(zone)));
  }
  return out;
}

double Solution::end_load_f_per_cm2(std::size_t zone) const {
  return work_->end_load_f_per_cm2(static_cast<Index>(zone));
}

std::vector<double> Solution::report_times_min() const {
  std::vector<double> times{0.0};
  double end = 0;
  for (const auto& phase : work_->scene.phases) times.push_back(end += phase.minutes);
  if (const auto every = work_->scene.report_every_min) {
    const auto ends = times;
    for (double k = 1; k * *every < end; ++k) {
      const double t = k * *every;
      const auto near = std::lower_bound(ends.begin(), ends.end(), t - kSameTime * end);
      if (near == ends.end() || std::abs(*near - t) > kSameTime * end) times.push_back(t);
    }
    std::sort(times.begin(), times.end());
  }
  return times;
}

MatrixXd Solution::report_levels(std::span<const double> times_min) const {
  const auto& work = *work_;
  const auto n = work.zones();
  MatrixXd out = MatrixXd::Zero(n, static_cast<Index>(times_min.size()));
  std::size_t next = 0;
  for (std::size_t p = 0; p < work.stages.size(); ++p) {
    const double end = work.starts_h[p + 1] + kSameTime * work.starts_h.back();
    const std::size_t first = next;
    while (next < times_min.size() && (units::hours(times_min[next]) <= end || p + 1 == work.stages.size())) ++next;
    const bool step = next - first > kWorthStepping && work.scene.report_every_min;
    for (const auto& course : work.courses[p]) {
      std::optional<Transition> stride;
      Transition::State state{course.start, VectorXd::Zero(course.start.size())};
      for (std::size_t i = first; i < next; ++i) {
        const double into = work.time_into(p, units::hours(times_min[i]));
        const bool one_stride = step && i > first &&
                                std::abs(times_min[i] - times_min[i - 1] - *work.scene.report_every_min) <=
                                    1e-9 * *work.scene.report_every_min;
        if (one_stride) {
          if (!stride) stride.emplace(course.transition.over(units::hours(*work.scene.report_every_min)));
          stride->step(stride->levels() - 1, state);
        } else {
          state = {course.start, VectorXd::Zero(course.start.size())};
          course.transition.advance(into, state);
        }
        out.col(static_cast<Index>(i)) += state.fibres.head(n).cwiseProduct(work.per_ml);
      }
    }
  }
  return out;
}

reason::Reasons Solution::reasons() const {
  return {{"Each zone is well mixed; fibres move with the air, settle on floors, are filtered or raised again",
           "nicas-2024"},
          {"Solved exactly in time, so no step size enters", "arithmetic"},
          {"Running means outside the time computed count as clean air", "judgement"}};
}

}  // namespace lathbook::air
