// A book with what follows from it worked out once: the plan, where each material lies, what may be claimed of it and
// how likely it holds asbestos. Every question about a job or a material starts from here.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "catalogue/evidence_data.h"
#include "evidence/presence.h"
#include "fabric/plan.h"
#include "fabric/touch.h"
#include "law/classify.h"
#include "reason/fault.h"

namespace lathbook::check {

/// What calculations are given besides the book. All three outlive the House.
struct Knowledge {
  const catalogue::Catalogue& catalogue;
  const catalogue::EvidenceData& evidence;
  const law::RulePack& rules;
};

/// What is known of one material, by its place in Book::materials.
struct Known {
  const catalogue::Family* family = nullptr;
  bool suspect = true;  ///< of a family that may hold asbestos, and still in the house
  evidence::Belief belief;
  /// Plain work on it is released: not suspect, or a releasing standing.
  [[nodiscard]] bool released() const { return !suspect || book::releases(belief.standing); }
};

class House {
 public:
  /// Faults: those of the plan, and words the catalogue does not know. A book that service took in has none.
  [[nodiscard]] static reason::Result<House> build(const book::Book& book, const Knowledge& knowledge);

  [[nodiscard]] const book::Book& book() const { return *book_; }
  [[nodiscard]] const Knowledge& knowledge() const { return knowledge_; }
  [[nodiscard]] const fabric::Plan& plan() const { return plan_; }
  [[nodiscard]] const fabric::MaterialIndex& materials() const { return *index_; }
  [[nodiscard]] const Known& known(std::size_t material) const { return known_[material]; }
  [[nodiscard]] std::optional<std::size_t> find_material(const book::MaterialId& id) const;
  [[nodiscard]] std::span<const evidence::Conflict> conflicts() const { return conflicts_; }

  /// What was put in after this year, wholly, is later than the ban of the rules in force.
  [[nodiscard]] int ban_year() const { return knowledge_.rules.final_ban().year(); }
  /// The years a material may have been put in: as proven, its own, or its phase's; else any from when its room was
  /// built up to the ban.
  [[nodiscard]] book::YearRange years_of(const book::Material& material) const;
  /// The years of a room's build phase; empty when it has none.
  [[nodiscard]] std::optional<book::YearRange> years_of(const book::RoomId& room) const;
  /// How many m2 there are of a material: as written down, else of the shape it is drawn with; empty = not known.
  [[nodiscard]] std::optional<double> area_of(const book::Material& material) const;
  /// Whether a householder may take a sample of it: neither the rules of the country nor its own kind, damage and place
  /// (sampling/take.h) stand against it, nor anything on the way to it.
  [[nodiscard]] bool may_take_sample(std::size_t material) const;
  /// What lies before it on the same face, counts as asbestos, and is itself not for a householder to sample; empty
  /// when nothing does. Shapes are not compared: a sample is cut through all that may be in front.
  [[nodiscard]] std::optional<std::size_t> not_to_be_sampled_through(std::size_t material) const;
  /// What the rules of the country say to a householder who takes a sample of it.
  [[nodiscard]] law::WorkClass sampled_by_householder(std::size_t material) const;
  /// The damage last seen: of the latest inspection, or as first written down.
  [[nodiscard]] book::Damage damage_of(const book::Material& material) const;

 private:
  House(const book::Book& book, const Knowledge& knowledge, fabric::Plan plan);

  const book::Book* book_;
  Knowledge knowledge_;
  fabric::Plan plan_;
  std::unique_ptr<fabric::MaterialIndex> index_;
  std::vector<Known> known_;
  std::vector<evidence::Conflict> conflicts_;
  std::map<std::string, std::size_t> material_by_id_;
  std::map<std::string, book::YearRange> phase_years_;
  std::map<std::string, const book::Room*> room_by_id_;
  std::map<std::string, const book::Inspection*> last_inspection_;
};

}  // namespace lathbook::check
