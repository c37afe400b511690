#include "service/waste_answer.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "book/words.h"
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

waste::LoadPiece load_piece(const book::Piece& piece, const waste::Mass& mass, double added_m) {
  // The heaviest it may be: a load is strapped below the payload, not up to it.
  return {.id = piece.id.text,
          .length_m = piece.length_m + added_m,
          .width_m = piece.width_m + added_m,
          .thickness_m = piece.thickness_mm / 1000 + added_m,
          .mass_kg = mass.high_kg,
          .count = piece.count};
}

Json reasons_json(const reason::Reasons& reasons) {
  Json list = Json::array();
  for (const auto& one : reasons) list.push_back({{"text", one.text}, {"source", one.source}});
  return list;
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
  std::vector<waste::WrapPiece> to_wrap;
  std::vector<waste::LoadPiece> to_carry, to_carry_bagged;
  const auto added = waste::wrap({})->wrapped_thickness_added_m + 0.004;  // folds and tape
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
    if (one.disposal.way == waste::Way::kOwnHands) {
      to_carry.push_back(load_piece(piece, one.mass, added));
      if (waste::goes_into_a_bag(load_piece(piece, one.mass, 0))) to_carry_bagged.push_back(to_carry.back());
      if (!piece.wrapped) to_wrap.push_back({load_piece(piece, one.mass, 0), true});
    }
    out.pieces.push_back(std::move(one));
  }
  auto wrapping = waste::wrap(to_wrap);
  if (!wrapping.ok()) return wrapping.faults();
  out.wrapping = std::move(*wrapping);

  for (const auto& site : *sites) {
    if (to_carry.empty() || !vehicles->front()) break;
    WasteRun run;
    run.site = site;
    run.view = waste::site_view(site ? book.sites[*site] : book::Site{}, catalogue::shipped_site_rules());
    if (site && !run.view.accepts_sheets && !run.view.accepts_bags) {
      out.next.push_back(fmt::format("{} takes no asbestos: a carrier, or another site.", book.sites[*site].name));
      continue;
    }
    for (const auto& vehicle : *vehicles) {
      const auto& car = book.vehicles[*vehicle];
      const waste::LoadVehicle load{.inside = {car.length_m, car.width_m, car.height_m},
                                    .payload_kg = car.payload_kg,
                                    .door_width_m = car.door_width_m,
                                    .door_height_m = car.door_height_m};
      const auto& taken = run.view.accepts_sheets ? to_carry : to_carry_bagged;
      auto planned = waste::load_plan(taken, load, run.view.limits);
      if (!planned.ok()) return planned.faults();
      for (const auto& piece : to_carry) {
        if (std::ranges::find(taken, piece.id, &waste::LoadPiece::id) != taken.end()) continue;
        planned->will_not_go.push_back({piece.id, "does not go whole into a bag, and the site takes no sheets",
                                        "another site, or a licensed carrier: it must not be cut"});
      }
      run.vehicle = vehicle;
      run.plan = std::move(*planned);
      run.months = waste::months_needed(run.plan, run.view);
      run.cost = waste::own_cost(run.plan, out.wrapping, run.view, question.people, data);
      out.runs.push_back(run);
    }
  }
  std::ranges::stable_sort(out.runs, {}, [](const WasteRun& run) {
    return std::tuple(run.plan.will_not_go.size(), run.plan.trips.size(), run.months);
  });
  for (std::size_t i = 0; i < book.parties.size(); ++i) {
    const auto& party = book.parties[i];
    if (party.role == "carrier") out.carriers.push_back({i, party.price_fixed, party.lead_days});
  }
  if (out.pieces.empty())
    out.next.push_back(
        "No piece of waste is written down: lathbook add piece material=M1 length_m=2.4 width_m=1.1 thickness_mm=6 "
        "count=3");
  if (!to_carry.empty() && !vehicles->front())
    out.next.push_back(
        "No vehicle is written down: lathbook add vehicle name=\"Estate car\" length_m=1.8 width_m=1.1 height_m=0.8 "
        "payload_kg=400");
  if (!to_carry.empty() && !sites->front())
    out.next.push_back("No site is written down: lathbook add site name=\"Recycling centre\" pieces_per_visit=3");
  if (out.carriers.empty())
    out.next.push_back("No carrier is written down to compare with: lathbook add party role=carrier name=…");
  return out;
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
    Json trips = Json::array();
    for (const auto& trip : run.plan.trips) {
      Json lines = Json::array();
      for (const auto& line : trip.pieces)
        lines.push_back({{"id", line.id}, {"count", line.count}, {"how", waste::word(line.how)}});
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
      trips.push_back({{"pieces", std::move(lines)}, {"piles", std::move(piles)}, {"mass_kg", trip.mass_kg}});
    }
    Json left = Json::array();
    for (const auto& no : run.plan.will_not_go)
      left.push_back({{"id", no.id}, {"why", no.why}, {"would_take", no.would_take}});
    runs.push_back({{"vehicle", run.vehicle ? Json(book.vehicles[*run.vehicle].id.text) : Json(nullptr)},
                    {"site", run.site ? Json(book.sites[*run.site].id.text) : Json(nullptr)},
                    {"trips", std::move(trips)},
                    {"will_not_go", std::move(left)},
                    {"proved_fewest", run.plan.proved_fewest},
                    {"at_least", run.plan.at_least},
                    {"months", run.months},
                    {"cost_low", run.cost.low_minor},
                    {"cost_high", run.cost.high_minor},
                    {"cost_parts", run.cost.parts},
                    {"ask_your_site", run.view.ask},
                    {"conditions", run.view.conditions},
                    {"reasons", reasons_json(run.plan.reasons)}});
  }
  Json shopping = Json::array();
  for (const auto& line : answer.wrapping.shopping)
    shopping.push_back({{"what", line.what}, {"number", line.number}, {"note", line.note}});
  Json carriers = Json::array();
  for (const auto& offer : answer.carriers) {
    Json one = {{"party", book.parties[offer.party].id.text}, {"name", book.parties[offer.party].name}};
    if (offer.price) one["price"] = *offer.price;
    if (offer.lead_days) one["lead_days"] = *offer.lead_days;
    carriers.push_back(std::move(one));
  }
  return {{"pieces", std::move(pieces)},
          {"runs", std::move(runs)},
          {"wrap",
           {{"polythene_m2", answer.wrapping.polythene_m2},
            {"tape_m", answer.wrapping.tape_m},
            {"bags", answer.wrapping.bags},
            {"shopping", std::move(shopping)},
            {"heavy", answer.wrapping.heavy}}},
          {"carriers", std::move(carriers)},
          {"next", answer.next},
          {"currency", book.about.currency}};
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
          "<g role=\"listitem\" aria-label=\"pile {0}: {1} piece(s), {2}\"><rect x=\"{3:.1f}\" y=\"{4:.1f}\" "
          "width=\"{5:.1f}\" height=\"{6:.1f}\" fill=\"#222\" fill-opacity=\"0.08\" stroke=\"#222\"{7}/>"
          "<text x=\"{8:.1f}\" y=\"{9:.1f}\">{0}</text></g>\n",
          p + 1, pile.pieces.size(), waste::word(pile.how), x, y, pile.size_x_m * kScale, pile.size_y_m * kScale, dash,
          x + 4, y + 14);
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
