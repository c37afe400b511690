// The `pattern` of a schema, matched in time linear in the text whatever the text holds.
//
// The standard library's expressions take a hundred times as long to make and to match, and recurse once per character:
// a long enough text from a stranger overflows the stack. This one follows all ways at once (Thompson's construction).
// Understood, with the meaning ECMA-262 gives it: literals, `.`, classes `[a-z]` `[^…]`, `\d \w \s` and escaped marks,
// groups `( )` and `(?: )`, `|`, `? * + {n} {n,} {n,m}`, `^` and `$`. Anything else (look-ahead, back references …) is
// refused when the schema is read. Bytes are matched, so a class holds ASCII only. Checked against std::regex over
// random texts.
#pragma once

#include <bitset>
#include <cstdint>
#include <string_view>
#include <vector>

namespace lathbook::schema {

class Pattern {
 public:
  /// Throws std::logic_error naming what is not understood.
  explicit Pattern(std::string_view pattern);

  /// Whether it matches anywhere in `text`, as JSON Schema has it.
  [[nodiscard]] bool found_in(std::string_view text) const;

  using Bytes = std::bitset<256>;

 private:
  enum class Kind : std::uint8_t { kByte, kEither, kGo, kAtStart, kAtEnd, kDone };
  struct Step {
    Kind kind = Kind::kDone;
    std::uint32_t to = 0;     ///< kByte: index of its class; kEither, kGo: where to go on
    std::uint32_t or_to = 0;  ///< kEither: the other way
  };
  class Maker;
  class Run;
  class ShortRun;

  std::vector<Step> steps_;
  std::vector<Bytes> classes_;
  // Of a pattern of up to 64 steps: what each step leads to within a text and at its end, what the first leads to at a
  // text's start and in an empty one. A bit a step.
  std::vector<std::uint64_t> inside_, at_end_;
  std::uint64_t at_start_ = 0;
  std::uint64_t of_nothing_ = 0;
};

}  // namespace lathbook::schema
