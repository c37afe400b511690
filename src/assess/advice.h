// What to do with a piece, and when to look at it again.
//
// Decided by ordered rules, first match wins; each rule's sentence is the reason given. Sound material that nothing
// will disturb is left and looked at again (HSE's general advice); the thresholds between sealing, boxing in and
// removal are our judgement and say so. This is advice about the material, never about who may do the work: that is for
// `law`.
#pragma once

#include <optional>

#include "assess/score.h"
#include "book/book.h"
#include "catalogue/catalogue.h"
#include "reason/date.h"
#include "reason/reason.h"

namespace lathbook::assess {

/// A piece as it is and what is going to happen to it.
struct Situation {
  const catalogue::Family& family;
  Band band = Band::kHigh;
  book::Damage damage = book::Damage::kNone;
  std::optional<book::Surface> surface;  ///< absent: the family's usual one
  bool released = false;                 ///< its standing is no asbestos detected, or proven later than the ban
  bool job_cuts_it = false;              ///< a planned job would drill, cut, lift or break it
  bool often_knocked = false;            ///< children at it, doors, furniture, foot traffic, regular access
  bool outdoors = false;
};

struct Recommendation {
  book::ActionKind kind = book::ActionKind::kLeave;
  reason::Reasons reasons;
};

[[nodiscard]] Recommendation recommend(const Situation& situation);

/// When a piece is to be looked at next.
struct LookQuestion {
  std::optional<reason::Date> last_look;   ///< absent: never looked at
  std::optional<reason::Date> last_event;  ///< last time it was disturbed, knocked, flooded, worked on
  Band band = Band::kHigh;
  bool often_knocked = false;
};

struct NextLook {
  reason::Date on;
  int interval_months = 0;  ///< 0 = at once
  reason::Reasons reasons;
};

/// 12 months after the last look; 6 when the band is medium or high or the piece is often knocked; at once (`today`)
/// when it was never looked at or something happened on or after the day of the last look. A month's end stays a
/// month's end: six months after 31 August is the last day of February.
[[nodiscard]] NextLook next_look(const LookQuestion& question, reason::Date today);

}  // namespace lathbook::assess
