// A storey's plan on paper: rooms, openings, what lies where by standing, and the cuts of a job.
//
// A standing is a hatch that survives a black-and-white printer, with the material's id beside it:
//   identified             cross-hatch          strongly presumed   close diagonal lines
//   presumed               wide diagonal lines  no asbestos detected    dots
//   proven later than the ban   outline only
// Walls are drawn as a strip along their inside. A cut is a ring with a cross (a point), a thick broken line, or a
// thick broken outline, with its number in a black box.
#pragma once

#include <cstddef>
#include <set>
#include <string>
#include <vector>

#include "check/house.h"
#include "papers/canvas.h"

namespace lathbook::papers {

struct PlanCut {
  const book::Cut* cut = nullptr;
  int number = 1;
};

struct PlanView {
  book::StoreyId storey;
  std::vector<std::size_t>
      materials;  ///< in Book::materials; those elsewhere and those of no suspect family are left out
  std::vector<PlanCut> cuts;
  std::set<std::string> focus;  ///< rooms to look at closely; empty = the whole storey
  bool overhead = false;        ///< ceilings and roofs; otherwise floors, walls and what lies inside
};

/// Whether a face is seen on the overhead plan.
[[nodiscard]] bool is_overhead(const book::Face& face);

/// Height that a plan wants at this width, at most `most_mm`.
[[nodiscard]] double plan_height_mm(const check::House& house, const PlanView& view, double width_mm, double most_mm);

void draw_plan(Canvas& canvas, const check::House& house, const PlanView& view);

/// The hatches with their words, in one or two lines, and the mark of a cut where `cuts`.
inline constexpr double kLegendHeightMm = 7;
void draw_legend(Canvas& canvas, bool cuts);

/// Fills a polygon with the hatch of a standing and outlines it.
void hatch(Canvas& canvas, const std::vector<Mm>& outline, book::Standing standing);

}  // namespace lathbook::papers
