#include "clearance/certificate.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

namespace lathbook::clearance {
namespace {

/// Which of the four stages a line of the certificate speaks of, 1 to 4; 0 = none we know.
int stage_number(std::string text) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  const auto holds = [&](const char* word) { return text.find(word) != std::string::npos; };
  // "Final" first: "final visual look" is stage 4, not 2.
  if (holds("final") || holds("after the enclosure") || holds("post-enclosure")) return 4;
  if (holds("air")) return 3;
  if (holds("visual") || holds("thorough")) return 2;
  if (holds("preliminary") || holds("site condition") || holds("completeness")) return 1;
  for (int n = 1; n <= 4; ++n) {
    if (text == fmt::format("{}", n) || text == fmt::format("stage {}", n)) return n;
  }
  return 0;
}

constexpr std::array<const char*, 4> kStages = {"the preliminary check", "the visual inspection", "the air test",
                                                "the final look after the enclosure came down"};

void check_stages(const Stated& stated, std::vector<Finding>& findings) {
  if (stated.stages.empty() && !stated.whole_certificate) return;
  std::vector<int> order;
  for (const auto& text : stated.stages) {
    const int number = stage_number(text);
    if (number == 0) {
      findings.push_back({"stages", fmt::format("\"{}\" is none of the four stages.", text),
                          "It cannot be told what was looked at.", "Ask which of the four stages it stands for."});
    } else {
      order.push_back(number);
    }
  }
  for (int n = 1; n <= 4; ++n) {
    if (std::ranges::find(order, n) == order.end()) {
      findings.push_back(
          {"stages", fmt::format("Stage {}, {}, is not on the paper.", n, kStages[static_cast<std::size_t>(n - 1)]),
           "The four stages are one whole: a pass in three is not a clearance.",
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

void check_dates(const Stated& stated, std::vector<Finding>& findings) {
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
                        "Clearance is for an accredited, independent analyst.",
                        "Ask for the accreditation schedule that was in force on that day."});
  }
}

void check_sample(const StatedSample& sample, const AirCount& counted, const std::string& name,
                  std::vector<Finding>& findings) {
  const Count& count = sample.count;
  if (count.litres < kClearanceLitres) {
    findings.push_back({name,
                        fmt::format("{:g} litres of air; at least {:g} are needed.", count.litres, kClearanceLitres),
                        "Too little air was drawn to tell whether the room is below 0.01 f/ml.",
                        "Ask for the sample to be taken again, for instance 60 minutes at 8 litres a minute."});
  }
  if (count.fields < kClearanceFields) {
    findings.push_back(
        {name, fmt::format("{:g} fields counted; {:g} are needed for a clearance.", count.fields, kClearanceFields),
         "Fewer fields cannot show 0.01 f/ml.", "Ask for the same filter to be counted on to 200 fields."});
  }
  if (count.filter_mm <= kClearanceFilter_mm) {
    findings.push_back({name,
                        fmt::format("The filter's exposed circle is {:g} mm; it must be wider than {:g} mm.",
                                    count.filter_mm, kClearanceFilter_mm),
                        "The 0.01 f/ml limit was set for larger filters.",
                        "Ask what holder was used and for its exposed diameter."});
  } else if (count.litres >= kClearanceLitres && count.fields >= kClearanceFields &&
             counted.quantification_limit_f_per_ml > 1.05 * kClearanceLimit_f_per_ml) {
    findings.push_back({name,
                        fmt::format("With this filter and circle 20 fibres stand for {} f/ml.",
                                    reported_figure(counted.quantification_limit_f_per_ml)),
                        "More air or more fields are needed to show 0.01 f/ml.",
                        "Ask for a larger sample, or more fields on this one."});
  }
  if (counted.f_per_ml >= kClearanceLimit_f_per_ml) {
    findings.push_back(
        {name, fmt::format("{:.3f} f/ml is not below 0.01 f/ml.", counted.f_per_ml),
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
    const bool as_counted = std::abs(*sample.f_per_ml - counted.f_per_ml) <= rounding;
    if (!as_counted && std::abs(*sample.f_per_ml - worked_out) > rounding) {
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

reason::Result<Clearance> check(const Stated& stated) {
  reason::Faults faults;
  const auto positive = [&](const char* field, double value) {
    if (!(value > 0))
      faults.push_back(
          {.where = field, .value = fmt::format("{:g}", value), .problem = "is no size", .allowed = "more than 0"});
  };
  positive("/area_m2", stated.area_m2);
  positive("/height_m", stated.height_m);
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

  out.samples_needed = samples_needed(stated.area_m2, stated.height_m);
  if (static_cast<int>(stated.samples.size()) < out.samples_needed) {
    out.findings.push_back({"samples",
                            fmt::format("{} taken; a space of {:g} m² and {:g} m height needs {}.",
                                        stated.samples.size(), stated.area_m2, stated.height_m, out.samples_needed),
                            "Parts of the space were not tested.",
                            "Ask for the missing samples to be taken before anyone goes back in."});
  }
  for (std::size_t i = 0; i < stated.samples.size(); ++i) {
    check_sample(stated.samples[i], out.counts[i], fmt::format("sample {}", i + 1), out.findings);
  }
  check_stages(stated, out.findings);
  check_dates(stated, out.findings);
  out.pass = out.findings.empty();
  out.reasons.push_back(
      {fmt::format(
           "{} air sample(s) for {:g} m² of floor, {:g} m high: the cube root of the area less one, at least two.",
           out.samples_needed, stated.area_m2, stated.height_m),
       "hsg248"});
  out.reasons.push_back(
      {"A space is not fit to go back into until every sample is below 0.01 f/ml, from at least 480 litres through a "
       "filter wider than 20 mm.",
       "hsg247"});
  out.reasons.push_back({"The air test is one of four stages; the visual inspection matters more.", "hsg248"});
  return out;
}

reason::Result<Clearance> check(const book::Certificate& certificate, const book::Party* analyst) {
  reason::Faults faults;
  const auto missing = [&](const char* field, bool there) {
    if (!there)
      faults.push_back({.where = std::string("/") + field,
                        .value = {},
                        .problem = "is missing",
                        .allowed = "the size the certificate is for"});
  };
  missing("area_m2", certificate.area_m2.has_value());
  missing("height_m", certificate.height_m.has_value());
  if (!faults.empty()) return faults;
  Stated stated;
  stated.area_m2 = *certificate.area_m2;
  stated.height_m = *certificate.height_m;
  for (const auto& sample : certificate.samples) {
    StatedSample one;
    one.count.fibres = sample.fibres;
    one.count.fields = sample.fields;
    one.count.litres = sample.litres;
    one.flow_l_per_min = sample.flow_l_per_min;
    one.minutes = sample.minutes;
    one.f_per_ml = sample.f_per_ml;
    stated.samples.push_back(one);
  }
  stated.stages = certificate.stages;
  stated.work_finished_on = certificate.work_finished_on;
  stated.issued_on = certificate.issued_on;
  if (analyst != nullptr) stated.accreditation_expires_on = analyst->licence_expires_on;
  stated.whole_certificate = true;
  return check(stated);
}

}  // namespace lathbook::clearance
