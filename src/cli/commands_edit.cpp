// new, demo, add, set, remove, attach, undo, redo, history, fields
#include <fmt/format.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <ostream>

#include "assets/assets.h"
#include "book/json.h"
#include "catalogue/catalogue.h"
#include "catalogue/waste_data.h"
#include "cli/commands.h"
#include "cli/text.h"
#include "cli/words.h"
#include "law/pack.h"
#include "schema/schema.h"
#include "service/assign.h"
#include "service/edit.h"
#include "service/open_book.h"
#include "service/target.h"

namespace lathbook::cli {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Result;
using service::Edited;
using service::Json;
using service::OpenBook;

Json edited_json(const Edited& edited) {
  Json changes = Json::array();
  for (const auto& change : edited.changes) {
    changes.push_back({{"kind", change.kind},
                       {"id", change.id},
                       {"before", change.before.value_or(nullptr)},
                       {"after", change.after.value_or(nullptr)}});
  }
  return {{"label", edited.label}, {"revision", edited.revision}, {"changes", std::move(changes)}};
}

/// "Done: add M7, Bath panel." – or, for undo, "Taken back: …".
int tell(const Request& request, const World& world, std::string_view verb, const Result<Edited>& edited) {
  if (!edited.ok()) return fail(world, edited.faults());
  if (request.json) {
    world.out << edited_json(*edited).dump(2) << "\n";
  } else if (edited->changes.empty()) {
    world.out << "Nothing to change: it is as you say already.\n";
  } else {
    world.out << verb << ": " << edited->label << "\n";
  }
  return 0;
}

Result<OpenBook> open_for_change(const Words& words, const World& world) {
  const auto path = find_book(words);
  if (!path.ok()) return path.faults();
  auto opened = OpenBook::open(*path, store::Mode::kReadWrite);
  if (opened.ok() && opened->store().old_copy())
    world.err << Page(false).paragraph(service::old_copy_told(*opened->store().old_copy())).text();
  return opened;
}

Result<std::string> one_word(const Words& words, const char* what) {
  if (words.rest.size() == 1) return words.rest.front();
  if (words.rest.empty()) return Fault{"", "", "something is missing", what, FaultKind::kUsage};
  return Fault{"", fmt::format("\"{}\"", words.rest[1]), "is one word too many",
               fmt::format("{}; field=value (quote values with blanks); and a book ending in .lathbook", what),
               FaultKind::kUsage};
}

/// The fields typed, and those of --from.
Result<service::Fields> fields_of(const Request& request, const World& world, const Words& words) {
  service::Fields fields{words.fields, std::nullopt};
  const auto from = request.options.find("from");
  if (from == request.options.end() || from->second.empty()) return fields;
  std::string text;
  if (from->second == "-") {
    text.assign(std::istreambuf_iterator<char>(world.in), {});
  } else {
    std::ifstream in(from->second, std::ios::binary);
    if (!in) return Fault{from->second, "", "cannot be read", "a JSON file, or - for standard input", FaultKind::kFile};
    text.assign(std::istreambuf_iterator<char>(in), {});
  }
  auto json = schema::parse_json(text, from->second);
  if (!json.ok()) return json.faults();
  fields.open_form = std::move(*json);
  return fields;
}

/// The words of the catalogue that a field of `what` takes; empty for all other fields.
std::string known_words(std::string_view what, std::string_view field) {
  const auto& known = catalogue::shipped();
  std::vector<std::string_view> ids;
  const auto take = [&](const auto& rows) {
    for (const auto& row : rows) ids.push_back(row.id);
  };
  if (field == "family") take(known.families);
  if (field == "task") take(known.tasks);
  if (field == "controls") take(known.controls);
  if (field == "respirator") take(known.respirators);
  if (what == "about" && field == "rules") return fmt::format("{}", fmt::join(law::pack_ids(), ", "));
  if (what == "site" && field == "rules") take(catalogue::shipped_site_rules());
  return fmt::format("{}", fmt::join(ids, ", "));
}

int make(const Request& request, const World& world, const std::filesystem::path& path, const Json& form,
         const std::string& label) {
  const auto made = OpenBook::create(path, form, label, world.now);
  if (!made.ok()) return fail(world, made.faults());
  const auto& book = made->book();
  if (request.json) {
    world.out << Json{{"book", path.string()},
                      {"title", book.about.title},
                      {"rooms", book.rooms.size()},
                      {"materials", book.materials.size()},
                      {"jobs", book.jobs.size()}}
                     .dump(2)
              << "\n";
  } else {
    world.out << fmt::format("Made {}: {}\n", path.string(), book.about.title);
    if (!book.jobs.empty()) {
      world.out << fmt::format("{} rooms, {} materials, {} jobs. Next: lathbook check {}\n", book.rooms.size(),
                               book.materials.size(), book.jobs.size(), path.string());
    } else {
      world.out << "Next: lathbook add phase name=\"House built\" years=1954, then add storey, add\n"
                   "room, add material and add job.\n`lathbook fields KIND` says what each is described by.\n";
    }
  }
  return 0;
}

}  // namespace

int run_new(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (!words.book || !words.rest.empty())
    return fail(world, {{"", words.rest.empty() ? "" : words.rest.front(),
                         words.rest.empty() ? "the book's name is missing" : "is not a book's name or a field",
                         "a file ending in .lathbook, and fields such as title=\"My house\"", FaultKind::kUsage}});
  auto about =
      service::assign(Json{{"title", words.book->stem().string()}, {"rules", "gb"}}, "/$defs/about", words.fields);
  if (!about.ok()) return fail(world, about.faults());
  // Rules that nobody knows are refused when the book is made, with those that are known.
  const auto* rules = law::find_pack((*about)["rules"].get_ref<const std::string&>());
  if (!about->contains("currency") && rules != nullptr) (*about)["currency"] = rules->currency;
  return make(request, world, *words.book, {{"format", "lathbook-book"}, {"version", 1}, {"about", std::move(*about)}},
              "new book");
}

int run_demo(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (!words.rest.empty() || !words.fields.empty())
    return fail(world, {{"", words.rest.empty() ? words.fields.front() : words.rest.front(), "is not a book's name",
                         "a file ending in .lathbook", FaultKind::kUsage}});
  auto form = Json::parse(assets::get("data/demo.json"));
  if (const auto& country = request.options.at("country"); !country.empty()) {
    const auto* rules = law::find_pack(country);
    if (rules == nullptr) {
      return fail(world, {{"--country", country, "is not a rule pack of this program",
                           fmt::format("{}", fmt::join(law::pack_ids(), ", ")), FaultKind::kUsage}});
    }
    auto& about = form["about"];
    if (about["rules"] != rules->id) {
      about["rules"] = rules->id;
      about["currency"] = rules->currency;
      about.erase("region");
    }
  }
  return make(request, world, words.book.value_or("demo.lathbook"), form, "demo house");
}

int run_add(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  const auto what = one_word(words, "what to add: a kind such as material, or a list such as J3/cuts");
  if (!what.ok()) return fail(world, what.faults());
  const auto fields = fields_of(request, world, words);
  if (!fields.ok()) return fail(world, fields.faults());
  auto book = open_for_change(words, world);
  if (!book.ok()) return fail(world, book.faults());
  return tell(request, world, "Done", service::add(*book, *what, *fields, world.now));
}

int run_set(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  const auto what = one_word(words, "what to change: an id such as M7, about, or an entry such as J3/cuts/1");
  if (!what.ok()) return fail(world, what.faults());
  const auto fields = fields_of(request, world, words);
  if (!fields.ok()) return fail(world, fields.faults());
  if (fields->typed.empty() && !fields->open_form)
    return fail(world,
                {{*what, "", "has nothing to change", "field=value, for instance damage=low", FaultKind::kUsage}});
  auto book = open_for_change(words, world);
  if (!book.ok()) return fail(world, book.faults());
  return tell(request, world, "Done", service::set(*book, *what, *fields, world.now));
}

int run_remove(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  const auto what = one_word(words, "what to remove: an id such as J4, or an entry such as J3/cuts/1");
  if (!what.ok()) return fail(world, what.faults());
  auto book = open_for_change(words, world);
  if (!book.ok()) return fail(world, book.faults());
  return tell(request, world, "Done", service::remove(*book, *what, request.flags.at("leaning"), world.now));
}

int run_attach(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  const auto what = one_word(words, "a file to keep in the book");
  if (!what.ok()) return fail(world, what.faults());
  auto book = open_for_change(words, world);
  if (!book.ok()) return fail(world, book.faults());
  return tell(request, world, "Done",
              service::attach(*book, *what, {words.fields, std::nullopt}, world.now,
                              request.flags.at("as_it_is") ? service::Keep::kAsItIs : service::Keep::kPixels));
}

int run_undo(const Request& request, const World& world) {
  auto book = open_for_change(sort_words(request.words, request.book), world);
  if (!book.ok()) return fail(world, book.faults());
  return tell(request, world, "Taken back", book->undo(world.now));
}

int run_redo(const Request& request, const World& world) {
  auto book = open_for_change(sort_words(request.words, request.book), world);
  if (!book.ok()) return fail(world, book.faults());
  return tell(request, world, "Done again", book->redo(world.now));
}

int run_history(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  std::size_t limit = 20;
  const auto last = request.options.find("last");
  if (last != request.options.end() && !last->second.empty()) {
    const auto& text = last->second;
    const bool number =
        text.size() <= 9 && text.find_first_not_of("0123456789") == std::string::npos && std::stoul(text) > 0;
    if (!number)
      return fail(world, {{"--last", text, "is not a number of changes", "a whole number from 1", FaultKind::kUsage}});
    limit = std::stoul(text);
  }
  const auto opened = store::Store::open(*path, store::Mode::kReadOnly);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto entries = opened->history(limit);
  if (!entries.ok()) return fail(world, entries.faults());
  const auto verb = [](const store::Entry& entry) {
    return entry.verb == store::Verb::kDo ? "" : entry.verb == store::Verb::kUndo ? "undo: " : "redo: ";
  };
  const auto state = [](const store::Entry& entry) {
    if (!entry.state || *entry.state == store::StepState::kDone) return "";
    return *entry.state == store::StepState::kUndone ? "  (taken back)" : "  (taken back, then overtaken)";
  };
  if (request.json) {
    Json list = Json::array();
    for (const auto& entry : *entries)
      list.push_back({{"revision", entry.revision},
                      {"at", entry.at},
                      {"label", verb(entry) + entry.label},
                      {"in_force", !entry.state || *entry.state == store::StepState::kDone},
                      {"changes", entry.changes}});
    world.out << list.dump(2) << "\n";
    return 0;
  }
  Page page(request.use_colour);
  for (const auto& entry : *entries)
    page.entry(fmt::format("{:>4}  {}", entry.revision, entry.at), verb(entry) + entry.label + state(entry), 28, 0);
  if (entries->empty()) page.paragraph("Nothing has been changed yet.");
  world.out << page.text();
  return 0;
}

/// What a field is, for somebody who types it: money is typed as it is said, not in the book's hundredths.
std::string typed_words(std::string what) {
  static constexpr std::string_view kHundredths = ", in minor units of the book's currency (pence)";
  const auto at = what.find(kHundredths);
  return at == std::string::npos ? what : what.replace(at, kHundredths.size(), ", in the book's currency");
}

/// Every kind of thing a book holds, with the letters its ids begin with and the lists that are its parts.
std::string kinds_page(bool colour) {
  Page page(colour);
  page.title("What a book holds");
  page.entry("about", "the house, its rules and prices", 18, 0);
  for (const auto& kind : book::kinds()) {
    std::string text = fmt::format("{0}1, {0}2 …", kind.prefix);
    for (const auto& list : service::part_lists(kind.name)) text += fmt::format("; {}/{}", kind.name, list);
    page.entry(std::string(kind.name), text, 18, 0);
  }
  page.blank().paragraph("lathbook fields material, or fields job/cuts, says how each is described.", 0, Style::kQuiet);
  return page.text();
}

int run_fields(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (words.rest.empty() && words.fields.empty() && !request.json) {
    world.out << kinds_page(request.use_colour);
    return 0;
  }
  const auto what = one_word(words, "a kind such as material, or a list such as job/cuts");
  if (!what.ok()) return fail(world, what.faults());
  const auto slash = what->find('/');
  const auto head = what->substr(0, slash);
  const auto* kind = book::find_kind(head);
  std::string pointer;
  if (head == "about" && slash == std::string::npos) {
    pointer = "/$defs/about";
  } else if (kind == nullptr) {
    std::vector<std::string_view> names = {"about"};
    for (const auto& one : book::kinds()) names.push_back(one.name);
    return fail(world, {{"", fmt::format("\"{}\"", head), "is not a kind of thing a book holds",
                         fmt::format("{}", fmt::join(names, ", ")), FaultKind::kUsage}});
  } else if (slash == std::string::npos) {
    pointer = fmt::format("/$defs/{}", kind->name);
  } else {
    const auto target = service::parse_target(fmt::format("{}1{}", kind->prefix, what->substr(slash)));
    if (!target.ok()) return fail(world, target.faults());
    pointer = target->pointer;
  }
  const auto fields = service::fields_of(pointer);
  if (request.json) {
    Json list = Json::array();
    for (const auto& field : fields)
      list.push_back({{"field", field.name}, {"required", field.required}, {"what", field.what}, {"how", field.how}});
    world.out << list.dump(2) << "\n";
    return 0;
  }
  Page page(request.use_colour);
  page.title(fmt::format("Fields of {}", *what));
  for (const auto& field : fields) {
    page.entry(field.name, typed_words(field.what) + (field.required ? "  [must be there]" : ""), 18, 0,
               field.required ? Style::kStrong : Style::kPlain);
    const auto known = known_words(*what, field.name);
    const auto& how = known.empty() ? field.how : known;
    if (how != field.what) page.paragraph(how, 18, Style::kQuiet);
  }
  if (std::ranges::any_of(fields, [](const auto& field) { return field.name == "face"; })) {
    page.blank().paragraph(
        "Wall n runs from corner n to corner n + 1 of the room's outline taken anticlockwise. On a wall, X is measured "
        "from its left end as seen from inside the room and Y up from the floor; on a floor, ceiling or roof both are "
        "the "
        "plan's own.");
  }
  if (kind != nullptr && slash == std::string::npos) {
    for (const auto& list : service::part_lists(kind->name))
      page.blank().paragraph(
          fmt::format("The parts in {0} are added one by one: lathbook add {1}1/{0} …; `lathbook fields {2}/{0}`.",
                      list, kind->prefix, kind->name));
  }
  world.out << page.text();
  return 0;
}

}  // namespace lathbook::cli
