// What `lathbook --version` says: which program, which rules, which data, which form of book.
#pragma once

#include <string>

namespace lathbook::cli {

/// Lines of text, one matter a line:
///
/// - the program: PROJECT_VERSION of the top CMakeLists.txt, the one place where it is written;
/// - each rule pack of data/law/, in order of id, with the day or month its law was read (`as_of`) where it gives one;
/// - the data: how many sources and product families, and the first 16 digits of the SHA-256 of every file under data/
///   in the order of their names, one after the other;
/// - books: the schema this program writes (`user_version` of the file).
///
/// Checked in tests/tools/help_check.py against the files themselves.
[[nodiscard]] std::string versions();

}  // namespace lathbook::cli
