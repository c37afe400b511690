// What backs on to each face of a room, and where doors and windows lie on it, for drawing: the fabric's own answer
// (fabric/plan.h, fabric/opening.h) as JSON.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "book/book.h"
#include "fabric/plan.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// `{"room", "faces": [{"face", "area_m2", "bare_m2", "backs": [{"room", "face", "thickness_m", "area_m2",
/// "where"}]}]}` of floor, ceiling and walls. `where` are outlines in the face's coordinates, `bare_m2` what of the
/// face nothing drawn backs on to: outdoors, the ground, or a room nobody has drawn. In the order of the faces, and the
/// largest neighbour first. Linear in what backs on to the room.
[[nodiscard]] Json backs_json(const fabric::Plan& plan, const book::RoomId& room);

/// By the opening's id: `[{"room", "face", "outline"}]`, in the face's coordinates.
[[nodiscard]] Json openings_json(const fabric::Plan& plan);

}  // namespace lathbook::service
