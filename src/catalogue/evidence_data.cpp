#include "catalogue/evidence_data.h"

#include <fmt/format.h>

#include <algorithm>
#include <climits>
#include <cmath>
#include <numeric>
#include <set>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::catalogue {
namespace {

double share(const Reader& in, std::string_view key) {
  const double value = in.number(key);
  if (in.has(key) && !(value >= 0 && value <= 1)) in.add(key, "is out of range", "a number from 0 to 1");
  return value;
}

double more_than(double limit, const Reader& in, const char* key) {
  const double value = in.number(key);
  if (in.has(key) && !(value > limit)) in.add(key, "is too small", fmt::format("more than {}", limit));
  return value;
}

/// A number from 0 to 1 with what stands behind it.
double figure(const Reader& in, const char* key) {
  const auto figure = in.inner(key);
  figure.refuse_fields_but({"value", "why", "source", "sure"});
  (void)figure.backing();
  return share(figure, "value");
}

/// The source in a field that has its own `sure` beside it.
std::string backed(const Reader& in, const char* source, const char* sure) {
  (void)in.word_of<Sure>(sure);
  return in.text(source);
}

/// 0 = it is none.
int year(double value) { return std::floor(value) == value && std::abs(value) < 1e9 ? static_cast<int>(value) : 0; }

std::vector<YearKnot> knots(const Reader& in, reason::Faults& faults) {
  std::vector<YearKnot> out;
  for (const auto& row : in.table("years", 4)) {
    const std::string where = fmt::format("{}/years/{}", in.where(), out.size());
    const auto wrong = [&](const std::string& place, double value, const char* problem, const char* allowed) {
      faults.push_back({place, fmt::format("{}", value), problem, allowed});
    };
    const YearKnot now{year(row[0]), row[1], row[2], row[3]};
    if (now.year == 0) wrong(where + "/0", row[0], "is not a year", "a whole number");
    if (now.year != 0 && !out.empty() && now.year <= out.back().year)
      wrong(where + "/0", row[0], "is not later than the knot before", "years in order");
    for (std::size_t i = 1; i < row.size(); ++i) {
      if (!(row[i] >= 0 && row[i] <= 1))
        wrong(fmt::format("{}/{}", where, i), row[i], "is out of range", "a number from 0 to 1");
    }
    if (now.low > now.middle || now.middle > now.high) {
      faults.push_back({where, fmt::format("{}, {}, {}", now.low, now.middle, now.high), "is not in order",
                        "low, middle, high from small to large"});
    }
    out.push_back(now);
  }
  if (in.has("years") && out.size() < 2) in.add("years", "is too short", "at least two knots");
  return out;
}

FibreShares fibre_shares(const Reader& in, const Reader& shares) {
  FibreShares out{};
  for (const auto word : shares.names()) {
    const double one = share(shares, word);
    if (const auto fibre = book::from_word<book::Fibre>(word)) {
      out[static_cast<std::size_t>(*fibre)] = one;
    } else {
      shares.add(word, "is not a fibre", "");
    }
  }
  if (std::abs(std::accumulate(out.begin(), out.end(), 0.0) - 1) > 1e-9)
    in.add("shares", "does not add up to 1", "shares that add up to 1");
  return out;
}

std::vector<FibresFrom> fibres(const Reader& in) {
  int before = INT_MIN;
  auto out = in.each("fibres", [&](const Reader& row) {
    row.refuse_fields_but({"from", "shares"});
    const FibresFrom one{row.whole("from"), fibre_shares(row, row.inner("shares"))};
    if (one.year <= before) row.add("from", "is not later than the row before", "years in order");
    before = one.year;
    return one;
  });
  if (in.has("fibres") && out.empty()) in.add("fibres", "is empty", "at least one row");
  return out;
}

std::optional<BetaShare> patchiness(const Reader& in) {
  if (!in.has("patchiness")) return std::nullopt;
  const auto row = in.inner("patchiness");
  row.refuse_fields_but({"mean", "strength"});
  const BetaShare out{more_than(0, row, "mean"), more_than(0, row, "strength")};
  if (out.mean >= 1) row.add("mean", "is too large", "less than 1");
  return out;
}

SampleRule sample_rule(const Reader& in) {
  in.refuse_fields_but({"minimum", "one_per_m2", "one_per_m", "source", "sure"});
  SampleRule out;
  out.minimum = in.whole("minimum");
  if (in.has("minimum") && out.minimum < 1) in.add("minimum", "is too small", "1 or more");
  if (in.has("one_per_m2")) out.m2_each = more_than(0, in, "one_per_m2");
  if (in.has("one_per_m")) out.m_each = more_than(0, in, "one_per_m");
  out.source = in.backing().source;
  return out;
}

TakeYourself take_yourself(const Reader& in) {
  const auto word = in.text("when");
  if (word == "if sound") return TakeYourself::kIfSound;
  if (word == "if sound and not overhead") return TakeYourself::kIfSoundAndNotOverhead;
  if (word != "no" && in.has("when"))
    in.add("when", "is not one of the words known here", "one of: no, if sound, if sound and not overhead");
  return TakeYourself::kNo;
}

FamilyEvidence family_evidence(const Reader& in, reason::Faults& faults) {
  in.refuse_fields_but({"id", "years", "why", "source", "sure", "anchors", "fibres", "fibres_source", "fibres_sure",
                        "false_negative", "patchiness", "detection_source", "detection_sure", "samples",
                        "take_yourself"});
  FamilyEvidence out;
  out.id = in.text("id");
  out.years = knots(in, faults);
  out.why = in.text("why");
  out.source = in.backing().source;
  out.anchors = in.texts("anchors");
  out.fibres = fibres(in);
  out.fibres_source = backed(in, "fibres_source", "fibres_sure");
  out.false_negative = share(in, "false_negative");
  out.patchiness = patchiness(in);
  out.detection_source = backed(in, "detection_source", "detection_sure");
  out.samples = sample_rule(in.inner("samples"));
  const auto take = in.inner("take_yourself");
  take.refuse_fields_but({"when", "why", "source", "sure"});
  out.take_yourself = take_yourself(take);
  out.take_why = take.text("why");
  out.take_source = take.backing().source;
  return out;
}

/// The share of kits found positive, and the years and factor they are good for.
void sanity_band(const Reader& in, EvidenceData& data) {
  in.refuse_fields_but({"why", "source", "sure", "years", "factor", "kits"});
  (void)in.text("why");
  (void)in.backing();
  const auto years = in.numbers("years");
  if (years.size() == 2 && year(years[0]) != 0 && year(years[1]) != 0) {
    data.kit_years = {year(years[0]), year(years[1])};
  } else if (in.has("years")) {
    in.add("years", "is not a span of years", "two whole numbers");
  }
  data.kit_factor = more_than(1, in, "factor");
  data.kits = in.each("kits", [](const Reader& row) {
    row.refuse_fields_but({"family", "positive", "kits"});
    (void)row.text("kits");
    return KitShare{row.text("family"), share(row, "positive")};
  });
  if (in.has("kits") && data.kits.empty()) in.add("kits", "is empty", "at least one kit");
}

}  // namespace

const FamilyEvidence* EvidenceData::find(std::string_view id) const {
  const auto found =
      std::find_if(families.begin(), families.end(), [&](const FamilyEvidence& family) { return family.id == id; });
  return found == families.end() ? nullptr : &*found;
}

reason::Result<EvidenceData> parse_evidence(std::string_view text) {
  const auto document = schema::Document::read(text, "evidence.json");
  if (!document.ok()) return document.faults();
  reason::Faults faults;
  const Reader in(*document, "", faults);
  in.refuse_fields_but(
      {"title", "rules", "specificity", "fibre_floor", "little_doubt", "miss_at_most", "sanity_band", "families"});
  EvidenceData data;
  (void)in.text("title");
  data.rules = in.text("rules");
  data.specificity = figure(in, "specificity");
  data.fibre_floor = figure(in, "fibre_floor");
  data.little_doubt = figure(in, "little_doubt");
  data.miss_at_most = figure(in, "miss_at_most");
  std::set<std::string> seen;
  data.families = in.each("families", [&](const Reader& row) {
    auto family = family_evidence(row, faults);
    if (!seen.insert(family.id).second) row.add("id", "is there twice", "each family once");
    return family;
  });
  if (data.families.empty() && in.has("families")) in.add("families", "is empty", "at least one family");
  sanity_band(in.inner("sanity_band"), data);
  if (!faults.empty()) return faults;
  return data;
}

const EvidenceData& shipped_evidence() {
  static const EvidenceData kData = [] {
    auto parsed = parse_evidence(assets::get("data/evidence.json"));
    if (!parsed.ok()) throw std::logic_error("data/evidence.json: " + parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kData;
}

EvidenceData carried_to(EvidenceData data, std::string rules, int from_year, int later_by, const std::string& why) {
  data.rules = std::move(rules);
  for (auto& family : data.families) {
    for (auto& knot : family.years) {
      if (knot.year >= from_year) knot.year += later_by;
    }
    family.why = why;
  }
  return data;
}

}  // namespace lathbook::catalogue
