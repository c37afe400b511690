#include "event/uncertain.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "air/solution.h"

namespace lathbook::event {
namespace {

using ::testing::HasSubstr;

/// Kitchen, hall and bedroom; six holes through insulating board, swept up after.
Scene six_holes() {
  Scene scene;
  scene.rooms = {{"kitchen", 30, 12.5, "room", {}}, {"hall", 18, 7.5, "room", {}}, {"bedroom", 35, 14.5, "room", {}}};
  scene.openings = {{0, 1, "open", {}}, {1, 2, "closed", {}}, {0, std::nullopt, "closed", {{"open", 30, 90}}}};
  scene.work = {{0, "insulating-board", "drill", {}, 6, 0, 12}};
  scene.cleaning = {{0, "sweep", 20, 30}};
  scene.people = {{"P1", {{0, true, 0, 12}, {0, false, 12, 60}}, {{"ffp2", 0, 12, {}, false}}},
                  {"P2", {{2, false, 0, 120}}, {}}};
  scene.fibre = book::Fibre::kAmosite;
  return scene;
}

Answer answered(const Scene& scene, Settings settings) {
  const auto answer = uncertain(scene, catalogue::shipped_air_data(), catalogue::shipped(), settings);
  if (!answer.ok()) throw std::runtime_error(answer.faults().front().text());
  return *answer;
}

Settings quick() {
  Settings settings;
  settings.draws = 2048;
  settings.wanted_error = 0;
  settings.changes = false;
  return settings;
}

TEST(Uncertain, BandsAreInOrderAndSayWhatIsPlausible) {
  auto settings = quick();
  settings.changes = true;
  const auto answer = answered(six_holes(), settings);
  EXPECT_EQ(answer.draws, 2048U);
  EXPECT_EQ(answer.stopped, "draws asked for");
  ASSERT_EQ(answer.rooms.size(), 3U);
  for (const auto& room : answer.rooms) {
    for (const auto& band :
         {room.ten_minutes, room.four_hours, room.load_f_per_cm2, room.week_f_per_ml_h, room.minutes_until_clearance}) {
      EXPECT_LE(band.low, band.middle);
      EXPECT_LE(band.middle, band.high);
      EXPECT_GE(band.low, 0);
    }
    EXPECT_LE(room.four_hours.middle, room.ten_minutes.middle);
    EXPECT_LE(room.minutes_until_clearance.middle, room.minutes_until_background.middle);
  }
  EXPECT_GT(answer.rooms[0].ten_minutes.middle, answer.rooms[1].ten_minutes.middle);
  EXPECT_GT(answer.rooms[1].ten_minutes.middle, answer.rooms[2].ten_minutes.middle);
  // Six holes of 1e7 fibres in 30 m3 come to about 2 f/ml: the worked scale of exposure data.
  EXPECT_GT(answer.rooms[0].ten_minutes.middle, 0.2);
  EXPECT_LT(answer.rooms[0].ten_minutes.middle, 5);
  ASSERT_EQ(answer.people.size(), 2U);
  EXPECT_GT(answer.people[0].without_mask_f_per_ml_h.middle, answer.people[0].breathed_f_per_ml_h.middle);
  EXPECT_EQ(answer.people[1].without_mask_f_per_ml_h.middle, answer.people[1].breathed_f_per_ml_h.middle);
  EXPECT_EQ(answer.matters.front().unknown.id, "emission:insulating-board:drill");
  EXPECT_GT(answer.matters.front().correlation, 0.5);
  ASSERT_GE(answer.changes.size(), 4U);
  EXPECT_LT(answer.changes.front().ratio, 0.5);
  EXPECT_FALSE(answer.reasons.empty());
}

TEST(PropertyUncertain, SameSeedSameAnswerOnAnyNumberOfThreads) {
  auto settings = quick();
  const auto one = answered(six_holes(), settings);
  settings.workers = 3;
  const auto three = answered(six_holes(), settings);
  for (std::size_t r = 0; r < one.rooms.size(); ++r) {
    EXPECT_EQ(one.rooms[r].ten_minutes.high, three.rooms[r].ten_minutes.high);
    EXPECT_EQ(one.rooms[r].week_f_per_ml_h.low, three.rooms[r].week_f_per_ml_h.low);
  }
  EXPECT_EQ(one.people[0].breathed_f_per_ml_h.middle, three.people[0].breathed_f_per_ml_h.middle);
  EXPECT_EQ(one.matters[3].correlation, three.matters[3].correlation);
  settings.seed = 2;
  const auto other = answered(six_holes(), settings);
  EXPECT_NE(one.people[0].breathed_f_per_ml_h.middle, other.people[0].breathed_f_per_ml_h.middle);
  EXPECT_NEAR(one.people[0].breathed_f_per_ml_h.middle / other.people[0].breathed_f_per_ml_h.middle, 1, 0.1);
}

TEST(PropertyUncertain, StopsWhenAccurateEnoughAndItsErrorIsHonest) {
  auto settings = quick();
  settings.draws = 65536;
  settings.wanted_error = 0.05;
  const auto answer = answered(six_holes(), settings);
  EXPECT_EQ(answer.stopped, "accurate enough");
  EXPECT_LE(answer.error, 0.05);
  auto much = quick();
  much.draws = 4 * answer.draws;
  much.seed = 77;
  const auto finer = answered(six_holes(), much);
  for (const auto& [a, b] :
       {std::pair(answer.people[0].breathed_f_per_ml_h.low, finer.people[0].breathed_f_per_ml_h.low),
        std::pair(answer.people[0].breathed_f_per_ml_h.middle, finer.people[0].breathed_f_per_ml_h.middle),
        std::pair(answer.people[0].breathed_f_per_ml_h.high, finer.people[0].breathed_f_per_ml_h.high)}) {
    EXPECT_NEAR(a / b, 1, 0.25);  // five standard errors
  }
}

TEST(Uncertain, CanBeCancelledAndTellsHowFarItIs) {
  auto settings = quick();
  std::atomic<bool> cancel{false};
  std::vector<double> seen;
  settings.cancel = &cancel;
  settings.progress = [&](double share) {
    seen.push_back(share);
    if (share > 0.5) cancel = true;
  };
  const auto answer = answered(six_holes(), settings);
  EXPECT_EQ(answer.stopped, "cancelled");
  EXPECT_LT(answer.draws, 2048U);
  EXPECT_GT(answer.draws, 0U);
  EXPECT_TRUE(std::is_sorted(seen.begin(), seen.end()));
  cancel = true;
  EXPECT_FALSE(uncertain(six_holes(), catalogue::shipped_air_data(), catalogue::shipped(), settings).ok());
}

TEST(PropertyUncertain, AShareNotRememberedIsAnythingFromNoneToAll) {
  auto scene = six_holes();
  const auto unknown = answered(scene, quick());
  scene.people[0].masks[0].share_worn = 1;
  const auto worn = answered(scene, quick());
  scene.people[0].masks[0].share_worn = 0;
  const auto off = answered(scene, quick());
  EXPECT_LT(worn.people[0].breathed_f_per_ml_h.middle, unknown.people[0].breathed_f_per_ml_h.middle);
  EXPECT_LT(unknown.people[0].breathed_f_per_ml_h.middle, off.people[0].breathed_f_per_ml_h.middle);
  const bool named = std::any_of(unknown.matters.begin(), unknown.matters.end(),
                                 [](const auto& m) { return m.unknown.id == "worn:P1"; });
  EXPECT_TRUE(named);
}

TEST(PropertyUncertain, DosesGrowInStepWithHoles) {
  auto scene = six_holes();
  const auto six = answered(scene, quick());
  scene.work[0].count = 60;
  const auto sixty = answered(scene, quick());
  EXPECT_NEAR(sixty.people[0].breathed_f_per_ml_h.high / six.people[0].breathed_f_per_ml_h.high, 10, 1e-4);
  EXPECT_NEAR(sixty.rooms[2].load_f_per_cm2.middle / six.rooms[2].load_f_per_cm2.middle, 10, 1e-4);
}

// One draw with every unknown at its middle, against the exact solver on the same network written out by hand.
TEST(PropertyModel, OneDrawAgreesWithTheExactSolver) {
  Scene scene = six_holes();
  scene.cleaning.clear();
  scene.openings.pop_back();
  const auto& data = catalogue::shipped_air_data();
  const Model model(scene, data, catalogue::shipped());
  std::vector<double> chances(model.unknowns().size(), 0.5);
  std::vector<double> outcome(model.layout().size());
  model.draw(*model.bench(), chances, outcome);

  air::Scene exact;
  exact.zones = {{"kitchen", 30 - data.near_field_m3, 12.5 - 1, 0, 0},
                 {"hall", 18, 7.5, 0, 0},
                 {"bedroom", 35, 14.5, 0, 0},
                 {"near", data.near_field_m3, 1, 0, 0}};
  const auto both = [&](const std::string& a, const std::string& b, double q) {
    exact.flows.push_back({a, b, q});
    exact.flows.push_back({b, a, q});
  };
  both("outdoors", "kitchen", 0.6 * 30);
  both("outdoors", "hall", 0.6 * 18);
  both("outdoors", "bedroom", 0.6 * 35);
  both("kitchen", "hall", 200);
  both("hall", "bedroom", 12);
  both("kitchen", "near", 600);
  for (int k = 0; k < 5; ++k) {
    const double z[] = {-1.2815515655446004, -0.5244005127080407, 0, 0.5244005127080407, 1.2815515655446004};
    const double d = 0.45 * std::exp(std::log(1.7) * z[k]);
    const double b = 9 / d;
    const double F = (9.0 / 4 * (std::log(2 * b) - 0.807) + 2 * 9.0 / 8 * (std::log(2 * b) + 0.193)) / 3;
    const double D = d * std::sqrt(3.4 * F);
    const double slip = 1 + 0.066 / D * (2.34 + 1.05 * std::exp(-0.39 * D / 0.066));
    const double v = 2.4 * 1000 * D * D * 1e-12 * 9.80665 * slip / (18 * 1.81e-5);
    exact.classes.push_back({std::to_string(k), 0.2, v});
  }
  const auto phase = [&](double minutes, bool work, bool after) {
    air::Phase one{
        .minutes = minutes, .sources = {}, .flows = {}, .filtration = {}, .resuspension = {}, .surface_removal = {}};
    if (work) one.sources = {{"near", 6e7 / 12}};
    if (after) one.resuspension = {{"kitchen", 1.4e-4}, {"hall", 1.4e-4}, {"bedroom", 1.4e-4}, {"near", 1.4e-4}};
    exact.phases.push_back(one);
  };
  phase(12, true, false);
  phase(108 + 1440, false, true);
  phase(7 * 1440, false, true);
  const auto solved = air::Solution::of(exact);
  ASSERT_TRUE(solved.ok());
  const auto& layout = model.layout();
  for (std::size_t t = 1; t < layout.times; ++t) {
    const auto levels = solved->at(model.times_min()[t] / 60);
    for (std::size_t r = 0; r < 3; ++r) {
      const double want = levels.f_per_ml(static_cast<Eigen::Index>(r));
      EXPECT_NEAR(outcome[layout.level(r, t)], want, 1e-5 * want + 1e-7) << model.times_min()[t];
    }
  }
  for (std::size_t r = 0; r < 3; ++r) {
    const std::vector<air::Leg> all{{r, 0, 26}};
    EXPECT_NEAR(outcome[layout.ten_minutes(r)] / solved->largest_mean(all, 1.0 / 6), 1, 0.01) << r;
    EXPECT_NEAR(outcome[layout.four_hours(r)] / solved->largest_mean(all, 4), 1, 0.01) << r;
    const auto below = solved->hours_until_below(r, kClearance);
    ASSERT_TRUE(below.has_value());
    EXPECT_NEAR(outcome[layout.below_clearance_min(r)], *below * 60, 0.02 * *below * 60) << r;
    EXPECT_NEAR(outcome[layout.week(r)] / (16.0 / 24 * solved->phase_integrals_f_per_ml_h(r)[2]), 1, 1e-3);
  }
  EXPECT_NEAR(outcome[layout.load(2)] / solved->end_load_f_per_cm2(2), 1, 1e-4);
  const std::vector<air::Leg> way{{3, 0, 0.2}, {0, 0.2, 1.0}};
  EXPECT_NEAR(outcome[layout.without_mask(0)] / solved->breathed_f_per_ml_h(way), 1, 1e-5);
  EXPECT_NEAR(outcome[layout.person_ten_minutes(0)] / solved->largest_mean(way, 1.0 / 6), 1, 0.01);
}

TEST(FaultEvent, EverythingWrongIsNamed) {
  auto scene = six_holes();
  scene.rooms[0].volume_m3 = 0;
  scene.rooms[1].place = "balloon";
  scene.openings[0].to = 7;
  scene.openings[1].usual = "swinging";
  scene.work[0].task = "sweep";
  scene.work[0].controls = {"magic"};
  scene.work[0].to_min = 0;
  scene.cleaning[0].task = "polish";
  scene.people[0].stays[1].from_min = 5;
  scene.people[0].masks[0].respirator = "scarf";
  std::string text;
  for (const auto& fault : check(scene, catalogue::shipped_air_data(), catalogue::shipped()))
    text += fault.text() + "\n";
  for (const char* place : {"/rooms/0/volume_m3", "/rooms/1/place", "/openings/0/to", "/openings/1/usual",
                            "/work/0/task", "/work/0/controls/0", "/work/0/to_min", "/cleaning/0/task",
                            "a person in two places", "/people/0/masks/0/respirator"}) {
    EXPECT_THAT(text, HasSubstr(place));
  }
  EXPECT_FALSE(check(Scene{}, catalogue::shipped_air_data(), catalogue::shipped()).empty());
}

}  // namespace
}  // namespace lathbook::event
