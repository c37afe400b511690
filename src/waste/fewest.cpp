#include "waste/fewest.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>
#include <string>
#include <unordered_map>

#include "waste/cover.h"

namespace lathbook::waste {
namespace {

constexpr double kHair = 1e-9;    // relative: a load of exactly the payload goes
constexpr double kBeyond = 1e-6;  // a fractional cover this little over a whole number proves nothing

bool none(const Counts& counts) {
  return std::ranges::all_of(counts, [](int n) { return n == 0; });
}

Counts without(Counts left, const Counts& trip) {
  for (std::size_t i = 0; i < left.size(); ++i) left[i] -= trip[i];
  return left;
}

double sum_of(const Scale& scale, const Counts& counts) {
  double sum = 0;
  for (std::size_t i = 0; i < counts.size(); ++i) sum += counts[i] * scale[i];
  return sum;
}

/// Trips for pieces that sum to so much: rounding in the sum must not add one.
int trips_for(double sum) { return static_cast<int>(std::ceil(sum - kHair * (1 + sum))); }

class Search {
 public:
  Search(Counts all, std::vector<Scale> limits, const std::vector<Scale>& scales, Layouts& layouts, std::int64_t work)
      : all_(std::move(all)), limits_(limits.size()), scales_(std::move(limits)), layouts_(layouts), work_(work) {
    scales_.insert(scales_.end(), scales.begin(), scales.end());
    given_ = scales_.size();
  }

  Fewest run() {
    Fewest out;
    out.trips = first_fits();
    out.at_least = bound(all_);
    out.proved = true;
    if (static_cast<int>(out.trips.size()) > out.at_least + kFarApart) {
      // Where the sums say so little, the fractional cover is asked about the plan itself, not step by step towards it.
      allowed_ = work_ / 4;
      std::vector<Part> parts;
      if (refuted(all_, static_cast<int>(out.trips.size()) - 1, parts)) out.at_least = bound(all_);
    }
    for (int trips = out.at_least; trips < static_cast<int>(out.trips.size()); ++trips) {
      // The last number to try may have all that is left.
      const bool last = trips + 1 == static_cast<int>(out.trips.size());
      allowed_ = last ? work_ : spent() + (work_ - spent()) / 2;
      trips_.clear();
      hopeless_.clear();
      unsure_ = false;
      if (plainly(trips) || dive(trips) || pack(all_, trips)) {
        out.trips = trips_;
        break;
      }
      if (unsure_ || out_of_work()) out.proved = false;
      if (out.proved) out.at_least = trips + 1;
    }
    if (static_cast<int>(out.trips.size()) == out.at_least) out.proved = true;
    out.learnt.assign(scales_.begin() + static_cast<std::ptrdiff_t>(given_), scales_.end());
    return out;
  }

 private:
  // ---- what one trip holds ----

  [[nodiscard]] bool within_limits(const Counts& trip) const {
    return std::ranges::all_of(scales_, [&](const Scale& scale) { return sum_of(scale, trip) <= 1 + kHair; });
  }

  [[nodiscard]] Fits fits(const Counts& trip) {
    ++steps_;
    return within_limits(trip) ? layouts_.fits(trip) : Fits::kNo;
  }

  /// A trip that could not be settled counts as none, and whatever follows from it as not proved.
  [[nodiscard]] bool goes(const Counts& trip) {
    const Fits answer = fits(trip);
    unsure_ = unsure_ || answer == Fits::kUnknown;
    return answer == Fits::kYes;
  }

  /// Adds pieces of `from` as long as any goes along.
  void fill(Counts& trip, const Counts& from) {
    for (std::size_t i = 0; i < from.size(); ++i) {
      while (trip[i] < from[i]) {
        ++trip[i];
        if (fits(trip) == Fits::kYes) continue;
        --trip[i];
        break;
      }
    }
  }

  // ---- bounds ----

  /// Trips that any arrangement needs.
  [[nodiscard]] int bound(const Counts& left) const {
    int most = none(left) ? 0 : 1;
    for (const auto& scale : scales_) most = std::max(most, trips_for(sum_of(scale, left)));
    for (std::size_t q = 0; q < given_; ++q) most = std::max(most, with_halves(scales_[q], left));
    return most;
  }

  /// L2: for each share a, pieces above 1 − a are alone beside pieces of a or more, those above a half never share.
  [[nodiscard]] static int with_halves(const Scale& scale, const Counts& left) {
    int most = 0;
    for (std::size_t at = 0; at < left.size(); ++at) {
      const double a = scale[at];
      if (left[at] == 0 || a > 0.5) continue;
      int alone = 0, half = 0;
      double half_sum = 0, small_sum = 0;
      for (std::size_t i = 0; i < left.size(); ++i) {
        const double share = scale[i];
        if (share > 1 - a + kHair) {
          alone += left[i];
        } else if (share > 0.5 + kHair) {
          half += left[i];
          half_sum += left[i] * share;
        } else if (share >= a - kHair) {
          small_sum += left[i] * share;
        }
      }
      most = std::max(most, alone + half + std::max(0, trips_for(small_sum - (half - half_sum))));
    }
    return most;
  }

  // ---- the most valuable load ----

  struct Wanted {
    const std::vector<double>& worth;
    const Counts& left;
    double beat = 0;                                ///< worth to exceed
    std::int64_t stop = 0;                          ///< steps after which the best so far will do
    Counts load = {};                               ///< as far as it is chosen
    std::vector<double> room = {};                  ///< left in it by each scale
    std::vector<std::vector<std::size_t>> by = {};  ///< for each scale, kinds by falling worth for the share they take
    std::vector<Counts> found = {};                 ///< each worth more than the one before
    bool unsure = false;
  };

  /// No load made of `load` and pieces of `kinds` is worth more.
  [[nodiscard]] double most_worth(const Wanted& wanted, double worth, const std::vector<char>& may) {
    ++steps_;
    double most = std::numeric_limits<double>::max();
    for (std::size_t q = 0; q < wanted.by.size(); ++q) {
      double room = wanted.room[q] + kHair, sum = worth;
      for (const auto kind : wanted.by[q]) {
        if (!may[kind]) continue;
        const int n = wanted.left[kind] - wanted.load[kind];
        const double share = scales_[q][kind] * n;
        if (share > room) {
          sum += wanted.worth[kind] * n * std::max(0.0, room) / share;
          break;
        }
        room -= share;
        sum += wanted.worth[kind] * n;
      }
      most = std::min(most, sum);
      if (most <= wanted.beat) break;
    }
    return most;
  }

  void grow(Wanted& wanted, const std::vector<std::size_t>& kinds, std::size_t from, double worth) {
    if (std::accumulate(wanted.load.begin(), wanted.load.end(), std::size_t{0}) > kDeepest) {
      wanted.unsure = true;
      return;
    }
    std::vector<std::size_t> next;
    std::vector<char> may(wanted.load.size(), 0);
    for (std::size_t k = from; k < kinds.size(); ++k) {
      const std::size_t kind = kinds[k];
      if (wanted.load[kind] < wanted.left[kind]) may[kind] = 1;
    }
    for (std::size_t k = from; k < kinds.size(); ++k) {
      const std::size_t kind = kinds[k];
      if (!may[kind]) continue;
      ++wanted.load[kind];
      const Fits answer = fits(wanted.load);
      --wanted.load[kind];
      wanted.unsure = wanted.unsure || answer == Fits::kUnknown;
      if (answer == Fits::kYes) {
        next.push_back(kind);
      } else {
        may[kind] = 0;
      }
    }
    if (next.empty()) {
      if (worth > wanted.beat) {
        if (wanted.found.empty()) wanted.stop = std::min(wanted.stop, steps_ + kLookFurther);
        wanted.found.push_back(wanted.load);
        wanted.beat = worth;
      }
      return;
    }
    for (std::size_t k = 0; k < next.size(); ++k) {
      if (steps_ > wanted.stop || most_worth(wanted, worth, may) <= wanted.beat) return;
      const std::size_t kind = next[k];
      ++wanted.load[kind];
      for (std::size_t q = 0; q < wanted.room.size(); ++q) wanted.room[q] -= scales_[q][kind];
      grow(wanted, next, k, worth + wanted.worth[kind]);
      for (std::size_t q = 0; q < wanted.room.size(); ++q) wanted.room[q] += scales_[q][kind];
      --wanted.load[kind];
      may[kind] = 0;
    }
  }

  enum class Priced { kFound, kNone, kUnsettled };

  /// Loads of `left` worth more than `beat`: some of the best, none at all, or not settled.
  Priced price(const Counts& left, const std::vector<double>& worth, double beat, std::vector<Counts>& found) {
    Wanted wanted{.worth = worth, .left = left, .beat = beat, .stop = steps_ + (allowed_ - spent()) / kStep};
    wanted.load.assign(left.size(), 0);
    wanted.room.assign(scales_.size(), 1.0);
    std::vector<std::size_t> kinds;
    for (std::size_t i = 0; i < left.size(); ++i) {
      if (left[i] > 0 && worth[i] > kHair) kinds.push_back(i);
    }
    std::ranges::stable_sort(kinds, std::greater{}, [&](std::size_t i) { return worth[i]; });
    for (const auto& scale : scales_) {
      wanted.by.push_back(kinds);
      std::ranges::stable_sort(wanted.by.back(), std::greater{},
                               [&](std::size_t i) { return worth[i] / std::max(scale[i], 1e-12); });
    }
    grow(wanted, kinds, 0, 0);
    found = std::move(wanted.found);
    if (!found.empty()) return Priced::kFound;
    return wanted.unsure || out_of_work() ? Priced::kUnsettled : Priced::kNone;
  }

  // ---- loads taken in part ----

  struct Part {
    Counts load;
    double taken = 0;
  };

  void remember(Counts load) {
    if (known_.insert(load).second) pool_.push_back(std::move(load));
  }

  /// Makes a scale of prices that no load of `left` exceeds. Loads of other pieces may hold more of a kind than `left`
  /// has, so only kinds that are all there count. What all pieces teach is always kept; of parts, as many as are worth
  /// asking at every step.
  void learn(const Counts& left, Scale worth, double beat) {
    if (left != all_ && scales_.size() >= kMostScales) return;
    for (std::size_t i = 0; i < left.size(); ++i) worth[i] = left[i] == all_[i] ? worth[i] / beat : 0;
    scales_.push_back(std::move(worth));
  }

  /// True when a scale shows that `left` needs more than `trips`. Otherwise `parts` are loads that cover it in part,
  /// the most used first.
  bool refuted(const Counts& left, int trips, std::vector<Part>& parts) {
    std::vector<std::size_t> kinds;
    Counts demand;
    for (std::size_t i = 0; i < left.size(); ++i) {
      if (left[i] == 0) continue;
      kinds.push_back(i);
      demand.push_back(left[i]);
    }
    Cover cover(demand);
    std::vector<Counts> loads;
    const auto add = [&](const Counts& load) {
      Counts whole(left.size(), 0), column;
      for (const auto i : kinds) column.push_back(whole[i] = std::min(load[i], left[i]));
      if (none(column)) return;
      cover.add(column);
      loads.push_back(std::move(whole));
    };
    for (const auto& load : pool_) add(load);
    std::vector<double> worth(left.size());
    bool refuted = false;
    for (;;) {
      const auto before = cover.work();
      cover.solve();
      steps_ += (cover.work() - before) / 512;
      if (cover.trips() <= trips + kBeyond || out_of_work()) break;
      std::ranges::fill(worth, 0.0);
      for (std::size_t k = 0; k < kinds.size(); ++k) worth[kinds[k]] = cover.prices()[k];
      // Enough above the number of trips to be told from rounding in a sum of thousands of shares.
      const double beat = cover.trips() / (trips + std::min((cover.trips() - trips) / 2, kClear));
      std::vector<Counts> found;
      const Priced priced = price(left, worth, beat, found);
      if (priced == Priced::kFound) {
        for (auto& load : found) {
          remember(load);
          add(load);
        }
        continue;
      }
      if (priced == Priced::kNone) {
        learn(left, worth, beat);
        refuted = true;
      }
      break;
    }
    if (refuted) return true;
    const auto taken = cover.taken();
    for (std::size_t j = 0; j < loads.size(); ++j) {
      if (taken[j] > kBeyond) parts.push_back({loads[j], taken[j]});
    }
    std::ranges::stable_sort(parts, std::greater{}, &Part::taken);
    return false;
  }

  // ---- plans ----

  /// Each trip filled with what still goes, by several orders: the plan to fall back on.
  std::vector<Counts> first_fits() {
    std::vector<Counts> best;
    std::vector<std::size_t> order(all_.size());
    for (std::size_t q = 0; q <= given_; ++q) {
      std::iota(order.begin(), order.end(), 0U);
      if (q < given_) std::ranges::stable_sort(order, std::greater{}, [&](std::size_t i) { return scales_[q][i]; });
      std::vector<Counts> trips;
      for (Counts left = all_; !none(left);) {
        Counts trip(left.size(), 0);
        for (const auto i : order) {
          int n = std::min(left[i], room(trip, i));
          trip[i] = n;
          while (trip[i] > 0 && fits(trip) != Fits::kYes) --trip[i];
          left[i] -= trip[i];
        }
        trips.push_back(trip);
        remember(std::move(trip));
      }
      if (best.empty() || trips.size() < best.size()) best = std::move(trips);
    }
    return best;
  }

  /// How many of kind `i` the scales still leave room for.
  [[nodiscard]] int room(const Counts& trip, std::size_t i) const {
    double most = std::numeric_limits<int>::max();
    for (std::size_t q = 0; q < given_; ++q) {
      const double share = scales_[q][i];
      if (share > 0) most = std::min(most, std::floor((1 + kHair - sum_of(scales_[q], trip)) / share + kHair));
    }
    return std::max(0, static_cast<int>(most));
  }

  /// Rounds the fractional cover one load at a time; several times, each beginning with another load.
  bool dive(int trips) {
    for (std::size_t attempt = 0; attempt < kDives && !out_of_work(); ++attempt) {
      Counts left = all_;
      trips_.clear();
      for (int still = trips; still > 0 && !none(left); --still) {
        std::vector<Part> parts;
        if (bound(left) > still || refuted(left, still, parts) || parts.empty()) break;
        Counts trip = parts[trips_.empty() ? std::min(attempt, parts.size() - 1) : 0].load;
        fill(trip, left);
        left = without(left, trip);
        trips_.push_back(std::move(trip));
      }
      if (none(left)) return true;
      if (bound(all_) > trips) return false;
    }
    trips_.clear();
    return false;
  }

  /// The exhaustive search by the scales known, for a while: where mass alone decides it is soon done.
  bool plainly(int trips) {
    // Once loads had to be split into piles, the shapes matter, and what is learnt of them is worth more.
    if (layouts_.work() > 0 || too_deep(trips)) return false;
    const auto kept = allowed_;
    allowed_ = std::min(allowed_, spent() + work_ / 2);
    in_part_ = false;
    const bool packed = pack(all_, trips);
    in_part_ = true;
    allowed_ = kept;
    return packed;
  }

  bool pack(const Counts& left, int trips) {
    if (none(left)) return true;
    if (trips == 0 || bound(left) > trips) return false;
    ++steps_;
    if (too_deep(trips)) unsure_ = true;
    if (out_of_work() || too_deep(trips)) return false;
    if (const auto found = hopeless_.find(left_key(left)); found != hopeless_.end() && found->second >= trips)
      return false;
    std::vector<Part> parts;
    if (trips == 1) {
      if (goes(left)) {
        trips_.push_back(left);
        return true;
      }
    } else if (!in_part_ || !refuted(left, trips, parts)) {
      const auto lead =
          static_cast<std::size_t>(std::ranges::find_if(left, [](int n) { return n > 0; }) - left.begin());
      std::set<Counts> tried;
      for (auto& part : parts) {
        if (part.load[lead] == 0) continue;
        fill(part.load, left);
        if (tried.insert(part.load).second && take(left, part.load, trips)) return true;
      }
      Counts trip(left.size(), 0);
      std::vector<double> used(scales_.size(), 0.0), ahead, needed;
      for (const auto& scale : scales_) {
        ahead.push_back(sum_of(scale, left));
        needed.push_back(ahead.back() - (trips - 1) * (1 + kHair) - kHair);
      }
      if (choose(left, trips, lead, lead, trip, used, ahead, needed, tried)) return true;
    }
    if (!out_of_work()) {
      int& known = hopeless_[left_key(left)];
      known = std::max(known, trips);
    }
    return false;
  }

  bool take(const Counts& left, const Counts& trip, int trips) {
    if (!pack(without(left, trip), trips - 1)) return false;
    trips_.push_back(trip);
    return true;
  }

  /// Decides how many of kind `i` and on; tries the fullest trips first.
  bool choose(const Counts& left, int trips, std::size_t lead, std::size_t i, Counts& trip,
              const std::vector<double>& used, std::vector<double> ahead, const std::vector<double>& needed,
              const std::set<Counts>& tried) {
    ++steps_;
    if (out_of_work()) return false;
    for (std::size_t q = 0; q < used.size(); ++q) {
      if (used[q] + ahead[q] < needed[q]) return false;
    }
    while (i < left.size() && left[i] == 0) ++i;
    if (i == left.size()) return !tried.contains(trip) && largest(left, trip) && take(left, trip, trips);
    for (std::size_t q = 0; q < used.size(); ++q) ahead[q] -= left[i] * scales_[q][i];
    for (int n = std::min(left[i], room(trip, i)); n >= (i == lead ? 1 : 0); --n) {
      trip[i] = n;
      // Whatever is decided later only adds to this trip, so one that does not go now never will.
      if (n > 0 && !goes(trip)) continue;
      std::vector<double> more = used;
      for (std::size_t q = 0; q < used.size(); ++q) more[q] += n * scales_[q][i];
      if (choose(left, trips, lead, i + 1, trip, more, ahead, needed, tried)) return true;
      if (out_of_work()) break;
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

  /// The exhaustive search calls itself for every trip and every kind in it: of so many the stack has no room, nor
  /// would the work do.
  [[nodiscard]] bool too_deep(int trips) const {
    return static_cast<std::size_t>(trips) * (all_.size() + 2) > kDeepest;
  }

  [[nodiscard]] std::int64_t spent() const { return kStep * steps_ + layouts_.work(); }
  [[nodiscard]] bool out_of_work() const { return spent() > allowed_; }

  static constexpr std::int64_t kLookFurther = 300;  // steps for a better load once one was found
  static constexpr std::int64_t kStep = 10;          // work of a step, beside that of a split
  static constexpr std::size_t kMostScales = 12;
  static constexpr std::size_t kDeepest = 4000;
  static constexpr double kClear = 0.01;
  static constexpr int kFarApart = 8;
  static constexpr std::size_t kDives = 4;

  Counts all_;
  std::size_t limits_;
  std::size_t given_ = 0;
  std::vector<Scale> scales_;
  Layouts& layouts_;
  std::int64_t work_;
  std::int64_t allowed_ = 0;
  std::int64_t steps_ = 0;
  std::vector<Counts> pool_;
  std::set<Counts> known_;
  std::unordered_map<std::string, int> hopeless_;
  std::vector<Counts> trips_;
  bool unsure_ = false;
  bool in_part_ = true;  ///< whether loads are also taken in part
};

}  // namespace

Fewest fewest_trips(const Counts& all, const std::vector<Scale>& limits, const std::vector<Scale>& scales,
                    Layouts& layouts, std::int64_t work) {
  return Search(all, limits, scales, layouts, work).run();
}

}  // namespace lathbook::waste
