// Reports in invented layouts, and what the reader makes of them.
#include "laboratory/reading.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>

#include "book/words.h"

namespace lathbook::laboratory {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

const std::vector<SampleNames> kSamples = {
    {"S1", "M2-1", ""}, {"S2", "M2-2", ""}, {"S10", "M10-1", ""}, {"S11", "S11 hall tile", ""}, {"S12", "", "LX/204"}};

/// What is proposed of a sample: "none detected", "detected chrysotile 2-5 %", "unclear", "-" when it is not named.
std::string said(std::string_view text, const std::string& id, const std::vector<SampleNames>& samples = kSamples) {
  const auto reading = read(text, samples);
  for (const auto& one : reading.proposals) {
    if (samples[one.sample].id != id) continue;
    EXPECT_EQ(one.doubts.empty(), one.said != Said::kUnclear) << text;
    EXPECT_FALSE(one.lines.empty()) << text;
    std::string words(word(one.said));
    for (const auto fibre : one.fibres) words += fmt::format(" {}", book::word(fibre));
    return one.amount.empty() ? words : words + " (" + one.amount + ")";
  }
  return "-";
}

std::string why(std::string_view text, const std::string& id) {
  const auto reading = read(text, kSamples);
  for (const auto& one : reading.proposals) {
    if (kSamples[one.sample].id == id) return fmt::format("{}", fmt::join(one.doubts, "; "));
  }
  return "not named";
}

constexpr const char* kHead = "Asbestos in bulk samples\n\nSample    Location               Result\n\n";

/// A table with this row in it, between two others.
std::string row(const std::string& cells) {
  return std::string(kHead) + "X9-1      Porch                  Amosite\n" + cells +
         "\nX9-2      Shed                   No asbestos detected\n";
}

// ---- whole reports --------------------------------------------------------------------------------------------------

constexpr const char* kTable = R"(Thistle Row Fibre Laboratory
Testing laboratory: Thistle Row Fibre Laboratory
Accreditation number 90210

Date of report: 25 November 2026          Date of analysis: 24/11/2026

Asbestos in bulk samples

Sample     Location                  Result                      Amount
M2-1       Hall ceiling by           No asbestos detected
           the stair
M2-2       Hall ceiling, door        Chrysotile                  2-5 %
M10-1      Garage roof               Chrysotile, crocidolite     10 %
S11 hall tile   Floor                Not analysed
LX/204     Airing cupboard           Trace of amosite
Q7-3       Neighbour                 NADIS
)";

TEST(ReadingTable, EveryRowIsReadByItself) {
  EXPECT_EQ(said(kTable, "S1"), "none detected");
  EXPECT_EQ(said(kTable, "S2"), "detected chrysotile (2-5 %)");
  EXPECT_EQ(said(kTable, "S10"), "detected chrysotile crocidolite (10 %)");
  EXPECT_EQ(said(kTable, "S11"), "not analysed");
  EXPECT_EQ(said(kTable, "S12"), "trace amosite (trace)");
  const auto reading = read(kTable, kSamples);
  ASSERT_EQ(reading.strangers.size(), 1U);
  EXPECT_EQ(reading.strangers[0].name, "Q7-3");
  EXPECT_EQ(reading.strangers[0].place.text, "Q7-3       Neighbour                 NADIS");
  EXPECT_THAT(reading.not_named, IsEmpty());
  EXPECT_EQ(reading.proposals[0].lines[0], (Place{1, 10, "M2-1       Hall ceiling by           No asbestos detected"}));
}

TEST(ReadingTable, TheLetterheadIsFound) {
  const auto reading = read(kTable, kSamples);
  ASSERT_TRUE(reading.reported_on && reading.analysed_on);
  EXPECT_EQ(reading.reported_on->text(), "2026-11-25");
  EXPECT_EQ(reading.analysed_on->text(), "2026-11-24");
  EXPECT_EQ(reading.laboratory, "Thistle Row Fibre Laboratory");
  EXPECT_EQ(reading.accreditation, "Accreditation number 90210");
  const auto two = read("Date of report: 1/2/2026\nReport date: 2/2/2026\n", kSamples);
  EXPECT_FALSE(two.reported_on) << "two days are told";
}

TEST(ReadingList, OneLineASample) {
  const std::string list =
      "Bulk samples for asbestos\n"
      "\n"
      "1. M2-1: No asbestos detected.\n"
      "2. M2-2 - chrysotile asbestos detected\n"
      "3. Sample M10-1: Asbestos not detected\n";
  EXPECT_EQ(said(list, "S1"), "none detected");
  EXPECT_EQ(said(list, "S2"), "detected chrysotile");
  EXPECT_EQ(said(list, "S10"), "none detected");
  EXPECT_THAT(read(list, kSamples).not_named, ElementsAre(3U, 4U));
}

TEST(ReadingLetter, SentencesCountWhenTheyAreWholeOnTheirLine) {
  const std::string letter =
      "Dear customer,\n"
      "\n"
      "No asbestos was detected in sample M2-1.\n"
      "Chrysotile was found in sample M2-2.\n"
      "\n"
      "In the piece of roof you sent us as M10-1 we found chrysotile and\n"
      "some crocidolite.\n";
  EXPECT_EQ(said(letter, "S1"), "none detected");
  EXPECT_EQ(said(letter, "S2"), "detected chrysotile");
  EXPECT_EQ(said(letter, "S10"), "unclear");
  EXPECT_EQ(said("Asbestos\n\nChrysotile was found in\nM2-1. No asbestos was detected in\nM2-2.\n", "S1"), "unclear");
  EXPECT_EQ(said("Asbestos\n\nX7-1 held amosite and chrysotile was found in\nM2-1 no asbestos detected\n", "S1"),
            "unclear");
}

TEST(ReadingBlocks, ANameAndAResultBelow) {
  const std::string blocks =
      "Sample reference: M2-1\n"
      "Location: hall ceiling\n"
      "Result: No asbestos detected\n"
      "\n"
      "Sample reference: M2-2\n"
      "Location: hall ceiling\n"
      "Asbestos type: Chrysotile\n"
      "\n"
      "Sample reference: M10-1\n"
      "Location: garage\n"
      "Result: No asbestos detected\n"
      "Comment: chrysotile in the paint\n"
      "\n"
      "Sample reference: S11 hall tile\n"
      "Result: void\n";
  EXPECT_EQ(said(blocks, "S1"), "none detected");
  EXPECT_EQ(said(blocks, "S2"), "detected chrysotile");
  EXPECT_EQ(said(blocks, "S10"), "unclear");
  EXPECT_EQ(said(blocks, "S11"), "not analysed");
}

TEST(ReadingPages, RowsOnTwoPagesAndABlockCutByOne) {
  const std::string pages = std::string(kHead) +
                            "M2-1      Hall                   No asbestos detected\n\f"
                            "Sample    Location               Result\n\n"
                            "M2-2      Hall                   Amosite\n\n"
                            "Sample reference: M10-1\n\fResult: No asbestos detected\n";
  EXPECT_EQ(said(pages, "S1"), "none detected");
  EXPECT_EQ(said(pages, "S2"), "detected amosite");
  EXPECT_EQ(said(pages, "S10"), "unclear");
  const auto reading = read(pages, kSamples);
  EXPECT_EQ(reading.pages, 3);
  EXPECT_EQ(reading.proposals[1].lines[0].page, 2);
  EXPECT_EQ(reading.proposals[1].lines[0].line, 3);
}

// ---- names ----------------------------------------------------------------------------------------------------------

TEST(ReadingNames, AreWholeWords) {
  const auto at = [](const std::string& name) { return row(name + "   Hall                   No asbestos detected"); };
  EXPECT_EQ(said(at("M2-1"), "S1"), "none detected");
  EXPECT_EQ(said(at("m2\xE2\x80\x91"
                    "1"),
                 "S1"),
            "none detected")
      << "a hyphen that does not break, small letters";
  for (const char* other : {"M2-10", "XM2-1", "M2_1", "M2-", "M2 -1", "M2-12", "M2"})
    EXPECT_EQ(said(at(other), "S1"), "-") << other;
  // A part of it, or two in one word: named, and nothing plain said of it.
  for (const char* part : {"M2-1a", "M2-1.5", "M2-1/2", "M2-1-2", "M2-2/M2-1"})
    EXPECT_EQ(said(at(part), "S1"), "unclear") << part;
}

TEST(ReadingNames, OneIsNotThePrefixOfAnother) {
  const std::vector<SampleNames> samples = {{"S1", "", ""}, {"S10", "", ""}};
  const auto text =
      row("S10       Hall                   No asbestos detected\nS1        Loft                   Amosite");
  EXPECT_EQ(said(text, "S10", samples), "none detected");
  EXPECT_EQ(said(text, "S1", samples), "detected amosite");
}

TEST(ReadingNames, TwoOnALineTellNothing) {
  EXPECT_EQ(said(row("M2-1, M2-2   Hall   No asbestos detected"), "S1"), "unclear");
  EXPECT_EQ(said(row("M2-1   as M2-2   No asbestos detected"), "S2"), "unclear");
  EXPECT_EQ(said(row("M2-1 to M2-9   Hall   No asbestos detected"), "S1"), "unclear");
  // The laboratory's own number beside the label is no second sample, unless it is another one's.
  EXPECT_EQ(said(row("L55/1     M2-1      Hall      No asbestos detected"), "S1"), "none detected");
  EXPECT_EQ(said(row("S2        M2-1      Hall      No asbestos detected"), "S1"), "unclear");
}

TEST(ReadingNames, NumbersAndWordsThatMayMeanSomethingElseAreLeftToThePerson) {
  const std::vector<SampleNames> weak = {{"S1", "3", ""}, {"S2", "hall", ""}, {"S3", "twin", ""}, {"S4", "twin", ""}};
  EXPECT_EQ(said(row("3         Loft                   No asbestos detected"), "S1", weak), "unclear");
  EXPECT_EQ(said(row("3 of 4    Loft                   No asbestos detected"), "S1", weak), "-");
  EXPECT_EQ(said(row("Hall      Loft                   No asbestos detected"), "S2", weak), "unclear");
  EXPECT_EQ(said(row("twin      Loft                   No asbestos detected"), "S3", weak), "unclear");
  // The book's own number, where the bag bears another label too.
  EXPECT_EQ(said(row("S1        Loft                   No asbestos detected"), "S1"), "unclear");
  EXPECT_EQ(said(row("S11       Loft                   No asbestos detected"), "S11"), "none detected");
}

// ---- what denies, and what only seems to ----------------------------------------------------------------------------

TEST(ReadingDenial, TheTradesWordsForNone) {
  for (const char* none :
       {"No asbestos detected", "NAD", "NADIS", "Not detected", "None detected", "Asbestos not detected",
        "No asbestos fibres detected", "No asbestos found", "NO ASBESTOS DETECTED IN SAMPLE", "Asbestos: none detected",
        "No asbestos detected (NAD)", "N.A.D.", "No asbestos detected; organic fibres detected"})
    EXPECT_EQ(said(row(fmt::format("M2-1      Hall                   {}", none)), "S1"), "none detected") << none;
}

TEST(ReadingDenial, AnythingElseIsNoDenial) {
  for (const char* text : {"No asbestos",
                           "ND",
                           "n/a",
                           "No",
                           "-",
                           "Asbestos detected: no",
                           "No asbestos detected in paint",
                           "No asbestos detected*",
                           "No asbestos detected, see note 1",
                           "No asbestos detected except chrysotile",
                           "No asbestos detected in the",
                           "Not suspected",
                           "No asbestos detected?",
                           "No trace of asbestos detected",
                           "No significant asbestos detected",
                           "No further asbestos detected",
                           "Not no asbestos detected",
                           "Chrysotile: not detected",
                           "Chrysotile not detected, amosite not detected",
                           "No amosite detected",
                           "No asbestos detected   5 %",
                           "No asbestos detected   Positive",
                           "No asbestos detected   Yes",
                           "No; asbestos detected",
                           "None",
                           "Negative",
                           "Free of asbestos",
                           "No visible asbestos detected",
                           "Pending: no asbestos detected",
                           "No lead detected",
                           "Lead: not detected",
                           "No asbestos identified as friable"})
    EXPECT_THAT(said(row(fmt::format("M2-1      Hall                   {}", text)), "S1"),
                ::testing::Ne("none detected"))
        << text;
}

TEST(ReadingDenial, ADenialAcrossColumnsIsNone) {
  EXPECT_EQ(said(row("M2-1      Fibres: no            asbestos detected"), "S1"), "detected");
  EXPECT_EQ(
      said("Asbestos\nSample   Chrysotile     Amosite        Crocidolite\nM2-1     Not detected   Not detected   5 %\n",
           "S1"),
      "unclear");
  EXPECT_EQ(said("Asbestos\nSample   Chrysotile     Amosite\nM2-1     Not detected   Not detected\n", "S1"), "unclear");
}

TEST(ReadingDenial, ABareOneUnderOneKindIsOfThatKindAlone) {
  EXPECT_EQ(said("Asbestos\nSample   Where   Chrysotile (%)\nM2-1     Hall    Not detected\n", "S1"), "unclear");
  EXPECT_EQ(said("Asbestos\nSample   CH   AM             CR\nM2-1     -    Not detected   -\n", "S1"), "unclear");
}

TEST(ReadingDenial, AllSixKindsDeniedAreAsbestosDenied) {
  const std::string most =
      "Chrysotile: not detected   Amosite: not detected   Crocidolite: not detected   "
      "Tremolite: not detected   Actinolite: not detected";
  EXPECT_EQ(said(row("M2-1   " + most), "S1"), "unclear");
  EXPECT_THAT(why(row("M2-1   " + most), "S1"), HasSubstr("only chrysotile"));
  EXPECT_EQ(said(row("M2-1   " + most + "   Anthophyllite: not detected"), "S1"), "none detected");
  EXPECT_EQ(said(row("M2-1   " + most + "   Anthophyllite: detected"), "S1"), "detected anthophyllite");
}

TEST(ReadingDenial, ABareOneNeedsAReportOnAsbestosAlone) {
  EXPECT_EQ(said("Sample   Result\n\nM2-1     Not detected\n", "S1"), "unclear");
  EXPECT_EQ(said("Asbestos and lead in paint\n\nSample   Result\n\nM2-1     Not detected\n", "S1"), "unclear");
  EXPECT_EQ(said("Asbestos\n\nSample   Result\n\nM2-1     Not detected\n", "S1"), "none detected");
  EXPECT_EQ(said("Asbestos. Lead analyst: A. Body\n\nSample   Result\n\nM2-1     Not detected\n", "S1"),
            "none detected");
}

TEST(ReadingDenial, ARowOverSeveralLinesIsLeftToThePerson) {
  EXPECT_EQ(said(row("M2-1      Hall                   No asbestos detected\n"
                     "                                 in the plaster"),
                 "S1"),
            "unclear");
  EXPECT_EQ(said(row("                                 Chrysotile in paint,\n"
                     "M2-1      Hall                   no asbestos detected"),
                 "S1"),
            "unclear");
  EXPECT_EQ(said(row("M2-1      Hall                   No asbestos\n"
                     "                                 detected"),
                 "S1"),
            "unclear");
  EXPECT_EQ(said(row("M2-1      Hall                   No asbestos detected\n\n"
                     "          Adhesive               Chrysotile"),
                 "S1"),
            "unclear")
      << "a layer below";
  // Another column may run on.
  EXPECT_EQ(said(row("M2-1      Hall, by the           No asbestos detected\n"
                     "          long stair"),
                 "S1"),
            "none detected");
}

TEST(ReadingDenial, ALineElsewhereThatSaysOtherwiseCounts) {
  const auto one = row("M2-1      Hall                   No asbestos detected");
  EXPECT_EQ(said(one + "\nSummary: M2-1 contained amosite.\n", "S1"), "unclear");
  EXPECT_EQ(said(one + "\nM2-1 received in a torn bag.\n", "S1"), "none detected");
  EXPECT_EQ(said(one + "\nM2-1a     Adhesive               Chrysotile\n", "S1"), "unclear");
  EXPECT_EQ(said(one + one, "S1"), "none detected");
}

TEST(ReadingFind, ConfirmedOrLeftToThePerson) {
  const auto at = [](const std::string& result) {
    return said(row("M2-1      Hall                   " + result), "S1");
  };
  EXPECT_EQ(at("Asbestos detected"), "detected");
  EXPECT_EQ(at("Detected"), "detected");
  EXPECT_EQ(at("White asbestos"), "detected chrysotile");
  EXPECT_EQ(at("Amosite/chrysotile   <1%"), "detected chrysotile amosite (<1%)");
  EXPECT_EQ(at("Chrysotile: not detected   Amosite: detected"), "detected amosite");
  EXPECT_EQ(at("Traces of asbestos"), "trace (trace)");
  EXPECT_EQ(at("Trace"), "unclear");
  EXPECT_EQ(at("Suspected chrysotile"), "unclear");
  EXPECT_EQ(at("Chrysotile?"), "unclear");
  EXPECT_EQ(at("Chrysotile and\n                                 amosite"), "unclear");
  EXPECT_EQ(at("Chrysotile\n                                 amosite"), "unclear");
  EXPECT_EQ(at("Chrysotile   No asbestos detected"), "unclear");
  EXPECT_THAT(why(row("M2-1      Hall      Chrysotile   No asbestos detected"), "S1"), HasSubstr("both"));
}

TEST(ReadingFind, OneLineMayTellMoreThanAnother) {
  const auto table = row("M2-1      Hall                   Chrysotile");
  EXPECT_EQ(said(table + "\nM2-1: asbestos detected\n", "S1"), "detected chrysotile");
  EXPECT_EQ(said(table + "\nM2-1: amosite\n", "S1"), "unclear");
}

TEST(ReadingNotes, WhatExplainsIsNoFinding) {
  const auto last = std::string(kHead) + "M2-1      Hall                   No asbestos detected\n\n";
  EXPECT_EQ(
      said(last + "Kinds looked for: chrysotile, amosite, crocidolite, tremolite, actinolite, anthophyllite\n", "S1"),
      "none detected");
  EXPECT_EQ(said(last + "Notes\nNAD = no asbestos detected\nChrysotile is white asbestos.\n", "S1"), "none detected");
  EXPECT_EQ(said(last + "Asbestos is identified by polarised light microscopy.\n", "S1"), "none detected");
  EXPECT_EQ(said(last + "Chrysotile was found in the backing.\n", "S1"), "unclear");
  EXPECT_EQ(said(last + "Notes\nChrysotile was found in the backing.\n", "S1"), "unclear");
}

// ---- properties -----------------------------------------------------------------------------------------------------

/// Blocks of lines that belong together; each is about one sample or about nothing.
const std::vector<std::string> kAbout = {
    "M2-1      Hall                   No asbestos detected\n",
    "M2-1      Hall                   Chrysotile\n",
    "M2-1      Hall                   No asbestos detected\n                                 in the plaster\n",
    "M2-1      Hall                   No asbestos detected\n          Adhesive               Chrysotile\n",
    "M2-1      Hall                   No asbestos detected   Amosite\n",
    "Sample reference: M2-1\nResult: No asbestos detected\nBacking: amosite\n",
    "M2-1: no asbestos detected in the board; chrysotile in the paint\n",
    "M2-2      Loft                   Amosite\n",
    "M10-1     Roof                   NAD\n",
};
const std::vector<std::string> kUnrelated = {"\n",
                                             "\n",
                                             "Page 1 of 2\n",
                                             "Thistle Row Fibre Laboratory\n",
                                             "12 Example Lane                  Telephone 000\n",
                                             "Samples are kept for six months.\n",
                                             "Q7-3      Neighbour              Amosite\n",
                                             "Q7-4      Neighbour              No asbestos detected\n"};

TEST(PropertyReading, LinesThatAreAboutNothingTurnNoFindIntoADenial) {
  std::mt19937 random(20261201);
  for (int round = 0; round < 3000; ++round) {
    std::vector<std::string> blocks;
    bool denied_alone = true;
    int about = 0;
    for (int n = 0; n < 3; ++n) {
      const auto pick = random() % kAbout.size();
      blocks.push_back(kAbout[pick]);
      if (pick < 7) {
        ++about;
        denied_alone = denied_alone && pick == 0;
      }
    }
    for (std::size_t n = random() % 8; n > 0; --n) blocks.push_back(kUnrelated[random() % kUnrelated.size()]);
    std::shuffle(blocks.begin(), blocks.end(), random);
    std::string text = "Asbestos\n";
    for (const auto& block : blocks) text += block;
    const auto now = said(text, "S1");
    EXPECT_EQ(now == "-", about == 0) << text;
    EXPECT_TRUE(now != "none detected" || denied_alone) << text;
  }
}

TEST(PropertyReading, ALineThatNamesAFindOfTheSampleEndsItsDenial) {
  std::mt19937 random(5);
  const auto table = std::string(kTable);
  for (int round = 0; round < 200; ++round) {
    auto text = table;
    auto at = random() % text.size();
    at = text.find('\n', at) + 1;
    const char* more[] = {"M2-1   Amosite\n", "M2-1: asbestos detected\n", "found in M2-1: chrysotile\n"};
    text.insert(at, more[random() % 3]);
    EXPECT_NE(said(text, "S1"), "none detected") << text;
  }
}

TEST(PropertyReading, CuttingTheReportShortInventsNoDenial) {
  const auto whole = std::string(kTable);
  for (std::size_t length = 0; length < whole.size(); ++length) {
    const auto part = whole.substr(0, length);
    for (const char* id : {"S2", "S10", "S11", "S12"}) EXPECT_NE(said(part, id), "none detected") << length;
  }
}

TEST(PropertyReading, AnyBytesWillDo) {
  std::mt19937 random(99);
  const std::vector<std::string> words = {"M2-1", "no",         "asbestos", "detected", "not",      "\n",    "   ",
                                          ":",    "chrysotile", "\f",       "\xFF\xC3", "\xE2\x80", "|",     "\t",
                                          "\0x",  "NAD",        ".",        "sample",   "ref",      "Result"};
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    for (std::size_t n = random() % 60; n > 0; --n) {
      text += random() % 4 == 0 ? std::string(1, static_cast<char>(random())) : words[random() % words.size()];
      if (random() % 2 == 0) text += ' ';
    }
    const auto reading = read(text, kSamples);
    for (const auto& one : reading.proposals) {
      EXPECT_FALSE(one.lines.empty());
      EXPECT_EQ(one.said == Said::kUnclear, !one.doubts.empty());
    }
  }
}

TEST(PropertyReading, LongAndHostileTextsAreReadInTime) {
  std::string one_line;
  for (int i = 0; i < 200000; ++i) one_line += "M2-1 S1/S2/S3 ";
  EXPECT_NE(said(one_line, "S1"), "none detected");
  std::string lines;
  for (int i = 0; i < 100000; ++i) lines += "chrysotile   not detected\n";
  EXPECT_EQ(said("Asbestos\nM2-1   NAD\n" + lines, "S1"), "unclear");
}

}  // namespace
}  // namespace lathbook::laboratory
