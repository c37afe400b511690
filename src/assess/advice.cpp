#include "assess/advice.h"

#include <chrono>
#include <string>

namespace lathbook::assess {
namespace {

using book::ActionKind;
using book::Damage;
using catalogue::Binding;

reason::Date plus_months(reason::Date from, int months) {
  const std::chrono::year_month_day day(from.days());
  const auto month = std::chrono::year_month(day.year(), day.month()) + std::chrono::months(months);
  const std::chrono::year_month_day wanted(month.year(), month.month(), day.day());
  if (wanted.ok()) return reason::Date(std::chrono::sys_days(wanted));
  return reason::Date(std::chrono::sys_days(month / std::chrono::last));
}

Recommendation choose(ActionKind kind, std::string text, std::string source) {
  return {kind, {{std::move(text), std::move(source)}}};
}

}  // namespace

Recommendation recommend(const Situation& situation) {
  const bool firm = situation.family.binding == Binding::kFirmlyBound;
  const auto surface = situation.surface.value_or(situation.family.default_surface);
  const bool open_face = surface == book::Surface::kUnsealed || surface == book::Surface::kBare;

  if (!situation.family.suspect) return choose(ActionKind::kLeave, "It is not a suspect family.", "hsg264");
  if (situation.released)
    return choose(ActionKind::kLeave,
                  "What is known of it releases it: no asbestos was detected, or it is proven later than the ban.",
                  "book");
  if (situation.damage == Damage::kHigh) {
    return choose(ActionKind::kRemove, "It is badly damaged or has left debris: sealing would not hold it.", "hsg227");
  }
  if (situation.job_cuts_it) {
    return choose(ActionKind::kRemove,
                  "A planned job would cut or break it: have it out first, or take the job elsewhere.", "hsg264");
  }
  if (situation.damage == Damage::kMedium && !firm) {
    return choose(ActionKind::kRemove, "It is damaged and lets go of fibre easily.", "judgement");
  }
  if (situation.band == Band::kHigh) {
    return choose(situation.often_knocked ? ActionKind::kRemove : ActionKind::kBoxIn,
                  situation.often_knocked ? "Its score is high and it is often knocked."
                                          : "Its score is high; while nothing touches it, a solid casing keeps it so.",
                  "judgement");
  }
  if (situation.damage == Damage::kMedium) {
    return choose(situation.often_knocked ? ActionKind::kRemove : ActionKind::kSeal,
                  situation.often_knocked ? "It is damaged and goes on being knocked."
                                          : "The damage can be sealed: the material holds its fibre firmly.",
                  "judgement");
  }
  if (situation.often_knocked && !firm) {
    return choose(ActionKind::kBoxIn, "It is sound but often knocked: put something solid before it.", "judgement");
  }
  if (situation.damage == Damage::kLow) {
    return choose(ActionKind::kSeal, "Scratches or broken edges: seal them.", "hsg227");
  }
  if (open_face && !situation.outdoors && situation.band >= Band::kMedium) {
    return choose(ActionKind::kSeal,
                  "Sound, but its face is open and its score is medium: seal it without rubbing down.", "judgement");
  }
  return choose(ActionKind::kLeave, "Sound and not going to be disturbed: leave it, and look again.", "hsg227");
}

NextLook next_look(const LookQuestion& question, reason::Date today) {
  if (!question.last_look)
    return {today, 0, {{"No day is written down on which somebody looked at it.", "hse-register"}}};
  if (question.last_event && *question.last_event >= *question.last_look) {
    return {today, 0, {{"Something has happened to it since the last look: look at once.", "hse-register"}}};
  }
  if (question.band >= Band::kMedium) {
    return {plus_months(*question.last_look, 6), 6, {{"Every 6 months, because its score is medium or high.", "l127"}}};
  }
  if (question.often_knocked)
    return {plus_months(*question.last_look, 6), 6, {{"Every 6 months, because it is often knocked.", "l127"}}};
  return {plus_months(*question.last_look, 12), 12, {{"At least once a year.", "hse-register"}}};
}

}  // namespace lathbook::assess
