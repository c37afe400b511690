// "How does it leave the house?": what each piece of waste is called, who may take it, how it is wrapped, which of the
// person's vehicles and sites takes it in the fewest trips, beside what a carrier would ask.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "check/house.h"
#include "reason/fault.h"
#include "waste/disposal.h"
#include "waste/load.h"
#include "waste/wrap.h"

namespace lathbook::service {

using Json = nlohmann::json;

struct WasteQuestion {
  std::string vehicle;  ///< id; empty = the best of the book's
  std::string site;     ///< id; empty = the best of the book's
  std::string nation;   ///< empty: the region the book names, or none: then papers are to be asked for
  int people = 1;       ///< who go along
};

struct WastePiece {
  std::size_t piece = 0;  ///< in Book::pieces
  waste::Disposal disposal;
  waste::Mass mass;
};

/// One way of taking it: a vehicle to a site.
struct WasteRun {
  std::optional<std::size_t> vehicle;  ///< in Book::vehicles
  std::optional<std::size_t> site;     ///< in Book::sites; absent = no site is written down
  waste::SiteView view;
  waste::LoadPlan plan;
  int months = 0;
  waste::Cost cost;
};

struct WasteOffer {
  std::size_t party = 0;  ///< in Book::parties
  std::optional<book::Money> price;
  std::optional<double> lead_days;
};

struct WasteAnswer {
  std::vector<WastePiece> pieces;  ///< those still in the house
  std::vector<WasteRun> runs;      ///< best first: fewest pieces left behind, then trips, then months
  waste::Wrap wrapping;            ///< of what goes by own hands and is not wrapped yet
  std::vector<WasteOffer> carriers;
  std::vector<std::string> next;  ///< what is missing, and what to write down
};

/// Faults: a vehicle or site that is not in the book.
[[nodiscard]] reason::Result<WasteAnswer> waste_answer(const check::House& house, const WasteQuestion& question);
[[nodiscard]] Json waste_json(const check::House& house, const WasteAnswer& answer);

/// The best run's first loads drawn from above and behind, to scale, as a stand-alone SVG.
[[nodiscard]] std::string waste_svg(const check::House& house, const WasteAnswer& answer);

}  // namespace lathbook::service
