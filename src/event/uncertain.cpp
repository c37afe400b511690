#include "event/uncertain.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <exception>
#include <numeric>
#include <thread>

#include "air/sobol.h"
#include "dose/breathed.h"

namespace lathbook::event {
namespace {

constexpr double kFourHoursMin = 240;
constexpr double kEightHoursMin = 480;

constexpr std::size_t kScrambles = 8;
constexpr std::size_t kAtATime = 64;  // draws between looks at the clock face and the cancel flag
constexpr std::size_t kForChanges = 256;
constexpr std::array<double, 3> kQuantiles = {0.05, 0.5, 0.95};

/// All draws so far, [draw * size + figure] in single precision: seven digits are far more than a percentile has.
struct Drawn {
  std::size_t count = 0;
  std::size_t unknowns = 0;
  std::size_t size = 0;
  std::vector<float> outcome;
  std::vector<float> chances;
};

/// Draws `from` up to `to`, spread over the workers by number. False when cancelled.
bool draw_more(const Model& model, const Settings& settings, const std::vector<std::uint32_t>& points, std::size_t to,
               double all, Drawn& drawn) {
  const std::size_t from = drawn.count;
  drawn.outcome.resize(to * drawn.size);
  drawn.chances.resize(to * drawn.unknowns);
  std::atomic<std::size_t> next{from};
  std::atomic<std::size_t> done{0};
  std::atomic<bool> stop{false};
  std::vector<std::exception_ptr> failures(settings.workers);
  const auto work = [&](unsigned worker) {
    const bool first = worker == 0;
    try {
      const auto bench = model.bench();
      std::vector<double> chances(drawn.unknowns);
      std::vector<double> outcome(drawn.size);
      while (!stop.load(std::memory_order_relaxed)) {
        const std::size_t begin = next.fetch_add(kAtATime);
        if (begin >= to) break;
        if (settings.cancel != nullptr && settings.cancel->load(std::memory_order_relaxed)) {
          stop = true;
          break;
        }
        for (std::size_t i = begin; i < std::min(begin + kAtATime, to); ++i) {
          // Draw i is point i / 8 of scramble i % 8.
          const std::size_t point = i / kScrambles;
          for (std::size_t d = 0; d < drawn.unknowns; ++d) {
            chances[d] =
                air::scrambled(points[point * drawn.unknowns + d], settings.seed * 1000003 + i % kScrambles, d);
          }
          model.draw(*bench, chances, outcome);
          std::transform(outcome.begin(), outcome.end(), &drawn.outcome[i * drawn.size],
                         [](double x) { return static_cast<float>(x); });
          std::transform(chances.begin(), chances.end(), &drawn.chances[i * drawn.unknowns],
                         [](double x) { return static_cast<float>(x); });
        }
        const std::size_t finished = done.fetch_add(kAtATime) + kAtATime;
        if (first && settings.progress) settings.progress(std::min(1.0, static_cast<double>(from + finished) / all));
      }
    } catch (...) {
      stop = true;
      failures[worker] = std::current_exception();
    }
  };
  std::vector<std::thread> helpers;
  for (unsigned w = 1; w < settings.workers; ++w) helpers.emplace_back(work, w);
  work(0);
  for (auto& helper : helpers) helper.join();
  for (const auto& failure : failures) {
    if (failure) std::rethrow_exception(failure);
  }
  if (stop) return false;
  drawn.count = to;
  return true;
}

std::vector<double> column(const Drawn& drawn, std::size_t figure, std::size_t first = 0, std::size_t step = 1) {
  std::vector<double> out;
  out.reserve(drawn.count / step + 1);
  for (std::size_t i = first; i < drawn.count; i += step)
    out.push_back(static_cast<double>(drawn.outcome[i * drawn.size + figure]));
  return out;
}

/// Orders as much of `values` as quantile() looks at for kQuantiles, which rise: as good as sorted, in a fraction of
/// the time.
void sort_for_quantiles(std::vector<double>& values) {
  auto from = values.begin();
  for (const double q : kQuantiles) {
    const auto at = static_cast<std::ptrdiff_t>(q * static_cast<double>(values.size() - 1));
    for (auto place = values.begin() + at; place <= values.begin() + at + 1 && place < values.end(); ++place) {
      if (place < from) continue;
      std::nth_element(from, place, values.end());
      from = place + 1;
    }
  }
}

Band band_of(std::vector<double> values) {
  sort_for_quantiles(values);
  return {quantile(values, kQuantiles[0]), quantile(values, kQuantiles[1]), quantile(values, kQuantiles[2])};
}

Band band_of(const Drawn& drawn, std::size_t figure) { return band_of(column(drawn, figure)); }

Band scaled(const Band& band, double (*scale)(double)) {
  return {scale(band.low), scale(band.middle), scale(band.high)};
}

double share_at_least(const Drawn& drawn, std::size_t figure, double level) {
  const auto values = column(drawn, figure);
  const auto over = std::count_if(values.begin(), values.end(), [&](double x) { return x >= level; });
  return static_cast<double>(over) / static_cast<double>(values.size());
}

/// Relative standard error of the three percentiles of a figure, from the spread over the scrambles; the largest.
double error_of(const Drawn& drawn, std::size_t figure) {
  double worst = 0;
  std::array<std::vector<double>, kScrambles> sorted;
  for (std::size_t s = 0; s < kScrambles; ++s) {
    sorted[s] = column(drawn, figure, s, kScrambles);
    sort_for_quantiles(sorted[s]);
  }
  for (const double q : kQuantiles) {
    double sum = 0;
    double squares = 0;
    for (const auto& one : sorted) {
      const double x = quantile(one, q);
      sum += x;
      squares += x * x;
    }
    const double mean = sum / kScrambles;
    const double variance = std::max(0.0, squares - kScrambles * mean * mean) / (kScrambles - 1);
    if (mean > 0) worst = std::max(worst, std::sqrt(variance / kScrambles) / mean);
  }
  return worst;
}

std::vector<double> ranks(const std::vector<double>& values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
  std::vector<double> out(values.size());
  for (std::size_t i = 0; i < order.size();) {
    std::size_t j = i;
    while (j < order.size() && values[order[j]] == values[order[i]]) ++j;
    for (std::size_t k = i; k < j; ++k) out[order[k]] = 0.5 * static_cast<double>(i + j - 1);
    i = j;
  }
  return out;
}

double spearman(const std::vector<double>& a, const std::vector<double>& b) {
  const auto ra = ranks(a);
  const auto rb = ranks(b);
  const double middle = 0.5 * (static_cast<double>(a.size()) - 1);
  double ab = 0;
  double aa = 0;
  double bb = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    ab += (ra[i] - middle) * (rb[i] - middle);
    aa += (ra[i] - middle) * (ra[i] - middle);
    bb += (rb[i] - middle) * (rb[i] - middle);
  }
  return aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0;
}

/// What is asked of a scene: everybody's dose together, or the worst room's ten minutes.
std::vector<std::size_t> asked_figures(const Layout& layout) {
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < layout.people; ++p) out.push_back(layout.breathed(p));
  if (out.empty()) {
    for (std::size_t r = 0; r < layout.rooms; ++r) out.push_back(layout.ten_minutes(r));
  }
  return out;
}

std::vector<double> asked_sum(const Drawn& drawn, const std::vector<std::size_t>& figures) {
  std::vector<double> out(drawn.count, 0.0);
  for (const std::size_t figure : figures) {
    const auto one = column(drawn, figure);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] += one[i];
  }
  return out;
}

struct Otherwise {
  std::string what;
  Scene scene;
};

/// What the person could have done otherwise, as far as the scene leaves room for it.
std::vector<Otherwise> otherwise(const Scene& scene) {
  std::vector<Otherwise> out;
  const auto with_control = [&](const char* control, const char* what) {
    Scene other = scene;
    bool changed = false;
    for (auto& one : other.work) {
      if (std::find(one.controls.begin(), one.controls.end(), control) != one.controls.end()) continue;
      one.controls.emplace_back(control);
      changed = true;
    }
    if (changed) out.push_back({what, std::move(other)});
  };
  with_control("wetting", "had it been kept wet");
  with_control("shadow-vacuum", "with a class H cleaner held at the work");
  with_control("door-sealed", "with the door sealed while working");
  {
    Scene other = scene;
    bool changed = false;
    for (auto& person : other.people) {
      for (auto& mask : person.masks) {
        if (mask.share_worn && *mask.share_worn == 1) continue;
        mask.share_worn = 1;
        changed = true;
      }
    }
    if (changed) out.push_back({"had the masks been on all the time", std::move(other)});
  }
  {
    Scene other = scene;
    bool changed = false;
    for (auto& person : other.people) {
      std::vector<Mask> masks;
      for (const auto& stay : person.stays) masks.push_back({"ffp3", stay.from_min, stay.to_min, 1.0, false});
      changed = changed || !masks.empty();
      person.masks = std::move(masks);
    }
    if (changed) out.push_back({"had everybody worn an FFP3 all the time", std::move(other)});
  }
  {
    Scene other = scene;
    bool changed = false;
    double work_end = 0;
    for (const auto& one : scene.work) work_end = std::max(work_end, one.to_min);
    for (auto& person : other.people) {
      std::vector<Stay> kept;
      for (auto stay : person.stays) {
        const bool worked_in =
            std::any_of(scene.work.begin(), scene.work.end(), [&](const auto& w) { return w.room == stay.room; });
        if (worked_in && stay.to_min > work_end) {
          changed = true;
          stay.to_min = work_end;
        }
        if (stay.to_min > stay.from_min) kept.push_back(stay);
      }
      person.stays = std::move(kept);
    }
    if (changed) out.push_back({"had everybody left the room when the work stopped", std::move(other)});
  }
  {
    Scene other = scene;
    bool changed = false;
    for (auto& one : other.cleaning) {
      changed = changed || one.task != "damp-wipe";
      one.task = "damp-wipe";
    }
    if (changed) out.push_back({"cleaned with damp wipes instead", std::move(other)});
  }
  {
    Scene other = scene;
    bool changed = false;
    const double end = end_min(scene);
    for (auto& one : other.openings) {
      const bool worked_in =
          std::any_of(scene.work.begin(), scene.work.end(), [&](const auto& w) { return w.room == one.from; });
      if (one.to || !worked_in) continue;
      one.during = {{"open", 0, end}};
      changed = true;
    }
    if (changed) out.push_back({"with the window open all along", std::move(other)});
  }
  return out;
}

}  // namespace

double quantile(const std::vector<double>& sorted, double q) {
  const double at = q * static_cast<double>(sorted.size() - 1);
  const auto i = static_cast<std::size_t>(at);
  if (i + 1 >= sorted.size()) return sorted.back();
  return sorted[i] + (at - static_cast<double>(i)) * (sorted[i + 1] - sorted[i]);
}

reason::Result<Answer> uncertain(const Scene& scene, const catalogue::AirData& air,
                                 const catalogue::Catalogue& catalogue, const Settings& settings) {
  auto faults = check(scene, air, catalogue);
  if (settings.workers == 0) faults.push_back({"/workers", "0", "leaves nobody to do the work", "1 or more"});
  if (settings.fewest == 0 || settings.fewest % kAtATime != 0)
    faults.push_back({"/fewest", fmt::format("{}", settings.fewest), "cannot be shared out among the scrambles",
                      fmt::format("a multiple of {}", kAtATime)});
  if (!faults.empty()) return faults;

  const bool eight_hours = std::any_of(settings.limits.begin(), settings.limits.end(),
                                       [](const catalogue::AirLimit& one) { return one.minutes == kEightHoursMin; });
  const Model model(scene, air, catalogue, eight_hours);
  const auto& layout = model.layout();
  std::size_t most = settings.fewest;
  while (most < settings.draws) most *= 2;
  const std::size_t unknowns = model.unknowns().size();
  const auto points = air::sobol_points(most / kScrambles, unknowns);

  Drawn drawn;
  drawn.unknowns = unknowns;
  drawn.size = layout.size();
  Answer answer;
  const auto figures = asked_figures(layout);
  for (std::size_t to = settings.fewest;; to *= 2) {
    if (!draw_more(model, settings, points, to, static_cast<double>(most), drawn)) {
      answer.stopped = "cancelled";
      break;
    }
    answer.error = 0;
    for (const std::size_t figure : figures) answer.error = std::max(answer.error, error_of(drawn, figure));
    if (answer.error <= settings.wanted_error) {
      answer.stopped = "accurate enough";
      break;
    }
    if (to >= most) {
      answer.stopped = "draws asked for";
      break;
    }
  }
  if (drawn.count == 0) {
    return reason::Fault{"", "", "was cancelled before the first draws were done", "", reason::FaultKind::kConflict};
  }

  answer.draws = drawn.count;
  answer.times_min = model.times_min();
  answer.work_end_min = model.work_end_min();
  const double not_within = model.horizon_min() - model.work_end_min();
  for (std::size_t r = 0; r < layout.rooms; ++r) {
    RoomAnswer room;
    room.id = scene.rooms[r].id;
    for (std::size_t t = 0; t < layout.times; ++t) room.f_per_ml.push_back(band_of(drawn, layout.level(r, t)));
    room.ten_minutes = band_of(drawn, layout.ten_minutes(r));
    room.four_hours = band_of(drawn, layout.four_hours(r));
    if (eight_hours) room.eight_hours = band_of(drawn, layout.eight_hours(r));
    for (const auto& limit : settings.limits) {
      const auto figure = limit.minutes == kEightHoursMin  ? layout.eight_hours(r)
                          : limit.minutes == kFourHoursMin ? layout.four_hours(r)
                                                           : layout.ten_minutes(r);
      room.chances_over.push_back(share_at_least(drawn, figure, limit.f_per_ml));
    }
    room.minutes_until_clearance = band_of(drawn, layout.below_clearance_min(r));
    room.minutes_until_background = band_of(drawn, layout.below_background_min(r));
    room.chance_not_within_clearance = share_at_least(drawn, layout.below_clearance_min(r), not_within * (1 - 1e-6));
    room.chance_not_within_background = share_at_least(drawn, layout.below_background_min(r), not_within * (1 - 1e-6));
    room.load_f_per_cm2 = band_of(drawn, layout.load(r));
    room.week_f_per_ml_h = band_of(drawn, layout.week(r));
    answer.rooms.push_back(std::move(room));
  }
  for (std::size_t p = 0; p < layout.people; ++p) {
    PersonAnswer person;
    person.id = scene.people[p].id;
    person.breathed_f_per_ml_h = band_of(drawn, layout.breathed(p));
    person.without_mask_f_per_ml_h = band_of(drawn, layout.without_mask(p));
    person.working_years = scaled(person.breathed_f_per_ml_h, dose::working_years);
    person.continuous_years = scaled(person.breathed_f_per_ml_h, dose::continuous_years);
    person.ten_minutes = band_of(drawn, layout.person_ten_minutes(p));
    person.four_hours = band_of(drawn, layout.person_four_hours(p));
    if (eight_hours) person.eight_hours = band_of(drawn, layout.person_eight_hours(p));
    answer.people.push_back(std::move(person));
  }

  answer.asked = layout.people > 0 ? "what everybody breathed together" : "the largest ten minutes in the rooms";
  const auto total = asked_sum(drawn, figures);
  for (std::size_t d = 0; d < unknowns; ++d) {
    std::vector<double> chance(drawn.count);
    for (std::size_t i = 0; i < drawn.count; ++i) chance[i] = static_cast<double>(drawn.chances[i * unknowns + d]);
    answer.matters.push_back({model.unknowns()[d], spearman(chance, total)});
  }
  std::stable_sort(answer.matters.begin(), answer.matters.end(),
                   [](const Matter& a, const Matter& b) { return std::abs(a.correlation) > std::abs(b.correlation); });

  if (settings.changes && answer.stopped != "cancelled") {
    const double was = band_of(total).middle;
    for (const auto& one : otherwise(scene)) {
      const Model other(one.scene, air, catalogue);
      Drawn others;
      others.unknowns = other.unknowns().size();
      others.size = other.layout().size();
      Settings quiet = settings;
      quiet.progress = nullptr;
      const auto other_points = air::sobol_points(kForChanges / kScrambles, others.unknowns);
      if (!draw_more(other, quiet, other_points, kForChanges, kForChanges, others)) break;
      const double is = band_of(asked_sum(others, asked_figures(other.layout()))).middle;
      if (was > 0) answer.changes.push_back({one.what, is / was});
    }
    std::stable_sort(answer.changes.begin(), answer.changes.end(),
                     [](const Change& a, const Change& b) { return a.ratio < b.ratio; });
  }

  answer.reasons.push_back({fmt::format("{} draws of {} unknowns; the percentiles are good to {:.1f} % ({})",
                                        answer.draws, unknowns, 100 * answer.error, answer.stopped),
                            "arithmetic"});
  answer.reasons.push_back(
      {"How much dust a task lets go is judgement, held against what was measured at like tasks", "judgement"});
  answer.reasons.push_back({"Rooms are well mixed apart from the air round the work", "nicas-2024"});
  answer.reasons.push_back(
      {"A week of living counts 16 hours a day in the room, from a day after the end", "judgement"});
  if (!settings.limits_of.empty()) {
    std::string limits;
    for (const auto& one : settings.limits)
      limits += fmt::format("{}{:g} f/ml over {}", limits.empty() ? "" : ", ", one.f_per_ml, one.name);
    answer.reasons.push_back(
        {fmt::format("Limits for people at work in {}: {}; {} where harm begins", settings.limits_of, limits,
                     settings.limits.size() == 1 ? "it does not mark" : "neither marks"),
         settings.limits.empty() ? "judgement" : settings.limits.back().backing.source});
  }
  return answer;
}

}  // namespace lathbook::event
