#include "law/pack.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <map>
#include <mutex>
#include <optional>
#include <set>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::law {
namespace {

using catalogue::Reader;
using reason::Faults;

constexpr std::array<std::string_view, 4> kOutcomes = {"outside", "non-licensed", "notifiable non-licensed",
                                                       "licensed"};
constexpr std::array<std::string_view, 2> kDateOrders = {"day month year", "month day year"};
/// Roles of a party that could ever clear a room: never those who take out, carry or build.
constexpr std::array<std::string_view, 3> kClearedBy = {"analyst", "laboratory", "surveyor"};
constexpr std::array<std::string_view, 3> kMays = {"yes", "with precautions", "no"};

template <class E, std::size_t N>
E chosen(const Reader& in, const char* key, const std::array<std::string_view, N>& words, std::string_view text,
         E otherwise) {
  const auto found = std::find(words.begin(), words.end(), text);
  if (found != words.end()) return static_cast<E>(found - words.begin());
  if (in.has(key)) in.add(key, "is not one of the words known here", fmt::format("one of: {}", fmt::join(words, ", ")));
  return otherwise;
}

Outcome outcome(const Reader& in) { return chosen(in, "class", kOutcomes, in.text("class"), Outcome::kLicensed); }

template <class T, class Read>
std::optional<T> maybe(const Reader& in, const char* key, Read read) {
  return in.has(key) ? std::optional<T>(read()) : std::nullopt;
}

class PackReader {
 public:
  PackReader(const catalogue::Catalogue& catalogue, Faults& faults) : catalogue_(catalogue), faults_(faults) {}

  RulePack read(const schema::Document& document, std::string_view name) {
    const Reader in(document, name, faults_);
    in.refuse_fields_but({"format",      "version", "id",          "name",     "note",        "as_of",
                          "currency",    "words",   "regions",     "limits",   "class_names", "rules",
                          "permissions", "duties",  "precautions", "bans",     "label",       "air_limits",
                          "clearance",   "years",   "cautions",    "exposure", "emergency",   "facts"});
    if (in.text("format") != "rule-pack") in.add("format", "is not a rule pack's", "rule-pack");
    if (in.whole("version") != 2) in.add("version", "is not a version known here", "2");
    RulePack pack;
    pack.id = in.text("id");
    pack.name = in.text("name");
    pack.note = in.text("note");
    pack.as_of = day(in, "as_of");
    pack.currency = in.text("currency");
    pack.words = words(in.inner("words"));
    pack.regions = in.each("regions", [&](const Reader& one) {
      one.refuse_fields_but({"id", "name", "note", "source", "sure"});
      return Region{one.text("id"), one.text("name"), one.text("note"), backing(one)};
    });
    for (const auto& one : pack.regions) regions_.insert(one.id);
    pack.limits = in.each("limits", [&](const Reader& one) { return limit(one); });
    for (const auto& one : pack.limits) limits_.insert(one.id);
    pack.rules = in.each("rules", [&](const Reader& one) {
      one.refuse_fields_but({"id", "when", "class", "called", "reason", "source", "sure"});
      return Rule{one.text("id"),     condition(one.inner("when"), false),
                  outcome(one),       one.text_or_empty("called"),
                  one.text("reason"), backing(one)};
    });
    pack.permissions = in.each("permissions", [&](const Reader& one) {
      one.refuse_fields_but({"id", "when", "may", "reason", "source", "sure"});
      return Permission{one.text("id"), condition(one.inner("when"), true),
                        chosen(one, "may", kMays, one.text("may"), May::kNo), one.text("reason"), backing(one)};
    });
    class_words(in, pack);
    duties(in, pack);
    pack.precautions = in.each("precautions", [&](const Reader& one) {
      one.refuse_fields_but({"id", "text", "when", "source", "sure"});
      return Precaution{one.text("id"), one.text("text"), condition(one.inner("when"), false), backing(one)};
    });
    pack.bans = in.each("bans", [&](const Reader& one) { return ban(one); });
    pack.air_limits = in.each("air_limits", [&](const Reader& one) {
      one.refuse_fields_but({"id", "name", "f_per_ml", "minutes", "source", "sure"});
      return catalogue::AirLimit{one.text("id"), one.text("name"), one.number("f_per_ml"), one.number("minutes"),
                                 backing(one)};
    });
    pack.clearance = in.each("clearance", [&](const Reader& one) { return clearance(one); });
    pack.label = label(in.inner("label"));
    if (in.has("years")) pack.years = carried_years(in.inner("years"));
    pack.emergency = in.each("emergency", [&](const Reader& one) {
      one.refuse_fields_but({"text", "source", "sure"});
      return Statement{"", one.text("text"), backing(one)};
    });
    pack.cautions = statements(in, "cautions");
    pack.exposure = statements(in, "exposure");
    pack.facts = statements(in, "facts");
    pack.asks_region = asks_region_;
    once(in, "regions", pack.regions);
    once(in, "air_limits", pack.air_limits);
    once(in, "clearance", pack.clearance);
    once(in, "cautions", pack.cautions);
    once(in, "exposure", pack.exposure);
    once(in, "limits", pack.limits);
    once(in, "rules", pack.rules);
    once(in, "permissions", pack.permissions);
    once(in, "precautions", pack.precautions);
    once(in, "facts", pack.facts);
    if (pack.rules.empty() && in.has("rules")) in.add("rules", "is empty", "at least one rule");
    const auto finals = std::count_if(pack.bans.begin(), pack.bans.end(), [](const Ban& one) { return one.final; });
    if (finals != 1 && in.has("bans"))
      in.add("bans", "does not hold exactly one final ban", "one ban with \"final\": true");
    return pack;
  }

 private:
  catalogue::Backing backing(const Reader& in) const {
    auto out = in.backing();
    if (!out.source.empty() && catalogue_.find_source(out.source) == nullptr)
      in.add("source", "is not a source", "an id of data/sources.json");
    return out;
  }

  Limit limit(const Reader& in) const {
    in.refuse_fields_but({"id", "minutes_longest_person", "minutes_all_people", "area_m2", "window_days", "all_kinds",
                          "text", "source", "sure"});
    Limit out{in.text("id"),
              in.maybe_number("minutes_longest_person"),
              in.maybe_number("minutes_all_people"),
              in.maybe_number("area_m2"),
              in.maybe_whole("window_days"),
              in.has("all_kinds") && in.flag("all_kinds"),
              in.text("text"),
              backing(in)};
    if (out.minutes_longest_person && out.minutes_all_people && *out.minutes_all_people < *out.minutes_longest_person) {
      in.add("minutes_all_people", "is less than one person's", "at least minutes_longest_person");
    }
    if (!out.minutes_longest_person && !out.minutes_all_people && !out.area_m2)
      in.add("id", "limits nothing", "minutes_longest_person, minutes_all_people or area_m2");
    return out;
  }

  reason::Date day(const Reader& in, const char* key) const {
    const auto date = reason::Date::parse(in.text(key));
    if (!date && in.has(key)) in.add(key, "is not a day of the calendar", "YYYY-MM-DD");
    return date.value_or(reason::Date(std::chrono::sys_days()));
  }

  PackWords words(const Reader& in) const {
    in.refuse_fields_but({"remover", "trained", "sampler", "authority", "waste_paper", "region", "mask", "date"});
    return {in.text("remover"),     in.text("trained"),
            in.text("sampler"),     in.text("authority"),
            in.text("waste_paper"), in.text("region"),
            in.text("mask"),        chosen(in, "date", kDateOrders, in.text("date"), reason::DateOrder::kDayMonthYear)};
  }

  std::vector<Statement> statements(const Reader& in, const char* key) const {
    return in.each(key, [&](const Reader& one) {
      one.refuse_fields_but({"id", "text", "source", "sure"});
      return Statement{one.text("id"), one.text("text"), backing(one)};
    });
  }

  WarningLabel label(const Reader& in) const {
    in.refuse_fields_but({"letter_a", "heading", "lines", "contains", "contains_crocidolite", "source", "sure"});
    return {
        in.has("letter_a") && in.flag("letter_a"), in.text("heading"), in.texts("lines"), in.text_or_empty("contains"),
        in.text_or_empty("contains_crocidolite"),  backing(in)};
  }

  CarriedYears carried_years(const Reader& in) const {
    in.refuse_fields_but({"from_rules", "from_year", "later_by", "why", "source", "sure"});
    CarriedYears out{in.text("from_rules"), in.whole("from_year"), in.whole("later_by"), in.text("why"), backing(in)};
    if (out.later_by < 0) in.add("later_by", "would put years earlier", "0 or more");
    return out;
  }

  Clearance clearance(const Reader& in) {
    in.refuse_fields_but(
        {"id", "when", "certificate", "by", "roles", "independent", "stages", "air", "reasons", "source", "sure"});
    Clearance out;
    out.id = in.text("id");
    out.when = condition(in.inner("when"), false);
    out.backing = backing(in);
    out.rules.certificate = in.text("certificate");
    out.rules.by = in.text("by");
    out.rules.roles = in.texts("roles");
    if (out.rules.roles.empty() && in.has("roles")) in.add("roles", "is empty", "at least one role of a party");
    for (const auto& role : out.rules.roles) {
      if (std::find(kClearedBy.begin(), kClearedBy.end(), role) == kClearedBy.end())
        in.add("roles", fmt::format("holds {}, which clears no room", role),
               fmt::format("of: {}", fmt::join(kClearedBy, ", ")));
    }
    out.rules.stages = in.each("stages", [&](const Reader& one) {
      one.refuse_fields_but({"name", "known_by"});
      return catalogue::ClearanceStage{one.text("name"), one.texts("known_by")};
    });
    if (out.rules.stages.empty() && in.has("stages")) in.add("stages", "is empty", "at least one stage");
    const auto air = in.inner("air");
    air.refuse_fields_but({"required", "below_f_per_ml", "litres", "fields", "filter_mm", "more_for_area"});
    out.rules.air = {air.flag("required"),       air.number("below_f_per_ml"),  air.maybe_number("litres"),
                     air.maybe_number("fields"), air.maybe_number("filter_mm"), air.flag("more_for_area")};
    const auto reason = [&](const Reader& one) {
      one.refuse_fields_but({"text", "source", "sure"});
      return std::pair(one.text("text"), backing(one));
    };
    out.rules.reasons = in.each("reasons", reason);
    if (in.has("independent")) out.rules.independent = reason(in.inner("independent"));
    return out;
  }

  std::string limit_id(const Reader& in, const char* key) const {
    auto id = in.text_or_empty(key);
    if (!id.empty() && limits_.find(id) == limits_.end()) in.add(key, "is not a limit of this pack", "an id in limits");
    return id;
  }

  template <class Find>
  std::vector<std::string> known(const Reader& in, const char* key, Find find) const {
    if (!in.has(key)) return {};
    auto ids = in.texts(key);
    for (const auto& id : ids) {
      if (find(id) == nullptr) in.add(key, "holds " + id + ", which is not in the catalogue", "");
    }
    return ids;
  }

  Condition condition(const Reader& in, bool permission) {
    in.refuse_fields_but({"families", "legal_kinds", "bindings", "tasks", "task_kinds", "disturbance_at_least",
                          "disturbance_at_most", "damage_at_least", "damage_at_most", "kept_whole", "any_fibre", "by",
                          "suspect", "released", "regions", "within", "beyond", permission ? "classes" : "families"});
    Condition out;
    out.families = known(in, "families", [&](const auto& id) { return catalogue_.find_family(id); });
    out.tasks = known(in, "tasks", [&](const auto& id) { return catalogue_.find_task(id); });
    if (in.has("legal_kinds")) out.legal_kinds = in.words_of<catalogue::LegalKind>("legal_kinds");
    if (in.has("bindings")) out.bindings = in.words_of<catalogue::Binding>("bindings");
    if (in.has("task_kinds")) out.task_kinds = in.words_of<catalogue::TaskKind>("task_kinds");
    if (in.has("any_fibre")) out.any_fibre = in.book_words<book::Fibre>("any_fibre");
    if (in.has("by")) out.by = in.book_words<book::Who>("by");
    out.disturbance_at_least = in.maybe_whole("disturbance_at_least");
    out.disturbance_at_most = in.maybe_whole("disturbance_at_most");
    out.damage_at_least =
        maybe<book::Damage>(in, "damage_at_least", [&] { return in.book_word<book::Damage>("damage_at_least"); });
    out.damage_at_most =
        maybe<book::Damage>(in, "damage_at_most", [&] { return in.book_word<book::Damage>("damage_at_most"); });
    out.kept_whole = maybe<bool>(in, "kept_whole", [&] { return in.flag("kept_whole"); });
    out.suspect = maybe<bool>(in, "suspect", [&] { return in.flag("suspect"); });
    out.released = maybe<bool>(in, "released", [&] { return in.flag("released"); });
    if (in.has("regions")) {
      asks_region_ = true;
      out.regions = in.texts("regions");
      for (const auto& id : out.regions) {
        if (regions_.find(id) == regions_.end())
          in.add("regions", "holds " + id + ", which is no region of this pack", "ids in regions");
      }
    }
    out.within = limit_id(in, "within");
    out.beyond = limit_id(in, "beyond");
    if (in.has("classes")) {
      for (const auto& text : in.texts("classes"))
        out.classes.push_back(chosen(in, "classes", kOutcomes, text, Outcome::kLicensed));
    }
    return out;
  }

  void duties(const Reader& in, RulePack& pack) const {
    std::set<Outcome> seen;
    in.each("duties", [&](const Reader& group) {
      group.refuse_fields_but({"class", "duties"});
      const auto of = outcome(group);
      if (!seen.insert(of).second) group.add("class", "is there twice", "each class once");
      auto list = group.each("duties", [&](const Reader& one) {
        one.refuse_fields_but(
            {"id", "text", "days_before", "form", "every_years", "keep_years", "minimum_protection", "source", "sure"});
        return Duty{one.text("id"),
                    one.text("text"),
                    one.maybe_whole("days_before"),
                    one.text_or_empty("form"),
                    one.maybe_whole("every_years"),
                    one.maybe_whole("keep_years"),
                    one.maybe_number("minimum_protection"),
                    backing(one)};
      });
      pack.duties_by_class.at(static_cast<std::size_t>(of)) = std::move(list);
      return 0;
    });
    all_given(in, "duties", pack, seen);
  }

  void class_words(const Reader& in, RulePack& pack) const {
    std::set<Outcome> seen;
    in.each("class_names", [&](const Reader& one) {
      one.refuse_fields_but({"class", "name", "done_by", "hands"});
      const auto of = outcome(one);
      if (!seen.insert(of).second) one.add("class", "is there twice", "each class once");
      pack.class_words.at(static_cast<std::size_t>(of)) = {one.text("name"), one.text("done_by"), one.text("hands")};
      return 0;
    });
    all_given(in, "class_names", pack, seen);
  }

  /// Every class that an answer can have: those of the rules, and the strictest, which holds where no rule does.
  void all_given(const Reader& in, const char* key, const RulePack& pack, const std::set<Outcome>& given) const {
    std::set<Outcome> wanted = {Outcome::kLicensed};
    for (const auto& one : pack.rules) wanted.insert(one.outcome);
    for (const auto of : wanted) {
      if (!given.contains(of) && in.has(key)) in.add(key, fmt::format("leaves out {}", word(of)), "each class in use");
    }
  }

  Ban ban(const Reader& in) const {
    in.refuse_fields_but({"date", "what", "fibres", "final", "source", "sure"});
    return {day(in, "date"), in.text("what"), in.book_words<book::Fibre>("fibres"), in.has("final") && in.flag("final"),
            backing(in)};
  }

  template <class Rows>
  void once(const Reader& in, const char* key, const Rows& rows) const {
    std::set<std::string_view> seen;
    for (const auto& row : rows) {
      if (!seen.insert(row.id).second) in.add(key, "uses the id " + row.id + " twice", "each id once");
    }
  }

  const catalogue::Catalogue& catalogue_;
  Faults& faults_;
  std::set<std::string, std::less<>> limits_;
  std::set<std::string, std::less<>> regions_;
  bool asks_region_ = false;
};

/// A pack inside the program, read when it is first asked for: a book needs one country's.
struct Shelved {
  assets::Asset asset;
  std::once_flag once;
  std::optional<RulePack> pack;
};

/// By id, which is the file's name: data/law/<id>.json.
std::map<std::string_view, Shelved>& shelf() {
  static constexpr std::string_view kFolder = "data/law/";
  static constexpr std::string_view kEnding = ".json";
  static auto packs = [] {
    std::map<std::string_view, Shelved> by_id;
    for (const auto& asset : assets::all()) {
      if (!asset.name.starts_with(kFolder) || !asset.name.ends_with(kEnding)) continue;
      auto id = asset.name;
      id.remove_prefix(kFolder.size());
      id.remove_suffix(kEnding.size());
      by_id[id].asset = asset;
    }
    return by_id;
  }();
  return packs;
}

}  // namespace

std::string_view word(Outcome outcome) { return kOutcomes.at(static_cast<std::size_t>(outcome)); }
std::string_view word(May may) { return kMays.at(static_cast<std::size_t>(may)); }

const Limit* RulePack::find_limit(std::string_view wanted) const {
  const auto found = std::find_if(limits.begin(), limits.end(), [&](const Limit& one) { return one.id == wanted; });
  return found == limits.end() ? nullptr : &*found;
}

const Region* RulePack::find_region(std::string_view wanted) const {
  const auto found = std::find_if(regions.begin(), regions.end(), [&](const Region& one) { return one.id == wanted; });
  return found == regions.end() ? nullptr : &*found;
}

const std::string& RulePack::name_of(Outcome outcome) const {
  return class_words.at(static_cast<std::size_t>(outcome)).name;
}

namespace {

bool limits_minutes(const Limit& limit) { return limit.minutes_longest_person || limit.minutes_all_people; }

}  // namespace

std::optional<int> RulePack::widest_minutes_window() const {
  int widest = 0;
  for (const auto& one : limits) {
    if (!limits_minutes(one)) continue;
    if (!one.window_days) return std::nullopt;
    widest = std::max(widest, *one.window_days);
  }
  return widest;
}

bool RulePack::minutes_of_all_kinds() const {
  return std::any_of(limits.begin(), limits.end(),
                     [](const Limit& one) { return limits_minutes(one) && one.all_kinds; });
}

bool RulePack::limits_area() const {
  return std::any_of(limits.begin(), limits.end(), [](const Limit& one) { return one.area_m2.has_value(); });
}

const std::vector<Duty>& RulePack::duties(Outcome outcome) const {
  return duties_by_class.at(static_cast<std::size_t>(outcome));
}

reason::Date RulePack::final_ban() const {
  const auto found = std::find_if(bans.begin(), bans.end(), [](const Ban& one) { return one.final; });
  if (found == bans.end()) throw std::logic_error("pack " + id + " has no final ban");
  return found->date;
}

reason::Result<RulePack> parse_pack(std::string_view text, const catalogue::Catalogue& catalogue,
                                    std::string_view name) {
  const auto document = schema::Document::read(text, name);
  if (!document.ok()) return document.faults();
  Faults faults;
  auto pack = PackReader(catalogue, faults).read(*document, name);
  if (!faults.empty()) return faults;
  return pack;
}

const RulePack* find_pack(std::string_view id) {
  const auto found = shelf().find(id);
  if (found == shelf().end()) return nullptr;
  auto& shelved = found->second;
  std::call_once(shelved.once, [&] {
    auto pack = parse_pack(shelved.asset.bytes, catalogue::shipped(), shelved.asset.name);
    if (!pack.ok()) throw std::logic_error("an embedded rule pack does not parse: " + pack.faults().front().text());
    if (pack->id != id) throw std::logic_error("an embedded rule pack is not called as its file: " + pack->id);
    shelved.pack = std::move(*pack);
  });
  return &*shelved.pack;
}

std::vector<std::string> pack_ids() {
  std::vector<std::string> ids;
  for (const auto& [id, shelved] : shelf()) ids.emplace_back(id);
  return ids;
}

}  // namespace lathbook::law
