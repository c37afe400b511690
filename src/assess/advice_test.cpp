#include "assess/advice.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "book/words.h"

namespace lathbook::assess {
namespace {

using book::ActionKind;
using book::Damage;
using book::Surface;
using reason::Date;

const catalogue::Family& family(const char* id) { return *catalogue::shipped().find_family(id); }
Date day(const char* text) { return *Date::parse(text); }

Situation sound_board() { return {family("insulating-board"), Band::kLow, Damage::kNone, Surface::kSealed}; }

TEST(Recommend, LeavesSoundMaterialThatNothingTouches) {
  EXPECT_EQ(recommend(sound_board()).kind, ActionKind::kLeave);
  EXPECT_EQ(
      recommend({family("cement-profiled-sheet"), Band::kVeryLow, Damage::kNone, {}, false, false, false, true}).kind,
      ActionKind::kLeave);
}

TEST(Recommend, SealsScratchesAndBoxesInWhatIsKnocked) {
  auto one = sound_board();
  one.damage = Damage::kLow;
  EXPECT_EQ(recommend(one).kind, ActionKind::kSeal);
  one.damage = Damage::kNone;
  one.often_knocked = true;
  EXPECT_EQ(recommend(one).kind, ActionKind::kBoxIn);
}

TEST(Recommend, RemovesWhatAJobWouldCutOrWhatIsBadlyDamaged) {
  auto one = sound_board();
  one.job_cuts_it = true;
  EXPECT_EQ(recommend(one).kind, ActionKind::kRemove);
  one.job_cuts_it = false;
  one.damage = Damage::kHigh;
  EXPECT_EQ(recommend(one).kind, ActionKind::kRemove);
}

TEST(Recommend, LeavesWhatIsReleased) {
  auto one = sound_board();
  one.damage = Damage::kHigh;
  one.released = true;
  EXPECT_EQ(recommend(one).kind, ActionKind::kLeave);
}

/// Leaving is milder than sealing or boxing in (two ways of keeping it), which are milder than removal.
int strength(ActionKind kind) { return kind == ActionKind::kLeave ? 0 : kind == ActionKind::kRemove ? 2 : 1; }

TEST(PropertyRecommend, AWorseSituationIsNeverAnsweredMoreMildly) {
  int compared = 0;
  for (const auto& one : catalogue::shipped().families) {
    if (!one.suspect) continue;
    for (int band = 0; band < 4; ++band) {
      for (int damage = 0; damage < 4; ++damage) {
        for (int surface = 0; surface < 4; ++surface) {
          for (int flags = 0; flags < 8; ++flags) {
            const auto at = [&](int b, int d, int f) {
              return strength(
                  recommend({one, static_cast<Band>(b), static_cast<Damage>(d), static_cast<Surface>(surface), false,
                             (f & 1) != 0, (f & 2) != 0, (f & 4) != 0})
                      .kind);
            };
            const int here = at(band, damage, flags);
            EXPECT_GE(at(std::min(band + 1, 3), damage, flags), here) << one.id;
            EXPECT_GE(at(band, std::min(damage + 1, 3), flags), here) << one.id;
            EXPECT_GE(at(band, damage, flags | 1), here) << one.id;
            EXPECT_GE(at(band, damage, flags | 2), here) << one.id;
            ++compared;
          }
        }
      }
    }
  }
  EXPECT_EQ(compared, 29 * 4 * 4 * 4 * 8);
}

TEST(PropertyRecommend, EveryAnswerGivesItsReason) {
  for (const auto& one : catalogue::shipped().families) {
    for (int damage = 0; damage < 4; ++damage) {
      const auto answer = recommend({one, Band::kMedium, static_cast<Damage>(damage), {}});
      ASSERT_FALSE(answer.reasons.empty());
      EXPECT_NE(catalogue::shipped().find_source(answer.reasons.front().source), nullptr)
          << answer.reasons.front().source;
    }
  }
}

TEST(NextLook, YearlyHalfYearlyOrAtOnce) {
  const auto today = day("2026-05-10");
  EXPECT_EQ(next_look({day("2026-03-01"), {}, Band::kLow, false}, today).on, day("2027-03-01"));
  EXPECT_EQ(next_look({day("2026-03-01"), {}, Band::kMedium, false}, today).on, day("2026-09-01"));
  EXPECT_EQ(next_look({day("2026-03-01"), {}, Band::kLow, true}, today).on, day("2026-09-01"));
  EXPECT_EQ(next_look({day("2026-03-01"), day("2026-03-01"), Band::kLow, false}, today).on, today);
  EXPECT_EQ(next_look({day("2026-03-01"), day("2026-02-28"), Band::kLow, false}, today).on, day("2027-03-01"));
  EXPECT_EQ(next_look({{}, {}, Band::kVeryLow, false}, today).on, today);
}

TEST(NextLook, KeepsToTheEndOfShortMonths) {
  EXPECT_EQ(next_look({day("2025-08-31"), {}, Band::kHigh, false}, day("2025-09-01")).on, day("2026-02-28"));
  EXPECT_EQ(next_look({day("2023-08-31"), {}, Band::kHigh, false}, day("2023-09-01")).on, day("2024-02-29"));
  EXPECT_EQ(next_look({day("2024-02-29"), {}, Band::kLow, false}, day("2024-03-01")).on, day("2025-02-28"));
}

}  // namespace
}  // namespace lathbook::assess
