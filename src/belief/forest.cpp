#include "belief/forest.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>
#include <string_view>
#include <unordered_map>
#include <unordered_set>

#include "book/words.h"

namespace lathbook::belief {
namespace {

constexpr double kNever = -std::numeric_limits<double>::infinity();

double log_add(double a, double b) {
  const double high = std::max(a, b);
  if (high == kNever) return kNever;
  return high + std::log1p(std::exp(std::min(a, b) - high));
}

double log_sum(std::span<const double> terms) {
  const double high = *std::max_element(terms.begin(), terms.end());
  if (high == kNever) return kNever;
  double sum = 0;
  for (const double term : terms) sum += std::exp(term - high);
  return high + std::log(sum);
}

/// log of sum_x exp(a[x] + b[x]).
double log_dot(std::span<const double> a, std::span<const double> b) {
  double high = kNever;
  for (std::size_t x = 0; x < a.size(); ++x) high = std::max(high, a[x] + b[x]);
  if (high == kNever) return kNever;
  double sum = 0;
  for (std::size_t x = 0; x < a.size(); ++x) sum += std::exp(a[x] + b[x] - high);
  return high + std::log(sum);
}

/// Groups with parents first; empty when they form a ring somewhere, whose members are then left in `in_ring`.
std::vector<std::size_t> parents_first(const std::vector<Link>& groups, std::vector<std::size_t>& in_ring) {
  enum class Mark : unsigned char { kNew, kOpen, kDone };
  std::vector<Mark> marks(groups.size(), Mark::kNew);
  std::vector<std::size_t> order;
  std::vector<std::size_t> path;
  for (std::size_t start = 0; start < groups.size(); ++start) {
    path.clear();
    std::size_t at = start;
    while (marks[at] == Mark::kNew) {
      marks[at] = Mark::kOpen;
      path.push_back(at);
      if (!groups[at].group) break;
      at = *groups[at].group;
    }
    if (groups[at].group && marks[at] == Mark::kOpen) {
      in_ring.assign(std::find(path.begin(), path.end(), at), path.end());
      return {};
    }
    for (auto one = path.rbegin(); one != path.rend(); ++one) {
      marks[*one] = Mark::kDone;
      order.push_back(*one);
    }
  }
  return order;
}

}  // namespace

double follows(book::Alike alike) {
  switch (alike) {
    case book::Alike::kSamePiece:
      return 1.0;
    case book::Alike::kSameJobAndLook:
      return 0.95;
    case book::Alike::kSameLook:
      return 0.75;
    case book::Alike::kSameKind:
      return 0.3;
  }
  throw std::logic_error("an Alike that is none");
}

reason::Result<Forest> Forest::make(std::vector<Link> materials, std::vector<Link> groups) {
  reason::Faults faults;
  const auto check = [&](const std::vector<Link>& links, const char* list) {
    for (std::size_t i = 0; i < links.size(); ++i) {
      if (links[i].group && *links[i].group >= groups.size()) {
        faults.push_back({std::string(list) + std::to_string(i) + "/group", std::to_string(*links[i].group),
                          "is no group", "a group that is there"});
      }
    }
  };
  check(materials, "/materials/");
  check(groups, "/groups/");
  if (!faults.empty()) return faults;

  Forest forest;
  std::vector<std::size_t> ring;
  forest.group_order_ = parents_first(groups, ring);
  if (!ring.empty()) {
    std::sort(ring.begin(), ring.end());
    for (const auto group : ring) {
      faults.push_back({"/groups/" + std::to_string(group) + "/group", "",
                        "puts the group inside itself, by way of the others in the ring",
                        "groups that do not form a ring"});
    }
    return faults;
  }
  forest.materials_ = std::move(materials);
  forest.groups_ = std::move(groups);

  // One node for each piece, parents first. Numbering them breadth first leaves the children of a node side by side.
  const std::size_t group_count = forest.groups_.size();
  const auto joins = [](const Link& link) { return link.group && link.alike == book::Alike::kSamePiece; };
  std::vector<std::size_t> top_group(group_count);  // the topmost group of the piece a group belongs to
  for (const auto g : forest.group_order_)
    top_group[g] = joins(forest.groups_[g]) ? top_group[*forest.groups_[g].group] : g;

  struct Child {
    bool is_group;
    std::size_t index;
  };
  std::vector<std::vector<Child>> children(
      group_count);  // by topmost group: what hangs on its piece without belonging to it
  std::vector<Child> roots;
  const auto place = [&](const Link& link, Child child) {
    if (!link.group) {
      roots.push_back(child);
    } else if (!joins(link)) {
      children[top_group[*link.group]].push_back(child);
    }
  };
  for (std::size_t g = 0; g < group_count; ++g) place(forest.groups_[g], {true, g});
  for (std::size_t m = 0; m < forest.materials_.size(); ++m) place(forest.materials_[m], {false, m});

  std::vector<std::size_t> piece_of_group(group_count);
  forest.piece_of_material_.resize(forest.materials_.size());
  const auto add = [&](Child child, std::optional<std::size_t> parent) {
    const Link& link = child.is_group ? forest.groups_[child.index] : forest.materials_[child.index];
    const std::size_t piece = forest.pieces_.size();
    forest.pieces_.push_back({parent, parent ? follows(link.alike) : 0.0, child.is_group, child.index, 0, 0});
    const bool close = parent && link.alike == book::Alike::kSameJobAndLook;
    forest.company_of_piece_.push_back(close ? forest.company_of_piece_[*parent] : piece);
    forest.tree_of_piece_.push_back(parent ? forest.tree_of_piece_[*parent] : piece);
    (child.is_group ? piece_of_group : forest.piece_of_material_)[child.index] = piece;
  };
  for (const auto root : roots) add(root, std::nullopt);
  for (std::size_t piece = 0; piece < forest.pieces_.size(); ++piece) {
    forest.pieces_[piece].first_child = forest.pieces_.size();
    if (forest.pieces_[piece].top_is_group) {
      for (const auto child : children[forest.pieces_[piece].top]) add(child, piece);
    }
    forest.pieces_[piece].last_child = forest.pieces_.size();
  }
  for (std::size_t m = 0; m < forest.materials_.size(); ++m) {
    if (joins(forest.materials_[m]))
      forest.piece_of_material_[m] = piece_of_group[top_group[*forest.materials_[m].group]];
  }
  return forest;
}

Model::Model(const Forest& forest, std::size_t states, std::span<const double> own)
    : forest_(&forest), states_(states) {
  if (own.size() != forest.material_count() * states) throw std::logic_error("one distribution for each material");
  // Means of the groups, children before parents.
  const std::size_t groups = forest.groups_.size();
  std::vector<double> mean(groups * states, 0.0);
  std::vector<std::size_t> members(groups, 0);
  for (std::size_t m = 0; m < forest.material_count(); ++m) {
    const auto group = forest.materials_[m].group;
    if (!group) continue;
    ++members[*group];
    for (std::size_t x = 0; x < states; ++x) mean[*group * states + x] += own[m * states + x];
  }
  for (auto g = forest.group_order_.rbegin(); g != forest.group_order_.rend(); ++g) {
    for (std::size_t x = 0; x < states; ++x) {
      double& value = mean[*g * states + x];
      // A group without members bears on nothing; any distribution will do.
      value = members[*g] == 0 ? 1.0 / static_cast<double>(states) : value / static_cast<double>(members[*g]);
      if (const auto parent = forest.groups_[*g].group; parent && members[*g] > 0) mean[*parent * states + x] += value;
    }
    if (const auto parent = forest.groups_[*g].group; parent && members[*g] > 0) ++members[*parent];
  }

  log_own_.resize(forest.piece_count() * states);
  log_follow_.resize(forest.piece_count());
  log_not_follow_.resize(forest.piece_count());
  for (std::size_t p = 0; p < forest.piece_count(); ++p) {
    const auto& piece = forest.pieces_[p];
    const double* from = piece.top_is_group ? &mean[piece.top * states] : &own[piece.top * states];
    for (std::size_t x = 0; x < states; ++x) log_own_[p * states + x] = std::log(from[x]);
    log_follow_[p] = std::log(piece.follows);
    log_not_follow_[p] = std::log(1.0 - piece.follows);
  }
}

Model Model::of_presence(const Forest& forest, std::span<const double> own_probability) {
  std::vector<double> own(own_probability.size() * 2);
  for (std::size_t m = 0; m < own_probability.size(); ++m) {
    own[2 * m] = 1.0 - own_probability[m];
    own[2 * m + 1] = own_probability[m];
  }
  return Model(forest, 2, own);
}

std::vector<double> Model::pass_up(std::span<const double> log_likelihood, std::vector<double>& upward,
                                   std::vector<double>& message) const {
  const auto& pieces = forest_->pieces_;
  if (log_likelihood.size() != pieces.size() * states_)
    throw std::logic_error("one likelihood for each piece and state");
  upward.assign(log_likelihood.begin(), log_likelihood.end());
  message.resize(upward.size());
  std::vector<double> evidence(pieces.size(), 0.0);
  for (std::size_t p = pieces.size(); p-- > 0;) {
    const std::span<const double> below(&upward[p * states_], states_);
    const std::span<const double> own(&log_own_[p * states_], states_);
    const double by_itself = log_dot(own, below);
    if (!pieces[p].parent) {
      evidence[p] = by_itself;
      continue;
    }
    double* parent = &upward[*pieces[p].parent * states_];
    for (std::size_t x = 0; x < states_; ++x) {
      message[p * states_ + x] = log_add(log_follow_[p] + below[x], log_not_follow_[p] + by_itself);
      parent[x] += message[p * states_ + x];
    }
  }
  return evidence;
}

double Model::log_evidence(std::span<const double> log_likelihood) const {
  const auto by_tree = log_evidence_by_tree(log_likelihood);
  return std::accumulate(by_tree.begin(), by_tree.end(), 0.0);
}

std::vector<double> Model::log_evidence_by_tree(std::span<const double> log_likelihood) const {
  std::vector<double> upward;
  std::vector<double> message;
  return pass_up(log_likelihood, upward, message);
}

Inference Model::infer(std::span<const double> log_likelihood) const {
  const auto& pieces = forest_->pieces_;
  std::vector<double> upward;
  std::vector<double> message;
  Inference result;
  const auto by_tree = pass_up(log_likelihood, upward, message);
  result.log_evidence = std::accumulate(by_tree.begin(), by_tree.end(), 0.0);
  if (result.log_evidence == kNever) return result;

  // `downward`: what the rest of the tree, outside the piece and all below it, says about the piece's state.
  std::vector<double> downward(upward.size());
  std::vector<double> before(states_);  // the parent's view without the children from this one on
  std::vector<double> after;            // messages of the later siblings, added up, by sibling and state
  for (std::size_t p = 0; p < pieces.size(); ++p) {
    const auto& piece = pieces[p];
    if (!piece.parent) std::copy_n(&log_own_[p * states_], states_, &downward[p * states_]);
    const std::size_t children = piece.last_child - piece.first_child;
    if (children == 0) continue;
    // Sums from both ends instead of total minus own message: nothing is lost to cancellation, and a child that rules a
    // state out (-infinity) does not turn into infinity minus infinity.
    after.assign((children + 1) * states_, 0.0);
    for (std::size_t c = children; c-- > 0;) {
      for (std::size_t x = 0; x < states_; ++x) {
        after[c * states_ + x] = after[(c + 1) * states_ + x] + message[(piece.first_child + c) * states_ + x];
      }
    }
    for (std::size_t x = 0; x < states_; ++x) before[x] = downward[p * states_ + x] + log_likelihood[p * states_ + x];
    std::vector<double> outside(states_);
    for (std::size_t c = 0; c < children; ++c) {
      const std::size_t child = piece.first_child + c;
      for (std::size_t x = 0; x < states_; ++x) outside[x] = before[x] + after[(c + 1) * states_ + x];
      const double any = log_sum(outside);
      for (std::size_t x = 0; x < states_; ++x) {
        downward[child * states_ + x] =
            log_add(log_follow_[child] + outside[x], log_not_follow_[child] + any + log_own_[child * states_ + x]);
        before[x] += message[child * states_ + x];
      }
    }
  }

  result.of_material.resize(forest_->material_count() * states_);
  std::vector<double> joint(states_);
  for (std::size_t m = 0; m < forest_->material_count(); ++m) {
    const std::size_t p = forest_->piece_of_material_[m];
    for (std::size_t x = 0; x < states_; ++x) joint[x] = downward[p * states_ + x] + upward[p * states_ + x];
    const double all = log_sum(joint);
    for (std::size_t x = 0; x < states_; ++x) result.of_material[m * states_ + x] = std::exp(joint[x] - all);
  }
  return result;
}

reason::Result<Forest> make_forest(std::span<const Named> materials, std::span<const Named> groups) {
  reason::Faults faults;
  std::unordered_map<std::string_view, std::size_t> group_at;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    if (!group_at.emplace(groups[g].id, g).second) {
      faults.push_back({"/groups/" + std::to_string(g) + "/id", groups[g].id, "is there twice", "each id once"});
    }
  }
  std::unordered_set<std::string_view> material_ids;
  for (std::size_t m = 0; m < materials.size(); ++m) {
    if (!material_ids.insert(materials[m].id).second) {
      faults.push_back({"/materials/" + std::to_string(m) + "/id", materials[m].id, "is there twice", "each id once"});
    }
  }
  const auto links = [&](std::span<const Named> things, const std::string& list) {
    std::vector<Link> made(things.size());
    for (std::size_t i = 0; i < things.size(); ++i) {
      const auto& thing = things[i];
      const std::string at = list + std::to_string(i);
      if (thing.group.empty()) {
        if (thing.alike) {
          faults.push_back({at + "/alike", std::string(book::word(*thing.alike)), "says how alike, but not to what",
                            "a group beside it"});
        }
        continue;
      }
      const auto found = group_at.find(thing.group);
      if (found == group_at.end()) {
        faults.push_back({at + "/group", thing.group, "is no group here", "the id of one of the groups"});
      } else {
        made[i] = {found->second, thing.alike.value_or(book::Alike::kSameLook)};
      }
    }
    return made;
  };
  auto material_links = links(materials, "/materials/");
  auto group_links = links(groups, "/groups/");
  if (!faults.empty()) return faults;
  auto forest = Forest::make(std::move(material_links), std::move(group_links));
  if (forest.ok()) return forest;
  faults = forest.faults();
  // Positions mean little to a person: name the group.
  for (std::size_t g = 0; g < groups.size(); ++g) {
    for (auto& fault : faults) {
      if (fault.where == "/groups/" + std::to_string(g) + "/group") fault.value = groups[g].group;
    }
  }
  return faults;
}

}  // namespace lathbook::belief
