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
  int people = 1;       ///< who go along; two where a piece is too heavy for one
};

struct WastePiece {
  std::size_t piece = 0;  ///< in Book::pieces
  waste::Disposal disposal;
  waste::Mass mass;
};

/// A bag of whole pieces, as the trips count it.
struct WasteBag {
  std::string id;  ///< "bag 1"
  waste::Bag holds;
};

/// One way of taking it: a vehicle to a site.
struct WasteRun {
  std::optional<std::size_t> vehicle;  ///< in Book::vehicles
  std::optional<std::size_t> site;     ///< in Book::sites; absent = no site is written down
  waste::SiteView view;
  waste::LoadPlan plan;        ///< of whole pieces by their ids, and of bags
  std::vector<WasteBag> bags;  ///< those the plan speaks of
  waste::Wrap wrapping;        ///< of what goes this way and is not wrapped yet
  int months = 0;
  waste::DayRange days;  ///< from the first trip to the last
  int people = 1;
  waste::Cost cost;               ///< of what goes this way alone
  std::vector<std::string> left;  ///< pieces that do not go this way: a carrier's
};

struct WasteOffer {
  std::size_t party = 0;             ///< in Book::parties
  std::optional<book::Money> price;  ///< of one collection: the carrier's latest quote, else its call-out and a visit
  std::string quote;                 ///< id of the quote; empty = the party's own figures
  std::optional<double> lead_days;
};

/// What is missing from the book to answer better.
struct WasteNext {
  std::string text;
  std::string kind;     ///< of what is to be written down: piece, vehicle, site, carrier; empty = none of them
  std::string command;  ///< of the terminal, for that; empty with `kind`
};

struct WasteAnswer {
  std::vector<WastePiece> pieces;  ///< those still in the house
  std::vector<WasteRun> runs;      ///< best first: fewest pieces left behind, then trips, then months
  waste::Wrap wrapping;  ///< as the best run's; of all that may go by own hands where no vehicle or site is known
  std::vector<WasteOffer> carriers;
  std::vector<WasteNext> next;
};

/// The cheapest priced offer; nullptr when there is none.
[[nodiscard]] const WasteOffer* cheapest(const WasteAnswer& answer);

/// Faults: a vehicle or site that is not in the book.
[[nodiscard]] reason::Result<WasteAnswer> waste_answer(const check::House& house, const WasteQuestion& question);
[[nodiscard]] Json waste_json(const check::House& house, const WasteAnswer& answer);

/// The best run's first loads drawn from above and behind, to scale, as a stand-alone SVG.
[[nodiscard]] std::string waste_svg(const check::House& house, const WasteAnswer& answer);

}  // namespace lathbook::service
