// Who may take a piece away, what it is called, what must be written on it and on which papers; what it weighs; which
// of a site's rules hold; what the do-it-yourself way costs beside a licensed carrier.
//
// A do-it-yourself path exists only for a piece that is whole, undamaged enough to stay whole, and of a kind that is
// both bonded and outside licensing (cement; bitumen, plastic, resin, vinyl; textured coating on its whole board).
// Insulating board, insulation, coatings for insulation, loose fill, paper, rope and anything broken go by a licensed
// carrier, however little there is. Site conditions and carriers' words come before these rules. Sources:
// data/waste/, data/sites.json.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "catalogue/waste_data.h"
#include "reason/fault.h"
#include "reason/reason.h"
#include "waste/load.h"
#include "waste/wrap.h"

namespace lathbook::waste {

enum class Way {
  kOrdinary,         ///< no suspect, or released: not asbestos waste
  kOwnHands,         ///< wrapped whole, to a site that takes it
  kLicensedCarrier,  ///< collected by a licensed carrier
};
[[nodiscard]] const char* word(Way way);

struct Disposal {
  Way way = Way::kLicensedCarrier;
  std::string why;
  std::string code;  ///< the country's waste code; empty for ordinary waste
  std::string code_means;
  std::string transport;  ///< "UN2212, class 9, packing group II", or why none applies
  std::vector<std::string> marks;
  std::string householder_papers;
  std::string trade_papers;
  reason::Reasons reasons;
};

/// What must happen to a piece of `family`. `released` = its material's standing releases it. `fibres` empty = not
/// known, taken as amphibole. `nation` is an id of `data`'s nations; an unknown or empty one leaves the papers to be
/// asked for.
[[nodiscard]] Disposal disposal(const catalogue::Family& family, bool whole, book::Damage damage, bool released,
                                const std::vector<book::Fibre>& fibres, std::string_view nation,
                                const catalogue::WasteData& data);

/// Mass of one piece with its range. A mass written down is taken as it is, to within a tenth; otherwise length × width
/// × thickness × the family's density, lowest to highest; profiled sheet is 1.15 to 1.35 times its plan area, and wet
/// cement weighs up to a tenth more.
struct Mass {
  double low_kg = 0;
  double likely_kg = 0;
  double high_kg = 0;
  bool written_down = false;
};
[[nodiscard]] Mass mass_of(const book::Piece& piece, const catalogue::Family& family);

/// The limits that hold at a site: the book's own figures, and its rules' where the book has none.
struct SiteView {
  SiteLimits limits;
  bool accepts_sheets = true;
  bool accepts_bags = true;
  std::vector<std::string> ask;  ///< what nobody has written down: ask your site
  std::vector<std::string> conditions;
  std::optional<int> fee_each_minor;
  std::optional<int> fee_bag_minor;
  std::optional<double> distance_km;
  std::optional<std::pair<int, int>> pieces_per_months;  ///< so many pieces in so many months
  std::optional<std::pair<double, int>> mass_kg_per_months;
  reason::Reasons reasons;
};
[[nodiscard]] SiteView site_view(const book::Site& site, const std::vector<catalogue::SiteRules>& rules);

/// Months until the last trip, the first being in month 1: by visits, pieces and mass in a period, whichever is
/// slowest.
[[nodiscard]] int months_needed(const LoadPlan& plan, const SiteView& site);

/// Days from the first trip to the last, both included. Within a month: all on one day, or one a day. Over more: as the
/// site counts its months, from the last day of the first to the first of the last, or 30 days each from the first
/// trip.
struct DayRange {
  int low = 0;
  int high = 0;
};
[[nodiscard]] DayRange days_needed(int trips, int months);

/// Money in minor units; a range where it is not a quote.
struct Cost {
  double low_minor = 0;
  double high_minor = 0;
  std::vector<std::string> parts;
};

/// What the person's own way costs: wrapping, clothing, driving there and back, the site's fees. `bags` are the ids of
/// the plan that are bags and not sheets: a site may charge for them otherwise.
[[nodiscard]] Cost own_cost(const LoadPlan& plan, const Wrap& wrapping, const SiteView& site, int people,
                            const catalogue::WasteData& data, const std::set<std::string>& bags = {});

}  // namespace lathbook::waste
