// What an event came to, as JSON for every front door: levels, doses, risks by every model, what matters, what now.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string_view>

#include "book/book.h"
#include "catalogue/first_response.h"
#include "event/uncertain.h"
#include "reason/fault.h"

namespace lathbook::service {

using Json = nlohmann::json;

/// `{"event","title","times_min","rooms":[…],"people":[{…,"risk":[{model, low, middle, high
/// …}]}],"matters","changes","context", "everyday","cautions","reasons"}`. Risks are per million, at the age of the
/// event, for the 5th, 50th and 95th percentile of the dose. Faults: those of the event (see event/from_book.h), or no
/// such event.
[[nodiscard]] reason::Result<Json> event_json(const book::Book& book, std::string_view event_id,
                                              const event::Settings& settings);

/// The first steps for every kind of product at once, so that a page can show them without asking again:
/// `{"steps":{id:{text,source}},"kinds":[{"binding","families":[{id,name}],"small":[step ids],"large":[…]}]}`, loosest
/// kind first; what is not known is taken for that.
[[nodiscard]] Json first_responses_json();

/// `{"family","amount","steps":[{id,text,source}]}`; an empty family is not known.
[[nodiscard]] reason::Result<Json> first_response_json(std::string_view family, catalogue::Amount amount);

}  // namespace lathbook::service
