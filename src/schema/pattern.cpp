#include "schema/pattern.h"

#include <algorithm>
#include <bit>
#include <limits>
#include <optional>
#include <stdexcept>
#include <string>

namespace lathbook::schema {
namespace {

constexpr std::uint32_t kMostRepeats = 1000;
constexpr std::size_t kMostSteps = 20000;
constexpr std::uint32_t kMostShort = 64;
constexpr std::uint32_t kEndless = std::numeric_limits<std::uint32_t>::max();

Pattern::Bytes range(unsigned char from, unsigned char to) {
  Pattern::Bytes bytes;
  for (unsigned c = from; c <= to; ++c) bytes.set(c);
  return bytes;
}

Pattern::Bytes one_of(std::string_view characters) {
  Pattern::Bytes bytes;
  for (const char c : characters) bytes.set(static_cast<unsigned char>(c));
  return bytes;
}

}  // namespace

/// Reads a pattern and writes its steps. A repeated part is read again for each time it may come.
class Pattern::Maker {
 public:
  Maker(std::string_view text, Pattern& pattern) : text_(text), pattern_(pattern) {}

  void run() {
    alternatives();
    if (at_ != text_.size()) refuse("a closing bracket too many");
    add({Kind::kDone, 0, 0});
  }

 private:
  [[noreturn]] void refuse(const std::string& what) const {
    throw std::logic_error("the pattern " + std::string(text_) + " has " + what + ", which is not understood");
  }
  [[nodiscard]] bool more() const { return at_ < text_.size(); }
  [[nodiscard]] bool next_is(char c) const { return more() && text_[at_] == c; }
  bool take(char c) {
    if (!next_is(c)) return false;
    ++at_;
    return true;
  }

  std::uint32_t here() const { return static_cast<std::uint32_t>(pattern_.steps_.size()); }
  std::uint32_t add(Step step) {
    if (pattern_.steps_.size() >= kMostSteps) refuse("too many repeats");
    pattern_.steps_.push_back(step);
    return here() - 1;
  }

  void alternatives() {
    std::vector<std::uint32_t> ends;
    for (;;) {
      // The way to the next alternative is put in front once it is known that there is one.
      const auto start = here();
      const auto read_from = at_;
      sequence();
      if (!next_is('|')) break;
      pattern_.steps_.resize(start);
      const auto fork = add({Kind::kEither, start + 1, 0});
      at_ = read_from;
      sequence();
      take('|');
      ends.push_back(add({Kind::kGo, 0, 0}));
      pattern_.steps_[fork].or_to = here();
    }
    for (const auto end : ends) pattern_.steps_[end].to = here();
  }

  void sequence() {
    while (more() && text_[at_] != '|' && text_[at_] != ')') repeated();
  }

  struct Times {
    std::uint32_t least;
    std::uint32_t most;
  };

  void repeated() {
    const auto start = here();
    const auto read_from = at_;
    atom();
    const auto times = quantifier();
    if (!times) return;
    const auto read_on = at_;
    pattern_.steps_.resize(start);
    const auto again = [&] {
      at_ = read_from;
      atom();
    };
    for (std::uint32_t i = 0; i < times->least; ++i) again();
    if (times->most == kEndless) {
      const auto fork = add({Kind::kEither, here() + 1, 0});
      again();
      add({Kind::kGo, fork, 0});
      pattern_.steps_[fork].or_to = here();
    } else {
      std::vector<std::uint32_t> forks;
      for (std::uint32_t i = times->least; i < times->most; ++i) {
        forks.push_back(add({Kind::kEither, here() + 1, 0}));
        again();
      }
      for (const auto fork : forks) pattern_.steps_[fork].or_to = here();
    }
    at_ = read_on;
  }

  std::optional<Times> quantifier() {
    std::optional<Times> times;
    if (take('?')) {
      times = {0, 1};
    } else if (take('*')) {
      times = {0, kEndless};
    } else if (take('+')) {
      times = {1, kEndless};
    } else if (take('{')) {
      const auto least = number();
      times = {least, least};
      if (take(',')) times->most = next_is('}') ? kEndless : number();
      if (!take('}') || times->most < times->least) refuse("a broken count");
    }
    if (times && (next_is('?') || next_is('*') || next_is('+') || next_is('{'))) refuse("a repeat of a repeat");
    return times;
  }

  std::uint32_t number() {
    if (!more() || text_[at_] < '0' || text_[at_] > '9') refuse("a broken count");
    std::uint32_t value = 0;
    while (more() && text_[at_] >= '0' && text_[at_] <= '9') {
      value = value * 10 + static_cast<std::uint32_t>(text_[at_++] - '0');
      if (value > kMostRepeats) refuse("a count above " + std::to_string(kMostRepeats));
    }
    return value;
  }

  void atom() {
    if (take('^')) {
      add({Kind::kAtStart, 0, 0});
    } else if (take('$')) {
      add({Kind::kAtEnd, 0, 0});
    } else if (take('(')) {
      if (take('?') && !take(':')) refuse("a group with ?");
      alternatives();
      if (!take(')')) refuse("a group left open");
    } else if (take('[')) {
      bytes(set());
    } else if (take('.')) {
      bytes(~one_of("\n\r"));
    } else if (take('\\')) {
      bytes(escape());
    } else if (std::string_view("?*+{}])|").find(text_[at_]) != std::string_view::npos) {
      refuse(std::string("a stray ") + text_[at_]);
    } else {
      bytes(one_of(text_.substr(at_++, 1)));
    }
  }

  void bytes(const Bytes& wanted) {
    auto& known = pattern_.classes_;
    const auto found = std::find(known.begin(), known.end(), wanted);
    const auto index = static_cast<std::uint32_t>(found - known.begin());
    if (found == known.end()) known.push_back(wanted);
    add({Kind::kByte, index, 0});
  }

  Bytes escape() {
    if (!more()) refuse("a backslash at its end");
    const char c = text_[at_++];
    switch (c) {
      case 'd':
        return range('0', '9');
      case 'D':
        return ~range('0', '9');
      case 'w':
        return range('0', '9') | range('A', 'Z') | range('a', 'z') | one_of("_");
      case 'W':
        return ~(range('0', '9') | range('A', 'Z') | range('a', 'z') | one_of("_"));
      case 's':
        return one_of(" \t\n\r\v\f");
      case 'S':
        return ~one_of(" \t\n\r\v\f");
      case 'n':
        return one_of("\n");
      case 't':
        return one_of("\t");
      default:
        if (std::string_view(R"(\/.^$|?*+()[]{}-)").find(c) == std::string_view::npos)
          refuse(std::string("the escape \\") + c);
        return one_of(std::string_view(&c, 1));
    }
  }

  Bytes set() {
    const bool inverted = take('^');
    Bytes wanted;
    while (!take(']')) {
      if (!more()) refuse("a class left open");
      const bool escaped = take('\\');
      if (escaped && std::string_view("dDwWsSnt").find(more() ? text_[at_] : 'x') != std::string_view::npos) {
        wanted |= escape();
        continue;
      }
      if (!more()) refuse("a class left open");
      const auto from = static_cast<unsigned char>(text_[at_++]);
      if (from >= 0x80) refuse("a class with letters beyond ASCII");
      auto to = from;
      if (next_is('-') && at_ + 1 < text_.size() && text_[at_ + 1] != ']') {
        to = static_cast<unsigned char>(text_[at_ + 1]);
        at_ += 2;
        if (to < from || to >= 0x80 || to == '\\') refuse("a broken range");
      }
      wanted |= range(from, to);
    }
    return inverted ? ~wanted : wanted;
  }

  std::string_view text_;
  Pattern& pattern_;
  std::size_t at_ = 0;
};

/// All ways through the steps at once, over one text.
class Pattern::Run {
 public:
  Run(const Pattern& pattern, std::string_view text)
      : pattern_(pattern), text_(text), seen_(pattern.steps_.size(), kEndless) {}

  bool matches() {
    // Nothing can begin later when all must begin at the start.
    const bool only_at_start = pattern_.steps_.front().kind == Kind::kAtStart;
    std::vector<std::uint32_t> ways;
    std::vector<std::uint32_t> next;
    for (std::uint32_t i = 0; i <= text_.size(); ++i) {
      if (i == 0 || !only_at_start) reach(0, i, ways);
      if (done_) return true;
      if (i == text_.size() || (ways.empty() && only_at_start)) return false;
      next.clear();
      for (const auto step : ways) {
        if (pattern_.classes_[pattern_.steps_[step].to][static_cast<unsigned char>(text_[i])])
          reach(step + 1, i + 1, next);
      }
      if (done_) return true;
      std::swap(ways, next);
    }
    return false;
  }

 private:
  /// Follows everything that takes no character, from `step` at position `i`.
  void reach(std::uint32_t first, std::uint32_t i, std::vector<std::uint32_t>& ways) {
    open_.push_back(first);
    while (!open_.empty()) {
      const auto step = open_.back();
      open_.pop_back();
      if (seen_[step] == i) continue;
      seen_[step] = i;
      const auto& what = pattern_.steps_[step];
      switch (what.kind) {
        case Kind::kByte:
          ways.push_back(step);
          break;
        case Kind::kEither:
          open_.push_back(what.or_to);
          open_.push_back(what.to);
          break;
        case Kind::kGo:
          open_.push_back(what.to);
          break;
        case Kind::kAtStart:
          if (i == 0) open_.push_back(step + 1);
          break;
        case Kind::kAtEnd:
          if (i == text_.size()) open_.push_back(step + 1);
          break;
        case Kind::kDone:
          done_ = true;
          break;
      }
    }
  }

  const Pattern& pattern_;
  std::string_view text_;
  std::vector<std::uint32_t> seen_;  ///< by step: the position it was last reached at
  std::vector<std::uint32_t> open_;
  bool done_ = false;
};

/// The same for a pattern of few steps, all ways in the bits of one word.
class Pattern::ShortRun {
 public:
  /// What can be reached from each step without taking a character, worked out once.
  static void prepare(Pattern& pattern) {
    const auto count = static_cast<std::uint32_t>(pattern.steps_.size());
    if (count > kMostShort) return;
    pattern.inside_.resize(count);
    pattern.at_end_.resize(count);
    for (std::uint32_t step = 0; step < count; ++step) {
      pattern.inside_[step] = reach(pattern, step, false, false);
      pattern.at_end_[step] = reach(pattern, step, false, true);
    }
    pattern.at_start_ = reach(pattern, 0, true, false);
    pattern.of_nothing_ = reach(pattern, 0, true, true);
  }

  static bool matches(const Pattern& pattern, std::string_view text) {
    const auto done = std::uint64_t{1} << (pattern.steps_.size() - 1);  // the last step, and only it, is kDone
    const bool only_at_start = pattern.steps_.front().kind == Kind::kAtStart;
    auto ways = text.empty() ? pattern.of_nothing_ : pattern.at_start_;
    for (std::size_t i = 0; i < text.size() && (ways & done) == 0; ++i) {
      const auto& reached = i + 1 == text.size() ? pattern.at_end_ : pattern.inside_;
      auto next = only_at_start ? 0 : reached[0];
      for (auto left = ways; left != 0; left &= left - 1) {
        const auto step = static_cast<std::size_t>(std::countr_zero(left));
        if (pattern.classes_[pattern.steps_[step].to][static_cast<unsigned char>(text[i])]) next |= reached[step + 1];
      }
      ways = next;
      if (ways == 0 && only_at_start) return false;
    }
    return (ways & done) != 0;
  }

 private:
  /// The steps that take a character and the last one, where they can be reached.
  static std::uint64_t reach(const Pattern& pattern, std::uint32_t first, bool start, bool end) {
    std::uint64_t seen = 0;
    std::uint64_t ways = 0;
    std::vector<std::uint32_t> open = {first};
    while (!open.empty()) {
      const auto step = open.back();
      open.pop_back();
      const auto bit = std::uint64_t{1} << step;
      if ((seen & bit) != 0) continue;
      seen |= bit;
      const auto& what = pattern.steps_[step];
      if (what.kind == Kind::kByte || what.kind == Kind::kDone) ways |= bit;
      if (what.kind == Kind::kEither || what.kind == Kind::kGo) open.push_back(what.to);
      if (what.kind == Kind::kEither) open.push_back(what.or_to);
      if ((what.kind == Kind::kAtStart && start) || (what.kind == Kind::kAtEnd && end)) open.push_back(step + 1);
    }
    return ways;
  }
};

Pattern::Pattern(std::string_view pattern) {
  Maker(pattern, *this).run();
  ShortRun::prepare(*this);
}

bool Pattern::found_in(std::string_view text) const {
  return inside_.empty() ? Run(*this, text).matches() : ShortRun::matches(*this, text);
}

}  // namespace lathbook::schema
