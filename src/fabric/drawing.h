// The storeys of a house drawn for people: as text for a terminal or an e-mail, and as a line drawing to print and hand
// on.
//
// Meaning never hangs on colour: standing is a hatch and a word. The hatches get denser with what is known: identified
// = crossed lines, strongly presumed = close lines, presumed = wide lines, no asbestos detected = dots, proven later
// than the ban = bare. What lies on a floor has a solid edge, on a ceiling a dashed one, inside a void a dotted one;
// what is on a wall is a strip along its inside. A drawing shows no more than what was drawn: it says so at its foot.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "book/book.h"
#include "fabric/plan.h"
#include "fabric/route.h"

namespace lathbook::fabric {

/// What to draw. Everything referred to must outlive it.
struct Drawing {
  const Plan& plan;
  std::string title;
  std::span<const book::Material> materials;
  std::vector<book::Standing> standings;  ///< one a material
  std::vector<bool> suspect;              ///< one a material; empty = all. What is not is drawn bare
  std::span<const book::Job> jobs;        ///< whose cuts are drawn
  std::span<const Route> routes;
  std::optional<book::StoreyId> storey;  ///< one storey; all when absent
};

/// A route said step by step: how long, where it runs on each face, every hole, and how its places are to be read.
[[nodiscard]] std::vector<std::string> route_in_words(const Route& route);

/// Each storey in box-drawing characters, true to scale (a character is taken twice as high as wide), with what lies in
/// each room listed under it. No line is longer than `columns` (at least 40).
[[nodiscard]] std::string plan_text(const Drawing& drawing, std::size_t columns = 80);

/// A standalone SVG 1.1 document, storeys one above the other, upper first, with a scale bar and a key.
[[nodiscard]] std::string plan_svg(const Drawing& drawing);

}  // namespace lathbook::fabric
