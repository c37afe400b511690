#include "schema/pattern.h"

#include <gtest/gtest.h>

#include <random>
#include <regex>
#include <stdexcept>
#include <string>

namespace lathbook::schema {
namespace {

TEST(Pattern, MatchesAnywhereUnlessTiedDown) {
  EXPECT_TRUE(Pattern("b+").found_in("abba"));
  EXPECT_FALSE(Pattern("^b+").found_in("abba"));
  EXPECT_FALSE(Pattern("b$").found_in("abba"));
  EXPECT_TRUE(Pattern("").found_in(""));
  EXPECT_TRUE(Pattern("^M[1-9][0-9]{0,6}$").found_in("M1234567"));
  EXPECT_FALSE(Pattern("^M[1-9][0-9]{0,6}$").found_in("M12345678"));
  EXPECT_FALSE(Pattern("^M[1-9][0-9]{0,6}$").found_in("M1\n"));
}

TEST(Pattern, TakesLongTextsInItsStride) {
  const std::string text(2'000'000, 'a');
  EXPECT_TRUE(Pattern("^[a-z0-9]+(-[a-z0-9]+)*$").found_in(text));
  EXPECT_FALSE(Pattern("^(a|a|aa)*(a?)*b$").found_in(text.substr(0, 100'000)));
}

TEST(FaultPattern, RefusesWhatItDoesNotUnderstand) {
  for (const char* pattern : {"(?=a)", "a(", "a)", "[a", "a{2", "a{3,2}", "a**", "\\1", "\\b", "*a", "a\\", "[b-a]",
                              "[é]", "a{1001}", "(a{1000}){1000}"}) {
    EXPECT_THROW(Pattern{pattern}, std::logic_error) << pattern;
  }
}

/// Random patterns of the kinds understood, for the standard library to agree on.
class Writer {
 public:
  explicit Writer(std::uint64_t seed) : random_(seed) {}

  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random_); }

  std::string pattern(int depth) {
    std::string out = sequence(depth);
    if (below(4) == 0) out += "|" + sequence(depth);
    return out;
  }
  std::string text() {
    std::string out;
    for (auto left = below(9); left > 0; --left) out += "ab-0Z"[below(5)];
    return out;
  }

 private:
  std::string sequence(int depth) {
    std::string out;
    for (auto left = below(4); left > 0; --left) {
      out += atom(depth);
      static const std::string kTimes[] = {"?", "*", "+", "{2}", "{1,}", "{0,2}", "{1,3}"};
      if (below(3) == 0) out += kTimes[below(7)];
    }
    return out;
  }
  std::string atom(int depth) {
    static const std::string kAtoms[] = {"a", "b", "-", "[ab]", "[^a]", "[a-z0]", "\\d", "\\w", ".", "[\\d-]"};
    if (depth > 0 && below(4) == 0) return (below(2) == 0 ? "(" : "(?:") + pattern(depth - 1) + ")";
    return kAtoms[below(10)];
  }

  std::mt19937_64 random_;
};

TEST(ReferencePattern, AgreesWithTheStandardLibrary) {
  Writer writer(17);
  int matches = 0;
  for (int i = 0; i < 3000; ++i) {
    std::string text = writer.pattern(2);
    if (writer.below(2) == 0) text = "^(" + text + ")$";
    const Pattern ours(text);
    const std::regex theirs(text, std::regex::ECMAScript);
    for (int k = 0; k < 10; ++k) {
      const auto subject = writer.text();
      const bool expected = std::regex_search(subject, theirs);
      matches += expected ? 1 : 0;
      ASSERT_EQ(ours.found_in(subject), expected) << text << " in \"" << subject << '"';
    }
  }
  EXPECT_GT(matches, 3000);
  EXPECT_LT(matches, 27000);
}

}  // namespace
}  // namespace lathbook::schema
