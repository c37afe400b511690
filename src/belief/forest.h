// Look-alike groups as a forest, and exact inference on it: how a state known of one material bears on all others.
//
// Every material and every group has a state out of K (for presence 2: none, asbestos; for fibre types 6). A group's
// own distribution is the mean of its direct members' own distributions. The state of a group at a root is drawn from
// its own distribution; a member of a group, material or nested group, takes the group's state with probability r and
// otherwise draws from its own distribution:
//
//   P(x | S) = r [x = S] + (1 - r) own(x)      r = 1, 0.95, 0.75, 0.3 by `Alike`, docs/calc.md "Groups"
//
// Links with r = 1 make one *piece* of what they join: its materials always share one state, so evidence is given by
// piece.
//
// Inference is the two-pass sum-product algorithm, exact on a forest, with messages held as logarithms: no product of
// probabilities can underflow, and evidence that rules a state out (-infinity) is handled as such. Time and memory are
// linear in members times K. Checked against enumeration of all hidden states in forest_test.cpp, against a sampler in
// tests/tools/presence_reference.py; measured in bench/evidence_bench.cpp.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::belief {

/// The probability that a member takes its group's state.
[[nodiscard]] double follows(book::Alike alike);

/// Where a material or a group hangs: in which group (by its position) and how alike it is to the others there.
struct Link {
  std::optional<std::size_t> group;
  book::Alike alike = book::Alike::kSameLook;  ///< only meaningful with a group
};

/// The shape of the groups, without any probability.
class Forest {
 public:
  /// Faults name the place as `/materials/3/group` or `/groups/3/group`: a group that does not exist, or a ring of
  /// groups each inside the next.
  [[nodiscard]] static reason::Result<Forest> make(std::vector<Link> materials, std::vector<Link> groups);

  [[nodiscard]] std::size_t material_count() const { return materials_.size(); }
  [[nodiscard]] std::size_t piece_count() const { return pieces_.size(); }

  /// The piece a material belongs to. Pieces are numbered so that a parent comes before its children.
  [[nodiscard]] std::size_t piece_of(std::size_t material) const { return piece_of_material_[material]; }

  /// Materials with the same number are joined by links of *same piece* or *same job and look* alone.
  [[nodiscard]] std::size_t company_of(std::size_t material) const {
    return company_of_piece_[piece_of_material_[material]];
  }

  /// Materials with different numbers know nothing of each other.
  [[nodiscard]] std::size_t tree_of(std::size_t material) const { return tree_of_piece_[piece_of_material_[material]]; }
  [[nodiscard]] std::size_t tree_of_piece(std::size_t piece) const { return tree_of_piece_[piece]; }

  [[nodiscard]] const std::vector<Link>& materials() const { return materials_; }
  [[nodiscard]] const std::vector<Link>& groups() const { return groups_; }

 private:
  friend class Model;

  /// What joins by r = 1 is one node. Its topmost element decides how it hangs on its parent.
  struct Piece {
    std::optional<std::size_t> parent;
    double follows = 0;
    bool top_is_group = false;
    std::size_t top = 0;          ///< position of the topmost material or group
    std::size_t first_child = 0;  ///< children lie next to each other: [first_child, last_child)
    std::size_t last_child = 0;
  };

  std::vector<Link> materials_;
  std::vector<Link> groups_;
  std::vector<std::size_t> group_order_;  ///< parents first
  std::vector<Piece> pieces_;             ///< parents first, children of one parent next to each other
  std::vector<std::size_t> piece_of_material_;
  std::vector<std::size_t> company_of_piece_;
  std::vector<std::size_t> tree_of_piece_;
};

/// A material or group by its name, as people and files give it.
struct Named {
  std::string id;
  std::string group;                 ///< empty = none
  std::optional<book::Alike> alike;  ///< absent in a group = same look
};

/// The forest of named materials and groups. Faults, each at `/materials/3/…` or `/groups/3/…`: an id given twice, a
/// group that is not there, `alike` without a group, groups in a ring.
[[nodiscard]] reason::Result<Forest> make_forest(std::span<const Named> materials, std::span<const Named> groups);

/// What is believed once the evidence is in.
struct Inference {
  std::vector<double> of_material;  ///< material_count × K, a distribution for each material
  double log_evidence = 0;          ///< log of the probability of the evidence; -infinity when it cannot be
};

/// A forest with everybody's own distribution filled in.
class Model {
 public:
  /// `own` holds material_count × K probabilities, each row adding up to 1.
  Model(const Forest& forest, std::size_t states, std::span<const double> own);

  /// Two states, from each material's own probability of the second (asbestos).
  [[nodiscard]] static Model of_presence(const Forest& forest, std::span<const double> own_probability);

  /// `log_likelihood` holds piece_count × K values log P(what was seen on the piece | state); 0 = nothing seen. When
  /// the evidence is impossible, `of_material` is empty.
  [[nodiscard]] Inference infer(std::span<const double> log_likelihood) const;

  /// Only the log of the probability of the evidence: one pass up.
  [[nodiscard]] double log_evidence(std::span<const double> log_likelihood) const;

  /// The same for each tree apart, at the number of the tree (see tree_of); 0 at numbers that are no tree's.
  [[nodiscard]] std::vector<double> log_evidence_by_tree(std::span<const double> log_likelihood) const;

  [[nodiscard]] std::size_t states() const { return states_; }
  [[nodiscard]] const Forest& forest() const { return *forest_; }

  /// No evidence at all, in the form `infer` takes.
  [[nodiscard]] std::vector<double> nothing_seen() const {
    return std::vector<double>(forest_->piece_count() * states_, 0.0);
  }

 private:
  /// Fills `upward` (λ of the piece and all below it, by state) and `message` (the same as its parent sees it).
  /// Answers the log evidence by tree.
  std::vector<double> pass_up(std::span<const double> log_likelihood, std::vector<double>& upward,
                              std::vector<double>& message) const;

  const Forest* forest_;
  std::size_t states_;
  std::vector<double> log_own_;         ///< by piece and state: the own distribution of its topmost element
  std::vector<double> log_follow_;      ///< by piece: log r
  std::vector<double> log_not_follow_;  ///< by piece: log(1 - r)
};

}  // namespace lathbook::belief
