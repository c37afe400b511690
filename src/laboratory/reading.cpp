#include "laboratory/reading.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <map>
#include <unordered_map>

#include "book/words.h"
#include "laboratory/letterhead.h"
#include "laboratory/rows.h"
#include "laboratory/wording.h"

namespace lathbook::laboratory {
namespace {

using book::Fibre;

constexpr std::size_t kMostWordsOfAName = 16;
constexpr std::size_t kLongestWord = 40;
constexpr std::size_t kMostLinesTold = 12;
constexpr std::size_t kLongestLineTold = 400;  // bytes
constexpr std::size_t kMostStrangers = 200;
constexpr std::size_t kKinds = 6;
constexpr std::size_t kNone = static_cast<std::size_t>(-1);

template <class List>
bool is_one_of(const List& list, std::string_view word) {
  return std::find(std::begin(list), std::end(list), word) != std::end(list);
}

bool has_letter(std::string_view text) {
  return std::any_of(text.begin(), text.end(),
                     [](char c) { return (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80; });
}
bool has_digit(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

/// The words of a name as one text to look it up by.
std::string key_of(const Word* first, std::size_t count) {
  std::string key;
  for (std::size_t i = 0; i < count; ++i) {
    if (i > 0) key += ' ';
    key += first[i].text;
  }
  return key;
}

// ---- the names of the samples ---------------------------------------------------------------------------------------

struct Name {
  std::vector<std::size_t> samples;  ///< more than one = it tells none of them
  std::string shown;                 ///< as the book has it
  bool weak = false;                 ///< a bare number or an ordinary word
  bool by_number_only = false;       ///< the book's own number, though the bag bears another label
};

class Names {
 public:
  explicit Names(std::span<const SampleNames> samples) {
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const auto& one = samples[i];
      const auto label = words_of(one.label);
      const bool own =
          !label.empty() && (words_of(one.id).empty() || label.front().text != words_of(one.id).front().text);
      add(one.label, i, false);
      add(one.laboratory_ref, i, false);
      add(one.id, i, own);
    }
  }

  struct Match {
    std::size_t first = 0;
    std::size_t past = 0;
    const Name* name = nullptr;
  };

  /// The names in a cell: the longest of those that overlap, and whether a shorter one among them means another sample.
  [[nodiscard]] std::vector<Match> in(const Cell& cell, bool& ambiguous) const {
    const auto& words = cell.words;
    const auto filled = std::count_if(words.begin(), words.end(), [](const Word& word) { return !word.mark; });
    std::vector<Match> all;
    for (std::size_t at = 0; at < words.size(); ++at) {
      if (words[at].mark) continue;
      for (const auto length : lengths_) {
        if (at + length > words.size()) continue;
        const auto found = names_.find(key_of(&words[at], length));
        if (found == names_.end()) continue;
        if (found->second.weak && static_cast<std::size_t>(filled) != length) continue;
        all.push_back({at, at + length, &found->second});
      }
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const Match& a, const Match& b) { return a.past - a.first > b.past - b.first; });
    std::vector<Match> chosen;
    std::vector<const Name*> taken(all.empty() ? 0 : words.size(), nullptr);
    for (const auto& match : all) {
      const Name* over = nullptr;
      for (auto w = match.first; w < match.past; ++w) over = over == nullptr ? taken[w] : over;
      if (over == nullptr) {
        chosen.push_back(match);
        for (auto w = match.first; w < match.past; ++w) taken[w] = match.name;
      } else if (match.name->samples != over->samples) {
        ambiguous = true;
      }
    }
    return chosen;
  }

  /// Names that a word holds beside something else: S1 in "S1a", "S1/2" and "S3/S1", but not in "S10".
  [[nodiscard]] std::vector<const Name*> within(const std::string& word) const {
    std::vector<const Name*> found;
    if (word.size() > kLongestWord) return found;
    const auto look_up = [&](const std::string& part) {
      if (const auto name = names_.find(part); name != names_.end() && !name->second.weak)
        found.push_back(&name->second);
    };
    for (std::size_t length = word.size() - 1; length > 1; --length) {
      if (word[length] < '0' || word[length] > '9') look_up(word.substr(0, length));
    }
    for (auto from = word.find('/'); from != std::string::npos; from = word.find('/', from + 1)) {
      const auto to = std::min(word.find('/', from + 1), word.size());
      look_up(word.substr(from + 1, to - from - 1));
    }
    return found;
  }

 private:
  void add(const std::string& text, std::size_t sample, bool by_number_only) {
    const auto words = words_of(text);
    if (words.empty() || words.size() > kMostWordsOfAName || words.front().mark) return;
    const auto key = key_of(words.data(), words.size());
    const auto [at, fresh] = names_.try_emplace(key);
    auto& name = at->second;
    if (fresh) {
      name.shown = text;
      name.weak = !has_letter(key) || !has_digit(key);
      name.by_number_only = by_number_only;
      if (!is_one_of(lengths_, words.size())) lengths_.push_back(words.size());
    } else {
      name.by_number_only = name.by_number_only && by_number_only;
    }
    if (!is_one_of(name.samples, sample)) name.samples.push_back(sample);
  }

  static bool is_one_of(const std::vector<std::size_t>& list, std::size_t one) {
    return std::find(list.begin(), list.end(), one) != list.end();
  }

  std::unordered_map<std::string, Name> names_;
  std::vector<std::size_t> lengths_;
};

// ---- a line of the report -------------------------------------------------------------------------------------------

struct Facts {
  int no_asbestos = 0;
  int none_detected = 0;
  std::set<Fibre> not_these;
  std::set<Fibre> fibres;
  bool asbestos = false;
  bool trace = false;
  bool not_analysed = false;
  bool loose = false;
  bool reserve = false;
  bool share = false;  ///< a per cent sign

  void take(const Cell& cell, const std::vector<Piece>& pieces) {
    for (const auto& piece : pieces) {
      switch (piece.part) {
        case Part::kNoAsbestos:
          ++no_asbestos;
          break;
        case Part::kNoneDetected:
          ++none_detected;
          break;
        case Part::kNoFibre:
          not_these.insert(piece.fibres.begin(), piece.fibres.end());
          break;
        case Part::kFibre:
          fibres.insert(piece.fibres.begin(), piece.fibres.end());
          break;
        case Part::kAsbestos:
          asbestos = true;
          break;
        case Part::kTrace:
          trace = true;
          break;
        case Part::kNotAnalysed:
          not_analysed = true;
          break;
        case Part::kLoose:
          loose = true;
          break;
        case Part::kReserve:
          reserve = true;
          break;
        default:
          break;
      }
    }
    share = share || cell.text.find('%') != std::string::npos;
  }

  [[nodiscard]] bool find() const { return !fibres.empty() || asbestos || trace; }
  [[nodiscard]] bool denial() const { return no_asbestos + none_detected > 0 || not_these.size() == kKinds; }
  [[nodiscard]] bool any() const { return find() || denial() || !not_these.empty() || not_analysed; }
};

struct Line {
  Row row;
  std::vector<std::vector<Piece>> pieces;  ///< of each cell
  Facts facts;
  std::set<std::size_t> samples;
  std::map<std::size_t, const Name*> names;  ///< by which each of the samples is named
  std::size_t label_cell = 0;
  bool ambiguous = false;
  bool heading = false;
  bool stranger = false;  ///< names a sample that is none of the book's
  bool in_notes = false;

  void name_samples(const Name* by) {
    for (const auto sample : by->samples) {
      samples.insert(sample);
      // Of two names for one sample, the one that tells more.
      auto& known = names[sample];
      if (known == nullptr || (known->by_number_only && !by->by_number_only)) known = by;
    }
  }

  [[nodiscard]] bool anchored() const { return !samples.empty() || stranger; }
};

constexpr std::array<std::string_view, 9> kRefs = {"ref", "reference", "no",     "number", "id",
                                                   "nr",  "label",     "sample", "samples"};

/// A word that may be the name of a sample: letters and digits, no day, no unit.
bool name_like(std::string_view word) {
  if (word.size() > 24 || !has_digit(word) || day_in(word)) return false;
  if (word.starts_with("iso") || word.starts_with("hsg") || word.starts_with("bs") || word == "as4964") return false;
  // The bare number before a row or an item of a list is no name.
  return has_letter(word) || word.size() > 3 || word.find_first_of("-/") != std::string_view::npos;
}

/// What a line that names no sample of the book calls the sample it is about; empty = it is about none.
std::string stranger_in(const Line& line) {
  if (line.row.blank()) return {};
  const auto& cell = line.row.cells.front();
  const auto& pieces = line.pieces.front();
  bool said = false;  // "sample", "ref"
  bool colon = false;
  for (const auto& piece : pieces) {
    const auto& word = cell.words[piece.first];
    if (piece.part == Part::kKey) {
      said = said || is_one_of(kRefs, word.text);
    } else if (piece.part == Part::kMark) {
      colon = colon || word.text == ":";
    } else if (piece.part == Part::kOther && name_like(word.text) && (said || line.facts.any())) {
      return word.text;
    } else {
      break;
    }
  }
  // "Sample reference:" and then something that is no name we know of: a new sample all the same.
  if (said && colon && !line.facts.any() && line.row.cells.size() == 2) {
    const auto& second = line.row.cells[1];
    if (!second.words.empty() && name_like(second.words.front().text)) return second.words.front().text;
  }
  return {};
}

// ---- the whole report -----------------------------------------------------------------------------------------------

/// What one line makes of a sample.
struct Verdict {
  Said said = Said::kUnclear;
  std::set<Fibre> fibres{};
  std::string amount{};
  std::string doubt{};               ///< of kUnclear
  std::vector<std::size_t> lines{};  ///< besides its own
};
Verdict unclear(std::string doubt, std::vector<std::size_t> lines = {}) {
  return {Said::kUnclear, {}, {}, std::move(doubt), std::move(lines)};
}

class Report {
 public:
  Report(std::string_view text, const Names& names) {
    bool notes = false;
    for (auto& row : rows_of(text)) {
      Line line;
      line.row = std::move(row);
      name_and_cut(line, names);
      line.heading = line.samples.empty() && is_heading(line.row);
      line.stranger = line.samples.empty() && !line.heading && !stranger_in(line).empty();
      if (line.anchored()) notes = false;
      notes = notes || begins_notes(line.row);
      line.in_notes = notes;
      lines_.push_back(std::move(line));
    }
    before_.resize(lines_.size());
    after_.resize(lines_.size());
    std::size_t last = kNone;
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      before_[i] = last;
      if (lines_[i].anchored()) last = i;
    }
    last = kNone;
    for (std::size_t i = lines_.size(); i-- > 0;) {
      after_[i] = last;
      if (lines_[i].anchored()) last = i;
    }
    look_for_what_else();
  }

  [[nodiscard]] const std::vector<Line>& lines() const { return lines_; }

  /// What line `i`, which names samples of the book, says of them; empty = nothing.
  [[nodiscard]] std::optional<Verdict> judge(std::size_t i) const {
    const auto& line = lines_[i];
    const auto& facts = line.facts;
    const bool says = facts.any() || facts.loose;
    if (line.samples.size() > 1 || line.ambiguous) {
      if (!says) return std::nullopt;
      return unclear("the line names more than one sample");
    }
    if (!says) return heads_block(line) ? judge_block(i) : std::nullopt;
    if (facts.not_analysed) {
      if (facts.find() || facts.denial() || !facts.not_these.empty())
        return unclear("the line speaks of a finding and of no analysis");
      return Verdict{Said::kNotAnalysed};
    }
    const bool both =
        facts.find() && (facts.denial() || std::any_of(facts.fibres.begin(), facts.fibres.end(),
                                                       [&](Fibre one) { return facts.not_these.contains(one); }));
    if (both) return unclear("the line says both that asbestos was found and that it was not");
    if (facts.find() || bare_find(line)) return judge_find(i, line.label_cell);
    if (facts.denial()) return judge_denial(i);
    if (!facts.not_these.empty()) return unclear(only_these(facts.not_these));
    return unclear("the line holds half a finding");
  }

  /// Lines right below that may belong to a row, for a person to see.
  [[nodiscard]] std::vector<std::size_t> right_below(std::size_t i) const {
    std::vector<std::size_t> rows;
    for (std::size_t j = i + 1; j < lines_.size() && rows.size() < 3 && !lines_[j].row.blank() && !lines_[j].anchored();
         ++j)
      rows.push_back(j);
    return rows;
  }

 private:
  static void name_and_cut(Line& line, const Names& names) {
    for (std::size_t c = 0; c < line.row.cells.size(); ++c) {
      const auto& cell = line.row.cells[c];
      const auto found = names.in(cell, line.ambiguous);
      std::vector<bool> labels(found.empty() ? 0 : cell.words.size(), false);
      for (const auto& match : found) {
        if (line.samples.empty()) line.label_cell = c;
        line.name_samples(match.name);
        std::fill(labels.begin() + static_cast<std::ptrdiff_t>(match.first),
                  labels.begin() + static_cast<std::ptrdiff_t>(match.past), true);
      }
      line.pieces.push_back(pieces_of(cell, labels));
      line.facts.take(cell, line.pieces.back());
    }
    // A part of a sample, or several in one word: a finding there is no plain word on any.
    if (!line.facts.any() && !line.facts.loose) return;
    for (const auto& cell : line.row.cells) {
      for (const auto& word : cell.words) {
        if (word.mark) continue;
        for (const auto* name : names.within(word.text)) {
          if (std::all_of(name->samples.begin(), name->samples.end(),
                          [&](std::size_t s) { return line.samples.contains(s); }))
            continue;
          line.ambiguous = true;
          line.name_samples(name);
        }
      }
    }
  }

  static bool begins_notes(const Row& row) {
    static constexpr std::array<std::string_view, 12> kWords = {"notes",       "note",          "key",         "legend",
                                                                "methods",     "method",        "definitions", "terms",
                                                                "explanation", "abbreviations", "and",         "of"};
    return row.cells.size() == 1 &&
           std::all_of(row.cells[0].words.begin(), row.cells[0].words.end(),
                       [](const Word& word) { return word.mark || is_one_of(kWords, word.text); });
  }

  /// Whether a bare "not detected" may be of something else than asbestos.
  void look_for_what_else() {
    static constexpr std::array<std::string_view, 14> kElse = {"mould",      "mold",     "silica", "pcb",     "pcbs",
                                                               "pah",        "pahs",     "metals", "arsenic", "mercury",
                                                               "legionella", "bacteria", "mmmf",   "smf"};
    static constexpr std::array<std::string_view, 6> kLeads = {"analyst", "surveyor", "consultant",
                                                               "auditor", "time",     "times"};
    bool asbestos = false;
    for (const auto& line : lines_) {
      for (const auto& cell : line.row.cells) {
        for (std::size_t w = 0; w < cell.words.size(); ++w) {
          const auto& word = cell.words[w].text;
          asbestos = asbestos || word.find("asbestos") != std::string::npos;
          const bool lead =
              word == "lead" && (w + 1 >= cell.words.size() || !is_one_of(kLeads, cell.words[w + 1].text));
          something_else_ = something_else_ || lead || is_one_of(kElse, word);
        }
      }
      // A column headed by a kind; a row that tells of a find names its sample, a block's line what it is.
      const auto kinds = line.samples.empty() ? cells_that_name_a_kind(line.row) : 0;
      const bool row = line.stranger || line.row.cells.size() < 2 || announced(line);
      matrix_ = matrix_ || kinds > 1 || (kinds == 1 && !row);
    }
    asbestos_alone_ = asbestos && !something_else_;
  }

  static std::string only_these(const std::set<Fibre>& fibres) {
    std::vector<std::string_view> names;
    for (const auto one : fibres) names.push_back(book::word(one));
    return fmt::format("only {} {} said not to be there, and of the other kinds nothing", fmt::join(names, ", "),
                       names.size() == 1 ? "is" : "are");
  }

  /// A cell that is nothing but "detected", in a report about asbestos alone.
  [[nodiscard]] bool bare_find(const Line& line) const {
    if (!asbestos_alone_ || matrix_ || line.facts.denial()) return false;
    return std::any_of(line.row.cells.begin(), line.row.cells.end(), [](const Cell& cell) {
      return cell.words.size() == 1 && (cell.words[0].text == "detected" || cell.words[0].text == "positive");
    });
  }

  /// A line with a sample's name, words that announce it and nothing else.
  static bool heads_block(const Line& line) {
    bool announced = false;
    for (const auto& pieces : line.pieces) {
      for (const auto& piece : pieces) {
        announced = announced || piece.part == Part::kKey;
        if (piece.part != Part::kKey && piece.part != Part::kLabel && piece.part != Part::kMark) return false;
      }
    }
    return announced;
  }

  static bool pure_label(const std::vector<Piece>& pieces) {
    return std::all_of(pieces.begin(), pieces.end(), [](const Piece& piece) {
      return piece.part == Part::kLabel || piece.part == Part::kKey || piece.part == Part::kMark;
    });
  }

  static bool denies(Part part) {
    return part == Part::kNoAsbestos || part == Part::kNoneDetected || part == Part::kNoFibre;
  }
  static bool finds(Part part) { return part == Part::kFibre || part == Part::kAsbestos || part == Part::kTrace; }

  template <class Test>
  static std::size_t count(const std::vector<Piece>& pieces, Test test) {
    return static_cast<std::size_t>(
        std::count_if(pieces.begin(), pieces.end(), [&](const Piece& piece) { return test(piece.part); }));
  }

  /// Whether name and finding in one cell make up one line of a list ("M2-1: …") or one sentence ("… in sample M2-1.").
  template <class Test>
  static bool one_statement(const Cell& cell, const std::vector<Piece>& pieces, Test is_finding) {
    std::size_t label = kNone;
    std::size_t finding = kNone;
    std::size_t last_finding = 0;
    for (std::size_t p = 0; p < pieces.size(); ++p) {
      if (pieces[p].part == Part::kLabel && label == kNone) label = p;
      if (is_finding(pieces[p].part)) {
        if (finding == kNone) finding = p;
        last_finding = p;
      }
    }
    if (label == kNone || finding == kNone) return false;
    const auto stop = [&](std::size_t p) {
      const auto& word = cell.words[pieces[p].first];
      return word.mark && (word.text == "." || word.text == ";");
    };
    const auto from = std::min(label, finding);
    const auto to = std::max(label, last_finding);
    for (std::size_t p = from; p < to; ++p) {
      if (stop(p) && pieces[p].part == Part::kMark) return false;
    }
    // "No asbestos was detected in M2-1": the name right behind, with nothing but "in sample" between.
    if (finding < label) {
      static constexpr std::array<std::string_view, 16> kBetween = {
          "in", "sample", "the",      "of",    "from",       "for",      "was",     "were",
          "is", "are",    "detected", "found", "identified", "observed", "present", "asbestos"};
      for (std::size_t p = last_finding + 1; p < label; ++p) {
        if (!is_one_of(kBetween, cell.words[pieces[p].first].text)) return false;
      }
    }
    return true;
  }

  /// The last word of the line before this that names a sample or tells a finding leaves its sentence open.
  [[nodiscard]] bool goes_on_from_before(std::size_t i) const {
    static constexpr std::array<std::string_view, 37> kOpen = {
        "in",        "of",  "and",   "or",    "for",     "from",     "with", "to",   "sample",  "samples",
        "the",       "a",   "on",    "that",  "not",     "no",       "by",   "at",   "than",    "but",
        "except",    "was", "were",  "is",    "are",     "has",      "have", "been", "contain", "contains",
        "contained", "as",  "apart", "while", "whereas", "although", "when"};
    const auto open = [&](const Line& line) {
      const auto& words = line.row.cells.back().words;
      const auto& last = words.back();
      if (last.mark)
        return last.text == "," || last.text == "-" || last.text == "&" || last.text == "+" || last.text == "(";
      return is_one_of(kOpen, last.text);
    };
    for (std::size_t j = i; j-- > 0;) {
      const auto& line = lines_[j];
      if (line.row.blank() || line.heading) continue;
      const bool counts = line.anchored() || line.facts.any() || line.facts.loose || line.facts.reserve;
      const bool next_to = j + 1 == i;
      if (!counts && !next_to) continue;
      // A table's cell may end in any word; a sentence that is left open may not come before.
      if (line.row.cells.size() == 1 && open(line)) return true;
      if (counts) return false;
    }
    return false;
  }

  /// Lines above and below, in the same block of text, with something in the columns of `cell`.
  [[nodiscard]] std::vector<std::size_t> runs_on(std::size_t i, const Cell& cell) const {
    std::vector<std::size_t> rows;
    const auto overlaps = [&](const Line& line) {
      return std::any_of(line.row.cells.begin(), line.row.cells.end(),
                         [&](const Cell& other) { return other.begin < cell.end && cell.begin < other.end; });
    };
    const auto stops = [&](const Line& line) {
      return line.row.blank() || line.anchored() || line.heading || line.in_notes;
    };
    for (std::size_t j = i; j-- > 0 && !stops(lines_[j]) && lines_[j].row.page == lines_[i].row.page;) {
      if (overlaps(lines_[j])) rows.push_back(j);
      if (i - j > 8) break;
    }
    for (std::size_t j = i + 1; j < lines_.size() && !stops(lines_[j]); ++j) {
      if (overlaps(lines_[j])) rows.push_back(j);
      if (j - i > 8) break;
    }
    return rows;
  }

  /// A line that explains and reports nothing: all kinds that are looked for, what a word means, how it is done.
  static bool explains(const Line& line) {
    static constexpr std::array<std::string_view, 9> kHow = {
        "microscopy", "microscope", "method", "methods", "procedure", "technique", "accordance", "limit", "standard"};
    if (line.heading) return true;
    const auto& facts = line.facts;
    const auto& cells = line.row.cells;
    const bool verb = facts.asbestos || facts.loose;
    if (cells.size() == 1 && facts.fibres.size() >= 4 && !verb) return true;
    if (line.in_notes && !verb && !facts.trace) return true;
    const bool how = std::any_of(cells.begin(), cells.end(), [](const Cell& cell) {
      return std::any_of(cell.words.begin(), cell.words.end(),
                         [](const Word& word) { return is_one_of(kHow, word.text); });
    });
    return how && facts.fibres.empty() && !facts.trace;
  }

  /// Finds on lines without a sample's name that may belong to row `i`.
  [[nodiscard]] std::vector<std::size_t> strays(std::size_t i) const {
    std::vector<std::size_t> found;
    const auto counts = [&](const Line& line) { return line.facts.find() && !explains(line); };
    for (std::size_t j = i; j-- > 0 && !lines_[j].anchored();) {
      // Above the first sample stands what the report says of itself; its table begins at the heading or a gap.
      if (before_[i] == kNone && (lines_[j].row.blank() || lines_[j].heading)) break;
      if (counts(lines_[j])) found.push_back(j);
    }
    for (std::size_t j = i + 1; j < lines_.size() && !lines_[j].anchored(); ++j) {
      if (counts(lines_[j])) found.push_back(j);
    }
    return found;
  }

  [[nodiscard]] Verdict judge_find(std::size_t i, std::size_t label_cell) const {
    const auto& line = lines_[i];
    const auto& facts = line.facts;
    if (facts.reserve) return unclear("the line points to a note or a reserve");
    for (std::size_t c = 0; c < line.pieces.size(); ++c) {
      const auto& pieces = line.pieces[c];
      const auto& cell = line.row.cells[c];
      const bool here = count(pieces, finds) > 0;
      const bool in_doubt = count(pieces, [](Part part) { return part == Part::kNegator || part == Part::kMaybe; }) > 0;
      if (here && in_doubt) return unclear("the line does not say for certain that it was found");
      if (!here && pieces.size() == 1 && pieces[0].part == Part::kNegator) return unclear("the row also holds a no");
      if (!here) continue;
      if (c == label_cell && !line.samples.empty() && !one_statement(cell, pieces, finds))
        return unclear("the finding and the sample's name are not in one statement");
      static constexpr std::array<std::string_view, 10> kOpen = {"and", "with", "plus", "&",  "+",
                                                                 ",",   "/",    "-",    "in", "of"};
      const auto& last = cell.words.back().text;
      if (is_one_of(kOpen, last) || last.back() == '/' || last.back() == '-')
        return unclear("the row runs over several lines", right_below(i));
      for (const auto j : runs_on(i, cell)) {
        const auto& other = lines_[j].facts;
        if ((other.any() || other.loose) && !explains(lines_[j]))
          return unclear("the row runs over several lines", {j});
      }
    }
    if (!line.samples.empty() && !pure_label(line.pieces[label_cell]) && count(line.pieces[label_cell], finds) == 0)
      return unclear("the sample's name stands among other words");
    if (line.row.cells.size() == 1 && goes_on_from_before(i)) return unclear("a sentence runs over several lines");
    Verdict verdict{facts.trace ? Said::kTrace : Said::kDetected};
    verdict.fibres = facts.fibres;
    if (facts.trace && facts.fibres.empty() && !facts.asbestos && !says_asbestos(line))
      return unclear("a trace, and not of what");
    verdict.amount = amount_in(line.row.text);
    if (verdict.amount.empty() && facts.trace) verdict.amount = "trace";
    return verdict;
  }

  static bool says_asbestos(const Line& line) {
    return std::any_of(line.row.cells.begin(), line.row.cells.end(),
                       [](const Cell& cell) { return cell.text.find("asbestos") != std::string::npos; });
  }

  /// What of a line besides its denial keeps it from being taken for one; empty = nothing does.
  [[nodiscard]] std::string denial_spoilt(const Line& line) const {
    const auto& facts = line.facts;
    if (facts.reserve) return "the line points to a note or a reserve";
    if (facts.share) return "the line tells a share";
    if (facts.loose) return "the line also holds half a finding";
    if (facts.no_asbestos == 0 && facts.not_these.size() < kKinds) {
      if (!asbestos_alone_)
        return something_else_
                   ? "the report looks for other things too, and the line does not say what was not detected"
                   : "the report does not say that it is about asbestos";
      const bool blank = std::any_of(line.row.cells.begin(), line.row.cells.end(), [](const Cell& cell) {
        return std::all_of(cell.words.begin(), cell.words.end(), [](const Word& word) { return word.mark; });
      });
      if (matrix_ || blank || facts.none_detected > 1)
        return "the table has a column for each kind, and not all can be read";
    }
    if (facts.not_these.size() > 0 && facts.not_these.size() < kKinds && facts.no_asbestos == 0)
      return only_these(facts.not_these);
    for (const auto& pieces : line.pieces) {
      if (pieces.size() == 1 && pieces[0].part == Part::kNegator) return "the row also holds a no";
    }
    return {};
  }

  [[nodiscard]] Verdict judge_denial(std::size_t i) const {
    const auto& line = lines_[i];
    if (auto doubt = denial_spoilt(line); !doubt.empty()) return unclear(std::move(doubt), right_below(i));
    const bool together = count(line.pieces[line.label_cell], denies) > 0;
    for (std::size_t c = 0; c < line.pieces.size(); ++c) {
      const auto& pieces = line.pieces[c];
      const auto& cell = line.row.cells[c];
      if (count(pieces, denies) == 0) continue;
      const bool own = c == line.label_cell;
      const bool filled = std::all_of(pieces.begin(), pieces.end(), [&](const Piece& piece) {
        // "2." before an item of a list.
        const bool item = own && piece.first == 0 && piece.part == Part::kOther && !has_letter(cell.words[0].text);
        return denies(piece.part) || piece.part == Part::kMark || piece.part == Part::kKey || item ||
               piece.part == Part::kOtherFibres || (own && piece.part == Part::kLabel);
      });
      if (!filled) return unclear("something else stands beside the denial", right_below(i));
      if (own && !one_statement(cell, pieces, denies))
        return unclear("the denial and the sample's name are not in one statement", right_below(i));
      const bool ended = own && cell.words.back().text == ".";
      if (!ended) {
        if (const auto rows = runs_on(i, cell); !rows.empty()) return unclear("the row runs over several lines", rows);
      }
    }
    if (!together && !pure_label(line.pieces[line.label_cell]))
      return unclear("the sample's name stands among other words", right_below(i));
    if (goes_on_from_before(i)) return unclear("a sentence runs over several lines", {i - 1});
    if (const auto other = strays(i); !other.empty())
      return unclear("a find stands near it, on a line that names no sample", other);
    return {Said::kNoneDetected};
  }

  /// A block under a line that holds the sample's name alone.
  [[nodiscard]] std::optional<Verdict> judge_block(std::size_t i) const {
    const auto end = after_[i] == kNone ? lines_.size() : after_[i];
    std::size_t said = kNone;
    std::vector<std::size_t> others;
    for (std::size_t j = i + 1; j < end; ++j) {
      const auto& line = lines_[j];
      if ((!line.facts.any() && !line.facts.loose && !line.facts.reserve) || explains(line)) continue;
      if (said == kNone && (line.facts.any() || line.facts.loose)) {
        said = j;
      } else {
        others.push_back(j);
      }
    }
    if (said == kNone) return std::nullopt;
    const auto& line = lines_[said];
    std::vector<std::size_t> seen = {said};
    seen.insert(seen.end(), others.begin(), others.end());
    if (!others.empty()) return unclear("more than one line below it speaks of a finding", seen);
    if (line.row.page != lines_[i].row.page) return unclear("the finding stands on another page than the name", seen);
    if (!announced(line)) return unclear("no line below it says plainly what the result is", seen);
    Verdict verdict;
    const auto& facts = line.facts;
    if (facts.not_analysed) {
      verdict = facts.find() || facts.denial() ? unclear("the line speaks of a finding and of no analysis")
                                               : Verdict{Said::kNotAnalysed};
    } else if (facts.find() && (facts.denial() || !facts.not_these.empty())) {
      verdict = unclear("the line says both that asbestos was found and that it was not");
    } else if (facts.find()) {
      verdict = judge_find(said, kNone);
    } else if (facts.denial()) {
      verdict = judge_block_denial(said);
    } else {
      verdict = unclear(facts.not_these.empty() ? "the line holds half a finding" : only_these(facts.not_these));
    }
    verdict.lines.insert(verdict.lines.begin(), said);
    return verdict;
  }

  /// A line that begins with "Result", "Asbestos type" or such a word and a colon or a gap.
  static bool announced(const Line& line) {
    static constexpr std::array<std::string_view, 6> kMore = {"asbestos", "fibre", "fibres", "fiber", "fibers", "of"};
    bool key = false;
    const auto& cell = line.row.cells.front();
    for (const auto& piece : line.pieces.front()) {
      const auto& word = cell.words[piece.first];
      if (piece.part == Part::kMark && word.text == ":") return key;
      if (piece.part == Part::kNoAsbestos && word.text == "asbestos") return true;  // "Asbestos: none detected"
      const bool heads = piece.part == Part::kKey || (piece.part == Part::kOther && is_one_of(kMore, word.text));
      if (!heads) return false;
      key = true;
    }
    return key && line.row.cells.size() == 2;
  }

  [[nodiscard]] Verdict judge_block_denial(std::size_t said) const {
    static constexpr std::array<std::string_view, 6> kMore = {"asbestos", "fibre", "fibres", "fiber", "fibers", "of"};
    const auto& line = lines_[said];
    if (auto doubt = denial_spoilt(line); !doubt.empty()) return unclear(std::move(doubt));
    for (std::size_t c = 0; c < line.pieces.size(); ++c) {
      const auto& cell = line.row.cells[c];
      for (const auto& piece : line.pieces[c]) {
        const bool fits = denies(piece.part) || piece.part == Part::kMark || piece.part == Part::kKey ||
                          piece.part == Part::kOtherFibres ||
                          (piece.part == Part::kOther && is_one_of(kMore, cell.words[piece.first].text));
        if (!fits) return unclear("something else stands beside the denial");
      }
      if (count(line.pieces[c], denies) == 0) continue;
      // The next line of a block has its own heading; text without one goes on from here.
      for (const auto j : runs_on(said, cell)) {
        if (j < said) continue;
        const auto& next = lines_[j];
        const bool own = next.row.cells.size() == 2 ||
                         std::any_of(next.row.cells.front().words.begin(), next.row.cells.front().words.end(),
                                     [](const Word& word) { return word.text == ":"; });
        if (!own) return unclear("the row runs over several lines", {j});
      }
    }
    return {Said::kNoneDetected};
  }

  std::vector<Line> lines_;
  std::vector<std::size_t> before_;  ///< the line before that names a sample
  std::vector<std::size_t> after_;
  bool something_else_ = false;
  bool asbestos_alone_ = false;
  bool matrix_ = false;
};

Place place_of(const Line& line) {
  auto text = line.row.text;
  if (text.size() > kLongestLineTold) {
    auto end = kLongestLineTold;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
    text = text.substr(0, end) + " …";
  }
  return {line.row.page, line.row.number, std::move(text)};
}

/// What all lines together make of one sample.
class Gathered {
 public:
  /// What line `i` says of the sample, which it names.
  void take(const Report& report, std::size_t i, std::size_t sample, const std::optional<Verdict>& verdict) {
    const auto* name = report.lines()[i].names.at(sample);
    if (name_ == nullptr || (name_->by_number_only && !name->by_number_only)) name_ = name;
    show(i);
    if (!verdict) {
      for (const auto j : report.right_below(i)) below_.push_back(j);
      return;
    }
    for (const auto j : verdict->lines) show(j);
    if (verdict->said == Said::kUnclear) {
      doubt(verdict->doubt);
    } else if (!said_) {
      said_ = verdict;
    } else {
      agree(*verdict);
    }
  }

  [[nodiscard]] bool named() const { return name_ != nullptr; }

  [[nodiscard]] Proposal proposal(const Report& report, std::size_t sample) {
    Proposal proposal;
    proposal.sample = sample;
    proposal.named = name_->shown;
    if (name_->samples.size() > 1) doubt("more than one sample of the book bears this name");
    if (name_->weak) doubt("its name is a number or a word that may stand there for something else");
    if (name_->by_number_only)
      doubt("it is named by the book's number alone, which may be a number of the laboratory's own");
    if (!said_ && doubts_.empty()) {
      doubt("its name stands there, and no finding on the same line");
      for (const auto j : below_) show(j);
    }
    if (doubts_.empty()) {
      proposal.said = said_->said;
      proposal.fibres = said_->fibres;
      proposal.amount = said_->amount;
    }
    proposal.doubts = doubts_;
    std::sort(shown_.begin(), shown_.end());
    for (const auto i : shown_) {
      if (proposal.lines.size() < kMostLinesTold) proposal.lines.push_back(place_of(report.lines()[i]));
    }
    return proposal;
  }

 private:
  void show(std::size_t i) {
    if (!std::count(shown_.begin(), shown_.end(), i) && shown_.size() < 4 * kMostLinesTold) shown_.push_back(i);
  }
  void doubt(const std::string& why) {
    if (!std::count(doubts_.begin(), doubts_.end(), why)) doubts_.push_back(why);
  }
  void agree(const Verdict& other) {
    const bool finds_both = said_->said != Said::kNoneDetected && said_->said != Said::kNotAnalysed &&
                            other.said != Said::kNoneDetected && other.said != Said::kNotAnalysed;
    if (!finds_both) {
      if (other.said != said_->said) doubt("one line says otherwise than another");
      return;
    }
    const auto holds = [](const std::set<Fibre>& all, const std::set<Fibre>& some) {
      return std::includes(all.begin(), all.end(), some.begin(), some.end());
    };
    if (!holds(said_->fibres, other.fibres) && !holds(other.fibres, said_->fibres))
      doubt("one line names other kinds than another");
    said_->fibres.insert(other.fibres.begin(), other.fibres.end());
    if (said_->said != other.said) said_->said = Said::kDetected;
    if (said_->amount.empty()) said_->amount = other.amount;
    if (!other.amount.empty() && said_->amount != other.amount) said_->amount.clear();
  }

  const Name* name_ = nullptr;
  std::optional<Verdict> said_;
  std::vector<std::string> doubts_;
  std::vector<std::size_t> shown_;
  std::vector<std::size_t> below_;
};

/// A name as the report writes it, capitals and all.
std::string as_printed(const Line& line, const std::string& name) {
  std::string small = line.row.text;
  for (auto& c : small) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  }
  const auto at = small.find(name);
  return at == std::string::npos ? name : line.row.text.substr(at, name.size());
}

}  // namespace

std::string_view word(Said said) {
  switch (said) {
    case Said::kNoneDetected:
      return "none detected";
    case Said::kDetected:
      return "detected";
    case Said::kTrace:
      return "trace";
    case Said::kNotAnalysed:
      return "not analysed";
    case Said::kUnclear:
      break;
  }
  return "unclear";
}

Reading read(std::string_view text, std::span<const SampleNames> samples) {
  const Names names(samples);
  const Report report(text, names);
  const auto& lines = report.lines();
  Reading reading;
  std::vector<Gathered> gathered(samples.size());
  std::set<std::string> strangers;
  std::vector<Row> rows;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const auto& line = lines[i];
    if (!line.row.blank()) reading.pages = line.row.page;
    rows.push_back(line.row);
    if (line.stranger && reading.strangers.size() < kMostStrangers) {
      auto name = stranger_in(line);
      if (strangers.insert(name).second) {
        reading.strangers.push_back({as_printed(line, name), place_of(line)});
      }
    }
    if (line.samples.empty()) continue;
    const auto verdict = report.judge(i);
    for (const auto sample : line.samples) gathered[sample].take(report, i, sample, verdict);
  }
  for (std::size_t s = 0; s < samples.size(); ++s) {
    if (gathered[s].named()) {
      reading.proposals.push_back(gathered[s].proposal(report, s));
    } else {
      reading.not_named.push_back(s);
    }
  }
  auto head = letterhead_of(rows);
  reading.reported_on = head.reported_on;
  reading.analysed_on = head.analysed_on;
  reading.laboratory = std::move(head.laboratory);
  reading.accreditation = std::move(head.accreditation);
  return reading;
}

}  // namespace lathbook::laboratory
