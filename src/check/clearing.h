// "Is the room cleared?": rooms in which a licensed removal is under way, or done and not certified fit to go back
// into, and rooms in which such a material was disturbed.
//
// What a certificate has to show comes from the pack (`clearance`). A removal counts when it is an action of the book
// on a suspect material without a releasing standing, and the rule pack calls even the gentlest way of taking it out
// licensed. Started and not done: nobody else works there. Done: a certificate that names the material or its room,
// issued on or after that day, must stand up to its own figures (clearance/certificate.h). A removal known only by
// Material::removed_on, from before the book was kept, asks for nothing. An event that has happened counts for each
// room it cut in, when it disturbed a suspect material without a releasing standing whose removal is licensed: how long
// ago, and how little of it, does not matter, for nobody has shown what lies there; a certificate of the room issued on
// or after that day settles it. Checked in clearing_test.cpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "book/book.h"
#include "check/house.h"
#include "clearance/certificate.h"
#include "law/pack.h"

namespace lathbook::check {

struct NotCleared {
  book::RoomId room;
  std::size_t material = 0;         ///< in Book::materials
  book::ActionId action;            ///< the removal; empty when an event left it so
  book::EventId event;              ///< what happened there; empty when a removal left it so
  bool under_way = false;           ///< the removal is not finished
  book::CertificateId certificate;  ///< the one that does not stand up; empty = none written down
  std::string why;                  ///< a clause: "the removal of M14 (Ceiling boards) is under way since …"
  std::string ask;                  ///< what to do about it, a sentence
  std::string command;              ///< of the terminal, for that; may be empty
};

/// What the rules call taking the whole of a material out, done in the gentlest way.
[[nodiscard]] law::Outcome removal_outcome(const House& house, std::size_t material);
/// Whether taking the whole of a material out is licensed work, however gently it is done.
[[nodiscard]] bool licensed_to_remove(const House& house, std::size_t material);

/// How the rules of the country clear a room after the material is taken out; nullptr when they ask for nothing.
[[nodiscard]] const law::Clearance* clearance_after(const House& house, std::size_t material);
/// What a certificate is held against: the strictest of what its materials ask for, that is the earliest in the pack;
/// where it names none, the first of the pack. nullptr when the pack has none.
[[nodiscard]] const law::Clearance* clearance_of(const House& house, const book::Certificate& certificate);

/// The removals a certificate is for, begun or done, in the order of Book::actions: those of its materials, whenever;
/// and in its rooms those begun by the day it was issued, since a room may be worked in again later. Where a removal's
/// beginning is not written down it counts from its end; where the certificate bears no date, all in its rooms count.
[[nodiscard]] std::vector<const book::Action*> removals_of(const book::Book& book,
                                                           const book::Certificate& certificate);

/// The day the work was finished that a certificate is for: as the paper says, or the last of its removals by the
/// book's own decisions, whichever is later.
[[nodiscard]] std::optional<book::Date> work_finished_on(const book::Book& book, const book::Certificate& certificate);

/// Whether whoever gave a certificate had no part in the removals it is for: no, where one of them names the same
/// party; not known, where none of them says by whom.
[[nodiscard]] std::optional<bool> independent(const book::Book& book, const book::Certificate& certificate);

/// A certificate held against `rules`, with what else the book knows of it: the day its work was finished, its party's
/// accreditation, and whether that party is independent. Faults as clearance::check's.
[[nodiscard]] reason::Result<clearance::Clearance> checked(const book::Book& book, const book::Certificate& certificate,
                                                           const catalogue::ClearanceRules& rules);

/// In the order of Book::actions, then of Book::events; each room of an event once.
[[nodiscard]] std::vector<NotCleared> rooms_not_cleared(const House& house);

}  // namespace lathbook::check
