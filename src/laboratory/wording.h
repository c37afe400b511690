// The words in which laboratories say what they found, in one cell of a table or one sentence.
//
// "No asbestos detected", "not detected", "NAD" and "NADIS" (no asbestos detected in sample) are the trade's; so are
// the six regulated kinds and their colours. What is not known here counts as unknown, never as a finding.
#pragma once

#include <cstddef>
#include <set>
#include <span>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "laboratory/rows.h"

namespace lathbook::laboratory {

/// A stretch of words that are known together, or one word or mark by itself.
enum class Part {
  kNoAsbestos,    ///< "no asbestos detected", "NAD": of asbestos as a whole
  kNoneDetected,  ///< "not detected", "none detected": of what, the heading says
  kNoFibre,       ///< "amosite: not detected": of that kind alone
  kFibre,         ///< a kind by its name
  kAsbestos,      ///< "asbestos detected", "contains asbestos", "positive for asbestos"
  kTrace,         ///< "trace", "traces of asbestos"
  kOtherFibres,   ///< "organic fibres detected": no asbestos, and often told beside it
  kNotAnalysed,   ///< "not analysed", "void", "insufficient sample", "to follow"
  kLoose,         ///< half a finding: "detected", "present", "ND", "no asbestos" without a verb
  kNegator,       ///< "no", "not", "none" … that belongs to none of the above
  kReserve,       ///< "except", "see note", "*", "?": something is said elsewhere, or not for certain
  kMaybe,         ///< "suspected", "possible"
  kKey,           ///< a word that heads a column or a line: "sample", "result", "ref"
  kLabel,         ///< put in by the reader where a sample's name stands
  kMark,          ///< punctuation
  kOther,         ///< any other word
};

struct Piece {
  Part part = Part::kOther;
  std::size_t first = 0;  ///< words of the cell
  std::size_t past = 0;
  std::set<book::Fibre> fibres{};  ///< of kFibre and kNoFibre
};

/// A cell taken apart, every word in exactly one piece. `labels` marks words that are part of a sample's name; empty =
/// none is.
[[nodiscard]] std::vector<Piece> pieces_of(const Cell& cell, const std::vector<bool>& labels = {});

/// Whether every word of a row is one that heads columns: no finding stands in it.
[[nodiscard]] bool is_heading(const Row& row);

/// How many of a row's cells are nothing but the name of a kind: the heading of a table with a column for each.
[[nodiscard]] std::size_t cells_that_name_a_kind(const Row& row);

/// "2-5 %", "<0.1%": the amount a cell tells, if it is one alone.
[[nodiscard]] std::string_view amount_in(std::string_view shown);

}  // namespace lathbook::laboratory
