// The prescribed warning label, true to the millimetre.
//
// Geometry and words: REACH (EC) 1907/2006, Annex XVII, appendix 7 (in Great Britain by schedule 2 of the Control of
// Asbestos Regulations 2012). Measured on the rendered page in tests/tools/papers_check.py.
#pragma once

#include "papers/canvas.h"

namespace lathbook::papers {

inline constexpr double kLabelLeastHeightMm = 50;  ///< H
inline constexpr double kLabelWidthShare = 0.5;    ///< 2.5 cm at H = 5 cm
inline constexpr double kLabelUpperShare = 0.4;    ///< the black part

/// `corner` is the upper left one; the width follows from the height.
void draw_warning_label(Canvas& canvas, Mm corner, double height_mm, bool crocidolite);

}  // namespace lathbook::papers
