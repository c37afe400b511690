#include "calc/loads.h"

namespace lathbook::calc {

Json loads_json(const waste::LoadPlan& plan) {
  Json trips = Json::array();
  for (const auto& trip : plan.trips) {
    Json lines = Json::array();
    for (const auto& one : trip.pieces)
      lines.push_back({{"id", one.id}, {"count", one.count}, {"how", waste::word(one.how)}});
    Json piles = Json::array();
    for (const auto& pile : trip.piles) {
      piles.push_back({{"how", waste::word(pile.how)},
                       {"x_m", pile.x_m},
                       {"y_m", pile.y_m},
                       {"size_x_m", pile.size_x_m},
                       {"size_y_m", pile.size_y_m},
                       {"height_m", pile.height_m},
                       {"pieces", pile.pieces}});
    }
    trips.push_back({{"pieces", std::move(lines)}, {"mass_kg", trip.mass_kg}, {"piles", std::move(piles)}});
  }
  Json left = Json::array();
  for (const auto& no : plan.will_not_go)
    left.push_back({{"id", no.id}, {"why", no.why}, {"would_take", no.would_take}});
  return {{"trips", std::move(trips)},
          {"will_not_go", std::move(left)},
          {"proved_fewest", plan.proved_fewest},
          {"at_least", plan.at_least}};
}

}  // namespace lathbook::calc
