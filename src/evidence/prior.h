// What is believed of a material before any test: from its family and the years it may have been put in.
//
//   probability = mean over the years from..to of the family's curve (straight lines between its knots)
//   fibre shares = mean over the same years of the family's shares, each year weighted with its middle probability,
//                  because shares are given that asbestos is there; then a floor: (1 - e) share + e / 6
//
// Source of the curves: data/evidence.json, mostly judgement and marked so. Checked in prior_test.cpp.
#pragma once

#include "book/book.h"
#include "catalogue/evidence_data.h"

namespace lathbook::evidence {

struct Prior {
  double low = 0;
  double middle = 0;
  double high = 0;
  catalogue::FibreShares fibres{};
};

/// `years.from <= years.to`; every year of the range counts the same.
[[nodiscard]] Prior prior_of(const catalogue::FamilyEvidence& family, book::YearRange years, double fibre_floor);

}  // namespace lathbook::evidence
