#include "service/waste_answer.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "book/words.h"
#include "calc/loads.h"
#include "catalogue/waste_data.h"
#include "reason/xml.h"

namespace lathbook::service {
namespace {

using reason::FaultKind;

template <class Item>
reason::Result<std::vector<std::optional<std::size_t>>> chosen(const std::vector<Item>& items, const std::string& id,
                                                               const char* kind) {
  std::vector<std::optional<std::size_t>> out;
  std::string ids;
  for (std::size_t i = 0; i < items.size(); ++i) {
    ids += (ids.empty() ? "" : ", ") + items[i].id.text;
    if (id.empty() || items[i].id.text == id) out.emplace_back(i);
  }
  if (!id.empty() && out.empty()) {
    return reason::Fault{"", fmt::format("\"{}\"", id), fmt::format("is no {} of this book", kind),
                         ids.empty() ? "none is written down yet" : ids, FaultKind::kUsage};
  }
  if (out.empty()) out.emplace_back(std::nullopt);
  return out;
}

/// A piece that may go by own hands: bare, and the heaviest it may be, since a load is strapped below the payload and
/// not up to it.
struct Carried {
  waste::LoadPiece piece;
  bool wrapped = false;
};

Carried carried(const book::Piece& piece, const waste::Mass& mass) {
  return {.piece = {.id = piece.id.text,
                    .length_m = piece.length_m,
                    .width_m = piece.width_m,
                    .thickness_m = piece.thickness_mm / 1000,
                    .mass_kg = mass.high_kg,
                    .count = piece.count},
          .wrapped = piece.wrapped};
}

/// A piece once it is wrapped.
waste::LoadPiece parcel(waste::LoadPiece piece, double added_m) {
  piece.length_m += added_m;
  piece.width_m += added_m;
  piece.thickness_m += added_m;
  return piece;
}

/// What is still to be wrapped of some pieces.
template <class Which>
waste::Wrap wrapping_of(const std::vector<Carried>& all, const waste::WrapSettings& settings, Which which) {
  std::vector<waste::WrapPiece> pieces;
  for (const auto& one : all) {
    if (which(one)) pieces.push_back({one.piece, true});
  }
  if (pieces.empty()) return {};
  auto wrap = waste::wrap(pieces, settings);
  return wrap.ok() ? std::move(*wrap) : waste::Wrap{};  // validation holds every size and mass above 0
}

/// What one site takes of it, in one vehicle.
reason::Result<WasteRun> run_of(const std::vector<Carried>& all, const book::Vehicle& car, const waste::SiteView& view,
                                int people, const catalogue::WasteData& data) {
  WasteRun run;
  run.view = view;
  waste::WrapSettings settings;
  settings.bag_small_pieces = view.accepts_bags;
  const auto added = waste::wrap({})->wrapped_thickness_added_m + 0.004;  // folds and tape
  std::vector<waste::LoadPiece> loads;
  std::vector<waste::WillNotGo> refused;
  for (const auto& one : all) {
    if (settings.bag_small_pieces && waste::goes_into_a_bag(one.piece, settings)) continue;
    if (view.accepts_sheets) {
      loads.push_back(parcel(one.piece, added));
    } else {
      refused.push_back({one.piece.id, "does not go whole into a bag, and the site takes no sheets",
                         "another site, or a licensed carrier: it must not be cut"});
    }
  }
  // What is bagged already stays in its bags.
  for (const bool wrapped : {true, false}) {
    const auto bags = wrapping_of(all, settings, [&](const Carried& one) { return one.wrapped == wrapped; });
    for (const auto& bag : bags.filled) {
      run.bags.push_back({fmt::format("bag {}", run.bags.size() + 1), bag});
      loads.push_back(waste::load_of(bag, run.bags.back().id, settings));
    }
  }
  const waste::LoadVehicle load{.inside = {car.length_m, car.width_m, car.height_m},
                                .payload_kg = car.payload_kg,
                                .door_width_m = car.door_width_m,
                                .door_height_m = car.door_height_m};
  auto planned = waste::load_plan(loads, load, view.limits);
  if (!planned.ok()) return planned.faults();
  run.plan = std::move(*planned);
  std::set<std::string> left, bags;
  for (const auto& bag : run.bags) bags.insert(bag.id);
  for (const auto& no : run.plan.will_not_go) {
    const auto bag = std::ranges::find(run.bags, no.id, &WasteBag::id);
    if (bag == run.bags.end())
      left.insert(no.id);
    else
      for (const auto& [id, count] : bag->holds.pieces) left.insert(id);
  }
  for (auto& no : refused) {
    left.insert(no.id);
    run.plan.will_not_go.push_back(std::move(no));
  }
  run.left.assign(left.begin(), left.end());
  run.plan.reasons.insert(run.plan.reasons.end(), view.reasons.begin(), view.reasons.end());
  run.wrapping =
      wrapping_of(all, settings, [&](const Carried& one) { return !one.wrapped && !left.contains(one.piece.id); });
  run.months = waste::months_needed(run.plan, view);
  run.days = waste::days_needed(static_cast<int>(run.plan.trips.size()), run.months);
  // One person lifts what goes into a bag; a heavier piece takes two.
  run.people = std::max(people, 1);
  for (const auto& one : all) {
    if (!left.contains(one.piece.id) && one.piece.mass_kg > settings.carry_kg) run.people = std::max(run.people, 2);
  }
  run.cost = waste::own_cost(run.plan, run.wrapping, view, run.people, data, bags);
  return run;
}

/// What a carrier asks for coming once.
WasteOffer offer_of(const book::Book& book, std::size_t party) {
  const auto& carrier = book.parties[party];
  WasteOffer out{.party = party, .price = carrier.price_fixed, .quote = {}, .lead_days = carrier.lead_days};
  if (carrier.price_each) out.price = out.price.value_or(0) + *carrier.price_each;
  const book::Quote* latest = nullptr;
  for (const auto& quote : book.quotes) {
    if (quote.party == carrier.id && (latest == nullptr || latest->quoted_on <= quote.quoted_on)) latest = &quote;
  }
  if (latest != nullptr) {
    out.price = latest->amount;
    out.quote = latest->id.text;
  }
  return out;
}

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
}

Json wrap_json(const waste::Wrap& wrapping) {
  Json shopping = Json::array();
  for (const auto& line : wrapping.shopping)
    shopping.push_back({{"what", line.what}, {"number", line.number}, {"note", line.note}});
  return {{"polythene_m2", wrapping.polythene_m2},
          {"tape_m", wrapping.tape_m},
          {"bags", wrapping.bags},
          {"shopping", std::move(shopping)},
          {"heavy", wrapping.heavy}};
}

}  // namespace

reason::Result<WasteAnswer> waste_answer(const check::House& house, const WasteQuestion& question) {
  const auto& book = house.book();
  const auto& data = catalogue::shipped_waste_data(house.knowledge().rules.id);
  const auto& nation = question.nation.empty() ? book.about.region : question.nation;
  const auto vehicles = chosen(book.vehicles, question.vehicle, "vehicle");
  const auto sites = chosen(book.sites, question.site, "site");
  reason::Faults faults;
  if (!vehicles.ok()) faults = vehicles.faults();
  if (!sites.ok()) faults.insert(faults.end(), sites.faults().begin(), sites.faults().end());
  if (!nation.empty() && data.find_nation(nation) == nullptr) {
    std::string allowed;
    for (const auto& one : data.nations) allowed += (allowed.empty() ? "" : ", ") + one.id;
    faults.push_back({"", fmt::format("\"{}\"", nation),
                      fmt::format("is no {} whose papers are known", house.knowledge().rules.words.region), allowed,
                      FaultKind::kUsage});
  }
  if (!faults.empty()) return faults;

  WasteAnswer out;
  std::vector<Carried> own;
  std::vector<std::string> for_carrier;
  for (std::size_t i = 0; i < book.pieces.size(); ++i) {
    const auto& piece = book.pieces[i];
    if (piece.gone_on) continue;
    const auto material = house.find_material(piece.material);
    if (!material) continue;  // validation holds this
    const auto& known = house.known(*material);
    // A material that has left the house is no suspect any more, but its waste still is: the standing decides.
    const bool released = book::releases(known.belief.standing);
    WastePiece one{.piece = i,
                   .disposal = waste::disposal(*known.family, piece.whole, house.damage_of(book.materials[*material]),
                                               released, known.belief.found_fibres, nation, data),
                   .mass = waste::mass_of(piece, *known.family)};
    if (one.disposal.way == waste::Way::kOwnHands) own.push_back(carried(piece, one.mass));
    if (one.disposal.way == waste::Way::kLicensedCarrier) for_carrier.push_back(piece.id.text);
    out.pieces.push_back(std::move(one));
  }

  for (const auto& site : *sites) {
    if (own.empty() || !vehicles->front()) break;
    const auto view = waste::site_view(site ? book.sites[*site] : book::Site{}, catalogue::shipped_site_rules());
    if (site && !view.accepts_sheets && !view.accepts_bags) {
      out.next.push_back(
          {fmt::format("{} takes no asbestos: a carrier, or another site.", book.sites[*site].name), "", ""});
      continue;
    }
    for (const auto& vehicle : *vehicles) {
      auto run = run_of(own, book.vehicles[*vehicle], view, question.people, data);
      if (!run.ok()) return run.faults();
      run->vehicle = vehicle;
      run->site = site;
      run->left.insert(run->left.end(), for_carrier.begin(), for_carrier.end());
      out.runs.push_back(std::move(*run));
    }
  }
  std::ranges::stable_sort(out.runs, {}, [](const WasteRun& run) {
    return std::tuple(run.left.size(), run.plan.trips.size(), run.months, run.cost.high_minor);
  });
  out.wrapping = !out.runs.empty() ? out.runs.front().wrapping
                                   : wrapping_of(own, {}, [](const Carried& one) { return !one.wrapped; });
  for (std::size_t i = 0; i < book.parties.size(); ++i) {
    if (book.parties[i].role == "carrier") out.carriers.push_back(offer_of(book, i));
  }
  if (out.pieces.empty())
    out.next.push_back({"No piece of waste is written down.", "piece",
                        "lathbook add piece material=M1 length_m=2.4 width_m=1.1 thickness_mm=6 count=3"});
  if (!own.empty() && !vehicles->front())
    out.next.push_back(
        {"No vehicle is written down.", "vehicle",
         "lathbook add vehicle name=\"Estate car\" length_m=1.8 width_m=1.1 height_m=0.8 payload_kg=400"});
  if (!own.empty() && !sites->front())
    out.next.push_back(
        {"No site is written down.", "site", "lathbook add site name=\"Recycling centre\" pieces_per_visit=3"});
  if (out.carriers.empty())
    out.next.push_back(
        {"No carrier is written down to compare with.", "carrier", "lathbook add party role=carrier name=…"});
  return out;
}

const WasteOffer* cheapest(const WasteAnswer& answer) {
  const WasteOffer* best = nullptr;
  for (const auto& offer : answer.carriers) {
    if (offer.price && (best == nullptr || *offer.price < *best->price)) best = &offer;
  }
  return best;
}

Json waste_json(const check::House& house, const WasteAnswer& answer) {
  const auto& book = house.book();
  Json pieces = Json::array();
  for (const auto& one : answer.pieces) {
    const auto& piece = book.pieces[one.piece];
    pieces.push_back(
        {{"id", piece.id.text},
         {"name", piece.name},
         {"material", piece.material.text},
         {"count", piece.count},
         {"whole", piece.whole},
         {"way", waste::word(one.disposal.way)},
         {"why", one.disposal.why},
         {"code", one.disposal.code},
         {"code_means", one.disposal.code_means},
         {"transport", one.disposal.transport},
         {"marks", one.disposal.marks},
         {"householder_papers", one.disposal.householder_papers},
         {"trade_papers", one.disposal.trade_papers},
         {"mass_kg", {{"low", one.mass.low_kg}, {"likely", one.mass.likely_kg}, {"high", one.mass.high_kg}}},
         {"reasons", reasons_json(one.disposal.reasons)}});
  }
  Json runs = Json::array();
  for (const auto& run : answer.runs) {
    Json bags = Json::array();
    for (const auto& bag : run.bags) {
      Json holds = Json::array();
      for (const auto& [id, count] : bag.holds.pieces) holds.push_back({{"id", id}, {"count", count}});
      bags.push_back({{"id", bag.id}, {"pieces", std::move(holds)}, {"mass_kg", bag.holds.mass_kg}});
    }
    const auto* offer = run.left.empty() ? nullptr : cheapest(answer);
    Json told = calc::loads_json(run.plan);
    told.update({{"vehicle", run.vehicle ? Json(book.vehicles[*run.vehicle].id.text) : Json(nullptr)},
                 {"site", run.site ? Json(book.sites[*run.site].id.text) : Json(nullptr)},
                 {"bags", std::move(bags)},
                 {"left", run.left},
                 {"months", run.months},
                 {"days_low", run.days.low},
                 {"days_high", run.days.high},
                 {"people", run.people},
                 {"wrap", wrap_json(run.wrapping)},
                 {"cost_low", run.cost.low_minor},
                 {"cost_high", run.cost.high_minor},
                 {"cost_parts", run.cost.parts},
                 {"ask_your_site", run.view.ask},
                 {"conditions", run.view.conditions},
                 {"reasons", reasons_json(run.plan.reasons)}});
    if (offer != nullptr) {
      told["carrier_for_the_rest"] = book.parties[offer->party].id.text;
      told["cost_of_the_rest"] = *offer->price;
    }
    runs.push_back(std::move(told));
  }
  Json carriers = Json::array();
  for (const auto& offer : answer.carriers) {
    Json one = {{"party", book.parties[offer.party].id.text}, {"name", book.parties[offer.party].name}};
    if (offer.price) one["price"] = *offer.price;
    if (!offer.quote.empty()) one["quote"] = offer.quote;
    if (offer.lead_days) one["lead_days"] = *offer.lead_days;
    carriers.push_back(std::move(one));
  }
  Json next = Json::array();
  for (const auto& one : answer.next) {
    next.push_back({{"text", one.text}});
    if (!one.kind.empty()) next.back()["kind"] = one.kind;
    if (!one.command.empty()) next.back()["command"] = one.command;
  }
  return {{"pieces", std::move(pieces)},     {"runs", std::move(runs)}, {"wrap", wrap_json(answer.wrapping)},
          {"carriers", std::move(carriers)}, {"next", std::move(next)}, {"currency", book.about.currency}};
}

std::string waste_svg(const check::House& house, const WasteAnswer& answer) {
  const auto& book = house.book();
  constexpr double kScale = 140;  // pixels a metre
  if (answer.runs.empty() || answer.runs.front().plan.trips.empty() || !answer.runs.front().vehicle) {
    return "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400\" height=\"60\" role=\"img\" aria-label=\"nothing to "
           "carry\">"
           "<text x=\"16\" y=\"34\" font-family=\"sans-serif\">nothing to carry</text></svg>\n";
  }
  const auto& run = answer.runs.front();
  const auto& car = book.vehicles[*run.vehicle];
  const double step = car.width_m * kScale + 70;
  const double width = car.length_m * kScale + 340, height = 50 + step * static_cast<double>(run.plan.trips.size());
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:g}\" height=\"{1:g}\" viewBox=\"0 0 {0:g} {1:g}\" "
      "role=\"img\" aria-label=\"{2}, from above, to scale\" "
      "font-family=\"sans-serif\" font-size=\"12\">\n<rect width=\"100%\" height=\"100%\" fill=\"#fffdf7\"/>\n"
      "<text x=\"16\" y=\"24\" font-size=\"16\" font-family=\"serif\">{2}, from above, to scale (door on the "
      "left)</text>\n",
      width, height, reason::xml_text(car.name));
  for (std::size_t t = 0; t < run.plan.trips.size(); ++t) {
    const auto& trip = run.plan.trips[t];
    const double top = 62 + step * static_cast<double>(t);
    out += fmt::format(
        "<text x=\"16\" y=\"{:g}\">Trip {}: {:.0f} kg at most</text>\n<rect x=\"16\" y=\"{:g}\" width=\"{:.1f}\" "
        "height=\"{:.1f}\" fill=\"none\" stroke=\"#222\" stroke-width=\"2\"/>\n",
        top - 6, t + 1, trip.mass_kg, top, car.length_m * kScale, car.width_m * kScale);
    for (std::size_t p = 0; p < trip.piles.size(); ++p) {
      const auto& pile = trip.piles[p];
      const char* dash =
          pile.how == waste::How::kFlat
              ? ""
              : (pile.how == waste::How::kOnEdge ? " stroke-dasharray=\"8 3\"" : " stroke-dasharray=\"2 3\"");
      const double x = 16 + pile.x_m * kScale, y = top + pile.y_m * kScale;
      out += fmt::format(
          "<g role=\"listitem\" aria-label=\"pile {0}: {1} {10}, {2}\"><rect x=\"{3:.1f}\" y=\"{4:.1f}\" "
          "width=\"{5:.1f}\" height=\"{6:.1f}\" fill=\"#222\" fill-opacity=\"0.08\" stroke=\"#222\"{7}/>"
          "<text x=\"{8:.1f}\" y=\"{9:.1f}\">{0}</text></g>\n",
          p + 1, pile.pieces.size(), waste::word(pile.how), x, y, pile.size_x_m * kScale, pile.size_y_m * kScale, dash,
          x + 4, y + 14, pile.pieces.size() == 1 ? "piece" : "pieces");
      std::string names;
      std::set<std::string> once(pile.pieces.begin(), pile.pieces.end());
      for (const auto& id : once)
        names += (names.empty() ? "" : ", ") + fmt::format("{} × {}", std::ranges::count(pile.pieces, id), id);
      out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\">{}: {}, {}</text>\n", 30 + car.length_m * kScale,
                         top + 14 + 16 * static_cast<double>(p), p + 1, reason::xml_text(names), waste::word(pile.how));
    }
  }
  return out + "</svg>\n";
}

}  // namespace lathbook::service
