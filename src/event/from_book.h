// An event as written in the book, as a Scene.
//
// Rooms: those the fibres can reach through openings from where the work was, and those somebody stayed in; volume from
// the outline and heights. Cuts follow one another in the order written, each for its own minutes; each disturbs the
// event's materials in its room (or all of them, when none lies there). Cleaning is in the room of the first cut.
#pragma once

#include <map>

#include "book/book.h"
#include "event/scene.h"

namespace lathbook::event {

struct FromBook {
  Scene scene;
  std::vector<std::string> assumed;            ///< what the book left open, in plain sentences
  std::map<std::size_t, std::size_t> room_of;  ///< scene room -> position in Book::rooms
};

/// Faults name the event's field: no cut, no material, a room that is not there, and whatever `check` finds.
[[nodiscard]] reason::Result<FromBook> from_book(const book::Book& book, const book::Event& event,
                                                 const catalogue::AirData& air, const catalogue::Catalogue& catalogue);

}  // namespace lathbook::event
