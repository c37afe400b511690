#include "book/validate.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <set>
#include <unordered_map>
#include <unordered_set>

#include "book/words.h"

namespace lathbook::book {
namespace {

using reason::Fault;
using reason::Faults;

class Validator {
 public:
  explicit Validator(const Book& book) : book_(book) {}

  Faults run() {
    collect_ids();
    places();
    materials();
    papers_of_tests();
    jobs();
    events();
    rest();
    return std::move(faults_);
  }

 private:
  using Ids = std::unordered_set<std::string>;

  void add(const std::string& item, const char* field, std::string value, std::string problem,
           std::string allowed = "") {
    faults_.push_back(
        {field[0] == '\0' ? item : item + " " + field, std::move(value), std::move(problem), std::move(allowed)});
  }

  template <class Items>
  Ids ids_of(const Items& items, const char* kind) {
    Ids ids;
    ids.reserve(items.size());
    for (const auto& item : items) {
      if (!ids.insert(item.id.text).second)
        add(item.id.text, "id", "", "is used by two items", fmt::format("each {}'s id once", kind));
    }
    return ids;
  }

  void collect_ids() {
    phases_ = ids_of(book_.phases, "phase");
    storeys_ = ids_of(book_.storeys, "storey");
    rooms_ = ids_of(book_.rooms, "room");
    openings_ = ids_of(book_.openings, "opening");
    groups_ = ids_of(book_.groups, "group");
    materials_ = ids_of(book_.materials, "material");
    samples_ = ids_of(book_.samples, "sample");
    ids_of(book_.results, "result");
    ids_of(book_.inspections, "inspection");
    ids_of(book_.actions, "action");
    jobs_ = ids_of(book_.jobs, "job");
    ids_of(book_.events, "event");
    people_ = ids_of(book_.people, "person");
    ids_of(book_.pieces, "piece");
    ids_of(book_.sites, "site");
    ids_of(book_.vehicles, "vehicle");
    parties_ = ids_of(book_.parties, "party");
    ids_of(book_.quotes, "quote");
    ids_of(book_.certificates, "certificate");
    documents_ = ids_of(book_.documents, "document");
  }

  /// A reference that may be empty must lead somewhere when it is not.
  template <class Tag>
  void refers(const std::string& item, const char* field, const Id<Tag>& to, const Ids& known, const char* kind) {
    if (!to.empty() && !known.contains(to.text))
      add(item, field, to.text, fmt::format("is not the id of a {} in this book", kind), hint(known));
  }

  static std::string hint(const Ids& known) {
    if (known.empty()) return "leave it out: there are none yet";
    std::vector<std::string> some(known.begin(), known.end());
    std::sort(some.begin(), some.end(), [](const std::string& a, const std::string& b) {
      return a.size() != b.size() ? a.size() < b.size() : a < b;
    });
    const bool more = some.size() > 6;
    if (more) some.resize(6);
    return fmt::format("{}{}", fmt::join(some, ", "), more ? ", …" : "");
  }

  void years(const std::string& item, const char* field, const YearRange& range) {
    if (range.from > range.to)
      add(item, field, fmt::format("{}-{}", range.from, range.to), "ends before it begins", "the earlier year first");
  }

  void not_before(const std::string& item, const char* field, const std::optional<Date>& when, const char* what,
                  const std::optional<Date>& earliest) {
    if (when && earliest && *when < *earliest)
      add(item, field, when->text(), fmt::format("is before {} ({})", what, earliest->text()), "that day or later");
  }

  void stretches(const char* field, const std::vector<Stretch>& list) {
    for (std::size_t i = 0; i < list.size(); ++i) {
      if (list[i].to < list[i].from)
        add(fmt::format("about/{}/{}", field, i + 1), "to", list[i].to.text(),
            fmt::format("is before its first day ({})", list[i].from.text()), "that day or later");
    }
  }

  void places() {
    stretches("away", book_.about.away);
    stretches("dry", book_.about.dry);
    for (const auto& phase : book_.phases) years(phase.id.text, "years", phase.years);
    for (const auto& room : book_.rooms) {
      refers(room.id.text, "storey", room.storey, storeys_, "storey");
      refers(room.id.text, "phase", room.phase, phases_, "build phase");
      for (const auto& zone : room.heights) {
        if (zone.low_m > zone.high_m)
          add(room.id.text, "heights", fmt::format("{} to {} m", zone.low_m, zone.high_m),
              "has its low end above its high end", "low_m at most high_m");
      }
    }
    for (const auto& opening : book_.openings) {
      refers(opening.id.text, "from", opening.from, rooms_, "room");
      refers(opening.id.text, "to", opening.to, rooms_, "room");
      if (opening.from == opening.to)
        add(opening.id.text, "to", opening.to.text, "is the room it starts from",
            "another room, or leave it out for outdoors");
    }
    for (const auto& group : book_.groups) {
      refers(group.id.text, "parent", group.parent, groups_, "group");
      if (!group.parent.empty() && !group.alike)
        add(group.id.text, "alike", "", "is missing: how alike is it to the others in its parent?",
            "same piece, same job and look, same look, or same kind");
    }
    cycles(book_.groups, "parent", [](const Group& group) {
      return group.parent.empty() ? std::vector<GroupId>{} : std::vector<GroupId>{group.parent};
    });
  }

  void place(const std::string& item, const Place& where) {
    refers(item, "room", where.room, rooms_, "room");
    if (const auto* span = std::get_if<SpanShape>(&where.shape)) {
      if (span->left_m >= span->right_m)
        add(item, "shape", fmt::format("{} to {} m", span->left_m, span->right_m), "has no width",
            "left_m below right_m");
      if (span->low_m >= span->high_m)
        add(item, "shape", fmt::format("{} to {} m high", span->low_m, span->high_m), "has no height",
            "low_m below high_m");
      if (where.face.kind != FaceKind::kWall)
        add(item, "shape", where.face.text(), "does not take a span by heights",
            "a point, a line or an outline; a span is for walls");
    }
  }

  void materials() {
    for (const auto& material : book_.materials) {
      const auto& id = material.id.text;
      place(id, material.place);
      refers(id, "phase", material.phase, phases_, "build phase");
      refers(id, "group", material.group, groups_, "group");
      if (material.years) years(id, "years", *material.years);
      if (!material.group.empty() && !material.alike)
        add(id, "alike", "", "is missing: how alike is it to the others in its group?",
            "same piece, same job and look, same look, or same kind");
      for (const auto& photo : material.photos) refers(id, "photos", photo, documents_, "document");
    }
    for (const auto& inspection : book_.inspections) {
      refers(inspection.id.text, "material", inspection.material, materials_, "material");
      refers(inspection.id.text, "photo", inspection.photo, documents_, "document");
    }
    for (const auto& action : book_.actions) {
      refers(action.id.text, "material", action.material, materials_, "material");
      refers(action.id.text, "by", action.by, parties_, "party");
      not_before(action.id.text, "done_on", action.done_on, "the day it was begun", action.started_on);
    }
  }

  void papers_of_tests() {
    std::unordered_map<std::string, const Sample*> sample_by_id;
    std::unordered_map<std::string, const Sample*> sample_by_label;
    for (const auto& sample : book_.samples) {
      sample_by_id.emplace(sample.id.text, &sample);
      if (const auto [first, fresh] = sample_by_label.emplace(sample.label, &sample); !fresh && !sample.label.empty())
        add(sample.id.text, "label", sample.label, fmt::format("is written on {} already", first->second->id.text),
            "a label of its own for each bag: the laboratory knows them by nothing else");
      refers(sample.id.text, "material", sample.material, materials_, "material");
      refers(sample.id.text, "laboratory", sample.laboratory, parties_, "party");
      not_before(sample.id.text, "sent_on", sample.sent_on, "the day it was taken", sample.taken_on);
    }
    std::unordered_map<std::string, const LabResult*> result_by_sample;
    for (const auto& result : book_.results) {
      refers(result.id.text, "sample", result.sample, samples_, "sample");
      if (result.sample.empty()) continue;
      if (const auto [first, fresh] = result_by_sample.emplace(result.sample.text, &result); !fresh)
        add(result.id.text, "sample", result.sample.text,
            fmt::format("has a result already ({})", first->second->id.text),
            fmt::format("one result for each sample: change {}, or write down a new sample", first->second->id.text));
      refers(result.id.text, "document", result.document, documents_, "document");
      if (!result.found && !result.fibres.empty())
        add(result.id.text, "fibres", std::string(word(result.fibres.front())), "is named though nothing was found",
            "found true, or no fibres");
      const auto sample = sample_by_id.find(result.sample.text);
      if (sample == sample_by_id.end()) continue;
      not_before(result.id.text, "reported_on", result.reported_on, "the day the sample was taken",
                 sample->second->taken_on);
      not_before(result.id.text, "reported_on", result.reported_on, "the day the sample was sent",
                 sample->second->sent_on);
    }
  }

  void jobs() {
    for (const auto& job : book_.jobs) {
      for (std::size_t i = 0; i < job.cuts.size(); ++i)
        place(fmt::format("{}/cuts/{}", job.id.text, i + 1), job.cuts[i].place);
      for (const auto& before : job.after) refers(job.id.text, "after", before, jobs_, "job");
    }
    cycles(book_.jobs, "after", [](const Job& job) { return job.after; });
  }

  void interval(const std::string& item, double from_min, double to_min) {
    if (from_min >= to_min)
      add(item, "to_min", fmt::format("{}", to_min), fmt::format("is not after from_min ({})", from_min),
          "a later minute");
  }

  void events() {
    for (const auto& event : book_.events) {
      const auto& id = event.id.text;
      for (const auto& material : event.materials) refers(id, "materials", material, materials_, "material");
      for (std::size_t i = 0; i < event.cuts.size(); ++i)
        place(fmt::format("{}/cuts/{}", id, i + 1), event.cuts[i].place);
      std::map<std::string, std::vector<std::pair<double, double>>> where_they_were;
      for (std::size_t i = 0; i < event.stays.size(); ++i) {
        const auto& stay = event.stays[i];
        const auto at = fmt::format("{}/stays/{}", id, i + 1);
        refers(at, "person", stay.person, people_, "person");
        refers(at, "room", stay.room, rooms_, "room");
        interval(at, stay.from_min, stay.to_min);
        for (const auto& [from, to] : where_they_were[stay.person.text]) {
          if (stay.from_min < to && from < stay.to_min)
            add(at, "person", stay.person.text, "is in two places at once", "stays that do not overlap");
        }
        where_they_were[stay.person.text].emplace_back(stay.from_min, stay.to_min);
      }
      for (std::size_t i = 0; i < event.masks.size(); ++i) {
        const auto at = fmt::format("{}/masks/{}", id, i + 1);
        refers(at, "person", event.masks[i].person, people_, "person");
        interval(at, event.masks[i].from_min, event.masks[i].to_min);
      }
      for (std::size_t i = 0; i < event.cleaning.size(); ++i) {
        const auto at = fmt::format("{}/cleaning/{}", id, i + 1);
        refers(at, "by", event.cleaning[i].by, people_, "person");
        interval(at, event.cleaning[i].from_min, event.cleaning[i].to_min);
      }
      for (std::size_t i = 0; i < event.openings.size(); ++i) {
        const auto at = fmt::format("{}/openings/{}", id, i + 1);
        refers(at, "opening", event.openings[i].opening, openings_, "opening");
        interval(at, event.openings[i].from_min, event.openings[i].to_min);
      }
    }
  }

  void rest() {
    for (const auto& piece : book_.pieces) {
      refers(piece.id.text, "material", piece.material, materials_, "material");
      refers(piece.id.text, "room", piece.room, rooms_, "room");
    }
    for (const auto& quote : book_.quotes) {
      refers(quote.id.text, "party", quote.party, parties_, "party");
      refers(quote.id.text, "document", quote.document, documents_, "document");
      for (const auto& material : quote.materials) refers(quote.id.text, "materials", material, materials_, "material");
      not_before(quote.id.text, "valid_to", quote.valid_to, "the day it was quoted", quote.quoted_on);
    }
    for (const auto& certificate : book_.certificates) {
      refers(certificate.id.text, "party", certificate.party, parties_, "party");
      refers(certificate.id.text, "document", certificate.document, documents_, "document");
      for (const auto& material : certificate.materials)
        refers(certificate.id.text, "materials", material, materials_, "material");
      for (const auto& room : certificate.rooms) refers(certificate.id.text, "rooms", room, rooms_, "room");
    }
    for (const auto& document : book_.documents) {
      refers(document.id.text, "room", document.room, rooms_, "room");
      refers(document.id.text, "material", document.material, materials_, "material");
    }
  }

  /// Names the members of every cycle once. Iterative: a long chain must not exhaust the stack.
  template <class Items, class Next>
  void cycles(const Items& items, const char* field, Next next) {
    std::unordered_map<std::string, std::size_t> index;
    for (std::size_t i = 0; i < items.size(); ++i) index.emplace(items[i].id.text, i);
    std::vector<int> state(items.size(), 0);  // 0 unseen, 1 on the path, 2 finished
    for (std::size_t root = 0; root < items.size(); ++root) {
      if (state[root] != 0) continue;
      std::vector<std::pair<std::size_t, std::size_t>> path = {{root, 0}};
      state[root] = 1;
      while (!path.empty()) {
        auto& [at, branch] = path.back();
        const auto successors = next(items[at]);
        if (branch == successors.size()) {
          state[at] = 2;
          path.pop_back();
          continue;
        }
        const auto to = index.find(successors[branch++].text);
        if (to == index.end()) continue;
        if (state[to->second] == 0) {
          state[to->second] = 1;
          path.emplace_back(to->second, 0);
        } else if (state[to->second] == 1) {
          const auto start =
              std::find_if(path.begin(), path.end(), [&](const auto& step) { return step.first == to->second; });
          std::vector<std::string> names;
          for (auto step = start; step != path.end(); ++step) names.push_back(items[step->first].id.text);
          names.push_back(items[to->second].id.text);
          add(items[to->second].id.text, field, fmt::format("{}", fmt::join(names, " after ")),
              "goes round in a circle", "an order with a beginning");
        }
      }
    }
  }

  const Book& book_;
  Faults faults_;
  Ids phases_, storeys_, rooms_, openings_, groups_, materials_, samples_, jobs_, people_, parties_, documents_;
};

}  // namespace

Faults validate(const Book& book) { return Validator(book).run(); }

}  // namespace lathbook::book
