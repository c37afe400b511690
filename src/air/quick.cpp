#include "air/quick.h"

#include <algorithm>
#include <array>
#include <complex>
#include <map>
#include <set>

namespace lathbook::air {
namespace {

// Poles and residues of the near-best approximation of type (9, 10) to exp on the negative axis, by the
// Caratheodory-Fejer method; conjugates left out. Their error is measured in quick_test.cpp.
constexpr std::size_t kPoles = 5;
constexpr std::array<std::complex<double>, kPoles> kPole = {{{4.0277324912697141, 1.1938560683699282},
                                                             {3.2837529079326337, 3.5943867779715886},
                                                             {1.7154060422686686, 6.0389349345815884},
                                                             {-0.89440467211287156, 8.5827569110708719},
                                                             {-5.1611912370810007, 11.375156266523566}}};
constexpr std::array<std::complex<double>, kPoles> kResidue = {{{-4.818382081573219, -21.054597777681909},
                                                                {7.1171652466015578, 8.8195334170647826},
                                                                {-2.5655850142172016, -1.2163857590234659},
                                                                {0.27258698810450577, 0.014211730520110662},
                                                                {-0.0057849040643425829, 0.00068585065095452379}}};
constexpr std::size_t kRegister = 4;  // doubles side by side

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define LATHBOOK_VECTOR_CLONES __attribute__((target_clones("avx2", "default")))
#else
#define LATHBOOK_VECTOR_CLONES
#endif

// The loops that all the time goes into; `n` is a multiple of kRegister. No contraction, so the clones agree bit
// for bit.

/// 1 / z in place.
LATHBOOK_VECTOR_CLONES void reciprocal(std::size_t n, double* __restrict re, double* __restrict im) {
  for (std::size_t l = 0; l < n; ++l) {
    const double size = 1.0 / (re[l] * re[l] + im[l] * im[l]);
    re[l] *= size;
    im[l] *= -size;
  }
}

/// f = a times b.
LATHBOOK_VECTOR_CLONES void product(std::size_t n, const double* __restrict a_re, const double* __restrict a_im,
                                    const double* __restrict b_re, const double* __restrict b_im,
                                    double* __restrict f_re, double* __restrict f_im) {
  for (std::size_t l = 0; l < n; ++l) {
    f_re[l] = a_re[l] * b_re[l] - a_im[l] * b_im[l];
    f_im[l] = a_re[l] * b_im[l] + a_im[l] * b_re[l];
  }
}

/// f *= a.
LATHBOOK_VECTOR_CLONES void multiply(std::size_t n, const double* __restrict a_re, const double* __restrict a_im,
                                     double* __restrict f_re, double* __restrict f_im) {
  for (std::size_t l = 0; l < n; ++l) {
    const double re = f_re[l] * a_re[l] - f_im[l] * a_im[l];
    f_im[l] = f_re[l] * a_im[l] + f_im[l] * a_re[l];
    f_re[l] = re;
  }
}

/// c -= a times b.
LATHBOOK_VECTOR_CLONES void subtract_product(std::size_t n, const double* __restrict a_re,
                                             const double* __restrict a_im, const double* __restrict b_re,
                                             const double* __restrict b_im, double* __restrict c_re,
                                             double* __restrict c_im) {
  for (std::size_t l = 0; l < n; ++l) {
    c_re[l] -= a_re[l] * b_re[l] - a_im[l] * b_im[l];
    c_im[l] -= a_re[l] * b_im[l] + a_im[l] * b_re[l];
  }
}

/// d = hours times a minus the pole, for one compartment.
LATHBOOK_VECTOR_CLONES void shift(std::size_t n, double hours, const double* __restrict a,
                                  const double* __restrict pole_re, const double* __restrict pole_im,
                                  double* __restrict d_re, double* __restrict d_im) {
  for (std::size_t l = 0; l < n; ++l) {
    d_re[l] = hours * a[l] - pole_re[l];
    d_im[l] = -pole_im[l];
  }
}

/// to = factor times from, as complex numbers.
LATHBOOK_VECTOR_CLONES void scale(std::size_t n, double factor, const double* __restrict from, double* __restrict to_re,
                                  double* __restrict to_im) {
  for (std::size_t l = 0; l < n; ++l) {
    to_re[l] = factor * from[l];
    to_im[l] = 0;
  }
}

/// The real part of weight times z, times `factor`.
LATHBOOK_VECTOR_CLONES void weigh(std::size_t n, double factor, const double* __restrict weight_re,
                                  const double* __restrict weight_im, const double* __restrict re,
                                  const double* __restrict im, double* __restrict out) {
  for (std::size_t l = 0; l < n; ++l) out[l] = factor * (weight_re[l] * re[l] - weight_im[l] * im[l]);
}

/// The same added to `sum`.
LATHBOOK_VECTOR_CLONES void add_weighed(std::size_t n, double factor, const double* __restrict weight_re,
                                        const double* __restrict weight_im, const double* __restrict re,
                                        const double* __restrict im, double* __restrict sum) {
  for (std::size_t l = 0; l < n; ++l) sum[l] += factor * (weight_re[l] * re[l] - weight_im[l] * im[l]);
}

}  // namespace

QuickPlan::QuickPlan(std::size_t zones, std::span<const std::pair<std::size_t, std::size_t>> joined,
                     std::span<const std::size_t> floors)
    : zones_(zones), floors_(floors.begin(), floors.end()) {
  const std::size_t n = zones + floors.size();
  std::vector<std::set<std::size_t>> near(n);
  for (const auto& [a, b] : joined) {
    near[a].insert(b);
    near[b].insert(a);
  }
  for (std::size_t f = 0; f < floors.size(); ++f) {
    near[zones + f].insert(floors[f]);
    near[floors[f]].insert(zones + f);
  }
  std::map<std::pair<std::size_t, std::size_t>, std::size_t> slot;
  const auto slot_of = [&](std::size_t to, std::size_t from) {
    const auto [at, fresh] = slot.try_emplace({to, from}, slots_);
    if (fresh) ++slots_;
    return at->second;
  };
  for (const auto& [a, b] : joined) zone_joins_.push_back({a, b, slot_of(a, b), slot_of(b, a)});
  for (std::size_t f = 0; f < floors.size(); ++f) {
    floor_joins_.push_back({floors[f], zones + f, slot_of(floors[f], zones + f), slot_of(zones + f, floors[f])});
  }
  std::vector<bool> gone(n, false);
  for (std::size_t step = 0; step < n; ++step) {
    std::size_t best = n;
    for (std::size_t i = 0; i < n; ++i) {
      if (!gone[i] && (best == n || near[i].size() < near[best].size())) best = i;
    }
    gone[best] = true;
    order_.push_back(best);
    Pivot pivot;
    pivot.node = best;
    pivot.later.assign(near[best].begin(), near[best].end());
    for (const std::size_t i : pivot.later) {
      pivot.down.push_back(slot_of(i, best));
      pivot.up.push_back(slot_of(best, i));
      near[i].erase(best);
    }
    for (const std::size_t i : pivot.later) {
      for (const std::size_t j : pivot.later) {
        pivot.update.push_back(i == j ? i : slot_of(i, j));
        if (i != j) near[i].insert(j);
      }
    }
    pivots_.push_back(std::move(pivot));
  }
}

QuickSolver::QuickSolver(const QuickPlan& plan, std::size_t classes) : plan_(&plan), classes_(classes) {
  lanes_ = (classes * kPoles + kRegister - 1) / kRegister * kRegister;
  const std::size_t n = plan.compartments();
  pole_re_.assign(lanes_, 1.0);  // padding lanes hold a harmless matrix
  pole_im_.assign(lanes_, 1.0);
  weight_.assign(6 * lanes_, 0.0);
  for (std::size_t k = 0; k < classes; ++k) {
    for (std::size_t p = 0; p < kPoles; ++p) {
      const std::size_t l = k * kPoles + p;
      pole_re_[l] = kPole[p].real();
      pole_im_[l] = kPole[p].imag();
      std::complex<double> weight = 2.0 * kResidue[p];
      for (std::size_t power = 0; power < 3; ++power) {
        weight_[(2 * power) * lanes_ + l] = weight.real();
        weight_[(2 * power + 1) * lanes_ + l] = weight.imag();
        weight /= kPole[p];
      }
    }
  }
  diagonal_.assign(n * lanes_, 0.0);
  off_.assign(plan.entries() * lanes_, 0.0);
  for (auto* one : {&start_, &source_, &d_re_, &d_im_, &x_re_, &x_im_, &y_re_, &y_im_}) one->assign(n * lanes_, 0.0);
  a_re_.assign(plan.entries() * lanes_, 0.0);
  a_im_.assign(plan.entries() * lanes_, 0.0);
}

void QuickSolver::set(const Rates& rates) {
  const auto& plan = *plan_;
  std::fill(off_.begin(), off_.end(), 0.0);
  const auto spread = [&](std::size_t k, double value, double* to) {
    for (std::size_t p = 0; p < kPoles; ++p) to[k * kPoles + p] += value;
  };
  std::fill(diagonal_.begin(), diagonal_.end(), 0.0);
  for (std::size_t i = 0; i < plan.zones(); ++i) {
    for (std::size_t k = 0; k < classes_; ++k)
      spread(k, -(rates.lost[i] + rates.settled[i * classes_ + k]), &diagonal_[i * lanes_]);
  }
  for (std::size_t e = 0; e < plan.zone_joins_.size(); ++e) {
    const auto& join = plan.zone_joins_[e];
    for (std::size_t k = 0; k < classes_; ++k) {
      spread(k, -rates.a_to_b[e], &diagonal_[join.a * lanes_]);
      spread(k, -rates.b_to_a[e], &diagonal_[join.b * lanes_]);
      spread(k, rates.a_to_b[e], &off_[join.b_from_a * lanes_]);
      spread(k, rates.b_to_a[e], &off_[join.a_from_b * lanes_]);
    }
  }
  for (std::size_t f = 0; f < plan.floor_joins_.size(); ++f) {
    const auto& join = plan.floor_joins_[f];
    for (std::size_t k = 0; k < classes_; ++k) {
      spread(k, -(rates.raised[f] + rates.cleaned[f]), &diagonal_[join.b * lanes_]);
      spread(k, rates.raised[f], &off_[join.a_from_b * lanes_]);
      spread(k, rates.settled[join.a * classes_ + k], &off_[join.b_from_a * lanes_]);
    }
  }
}

void QuickSolver::start(std::span<const double> fibres, std::span<const double> per_hour) {
  fed_ = false;
  for (std::size_t i = 0; i < plan_->compartments(); ++i) {
    for (std::size_t k = 0; k < classes_; ++k) {
      const double source = per_hour[i * classes_ + k];
      fed_ = fed_ || source != 0;
      for (std::size_t p = 0; p < kPoles; ++p) {
        start_[i * lanes_ + k * kPoles + p] = fibres[i * classes_ + k];
        source_[i * lanes_ + k * kPoles + p] = source;
      }
    }
  }
}

void QuickSolver::at(double hours, std::span<double> fibres, std::span<double> fibre_hours) {
  const auto& plan = *plan_;
  const std::size_t n = plan.compartments();
  const std::size_t L = lanes_;
  // t A - theta, and the two right-hand sides.
  for (std::size_t i = 0; i < n * L; i += L)
    shift(L, hours, &diagonal_[i], pole_re_.data(), pole_im_.data(), &d_re_[i], &d_im_[i]);
  scale(off_.size(), hours, off_.data(), a_re_.data(), a_im_.data());
  scale(start_.size(), 1, start_.data(), x_re_.data(), x_im_.data());
  if (fed_) scale(source_.size(), 1, source_.data(), y_re_.data(), y_im_.data());

  std::array<double, 64 * kPoles> factor_re;
  std::array<double, 64 * kPoles> factor_im;
  for (const auto& pivot : plan.pivots_) {
    const std::size_t k = pivot.node * L;
    reciprocal(L, &d_re_[k], &d_im_[k]);
    const std::size_t count = pivot.later.size();
    for (std::size_t i = 0; i < count; ++i) {
      const std::size_t down = pivot.down[i] * L;
      product(L, &a_re_[down], &a_im_[down], &d_re_[k], &d_im_[k], factor_re.data(), factor_im.data());
      for (std::size_t j = 0; j < count; ++j) {
        const std::size_t up = pivot.up[j] * L;
        const std::size_t to = pivot.update[i * count + j] * L;
        double* re = i == j ? &d_re_[to] : &a_re_[to];
        double* im = i == j ? &d_im_[to] : &a_im_[to];
        subtract_product(L, factor_re.data(), factor_im.data(), &a_re_[up], &a_im_[up], re, im);
      }
      const std::size_t to = pivot.later[i] * L;
      subtract_product(L, factor_re.data(), factor_im.data(), &x_re_[k], &x_im_[k], &x_re_[to], &x_im_[to]);
      if (fed_) subtract_product(L, factor_re.data(), factor_im.data(), &y_re_[k], &y_im_[k], &y_re_[to], &y_im_[to]);
    }
  }
  const auto back = [&](std::vector<double>& re, std::vector<double>& im, const QuickPlan::Pivot& pivot) {
    const std::size_t k = pivot.node * L;
    for (std::size_t j = 0; j < pivot.later.size(); ++j) {
      const std::size_t up = pivot.up[j] * L;
      const std::size_t from = pivot.later[j] * L;
      subtract_product(L, &a_re_[up], &a_im_[up], &re[from], &im[from], &re[k], &im[k]);
    }
    multiply(L, &d_re_[k], &d_im_[k], &re[k], &im[k]);
  };
  for (auto pivot = plan.pivots_.rbegin(); pivot != plan.pivots_.rend(); ++pivot) {
    back(x_re_, x_im_, *pivot);
    if (fed_) back(y_re_, y_im_, *pivot);
  }

  const double* w = weight_.data();
  for (std::size_t i = 0; i < n; ++i) {
    const double* re = &x_re_[i * L];
    const double* im = &x_im_[i * L];
    weigh(L, 1, w, w + L, re, im, factor_re.data());
    weigh(L, hours, w + 2 * L, w + 3 * L, re, im, factor_im.data());
    if (fed_) {
      re = &y_re_[i * L];
      im = &y_im_[i * L];
      add_weighed(L, hours, w + 2 * L, w + 3 * L, re, im, factor_re.data());
      add_weighed(L, hours * hours, w + 4 * L, w + 5 * L, re, im, factor_im.data());
    }
    for (std::size_t k = 0; k < classes_; ++k) {
      double now = 0;
      double gathered = 0;
      for (std::size_t l = k * kPoles; l < (k + 1) * kPoles; ++l) {
        now += factor_re[l];
        gathered += factor_im[l];
      }
      // Below its accuracy the approximation may dip under zero; fibres cannot.
      fibres[i * classes_ + k] = std::max(now, 0.0);
      fibre_hours[i * classes_ + k] = std::max(gathered, 0.0);
    }
  }
}

}  // namespace lathbook::air
