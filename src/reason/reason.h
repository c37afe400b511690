// Why: every answer carries its reasons, and each reason says where it comes from.
#pragma once

#include <string>
#include <vector>

namespace lathbook::reason {

/// One short sentence and the id of its source in data/sources.json. `common-practice` marks a fact of the trade
/// without a source, `judgement` our own judgement, `book` something the person wrote down, `arithmetic` plain
/// working-out.
struct Reason {
  std::string text;
  std::string source;
  bool operator==(const Reason&) const = default;
};

using Reasons = std::vector<Reason>;

inline void append(Reasons& to, const Reasons& more) { to.insert(to.end(), more.begin(), more.end()); }

}  // namespace lathbook::reason
