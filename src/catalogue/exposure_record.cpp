#include "catalogue/exposure_record.h"

#include <algorithm>
#include <array>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::catalogue {
namespace {

constexpr std::array<std::string_view, 4> kKnown = {"when", "how-long", "which-type", "how-much"};

}  // namespace

reason::Result<ExposureRecord> parse_exposure_record(std::string_view text) {
  const auto document = schema::Document::read(text, "exposure_record.json");
  if (!document.ok()) return document.faults();
  reason::Faults faults;
  const Reader in(*document, "", faults);
  ExposureRecord out;
  out.note = in.each("note", [](const Reader& row) {
    ToNote one{row.text("id"), row.text("what"), row.text("text"), row.backing()};
    if (std::find(kKnown.begin(), kKnown.end(), one.id) == kKnown.end())
      row.add("id", "is nothing that can be filled in", "when, how-long, which-type or how-much");
    return one;
  });
  out.advice = in.each("advice", [](const Reader& row) {
    return RecordAdvice{row.text("id"), row.text("text"), row.backing()};
  });
  if (!faults.empty()) return faults;
  return out;
}

const ExposureRecord& shipped_exposure_record() {
  static const ExposureRecord kRecord = [] {
    auto parsed = parse_exposure_record(assets::get("data/exposure_record.json"));
    if (!parsed.ok()) throw std::logic_error("data/exposure_record.json: " + parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kRecord;
}

}  // namespace lathbook::catalogue
