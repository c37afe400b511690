#include "timeline/gantt.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

namespace lathbook::timeline {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

Date day(const char* text) { return *Date::parse(text); }

std::vector<GanttRow> rows() {
  return {
      {.id = "test",
       .name = "Test the hall ceiling",
       .start = day("2025-01-06"),
       .finish = day("2025-01-13"),
       .latest = {},
       .critical = true,
       .slack_days = 0},
      {.id = "look",
       .name = "Measure",
       .start = day("2025-01-06"),
       .finish = day("2025-01-07"),
       .latest = day("2025-01-09"),
       .critical = false,
       .slack_days = 4},
      {.id = "end",
       .name = "",
       .start = day("2025-01-13"),
       .finish = day("2025-01-13"),
       .latest = {},
       .critical = true,
       .slack_days = 0},
  };
}

std::size_t characters(const std::string& text) {
  std::size_t count = 0;
  for (const char c : text) count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  return count;
}

TEST(Gantt, TextShowsBars) {
  EXPECT_EQ(gantt_text(rows()),
            "                                     Jan\n"
            "Test the hall ceiling    2025-01-06  #######\n"
            "Measure                  2025-01-06  =..\n"
            "end                      2025-01-13        |\n"
            "# delays the end  = may slip  . may come as late as  | no length\n"
            "a column is a day\n");
}

TEST(PropertyGantt, TextStaysInItsColumns) {
  auto long_rows = rows();
  long_rows[0].name = "Prüfung der Decke im Flur vor dem Bohren der Löcher";
  long_rows[0].finish = day("2031-06-01");
  for (int columns : {60, 80, 120}) {
    std::istringstream in(gantt_text(long_rows, columns));
    std::vector<std::string> lines;
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    ASSERT_EQ(lines.size(), 6U);
    for (const auto& line : lines) EXPECT_LE(characters(line), static_cast<std::size_t>(std::max(columns, 80))) << line;
    for (std::size_t i = 0; i < 4; ++i) EXPECT_LE(characters(lines[i]), static_cast<std::size_t>(columns)) << lines[i];
  }
}

TEST(Gantt, NothingPlanned) {
  EXPECT_EQ(gantt_text({}), "nothing planned\n");
  EXPECT_THAT(gantt_svg({}, "t"), HasSubstr("</svg>"));
}

TEST(Gantt, SvgSaysInWordsWhatItDraws) {
  auto with_markup = rows();
  with_markup[1].name = "Measure <hall> & \"stairs\"";
  const auto svg = gantt_svg(with_markup, "Plan");
  EXPECT_THAT(svg, HasSubstr("aria-label=\"Test the hall ceiling: 2025-01-06 to 2025-01-13, delays the end\""));
  EXPECT_THAT(svg, HasSubstr("Measure &lt;hall&gt; &amp; &quot;stairs&quot;"));
  EXPECT_THAT(svg, HasSubstr("may slip 4 days"));
  EXPECT_THAT(svg, HasSubstr("url(#slip)"));
  EXPECT_THAT(svg, Not(HasSubstr("<hall>")));
}

}  // namespace
}  // namespace lathbook::timeline
