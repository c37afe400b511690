#include "http/site.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string_view>
#include <thread>

#include "book/json.h"
#include "catalogue/catalogue.h"
#include "check/check.h"
#include "check/house.h"
#include "http/forms.h"
#include "http/look.h"
#include "http/page_files.h"
#include "http/paper_maker.h"
#include "http/photo_upload.h"
#include "http/reckon.h"
#include "http/report_reader.h"
#include "http/several.h"
#include "law/pack.h"
#include "reason/date.h"
#include "schema/schema.h"
#include "service/answers.h"
#include "service/backs.h"
#include "service/certificate_answer.h"
#include "service/draft.h"
#include "service/edit.h"
#include "service/event_answers.h"
#include "service/likely_here.h"
#include "service/open_book.h"
#include "service/photo_answer.h"
#include "service/target.h"
#include "service/test_plan.h"
#include "service/timeline_answer.h"
#include "service/waste_answer.h"

namespace lathbook::http {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Faults;
using reason::Result;
using service::Json;
using service::OpenBook;

Response answered(const Json& json) { return {200, "application/json", json.dump(), {}}; }

/// Where the foot of each wall lies on the plan, so that the page draws what is on a wall where the fabric has it.
Json walls_json(const fabric::Plan& plan) {
  Json walls = Json::object();
  for (const auto& face : plan.faces()) {
    if (face.face.kind != book::FaceKind::kWall) continue;
    walls[plan.spaces()[face.space].id.text][face.face.text()] = {{"left", {face.left.x_m, face.left.y_m}},
                                                                  {"along", {face.along.x_m, face.along.y_m}},
                                                                  {"length_m", face.box.x1 - face.box.x0}};
  }
  return walls;
}

template <class Rows>
Json named(const Rows& rows) {
  Json list = Json::array();
  for (const auto& row : rows) list.push_back({{"id", row.id}, {"name", row.name}});
  return list;
}

/// What of the book's form the page needs to draw its forms: the schema, and the words of the catalogue.
Json schema_json() {
  const auto& known = catalogue::shipped();
  Json families = Json::array();
  for (const auto& family : known.families) {
    const auto& thick = family.thickness_mm;
    families.push_back(
        {{"id", family.id},
         {"name", family.name},
         {"suspect", family.suspect},
         {"description", family.description},
         {"thickness_mm", {{"low", thick.low}, {"high", thick.high}, {"source", thick.backing.source}}}});
  }
  Json sources = Json::object();
  for (const auto& source : known.sources) {
    sources[source.id] = {{"title", source.title}, {"publisher", source.publisher}, {"kind", source.kind}};
    if (source.year) sources[source.id]["year"] = *source.year;
  }
  Json countries = Json::array();
  for (const auto& id : law::pack_ids()) {
    const auto& rules = *law::find_pack(id);
    Json regions = Json::array();
    for (const auto& one : rules.regions) regions.push_back({{"id", one.id}, {"name", one.name}, {"note", one.note}});
    countries.push_back({{"id", rules.id},
                         {"name", rules.name},
                         {"note", rules.note},
                         {"as_of", rules.as_of.text()},
                         {"currency", rules.currency},
                         {"region_is", rules.words.region},
                         {"regions_differ", rules.asks_region},
                         {"regions", std::move(regions)}});
  }
  return {{"schema", Json::parse(assets::get("data/schemas/book.schema.json"))},
          {"countries", std::move(countries)},
          {"families", std::move(families)},
          {"tasks", named(known.tasks)},
          {"controls", named(known.controls)},
          {"respirators", named(known.respirators)},
          {"sources", std::move(sources)}};
}

/// The key in an Idempotency-Key header, whose quotes may be left out; nothing when it has not the form of one.
std::optional<std::string> key_of(std::string_view header) {
  if (header.size() > 1 && header.starts_with('"') && header.ends_with('"'))
    header = header.substr(1, header.size() - 2);
  constexpr std::size_t kBook = 16;
  constexpr std::size_t kDrawn = 32;
  const auto hex = [](std::string_view text) { return text.find_first_not_of("0123456789abcdef") == text.npos; };
  if (header.size() != kBook + 1 + kDrawn || header[kBook] != '-' || !hex(header.substr(0, kBook)) ||
      !hex(header.substr(kBook + 1)))
    return std::nullopt;
  return std::string(header);
}

}  // namespace

struct Site::Impl {
  std::filesystem::path path;
  Clock clock;
  PageFiles files = PageFiles({});
  std::unique_ptr<PaperMaker> papers;
  std::shared_ptr<PhoneDesk> desk;
  Reckoner reckoner{std::max(1U, std::thread::hardware_concurrency())};
  ReportReader reports;

  // What was read and worked out, of one revision. The house points into the book.
  std::unique_ptr<OpenBook> book;
  std::unique_ptr<check::House> house;
  std::unique_ptr<check::Checker> checker;
  store::Revision revision = -1;
  std::string book_id;                            ///< an edit kept for later says which book it was meant for
  std::optional<std::filesystem::path> old_copy;  ///< kept by the first opening

  /// Reads the book again when it has moved.
  Result<reason::Done> refresh() {
    if (book) {
      const auto now = book->store().revision();
      if (!now.ok()) return now.faults();
      if (*now == revision) return reason::Done{};
    }
    auto opened = OpenBook::open(path, store::Mode::kReadWrite);
    if (!opened.ok()) return opened.faults();
    checker.reset();
    house.reset();
    book = std::make_unique<OpenBook>(std::move(*opened));
    if (book->store().old_copy()) old_copy = book->store().old_copy();
    revision = -1;
    auto id = book->store().book_id();
    if (!id.ok()) return id.faults();
    book_id = std::move(*id);
    const auto knowledge = service::knowledge_for(book->book());
    if (!knowledge.ok()) return knowledge.faults();
    auto built = check::House::build(book->book(), *knowledge);
    if (!built.ok()) return built.faults();
    house = std::make_unique<check::House>(std::move(*built));
    checker = std::make_unique<check::Checker>(*house);
    // Not the file's revision: another program may have written meanwhile, and this was not read.
    revision = book->revision();
    return reason::Done{};
  }

  Result<reason::Date> today() const {
    if (const auto day = reason::Date::parse(clock.today())) return *day;
    throw std::logic_error("the clock gives no day of the calendar");
  }

  /// The labels of what undo would take back and redo would do again; null when there is nothing.
  Result<Json> undoable() const {
    const auto log = book->store().history(200);
    if (!log.ok()) return log.faults();
    Json undo = nullptr;
    Json redo = nullptr;
    for (const auto& entry : *log) {
      if (entry.verb != store::Verb::kDo || !entry.state) continue;
      if (*entry.state == store::StepState::kUndone) redo = entry.label;  // the oldest of them is next
      if (*entry.state == store::StepState::kDone) {
        if (entry.revision > 1) undo = entry.label;  // the step that made the book stays
        break;
      }
    }
    return Json{{"undo", std::move(undo)}, {"redo", std::move(redo)}};
  }

  Response whole_book() {
    const auto form = book->open_form(false);
    if (!form.ok()) return refusal(form.faults());
    const auto steps = undoable();
    if (!steps.ok()) return refusal(steps.faults());
    Json materials = Json::object();
    for (std::size_t i = 0; i < house->book().materials.size(); ++i) {
      auto one = service::material_json(*house, i, *today());
      one.erase("reasons");
      materials[house->book().materials[i].id.text] = std::move(one);
    }
    Json jobs = Json::array();
    for (const auto& answer : checker->all()) {
      auto one = service::check_json(*house, answer);
      for (const char* long_part : {"reasons", "precautions", "cautions", "duties"}) one.erase(long_part);
      jobs.push_back(std::move(one));
    }
    Json years = Json::object();
    for (const auto& room : house->book().rooms) {
      if (const auto range = house->years_of(room.id)) years[room.id.text] = {range->from, range->to};
    }
    return answered({{"revision", revision},
                     {"book_id", book_id},
                     {"file", path.filename().string()},
                     {"today", clock.today()},
                     {"steps", *steps},
                     {"overview", service::overview_json(*house)},
                     {"book", *form},
                     {"materials", std::move(materials)},
                     {"jobs", std::move(jobs)},
                     {"room_years", std::move(years)},
                     {"walls", walls_json(house->plan())},
                     {"openings", service::openings_json(house->plan())}});
  }

  Response one_material(const std::string& id) {
    const auto index = house->find_material(book::MaterialId{id});
    if (!index) return refusal({{"", id, "is not a material of this book", "", FaultKind::kMissing}});
    return answered(service::material_json(*house, *index, *today()));
  }

  Response one_job(const std::string& id) {
    const auto& jobs = house->book().jobs;
    const auto found = std::find_if(jobs.begin(), jobs.end(), [&](const book::Job& job) { return job.id.text == id; });
    if (found == jobs.end()) return refusal({{"", id, "is not a job of this book", "", FaultKind::kMissing}});
    return answered(service::check_json(
        *house, checker->job(static_cast<std::size_t>(std::distance(jobs.begin(), found)), check::Routes::kLookFor)));
  }

  Response one_certificate(const std::string& id) {
    const auto* certificate = book::find(house->book().certificates, book::CertificateId{id});
    if (certificate == nullptr)
      return refusal({{"", id, "is not a certificate of this book", "", FaultKind::kMissing}});
    const auto answer = service::certificate_answer(*house, *certificate);
    return answer.ok() ? answered(service::certificate_json(*certificate, *answer)) : refusal(answer.faults());
  }

  Response walk(const std::string& id) const {
    const auto& rooms = house->book().rooms;
    const auto found =
        std::find_if(rooms.begin(), rooms.end(), [&](const book::Room& room) { return room.id.text == id; });
    if (found == rooms.end()) return refusal({{"", id, "is not a room of this book", "", FaultKind::kMissing}});
    return answered(service::walk_json(*house, *found));
  }

  Response backs(const std::string& id) const {
    const book::RoomId room{id};
    if (!house->plan().find_space(room))
      return refusal({{"", id, "is not a room of this book", "", FaultKind::kMissing}});
    return answered(service::backs_json(house->plan(), room));
  }

  /// What came of looking for something in a room: a line in the room's notes for each thing looked for, in one step.
  Response write_look(const std::string& body, const service::Asked& by) {
    const auto asked = parse_look(body, house->book());
    if (!asked.ok()) return refusal(asked.faults());
    if (auto faults = clash("set", asked->room, asked->revision)) return refusal(*faults);
    auto notes = asked->notes;
    for (const auto* family : asked->families) notes = service::with_look(notes, *family, {asked->answer, *today()});
    service::Fields fields;
    fields.open_form = Json{{"notes", std::move(notes)}};
    return told(service::set(*book, asked->room, fields, by));
  }

  Response photo(const std::string& id) const {
    auto picture = service::photo_of(*book, id, {});
    if (!picture.ok()) return refusal(picture.faults());
    return {200, "image/jpeg", std::move(picture->jpeg), {}};
  }

  Response add_photo(const std::string& body, const service::Asked& by) {
    const auto sent = parse_photo(body);
    if (!sent.ok()) return refusal(sent.faults());
    return told(service::attach(*book, sent->jpeg, "photo", sent->fields, by));
  }

  Response testing() const {
    const auto plan = service::test_plan(*house);
    if (!plan.ok()) return refusal(plan.faults());
    return answered(service::test_plan_json(*house, *plan));
  }

  Response timeline() const {
    const auto answer = service::timeline_answer(*house, {.today = *today(), .away = {}, .dry = {}});
    if (!answer.ok()) return refusal(answer.faults());
    return answered(service::timeline_json(*house, *answer));
  }

  Response waste() const {
    const auto answer = service::waste_answer(*house, {});
    if (!answer.ok()) return refusal(answer.faults());
    return answered(service::waste_json(*house, *answer));
  }

  [[nodiscard]] PaperMoment moment() const { return {revision, clock.today()}; }

  /// `register` lists the files of a paper, `register/register.pdf` is one of them.
  Response paper(const std::string& asked, const PaperMoment& moment) const {
    const auto slash = std::min(asked.find('/'), asked.size());
    const auto made = papers->files(asked.substr(0, slash), moment);
    if (!made.ok()) return refusal(made.faults());
    if (slash == asked.size()) {
      Json list = Json::array();
      for (const auto& one : **made)
        list.push_back({{"name", one.name}, {"media_type", one.media_type}, {"bytes", one.bytes.size()}});
      return answered({{"files", std::move(list)}});
    }
    const auto name = asked.substr(slash + 1);
    const auto found =
        std::find_if((*made)->begin(), (*made)->end(), [&](const PaperFile& one) { return one.name == name; });
    if (found == (*made)->end()) return refusal(404, "is no file of this paper", "");
    const auto base = name.substr(name.find_last_of('/') + 1);
    return {
        200, found->media_type, found->bytes, {{"Content-Disposition", fmt::format("inline; filename=\"{}\"", base)}}};
  }

  /// `register/register.pdf/2`: its second page.
  Response preview(const std::string& asked, const PaperMoment& moment) const {
    const auto first = asked.find('/');
    const auto last = asked.rfind('/');
    int page = 0;
    const auto digits = std::string_view(asked).substr(last == std::string::npos ? asked.size() : last + 1);
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), page);
    if (first == std::string::npos || first == last || error != std::errc() || end != digits.data() + digits.size() ||
        page < 1 || page > 10000)
      return refusal(404, "is no page of a paper", "preview/register/register.pdf/1");
    const auto image = papers->preview(asked.substr(0, first), asked.substr(first + 1, last - first - 1), page, moment);
    if (!image.ok()) return refusal(image.faults());
    return {200, "image/png", *image, {}};
  }

  /// What check says of a job that is not written down, or not so.
  Response try_job(const std::string& body) {
    const auto asked = read_request("POST try", body);
    if (!asked.ok()) return refusal(asked.faults());
    const auto drafted = service::with_draft(book->book(), "job", (*asked)["job"]);
    if (!drafted.ok()) return refusal(drafted.faults());
    const auto built = check::House::build(drafted->book, house->knowledge());
    if (!built.ok()) return refusal(built.faults());
    const auto& jobs = drafted->book.jobs;
    const auto place =
        std::find_if(jobs.begin(), jobs.end(), [&](const book::Job& job) { return job.id.text == drafted->id; });
    check::Checker one(*built);
    return answered(service::check_json(*built, one.job(static_cast<std::size_t>(std::distance(jobs.begin(), place)))));
  }

  /// The event asked about, in a book of its own, since the draws outlast the request.
  Result<service::Drafted> drafted_event(const Json& asked) const {
    if (!asked.is_string()) return service::with_draft(book->book(), "event", asked);
    const auto id = asked.get<std::string>();
    if (book::find(book->book().events, book::EventId{id}) == nullptr)
      return Fault{"", id, "is not an event of this book", "", FaultKind::kMissing};
    return service::Drafted{book->book(), id};
  }

  /// Begins to work an event out and answers the number to look it up by.
  Response reckon(const std::string& body) {
    const auto asked = read_request("POST reckon", body);
    if (!asked.ok()) return refusal(asked.faults());
    auto drafted = drafted_event((*asked)["event"]);
    if (!drafted.ok()) return refusal(drafted.faults());
    const auto run = reckoner.start(std::make_shared<const book::Book>(std::move(drafted->book)), drafted->id,
                                    fmt::format("{} {}", revision, (*asked)["event"].dump()));
    return answered({{"run", run}});
  }

  Response look(const std::string& number) const {
    std::int64_t run = 0;
    const auto [end, error] = std::from_chars(number.data(), number.data() + number.size(), run);
    const auto seen = error == std::errc() && end == number.data() + number.size() ? reckoner.look(run) : std::nullopt;
    if (!seen) return refusal({{"", number, "is the number of no run", "", FaultKind::kMissing}});
    if (seen->state == Reckoner::State::kRefused) return refusal(seen->faults);
    static constexpr const char* kStates[] = {"running", "done", "stopped", "replaced"};
    // The answer is text already: 150 kB that need not be read in again.
    return {200,
            "application/json",
            fmt::format(R"({{"state":"{}","share_done":{},"answer":{}}})", kStates[static_cast<int>(seen->state)],
                        seen->share_done, seen->answer ? *seen->answer : "null"),
            {}};
  }

  Response stop(const std::string& body) {
    const auto json = read_request("POST stop", body);
    if (!json.ok()) return refusal(json.faults());
    return answered({{"stopped", reckoner.stop((*json)["run"].get<std::int64_t>())}});
  }

  /// A rough answer takes a while too: the book is copied here, and the rest done when others may ask again.
  std::function<Response()> rough(const std::string& body) {
    const auto refused = [](const Faults& faults) { return [told = refusal(faults)] { return told; }; };
    const auto asked = read_request("POST rough", body);
    if (!asked.ok()) return refused(asked.faults());
    auto drafted = drafted_event((*asked)["event"]);
    if (!drafted.ok()) return refused(drafted.faults());
    return [this, of = std::make_shared<const service::Drafted>(std::move(*drafted))] {
      auto answer = reckoner.rough(of->book, of->id);
      return answer.ok() ? Response{200, "application/json", std::move(*answer), {}} : refusal(answer.faults());
    };
  }

  /// A report is read in another process, and nobody waits for that. The book is copied: it may move meanwhile.
  std::function<Response()> report(const std::string& body) {
    auto pdf = ReportReader::parse(body);
    if (!pdf.ok()) return [refused = refusal(pdf.faults())] { return refused; };
    return [this, bytes = std::make_shared<const std::string>(std::move(*pdf)),
            of = std::make_shared<const book::Book>(book->book())] {
      const auto answer = reports.read(*bytes, *of);
      return answer.ok() ? answered(*answer) : refusal(answer.faults());
    };
  }

  /// The labels of what was done after `since`, newest first: what a clash is told by.
  Result<std::string> done_since(store::Revision since) const {
    const auto log =
        book->store().history(static_cast<std::size_t>(std::clamp<store::Revision>(revision - since, 1, 5)));
    if (!log.ok()) return log.faults();
    std::vector<std::string> labels;
    for (const auto& entry : *log) {
      static constexpr const char* kVerbs[] = {"", "take back: ", "do again: "};
      labels.push_back(fmt::format("\"{}{}\" at {}", kVerbs[static_cast<int>(entry.verb)], entry.label, entry.at));
    }
    return fmt::format("{}", fmt::join(labels, ", "));
  }

  /// Two windows on one book: an edit merges unless the very item it changes has moved since it was read.
  std::optional<Faults> clash(std::string_view verb, std::string_view what, store::Revision seen) const {
    if (seen == revision) return std::nullopt;
    if (seen > revision)
      return Faults{{"revision", fmt::format("{}", seen), "is newer than the book", fmt::format("{}", revision),
                     FaultKind::kUsage}};
    const bool takes_back = verb == "undo" || verb == "redo";
    if (!takes_back) {
      if (book::find_kind(what) != nullptr) return std::nullopt;  // a new item gets a new id: nothing to clash with
      const auto target = service::parse_target(what);
      if (!target.ok()) return target.faults();
      const auto id = target->id.empty() ? std::string("about") : target->id;
      const auto items = book->items();
      const auto item = std::find_if(items.begin(), items.end(), [&](const store::RecordText& record) {
        return record.kind == target->kind && record.id == id;
      });
      // An item that is gone is told as missing by the edit itself.
      if (item == items.end() || item->revision <= seen) return std::nullopt;
    }
    const auto since = done_since(seen);
    if (!since.ok()) return since.faults();
    return Faults{{takes_back ? "the book" : std::string(what), fmt::format("revision {}", seen),
                   fmt::format("has been changed meanwhile: {}", *since), "look at it as it is now, then decide again",
                   FaultKind::kConflict}};
  }

  Response edit(std::string_view verb, const std::string& body, const service::Asked& by) {
    const auto json = read_request(fmt::format("POST {}", verb), body);
    if (!json.ok()) return refusal(json.faults());
    const auto what = json->value("what", std::string());
    const bool takes_back = verb == "undo" || verb == "redo";
    if (what.empty() && !takes_back)
      return refusal({{"/what", "", "is missing", "a kind, an id, or an entry such as J3/cuts/1", FaultKind::kUsage}});
    if (auto faults = clash(verb, what, (*json)["revision"].get<store::Revision>())) return refusal(*faults);

    service::Fields fields;
    fields.typed = json->value("typed", std::vector<std::string>());
    if (json->contains("fields")) fields.open_form = (*json)["fields"];
    const auto edited = verb == "add"   ? service::add(*book, what, fields, by)
                        : verb == "set" ? service::set(*book, what, fields, by)
                        : verb == "remove"
                            ? service::remove(*book, what, json->value("with_what_leans_on_it", false), by)
                        : verb == "undo" ? book->undo(by)
                                         : book->redo(by);
    return told(edited);
  }

  Response edit_several(const std::string& body, const service::Asked& by) {
    const auto asked = parse_several(body);
    if (!asked.ok()) return refusal(asked.faults());
    for (const auto& part : asked->parts) {
      if (auto faults = clash(part.is_new ? "add" : "set", part.what, asked->revision)) return refusal(*faults);
    }
    return told(service::several(*book, asked->label, asked->parts, by));
  }

  /// What an edit did. Its own revision is told, not the book's now: the asker has seen nothing that came after.
  static Response told(const Result<service::Edited>& edited) {
    if (!edited.ok()) return refusal(edited.faults());
    Json ids = Json::array();
    for (const auto& change : edited->changes) ids.push_back(change.id);
    return answered({{"label", edited->label}, {"revision", edited->revision}, {"changed", std::move(ids)}});
  }

  /// The answer to an edit that carries a key: made by `change`, unless it was made before.
  Response once(const std::string& header, const std::function<Response(const service::Asked&)>& change) const {
    if (header.empty()) return change(clock.now());
    const auto key = key_of(header);
    if (!key)
      return refusal({{"Idempotency-Key", header, "is not the key of an edit",
                       "the book_id of the book, a hyphen, and 32 hex digits drawn at random", FaultKind::kUsage}});
    if (!key->starts_with(book_id))
      return refusal({{"Idempotency-Key", "", "belongs to an edit of another book; nothing was written",
                       "an edit of this one", FaultKind::kConflict}});
    const auto before = book->store().done_under(*key);
    if (!before.ok()) return refusal(before.faults());
    if (*before) return told(std::move(**before));
    return change({clock.now(), *key});
  }

  static Response told(const Result<Json>& answer) {
    return answer.ok() ? answered(*answer) : refusal(answer.faults());
  }

  Response phones() const { return desk ? told(desk->state()) : answered({{"on", false}, {"phones", Json::array()}}); }

  Response new_phone_code(const std::string& body) const {
    const auto asked = read_request("POST pairing", body);
    if (!asked.ok()) return refusal(asked.faults());
    return desk ? told(desk->new_code()) : no_phones();
  }

  Response revoke_phone(const std::string& body) const {
    const auto asked = read_request("POST unpair", body);
    if (!asked.ok()) return refusal(asked.faults());
    return desk ? told(desk->revoke((*asked)["id"].get<std::string>())) : no_phones();
  }

  static Response no_phones() { return refusal(409, "no phone is let in", "lathbook serve --phone"); }
};

/// What may be asked under /api/: one row each. `answer` gets the id of a question that names one item, or the body
/// of a request that changes something.
struct Question {
  std::string_view word;
  bool changes = false;
  bool names_one = false;
  Response (*answer)(Site::Impl&, const std::string&) = nullptr;
  /// Instead of `answer`, for what changes the book: done once for each key.
  Response (*edit)(Site::Impl&, std::string_view word, const std::string&, const service::Asked&) = nullptr;
  /// Instead of `answer`, for what takes long: reads the book while it holds still, and answers what is left to do.
  std::function<Response()> (*prepare)(Site::Impl&, const std::string&) = nullptr;
  bool for_the_laptop = false;  ///< a phone may not ask it
};

constexpr auto kEdit = [](Site::Impl& site, std::string_view word, const std::string& body, const service::Asked& by) {
  return site.edit(word, body, by);
};

constexpr Question kQuestions[] = {
    {"book", false, false, [](Site::Impl& site, const std::string&) { return site.whole_book(); }},
    {"schema", false, false, [](Site::Impl&, const std::string&) { return answered(schema_json()); }},
    {"check", false, true, [](Site::Impl& site, const std::string& id) { return site.one_job(id); }},
    {"material", false, true, [](Site::Impl& site, const std::string& id) { return site.one_material(id); }},
    {"certificate", false, true, [](Site::Impl& site, const std::string& id) { return site.one_certificate(id); }},
    {"walk", false, true, [](Site::Impl& site, const std::string& id) { return site.walk(id); }},
    {"walks", false, false,
     [](Site::Impl& site, const std::string&) { return answered(service::walks_json(*site.house)); }},
    {"backs", false, true, [](Site::Impl& site, const std::string& id) { return site.backs(id); }},
    {"look", true, false, nullptr,
     [](Site::Impl& site, std::string_view, const std::string& body, const service::Asked& by) {
       return site.write_look(body, by);
     }},
    {"photo", false, true, [](Site::Impl& site, const std::string& id) { return site.photo(id); }},
    {"photo", true, false, nullptr,
     [](Site::Impl& site, std::string_view, const std::string& body, const service::Asked& by) {
       return site.add_photo(body, by);
     }},
    {"testing", false, false, [](Site::Impl& site, const std::string&) { return site.testing(); }},
    {"timeline", false, false, [](Site::Impl& site, const std::string&) { return site.timeline(); }},
    {"waste", false, false, [](Site::Impl& site, const std::string&) { return site.waste(); }},
    // Papers take a second or more, and another program makes them: nobody waits for that.
    {"paper", false, true, nullptr, nullptr,
     [](Site::Impl& site, const std::string& asked) -> std::function<Response()> {
       return [&site, asked, moment = site.moment()] { return site.paper(asked, moment); };
     }},
    {"preview", false, true, nullptr, nullptr,
     [](Site::Impl& site, const std::string& asked) -> std::function<Response()> {
       return [&site, asked, moment = site.moment()] { return site.preview(asked, moment); };
     }},
    {"phone", false, false, [](Site::Impl& site, const std::string&) { return site.phones(); }, nullptr, nullptr, true},
    {"pairing", true, false, [](Site::Impl& site, const std::string& body) { return site.new_phone_code(body); },
     nullptr, nullptr, true},
    {"unpair", true, false, [](Site::Impl& site, const std::string& body) { return site.revoke_phone(body); }, nullptr,
     nullptr, true},
    {"now", false, false, [](Site::Impl&, const std::string&) { return answered(service::first_responses_json()); }},
    {"try", true, false, [](Site::Impl& site, const std::string& body) { return site.try_job(body); }},
    {"reckon", true, false, [](Site::Impl& site, const std::string& body) { return site.reckon(body); }},
    {"reckon", false, true, [](Site::Impl& site, const std::string& run) { return site.look(run); }},
    {"stop", true, false, [](Site::Impl& site, const std::string& body) { return site.stop(body); }},
    {"rough", true, false, nullptr, nullptr,
     [](Site::Impl& site, const std::string& body) { return site.rough(body); }},
    {"report", true, false, nullptr, nullptr,
     [](Site::Impl& site, const std::string& body) { return site.report(body); }},
    {"add", true, false, nullptr, kEdit},
    {"set", true, false, nullptr, kEdit},
    {"remove", true, false, nullptr, kEdit},
    {"several", true, false, nullptr,
     [](Site::Impl& site, std::string_view, const std::string& body, const service::Asked& by) {
       return site.edit_several(body, by);
     }},
    {"undo", true, false, nullptr, kEdit},
    {"redo", true, false, nullptr, kEdit},
};

std::vector<std::string> Site::questions() {
  std::vector<std::string> all;
  for (const auto& one : kQuestions) all.push_back(fmt::format("{} {}", one.changes ? "POST" : "GET", one.word));
  return all;
}

Site::Site(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
const std::optional<std::filesystem::path>& Site::old_copy() const { return impl_->old_copy; }

Site::~Site() = default;

Result<std::unique_ptr<Site>> Site::open(const std::filesystem::path& book, Clock clock,
                                         const std::vector<assets::Asset>& files, std::filesystem::path paper_program,
                                         std::shared_ptr<PhoneDesk> desk) {
  auto impl = std::make_unique<Impl>();
  impl->path = book;
  impl->clock = std::move(clock);
  impl->files = PageFiles(files);
  impl->desk = std::move(desk);
  impl->papers = std::make_unique<PaperMaker>(std::move(paper_program), book);
  if (const auto read = impl->refresh(); !read.ok()) return read.faults();
  return std::unique_ptr<Site>(new Site(std::move(impl)));
}

Response Site::answer(const Request& request) {
  if (!request.path.starts_with("/api/")) {
    if (request.method == "POST") return refusal(405, "is a page, not something to change", "GET");
    return impl_->files.answer(request);
  }
  const bool may_be_large =
      request.path == "/api/photo" || request.path == "/api/report" || request.path == "/api/several";
  if (request.body.size() > kLargestEdit && !may_be_large)
    return refusal(413, "is too large", fmt::format("at most {} bytes", kLargestEdit));
  std::unique_lock lock(one_at_a_time_);
  if (const auto read = impl_->refresh(); !read.ok()) return refusal(read.faults());
  const auto asked = std::string_view(request.path).substr(std::string_view("/api/").size());
  const auto slash = std::min(asked.find('/'), asked.size());
  const auto word = asked.substr(0, slash);
  const std::string rest(asked.substr(std::min(slash + 1, asked.size())));

  const auto question = std::find_if(std::begin(kQuestions), std::end(kQuestions), [&](const Question& one) {
    return one.word == word && one.names_one == !rest.empty();
  });
  if (question == std::end(kQuestions)) return refusal(404, "there is no such question", "see docs/formats/http.md");
  if (request.by_phone && question->for_the_laptop)
    return refusal(403, "is for the laptop alone", "the page on the machine that serves the book");
  const std::string_view method = question->changes ? "POST" : "GET";
  if (question->changes != (request.method == "POST")) {
    auto response = refusal(405, "is asked the other way", std::string(method));
    response.headers.emplace_back("Allow", question->changes ? "POST" : "GET, HEAD");
    return response;
  }
  const auto& given = question->changes ? request.body : rest;
  if (question->answer != nullptr) return question->answer(*impl_, given);
  if (question->edit != nullptr) {
    return impl_->once(request.request_key,
                       [&](const service::Asked& by) { return question->edit(*impl_, word, given, by); });
  }
  const auto rest_of_it = question->prepare(*impl_, given);
  lock.unlock();
  return rest_of_it();
}

}  // namespace lathbook::http
