#include "laboratory/wording.h"

#include <algorithm>
#include <array>
#include <optional>
#include <string>

namespace lathbook::laboratory {
namespace {

using book::Fibre;

struct FibreName {
  std::string_view name;
  Fibre fibre;
};
// Grunerite is the mineral that amosite is the trade name of, riebeckite that of crocidolite.
constexpr FibreName kFibreNames[] = {
    {"chrysotile", Fibre::kChrysotile},       {"amosite", Fibre::kAmosite},        {"grunerite", Fibre::kAmosite},
    {"crocidolite", Fibre::kCrocidolite},     {"riebeckite", Fibre::kCrocidolite}, {"tremolite", Fibre::kTremolite},
    {"anthophyllite", Fibre::kAnthophyllite}, {"actinolite", Fibre::kActinolite},
};

/// The kinds whose names stand anywhere in a word: "amosite/chrysotile", "chrysotile-cement".
std::set<Fibre> fibres_in(std::string_view word) {
  std::set<Fibre> found;
  for (const auto& [name, fibre] : kFibreNames) {
    if (word.find(name) != std::string_view::npos) found.insert(fibre);
  }
  return found;
}

/// Words one after another: "a|b" is either, "[a|b]" may be left out, "FIBRE" is a kind, "[:]" a mark between.
struct Pattern {
  Part part;
  std::string_view words;
};

// Tried in this order, the first that fits is taken: what takes back comes before what it takes back.
constexpr Pattern kPatterns[] = {
    {Part::kReserve, "no trace|traces|significant|visible|obvious|apparent|further|other|more|evidence"},
    {Part::kReserve, "except|excepting|excluding|apart|however|although|though|unless|whereas"},
    {Part::kReserve, "but"},
    {Part::kReserve, "other than"},
    {Part::kReserve, "inconclusive|indeterminate|uncertain|unclear|provisional|draft|interim|repeat|retest|re-test"},
    {Part::kReserve, "see|note|notes|comment|comments|remark|remarks|footnote|query"},

    {Part::kNotAnalysed,
     "[was|were] not [been] analysed|analyzed|tested|examined|received|suitable|submitted|analysable|reported"},
    {Part::kNotAnalysed, "not yet [analysed|analyzed|tested|examined|reported]"},
    {Part::kNotAnalysed, "could|can not [be] [analysed|analyzed|tested|examined]"},
    {Part::kNotAnalysed, "cannot [be] [analysed|analyzed|tested|examined]"},
    {Part::kNotAnalysed, "void|voided|rejected|cancelled|pending|awaiting|awaited|unsuitable|untested|unanalysed"},
    {Part::kNotAnalysed, "insufficient [sample|material|quantity]"},
    {Part::kNotAnalysed, "to follow"},
    {Part::kNotAnalysed, "on hold"},
    {Part::kNotAnalysed, "no sample|result [received]"},
    {Part::kNotAnalysed, "sample lost|missing|damaged|destroyed|leaked"},

    {Part::kNoAsbestos,
     "no asbestos [fibres|fibers|fibre|fiber|minerals] [was|were|is|are|has|have] [been] "
     "detected|found|identified|observed|present [in] [the|this] [sample]"},
    {Part::kNoAsbestos,
     "asbestos [fibres|fibers|fibre|fiber] [:] [was|were|is|are|has|have] not [been] "
     "detected|found|identified|observed|present [in] [the|this] [sample]"},
    {Part::kNoAsbestos, "asbestos [:] none [detected|found|identified|observed]"},
    {Part::kNoAsbestos, "negative for asbestos"},
    {Part::kNoAsbestos, "nad|nadis|n.a.d|n.a.d.i.s"},
    {Part::kNoFibre,
     "FIBRE [asbestos] [fibres|fibers] [:] [was|were|is|are] not [been] detected|found|identified|observed|present"},
    {Part::kNoFibre, "FIBRE [:] none [detected|found|identified|observed]"},
    {Part::kNoFibre, "FIBRE [:] nad"},
    {Part::kNoFibre,
     "no FIBRE [asbestos] [fibres|fibers] [was|were|is|are] [been] detected|found|identified|observed|present"},
    {Part::kNoneDetected, "not detected [in] [the|this] [sample]"},
    {Part::kNoneDetected, "none detected|identified|observed [in] [the|this] [sample]"},

    {Part::kAsbestos,
     "asbestos [fibres|fibers|fibre|fiber] [:] [was|were|is|are|has|have] [been] "
     "detected|found|identified|observed|present|confirmed"},
    {Part::kAsbestos, "contains|contained asbestos"},
    {Part::kAsbestos, "positive for asbestos"},
    {Part::kTrace, "trace|traces [of] [asbestos]"},
    {Part::kFibre, "FIBRE [asbestos]"},

    // Laboratories tell what else they saw (the wording of Australian reports, from memory).
    {Part::kOtherFibres,
     "organic|cellulose|vegetable|glass|synthetic|textile [mineral] fibres|fibers|fibre|fiber [was|were] "
     "[detected|identified|present|found]"},
    {Part::kLoose, "no|any asbestos"},
    {Part::kLoose, "detected|identified|confirmed|positive|present|found|observed|nd|n.d|n/d|yes|serpentine|amphibole"},
    {Part::kMaybe, "suspected|suspect|possible|possibly|probable|probably|presumed|may|might|likely|appears|assumed"},
    {Part::kKey,
     "sample|samples|client|client's|customer|your|our|lab|laboratory|report|job|bag|item|id|ref|reference|label"},
    {Part::kKey, "result|results|analysis|finding|findings|identification|conclusion|type|types|kind|content"},
    {Part::kKey, "number|nr"},
    {Part::kNegator,
     "no|not|none|non|nil|neither|nor|without|never|free|absent|negative|isn't|wasn't|weren't|n/a|cannot|unable"},
};

/// A pattern cut into its elements once.
struct Element {
  std::vector<std::string_view> any;
  bool optional = false;
  bool fibre = false;
  bool mark = false;
};
struct Known {
  Part part;
  std::vector<Element> elements;
};

std::vector<Known> cut_patterns() {
  std::vector<Known> all;
  for (const auto& [part, words] : kPatterns) {
    Known known{part, {}};
    for (std::size_t at = 0; at < words.size();) {
      const auto end = std::min(words.find(' ', at), words.size());
      auto word = words.substr(at, end - at);
      at = end + 1;
      if (word.empty()) continue;
      Element element;
      if (word.front() == '[') {
        element.optional = true;
        word = word.substr(1, word.size() - 2);
      }
      element.fibre = word == "FIBRE";
      element.mark = word == ":";
      for (std::size_t from = 0; from <= word.size();) {
        const auto bar = std::min(word.find('|', from), word.size());
        element.any.push_back(word.substr(from, bar - from));
        from = bar + 1;
      }
      known.elements.push_back(std::move(element));
    }
    all.push_back(std::move(known));
  }
  return all;
}

bool is_colon(const Word& word) { return word.mark && (word.text == ":" || word.text == "-" || word.text == "="); }

/// Where a pattern that begins at `from` ends; empty when it does not fit. No label may lie within.
std::optional<Piece> fit(const Known& known, const std::vector<Word>& words, const std::vector<bool>& labels,
                         std::size_t from) {
  Piece piece{known.part, from, from, {}};
  std::size_t at = from;
  for (const auto& element : known.elements) {
    const bool there = at < words.size() && (labels.empty() || !labels[at]);
    bool fits = false;
    if (there && element.mark) {
      fits = is_colon(words[at]);
    } else if (there && element.fibre) {
      const auto& text = words[at].text;
      fits = std::any_of(std::begin(kFibreNames), std::end(kFibreNames),
                         [&](const FibreName& one) { return one.name == text; });
      const auto colour = text == "white"   ? std::optional(Fibre::kChrysotile)
                          : text == "brown" ? std::optional(Fibre::kAmosite)
                          : text == "blue"  ? std::optional(Fibre::kCrocidolite)
                                            : std::nullopt;
      if (fits) {
        piece.fibres.merge(fibres_in(text));
      } else if (colour && at + 1 < words.size() && words[at + 1].text == "asbestos") {
        piece.fibres.insert(*colour);
        fits = true;
      }
    } else if (there && !words[at].mark) {
      fits = std::find(element.any.begin(), element.any.end(), words[at].text) != element.any.end();
    }
    if (fits) {
      ++at;
    } else if (!element.optional) {
      return std::nullopt;
    }
  }
  piece.past = at;
  return piece;
}

}  // namespace

std::vector<Piece> pieces_of(const Cell& cell, const std::vector<bool>& labels) {
  static const std::vector<Known> kKnown = cut_patterns();
  const auto& words = cell.words;
  std::vector<Piece> pieces;
  for (std::size_t at = 0; at < words.size();) {
    if (!labels.empty() && labels[at]) {
      pieces.push_back({Part::kLabel, at, at + 1, {}});
      ++at;
      continue;
    }
    const auto& word = words[at];
    if (word.mark) {
      pieces.push_back({word.text == "*" || word.text == "?" ? Part::kReserve : Part::kMark, at, at + 1, {}});
      ++at;
      continue;
    }
    // "No." before a label, or behind "sample", is a number and not a denial.
    const bool numbers = word.text == "no" &&
                         ((!pieces.empty() && pieces.back().part == Part::kKey) ||
                          (at + 2 < words.size() && words[at + 1].text == "." && !labels.empty() && labels[at + 2]));
    std::optional<Piece> found;
    if (!numbers) {
      for (const auto& known : kKnown) {
        if ((found = fit(known, words, labels, at))) break;
      }
    } else if (at + 1 == words.size() || words[at + 1].mark || (!labels.empty() && labels[at + 1])) {
      found = Piece{Part::kKey, at, at + 1, {}};
    } else {
      // "Sample no asbestos detected": whichever it was meant as, somebody should read it.
      found = Piece{Part::kNegator, at, at + 1, {}};
    }
    if (!found) {
      auto fibres = fibres_in(word.text);
      found = Piece{fibres.empty() ? Part::kOther : Part::kFibre, at, at + 1, std::move(fibres)};
    }
    const bool denies = found->part == Part::kNoAsbestos || found->part == Part::kNoneDetected;
    const auto& last = words[found->past - 1].text;
    if (denies && (last == "in" || last == "the" || last == "this") &&
        (labels.empty() || found->past >= words.size() || !labels[found->past]))
      found->part = Part::kReserve;  // in what, stands elsewhere
    at = found->past;
    pieces.push_back(std::move(*found));
  }
  return pieces;
}

bool is_heading(const Row& row) {
  static constexpr std::array kFirst = {"sample", "samples",   "client", "client's", "customer", "your", "our",  "lab",
                                        "ref",    "reference", "id",     "label",    "no",       "nr",   "item", "bag"};
  static constexpr std::array kOther = {
      "laboratory",     "number", "location", "where",    "area",     "description", "material", "type",
      "types",          "kind",   "result",   "results",  "analysis", "asbestos",    "fibre",    "fibres",
      "fiber",          "fibers", "detected", "present",  "found",    "content",     "amount",   "identified",
      "identification", "date",   "taken",    "received", "method",   "comments",    "comment",  "notes",
      "remarks",        "and",    "of",       "or",       "in",       "the",         "finding",  "findings",
      "product",        "site",   "size",     "trace",    "analysed"};
  const auto is_one_of = [](const auto& list, const std::string& word) {
    return std::find(list.begin(), list.end(), word) != list.end();
  };
  if (row.cells.size() < 3) return false;  // two are a heading and its value as likely as two headings
  bool starts = false;
  for (const auto& word : row.cells.front().words) starts = starts || is_one_of(kFirst, word.text);
  if (!starts) return false;
  for (const auto& cell : row.cells) {
    for (const auto& word : cell.words) {
      if (!word.mark && !is_one_of(kFirst, word.text) && !is_one_of(kOther, word.text)) return false;
    }
    for (const auto& piece : pieces_of(cell)) {
      if (piece.part == Part::kNoAsbestos || piece.part == Part::kNoneDetected) return false;
    }
  }
  return true;
}

std::size_t cells_that_name_a_kind(const Row& row) {
  return static_cast<std::size_t>(std::count_if(row.cells.begin(), row.cells.end(), [](const Cell& cell) {
    return std::all_of(cell.words.begin(), cell.words.end(),
                       [](const Word& word) {
                         return word.mark || !fibres_in(word.text).empty() || word.text == "asbestos";
                       }) &&
           std::any_of(cell.words.begin(), cell.words.end(),
                       [](const Word& word) { return !fibres_in(word.text).empty(); });
  }));
}

std::string_view amount_in(std::string_view shown) {
  const auto percent = shown.find('%');
  if (percent == std::string_view::npos || shown.find('%', percent + 1) != std::string_view::npos) return {};
  auto from = percent;
  while (from > 0 && std::string_view("0123456789.,-<>~ ").find(shown[from - 1]) != std::string_view::npos) --from;
  while (from < percent && (shown[from] == ' ' || shown[from] == '-' || shown[from] == ',' || shown[from] == '.'))
    ++from;
  if (from == percent) return {};
  return shown.substr(from, percent - from + 1);
}

}  // namespace lathbook::laboratory
