// One person's record for their doctor: what is asked to be noted first, then what happened, the estimates, and what is
// not known. One paper a person, so that nobody's health is in another's notes.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "book/words.h"
#include "catalogue/exposure_record.h"
#include "dose/words.h"
#include "papers/papers.h"

namespace lathbook::papers {
namespace {

constexpr std::size_t kMattersShown = 5;

std::string span_text(double from_min, double to_min) { return fmt::format("{:g} to {:g} min", from_min, to_min); }

std::string range_text(const event::Band& band) { return fmt::format("{} to {}", rough(band.low), rough(band.high)); }

std::string name_of(const Source& source, const book::PersonId& id) {
  const auto* person = book::find(source.house.book().people, id);
  return person == nullptr || source.without.contains(Section::kPeople) ? id.text : person->name;
}

bool was_there(const book::Event& event, const book::PersonId& person) {
  return std::any_of(event.stays.begin(), event.stays.end(),
                     [&](const book::Stay& stay) { return stay.person == person; });
}

std::size_t place_of(const event::Answer& answer, const book::PersonId& person) {
  const auto at = std::find_if(answer.people.begin(), answer.people.end(),
                               [&](const event::PersonAnswer& one) { return one.id == person.text; });
  return static_cast<std::size_t>(at - answer.people.begin());
}

/// What the laboratory found in what was disturbed, or that nobody looked.
std::string types_text(const Source& source, const book::Event& event) {
  std::set<book::Fibre> found;
  bool open = event.materials.empty();
  for (const auto& id : event.materials) {
    const auto index = source.house.find_material(id);
    if (!index) continue;
    const auto& fibres = source.house.known(*index).belief.found_fibres;
    found.insert(fibres.begin(), fibres.end());
    open = open || fibres.empty();
  }
  auto text = fibres_text({found.begin(), found.end()});
  if (text.empty()) return "not known: no laboratory has found a type; what was disturbed counts as asbestos";
  text += ", found by a laboratory";
  if (open) text += "; not all that was disturbed has been tested";
  return text;
}

/// The authority's list, each line filled in.
void to_note(Sheet& sheet, const Source& source, const Happened& happened, const book::PersonId& person) {
  const auto& event = source.house.book().events[happened.event];
  double there = 0;
  double at_the_work = 0;
  for (const auto& stay : event.stays) {
    if (stay.person != person) continue;
    there += stay.to_min - stay.from_min;
    if (stay.at_the_work) at_the_work += stay.to_min - stay.from_min;
  }
  double work = 0;
  for (const auto& cut : event.cuts) work += cut.minutes;
  std::string level = "no estimate could be made: see below";
  if (happened.came_to.ok()) {
    const auto& answer = happened.came_to->answer;
    const auto& one = answer.people.at(place_of(answer, person));
    level = fmt::format(
        "estimated, nobody measured: worst ten minutes {} fibres per ml of air, worst four hours {}; breathed in all "
        "{} f/ml·h (nine in ten draws)",
        range_text(one.ten_minutes), range_text(one.four_hours), range_text(one.breathed_f_per_ml_h));
  }
  std::vector<Cells> rows;
  for (const auto& line : catalogue::shipped_exposure_record().note) {
    std::string filled;
    if (line.id == "when") {
      filled = event.started_at;
      std::replace(filled.begin(), filled.end(), 'T', ' ');
    }
    if (line.id == "how-long") {
      filled = fmt::format("{:g} minutes in the house's air while it lasted", there);
      if (at_the_work > 0) filled += fmt::format(", {:g} of them within arm's reach of the work", at_the_work);
      if (work > 0) filled += fmt::format("; the work itself took {:g} minutes", work);
    }
    if (line.id == "which-type") filled = types_text(source, event);
    if (line.id == "how-much") filled = level;
    rows.push_back({line.what, filled});
  }
  sheet.subheading("What to ask a doctor to note");
  sheet.table({{"", 0.7}, {"In this case", 5}}, rows);
}

void what_happened(Sheet& sheet, const Source& source, const book::Event& event, const book::PersonId& person) {
  const auto& house = source.house;
  const auto& book = house.book();
  const auto& catalogue = house.knowledge().catalogue;
  sheet.subheading("What was done");
  std::vector<Cells> rows;
  for (const auto& id : event.materials) {
    const auto index = house.find_material(id);
    if (!index) continue;
    rows.push_back({id.text, fmt::format("{}\n{}", book.materials[*index].name, house.known(*index).family->name),
                    first_upper(standing_text(house, *index)), tested_text(book, id)});
  }
  if (!rows.empty()) sheet.table({{"", 0.4}, {"Material", 2.4}, {"Standing", 1.4}, {"Tests", 2}}, rows);
  rows.clear();
  for (const auto& cut : event.cuts) {
    const auto* task = catalogue.find_task(cut.task);
    std::string controls;
    for (const auto& id : cut.controls) {
      const auto* control = catalogue.find_control(id);
      controls += (controls.empty() ? "" : ", ") + (control == nullptr ? id : control->name);
    }
    std::string what = task == nullptr ? cut.task : task->name;
    if (cut.count > 1) what += fmt::format(", {} times", cut.count);
    rows.push_back({first_upper(what), place_text(book, cut.place), fmt::format("{:g} min", cut.minutes),
                    controls.empty() ? "nothing written down" : controls});
  }
  for (const auto& clean : event.cleaning) {
    const auto* task = catalogue.find_task(clean.task);
    std::string what = fmt::format("Clearing up: {}", task == nullptr ? clean.task : task->name);
    // Others stay out of this person's paper.
    if (clean.by == person) what += fmt::format(", by {}", name_of(source, person));
    rows.push_back({what, event.cuts.empty() ? "" : room_name(book, event.cuts.front().place.room),
                    span_text(clean.from_min, clean.to_min), ""});
  }
  if (!rows.empty())
    sheet.table({{"Task", 2.2}, {"Where", 1.8}, {"How long, or when", 1.2}, {"Dust kept down by", 1.5}}, rows);
  rows.clear();
  for (const auto& stay : event.stays) {
    if (stay.person != person) continue;
    rows.push_back({span_text(stay.from_min, stay.to_min), room_name(book, stay.room),
                    stay.at_the_work ? "within arm's reach of the work" : "elsewhere in the room"});
  }
  for (const auto& mask : event.masks) {
    if (mask.person != person) continue;
    const auto* respirator = catalogue.find_respirator(mask.respirator);
    std::string worn = mask.share_worn ? fmt::format("on {:.0f} % of that time", *mask.share_worn * 100)
                                       : "how much of that time it was on is not remembered";
    if (mask.beard) worn += "; with a beard";
    rows.push_back({span_text(mask.from_min, mask.to_min),
                    fmt::format("mask: {}", respirator == nullptr ? mask.respirator : respirator->name), worn});
  }
  sheet.table({{"From the start", 1}, {"Where, and which mask", 2}, {"How", 2.4}}, rows);
  if (!event.notes.empty()) sheet.paragraph(fmt::format("Noted at the time: {}", event.notes));
}

void estimates(Sheet& sheet, const Source& source, const Happened& happened, const book::PersonId& person) {
  const auto& book = source.house.book();
  const auto& event = book.events[happened.event];
  sheet.subheading("Estimates");
  if (!happened.came_to.ok()) {
    sheet.paragraph(
        "None could be made, because the book does not say enough of what happened. That is no sign that little was "
        "breathed. What is missing:",
        Look::kStrong);
    for (const auto& fault : happened.came_to.faults()) sheet.item("–", fault.text());
    return;
  }
  const auto& answer = happened.came_to->answer;
  const auto& fibre = happened.came_to->taken.scene.fibre;
  const auto place = place_of(answer, person);
  const auto& one = answer.people.at(place);
  const auto& risk = happened.came_to->risks.at(place);
  const auto row = [](std::string what, const event::Band& band, std::string unit) {
    return Cells{std::move(what), rough(band.low), rough(band.middle), rough(band.high), std::move(unit)};
  };
  std::vector<Cells> rows{row("Air round the person, worst ten minutes", one.ten_minutes, "f/ml"),
                          row("Air round the person, worst four hours", one.four_hours, "f/ml")};
  if (one.eight_hours) rows.push_back(row("Air round the person, worst eight hours", *one.eight_hours, "f/ml"));
  rows.push_back(row("Breathed in all, with the mask as worn", one.breathed_f_per_ml_h, "f/ml·h"));
  const bool masked = one.breathed_f_per_ml_h.middle != one.without_mask_f_per_ml_h.middle;
  if (masked) rows.push_back(row("Had no mask been worn", one.without_mask_f_per_ml_h, "f/ml·h"));
  rows.push_back(row("Breathed, in working years of 1,920 h", one.working_years, "f/ml·yr"));
  rows.push_back(row("Breathed, in whole years of 8,760 h", one.continuous_years, "f/ml·yr"));
  sheet.table({{"Dose", 3}, {"Low (5 %)", 1}, {"Middle", 1}, {"High (95 %)", 1}, {"", 0.8}}, rows);
  const auto& rules = source.house.knowledge().rules;
  std::vector<std::string> limits;
  for (const auto& limit : rules.air_limits)
    limits.push_back(fmt::format("{:g} f/ml over {}", limit.f_per_ml, limit.name));
  sheet.paragraph(
      fmt::format(
          "{} draws of what is not known; the percentiles are good to {:.0f} %. Fibres taken as {}. For people at "
          "work in {} the limit{} {}; {} where harm begins.",
          answer.draws, std::max(1.0, 100 * answer.error),
          fibre ? std::string(book::word(*fibre)) : "mixed, sized as amosite", rules.name,
          limits.size() == 1 ? " is" : "s are", fmt::join(limits, " and "),
          limits.size() == 1 ? "it does not mark" : "neither marks"),
      Look::kSmall);
  rows.clear();
  for (const auto& model : risk.models) {
    rows.push_back(
        {std::string(dose::name_of(model.model)), rough(model.low.total_per_million),
         rough(model.middle.total_per_million), rough(model.high.total_per_million),
         fmt::format("{} / {}", rough(model.middle.mesothelioma_per_million), rough(model.middle.lung_per_million))});
  }
  sheet.table({{"Added deaths in a million such people, by model", 3},
               {"Low", 0.8},
               {"Middle", 0.8},
               {"High", 0.8},
               {"Middle: mesothelioma / lung cancer", 1.7}},
              rows);
  sheet.paragraph(
      fmt::format("Over all models: {}, {}. Each model is shown apart because they disagree; no one of them "
                  "is the truth for one person, and none of these figures says what will happen.",
                  dose::range_in_words(risk.low_per_million, risk.high_per_million),
                  risk.age_known ? fmt::format("for somebody of {} at the time", risk.age)
                                 : fmt::format("for somebody of {}, as the age is not written down", risk.age)));

  sheet.subheading("What is not known");
  for (std::size_t i = 0; i < std::min(kMattersShown, answer.matters.size()); ++i) {
    auto what = answer.matters[i].unknown.what;
    // A sentence about somebody else belongs to their paper.
    const bool others = std::any_of(book.people.begin(), book.people.end(), [&](const book::Person& other) {
      return other.id != person && answer.matters[i].unknown.id.find(":" + other.id.text) != std::string::npos;
    });
    if (others) continue;
    if (!source.without.contains(Section::kPeople)) what = event::with_names(std::move(what), book);
    sheet.item("–", first_upper(what) + ".");
  }
  for (const auto& event_mask : event.masks) {
    if (event_mask.person == person && !event_mask.share_worn)
      sheet.item("–", "Of the time the mask was on, anything from none to all was drawn.");
  }
  sheet.item("–", "How much dust such work lets go is judgement, held against what was measured at like tasks.");
}

/// What nobody's paper may lack, event or no.
void advice(Sheet& sheet, const Source& source) {
  sheet.heading("What is advised");
  const auto& catalogue = source.house.knowledge().catalogue;
  const auto cited = [&](const catalogue::Backing& backing) {
    const auto* found = catalogue.find_source(backing.source);
    if (found == nullptr || found->publisher.empty()) return std::string();
    return fmt::format(" ({}{}: {})", found->publisher, found->year ? fmt::format(", {}", *found->year) : "",
                       found->title);
  };
  const auto& record = catalogue::shipped_exposure_record();
  std::string list;
  for (const auto& line : record.note) list += (list.empty() ? "" : ", ") + line.text;
  sheet.item("–", fmt::format("To be noted by a doctor, on request: {}.", list));
  for (const auto& line : source.house.knowledge().rules.exposure) sheet.item("–", line.text + cited(line.backing));
  for (const auto& line : record.advice) sheet.item("–", line.text + cited(line.backing));
}

Files one_record(const Source& source, const book::PersonId& person) {
  const auto& book = source.house.book();
  const auto name = name_of(source, person);
  auto sheet = sheet_for(source, fmt::format("Exposure record: {}", name),
                         "These are estimates, not measurements and not medical advice.");
  sheet.title(fmt::format("Exposure record: {}", name));
  sheet.paragraph(
      "For the person named and, if they wish, their doctor. What happened is as the house's book has it; how much was "
      "breathed is an estimate with a wide range.");
  std::size_t events = 0;
  for (const auto& happened : source.happened) {
    const auto& event = book.events[happened.event];
    if (!was_there(event, person)) continue;
    ++events;
    sheet.heading(fmt::format("{} {}", event.id.text, event.title));
    to_note(sheet, source, happened, person);
    what_happened(sheet, source, event, person);
    estimates(sheet, source, happened, person);
  }
  if (events > 1)
    sheet.paragraph(
        "The events are not added up: the highs of each are unlikely to come together. Their middles may be added for "
        "a "
        "rough sum.");
  sheet.heading("Why the models disagree");
  for (const auto& one : dose::why_models_disagree()) sheet.item("–", one.text);
  advice(sheet, source);
  sheet.lines_to_fill({{"Given to", 2}, {"Date", 1}, {"Signature", 2}});
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{fmt::format("exposure-{}.pdf", person.text), std::move(*pdf)}};
}

}  // namespace

Files exposure_records(const Source& source, const std::optional<book::PersonId>& only) {
  std::vector<File> files;
  if (source.without.contains(Section::kHealth)) return files;
  const auto& book = source.house.book();
  for (const auto& person : book.people) {
    if (only && person.id != *only) continue;
    const bool in_any = std::any_of(source.happened.begin(), source.happened.end(), [&](const Happened& happened) {
      return was_there(book.events[happened.event], person.id);
    });
    if (!in_any) continue;
    auto made = one_record(source, person.id);
    if (!made.ok()) return made;
    files.push_back(std::move(made->front()));
  }
  return files;
}

}  // namespace lathbook::papers
