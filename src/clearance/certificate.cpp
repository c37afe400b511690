#include "clearance/certificate.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

namespace lathbook::clearance {
namespace {

using catalogue::ClearanceRules;

/// "one", "two" … as a sentence has them.
std::string number_word(std::size_t number) {
  static constexpr std::array<const char*, 7> kWords = {"no", "one", "two", "three", "four", "five", "six"};
  return number < kWords.size() ? kWords[number] : fmt::format("{}", number);
}

/// Which of the stages a line of the certificate speaks of, from 1; 0 = none we know. The last first, since what comes
/// later is told by a word of its own: "final visual look" is the last look, not the first.
std::size_t stage_number(std::string text, const ClearanceRules& rules) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (std::size_t n = rules.stages.size(); n > 0; --n) {
    const auto& words = rules.stages[n - 1].known_by;
    if (std::ranges::any_of(words, [&](const std::string& word) { return text.find(word) != std::string::npos; }))
      return n;
  }
  for (std::size_t n = 1; n <= rules.stages.size(); ++n) {
    if (text == fmt::format("{}", n) || text == fmt::format("stage {}", n)) return n;
  }
  return 0;
}

void check_stages(const Stated& stated, const ClearanceRules& rules, std::vector<Finding>& findings) {
  if (stated.stages.empty() && !stated.whole_certificate) return;
  const auto count = rules.stages.size();
  const auto all = count == 1 ? "the stage" : fmt::format("the {} stages", number_word(count));
  std::vector<std::size_t> order;
  for (const auto& text : stated.stages) {
    const auto number = stage_number(text, rules);
    // An air test that was made though none is asked for is no fault.
    const bool extra = number == 0 && !rules.air.required && text.find("air") != std::string::npos;
    if (extra) continue;
    if (number == 0) {
      findings.push_back({"stages", fmt::format("\"{}\" is none of {}.", text, all),
                          "It cannot be told what was looked at.", fmt::format("Ask which of {} it stands for.", all)});
    } else {
      order.push_back(number);
    }
  }
  for (std::size_t n = 1; n <= count; ++n) {
    if (std::ranges::find(order, n) == order.end()) {
      findings.push_back({"stages", fmt::format("Stage {}, {}, is not on the paper.", n, rules.stages[n - 1].name),
                          count == 1 ? std::string("Without it nothing is cleared.")
                                     : fmt::format("The {} stages are one whole: a pass in {} is not a clearance.",
                                                   number_word(count), number_word(count - 1)),
                          "Ask for the record of that stage, or for the clearance to be done again from it."});
    }
  }
  if (!std::ranges::is_sorted(order)) {
    findings.push_back({"stages", "The stages are not in order.",
                        "An air test before the visual inspection, or a final look before the air test, shows little: "
                        "each stage starts from a pass in the one before.",
                        "Ask for the times at which each stage began and ended."});
  }
}

void check_dates(const Stated& stated, const ClearanceRules& rules, std::vector<Finding>& findings) {
  if (stated.whole_certificate && !stated.issued_on) {
    findings.push_back(
        {"issued_on", "The certificate bears no date.", "It cannot be tied to this work.", "Ask for a dated copy."});
  }
  if (stated.issued_on && stated.work_finished_on && *stated.issued_on < *stated.work_finished_on) {
    findings.push_back({"issued_on",
                        fmt::format("Issued on {}, before the work was finished on {}.", stated.issued_on->text(),
                                    stated.work_finished_on->text()),
                        "It cannot speak of the room as it was left.",
                        "Ask which day is right, and for a new clearance if the work went on after it."});
  }
  if (stated.issued_on && stated.accreditation_expires_on && *stated.accreditation_expires_on < *stated.issued_on) {
    findings.push_back({"accreditation",
                        fmt::format("The analyst's accreditation ran out on {}, before the certificate's date.",
                                    stated.accreditation_expires_on->text()),
                        fmt::format("Clearance is for {}.", rules.by),
                        "Ask for the accreditation schedule that was in force on that day."});
  }
}

/// Whether it is broken; the rule itself goes to the reasons, with its source.
bool check_independence(const Stated& stated, const ClearanceRules& rules, std::vector<Finding>& findings) {
  if (!rules.independent || stated.independent.value_or(true)) return false;
  findings.push_back({"independence", "It was given by whoever did the removal.",
                      "Nobody but the firm that did the work has looked at what it left behind.",
                      fmt::format("Ask for a clearance by {}, whom you appoint yourself.", rules.by)});
  return true;
}

/// Told first: the best figures from the wrong firm clear nothing. Where it did the removal that alone is told.
void check_role(const Stated& stated, const ClearanceRules& rules, std::vector<Finding>& findings) {
  const auto& roles = rules.roles;
  if (stated.role.empty() || std::ranges::find(roles, stated.role) != roles.end()) return;
  if (rules.independent && !stated.independent.value_or(true)) return;
  findings.push_back({"party", fmt::format("The firm that gave it is written down as a {}.", stated.role),
                      fmt::format("Clearance is for {}: from anyone else it clears nothing.", rules.by),
                      fmt::format("Ask who inspected and signed. Write the paper down as given by that firm, which has "
                                  "to be written down as one of: {}.",
                                  fmt::join(roles, ", "))});
}

void check_sample(const StatedSample& sample, const AirCount& counted, const std::string& name,
                  const catalogue::ClearanceAir& air, std::vector<Finding>& findings) {
  const Count& count = sample.count;
  const double limit = air.below_f_per_ml;
  const bool enough_air = !air.litres || count.litres >= *air.litres;
  const bool enough_fields = !air.fields || count.fields >= *air.fields;
  if (!enough_air) {
    findings.push_back({name, fmt::format("{:g} litres of air; at least {:g} are needed.", count.litres, *air.litres),
                        fmt::format("Too little air was drawn to tell whether the room is below {:g} f/ml.", limit),
                        "Ask for the sample to be taken again, for instance 60 minutes at 8 litres a minute."});
  }
  if (!enough_fields) {
    findings.push_back({name,
                        fmt::format("{:g} fields counted; {:g} are needed for a clearance.", count.fields, *air.fields),
                        fmt::format("Fewer fields cannot show {:g} f/ml.", limit),
                        fmt::format("Ask for the same filter to be counted on to {:g} fields.", *air.fields)});
  }
  if (air.filter_mm && count.filter_mm <= *air.filter_mm) {
    findings.push_back({name,
                        fmt::format("The filter's exposed circle is {:g} mm; it must be wider than {:g} mm.",
                                    count.filter_mm, *air.filter_mm),
                        fmt::format("The {:g} f/ml limit was set for larger filters.", limit),
                        "Ask what holder was used and for its exposed diameter."});
  } else if (enough_air && enough_fields && counted.quantification_limit_f_per_ml > 1.05 * limit) {
    findings.push_back({name,
                        fmt::format("With this filter and circle 20 fibres stand for {} f/ml.",
                                    reported_figure(counted.quantification_limit_f_per_ml)),
                        fmt::format("More air or more fields are needed to show {:g} f/ml.", limit),
                        "Ask for a larger sample, or more fields on this one."});
  }
  const double found = concentration_f_per_ml(count.fibres, count);
  if (found >= limit) {
    findings.push_back(
        {name,
         counted.f_per_ml >= limit
             ? fmt::format("{:.3f} f/ml is not below {:g} f/ml.", counted.f_per_ml, limit)
             : fmt::format("{:.3f} f/ml before the blank is taken off is not below {:g} f/ml.", found, limit),
         "The room is not fit to go back into.",
         "Ask for the space to be cleaned again and the clearance to start again from the visual inspection."});
  }
  if (count.blank_fibres && *count.blank_fibres / *count.blank_fields * 100 > kBlankFibresPer100) {
    findings.push_back({name,
                        fmt::format("The blank held {:g} fibres in {:g} fields; at most 3 in 100 are expected.",
                                    *count.blank_fibres, *count.blank_fields),
                        "The filters or their handling were dirty: the count cannot be relied on either way.",
                        "Ask for new samples with clean blanks."});
  }
  if (sample.flow_l_per_min && sample.minutes) {
    const double litres = *sample.flow_l_per_min * *sample.minutes;
    // A pump's flow may drift by a tenth and still be accepted; beyond that the printed volume is another volume.
    if (std::abs(litres - count.litres) > 0.1 * count.litres) {
      findings.push_back({name,
                          fmt::format("{:g} litres a minute for {:g} minutes make {:.0f} litres, not {:g}.",
                                      *sample.flow_l_per_min, *sample.minutes, litres, count.litres),
                          "One of the three figures is wrong, and the result hangs on the volume.",
                          "Ask for the pump's start and stop times and flows."});
    }
  }
  if (sample.f_per_ml) {
    // The figure may be the concentration, or the limit where it was printed as "less than".
    const double worked_out = counted.quantified ? counted.f_per_ml : counted.quantification_limit_f_per_ml;
    const double rounding = worked_out < 0.1 ? 0.0051 : 0.051 * worked_out;
    const bool as_counted =
        std::abs(*sample.f_per_ml - counted.f_per_ml) <= rounding || std::abs(*sample.f_per_ml - found) <= rounding;
    if (found<limit&& * sample.f_per_ml> limit && *sample.f_per_ml > 1.05 * counted.quantification_limit_f_per_ml) {
      findings.push_back(
          {name,
           fmt::format("The paper states {:g} f/ml, which is not below {:g} f/ml; its count makes {:.3f}.",
                       *sample.f_per_ml, limit, counted.f_per_ml),
           "One of the two is wrong, and by what the paper states the room is not cleared.",
           "Ask for the counting sheet."});
    } else if (!as_counted && std::abs(*sample.f_per_ml - worked_out) > rounding) {
      findings.push_back(
          {name,
           fmt::format("The paper states {:g} f/ml; {:g} fibres, {:g} fields and {:g} litres make {:.3f}.",
                       *sample.f_per_ml, count.fibres, count.fields, count.litres, counted.f_per_ml),
           "The result was not worked out from this count.", "Ask for the counting sheet."});
    }
  }
}

}  // namespace

int samples_needed(double area_m2, double height_m) {
  const double volume_m3 = area_m2 * height_m;
  if (volume_m3 < 10) return 1;
  const double area = height_m > 3 ? volume_m3 / 3 : area_m2;
  return std::max(2, static_cast<int>(std::lround(std::cbrt(area) - 1)));
}

reason::Result<Clearance> check(const Stated& stated, const ClearanceRules& rules) {
  reason::Faults faults;
  const auto positive = [&](const char* field, double value) {
    if (!(value > 0))
      faults.push_back(
          {.where = field, .value = fmt::format("{:g}", value), .problem = "is no size", .allowed = "more than 0"});
  };
  if (rules.air.more_for_area) {
    positive("/area_m2", stated.area_m2);
    positive("/height_m", stated.height_m);
  }
  Clearance out;
  for (std::size_t i = 0; i < stated.samples.size(); ++i) {
    auto counted = air_count(stated.samples[i].count);
    if (counted.ok()) {
      out.counts.push_back(std::move(*counted));
    } else {
      for (auto& one : reason::within(fmt::format("/samples/{}", i), counted.faults()))
        faults.push_back(std::move(one));
    }
  }
  if (!faults.empty()) return faults;

  check_role(stated, rules, out.findings);
  if (rules.air.required)
    out.samples_needed = rules.air.more_for_area ? samples_needed(stated.area_m2, stated.height_m) : 1;
  if (static_cast<int>(stated.samples.size()) < out.samples_needed) {
    out.findings.push_back(
        {"samples",
         rules.air.more_for_area
             ? fmt::format("{} taken; a space of {:g} m² and {:g} m height needs {}.", stated.samples.size(),
                           stated.area_m2, stated.height_m, out.samples_needed)
             : std::string("No air sample is on the paper; one at least is asked for."),
         "Parts of the space were not tested.", "Ask for the missing samples to be taken before anyone goes back in."});
  }
  for (std::size_t i = 0; i < stated.samples.size(); ++i) {
    check_sample(stated.samples[i], out.counts[i], fmt::format("sample {}", i + 1), rules.air, out.findings);
  }
  check_stages(stated, rules, out.findings);
  check_dates(stated, rules, out.findings);
  const bool not_independent = check_independence(stated, rules, out.findings);
  out.pass = out.findings.empty();
  if (rules.air.required && rules.air.more_for_area) {
    out.reasons.push_back(
        {fmt::format("{} for {:g} m² of floor, {:g} m high: the cube root of the area less one, at least two.",
                     out.samples_needed == 1 ? "One air sample" : fmt::format("{} air samples", out.samples_needed),
                     stated.area_m2, stated.height_m),
         "hsg248"});
  }
  for (const auto& [text, backing] : rules.reasons) out.reasons.push_back({text, backing.source});
  if (not_independent) out.reasons.push_back({rules.independent->first, rules.independent->second.source});
  return out;
}

reason::Result<Clearance> check(const book::Certificate& certificate, const book::Party* analyst,
                                std::optional<bool> independent, const ClearanceRules& rules) {
  reason::Faults faults;
  const auto missing = [&](const char* field, bool there) {
    if (!there)
      faults.push_back({.where = std::string("/") + field,
                        .value = {},
                        .problem = "is missing",
                        .allowed = "the size the certificate is for"});
  };
  if (rules.air.more_for_area) {
    missing("area_m2", certificate.area_m2.has_value());
    missing("height_m", certificate.height_m.has_value());
  }
  if (!faults.empty()) return faults;
  Stated stated;
  stated.area_m2 = certificate.area_m2.value_or(0);
  stated.height_m = certificate.height_m.value_or(0);
  for (const auto& sample : certificate.samples) {
    StatedSample one;
    one.count.fibres = sample.fibres;
    one.count.fields = sample.fields;
    one.count.litres = sample.litres;
    one.count.filter_mm = sample.filter_mm.value_or(one.count.filter_mm);
    one.count.graticule_um = sample.graticule_um.value_or(one.count.graticule_um);
    one.count.blank_fibres = sample.blank_fibres;
    one.count.blank_fields = sample.blank_fields;
    one.flow_l_per_min = sample.flow_l_per_min;
    one.minutes = sample.minutes;
    one.f_per_ml = sample.f_per_ml;
    stated.samples.push_back(one);
  }
  stated.stages = certificate.stages;
  stated.work_finished_on = certificate.work_finished_on;
  stated.issued_on = certificate.issued_on;
  if (analyst != nullptr) {
    stated.accreditation_expires_on = analyst->licence_expires_on;
    stated.role = analyst->role;
  }
  stated.independent = independent;
  stated.whole_certificate = true;
  return check(stated, rules);
}

}  // namespace lathbook::clearance
