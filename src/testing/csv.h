// Reads the rows of tests/published/*.csv and tests/… fixtures: a header line, then one case a row.
#pragma once

#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace lathbook::testing {

using Row = std::map<std::string, std::string>;

/// Splits one CSV line (RFC 4180 quoting, no line breaks inside a field).
inline std::vector<std::string> split_csv(const std::string& line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted) {
      if (c == '"' && i + 1 < line.size() && line[i + 1] == '"') {
        fields.back() += '"';
        ++i;
      } else if (c == '"') {
        quoted = false;
      } else {
        fields.back() += c;
      }
    } else if (c == '"') {
      quoted = true;
    } else if (c == ',') {
      fields.emplace_back();
    } else if (c != '\r') {
      fields.back() += c;
    }
  }
  return fields;
}

/// All rows of `path` (relative to the repository's root, where tests run); lines starting with # are comments.
/// Throws when the file is missing, empty of rows, or a row has the wrong number of fields: a check must not pass by
/// checking nothing.
inline std::vector<Row> read_csv(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::vector<std::string> header;
  std::vector<Row> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line.front() == '#') continue;
    auto fields = split_csv(line);
    if (header.empty()) {
      header = std::move(fields);
      continue;
    }
    if (fields.size() != header.size()) throw std::runtime_error(path + ": wrong number of fields in: " + line);
    Row row;
    for (std::size_t i = 0; i < header.size(); ++i) row[header[i]] = fields[i];
    rows.push_back(std::move(row));
  }
  if (rows.empty()) throw std::runtime_error(path + " holds no row");
  return rows;
}

/// The text of a file, whole.
inline std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

}  // namespace lathbook::testing
