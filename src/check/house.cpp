#include "check/house.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <stdexcept>
#include <utility>

#include "fabric/spread.h"
#include "sampling/how_many.h"
#include "sampling/take.h"

namespace lathbook::check {
namespace {

using reason::Faults;
using reason::Result;

/// Nothing was put into a house before houses of this kind of fabric; the years of a material of which nothing is
/// known.
constexpr int kEarliestYear = 1900;

}  // namespace

House::House(const book::Book& book, const Knowledge& knowledge, fabric::Plan plan)
    : book_(&book), knowledge_(knowledge), plan_(std::move(plan)) {}

Result<House> House::build(const book::Book& book, const Knowledge& knowledge) {
  auto plan = fabric::Plan::build(book.storeys, book.rooms, book.openings);
  if (!plan.ok()) return plan.faults();
  House house(book, knowledge, std::move(*plan));
  house.index_ = std::make_unique<fabric::MaterialIndex>(house.plan_, book.materials);
  house.material_by_id_ = book::index_of(book.materials);
  for (const auto& phase : book.phases) house.phase_years_.emplace(phase.id.text, phase.years);
  for (const auto& room : book.rooms) house.room_by_id_.emplace(room.id.text, &room);
  for (const auto& inspection : book.inspections) {
    auto& last = house.last_inspection_[inspection.material.text];
    if (last == nullptr || last->on <= inspection.on) last = &inspection;
  }

  evidence::Question question;
  const auto ban = std::find_if(knowledge.rules.bans.begin(), knowledge.rules.bans.end(),
                                [](const law::Ban& one) { return one.final; });
  question.ban = {house.ban_year(), ban->backing.source};
  std::vector<std::size_t> asked;  // positions of the materials in the question
  Faults faults;
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    const auto& material = book.materials[i];
    Known known;
    known.family = knowledge.catalogue.find_family(material.family);
    if (known.family == nullptr) {
      faults.push_back({material.id.text + " family", material.family, "is not a known family", ""});
      house.known_.push_back(known);
      continue;
    }
    known.suspect = known.family->suspect && !material.removed_on;
    if (known.family->suspect) {
      evidence::Material one;
      one.id = material.id.text;
      one.family = material.family;
      one.years = house.years_of(material);
      one.years_proven = material.proof.has_value();
      one.group = material.group.text;
      one.alike = material.alike;
      one.samples_needed = sampling::how_many_samples(*knowledge.evidence.find(material.family), material.extent,
                                                      knowledge.evidence.miss_at_most);
      question.materials.push_back(std::move(one));
      asked.push_back(i);
    }
    house.known_.push_back(known);
  }
  if (!faults.empty()) return faults;
  for (const auto& group : book.groups) question.groups.push_back({group.id.text, group.parent.text, group.alike});

  // What every sample showed, once: two results of one sample, or two samples of one label (from before these were
  // faults, or in a book saved in part), are no second sample. A find in either is a find.
  std::map<std::string, std::pair<bool, std::vector<book::Fibre>>> shown;
  for (const auto& result : book.results) {
    auto& one = shown[result.sample.text];
    one.first = one.first || result.found;
    one.second.insert(one.second.end(), result.fibres.begin(), result.fibres.end());
  }
  std::map<std::pair<std::string, std::string>, std::size_t> by_label;  // where in question.results it stands
  for (const auto& sample : book.samples) {
    const auto result = shown.find(sample.id.text);
    if (result == shown.end()) continue;
    const auto material = house.find_material(sample.material);
    if (!material || !house.known_[*material].family->suspect) continue;
    const auto& [found, fibres] = result->second;
    const auto [at, fresh] = by_label.try_emplace({sample.material.text, sample.label}, question.results.size());
    if (fresh || sample.label.empty()) {
      question.results.push_back({sample.material.text, found, fibres, 1, std::nullopt, std::nullopt});
    } else {
      auto& one = question.results[at->second];
      one.found = one.found || found;
      one.fibres.insert(one.fibres.end(), fibres.begin(), fibres.end());
    }
  }
  auto answer = evidence::presence(knowledge.evidence, question);
  if (!answer.ok()) return answer.faults();
  for (std::size_t i = 0; i < asked.size(); ++i) house.known_[asked[i]].belief = std::move(answer->materials[i]);
  house.conflicts_ = std::move(answer->conflicts);
  return house;
}

std::optional<std::size_t> House::find_material(const book::MaterialId& id) const {
  const auto found = material_by_id_.find(id.text);
  if (found == material_by_id_.end()) return std::nullopt;
  return found->second;
}

std::optional<book::YearRange> House::years_of(const book::RoomId& room) const {
  const auto found = room_by_id_.find(room.text);
  if (found == room_by_id_.end()) return std::nullopt;
  const auto phase = phase_years_.find(found->second->phase.text);
  if (phase == phase_years_.end()) return std::nullopt;
  return phase->second;
}

book::YearRange House::years_of(const book::Material& material) const {
  if (material.proof) return {material.proof->installed_on.year(), material.proof->installed_on.year()};
  if (material.years) return *material.years;
  if (const auto phase = phase_years_.find(material.phase.text); phase != phase_years_.end()) return phase->second;
  // A room's own years say only when the material can have been put in first: it may be of any later alteration.
  const int ban = ban_year();
  if (const auto room = years_of(material.place.room)) return {room->from, std::max(room->to, ban)};
  return {kEarliestYear, ban};
}

std::optional<double> House::area_of(const book::Material& material) const {
  if (material.extent && material.extent->unit == book::Unit::kM2) return material.extent->amount;
  const auto& place = material.place;
  if (const auto* polygon = std::get_if<book::PolygonShape>(&place.shape))
    return std::abs(fabric::signed_area_m2(polygon->outline));
  if (const auto* span = std::get_if<book::SpanShape>(&place.shape))
    return (span->right_m - span->left_m) * (span->high_m - span->low_m);
  const auto face = plan_.find_face(place.room, place.face);
  if (!std::holds_alternative<book::WholeFace>(place.shape) || !face || place.face.kind == book::FaceKind::kInside)
    return std::nullopt;
  return std::abs(fabric::signed_area_m2(plan_.faces()[*face].outline));
}

bool House::may_take_sample(std::size_t index) const {
  const auto& material = book_->materials[index];
  const auto* family = knowledge_.evidence.find(material.family);
  return family != nullptr && sampling::may_take_oneself(*family, damage_of(material), sampling::overhead(material)) &&
         sampled_by_householder(index).may != law::May::kNo && !not_to_be_sampled_through(index);
}

std::optional<std::size_t> House::not_to_be_sampled_through(std::size_t index) const {
  const auto& behind = book_->materials[index];
  if (behind.layer == 0) return std::nullopt;
  for (std::size_t i = 0; i < book_->materials.size(); ++i) {
    const auto& before = book_->materials[i];
    const bool on_the_way = before.place.room == behind.place.room && before.place.face == behind.place.face &&
                            before.layer < behind.layer && !before.removed_on;
    if (on_the_way && known_[i].suspect && !known_[i].released() && !may_take_sample(i)) return i;
  }
  return std::nullopt;
}

law::WorkClass House::sampled_by_householder(std::size_t index) const {
  const auto& known = known_[index];
  const auto* task = knowledge_.catalogue.find_task("sample");
  if (task == nullptr) throw std::logic_error("the catalogue has no task sample");
  return law::classify(knowledge_.rules, {.family = *known.family,
                                          .task = *task,
                                          .damage = damage_of(book_->materials[index]),
                                          .fibres = known.belief.found_fibres,
                                          .minutes_longest_person = 0,
                                          .minutes_all_people = 0,
                                          .by = book::Who::kHouseholder,
                                          .kept_whole = std::nullopt,
                                          .released = false,
                                          .area_m2 = std::nullopt,
                                          .region = book_->about.region});
}

book::Damage House::damage_of(const book::Material& material) const {
  const auto last = last_inspection_.find(material.id.text);
  // What was written down and what was seen later can differ; the worse of the two is what counts.
  if (last == last_inspection_.end()) return material.damage;
  return std::max(material.damage, last->second->damage);
}

}  // namespace lathbook::check
