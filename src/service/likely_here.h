// What to look for in a room: the families whose usual places, years of use and odds make them likely there.
//
// A family is asked about, once for all the faces it may be on, when all of this holds:
//  1. one of its typical places (data/families.json) is of the room's kind or use;
//  2. the years in which it was put in as a matter of course overlap the years something may have been put into the
//     room: from when it was built up to the ban, since any later alteration may have brought it;
//  3. a thing of its look put in during that overlap held asbestos with a probability of at least `kLikely` (mean of
//     the family's curve, evidence/prior.h).
// A room built wholly after the ban is asked nothing. The answer steers where to look and nothing else: no "no"
// releases work, and a face with nothing written down stays "look first" (check/check.h).
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "catalogue/evidence_data.h"
#include "check/house.h"
#include "evidence/prior.h"
#include "reason/date.h"

namespace lathbook::service {

using Json = nlohmann::json;

inline constexpr double kLikely = 0.05;  ///< judgement: rarer than 1 in 20 is left to the person's own eye

/// One question: is there something of this family here?
struct LookFor {
  const catalogue::Family* family = nullptr;
  std::vector<book::FaceKind> faces;                   ///< where it may be: ceiling, roof, wall, floor, inside
  std::vector<const catalogue::TypicalPlace*> places;  ///< in the order of the catalogue
  book::YearRange years;                               ///< when it may have been put in here
  evidence::Prior prior;                               ///< that a thing of this look, put in then, holds asbestos
};

struct LikelyHere {
  book::YearRange years;           ///< in which something may have been put into the room
  std::vector<std::string> as;     ///< the words of the catalogue its kind and use were taken for
  bool guessed = false;            ///< neither kind nor use said anything: taken for an ordinary room
  std::vector<LookFor> questions;  ///< the likeliest and worst first: by probability times product score
};

/// `built`: the years of the room's phase; empty = not known. Linear in the catalogue.
[[nodiscard]] LikelyHere likely_here(const book::Room& room, std::optional<book::YearRange> built, int ban_year,
                                     const catalogue::Catalogue& catalogue, const catalogue::EvidenceData& evidence);

/// What came of looking, besides finding it. Each is written into the room's notes as a line a person can read, and
/// releases nothing.
inline constexpr std::string_view kLookAnswers[] = {"none seen", "cannot tell", "not accessible"};

struct Looked {
  std::string answer;  ///< one of kLookAnswers
  reason::Date on;
};

/// The notes with a line such as "Looked for pipe lagging: none seen, 2026-11-25." at their end, in place of an earlier
/// one of the same family. `looked_of` reads it again.
[[nodiscard]] std::string with_look(std::string_view notes, const catalogue::Family& family, const Looked& looked);
[[nodiscard]] std::optional<Looked> looked_of(std::string_view notes, const catalogue::Family& family);

/// The same of a room of a house, with what has been answered already: `{"room", "years", "as", "questions":
/// [{"family", "name", "faces", "where", "look", "years", "probability", "low", "high", "source", "answer"?, "on"?,
/// "materials"}]}`.
[[nodiscard]] Json walk_json(const check::House& house, const book::Room& room);

/// How far the walks have come: `{"rooms": [{"room", "asked", "answered"}]}`, storey by storey beginning with the one
/// nearest the ground, then as in the book. Answered: looked for, or a material of that family written down there.
[[nodiscard]] Json walks_json(const check::House& house);

}  // namespace lathbook::service
