#include "event/in_book.h"

#include <algorithm>
#include <limits>
#include <stdexcept>

namespace lathbook::event {
namespace {

constexpr int kAgeUnknown = 30;
constexpr int kOldest = 100;
constexpr double kBriefYears = 0.01;
constexpr double kWorkingYearHours = 1920;

PersonRisk risk_of(const PersonAnswer& dose, const book::Person& person, std::optional<book::Fibre> fibre, int year,
                   const catalogue::RiskData& data) {
  PersonRisk out;
  out.age_known = person.birth_year.has_value();
  out.age = std::clamp(person.birth_year ? year - *person.birth_year : kAgeUnknown, 0, kOldest);
  dose::Question question;
  question.fibre = fibre;
  const bool has_slopes = !fibre || *fibre == book::Fibre::kChrysotile || *fibre == book::Fibre::kCrocidolite;
  if (!has_slopes) question.fibre = book::Fibre::kAmosite;
  question.alive_at = out.age;
  if (person.sex) question.sex = *person.sex == "female" ? catalogue::Sex::kFemale : catalogue::Sex::kMale;
  question.smoker = person.smoker;
  const auto at = [&](double f_per_ml_h) {
    const double age = out.age;
    question.exposures = {{age, age + kBriefYears, f_per_ml_h / (kWorkingYearHours * kBriefYears), kWorkingYearHours}};
    auto all = dose::all_models(question, data);
    if (!all.ok()) throw std::logic_error("a dose the models do not take: " + all.faults().front().text());
    return std::move(*all);
  };
  auto low = at(dose.breathed_f_per_ml_h.low);
  auto middle = at(dose.breathed_f_per_ml_h.middle);
  auto high = at(dose.breathed_f_per_ml_h.high);
  out.low_per_million = std::numeric_limits<double>::max();
  for (std::size_t m = 0; m < middle.size(); ++m) {
    out.low_per_million = std::min(out.low_per_million, low[m].total_per_million);
    out.high_per_million = std::max(out.high_per_million, high[m].total_per_million);
    out.models.push_back({static_cast<dose::Model>(m), std::move(low[m]), std::move(middle[m]), std::move(high[m])});
  }
  return out;
}

}  // namespace

reason::Result<InBook> in_book(const book::Book& book, const book::Event& event, const Tables& tables,
                               const Settings& settings) {
  auto taken = from_book(book, event, tables.air, tables.catalogue);
  if (!taken.ok()) return taken.faults();
  auto answer = uncertain(taken->scene, tables.air, tables.catalogue, settings);
  if (!answer.ok()) return answer.faults();
  InBook out{std::move(*taken), std::move(*answer), {}};
  int year = 0;
  if (const auto day = reason::Date::parse(std::string_view(event.started_at).substr(0, 10))) year = day->year();
  for (const auto& one : out.answer.people) {
    const auto& person = *book::find(book.people, book::PersonId{one.id});
    out.risks.push_back(risk_of(one, person, out.taken.scene.fibre, year, tables.risk));
  }
  return out;
}

std::string with_names(std::string what, const book::Book& book) {
  for (const auto& person : book.people) {
    const auto at = what.find(person.id.text);
    if (at == std::string::npos) continue;
    const auto after = at + person.id.text.size();
    if (after == what.size() || what[after] == ' ') what.replace(at, person.id.text.size(), person.name);
  }
  return what;
}

}  // namespace lathbook::event
