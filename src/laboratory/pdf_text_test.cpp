#include "laboratory/pdf_text.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <thread>

#include "laboratory/testing.h"

namespace lathbook::laboratory {
namespace {

using ::testing::HasSubstr;
using testing::pdf_of;

std::string problem(std::string_view pdf, const Limits& limits = {}) {
  const auto text = pdf_text(pdf, limits);
  return text.ok() ? "none: " + *text : text.faults().front().problem;
}

TEST(PdfText, ColumnsStayApartAndPagesEnd) {
  const auto text = pdf_text(pdf_of({{"Sample    Result", "M2-1      No asbestos detected"}, {"M3-1      Amosite"}}));
  ASSERT_TRUE(text.ok()) << text.faults().front().text();
  EXPECT_THAT(*text, HasSubstr("M2-1     No asbestos detected\n"));
  EXPECT_THAT(*text, HasSubstr("\fM3-1   Amosite\n"));
}

TEST(FaultPdfText, WhatIsNoPdfIsToldByItsFirstBytes) {
  EXPECT_THAT(problem("<html>%PDF-1.4</html>"), HasSubstr("is not a PDF"));
  EXPECT_THAT(problem(""), HasSubstr("is not a PDF"));
}

TEST(FaultPdfText, BrokenEmptyAndScannedFilesAreTold) {
  EXPECT_THAT(problem("%PDF-1.7\nnothing more"), HasSubstr("is damaged"));
  EXPECT_THAT(problem("%PDF-"), HasSubstr("is damaged"));
  EXPECT_THAT(problem(pdf_of({{}, {}})), HasSubstr("holds no text"));
}

TEST(FaultPdfText, ALockedFileIsTold) {
  const auto folder = std::filesystem::temp_directory_path() / ("lathbook-locked-" + std::to_string(getpid()));
  std::filesystem::create_directory(folder);
  const auto plain = folder / "plain.pdf";
  const auto locked = folder / "locked.pdf";
  std::ofstream(plain, std::ios::binary) << pdf_of({{"M2-1      No asbestos detected"}});
  const auto qpdf = "qpdf --encrypt secret owner 256 -- " + plain.string() + " " + locked.string();
  ASSERT_EQ(std::system(qpdf.c_str()), 0);
  std::ifstream in(locked, std::ios::binary);
  EXPECT_THAT(problem(std::string(std::istreambuf_iterator<char>(in), {})), HasSubstr("locked with a passphrase"));
  std::filesystem::remove_all(folder);
}

TEST(FaultPdfText, LimitsHold) {
  const std::vector<std::string> page(60, std::string(90, 'x'));
  EXPECT_THAT(problem(pdf_of({page}), {.most_bytes = 1000}), HasSubstr("too large"));
  EXPECT_THAT(problem(pdf_of(std::vector(40, page)), {.most_text = 5000}), HasSubstr("too much text"));
  EXPECT_THAT(problem(pdf_of({page}), {.longest = std::chrono::milliseconds(0)}), HasSubstr("too long"));
  // A program that needs more memory than it is given does not start, or ends: never a part of the text.
  EXPECT_FALSE(pdf_text(pdf_of({page}), {.most_memory = 4U << 20U}).ok());
}

TEST(FaultPdfText, AProgramThatIsNotThereIsNamed) {
  const auto text = pdf_text(pdf_of({{"x"}}), {.program = "no-such-program-here"});
  ASSERT_FALSE(text.ok());
  EXPECT_THAT(text.faults().front().text(), HasSubstr("poppler-utils"));
  EXPECT_THAT(problem(pdf_of({{"x"}}), {.program = "/nowhere/pdftotext"}), HasSubstr("is not there"));
}

/// What stands in for the program here reads nothing, ends with text on both sides and a status of its own.
TEST(FaultPdfText, AProgramThatDiesOrNeverEndsIsNoText) {
  const auto program = std::filesystem::temp_directory_path() / ("lathbook-stand-in-" + std::to_string(getpid()));
  const auto write = [&](const std::string& what) {
    std::ofstream(program) << "#!/bin/sh\n" << what << "\n";
    std::filesystem::permissions(program, std::filesystem::perms::owner_all);
    return Limits{.longest = std::chrono::milliseconds(1500), .program = program.string()};
  };
  EXPECT_THAT(problem(pdf_of({{"x"}}), write("echo M2-1; exit 3")), HasSubstr("is damaged"));
  EXPECT_THAT(problem(pdf_of({{"x"}}), write("echo M2-1; kill -SEGV $$")), HasSubstr("is damaged"));
  EXPECT_THAT(problem(pdf_of({{"x"}}), write("while :; do :; done")), HasSubstr("too long"));
  EXPECT_THAT(problem(pdf_of({{"x"}}), write("yes")), HasSubstr("too much text"));
  // No file may grow by its hand.
  const auto aside = program.string() + ".aside";
  const auto kept = problem(pdf_of({{"x"}}), write("echo gone > " + aside + "; echo done"));
  EXPECT_TRUE(!std::filesystem::exists(aside) || std::filesystem::file_size(aside) == 0) << kept;
  std::filesystem::remove(aside);
  std::filesystem::remove(program);
}

TEST(PdfText, ManyAtOnceAreReadEachByItself) {
  std::vector<std::thread> readers;
  std::vector<std::string> read(6);
  for (std::size_t i = 0; i < read.size(); ++i) {
    readers.emplace_back([&read, i] {
      const auto text = pdf_text(pdf_of({{"report " + std::to_string(i)}}));
      if (text.ok()) read[i] = *text;
    });
  }
  for (auto& reader : readers) reader.join();
  for (std::size_t i = 0; i < read.size(); ++i) EXPECT_THAT(read[i], HasSubstr("report " + std::to_string(i)));
}

TEST(PropertyPdfText, ADamagedFileIsReadOrToldAndNeverMore) {
  const auto whole = pdf_of({{"M2-1      No asbestos detected"}});
  std::mt19937 random(7);
  for (int round = 0; round < 30; ++round) {
    auto damaged = whole;
    for (int n = 0; n < 4; ++n) damaged[5 + random() % (damaged.size() - 5)] = static_cast<char>(random());
    damaged.resize(20 + random() % (damaged.size() - 20));
    const auto text = pdf_text(damaged);
    EXPECT_TRUE(text.ok() || !text.faults().front().problem.empty());
  }
}

}  // namespace
}  // namespace lathbook::laboratory
