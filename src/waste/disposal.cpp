#include "waste/disposal.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace lathbook::waste {
namespace {

using catalogue::LegalKind;

bool licensed_kind(LegalKind kind) {
  return kind == LegalKind::kInsulatingBoard || kind == LegalKind::kInsulation || kind == LegalKind::kCoating;
}

/// What is to be written, with the code of the piece in its place.
std::string with_code(std::string write, const Disposal& of) {
  constexpr std::string_view kPlace = "{code}";
  if (const auto at = write.find(kPlace); at != std::string::npos)
    write.replace(at, kPlace.size(), of.code.empty() ? "ask the site" : of.code + " " + of.code_means);
  return write;
}

}  // namespace

const char* word(Way way) {
  switch (way) {
    case Way::kOrdinary:
      return "ordinary waste";
    case Way::kOwnHands:
      return "wrapped whole, to a site";
    case Way::kLicensedCarrier:
      return "licensed carrier";
  }
  throw std::logic_error("no such way");
}

Disposal disposal(const catalogue::Family& family, bool whole, book::Damage damage, bool released,
                  const std::vector<book::Fibre>& fibres, std::string_view nation, const catalogue::WasteData& data) {
  Disposal out;
  if (!family.suspect || released) {
    out.way = Way::kOrdinary;
    out.why = released ? "It was shown to hold no asbestos." : "It is no suspect product.";
    out.reasons.push_back(
        {out.why + " Keep the paper that says so with the load.", released ? "book" : "common-practice"});
    return out;
  }
  const auto* kind = data.find_kind(family.legal_kind);
  // A kind the data does not know is treated as the worst.
  const bool bonded = kind != nullptr && kind->bonded && family.binding == catalogue::Binding::kFirmlyBound;
  if (kind != nullptr) {
    out.code = kind->code;
    out.code_means = kind->code_means;
    out.reasons.push_back({kind->note, kind->backing.source});
    out.reasons.push_back({fmt::format("{}: {}.", kind->code, kind->code_means), kind->code_backing.source});
  }
  if (licensed_kind(family.legal_kind)) {
    out.why = fmt::format("{} is work for licensed people, and so is taking it away.", family.name);
  } else if (!bonded) {
    out.why = fmt::format("{} does not hold its fibres firmly.", family.name);
  } else if (!whole) {
    out.why = "It is broken, or debris.";
  } else if (damage == book::Damage::kHigh) {
    out.why = "It is too damaged to stay whole on the way.";
  } else {
    out.way = Way::kOwnHands;
    out.why = fmt::format("{} is bonded, whole and not licensed.", family.name);
  }
  out.why[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(out.why[0])));
  out.reasons.push_back({out.why, "judgement"});

  if (kind != nullptr && kind->special_provision_168 && bonded && whole) {
    out.transport = "no transport number: bonded and whole, special provision 168";
    out.reasons.push_back(
        {"Asbestos held in cement, plastic or another binder is not dangerous goods on the road; waste law still "
         "holds.",
         kind->backing.source});
  } else {
    const bool chrysotile_alone =
        !fibres.empty() && std::ranges::all_of(fibres, [](book::Fibre f) { return f == book::Fibre::kChrysotile; });
    const auto* number = data.transport.empty() ? nullptr : &data.transport.front();
    for (const auto& one : data.transport) {
      if ((one.number == "UN2590") == chrysotile_alone) number = &one;
    }
    if (number != nullptr) {
      out.transport = fmt::format("{}, {}, class {}, packing group {}", number->number, number->name,
                                  number->danger_class, number->packing_group);
      out.marks.push_back(fmt::format("On the outer bag or wrapping: {} and the class {} label.", number->number,
                                      number->danger_class));
      out.reasons.push_back({fmt::format("{} is for {}; packed {}.", number->number, number->used_for, number->packed),
                             number->backing.source});
    }
  }
  for (const auto& mark : data.marks) {
    const auto write = with_code(mark.write, out);
    out.marks.push_back(fmt::format("On {}: {}.", mark.on, write));
    out.reasons.push_back({fmt::format("Written on it: {}.", write), mark.backing.source});
  }
  if (const auto* home = data.find_nation(nation)) {
    out.householder_papers = home->householder;
    out.trade_papers = home->trade;
    out.reasons.push_back(
        {fmt::format("In {} this is {}; the regulator is {}.", home->name, home->waste_is_called, home->regulator),
         home->backing.source});
  } else {
    out.householder_papers = "Ask your site what it wants to see.";
    out.trade_papers = "A paid trade or carrier needs a waste note for each movement; ask your regulator which.";
  }
  return out;
}

Mass mass_of(const book::Piece& piece, const catalogue::Family& family) {
  if (piece.mass_kg) {
    return {.low_kg = 0.9 * *piece.mass_kg,
            .likely_kg = *piece.mass_kg,
            .high_kg = 1.1 * *piece.mass_kg,
            .written_down = true};
  }
  const double volume = piece.length_m * piece.width_m * piece.thickness_mm / 1000;
  // A profiled sheet is longer along its waves than its plan; and cement drinks water.
  const bool profiled = family.id == "cement-profiled-sheet";
  const bool cement = family.legal_kind == LegalKind::kCement;
  const double low = volume * family.density_kg_per_m3.low * (profiled ? 1.15 : 1.0);
  const double high = volume * family.density_kg_per_m3.high * (profiled ? 1.35 : 1.0) * (cement ? 1.1 : 1.0);
  return {.low_kg = low, .likely_kg = (low + high) / 2, .high_kg = high, .written_down = false};
}

SiteView site_view(const book::Site& site, const std::vector<catalogue::SiteRules>& rules) {
  SiteView view;
  const auto found = std::ranges::find(rules, site.rules, &catalogue::SiteRules::id);
  const catalogue::SiteRules* row = found == rules.end() ? nullptr : &*found;
  const auto either = [](const auto& own, const auto& theirs) { return own ? own : theirs; };
  const catalogue::SiteRules none;
  const auto& theirs = row != nullptr ? *row : none;
  view.limits.pieces = either(site.pieces_per_visit, theirs.pieces_per_visit);
  view.limits.mass_kg = either(site.mass_kg_per_visit, theirs.mass_kg_per_visit);
  view.limits.length_m = either(site.length_m, theirs.length_m);
  view.limits.width_m = either(site.width_m, theirs.width_m);
  view.limits.height_m = theirs.height_m;
  view.limits.visits_per_month = either(site.visits_per_month, theirs.visits_per_month);
  view.distance_km = site.distance_km;
  view.fee_each_minor = theirs.fee_each_minor;
  view.fee_bag_minor = theirs.fee_bag_minor;
  if (theirs.pieces_per_period) {
    view.pieces_per_months = std::pair(*theirs.pieces_per_period, theirs.pieces_period_months);
    // No visit can bring more than a whole period may.
    view.limits.pieces = std::min(view.limits.pieces.value_or(*theirs.pieces_per_period), *theirs.pieces_per_period);
  }
  if (theirs.mass_kg_per_period) {
    view.mass_kg_per_months = std::pair(*theirs.mass_kg_per_period, theirs.mass_period_months);
    view.limits.mass_kg =
        std::min(view.limits.mass_kg.value_or(*theirs.mass_kg_per_period), *theirs.mass_kg_per_period);
  }
  if (row != nullptr) {
    view.accepts_sheets =
        row->accepts == catalogue::Accepts::kSheets || row->accepts == catalogue::Accepts::kSheetsAndBags;
    view.accepts_bags = row->accepts == catalogue::Accepts::kBags || row->accepts == catalogue::Accepts::kSheetsAndBags;
    view.conditions.push_back(row->wrapping);
    if (!row->conditions.empty()) view.conditions.push_back(row->conditions);
    view.reasons.push_back(
        {fmt::format("Conditions like those of {} in {}.", row->name, row->as_of), row->backing.source});
    if (!row->booking) {
      view.ask.push_back("whether a visit must be booked");
    } else if (*row->booking) {
      view.conditions.push_back("Book first.");
    }
  } else {
    if (!site.pieces_per_visit && site.conditions.empty()) {
      view.ask.push_back("whether it takes asbestos from households at all");
    }
    view.ask.push_back(site.conditions.empty() ? "how it must be wrapped, and whether a visit must be booked"
                                               : "whether there is more to know than these conditions");
  }
  if (!site.conditions.empty()) view.conditions.push_back(site.conditions);
  if (!view.limits.pieces) view.ask.push_back("how many pieces it takes in one visit");
  if (!view.limits.mass_kg) view.ask.push_back("how much weight it takes in one visit");
  if (!view.limits.length_m) view.ask.push_back("the largest sheet it takes");
  if (!view.limits.visits_per_month && !view.pieces_per_months && !view.mass_kg_per_months)
    view.ask.push_back("how often one may come");
  view.ask.push_back("whether vans or hired vehicles are let in");
  return view;
}

int months_needed(const LoadPlan& plan, const SiteView& site) {
  if (plan.trips.empty()) return 0;
  int months = 1;
  if (site.limits.visits_per_month) {
    const auto trips = static_cast<int>(plan.trips.size());
    months = std::max(months, (trips + *site.limits.visits_per_month - 1) / *site.limits.visits_per_month);
  }
  // Whole trips go into periods, the largest first, each into the first with room. Full periods wait to their end; the
  // last one does not.
  const auto by_periods = [&](double most, int period, auto&& amount_of) {
    std::vector<double> amounts, periods;
    for (const auto& trip : plan.trips) amounts.push_back(amount_of(trip));
    std::ranges::sort(amounts, std::greater{});
    for (const double amount : amounts) {
      const auto room =
          std::ranges::find_if(periods, [&](double taken) { return taken + amount <= most * (1 + 1e-9); });
      (room == periods.end() ? periods.emplace_back(0) : *room) += amount;
    }
    months = std::max(months, (static_cast<int>(periods.size()) - 1) * period + 1);
  };
  if (site.pieces_per_months) {
    by_periods(site.pieces_per_months->first, site.pieces_per_months->second, [](const Trip& trip) {
      double pieces = 0;
      for (const auto& line : trip.pieces) pieces += line.count;
      return pieces;
    });
  }
  if (site.mass_kg_per_months) {
    by_periods(site.mass_kg_per_months->first, site.mass_kg_per_months->second,
               [](const Trip& trip) { return trip.mass_kg; });
  }
  return months;
}

DayRange days_needed(int trips, int months) {
  if (trips == 0) return {};
  if (months <= 1) return {.low = 1, .high = trips};
  return {.low = 30 * (months - 2) + 2, .high = 30 * (months - 1) + 1};
}

Cost own_cost(const LoadPlan& plan, const Wrap& wrapping, const SiteView& site, int people,
              const catalogue::WasteData& data, const std::set<std::string>& bags) {
  Cost cost;
  if (plan.trips.empty()) return cost;
  const auto add = [&](std::string_view price, double number, const std::string& what) {
    const auto* row = data.find_price(price);
    if (row == nullptr || number <= 0) return;
    cost.low_minor += number * row->low_minor;
    cost.high_minor += number * row->high_minor;
    cost.parts.push_back(what);
  };
  for (const auto& line : wrapping.shopping) add(line.price, line.number, fmt::format("{} {}", line.number, line.what));
  const auto trips = static_cast<int>(plan.trips.size());
  const int sets = people * trips;
  add("set of overall, gloves and mask", sets,
      sets == 1 ? "1 set of overall, gloves and mask" : fmt::format("{} sets of overall, gloves and mask", sets));
  if (site.distance_km)
    add("driving, a kilometre", 2 * trips * *site.distance_km,
        fmt::format("{:g} km of driving", 2 * trips * *site.distance_km));
  double fees = 0;
  for (const auto& trip : plan.trips) {
    for (const auto& line : trip.pieces) {
      const auto& fee = bags.contains(line.id) && site.fee_bag_minor ? site.fee_bag_minor : site.fee_each_minor;
      fees += line.count * fee.value_or(0);
    }
  }
  if (fees > 0) {
    cost.low_minor += fees;
    cost.high_minor += fees;
    cost.parts.push_back("the site's fees");
  }
  return cost;
}

}  // namespace lathbook::waste
