// The warning label that the rules of the country prescribe (the `label` of a rule pack), true to the millimetre.
//
// Geometry of the label with the letter a: REACH (EC) 1907/2006, Annex XVII, appendix 7 (in Great Britain by schedule 2
// of the Control of Asbestos Regulations 2012). Measured on the rendered page in tests/tools/papers_check.py.
#pragma once

#include "law/pack.h"
#include "papers/canvas.h"

namespace lathbook::papers {

inline constexpr double kLabelLeastHeightMm = 50;  ///< H
inline constexpr double kLabelWidthShare = 0.5;    ///< 2.5 cm at H = 5 cm
inline constexpr double kLabelUpperShare = 0.4;    ///< the black part

/// `corner` is the upper left one; the width follows from the height.
void draw_warning_label(Canvas& canvas, Mm corner, double height_mm, const law::WarningLabel& label, bool crocidolite);

}  // namespace lathbook::papers
