// Where the samples of a piece come from, what to bring, how to take them with the least release, and when not to.
//
// Spots are spread so that every part of the piece is near one: along a run in the middle of equal lengths; on a face
// the centres of n parts of about equal size (Lloyd's iteration on a grid of about 1,000 points, each centre moved to
// the nearest point inside). The first is asked for at an edge or joint, the second at a repair where there is one, all
// of them through every layer. Checked in taking_test.cpp: inside the shape, and never further from a corner of the
// piece than its parts allow.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/evidence_data.h"
#include "catalogue/taking_data.h"
#include "reason/reason.h"

namespace lathbook::sampling {

/// `count` >= 1 points on the shape. `outline` is that of the whole face, for a material that covers it; fewer than
/// three corners = not known, and then no points come back for it.
[[nodiscard]] std::vector<book::Point> spots_on(const book::Shape& shape, std::span<const book::Point> outline,
                                                int count);

struct SampleToTake {
  std::string label;  ///< "M4-2": the material and the number of the sample of it
  std::string where;  ///< in words
};

struct Taking {
  bool yourself = false;
  reason::Reason why;  ///< why not, or what allows it
  std::vector<SampleToTake> samples;
  std::vector<book::Point> spots;  ///< one a sample, in the coordinates of the face; empty when the shape is not known
  reason::Reasons bring;           ///< empty when somebody else takes them
  reason::Reasons steps;
};

/// `already_taken` samples of the material have their labels; numbering goes on from there. `count` >= 0.
[[nodiscard]] Taking how_to_take(const book::Material& material, const catalogue::FamilyEvidence& family,
                                 book::Damage damage, const catalogue::TakingData& data,
                                 std::span<const book::Point> outline, int count, int already_taken);

/// The lines of a sample's label.
[[nodiscard]] std::vector<std::string> label_text(const SampleToTake& sample, const std::string& material_name);

}  // namespace lathbook::sampling
