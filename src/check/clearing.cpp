#include "check/clearing.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "clearance/certificate.h"
#include "law/classify.h"

namespace lathbook::check {
namespace {

/// A removal takes longer than any limit of minutes lets work go unlicensed.
constexpr double kDayOfWorkMin = 8 * 60;

/// Taking the whole of a material out, at one of the tasks that do.
law::WorkQuestion removal(const House& house, std::size_t material, const catalogue::Task& task) {
  const auto& known = house.known(material);
  const auto& item = house.book().materials[material];
  return {.family = *known.family,
          .task = task,
          .damage = house.damage_of(item),
          .fibres = known.belief.found_fibres,
          .minutes_longest_person = kDayOfWorkMin,
          .minutes_all_people = kDayOfWorkMin,
          .by = book::Who::kLicensedRemover,
          .kept_whole = std::nullopt,
          .released = false,
          .area_m2 = house.area_of(item),
          .region = house.book().about.region};
}

template <class Ids, class Id>
bool names(const Ids& ids, const Id& id) {
  return std::find(ids.begin(), ids.end(), id) != ids.end();
}

/// Whether a certificate is for a room: by name, or for a material that lies in it.
bool is_for(const book::Book& book, const book::Certificate& certificate, const book::RoomId& room) {
  if (names(certificate.rooms, room)) return true;
  return std::ranges::any_of(book.materials, [&](const book::Material& material) {
    return material.place.room == room && names(certificate.materials, material.id);
  });
}

/// What is wrong with the certificates that `covers` lets count, issued on or after `since`; empty when one of them
/// stands. `missing` says what to ask for when there is none.
template <class Covers>
std::optional<NotCleared> uncertified(const book::Book& book, const book::Date& since, const Covers& covers,
                                      const catalogue::ClearanceRules& rules, NotCleared missing) {
  missing.why = "no certificate in this book clears the room";
  for (const auto& certificate : book.certificates) {
    if (!covers(certificate)) continue;
    if (certificate.issued_on && *certificate.issued_on < since) continue;  // of some earlier work
    missing.certificate = certificate.id;
    const auto held = checked(book, certificate, rules);
    if (held.ok() && held->pass) return std::nullopt;
    const auto [what, ask] = held.ok() ? std::pair(held->findings.front().what, held->findings.front().ask)
                                       : std::pair(std::string("Its figures cannot be."),
                                                   std::string("Ask the analyst for the counting sheets."));
    missing.why = fmt::format("certificate {} does not stand up: {}", certificate.id.text, what);
    missing.ask = fmt::format("{} See all that is wrong with it.", ask);
    missing.command = fmt::format("lathbook check {}", certificate.id.text);
  }
  return missing;
}

/// What is missing before anybody works again where an event disturbed something; empty when nothing is.
std::optional<NotCleared> after_event(const House& house, const book::Event& event, const book::RoomId& room) {
  const auto& book = house.book();
  const auto day = book::Date::parse(event.started_at.substr(0, 10));
  if (!day) return std::nullopt;
  for (const auto& id : event.materials) {
    const auto at = house.find_material(id);
    if (!at) continue;
    const auto& known = house.known(*at);
    const auto* clearance = clearance_after(house, *at);
    if (!known.family->suspect || book::releases(known.belief.standing) || clearance == nullptr ||
        !licensed_to_remove(house, *at)) {
      continue;
    }
    NotCleared missing;
    missing.ask = fmt::format("Keep the room shut, have a licensed remover clean it, ask for {}, and write it down.",
                              clearance->rules.certificate);
    missing.command = fmt::format("lathbook add certificate rooms={} …", room.text);
    auto one = uncertified(
        book, *day, [&](const book::Certificate& certificate) { return is_for(book, certificate, room); },
        clearance->rules, std::move(missing));
    if (!one) return std::nullopt;
    one->why = fmt::format("{} ({}) was disturbed there on {} ({}), and {}", id.text, book.materials[*at].name,
                           day->text(), event.id.text, one->why);
    one->room = room;
    one->material = *at;
    one->event = event.id;
    return one;
  }
  return std::nullopt;
}

}  // namespace

law::Outcome removal_outcome(const House& house, std::size_t material) {
  std::optional<law::Outcome> gentlest;
  for (const auto& task : house.knowledge().catalogue.tasks) {
    if (task.kind != catalogue::TaskKind::kRemoval) continue;
    const auto work = law::classify(house.knowledge().rules, removal(house, material, task));
    if (!gentlest || work.outcome < *gentlest) gentlest = work.outcome;
  }
  return gentlest.value_or(law::Outcome::kOutside);
}

bool licensed_to_remove(const House& house, std::size_t material) {
  return removal_outcome(house, material) == law::Outcome::kLicensed;
}

const law::Clearance* clearance_after(const House& house, std::size_t material) {
  const auto& rules = house.knowledge().rules;
  const auto& tasks = house.knowledge().catalogue.tasks;
  const auto task = std::find_if(tasks.begin(), tasks.end(),
                                 [](const catalogue::Task& one) { return one.kind == catalogue::TaskKind::kRemoval; });
  if (task == tasks.end()) return nullptr;
  const auto question = removal(house, material, *task);
  const auto found = std::find_if(rules.clearance.begin(), rules.clearance.end(),
                                  [&](const law::Clearance& one) { return law::matches(rules, one.when, question); });
  return found == rules.clearance.end() ? nullptr : &*found;
}

const law::Clearance* clearance_of(const House& house, const book::Certificate& certificate) {
  const auto& rules = house.knowledge().rules;
  const law::Clearance* strictest = nullptr;
  for (const auto& id : certificate.materials) {
    const auto material = house.find_material(id);
    const auto* one = material ? clearance_after(house, *material) : nullptr;
    if (one != nullptr && (strictest == nullptr || one < strictest)) strictest = one;
  }
  if (strictest != nullptr) return strictest;
  return rules.clearance.empty() ? nullptr : &rules.clearance.front();
}

std::vector<const book::Action*> removals_of(const book::Book& book, const book::Certificate& certificate) {
  std::vector<const book::Action*> found;
  for (const auto& action : book.actions) {
    const auto begun = action.started_on ? action.started_on : action.done_on;
    if (action.kind != book::ActionKind::kRemove || !begun) continue;
    const auto* material = book::find(book.materials, action.material);
    const bool in_its_rooms = material != nullptr && names(certificate.rooms, material->place.room) &&
                              (!certificate.issued_on || !(*certificate.issued_on < *begun));
    if (names(certificate.materials, action.material) || in_its_rooms) found.push_back(&action);
  }
  return found;
}

std::optional<book::Date> work_finished_on(const book::Book& book, const book::Certificate& certificate) {
  auto latest = certificate.work_finished_on;
  for (const auto* removal : removals_of(book, certificate)) {
    if (removal->done_on && (!latest || *latest < *removal->done_on)) latest = removal->done_on;
  }
  return latest;
}

std::optional<bool> independent(const book::Book& book, const book::Certificate& certificate) {
  std::optional<bool> known;
  for (const auto* removal : removals_of(book, certificate)) {
    if (removal->by.empty()) continue;
    if (removal->by == certificate.party) return false;
    known = true;
  }
  return known;
}

reason::Result<clearance::Clearance> checked(const book::Book& book, const book::Certificate& certificate,
                                             const catalogue::ClearanceRules& rules) {
  auto dated = certificate;
  dated.work_finished_on = work_finished_on(book, certificate);
  return clearance::check(dated, book::find(book.parties, certificate.party), independent(book, certificate), rules);
}

std::vector<NotCleared> rooms_not_cleared(const House& house) {
  std::vector<NotCleared> found;
  const auto& book = house.book();
  for (const auto& action : book.actions) {
    if (action.kind != book::ActionKind::kRemove || (!action.started_on && !action.done_on)) continue;
    const auto at = house.find_material(action.material);
    if (!at) continue;
    const auto& known = house.known(*at);
    if (!known.family->suspect || book::releases(known.belief.standing) || !licensed_to_remove(house, *at)) continue;
    const auto& material = book.materials[*at];
    const auto* clearance = clearance_after(house, *at);
    std::optional<NotCleared> one;
    if (action.done_on) {
      if (clearance == nullptr) continue;  // this country asks for no certificate after such a removal
      NotCleared missing;
      missing.ask = fmt::format("Ask for {}, and write it down.", clearance->rules.certificate);
      missing.command = fmt::format("lathbook add certificate materials={} …", material.id.text);
      one = uncertified(
          book, *action.done_on,
          [&](const book::Certificate& certificate) {
            return names(certificate.materials, material.id) || names(certificate.rooms, material.place.room);
          },
          clearance->rules, std::move(missing));
      if (one) {
        one->why = fmt::format("{} ({}) was taken out on {}, and {}", material.id.text, material.name,
                               action.done_on->text(), one->why);
      }
    } else {
      one = NotCleared{};
      one->under_way = true;
      one->why = fmt::format("the removal of {} ({}) is under way since {}", material.id.text, material.name,
                             action.started_on->text());
      one->ask = "Wait for it to end, and for the certificate that clears the room.";
    }
    if (!one) continue;
    one->room = material.place.room;
    one->material = *at;
    one->action = action.id;
    found.push_back(std::move(*one));
  }
  for (const auto& event : book.events) {
    if (event.imagined) continue;
    std::vector<book::RoomId> rooms;
    for (const auto& cut : event.cuts) {
      if (names(rooms, cut.place.room)) continue;
      rooms.push_back(cut.place.room);
      if (auto one = after_event(house, event, cut.place.room)) found.push_back(std::move(*one));
    }
  }
  return found;
}

}  // namespace lathbook::check
