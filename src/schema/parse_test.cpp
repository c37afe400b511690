#include "schema/parse.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <random>
#include <string>

#include "assets/assets.h"
#include "schema/node.h"
#include "schema/schema.h"

namespace lathbook::schema {
namespace {

/// The quick way reads what the slow way reads, or nothing. A document is what the slow way reads, or its faults. True
/// = the quick way read it.
bool agree(Parser& parser, const std::string& text) {
  const auto quick = parser.read(text);
  const auto slow = parse_slowly(text);
  const auto document = Document::read(text);
  EXPECT_EQ(document.ok(), slow.ok()) << text;
  if (slow.ok() && document.ok()) {
    EXPECT_EQ(document->root().json(), *slow) << text;
  } else if (!slow.ok() && !document.ok()) {
    EXPECT_EQ(document.faults(), slow.faults()) << text;
  }
  if (!quick) return false;
  EXPECT_TRUE(slow.ok()) << text;
  if (slow.ok()) {
    EXPECT_EQ(*quick, *slow) << text;
    EXPECT_EQ(quick->dump(), slow->dump()) << text;
  }
  return true;
}

TEST(PropertyParser, ReadsOurOwnFilesAsTheSlowWayDoes) {
  Parser parser;
  for (const auto& asset : assets::all()) {
    if (!asset.name.ends_with(".json")) continue;
    EXPECT_TRUE(agree(parser, std::string(asset.bytes))) << asset.name;
  }
}

TEST(PropertyParser, NeverReadsABrokenTextOtherwise) {
  constexpr std::string_view kWhole =
      R"({"a": [1, -2, 3.5e-7, 18446744073709551615, 0.1, true, false, null], "b\u00e9\n": {"c": "\ud83d\ude00 \\ é €"}, "d": {}})";
  constexpr std::string_view kMarks = "{}[]\",:0123456789-+.eE\\u ntfalsr\xc3\xa9\x01";
  Parser parser;
  std::mt19937_64 random(7);
  const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random); };
  int read = 0;
  for (int i = 0; i < 50'000; ++i) {
    std::string text(kWhole);
    for (auto times = 1 + below(3); times > 0; --times) {
      const auto at = below(text.size());
      switch (below(3)) {
        case 0:
          text[at] = kMarks[below(kMarks.size())];
          break;
        case 1:
          text.erase(at, 1 + below(4));
          break;
        default:
          text.insert(at, 1, kMarks[below(kMarks.size())]);
      }
    }
    read += agree(parser, text) ? 1 : 0;
  }
  EXPECT_GT(read, 3'000);
  EXPECT_LT(read, 45'000);
}

TEST(PropertyParser, ReadsNumbersToTheLastBit) {
  Parser parser;
  std::mt19937_64 random(11);
  for (int i = 0; i < 50'000; ++i) {
    const auto bits = random();
    double number = 0;
    static_assert(sizeof number == sizeof bits);
    std::memcpy(&number, &bits, sizeof number);
    if (!std::isfinite(number)) continue;
    EXPECT_TRUE(agree(parser, Json(number).dump())) << number;
  }
}

TEST(Parser, LeavesToTheSlowWayWhatItCannotRead) {
  Parser parser;
  for (const char* text : {"", " ", "{", "NaN", "1e999", R"({"a":1,"a":1})", R"([{"b":{"a":1,"c":2,"a":3}}])",
                           "\"\xff\"", "[1] 2", R"("\ud800")", "18446744073709551616", "\xef\xbb\xbf{}"}) {
    EXPECT_FALSE(agree(parser, text)) << text;
  }
  EXPECT_EQ(parse_json("18446744073709551616").value(), 18446744073709551616.0);
  EXPECT_EQ(parser.read("[1]"), Json::array({1}));  // and reads on afterwards
}

TEST(Parser, FindsAKeyGivenTwiceAmongFewAndMany) {
  Parser parser;
  for (const std::size_t keys : {2U, 31U, 32U, 33U, 200U}) {
    Json object = Json::object();
    for (std::size_t i = 1; i < keys; ++i) object["k" + std::to_string(i)] = i;
    const auto once = object.dump();
    EXPECT_TRUE(agree(parser, once)) << keys;
    EXPECT_FALSE(agree(parser, once.substr(0, once.size() - 1) + ",\"k1\":0}")) << keys;
  }
}

TEST(Parser, GoesNoDeeperThanTheSlowWay) {
  Parser parser;
  for (std::size_t depth = 1; depth < 80; ++depth) {
    const auto text = std::string(depth, '[') + std::string(depth, ']');
    const bool read = parse_json(text).ok();
    EXPECT_EQ(read, parse_slowly(text).ok()) << depth;
    EXPECT_EQ(read, depth <= 64) << depth;
    EXPECT_TRUE(read || !parser.read(text)) << depth;
  }
}

}  // namespace
}  // namespace lathbook::schema
