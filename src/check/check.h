// "May I start this job?": what a planned job meets, what the law calls that, who may do it, and the cheapest way on.
//
// Joins fabric (what the cuts touch), evidence (what may be claimed of it), law (the class of the work, who may do it) and
// assess. A pure function of the book, the catalogue, one rule pack and a date; no clock, no file.
//
// The rules of the verdict, strictest first (docs/methods/check.md):
//  1. A material counts as asbestos unless its standing releases it (no asbestos detected, proven later than the ban) or
//     its family is no suspect at all (brick, solid timber, glass). Belief, however low, never enters here.
//  2. A cut on a face of which nothing is written down is never released: what is there has to be looked at first, unless
//     the room was built wholly after the ban.
//  3. What remains is put to the rule pack with the job's own tasks and minutes and whoever is to do it. If every answer
//     lets them, the job may start with precautions; if not: test first while a test could still change it, otherwise have it
//     removed first or go round; and when the job itself is the removal, not by them.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "evidence/standing.h"
#include "fabric/touches.h"
#include "law/law.h"
#include "reason/reason.h"

namespace lathbook::check {

/// The five answers, mildest first; also the exit status of the command.
enum class Verdict { kMayStart, kWithPrecautions, kTestFirst, kRemoveFirst, kNotByYou };

/// "may start", "may start with these precautions", "test first", "have it removed first, or go round", "not by you".
[[nodiscard]] std::string verdict_words(Verdict verdict, book::Who by);
/// 0, 10, 11, 12, 13 (docs/calc.md).
[[nodiscard]] int exit_status(Verdict verdict);

}  // namespace lathbook::check
