// The text of a PDF, laid out as it is printed. Poppler's pdftotext gets it out, in a process of its own: it is given
// the bytes and nothing else, no shell and no file name, may write no file, and is stopped at its limits.
#pragma once

#include <chrono>
#include <cstddef>
#include <string>
#include <string_view>

#include "reason/fault.h"

namespace lathbook::laboratory {

struct Limits {
  std::size_t most_bytes = std::size_t{11} << 20;  ///< of the PDF
  std::size_t most_text = std::size_t{4} << 20;    ///< bytes of text; a report is a few thousand
  std::size_t most_memory = std::size_t{1} << 30;  ///< address space of the process
  std::chrono::milliseconds longest{20'000};       ///< by the clock; half of it in processor time
  std::string program = "pdftotext";               ///< looked for in PATH when it holds no '/'
};

/// UTF-8 text, pages ended by form feeds, columns kept apart by blanks. All of it or a fault, never a part. Faults: too
/// large; no PDF by its first bytes; pdftotext not there; locked with a passphrase; damaged; no text on any page (a
/// scan); more text or time than the limits. May be called from many threads.
[[nodiscard]] reason::Result<std::string> pdf_text(std::string_view pdf, const Limits& limits = {});

}  // namespace lathbook::laboratory
