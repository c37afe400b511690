#include "fabric/drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "assets/assets.h"
#include "book/json.h"
#include "book/words.h"
#include "fabric/house_fixture.h"

namespace lathbook::fabric {
namespace {

using namespace fixture;
using ::testing::HasSubstr;

Plan plan_of(const House& h) {
  auto plan = Plan::build(h.storeys, h.rooms);
  if (!plan.ok()) throw std::logic_error(plan.faults().front().text());
  return *plan;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

std::size_t width_of(const std::string& line) {
  return static_cast<std::size_t>(
      std::count_if(line.begin(), line.end(), [](char c) { return (c & '\xC0') != '\x80'; }));
}

House small_house() {
  House h;
  h.storeys = {{{"L1"}, "ground", 0, 2.4}};
  h.rooms = {room("R1", "L1", box(0, 0, 4, 3)), room("R2", "L1", box(4, 0, 7, 3))};
  h.rooms[0].name = "kitchen";
  h.rooms[1].name = "hall";
  h.materials = {material("M1", "R1", kCeiling)};
  return h;
}

TEST(PlanText, ALookAtTheWholeOfIt) {
  const auto h = small_house();
  const auto plan = plan_of(h);
  const std::string text = plan_text({plan, "A small house", h.materials, {book::Standing::kPresumed}, {}, {}, {}, {}});
  EXPECT_EQ(text,
            "A small house\n"
            "\n"
            "L1  ground (floor at 0 m)\n"
            " ┌───────────────────────┬─────────────────┐\n"
            " │                       │                 │\n"
            " │                       │                 │\n"
            " │                       │                 │\n"
            " │      R1 kitchen       │     R2 hall     │\n"
            " │          M1           │                 │\n"
            " │                       │                 │\n"
            " │                       │                 │\n"
            " │                       │                 │\n"
            " └───────────────────────┴─────────────────┘\n"
            " ├───────────┤ 2 m\n"
            "  R1 kitchen\n"
            "    M1   ceiling, M1: presumed\n"
            "\n"
            "Shows what was written down, where it was drawn, give or take 0.15 m. What is\n"
            "not shown is not known to be absent: an untested suspect is treated as asbestos.\n")
      << text;
}

TEST(PlanText, NoLineIsLongerThanThePage) {
  const auto book = book::book_from_json(nlohmann::json::parse(assets::get("data/demo.json")));
  ASSERT_TRUE(book.ok());
  const auto plan = Plan::build(book->storeys, book->rooms);
  ASSERT_TRUE(plan.ok());
  const Drawing drawing{*plan,
                        book->about.title,
                        book->materials,
                        std::vector(book->materials.size(), book::Standing::kPresumed),
                        {},
                        book->jobs,
                        {},
                        {}};
  for (const std::size_t columns : {40U, 80U, 132U}) {
    const auto text = plan_text(drawing, columns);
    for (const auto& line : lines_of(text)) EXPECT_LE(width_of(line), columns) << line;
    for (const auto& one : book->rooms) EXPECT_THAT(text, HasSubstr(one.id.text));
    for (const auto& one : book->materials) {
      if (one.removed_on) continue;
      EXPECT_THAT(text, HasSubstr(one.id.text));
    }
  }
}

TEST(PlanText, OneStoreyAlone) {
  const auto h = house();
  const auto plan = plan_of(h);
  const auto text = plan_text({plan, "", {}, {}, {}, {}, {}, book::StoreyId{"L1"}});
  EXPECT_THAT(text, HasSubstr("bathroom"));
  EXPECT_THAT(text, testing::Not(HasSubstr("kitchen")));
}

/// Well-formed enough to be read: tags balance, nothing bare.
void expect_balanced(const std::string& svg) {
  std::vector<std::string> open;
  for (std::size_t at = svg.find('<'); at != std::string::npos; at = svg.find('<', at + 1)) {
    const std::size_t end = svg.find('>', at);
    ASSERT_NE(end, std::string::npos);
    const std::string tag = svg.substr(at + 1, end - at - 1);
    const std::string name =
        tag.substr(tag.starts_with('/') ? 1 : 0, tag.find_first_of(" /", 1) - (tag.starts_with('/') ? 1 : 0));
    if (tag.starts_with('/')) {
      ASSERT_FALSE(open.empty());
      EXPECT_EQ(open.back(), tag.substr(1));
      open.pop_back();
    } else if (!tag.ends_with('/')) {
      open.push_back(name);
    }
  }
  EXPECT_TRUE(open.empty());
}

TEST(PlanSvg, StandingIsAHatchAndAWordNeverAColour) {
  auto h = small_house();
  h.materials.clear();
  std::vector<book::Standing> standings;
  for (const auto& [standing, word] : book::words<book::Standing>()) {
    h.materials.push_back(
        material("M" + std::to_string(h.materials.size() + 1), "R1", h.materials.size() % 2 == 0 ? kFloor : wall(1)));
    h.materials.back().name = "a <board> & \"more\"";
    standings.push_back(standing);
  }
  book::Job job;
  job.id = {"J1"};
  job.cuts = {hole("R1", kCeiling, {1, 1}, book::Depth::kThrough)};
  const std::vector<book::Job> jobs{job};
  const auto plan = plan_of(h);
  const std::string svg = plan_svg({plan, "A small house", h.materials, standings, {}, jobs, {}, {}});
  expect_balanced(svg);
  for (const auto& [standing, word] : book::words<book::Standing>())
    EXPECT_THAT(svg, HasSubstr(std::string(word) + "</text>"));
  for (const char* hatch : {"identified", "strongly", "presumed", "none", "later"}) {
    EXPECT_THAT(svg, HasSubstr(std::string("id=\"") + hatch + "\""));
    EXPECT_THAT(svg, HasSubstr(std::string("fill=\"url(#") + hatch + ")\" d="));
  }
  EXPECT_THAT(svg, HasSubstr("a &lt;board&gt; &amp; &quot;more&quot;"));
  EXPECT_THAT(svg, HasSubstr("J1/1</text>"));
  EXPECT_THAT(svg, HasSubstr("2 m, in steps of 1 m"));
  // Black and white only.
  for (std::size_t at = svg.find("=\"#"); at != std::string::npos; at = svg.find("=\"#", at + 1)) {
    const std::string colour = svg.substr(at + 2, svg.find('"', at + 2) - at - 2);
    EXPECT_TRUE(colour == "#000" || colour == "#fff") << colour;
  }
}

TEST(PlanSvg, ARouteIsDrawnWithItsHoles) {
  const auto h = house();
  const auto plan = plan_of(h);
  const MaterialIndex index(plan, h.materials);
  RouteRequest request;
  request.from = {{"kitchen"}, wall(1), {1, 1.2}};
  request.to = {{"bathroom"}, wall(1), {1, 1.2}};
  const auto found = find_routes(plan, index, {}, request);
  ASSERT_TRUE(found.ok());
  ASSERT_FALSE(found->routes.empty());
  const std::string svg = plan_svg({plan, "", {}, {}, {}, {}, std::span(found->routes).first(1), {}});
  expect_balanced(svg);
  EXPECT_THAT(svg, HasSubstr("class=\"route\""));
  EXPECT_THAT(svg, HasSubstr("route 1</text>"));
  EXPECT_THAT(svg, HasSubstr("a route, and a hole it needs"));
}

}  // namespace
}  // namespace lathbook::fabric
