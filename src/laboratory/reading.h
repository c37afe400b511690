// What a laboratory's report says of the samples of a book: proposals, each with the lines it rests on, for a person to
// hold against the paper. Nothing here is a result.
//
// The reader is stricter the one way than the other. It proposes that no asbestos was detected only when all of this
// holds; otherwise the sample is left unclear, and a person reads it:
//  1. The sample's name stands there as a word of its own, and no other sample of the book on that line.
//  2. The denial is whole and of asbestos: "no asbestos detected", "asbestos not detected", "NAD", "NADIS"; or "not
//     detected", "none detected", once on the line, in a report that looks for nothing else. One kind denied is not
//     asbestos denied; all six are.
//  3. It fills its cell of the row, and the name fills another; or name and denial make up one line of a list or one
//     sentence; or the name heads a block in which one line, "Result: …", holds the only finding.
//  4. Nothing else on the line speaks of a find, a share, a note, a reserve.
//  5. The row ends on its line: no text stands right above or below in the same column, and no find between the rows
//     before and after it.
//  6. Every other line of the report that names the sample says the same or nothing.
// A find is proposed where the row names a kind, or says that asbestos was found, and nothing takes it back.
//
// What the text of a PDF holds need not be what is printed on it (a scan read by machine, text laid under a picture):
// that too is why a person confirms. Measured on invented reports in reading_test.cpp; no laboratory's own were at
// hand.
#pragma once

#include <cstddef>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "reason/date.h"

namespace lathbook::laboratory {

/// A sample as a report may name it.
struct SampleNames {
  std::string id;              ///< the book's number, which stands on the bag's printed label: S8
  std::string label;           ///< what is written on the bag; may be empty
  std::string laboratory_ref;  ///< the laboratory's own number; may be empty
};

enum class Said {
  kNoneDetected,
  kDetected,
  kTrace,  ///< asbestos, in traces: a find
  kNotAnalysed,
  kUnclear,  ///< named, but a person has to read what was found
};
[[nodiscard]] std::string_view word(Said said);

/// A line of the report as printed.
struct Place {
  int page = 1;
  int line = 1;  ///< on its page
  std::string text;
  bool operator==(const Place&) const = default;
};

struct Proposal {
  std::size_t sample = 0;  ///< index into the names given
  std::string named;       ///< the name it was known by, as the book has it
  Said said = Said::kUnclear;
  std::set<book::Fibre> fibres;     ///< of kDetected and kTrace; empty = the kind is not named
  std::string amount;               ///< as worded, if one share is told; empty otherwise
  std::vector<Place> lines;         ///< those that name it, and those that make it unclear
  std::vector<std::string> doubts;  ///< why it is unclear, a clause each; empty for the rest
};

/// A name that looks like a sample's and is none of the book's.
struct Stranger {
  std::string name;
  Place place;
};

struct Reading {
  int pages = 0;
  std::vector<Proposal> proposals;     ///< in the order of the samples; at most one each
  std::vector<Stranger> strangers;     ///< each once, at most 200
  std::vector<std::size_t> not_named;  ///< samples of the book the report does not name
  std::optional<reason::Date> reported_on;
  std::optional<reason::Date> analysed_on;
  std::string laboratory;     ///< as it calls itself after "Laboratory:"; empty = not found
  std::string accreditation;  ///< the line that tells of it; empty = not found
};

/// Reads the text of a report, laid out as it is printed (pdftotext -layout). Any bytes will do; time grows with their
/// number. Never throws.
[[nodiscard]] Reading read(std::string_view text, std::span<const SampleNames> samples);

}  // namespace lathbook::laboratory
