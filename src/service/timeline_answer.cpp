#include "service/timeline_answer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "book/words.h"
#include "service/answers.h"
#include "timeline/gantt.h"

namespace lathbook::service {
namespace {

using reason::Date;
using timeline::Activity;
using timeline::Days;

// Typical days where nobody wrote any: judgement, and told as such in the reasons.
constexpr Days kLaboratory{2, 5, 10};
constexpr Days kRemovalLead{10, 21, 42};
constexpr Days kRemoval{1, 2, 4};
constexpr Days kClearance{0.5, 1, 2};
constexpr Days kJob{0.5, 1, 3};
constexpr Days kSampling{1, 1, 1};
constexpr Days kLook{1, 1, 1};

Days certain(double days) { return {days, days, days}; }

class Builder {
 public:
  Builder(const check::House& house, const TimelineQuestion& question)
      : house_(house), question_(with_book(house.book(), question)), request_{.start = question.today} {}

  void build() {
    check::Checker checker(house_);
    // A removal that is decided on belongs to the plan even when no job waits for it, and so does the certificate of
    // one that is done.
    for (const auto& action : house_.book().actions) {
      if (action.kind != book::ActionKind::kRemove || action.done_on) continue;
      if (const auto at = house_.find_material(action.material)) removed(*at, false);
    }
    for (const auto& one : check::rooms_not_cleared(house_)) {
      if (!one.under_way && one.event.empty()) certified(one);
    }
    const auto& jobs = house_.book().jobs;
    for (std::size_t i = 0; i < jobs.size(); ++i) {
      if (!jobs[i].done_on) job(i, checker.job(i));
    }
  }

  timeline::Request request_on() const { return request_; }
  const std::map<std::string, std::size_t>& jobs() const { return job_of_; }
  const std::map<std::string, std::size_t>& materials() const { return material_of_; }
  const std::map<std::string, std::string>& firms() const { return firm_of_; }
  bool guessed() const { return guessed_; }
  const TimelineQuestion& question() const { return question_; }
  bool looks() const { return looks_; }
  /// The last of what a material's removal asks for: what jobs wait for.
  const std::map<std::string, std::string>& lasts() const { return last_of_; }

 private:
  Activity& add(std::string id, std::string name, Days days) {
    Activity activity;
    activity.id = std::move(id);
    activity.name = std::move(name);
    activity.days = days;
    activity.closed = question_.away;
    request_.activities.push_back(std::move(activity));
    return request_.activities.back();
  }

  bool has(const std::string& id) const {
    return std::ranges::any_of(request_.activities, [&](const Activity& one) { return one.id == id; });
  }

  const book::Party* party_with(std::string_view role) const {
    for (const auto& one : house_.book().parties) {
      if (one.role == role) return &one;
    }
    return nullptr;
  }

  Days lead_of(const book::Party* party, Days typical) {
    if (party != nullptr && party->lead_days)
      return {0.8 * *party->lead_days, *party->lead_days, 1.5 * *party->lead_days};
    guessed_ = true;
    return typical;
  }

  /// Days of notice the rules ask before such work.
  double notice_days(law::Outcome outcome) const {
    double days = 0;
    for (const auto& duty : house_.knowledge().rules.duties(outcome)) {
      days = std::max(days, static_cast<double>(duty.days_before.value_or(0)));
    }
    return days;
  }

  /// The test of a material: under way, or still to be taken. Returns its id; empty when a result is there.
  std::string test(std::size_t index) {
    const auto& material = house_.book().materials[index];
    const std::string id = "test-" + material.id.text;
    if (has(id)) return id;
    const auto lead = lead_of(party_with("laboratory"), kLaboratory);
    std::optional<Date> sent;
    for (const auto& sample : house_.book().samples) {
      const bool answered = std::ranges::any_of(house_.book().results,
                                                [&](const book::LabResult& one) { return one.sample == sample.id; });
      if (sample.material == material.id && !answered && (sample.sent_on || sample.taken_on))
        sent = sample.sent_on ? sample.sent_on : sample.taken_on;
    }
    if (sent) {
      // What has already passed since it was sent need not be waited for again.
      const double gone = std::max(0, sent->days_until(question_.today));
      add(id, "Result of " + material.name,
          {std::max(0.0, lead.low - gone), std::max(0.0, lead.likely - gone), std::max(0.0, lead.high - gone)})
          .closed.clear();
    } else {
      const std::string sample = "sample-" + material.id.text;
      add(sample, "Sample " + material.name, kSampling);
      material_of_[sample] = index;
      add(id, "Laboratory: " + material.name, lead).after = {sample};
      request_.activities.back().closed.clear();  // the laboratory works while the household is away
    }
    material_of_[id] = index;
    return id;
  }

  /// What must be done before a job may go where the material was: its removal, and the certificate that clears the
  /// room where the rules ask for one. Returns the last one's id.
  std::string removed(std::size_t index, bool only_if_found) {
    const auto& material = house_.book().materials[index];
    if (const auto known = last_of_.find(material.id.text); known != last_of_.end()) return known->second;
    const std::string id = "remove-" + material.id.text;
    const book::Action* action = nullptr;
    for (const auto& one : house_.book().actions) {
      if (one.material == material.id && one.kind == book::ActionKind::kRemove && !one.done_on) action = &one;
    }
    const book::Party* firm = action != nullptr ? book::find(house_.book().parties, action->by) : nullptr;
    if (firm == nullptr) firm = party_with("remover");
    std::optional<timeline::Condition> condition;
    std::vector<std::string> after;
    if (only_if_found) {
      after = {test(index)};
      request_.branches.push_back({"found-" + material.id.text, house_.known(index).belief.probability});
      condition = timeline::Condition{"found-" + material.id.text, true};
    }
    const auto outcome = check::removal_outcome(house_, index);
    if (action != nullptr && action->started_on && *action->started_on <= question_.today) {
      const double left = action->due_on ? std::max(0, question_.today.days_until(*action->due_on)) : kRemoval.likely;
      add(id, "Removal: " + material.name, certain(left));
    } else {
      // Booking: the firm's lead, and at least the notice the rules ask; both run from what comes before.
      const std::string book = "book-" + material.id.text;
      Days lead = lead_of(firm, kRemovalLead);
      const double notice = notice_days(outcome);
      lead = {std::max(notice, lead.low), std::max(notice, lead.likely), std::max(notice, lead.high)};
      auto& booking = add(book, (notice > 0 ? "Notice and waiting: " : "Waiting for the firm: ") + material.name, lead);
      booking.after = after;
      booking.only_if = condition;
      booking.closed.clear();
      material_of_[book] = index;
      guessed_ = true;
      auto& removal = add(id, "Removal: " + material.name, kRemoval);
      removal.after = {book};
      removal.only_if = condition;
      if (action != nullptr && action->started_on) removal.not_before = action->started_on;
    }
    material_of_[id] = index;
    firm_of_[id] = firm != nullptr ? firm->id.text : "";
    last_of_[material.id.text] = id;
    if (outcome == law::Outcome::kLicensed) {
      if (const auto* rules = check::clearance_after(house_, index)) {
        auto& clearance = add_clearance(index, *rules, "");
        clearance.after = {id};
        clearance.only_if = condition;
      }
    }
    return last_of_[material.id.text];
  }

  Activity& add_clearance(std::size_t index, const law::Clearance& rules, const char* again) {
    const auto& material = house_.book().materials[index];
    const std::string id = "clear-" + material.id.text;
    material_of_[id] = index;
    last_of_[material.id.text] = id;
    const char* what = rules.rules.air.required ? "Air test and clearance" : "Clearance";
    return add(id, fmt::format("{}{}: {}", what, again, material.name), kClearance);
  }

  /// The certificate that a removal which is done still lacks.
  void certified(const check::NotCleared& one) {
    const auto* rules = check::clearance_after(house_, one.material);
    const auto& id = house_.book().materials[one.material].id.text;
    if (rules == nullptr || has("clear-" + id)) return;
    add_clearance(one.material, *rules, one.certificate.empty() ? "" : " once more");
    guessed_ = true;
  }

  /// What an event left in a room, cleaned up by a remover and cleared; its activity.
  std::string cleaned_up(const check::NotCleared& one) {
    const std::string id = "clean-" + one.event.text + "-" + one.room.text;
    if (has(id)) return id;
    const auto* room = book::find(house_.book().rooms, one.room);
    const Days lead = lead_of(party_with("remover"), kRemovalLead);
    add(id, fmt::format("Clean-up and clearance: {}", room == nullptr ? one.room.text : room->name),
        {lead.low + kRemoval.low + kClearance.low, lead.likely + kRemoval.likely + kClearance.likely,
         lead.high + kRemoval.high + kClearance.high});
    guessed_ = true;
    return id;
  }

  /// Whether it is decided that it comes out, and not done yet.
  bool to_be_removed(std::size_t index) const {
    return std::ranges::any_of(house_.book().actions, [&](const book::Action& one) {
      return one.material == house_.book().materials[index].id && one.kind == book::ActionKind::kRemove && !one.done_on;
    });
  }

  /// Whether a removal of it is done, by the decisions of the book, though the material still counts as there.
  bool said_to_be_removed(std::size_t index) const {
    bool done = false;
    for (const auto& one : house_.book().actions) {
      if (one.material != house_.book().materials[index].id || one.kind != book::ActionKind::kRemove) continue;
      if (!one.done_on) return false;
      done = true;
    }
    return done;
  }

  void job(std::size_t index, const check::Answer& answer) {
    const auto& job = house_.book().jobs[index];
    std::set<std::string> before;
    for (const auto& other : job.after) {
      const auto* earlier = book::find(house_.book().jobs, other);
      if (earlier != nullptr && !earlier->done_on) before.insert(other.text);
    }
    const bool waits = answer.verdict == check::Verdict::kTestFirst || answer.verdict == check::Verdict::kRemoveFirst ||
                       answer.verdict == check::Verdict::kNotByYou;
    bool roof = false;
    for (const auto& cut : job.cuts) {
      const auto* room = book::find(house_.book().rooms, cut.place.room);
      const bool outbuilding =
          room != nullptr && (room->kind == book::RoomKind::kGarage || room->kind == book::RoomKind::kOutbuilding);
      roof = roof || cut.place.face.kind == book::FaceKind::kRoof ||
             (outbuilding && cut.place.face.kind == book::FaceKind::kCeiling);
    }
    for (const auto& touched : answer.touched) {
      if (!waits || touched.released || !touched.work || touched.work->may != law::May::kNo) continue;
      if (said_to_be_removed(touched.material)) {
        // Taken out, but never written down as gone: perhaps a part was left. It is not taken out twice.
        const auto& material = house_.book().materials[touched.material];
        const std::string gone = "gone-" + material.id.text;
        if (!has(gone)) {
          add(gone, "Write down that it is gone, or what is left: " + material.name, kLook);
          material_of_[gone] = touched.material;
        }
        before.insert(gone);
        if (const auto last = last_of_.find(material.id.text); last != last_of_.end()) before.insert(last->second);
        continue;
      }
      const bool identified = house_.known(touched.material).belief.standing == book::Standing::kIdentified;
      before.insert(removed(touched.material, !identified));
    }
    // A job that may begin, but would cut into what is to come out anyway, comes after it is out. One that is itself
    // the removal waits for nothing.
    for (const auto& touched : answer.touched) {
      if (waits || touched.released || !to_be_removed(touched.material)) continue;
      const auto takes_it_out = [&](std::size_t cut) {
        const auto* task = house_.knowledge().catalogue.find_task(job.cuts[cut].task);
        return task != nullptr && task->kind == catalogue::TaskKind::kRemoval;
      };
      if (std::ranges::none_of(touched.cuts, takes_it_out)) before.insert(removed(touched.material, false));
    }
    // Nobody works in a room that is not cleared, whatever the job itself would meet there.
    for (const auto& one : answer.not_cleared) {
      if (!one.event.empty()) {
        before.insert(cleaned_up(one));
      } else if (one.under_way) {
        before.insert(removed(one.material, false));
      } else if (const auto last = last_of_.find(house_.book().materials[one.material].id.text);
                 last != last_of_.end()) {
        before.insert(last->second);
      }
    }
    // What nobody has looked at may hold the job up further; until somebody has, only the look itself can be planned.
    if (waits && (!answer.unwritten.empty() || job.cuts.empty())) {
      const std::string look = "look-" + job.id.text;
      add(look, (job.cuts.empty() ? "Say where it cuts: " : "Look what it goes into: ") + job.title, kLook);
      before.insert(look);
      looks_ = true;
    }
    if (!job.days) guessed_ = true;
    auto& activity = add(job.id.text, job.title, job.days ? certain(*job.days) : kJob);
    activity.after.assign(before.begin(), before.end());
    if (roof && !question_.dry.empty()) {
      // Closed outside the dry spells, as far ahead as the plan can reach.
      Date from = question_.today.plus_days(-1);
      auto spells = question_.dry;
      std::ranges::sort(spells, {}, [](const timeline::Period& one) { return one.from; });
      for (const auto& spell : spells) {
        if (from < spell.from) activity.closed.push_back({from, spell.from.plus_days(-1), "wet season"});
        from = std::max(from, spell.to.plus_days(1));
      }
    }
    job_of_[job.id.text] = index;
  }

  static TimelineQuestion with_book(const book::Book& book, TimelineQuestion question) {
    for (const auto& one : book.about.away)
      question.away.push_back({one.from, one.to, one.why.empty() ? "away" : one.why});
    for (const auto& one : book.about.dry)
      question.dry.push_back({one.from, one.to, one.why.empty() ? "dry" : one.why});
    return question;
  }

  const check::House& house_;
  const TimelineQuestion question_;
  timeline::Request request_;
  std::map<std::string, std::size_t> job_of_;
  std::map<std::string, std::size_t> material_of_;
  std::map<std::string, std::string> firm_of_;
  std::map<std::string, std::string> last_of_;  ///< by material: the last of its removal's activities
  bool guessed_ = false;
  bool looks_ = false;
};

/// Which of the removals still to be booked to call in together, should every test find asbestos.
std::optional<timeline::Bundling> bundled(const check::House& house, const Builder& builder,
                                          const TimelineAnswer& answer, Date today) {
  const auto& book = house.book();
  std::vector<timeline::Removal> removals;
  std::map<std::string, timeline::FirmCost> firms;
  for (const auto& row : answer.rows) {
    const auto firm = builder.firms().find(row.activity.id);
    // One under way has its visit; only those still to be booked can be put together.
    const bool to_book =
        std::ranges::any_of(row.activity.after, [](const std::string& id) { return id.starts_with("book-"); });
    if (firm == builder.firms().end() || !to_book || firm->second.empty()) continue;
    const auto* party = book::find(book.parties, book::PartyId{firm->second});
    if (party == nullptr || !party->price_fixed) continue;
    // Each week of waiting costs what the person said, for each job that waits for this removal.
    int waiting = 0;
    const auto& last = builder.lasts().at(book.materials[*row.material].id.text);
    for (const auto& other : answer.rows)
      waiting += std::ranges::count(other.activity.after, last) > 0 && other.job ? 1 : 0;
    removals.push_back({.id = book.materials[*row.material].id.text,
                        .firm = firm->second,
                        .enclosure = book.materials[*row.material].place.room.text,
                        .ready_day = static_cast<double>(std::max(0, today.days_until(row.planned.start))),
                        .days = row.activity.days.likely,
                        .waiting_per_day = waiting * static_cast<double>(book.about.waiting_per_week.value_or(0)) / 7});
    firms[firm->second] = {
        .firm = firm->second, .mobilisation = static_cast<double>(*party->price_fixed), .enclosure = 0};
  }
  if (removals.size() < 2) return std::nullopt;
  std::vector<timeline::FirmCost> costs;
  for (const auto& [id, cost] : firms) costs.push_back(cost);
  auto found = timeline::bundle(removals, costs);
  if (!found.ok()) return std::nullopt;
  return std::move(*found);
}

std::vector<timeline::CalendarEntry> calendar_of(const check::House& house, const TimelineAnswer& answer, Date today) {
  std::vector<timeline::CalendarEntry> out;
  for (const auto& row : answer.rows) {
    if (row.planned.skipped) continue;
    std::string about =
        fmt::format("Earliest {}, at the latest {}.", row.range.start.low.text(), row.range.start.high.text());
    if (row.activity.only_if) about += " Only if asbestos is found.";
    out.push_back({.key = row.activity.id,
                   .summary = row.activity.name,
                   .description = about,
                   .first = row.planned.start,
                   .end = row.planned.finish,
                   .remind_days_before = row.job ? std::vector<int>{7, 1} : std::vector<int>{1}});
  }
  const auto& book = house.book();
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    const auto sheet = material_sheet(house, i, today);
    if (!sheet) continue;
    out.push_back({.key = "look-" + book.materials[i].id.text,
                   .summary = "Look again: " + book.materials[i].name,
                   .description = "Compare with the last photo; note any damage.",
                   .first = sheet->next_look.on,
                   .end = sheet->next_look.on,
                   .remind_days_before = {7}});
  }
  for (const auto& party : book.parties) {
    if (!party.licence_expires_on) continue;
    out.push_back(
        {.key = "licence-" + party.id.text,
         .summary = fmt::format("{}: {} runs out", party.name, party.licence.empty() ? "licence" : party.licence),
         .description = "Ask for the new one before any more work.",
         .first = *party.licence_expires_on,
         .end = *party.licence_expires_on,
         .remind_days_before = {30}});
  }
  for (const auto& quote : book.quotes) {
    if (quote.valid_to)
      out.push_back({.key = "quote-" + quote.id.text,
                     .summary = fmt::format("Quote {} runs out", quote.id.text),
                     .description = "",
                     .first = *quote.valid_to,
                     .end = *quote.valid_to,
                     .remind_days_before = {7}});
  }
  std::ranges::stable_sort(out, {}, [](const timeline::CalendarEntry& one) { return one.first; });
  return out;
}

std::vector<timeline::GanttRow> gantt_rows(const TimelineAnswer& answer) {
  std::vector<timeline::GanttRow> rows;
  for (const auto& row : answer.rows) {
    if (row.planned.skipped) continue;
    rows.push_back({.id = row.activity.id,
                    .name = (row.job ? row.activity.id + " " : "") + row.activity.name,
                    .start = row.planned.start,
                    .finish = row.planned.finish,
                    .latest = row.range.finish.high,
                    .critical = row.planned.critical,
                    .slack_days = row.planned.slack_days});
  }
  return rows;
}

Json stretches_json(const std::vector<timeline::Period>& list) {
  Json out = Json::array();
  for (const auto& one : list) out.push_back({{"from", one.from.text()}, {"to", one.to.text()}, {"why", one.why}});
  return out;
}

Json range_json(const timeline::DateRange& range) {
  return {{"low", range.low.text()},
          {"p10", range.p10.text()},
          {"median", range.median.text()},
          {"p90", range.p90.text()},
          {"high", range.high.text()}};
}

/// Faults of the plan by what it plans rather than by its place in a list that no person sees.
reason::Faults told(const timeline::Request& request, reason::Faults faults) {
  for (std::size_t i = 0; i < request.activities.size(); ++i) {
    const auto here = fmt::format("/activities/{}", i);
    for (auto& fault : faults) {
      if (fault.where != here && !fault.where.starts_with(here + "/")) continue;
      fault.where = request.activities[i].name;
      if (fault.value != request.activities[i].id) continue;
      fault.value.clear();
      fault.allowed = "shorter work, or days between those on which it cannot be done";
    }
  }
  return faults;
}

}  // namespace

reason::Result<TimelineAnswer> timeline_answer(const check::House& house, const TimelineQuestion& question) {
  Builder builder(house, question);
  builder.build();
  const auto request = builder.request_on();
  auto planned = timeline::plan(request);
  if (!planned.ok()) return told(request, planned.faults());
  auto ranged = timeline::ranges(request, 2000, 1);
  if (!ranged.ok()) return told(request, ranged.faults());
  TimelineAnswer out{.rows = {},
                     .finish = planned->finish,
                     .finish_range = ranged->finish,
                     .away = builder.question().away,
                     .dry = builder.question().dry,
                     .bundling = {},
                     .calendar = {},
                     .next = {},
                     .reasons = planned->reasons};
  for (std::size_t i = 0; i < request.activities.size(); ++i) {
    const auto index = [&](const std::map<std::string, std::size_t>& from) -> std::optional<std::size_t> {
      const auto found = from.find(request.activities[i].id);
      return found == from.end() ? std::nullopt : std::optional(found->second);
    };
    out.rows.push_back({.activity = request.activities[i],
                        .planned = planned->activities[i],
                        .range = ranged->activities[i],
                        .job = index(builder.jobs()),
                        .material = index(builder.materials())});
  }
  std::ranges::stable_sort(out.rows, {},
                           [](const TimelineRow& row) { return std::pair(row.planned.start, row.planned.finish); });
  out.bundling = bundled(house, builder, out, question.today);
  out.calendar = calendar_of(house, out, question.today);
  if (builder.guessed())
    out.reasons.push_back(
        {"Where nobody wrote down how long something takes, a typical range was used: laboratory 2 to 10 days, a "
         "remover's lead 10 to 42, a removal 1 to 4, clearance half a day to 2.",
         "judgement"});
  if (builder.looks())
    out.reasons.push_back(
        {"Where nothing is written down of what a job goes into, only a day to look is counted: what is found may ask "
         "for a test or a removal as well.",
         "judgement"});
  if (out.rows.empty()) out.next.push_back("No job is open. lathbook add job title=… and its cuts.");
  return out;
}

Json timeline_json(const check::House& house, const TimelineAnswer& answer) {
  const auto& book = house.book();
  Json rows = Json::array();
  for (const auto& row : answer.rows) {
    Json one = {{"id", row.activity.id},
                {"name", row.activity.name},
                {"start", row.planned.start.text()},
                {"finish", row.planned.finish.text()},
                {"slack_days", row.planned.slack_days},
                {"critical", row.planned.critical},
                {"skipped", row.planned.skipped},
                {"held_by", word(row.planned.held_by)},
                {"held_by_ids", row.planned.held_by_ids},
                {"after", row.activity.after},
                {"start_range", range_json(row.range.start)},
                {"finish_range", range_json(row.range.finish)},
                {"happens_share", row.range.happens_share}};
    if (row.job) {
      one["job"] = book.jobs[*row.job].id.text;
      if (book.jobs[*row.job].wanted_on) one["wanted_on"] = book.jobs[*row.job].wanted_on->text();
    }
    if (row.material) one["material"] = book.materials[*row.material].id.text;
    rows.push_back(std::move(one));
  }
  Json reasons = Json::array();
  for (const auto& one : answer.reasons) reasons.push_back({{"text", one.text}, {"source", one.source}});
  Json out = {{"activities", std::move(rows)},
              {"finish", answer.finish.text()},
              {"finish_range", range_json(answer.finish_range)},
              {"away", stretches_json(answer.away)},
              {"dry", stretches_json(answer.dry)},
              {"next", answer.next},
              {"reasons", std::move(reasons)}};
  if (answer.bundling) {
    Json visits = Json::array();
    for (const auto& visit : answer.bundling->visits)
      visits.push_back({{"party", visit.firm},
                        {"materials", visit.removals},
                        {"cost", visit.cost},
                        {"begin_day", visit.begin_day},
                        {"end_day", visit.end_day}});
    out["bundling"] = {{"visits", std::move(visits)},
                       {"cost", answer.bundling->cost},
                       {"cost_each_alone", answer.bundling->cost_each_alone},
                       {"exact", answer.bundling->exact}};
  }
  Json calendar = Json::array();
  for (const auto& entry : answer.calendar)
    calendar.push_back({{"key", entry.key},
                        {"summary", entry.summary},
                        {"first", entry.first.text()},
                        {"end", entry.end.text()},
                        {"remind_days_before", entry.remind_days_before}});
  out["calendar"] = std::move(calendar);
  return out;
}

std::string timeline_text(const TimelineAnswer& answer) { return timeline::gantt_text(gantt_rows(answer)); }

std::string timeline_svg(const check::House& house, const TimelineAnswer& answer) {
  return timeline::gantt_svg(gantt_rows(answer), house.book().about.title);
}

std::string timeline_ics(const TimelineAnswer& answer, const std::string& book_key, const std::string& written_at) {
  std::string stamp = written_at;
  std::erase_if(stamp, [](char c) { return c == '-' || c == ':'; });
  return timeline::icalendar(answer.calendar, {.book_key = book_key, .written_at = stamp});
}

}  // namespace lathbook::service
