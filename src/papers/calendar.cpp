#include <fmt/format.h>

#include <algorithm>

#include "book/words.h"
#include "check/check.h"
#include "papers/papers.h"
#include "timeline/icalendar.h"

namespace lathbook::papers {
namespace {

constexpr const char* kCaution = "Local codes and licensed practice come first.";

std::string compact(reason::Date day) {
  auto text = day.text();
  std::erase(text, '-');
  return text;
}

}  // namespace

Files calendar(const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  std::vector<timeline::CalendarEntry> entries;
  const auto add = [&entries](std::string key, std::string summary, std::string description, reason::Date on,
                              std::vector<int> remind) {
    entries.push_back({std::move(key), std::move(summary), std::move(description), on, on, std::move(remind)});
  };
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    const auto& material = book.materials[i];
    if (!source.assessed[i]) continue;
    add("look-again-" + material.id.text, fmt::format("Look again at {} {}", material.id.text, material.name),
        fmt::format("{}. {}. Look for damage, touch nothing. {}", place_text(book, material.place),
                    first_upper(standing_text(house, i)), kCaution),
        source.assessed[i]->next_look.on, {7});
  }
  for (const auto& action : book.actions) {
    if (action.done_on || !action.due_on) continue;
    const auto index = house.find_material(action.material);
    add("action-" + action.id.text,
        fmt::format("Due: {} {} {}", book::word(action.kind), action.material.text,
                    index ? book.materials[*index].name : ""),
        kCaution, *action.due_on, {14, 1});
  }
  for (const auto& sample : book.samples) {
    const bool answered = std::any_of(book.results.begin(), book.results.end(),
                                      [&](const book::LabResult& result) { return result.sample == sample.id; });
    const auto* laboratory = book::find(book.parties, sample.laboratory);
    if (answered || !sample.sent_on || laboratory == nullptr || !laboratory->lead_days) continue;
    add("result-" + sample.id.text, fmt::format("Result of sample {} should be there", sample.id.text),
        fmt::format("Sent {}. Until it is, {} counts as asbestos.", sample.sent_on->text(), sample.material.text),
        sample.sent_on->plus_days(static_cast<int>(*laboratory->lead_days + 0.999)), {0});
  }
  check::Checker checker(house);
  for (std::size_t i = 0; i < book.jobs.size(); ++i) {
    const auto& job = book.jobs[i];
    if (job.done_on || !job.wanted_on) continue;
    const auto answer = checker.job(i);
    auto end = *job.wanted_on;
    if (job.days && *job.days > 1) end = job.wanted_on->plus_days(static_cast<int>(*job.days + 0.999));
    entries.push_back(
        {job.id.text,
         fmt::format("{} {}", job.id.text, job.title),
         fmt::format("{}. {} {}", first_upper(check::verdict_words(answer.verdict, job.by)), answer.sentence, kCaution),
         *job.wanted_on,
         end,
         {7, 1}});
    if (!answer.work) continue;
    for (const auto& duty : answer.work->duties) {
      if (!duty.days_before || *duty.days_before == 0) continue;
      const auto last = job.wanted_on->plus_days(-*duty.days_before);
      add(fmt::format("notice-{}-{}", job.id.text, duty.id),
          fmt::format("{} to give notice for {} {}{}", last < source.today ? "Past the last day" : "Last day",
                      job.id.text, job.title, last < source.today ? " as wanted" : ""),
          fmt::format("{} Given by whoever is to do the work. {}", duty.text, kCaution), last, {7});
    }
  }
  for (const auto& party : book.parties) {
    if (!party.licence_expires_on) continue;
    const auto name = source.without.contains(Section::kPeople) ? party.id.text : party.name;
    add("licence-" + party.id.text, fmt::format("Licence or accreditation of {} runs out", name),
        "Ask for the new one before anything is ordered.", *party.licence_expires_on, {30});
  }
  for (const auto& quote : book.quotes) {
    if (quote.valid_to)
      add("quote-" + quote.id.text, fmt::format("Quote {} runs out", quote.id.text), "", *quote.valid_to, {7});
  }
  if (entries.empty()) return std::vector<File>{};
  std::stable_sort(entries.begin(), entries.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  timeline::CalendarStamp stamp;
  stamp.book_key = book.about.title;
  stamp.written_at = compact(source.today) + "T000000Z";
  return std::vector<File>{{"calendar.ics", timeline::icalendar(entries, stamp)}};
}

}  // namespace lathbook::papers
