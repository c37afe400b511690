// check
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>
#include <set>

#include "book/money.h"
#include "book/words.h"
#include "cli/cited.h"
#include "cli/commands.h"
#include "cli/open_house.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/answers.h"
#include "service/certificate_answer.h"

namespace lathbook::cli {
namespace {

using reason::FaultKind;
using service::Json;

std::string first_upper(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

std::string day_text(double days) { return days == 1 ? "1 day" : fmt::format("{:g} days", days); }

std::string touch_place(const check::Touched& touched) {
  std::string text;
  if (touched.side == fabric::Side::kVoid) text = "in the void behind";
  if (touched.side == fabric::Side::kFar) text = "on the far side";
  if (touched.certainty == fabric::Certainty::kPossible) {
    text += text.empty() ? "perhaps, " : ", perhaps, ";
    text += touched.distance_m < 0.005 ? "if it goes deeper than drawn"
                                       : fmt::format("{:.2f} m away as drawn", touched.distance_m);
  }
  return text;
}

std::string touch_text(const check::House& house, const check::Touched& touched) {
  const auto& material = house.book().materials[touched.material];
  const auto& known = house.known(touched.material);
  std::string text = material.name;
  const auto place = touch_place(touched);
  if (!place.empty()) text += fmt::format(" ({})", place);
  if (!known.family->suspect) return text + ": no suspect";
  text += fmt::format(": {}", book::word(known.belief.standing));
  if (!touched.released && known.belief.standing != book::Standing::kIdentified) {
    text += "; belief " + service::percent_with_range(known.belief);
  }
  if (touched.work) text += "; " + law::as_work(*touched.work);
  return text;
}

std::string way_text(const check::House& house, const check::WayOn& way) {
  std::vector<std::string> notes;
  if (way.cost)
    notes.push_back(*way.cost == 0 ? "no extra cost"
                                   : fmt::format("{} more", book::money_text(*way.cost, house.book().about.currency)));
  if (way.days_from) {
    notes.push_back(way.days_to && *way.days_to != *way.days_from
                        ? fmt::format("{:g} to {}", *way.days_from, day_text(*way.days_to))
                        : fmt::format("about {}", day_text(*way.days_from)));
  }
  if (way.chance_clear) notes.push_back(fmt::format("clear: {}", service::percent(*way.chance_clear)));
  if (!way.cost) notes.push_back("cost not written down");
  return with_command(way.text, way.command) + fmt::format(" [{}]", fmt::join(notes, "; "));
}

/// Who may do it: the class first, then what is said of the person who wants to.
std::string who_text(const law::RulePack& rules, const law::WorkClass& work, book::Who by) {
  const auto& words = rules.class_words.at(static_cast<std::size_t>(work.outcome));
  std::string text = words.done_by;
  if (work.may == law::May::kWithPrecautions && by == book::Who::kHouseholder)
    text = fmt::format("You may, with the precautions below; or {}.", words.hands);
  if (work.permission != nullptr) text += " " + work.permission->reason;
  return text;
}

std::string one_job(const check::House& house, const check::Answer& answer, bool colour) {
  const auto& job = *book::find(house.book().jobs, answer.job);
  Page page(colour);
  page.title(fmt::format("{}  {}", job.id.text, job.title));
  page.paragraph(first_upper(check::verdict_words(answer.verdict, job.by)) + ".", 0, Style::kStrong);
  page.paragraph(answer.sentence);

  if (!answer.touched.empty() || !answer.unwritten.empty()) {
    page.heading("What it meets");
    for (const auto& touched : answer.touched)
      page.entry(house.book().materials[touched.material].id.text, touch_text(house, touched), 5);
    for (const auto& one : answer.unwritten)
      page.entry("?", fmt::format("{} of {}: nothing is written down", one.face.text(), one.room.text), 5);
  }
  if (answer.work) {
    page.heading("What the law calls it");
    page.paragraph(fmt::format("{}.{}", first_upper(law::as_work(*answer.work)),
                               answer.work->rule == nullptr ? "" : " " + answer.work->rule->reason),
                   2);
    for (const auto& duty : answer.work->duties) page.item("–", duty.text);
  }
  page.heading("Who may do it");
  const bool settled = answer.verdict == check::Verdict::kMayStart;
  page.paragraph(answer.work ? who_text(house.knowledge().rules, *answer.work, job.by)
                 : settled ? "Whoever you like: nothing it meets counts as asbestos. The rules of any trade still hold."
                           : "Nobody yet: what stands above has to be settled first, and it decides who may.",
                 2);

  if (!answer.precautions.empty()) {
    page.heading("Precautions, in this order");
    int number = 0;
    for (const auto& step : answer.precautions) page.item(fmt::format("{:>2}.", ++number), step, 1);
  }
  if (!answer.ways.empty()) {
    page.heading(answer.verdict == check::Verdict::kWithPrecautions ? "Other ways" : "Ways on, cheapest first");
    int number = 0;
    for (const auto& way : answer.ways) page.item(fmt::format("{:>2}.", ++number), way_text(house, way), 1);
  }
  cited(page, answer.reasons);
  page.heading("Take care");
  for (const auto& caution : answer.cautions) page.item("–", caution);
  return page.text();
}

std::string all_jobs(const check::House& house, const std::vector<check::Answer>& answers, bool colour) {
  Page page(colour);
  page.title(fmt::format("Jobs: {}", house.book().about.title));
  if (answers.empty()) page.paragraph("No job is written down yet. lathbook add job title=… and then its cuts.");
  for (const auto& answer : answers) {
    const auto& job = *book::find(house.book().jobs, answer.job);
    page.blank();
    page.entry(job.id.text, job.title + (job.wanted_on ? fmt::format("  (wanted {})", job.wanted_on->text()) : ""), 5,
               0, Style::kStrong);
    page.paragraph(first_upper(check::verdict_words(answer.verdict, job.by)) + ". " + answer.sentence, 5);
    if (!answer.ways.empty() && answer.verdict != check::Verdict::kWithPrecautions)
      page.item("Next:", way_text(house, answer.ways.front()), 5, Style::kQuiet);
  }
  page.blank().paragraph("lathbook check JOB shows one with its reasons. Local codes and licensed practice come first.",
                         0, Style::kQuiet);
  return page.text();
}

std::string one_certificate(const book::Certificate& certificate, const clearance::Clearance& answer, bool colour) {
  Page page(colour);
  page.title(fmt::format("Certificate {}", certificate.id.text));
  page.paragraph(answer.pass ? "Its figures stand up." : "Do not go back in on this paper yet.", 0, Style::kStrong);
  for (const auto& one : answer.findings) {
    page.blank();
    page.entry(one.where, one.what, 14, 0);
    page.entry("means", one.means, 14, 0);
    page.entry("ask", one.ask, 14, 0);
  }
  page.heading("Samples");
  int number = 0;
  for (const auto& one : answer.counts) {
    page.item(fmt::format("{:>2}.", ++number),
              fmt::format("{} f/ml; another laboratory might say {:.3f} to {:.3f}", one.reported,
                          one.between_laboratories.low, one.between_laboratories.high),
              1);
  }
  cited(page, answer.reasons);
  page.blank().paragraph("This checks the paper's arithmetic, not the room: the analyst's own inspection comes first.",
                         0, Style::kQuiet);
  return page.text();
}

/// 0 = the figures stand up, 12 = not to be gone back into on this paper.
int check_certificate(const check::House& house, const book::Certificate& certificate, const Request& request,
                      const World& world) {
  const auto answer = service::certificate_answer(house, certificate);
  if (!answer.ok()) return fail(world, answer.faults());
  world.out << (request.json ? service::certificate_json(certificate, *answer).dump(2) + "\n"
                             : one_certificate(certificate, *answer, request.use_colour));
  return answer->pass ? 0 : 12;
}

}  // namespace

int run_check(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (words.rest.size() > 1 || !words.fields.empty()) {
    return fail(world, {{"", words.rest.size() > 1 ? words.rest[1] : words.fields[0], "is one word too many",
                         "a job such as J3, or none for all", FaultKind::kUsage}});
  }
  const auto opened = open_house(words);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto& house = opened->house;
  const auto& book = house.book();
  if (!words.rest.empty()) {
    const auto* certificate = book::find(book.certificates, book::CertificateId{words.rest.front()});
    if (certificate != nullptr) return check_certificate(house, *certificate, request, world);
  }
  check::Checker checker(house);
  if (words.rest.empty()) {
    std::vector<check::Answer> answers;
    Json list = Json::array();
    for (std::size_t i = 0; i < book.jobs.size(); ++i) {
      if (book.jobs[i].done_on) continue;
      answers.push_back(checker.job(i));
      if (request.json) list.push_back(service::check_json(house, answers.back()));
    }
    world.out << (request.json ? list.dump(2) + "\n" : all_jobs(house, answers, request.use_colour));
    return 0;
  }
  const auto job = std::find_if(book.jobs.begin(), book.jobs.end(),
                                [&](const book::Job& one) { return one.id.text == words.rest.front(); });
  if (job == book.jobs.end()) {
    std::vector<std::string> ids;
    for (const auto& one : book.jobs) ids.push_back(one.id.text);
    return fail(world, {{"", fmt::format("\"{}\"", words.rest.front()), "is not a job of this book",
                         ids.empty() ? "no job is written down yet" : fmt::format("{}", fmt::join(ids, ", ")),
                         FaultKind::kUsage}});
  }
  const auto answer = checker.job(static_cast<std::size_t>(job - book.jobs.begin()), check::Routes::kLookFor);
  world.out << (request.json ? service::check_json(house, answer).dump(2) + "\n"
                             : one_job(house, answer, request.use_colour));
  return check::exit_status(answer.verdict);
}

}  // namespace lathbook::cli
