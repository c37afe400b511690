#include "air/scene.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

namespace lathbook::air {
namespace {

constexpr double kBalanceTolerance = 1e-6;
constexpr double kShareTolerance = 1e-3;
constexpr double kMostReports = 200'000;
constexpr double kMostBytes = 1e9;
constexpr double kLongestMin = 60.0 * 24 * 366 * 120;

using Index = std::map<std::string, std::size_t, std::less<>>;

class Checker {
 public:
  explicit Checker(const Scene& scene) : scene_(scene) {}

  reason::Faults run() {
    zones();
    classes();
    flows("/flows", scene_.flows);
    phases();
    size();
    if (!(scene_.outdoor_f_per_ml >= 0)) add("/outdoor_f_per_ml", scene_.outdoor_f_per_ml, "is negative", "0 or more");
    if (!(scene_.below_f_per_ml > 0)) add("/below_f_per_ml", scene_.below_f_per_ml, "is not above zero", "more than 0");
    if (scene_.report_every_min && !(*scene_.report_every_min > 0)) {
      add("/report_every_min", *scene_.report_every_min, "is not above zero", "more than 0 minutes");
    } else if (scene_.report_every_min && total_min_ / *scene_.report_every_min > kMostReports) {
      add("/report_every_min", *scene_.report_every_min, "asks for too many times",
          fmt::format("at least {:g} minutes", total_min_ / kMostReports));
    }
    return std::move(faults_);
  }

 private:
  void size() {
    // Two matrices of up to two compartments a zone are kept for each of some twenty doublings, class and phase.
    const double states = 2.0 * static_cast<double>(scene_.zones.size());
    const double bytes =
        350 * states * states * static_cast<double>(scene_.classes.size()) * static_cast<double>(scene_.phases.size());
    if (bytes > kMostBytes) {
      faults_.push_back({"",
                         fmt::format("{} zones, {} classes, {} phases", scene_.zones.size(), scene_.classes.size(),
                                     scene_.phases.size()),
                         "is too much to work out at once", "for instance 40 zones, 6 classes and 70 phases"});
    }
  }

  void add(std::string where, double value, std::string problem, std::string allowed) {
    faults_.push_back({std::move(where), fmt::format("{}", value), std::move(problem), std::move(allowed)});
  }

  /// Not below zero and finite.
  void amount(const std::string& where, double value) {
    if (!(value >= 0) || !std::isfinite(value)) add(where, value, "is not a figure of zero or more", "0 or more");
  }

  void zones() {
    if (scene_.zones.empty()) faults_.push_back({"/zones", "[]", "holds no zone", "at least one zone"});
    for (std::size_t i = 0; i < scene_.zones.size(); ++i) {
      const auto& zone = scene_.zones[i];
      const auto at = fmt::format("/zones/{}", i);
      if (zone.id == kOutdoors) {
        faults_.push_back({at + "/id", zone.id, "is kept for the air outside", "any other id"});
      } else if (!index_.emplace(zone.id, i).second) {
        faults_.push_back({at + "/id", zone.id, "is there twice", "an id of its own"});
      }
      if (!(zone.volume_m3 > 0) || !std::isfinite(zone.volume_m3)) {
        add(at + "/volume_m3", zone.volume_m3, "is not a volume", "more than 0 m3");
      }
      amount(at + "/floor_m2", zone.floor_m2);
      amount(at + "/start_f_per_ml", zone.start_f_per_ml);
      amount(at + "/start_load_f_per_cm2", zone.start_load_f_per_cm2);
      if (zone.floor_m2 == 0 && zone.start_load_f_per_cm2 > 0) {
        add(at + "/start_load_f_per_cm2", zone.start_load_f_per_cm2, "lies on no floor", "0, or a floor_m2 above 0");
      }
    }
  }

  void classes() {
    if (scene_.classes.empty()) faults_.push_back({"/classes", "[]", "holds no size class", "at least one class"});
    std::set<std::string> seen;
    double sum = 0;
    for (std::size_t k = 0; k < scene_.classes.size(); ++k) {
      const auto& one = scene_.classes[k];
      const auto at = fmt::format("/classes/{}", k);
      if (!seen.insert(one.id).second) faults_.push_back({at + "/id", one.id, "is there twice", "an id of its own"});
      amount(at + "/share", one.share);
      amount(at + "/settling_m_per_s", one.settling_m_per_s);
      sum += one.share;
    }
    if (!scene_.classes.empty() && !(std::abs(sum - 1) <= kShareTolerance)) {
      add("/classes", sum, "is what the shares add up to", "shares that add up to 1");
    }
  }

  bool known(const std::string& where, const std::string& id, bool outdoors_too = false) {
    if (index_.contains(id) || (outdoors_too && id == kOutdoors)) return true;
    std::string ids;
    for (const auto& zone : scene_.zones) ids += (ids.empty() ? "" : ", ") + zone.id;
    faults_.push_back({where, id, "is no zone", "one of: " + ids + (outdoors_too ? ", outdoors" : "")});
    return false;
  }

  void flows(const std::string& where, const std::vector<Flow>& all) {
    const std::size_t n = scene_.zones.size();
    std::vector<double> in(n, 0.0);
    std::vector<double> out(n, 0.0);
    std::vector<std::vector<std::size_t>> into(n);
    std::vector<std::size_t> reach;
    bool usable = true;
    for (std::size_t i = 0; i < all.size(); ++i) {
      const auto& flow = all[i];
      const auto at = fmt::format("{}/{}", where, i);
      const bool starts = known(at + "/from", flow.from, true);
      const bool ends = known(at + "/to", flow.to, true) && starts;
      amount(at + "/m3_per_h", flow.m3_per_h);
      if (flow.from == flow.to)
        faults_.push_back({at + "/to", flow.to, "is where the flow comes from", "another zone"});
      if (!ends || flow.from == flow.to || !(flow.m3_per_h >= 0)) {
        usable = false;
        continue;
      }
      if (flow.m3_per_h == 0) continue;
      if (flow.from != kOutdoors) out[index_.at(flow.from)] += flow.m3_per_h;
      if (flow.to != kOutdoors) in[index_.at(flow.to)] += flow.m3_per_h;
      if (flow.from != kOutdoors && flow.to != kOutdoors) into[index_.at(flow.to)].push_back(index_.at(flow.from));
      if (flow.from != kOutdoors && flow.to == kOutdoors) reach.push_back(index_.at(flow.from));
    }
    if (!usable) return;
    for (std::size_t i = 0; i < n; ++i) {
      if (std::abs(in[i] - out[i]) <= kBalanceTolerance * std::max(in[i], out[i])) continue;
      faults_.push_back({where, fmt::format("{:+.6g} m3/h", in[i] - out[i]),
                         fmt::format("is what zone {} takes in ({:.10g} m3/h) less what it gives off ({:.10g} m3/h)",
                                     scene_.zones[i].id, in[i], out[i]),
                         "flows that balance in each zone to 1e-6"});
    }
    std::vector<bool> outside(n, false);
    for (std::size_t next = 0; next < reach.size(); ++next) {
      if (outside[reach[next]]) continue;
      outside[reach[next]] = true;
      reach.insert(reach.end(), into[reach[next]].begin(), into[reach[next]].end());
    }
    for (std::size_t i = 0; i < n; ++i) {
      if (outside[i] || out[i] == 0) continue;
      faults_.push_back({where, scene_.zones[i].id, "is a zone whose air has no path outdoors",
                         "a chain of flows from it to outdoors, or no flow at all for a closed zone"});
    }
  }

  void phases() {
    if (scene_.phases.empty()) faults_.push_back({"/phases", "[]", "holds no phase", "at least one phase"});
    for (std::size_t p = 0; p < scene_.phases.size(); ++p) {
      const auto& phase = scene_.phases[p];
      const auto at = fmt::format("/phases/{}", p);
      if (!(phase.minutes > 0) || !std::isfinite(phase.minutes)) {
        add(at + "/minutes", phase.minutes, "is no length of time", "more than 0 minutes");
      } else {
        total_min_ += phase.minutes;
      }
      if (phase.flows) flows(at + "/flows", *phase.flows);
      for (std::size_t i = 0; i < phase.sources.size(); ++i) {
        known(fmt::format("{}/sources/{}/zone", at, i), phase.sources[i].zone);
        amount(fmt::format("{}/sources/{}/f_per_min", at, i), phase.sources[i].f_per_min);
      }
      for (std::size_t i = 0; i < phase.filtration.size(); ++i) {
        known(fmt::format("{}/filtration/{}/zone", at, i), phase.filtration[i].zone);
        amount(fmt::format("{}/filtration/{}/m3_per_h", at, i), phase.filtration[i].m3_per_h);
        const double efficiency = phase.filtration[i].efficiency;
        if (!(efficiency >= 0 && efficiency <= 1)) {
          add(fmt::format("{}/filtration/{}/efficiency", at, i), efficiency, "is no share", "0 to 1");
        }
      }
      rates(at + "/resuspension", phase.resuspension);
      rates(at + "/surface_removal", phase.surface_removal);
    }
    if (total_min_ > kLongestMin) add("/phases", total_min_, "minutes in all are too many", "at most 120 years");
  }

  void rates(const std::string& where, const std::vector<Rate>& all) {
    for (std::size_t i = 0; i < all.size(); ++i) {
      known(fmt::format("{}/{}/zone", where, i), all[i].zone);
      amount(fmt::format("{}/{}/per_h", where, i), all[i].per_h);
    }
  }

  const Scene& scene_;
  Index index_;
  double total_min_ = 0;
  reason::Faults faults_;
};

}  // namespace

reason::Faults check(const Scene& scene) { return Checker(scene).run(); }

}  // namespace lathbook::air
