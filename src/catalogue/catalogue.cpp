#include "catalogue/catalogue.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::catalogue {
namespace {

using reason::Faults;

Figure figure(const Reader& in) {
  Figure out{in.number("low"), in.number("high"), in.backing()};
  if (out.low > out.high) in.add("low", "is above high", "low no more than high");
  return out;
}

UseYears use_years(const Reader& in) {
  UseYears out{in.whole("first"),           in.whole("peak_from"), in.whole("peak_to"), in.whole("last"),
               in.whole("old_stock_until"), in.text("note"),       in.backing()};
  const bool ordered = out.first <= out.peak_from && out.peak_from <= out.peak_to && out.peak_to <= out.last &&
                       out.last <= out.old_stock_until;
  if (!ordered)
    in.add("first", "starts years that are out of order", "first, peak_from, peak_to, last, old_stock_until in order");
  return out;
}

FibreContent fibre_content(const Reader& in) {
  FibreContent out;
  out.type = in.book_word<book::Fibre>("type");
  out.share = in.number("share");
  out.low_percent = in.number("low_percent");
  out.high_percent = in.number("high_percent");
  if (in.has("from") || in.has("to")) out.years = book::YearRange{in.whole("from"), in.whole("to")};
  out.note = in.text_or_empty("note");
  out.backing = in.backing();
  const bool fits = out.share > 0 && out.share <= 1 && out.low_percent >= 0 && out.low_percent <= out.high_percent &&
                    out.high_percent <= 100;
  if (!fits)
    in.add("share", "or the contents beside it are out of range",
           "a share above 0 and at most 1, contents from 0 to 100");
  if (out.years && out.years->from > out.years->to) in.add("from", "is after to", "from no later than to");
  return out;
}

Family family(const Reader& in) {
  Family out;
  out.id = in.text("id");
  out.name = in.text("name");
  out.description = in.text("description");
  out.other_names = in.texts("other_names");
  out.suspect = in.flag("suspect");
  out.legal_kind = in.word_of<LegalKind>("legal_kind");
  out.binding = in.word_of<Binding>("binding");
  const auto release = in.inner("release");
  out.release = release.word_of<Release>("usual");
  out.release_when = release.each("when", [](const Reader& one) {
    return ReleaseWhen{one.texts("tasks"), one.word_of<Release>("release")};
  });
  out.release_backing = release.backing();
  out.default_surface = in.book_word<book::Surface>("default_surface");
  out.fibres = in.each("fibres", fibre_content);
  out.density_kg_per_m3 = figure(in.inner("density_kg_per_m3"));
  out.thickness_mm = figure(in.inner("thickness_mm"));
  out.places = in.each("places", [](const Reader& one) {
    return TypicalPlace{one.text("where"), one.book_words<book::FaceKind>("faces"), one.texts("room_uses"),
                        one.backing()};
  });
  out.look = in.each("look", [](const Reader& one) { return Look{one.text("text"), one.backing()}; });
  out.mistaken_for = in.each("mistaken_for", [](const Reader& one) {
    return MistakenFor{one.text("thing"), one.text("tell"), one.backing()};
  });
  if (out.suspect) {
    const auto score = in.inner("product_score");
    out.product_score = score.whole("value");
    if (out.product_score < 1 || out.product_score > 3)
      score.add("value", "is out of range", "a whole number from 1 to 3");
    out.product_score_backing = score.backing();
    out.use = use_years(in.inner("use"));
    if (out.fibres.empty()) in.add("fibres", "is empty", "at least one fibre type for a suspect family");
  }
  if (out.suspect == (out.legal_kind == LegalKind::kNone))
    in.add("legal_kind", "does not go with suspect", "none exactly when not suspect");
  return out;
}

Task task(const Reader& in) {
  Task out{in.text("id"),
           in.text("name"),
           in.text("what"),
           in.whole("disturbance"),
           in.word_of<TaskKind>("kind"),
           in.flag("keeps_whole"),
           in.flag("powered"),
           in.text("advice"),
           in.backing()};
  if (out.disturbance < 0 || out.disturbance > 4)
    in.add("disturbance", "is out of range", "a whole number from 0 to 4");
  return out;
}

Control control(const Reader& in) {
  return {in.text("id"), in.text("name"), in.text("what"), in.text("advice"), in.backing()};
}

Respirator respirator(const Reader& in) {
  Respirator out{in.text("id"), in.text("name"), in.text("what"), 1, {}, std::nullopt};
  const auto assigned = in.inner("assigned_protection");
  out.assigned_protection = assigned.number("value");
  out.assigned_backing = assigned.backing();
  if (out.assigned_protection < 1) assigned.add("value", "is too small", "a number of at least 1");
  if (in.has("worn_protection")) {
    const auto worn = in.inner("worn_protection");
    out.worn =
        WornProtection{worn.number("geometric_mean"), worn.number("geometric_sd"), worn.text("note"), worn.backing()};
    if (out.worn->geometric_mean < 1 || out.worn->geometric_sd < 1)
      worn.add("geometric_mean", "or geometric_sd is too small", "numbers of at least 1");
  }
  return out;
}

Source source(const Reader& in) {
  Source out;
  out.id = in.text("id");
  out.title = in.text("title");
  out.publisher = in.text_or_empty("publisher");
  out.year = in.maybe_whole("year");
  out.where = in.text_or_empty("where");
  out.kind = in.text("kind");
  out.note = in.text_or_empty("note");
  if (in.has("sure")) out.sure = in.word_of<Sure>("sure");
  return out;
}

template <class Read>
auto rows(std::string_view text, const char* key, Read read, Faults& faults) {
  std::vector<decltype(read(std::declval<const Reader&>()))> out;
  const std::string file = std::string("data/") + key + ".json";
  const auto document = schema::Document::read(text, file);
  if (!document.ok()) {
    faults.insert(faults.end(), document.faults().begin(), document.faults().end());
    return out;
  }
  out = Reader(*document, file, faults).each(key, read);
  std::set<std::string_view> seen;
  for (const auto& row : out) {
    if (!seen.insert(row.id).second) faults.push_back({file, row.id, "is the id of two rows", "each id once"});
  }
  return out;
}

/// Every backing names a source that is there, and every task named by a family is there.
class References {
 public:
  References(const Catalogue& catalogue, Faults& faults) : faults_(faults) {
    for (const auto& one : catalogue.sources) sources_.insert(one.id);
    for (const auto& one : catalogue.tasks) tasks_.insert(one.id);
    for (const auto& one : catalogue.families) family(one);
    for (const auto& one : catalogue.tasks) backing("task " + one.id, one.backing);
    for (const auto& one : catalogue.controls) backing("control " + one.id, one.backing);
    for (const auto& one : catalogue.respirators) {
      backing("respirator " + one.id, one.assigned_backing);
      if (one.worn) backing("respirator " + one.id, one.worn->backing);
    }
  }

 private:
  void family(const Family& one) {
    const std::string item = "family " + one.id;
    backing(item, one.release_backing);
    if (one.suspect) backing(item, one.product_score_backing);
    if (one.use) backing(item, one.use->backing);
    backing(item, one.density_kg_per_m3.backing);
    backing(item, one.thickness_mm.backing);
    for (const auto& part : one.fibres) backing(item, part.backing);
    for (const auto& part : one.places) backing(item, part.backing);
    for (const auto& part : one.look) backing(item, part.backing);
    for (const auto& part : one.mistaken_for) backing(item, part.backing);
    for (const auto& when : one.release_when) {
      for (const auto& id : when.tasks) {
        if (tasks_.find(id) == tasks_.end()) faults_.push_back({item, id, "is not a task", "an id of data/tasks.json"});
      }
    }
  }
  void backing(const std::string& item, const Backing& one) {
    if (sources_.find(one.source) == sources_.end())
      faults_.push_back({item, one.source, "is not a source", "an id of data/sources.json"});
  }

  Faults& faults_;
  std::set<std::string, std::less<>> sources_;
  std::set<std::string, std::less<>> tasks_;
};

template <class Row>
const Row* find_in(const std::vector<Row>& rows, std::string_view id) {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const Row& row) { return row.id == id; });
  return found == rows.end() ? nullptr : &*found;
}

}  // namespace

Release Family::release_by(std::string_view task) const {
  for (const auto& when : release_when) {
    if (std::find(when.tasks.begin(), when.tasks.end(), task) != when.tasks.end()) return when.release;
  }
  return release;
}

const Family* Catalogue::find_family(std::string_view id) const { return find_in(families, id); }
const Task* Catalogue::find_task(std::string_view id) const { return find_in(tasks, id); }
const Control* Catalogue::find_control(std::string_view id) const { return find_in(controls, id); }
const Respirator* Catalogue::find_respirator(std::string_view id) const { return find_in(respirators, id); }
const Source* Catalogue::find_source(std::string_view id) const { return find_in(sources, id); }

reason::Result<Catalogue> parse_catalogue(const CatalogueTexts& texts) {
  Faults faults;
  Catalogue out;
  out.sources = rows(texts.sources, "sources", source, faults);
  out.tasks = rows(texts.tasks, "tasks", task, faults);
  out.controls = rows(texts.controls, "controls", control, faults);
  out.respirators = rows(texts.respirators, "respirators", respirator, faults);
  out.families = rows(texts.families, "families", family, faults);
  // A row that could not be read names nothing, so references are only followed through sound rows.
  if (faults.empty()) References(out, faults);
  if (!faults.empty()) return faults;
  return out;
}

const Catalogue& shipped() {
  static const Catalogue kShipped = [] {
    auto parsed = parse_catalogue({assets::get("data/families.json"), assets::get("data/tasks.json"),
                                   assets::get("data/controls.json"), assets::get("data/respirators.json"),
                                   assets::get("data/sources.json")});
    if (!parsed.ok())
      throw std::logic_error("the embedded catalogue does not parse: " + parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kShipped;
}

}  // namespace lathbook::catalogue
