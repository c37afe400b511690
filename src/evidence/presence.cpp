#include "evidence/presence.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <unordered_map>

#include "belief/detection.h"
#include "belief/forest.h"
#include "book/words.h"
#include "evidence/prior.h"

namespace lathbook::evidence {
namespace {

using belief::Detection;
using belief::Forest;
using belief::Model;
using belief::Seen;
using book::Standing;
using catalogue::EvidenceData;
using catalogue::FamilyEvidence;

/// How far each certainty gives way where results cannot all be true: a prior of 0 or 1 first, then a clear result that
/// cannot miss, and a find that cannot be false last, so that in doubt the find prevails.
constexpr double kPriorAbove = 1e-6;
constexpr double kPriorBelow = 1 - 1e-9;
constexpr double kCertainClear = 1e-6;
constexpr double kCertainFind = 1e-12;

/// Everything about one material that does not change while the beliefs are worked out.
struct Known {
  const FamilyEvidence* family = nullptr;
  Prior prior;
};

/// What results say of one piece.
struct Piece {
  double log_none = 0;
  double log_asbestos = 0;
  double log_clear_if_asbestos = 0;  ///< of the clear results alone: log of the chance that all of them miss it
  int clear_samples = 0;
  bool found = false;
  std::set<book::Fibre> fibres;
  std::set<std::string> said_clear;  ///< materials
  std::set<std::string> said_found;
};

void check(const EvidenceData& data, const Question& question, std::vector<Known>& known, reason::Faults& faults) {
  for (std::size_t m = 0; m < question.materials.size(); ++m) {
    const auto& material = question.materials[m];
    const std::string at = "/materials/" + std::to_string(m);
    const auto* family = data.find(material.family);
    if (family == nullptr)
      faults.push_back({at + "/family", material.family, "is no family here", "an id in data/families.json"});
    const bool ordered = material.years.from <= material.years.to;
    if (!ordered) {
      faults.push_back({at + "/year_to", std::to_string(material.years.to), "is before year_from",
                        "a year from " + std::to_string(material.years.from) + " on"});
    }
    if (material.prior) {
      const auto& p = *material.prior;
      if (!(0 <= p.low && p.low <= p.middle && p.middle <= p.high && p.high <= 1)) {
        faults.push_back({at + "/prior", fmt::format("{} ({} to {})", p.middle, p.low, p.high), "is not in order",
                          "low, middle and high from 0 to 1, from small to large"});
      }
    }
    if (material.samples_needed < 1) {
      faults.push_back({at + "/samples_needed", std::to_string(material.samples_needed), "is too small", "at least 1"});
    }
    if (family == nullptr || !ordered) continue;
    known[m] = {family, prior_of(*family, material.years, data.fibre_floor)};
  }
}

/// `at[i]` = the material of result i.
std::vector<std::size_t> place_results(const Question& question, reason::Faults& faults) {
  std::unordered_map<std::string_view, std::size_t> index;
  for (std::size_t m = 0; m < question.materials.size(); ++m) index.emplace(question.materials[m].id, m);
  std::vector<std::size_t> at;
  for (std::size_t i = 0; i < question.results.size(); ++i) {
    const auto& result = question.results[i];
    const std::string where = "/results/" + std::to_string(i);
    const auto found = index.find(result.material);
    if (found == index.end())
      faults.push_back({where + "/material", result.material, "is no material here", "the id of one of the materials"});
    at.push_back(found == index.end() ? 0 : found->second);
    if (!result.found && !result.fibres.empty()) {
      faults.push_back({where + "/fibres", std::string(book::word(result.fibres.front())),
                        "is named though nothing was found", "no fibres"});
    }
    if (result.samples < 1)
      faults.push_back({where + "/samples", std::to_string(result.samples), "is too small", "at least 1"});
    for (const auto& [field, share] :
         {std::pair{"/sensitivity", result.sensitivity}, std::pair{"/specificity", result.specificity}}) {
      if (share && !(*share >= 0 && *share <= 1))
        faults.push_back({where + field, fmt::format("{}", *share), "is no probability", "0 to 1"});
    }
  }
  return at;
}

/// Likelihoods by piece. `softened` pieces (all those of a tree whose results cannot all be true) give way at
/// certainties.
std::vector<Piece> gather(const EvidenceData& data, const Question& question, const Forest& forest,
                          const std::vector<Known>& known, const std::vector<std::size_t>& at,
                          const std::vector<bool>& softened) {
  struct Default {
    const FamilyEvidence* family;
    std::vector<Seen> seen;
  };
  std::vector<Piece> pieces(forest.piece_count());
  std::map<std::size_t, std::vector<Default>> defaults;  // by piece: results that share the hidden share of spots
  const auto floor = [](double log_value, bool soft, bool found_without) {
    return soft ? std::max(log_value, std::log(found_without ? kCertainFind : kCertainClear)) : log_value;
  };
  for (std::size_t i = 0; i < question.results.size(); ++i) {
    const auto& result = question.results[i];
    const std::size_t p = forest.piece_of(at[i]);
    auto& piece = pieces[p];
    const std::array<Seen, 1> seen = {{{result.found, result.samples}}};
    piece.log_none +=
        floor(belief::log_if_none(result.specificity.value_or(data.specificity), seen), softened[p], true);
    if (result.sensitivity) {
      const double log_seen = belief::log_if_asbestos({*result.sensitivity, {}}, seen);
      piece.log_asbestos += floor(log_seen, softened[p], false);
      if (!result.found) piece.log_clear_if_asbestos += log_seen;
    } else {
      auto& sets = defaults[p];
      auto set =
          std::find_if(sets.begin(), sets.end(), [&](const Default& one) { return one.family == known[at[i]].family; });
      if (set == sets.end()) set = sets.insert(set, {known[at[i]].family, {}});
      set->seen.push_back(seen.front());
    }
    if (result.found) {
      piece.found = true;
      piece.fibres.insert(result.fibres.begin(), result.fibres.end());
      piece.said_found.insert(result.material);
    } else {
      piece.clear_samples += result.samples;
      piece.said_clear.insert(result.material);
    }
  }
  for (auto& [p, sets] : defaults) {
    for (auto& set : sets) {
      std::optional<belief::Patchiness> patchiness;
      if (set.family->patchiness) patchiness = {set.family->patchiness->mean, set.family->patchiness->strength};
      const Detection detection{1 - set.family->false_negative, patchiness};
      pieces[p].log_asbestos += floor(belief::log_if_asbestos(detection, set.seen), softened[p], false);
      std::erase_if(set.seen, [](const Seen& seen) { return seen.found; });
      pieces[p].log_clear_if_asbestos += belief::log_if_asbestos(detection, set.seen);
    }
  }
  return pieces;
}

std::vector<double> log_likelihoods(const std::vector<Piece>& pieces) {
  std::vector<double> logs;
  logs.reserve(pieces.size() * 2);
  for (const auto& piece : pieces) {
    logs.push_back(piece.log_none);
    logs.push_back(piece.log_asbestos);
  }
  return logs;
}

struct ThreePriors {
  std::array<std::vector<double>, 3> by_level;  ///< low, middle, high
};

/// Beliefs at the three priors; trees whose results cannot all be true at one of them are worked out with certainties
/// that give way, and returned in `softened` (by piece).
std::array<std::vector<double>, 3> believe(const EvidenceData& data, const Question& question, const Forest& forest,
                                           const std::vector<Known>& known, const std::vector<std::size_t>& at,
                                           ThreePriors priors, std::vector<Piece>& pieces,
                                           std::vector<bool>& softened) {
  softened.assign(forest.piece_count(), false);
  pieces = gather(data, question, forest, known, at, softened);
  const auto logs = log_likelihoods(pieces);
  std::set<std::size_t> impossible;
  for (const auto& own : priors.by_level) {
    const auto by_tree = Model::of_presence(forest, own).log_evidence_by_tree(logs);
    for (std::size_t tree = 0; tree < by_tree.size(); ++tree) {
      if (std::isinf(by_tree[tree])) impossible.insert(tree);
    }
  }
  if (!impossible.empty()) {
    for (std::size_t p = 0; p < softened.size(); ++p) softened[p] = impossible.contains(forest.tree_of_piece(p));
    for (auto& own : priors.by_level) {
      for (std::size_t m = 0; m < own.size(); ++m) {
        if (softened[forest.piece_of(m)]) own[m] = std::clamp(own[m], kPriorAbove, kPriorBelow);
      }
    }
    pieces = gather(data, question, forest, known, at, softened);
  }
  std::array<std::vector<double>, 3> beliefs;
  const auto seen = log_likelihoods(pieces);
  for (std::size_t level = 0; level < 3; ++level) {
    const auto inference = Model::of_presence(forest, priors.by_level[level]).infer(seen);
    for (std::size_t m = 0; m < question.materials.size(); ++m)
      beliefs[level].push_back(inference.of_material[2 * m + 1]);
  }
  return beliefs;
}

std::vector<catalogue::FibreShares> fibre_shares(const Forest& forest, const std::vector<Known>& known,
                                                 const std::vector<Piece>& pieces) {
  constexpr std::size_t kCount = catalogue::kFibreCount;
  std::vector<double> own;
  own.reserve(known.size() * kCount);
  for (const auto& one : known) own.insert(own.end(), one.prior.fibres.begin(), one.prior.fibres.end());
  const Model model(forest, kCount, own);
  auto seen = model.nothing_seen();
  for (std::size_t p = 0; p < pieces.size(); ++p) {
    if (pieces[p].fibres.empty()) continue;
    for (std::size_t f = 0; f < kCount; ++f) {
      if (!pieces[p].fibres.contains(static_cast<book::Fibre>(f)))
        seen[p * kCount + f] = -std::numeric_limits<double>::infinity();
    }
  }
  const auto inference = model.infer(seen);
  std::vector<catalogue::FibreShares> shares(known.size());
  for (std::size_t m = 0; m < known.size(); ++m)
    std::copy_n(&inference.of_material[m * kCount], kCount, shares[m].begin());
  return shares;
}

std::string listed(const std::set<std::string>& ids) { return fmt::format("{}", fmt::join(ids, ", ")); }

/// "from 1971", or "from 1954 to 1962".
std::string years_text(book::YearRange years) {
  return years.from == years.to ? fmt::format("from {}", years.from)
                                : fmt::format("from {} to {}", years.from, years.to);
}

/// Never 100 % for what is not certain.
std::string percent(double p) {
  if (p > 0.995 && p < 1) return "over 99 %";
  if (p > 0 && p < 0.0995) return fmt::format("{:.2g} %", 100 * p);
  // As "{:.0f}" rounds it, at a tenth of the cost: there are several of these for every material.
  return fmt::format("{} %", static_cast<int>(std::nearbyint(100 * p)));
}

struct StandingOf {
  Standing standing = Standing::kPresumed;
  reason::Reason why;
};

StandingOf standing_of(const EvidenceData& data, const Question& question, const Material& material, const Known& known,
                       const Piece& piece, const std::set<std::string>* found_in_company) {
  const bool after_ban = material.years.from > question.ban.year;
  if (piece.found) {
    std::string fibres;
    for (const auto fibre : piece.fibres) fibres += (fibres.empty() ? ": " : ", ") + std::string(book::word(fibre));
    std::string text = "Identified: a result found asbestos in " + listed(piece.said_found) + fibres + ".";
    if (!piece.said_clear.empty()) text += " A clear result of the same piece does not take that back.";
    return {Standing::kIdentified, {text, "book"}};
  }
  if (after_ban && material.years_proven) {
    return {Standing::kProvenLater,
            {fmt::format("Put in wholly after {}, when the last asbestos products were banned.", question.ban.year),
             question.ban.source}};
  }
  const double miss = std::exp(piece.log_clear_if_asbestos);
  std::string short_of;
  if (piece.clear_samples > 0) {
    const std::string count = fmt::format("{} clear sample{} of {}", piece.clear_samples,
                                          piece.clear_samples == 1 ? "" : "s", listed(piece.said_clear));
    if (piece.clear_samples >= material.samples_needed && miss < data.miss_at_most) {
      return {Standing::kNoneDetected,
              {fmt::format("{}, of {} needed: asbestos that is there would be missed with a chance of {}.", count,
                           material.samples_needed, percent(miss)),
               known.family->samples.source}};
    }
    short_of = fmt::format(" {} {} not settle it: ", count, piece.clear_samples == 1 ? "does" : "do");
    short_of += piece.clear_samples < material.samples_needed
                    ? fmt::format("{} are needed.", material.samples_needed)
                    : fmt::format("asbestos that is there would be missed with a chance of {}.", percent(miss));
  }
  if (found_in_company != nullptr) {
    return {Standing::kStronglyPresumed,
            {"Strongly presumed: found in " + listed(*found_in_company) + ", of the same job and look." + short_of,
             "book"}};
  }
  if (!material.prior && known.prior.middle >= data.little_doubt) {
    return {Standing::kStronglyPresumed,
            {fmt::format("Strongly presumed: {} of what looks like this and dates {} holds asbestos.{}",
                         percent(known.prior.middle), years_text(material.years), short_of),
             known.family->source}};
  }
  std::string text = "Presumed: suspect and not settled by tests, so it counts as asbestos." + short_of;
  if (after_ban) text += " Its years are after the ban, but nothing proves them.";
  return {Standing::kPresumed, {text, "judgement"}};
}

}  // namespace

reason::Result<Answer> presence(const EvidenceData& data, const Question& question) {
  reason::Faults faults;
  std::vector<Known> known(question.materials.size());
  check(data, question, known, faults);
  std::vector<belief::Named> materials;
  std::vector<belief::Named> groups;
  for (const auto& material : question.materials) materials.push_back({material.id, material.group, material.alike});
  for (const auto& group : question.groups) groups.push_back({group.id, group.group, group.alike});
  const auto made = belief::make_forest(materials, groups);
  if (!made.ok()) faults.insert(faults.end(), made.faults().begin(), made.faults().end());
  const auto at = place_results(question, faults);
  if (!faults.empty()) return faults;
  const Forest& forest = *made;

  ThreePriors priors;
  for (std::size_t m = 0; m < known.size(); ++m) {
    const auto& given = question.materials[m].prior;
    const auto& prior = known[m].prior;
    priors.by_level[0].push_back(given ? given->low : prior.low);
    priors.by_level[1].push_back(given ? given->middle : prior.middle);
    priors.by_level[2].push_back(given ? given->high : prior.high);
  }
  std::vector<Piece> pieces;
  std::vector<bool> softened;
  const auto beliefs = believe(data, question, forest, known, at, priors, pieces, softened);
  const auto fibres = fibre_shares(forest, known, pieces);

  Answer answer;
  std::map<std::size_t, std::set<std::string>> found_in_company;
  for (std::size_t m = 0; m < known.size(); ++m) {
    const auto& piece = pieces[forest.piece_of(m)];
    if (piece.found) found_in_company[forest.company_of(m)].insert(piece.said_found.begin(), piece.said_found.end());
  }
  for (std::size_t m = 0; m < known.size(); ++m) {
    const auto& material = question.materials[m];
    const auto& piece = pieces[forest.piece_of(m)];
    Belief one;
    one.id = material.id;
    one.probability = beliefs[1][m];
    std::tie(one.low, one.high) = std::minmax({beliefs[0][m], beliefs[1][m], beliefs[2][m]});
    one.prior = priors.by_level[1][m];
    one.fibres = fibres[m];
    one.found_fibres.assign(piece.fibres.begin(), piece.fibres.end());
    one.clear_samples = piece.clear_samples;
    one.samples_needed = material.samples_needed;
    const auto company = found_in_company.find(forest.company_of(m));
    const auto standing = standing_of(data, question, material, known[m], piece,
                                      company == found_in_company.end() ? nullptr : &company->second);
    one.standing = standing.standing;
    one.reasons.push_back(standing.why);
    if (material.prior) {
      one.reasons.push_back({fmt::format("Before any test {} was given for it.", percent(one.prior)), "book"});
    } else {
      one.reasons.push_back({fmt::format("Before any test {} ({} to {}) for its family {}: {}", percent(one.prior),
                                         percent(priors.by_level[0][m]), percent(priors.by_level[2][m]),
                                         years_text(material.years), known[m].family->why),
                             known[m].family->source});
    }
    if (!piece.found && piece.clear_samples == 0 && std::abs(one.probability - one.prior) >= 0.005) {
      one.reasons.push_back(
          {fmt::format("What is known of its look-alikes moves that to {}.", percent(one.probability)), "arithmetic"});
    } else if (piece.found || piece.clear_samples > 0) {
      one.reasons.push_back(
          {fmt::format("Results and look-alikes move that to {}.", percent(one.probability)), "arithmetic"});
    }
    answer.materials.push_back(std::move(one));
  }
  std::set<std::size_t> told;
  for (std::size_t p = 0; p < pieces.size(); ++p) {
    const auto& piece = pieces[p];
    if (piece.said_found.empty() || piece.said_clear.empty()) continue;
    std::set<std::string> both = piece.said_found;
    both.insert(piece.said_clear.begin(), piece.said_clear.end());
    Conflict conflict{{both.begin(), both.end()},
                      fmt::format("Results of one piece speak against each other: found in {}, clear in {}. Both are "
                                  "kept, and the find decides.",
                                  listed(piece.said_found), listed(piece.said_clear))};
    answer.reasons.push_back({conflict.text, "book"});
    answer.conflicts.push_back(std::move(conflict));
    told.insert(forest.tree_of_piece(p));
  }
  std::map<std::size_t, std::set<std::string>>
      torn;  // trees whose results cannot all be true, without a conflict within one piece
  for (std::size_t i = 0; i < at.size(); ++i) {
    const std::size_t p = forest.piece_of(at[i]);
    if (softened[p] && !told.contains(forest.tree_of_piece(p)))
      torn[forest.tree_of_piece(p)].insert(question.results[i].material);
  }
  for (const auto& [tree, ids] : torn) {
    Conflict conflict{
        {ids.begin(), ids.end()},
        fmt::format(
            "What is given of {} cannot all be true as stated (a certainty meets its opposite). All of it is kept; no "
            "certainty is taken as quite certain there.",
            listed(ids))};
    answer.reasons.push_back({conflict.text, "book"});
    answer.conflicts.push_back(std::move(conflict));
  }
  answer.reasons.push_back(
      {"A belief says what is worth testing. It never releases work: only enough clear samples of the piece, or proof "
       "that it was put in after the ban, do.",
       "judgement"});
  return answer;
}

}  // namespace lathbook::evidence
