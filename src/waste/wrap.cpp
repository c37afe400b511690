#include "waste/wrap.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace lathbook::waste {
namespace {

/// More bags or rolls than any house has use for, and all of them countable.
constexpr double kMostPacks = 1e6;

double packs(double amount, double pack) { return amount <= 0 ? 0 : std::ceil(amount / pack - 1e-9); }

std::string by_number(int number, std::string one, std::string many) { return number == 1 ? one : many; }

}  // namespace

LoadPiece load_of(const Bag& bag, std::string id, const WrapSettings& settings) {
  return {.id = std::move(id),
          .length_m = settings.bag_length_m,
          .width_m = settings.bag_width_m,
          .thickness_m = std::max(settings.bag_thickness_m, bag.thickest_m),
          .mass_kg = bag.mass_kg,
          .count = 1};
}

bool goes_into_a_bag(const LoadPiece& piece, const WrapSettings& settings) {
  std::array<double, 3> sides = {piece.length_m, piece.width_m, piece.thickness_m};
  std::ranges::sort(sides, std::greater{});
  // A bag goes round a piece: half its girth is width plus thickness.
  return sides[0] + sides[2] <= settings.bag_length_m - settings.overlap_m &&
         sides[1] + sides[2] <= settings.bag_width_m && piece.mass_kg <= settings.carry_kg &&
         sides[0] * sides[1] * sides[2] <= settings.bag_volume_m3;
}

reason::Result<Wrap> wrap(const std::vector<WrapPiece>& pieces, const WrapSettings& settings) {
  reason::Faults faults;
  const auto positive = [&](const std::string& where, double value) {
    if (!(value > 0 && std::isfinite(value))) {
      faults.push_back(
          {.where = where, .value = fmt::format("{:g}", value), .problem = "is nothing", .allowed = "more than 0"});
    }
  };
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const auto& size = pieces[i].size;
    positive(fmt::format("/pieces/{}/length_m", i), size.length_m);
    positive(fmt::format("/pieces/{}/width_m", i), size.width_m);
    positive(fmt::format("/pieces/{}/thickness_m", i), size.thickness_m);
    positive(fmt::format("/pieces/{}/mass_kg", i), size.mass_kg);
    positive(fmt::format("/pieces/{}/count", i), size.count);
  }
  positive("/layers", settings.layers);
  positive("/bag_volume_m3", settings.bag_volume_m3);
  positive("/carry_kg", settings.carry_kg);
  if (!faults.empty()) return faults;

  double loose_kg = 0, loose_m3 = 0;
  Wrap out;
  auto& bags = out.filled;  // of whole pieces: none is broken to share a bag
  int wrapped = 0;
  for (const auto& piece : pieces) {
    const auto& size = piece.size;
    const double volume = size.length_m * size.width_m * size.thickness_m;
    if (!piece.whole) {
      loose_kg += size.count * size.mass_kg;
      loose_m3 += size.count * volume;
      continue;
    }
    if (size.mass_kg > 2 * settings.carry_kg) out.heavy.push_back(size.id);
    if (settings.bag_small_pieces && goes_into_a_bag(size, settings)) {
      for (int n = 0; n < size.count; ++n) {
        const auto room = std::ranges::find_if(bags, [&](const Bag& bag) {
          return bag.mass_kg + size.mass_kg <= settings.carry_kg + 1e-9 &&
                 bag.volume_m3 + volume <= settings.bag_volume_m3 + 1e-12;
        });
        Bag& bag = room == bags.end() ? bags.emplace_back() : *room;
        bag.mass_kg += size.mass_kg;
        bag.volume_m3 += volume;
        bag.thickest_m = std::max(bag.thickest_m, std::min({size.length_m, size.width_m, size.thickness_m}));
        if (bag.pieces.empty() || bag.pieces.back().first != size.id) bag.pieces.emplace_back(size.id, 0);
        ++bag.pieces.back().second;
      }
      continue;
    }
    const double girth = 2 * (size.width_m + size.thickness_m);
    const double cut_length = size.length_m + size.thickness_m + 2 * settings.overlap_m;
    const double layers = size.count * settings.layers;
    out.polythene_m2 += layers * (girth + settings.overlap_m) * cut_length;
    out.tape_m += layers * (cut_length + 2 * girth);
    wrapped += size.count;
  }
  const double roll_m2 = settings.roll_width_m * settings.roll_length_m;
  const double loose = std::max(packs(loose_kg, settings.carry_kg), packs(loose_m3, settings.bag_volume_m3));
  for (const auto& [number, what] :
       {std::pair(loose, "bags"), std::pair(packs(out.polythene_m2, roll_m2), "rolls of polythene"),
        std::pair(packs(out.tape_m, settings.tape_roll_m), "rolls of tape")}) {
    if (!(number <= kMostPacks))
      faults.push_back({.where = "/pieces",
                        .value = fmt::format("{:.3g} {}", number, what),
                        .problem = "is more than can be planned",
                        .allowed = fmt::format("at most {:.0f}", kMostPacks)});
  }
  if (!faults.empty()) return faults;
  out.bags = static_cast<int>(bags.size()) + static_cast<int>(loose);
  out.wrapped_thickness_added_m = 2 * settings.layers * kWrapGauge * kGauge_um * 1e-6;

  if (wrapped > 0) {
    const int polythene = static_cast<int>(packs(out.polythene_m2, roll_m2));
    const int tape = static_cast<int>(packs(out.tape_m, settings.tape_roll_m));
    out.shopping.push_back(
        {fmt::format("{} of 1000-gauge polythene, {:g} × {:g} m", by_number(polythene, "roll", "rolls"),
                     settings.roll_width_m, settings.roll_length_m),
         polythene, fmt::format("{:.1f} m² of it are used; heavy clear, not black bags", out.polythene_m2),
         "roll of 1000-gauge polythene"});
    out.shopping.push_back(
        {fmt::format("{} of strong tape, {:g} m", by_number(tape, "roll", "rolls"), settings.tape_roll_m), tape,
         "50 mm or wider", "roll of strong tape"});
  }
  // Overalls, wipes and the sheeting from the floor are asbestos waste as well.
  const int all_bags = out.bags + 1;
  out.shopping.push_back({by_number(all_bags, "red inner asbestos bag", "red inner asbestos bags"), all_bags,
                          "one of them for overalls, wipes and floor sheeting", "asbestos bag"});
  out.shopping.push_back({by_number(all_bags, "clear outer asbestos bag", "clear outer asbestos bags"), all_bags,
                          "each red bag goes into one", "asbestos bag"});
  out.shopping.push_back({by_number(wrapped, "asbestos warning label", "asbestos warning labels"), wrapped,
                          "one on each wrapped piece", "warning label"});

  out.reasons.push_back(
      {fmt::format("{} layers of 1000-gauge polythene (250 µm) round each whole piece, {:g} m of lap.", settings.layers,
                   settings.overlap_m),
       "hse-waste-packing"});
  if (out.bags > 0)
    out.reasons.push_back({fmt::format("Bags filled to at most {:g} kg and {:g} litres, each in a second bag.",
                                       settings.carry_kg, 1000 * settings.bag_volume_m3),
                           "common-practice"});
  if (!out.heavy.empty())
    out.reasons.push_back(
        {fmt::format("More than {:g} kg is more than two people should lift.", 2 * settings.carry_kg), "hse-l23"});
  return out;
}

}  // namespace lathbook::waste
