// What a cut meets: on the face it is made in, in the void behind it, and on the other side.
//
// distance_m is the separation of the two shapes as drawn, 0 when they overlap. *Definite*: they overlap as drawn.
// *Possible*: they do not, but within the position uncertainty they may. Depth: `surface` meets layer 0 of the near
// face alone; `layer` every layer of the near face; `through` (and the task `fix-through`) also the void behind and the
// far face of every room that backs on to the spot, and goes on across a void or shaft up to 0.6 m deep; the task
// `open-up` reaches the void whatever its depth. What lies `inside` a void, shaft or loft lies against all its faces;
// inside an ordinary room its height is not known, so a cut over, under or beside it is at most *possible*. A roof
// slope drawn as a height zone is the same surface as the ceiling there; a slope without one lies beyond the ceiling:
// definite when the cut goes through, else possible, for the book does not say whether a ceiling hangs below it.
// Materials with `removed_on` are gone and are never met.
//
// A point cut is a disc of its diameter; a line has rounded ends. Checked against rasters by brute force and by moving,
// turning and mirroring the house. Page: docs/methods/fabric.md.
#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "fabric/plan.h"

namespace lathbook::fabric {

enum class Certainty { kDefinite, kPossible };
enum class Side { kNear, kVoid, kFar };
[[nodiscard]] std::string_view word(Certainty certainty);  ///< definite, possible
[[nodiscard]] std::string_view word(Side side);            ///< near, void, far

struct Touch {
  std::size_t cut = 0;  ///< index among the cuts given
  book::MaterialId material;
  Certainty certainty = Certainty::kDefinite;
  Side side = Side::kNear;
  double distance_m = 0;
  std::size_t material_index = 0;  ///< among the materials given
};

/// The materials of a house by the face they lie on. Built once; then every job is quick to ask about.
class MaterialIndex {
 public:
  MaterialIndex(const Plan& plan, std::span<const book::Material> materials);

  struct Entry {
    std::size_t material = 0;  ///< index among the materials given
    std::size_t face = 0;      ///< index in Plan::faces()
    int layer = 0;
    Spread spread;
  };
  [[nodiscard]] std::span<const Entry> on_face(std::size_t face) const { return by_face_[face]; }
  [[nodiscard]] const book::MaterialId& id(std::size_t material) const { return ids_[material]; }
  /// Materials in no room or on no face of this plan; fabric::validate names them.
  [[nodiscard]] std::span<const std::size_t> unplaced() const { return unplaced_; }

 private:
  std::vector<std::vector<Entry>> by_face_;
  std::vector<book::MaterialId> ids_;
  std::vector<std::size_t> unplaced_;
};

/// All touches, ordered by cut, then near, void, far, then definite first, nearest first, and the order of the
/// materials. A material is named once a cut. A cut whose room or face is not in the plan touches nothing: validate
/// first.
[[nodiscard]] std::vector<Touch> touches(const Plan& plan, const MaterialIndex& materials,
                                         std::span<const book::Cut> cuts, double uncertainty_m = kUncertaintyM);
[[nodiscard]] std::vector<Touch> touches(const Plan& plan, std::span<const book::Material> materials,
                                         std::span<const book::Cut> cuts, double uncertainty_m = kUncertaintyM);

/// A shape as geometry in the coordinates of its face; `diameter_m` widens points and lines.
[[nodiscard]] Spread spread_of(const Plan& plan, std::size_t face, const book::Shape& shape, double diameter_m = 0);

}  // namespace lathbook::fabric
