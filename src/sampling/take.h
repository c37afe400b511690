// Whether a person may take a sample themselves, by family and state.
#pragma once

#include "book/book.h"
#include "catalogue/evidence_data.h"

namespace lathbook::sampling {

/// No for families of which the data says so (lagging, sprays, loose fill …), for anything damaged beyond scratches,
/// and for friable board overhead: then somebody trained takes it. Source: data/evidence.json.
[[nodiscard]] inline bool may_take_oneself(const catalogue::FamilyEvidence& family, book::Damage damage,
                                           bool overhead) {
  if (family.take_yourself == catalogue::TakeYourself::kNo || damage >= book::Damage::kMedium) return false;
  return !overhead || family.take_yourself == catalogue::TakeYourself::kIfSound;
}

/// Above the head, or said to be hard to reach.
[[nodiscard]] inline bool overhead(const book::Material& material) {
  const auto face = material.place.face.kind;
  return material.overhead_or_hard_to_reach || face == book::FaceKind::kCeiling || face == book::FaceKind::kRoof;
}

}  // namespace lathbook::sampling
