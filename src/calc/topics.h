// The list of topics: one function each, in calc_<module>.cpp. Add a topic here, its schema in schemas/<topic>.json.
#pragma once

#include <array>

#include "calc/topic.h"

namespace lathbook::calc {

reason::Result<Json> material_score(const Json& input);
reason::Result<Json> priority_score(const Json& input);
reason::Result<Json> work_class(const Json& input);
reason::Result<Json> presence(const Json& input);
reason::Result<Json> test_choice(const Json& input);
reason::Result<Json> aerodynamic(const Json& input);
reason::Result<Json> air_levels(const Json& input);
reason::Result<Json> breathed_dose(const Json& input);
reason::Result<Json> lifetime_risk(const Json& input);
reason::Result<Json> air_count(const Json& input);
reason::Result<Json> clearance_check(const Json& input);
reason::Result<Json> timeline_plan(const Json& input);
reason::Result<Json> load_plan(const Json& input);
reason::Result<Json> wrap(const Json& input);
reason::Result<Json> touches(const Json& input);
reason::Result<Json> route(const Json& input);

inline constexpr auto kTopics = std::to_array<Topic>({
    {"material-score", "how readily a material lets go of fibre in its present state", material_score},
    {"priority-score", "how much a material's state matters where it is", priority_score},
    {"work-class", "what the law calls a piece of work, who may do it, what it asks", work_class},
    {"presence", "how likely each material holds asbestos, of which fibres, and what may be claimed of it", presence},
    {"test-choice", "which tests are worth paying for, given what each job costs either way", test_choice},
    {"aerodynamic", "how fast a fibre or particle falls", aerodynamic},
    {"air", "fibres in the air of every room over time", air_levels},
    {"dose", "what each person breathed", breathed_dose},
    {"lifetime-risk", "what an exposure adds to the lifetime risk by one published model", lifetime_risk},
    {"air-count", "what a count of fibres on a filter says about the air", air_count},
    {"clearance", "does a clearance air test stand up to its own figures", clearance_check},
    {"load-plan", "the fewest trips that take whole pieces to a site, and what will not go", load_plan},
    {"wrap", "polythene, tape and bags for a lot of pieces", wrap},
    {"touches", "what a cut meets: here, in the void behind, and on the other side", touches},
    {"route", "a way for a cable, pipe or duct that meets nothing that is not released", route},
    {"timeline", "when each thing can start, what holds it up, how long it may slip", timeline_plan},
});

}  // namespace lathbook::calc
