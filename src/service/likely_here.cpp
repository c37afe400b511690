#include "service/likely_here.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <nlohmann/json.hpp>
#include <string_view>

#include "book/words.h"

namespace lathbook::service {
namespace {

using book::FaceKind;
using book::RoomKind;

constexpr int kEarliestYear = 1900;  // as check::House: before houses of this kind of fabric

/// Words people use of rooms, and what the catalogue calls such a room. Common speech, no source.
struct Called {
  std::string_view word;
  std::array<std::string_view, 2> places;
};
constexpr Called kCalled[] = {
    {"kitchen", {"kitchen"}},
    {"scullery", {"kitchen"}},
    {"utility", {"utility room", "kitchen"}},
    {"bath", {"bathroom", "toilet"}},
    {"shower", {"bathroom"}},
    {"toilet", {"toilet"}},
    {"wc", {"toilet"}},
    {"cloak", {"toilet"}},
    {"hall", {"hall"}},
    {"landing", {"landing", "stairs"}},
    {"stair", {"stairs"}},
    {"cupboard", {"cupboard"}},
    {"larder", {"cupboard"}},
    {"pantry", {"cupboard"}},
    {"living", {"living room"}},
    {"lounge", {"living room"}},
    {"sitting", {"living room"}},
    {"front room", {"living room"}},
    {"back room", {"living room"}},
    {"dining", {"living room"}},
    {"parlour", {"living room"}},
    {"bed", {"bedroom"}},
    {"nursery", {"bedroom"}},
    {"box room", {"bedroom"}},
    {"study", {"bedroom"}},
    {"office", {"bedroom"}},
    {"boiler", {"plant room", "cellar"}},
    {"plant", {"plant room"}},
    {"conservatory", {"conservatory"}},
    {"extension", {"extension"}},
    {"lean-to", {"lean-to"}},
    {"lean to", {"lean-to"}},
    {"garage", {"garage"}},
    {"shed", {"shed", "outbuilding"}},
    {"porch", {"porch"}},
    {"loft", {"loft"}},
    {"attic", {"loft"}},
    {"cellar", {"cellar"}},
    {"basement", {"cellar"}},
    {"outdoor", {"outdoors"}},
    {"outside", {"outdoors"}},
};

std::vector<std::string> of_kind(RoomKind kind) {
  switch (kind) {
    case RoomKind::kLoft:
      return {"loft"};
    case RoomKind::kCellar:
      return {"cellar"};
    case RoomKind::kPorch:
      return {"porch"};
    case RoomKind::kGarage:
      return {"garage"};
    case RoomKind::kOutbuilding:
      return {"outbuilding", "shed"};
    case RoomKind::kShaft:
      return {"shaft", "void"};
    case RoomKind::kVoid:
      return {"void"};
    case RoomKind::kRoom:
      break;
  }
  return {};
}

/// That it is an extension or a lean-to tells of a room's roof, not of its use.
bool tells_of_the_roof(std::string_view place) { return place == "extension" || place == "lean-to"; }

std::string in_small_letters(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text;
}

/// What the catalogue would call the room: by its kind, and by its use; by its name when no use is given, and always
/// for what that says of the roof.
std::vector<std::string> called(const book::Room& room) {
  auto words = of_kind(room.kind);
  const auto name = in_small_letters(room.name);
  const auto said = room.use.empty() ? name : in_small_letters(room.use);
  for (const auto& row : kCalled) {
    const auto where = tells_of_the_roof(row.places[0]) ? name + " " + said : said;
    if (where.find(row.word) == std::string::npos) continue;
    for (const auto place : row.places) {
      if (!place.empty() && std::find(words.begin(), words.end(), place) == words.end()) words.emplace_back(place);
    }
  }
  return words;
}

int place_in_order(FaceKind face) {
  constexpr FaceKind kOrder[] = {FaceKind::kCeiling, FaceKind::kRoof, FaceKind::kWall, FaceKind::kFloor,
                                 FaceKind::kInside};
  return static_cast<int>(std::find(std::begin(kOrder), std::end(kOrder), face) - std::begin(kOrder));
}

bool has(const std::vector<std::string>& words, const std::string& word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

}  // namespace

LikelyHere likely_here(const book::Room& room, std::optional<book::YearRange> built, int ban_year,
                       const catalogue::Catalogue& catalogue, const catalogue::EvidenceData& evidence) {
  LikelyHere here;
  here.years =
      built ? book::YearRange{built->from, std::max(built->to, ban_year)} : book::YearRange{kEarliestYear, ban_year};
  here.as = called(room);
  // Most extensions hold a kitchen or a room to live in.
  const bool use_said =
      std::any_of(here.as.begin(), here.as.end(), [](const auto& as) { return !tells_of_the_roof(as); });
  if (!use_said) {
    here.guessed = true;
    const auto more = here.as.empty() ? std::vector<std::string>{"living room", "bedroom", "hall"}
                                      : std::vector<std::string>{"kitchen", "living room", "utility room"};
    here.as.insert(here.as.end(), more.begin(), more.end());
  }
  if (built && built->from > ban_year) return here;

  for (const auto& family : catalogue.families) {
    if (!family.suspect || !family.use) continue;
    const book::YearRange years{std::max(here.years.from, family.use->first),
                                std::min(here.years.to, family.use->old_stock_until)};
    if (years.from > years.to) continue;
    const auto* curve = evidence.find(family.id);
    if (curve == nullptr) continue;
    const auto prior = evidence::prior_of(*curve, years, evidence.fibre_floor);
    if (prior.middle < kLikely) continue;
    LookFor question{&family, {}, {}, years, prior};
    for (const auto& place : family.places) {
      const bool in_such_a_room = std::any_of(place.room_uses.begin(), place.room_uses.end(),
                                              [&](const std::string& use) { return has(here.as, use); });
      if (!in_such_a_room) continue;
      question.places.push_back(&place);
      for (const auto face : place.faces) {
        if (std::find(question.faces.begin(), question.faces.end(), face) == question.faces.end())
          question.faces.push_back(face);
      }
    }
    if (question.places.empty()) continue;
    std::sort(question.faces.begin(), question.faces.end(),
              [](FaceKind a, FaceKind b) { return place_in_order(a) < place_in_order(b); });
    here.questions.push_back(std::move(question));
  }
  std::stable_sort(here.questions.begin(), here.questions.end(), [](const LookFor& a, const LookFor& b) {
    return a.family->product_score * a.prior.middle > b.family->product_score * b.prior.middle;
  });
  return here;
}

namespace {

std::string opening_words(const catalogue::Family& family) { return fmt::format("Looked for {}: ", family.name); }

/// The lines of some notes.
std::vector<std::string_view> lines_of(std::string_view notes) {
  std::vector<std::string_view> lines;
  while (!notes.empty()) {
    const auto end = std::min(notes.find('\n'), notes.size());
    lines.push_back(notes.substr(0, end));
    notes.remove_prefix(std::min(end + 1, notes.size()));
  }
  return lines;
}

}  // namespace

std::string with_look(std::string_view notes, const catalogue::Family& family, const Looked& looked) {
  const auto opening = opening_words(family);
  std::vector<std::string> lines;
  for (const auto line : lines_of(notes)) {
    if (!line.starts_with(opening)) lines.emplace_back(line);
  }
  lines.push_back(fmt::format("{}{}, {}.", opening, looked.answer, looked.on.text()));
  return fmt::format("{}", fmt::join(lines, "\n"));
}

std::optional<Looked> looked_of(std::string_view notes, const catalogue::Family& family) {
  const auto opening = opening_words(family);
  for (auto line : lines_of(notes)) {
    if (!line.starts_with(opening)) continue;
    line.remove_prefix(opening.size());
    const auto known = std::find_if(std::begin(kLookAnswers), std::end(kLookAnswers),
                                    [&](std::string_view answer) { return line.starts_with(answer); });
    if (known == std::end(kLookAnswers)) continue;
    line.remove_prefix(known->size());
    if (!line.starts_with(", ") || !line.ends_with('.')) continue;
    if (const auto on = reason::Date::parse(line.substr(2, line.size() - 3))) return Looked{std::string(*known), *on};
  }
  return std::nullopt;
}

Json walk_json(const check::House& house, const book::Room& room) {
  const auto& known = house.knowledge();
  const auto here = likely_here(room, house.years_of(room.id), house.ban_year(), known.catalogue, known.evidence);
  Json questions = Json::array();
  for (const auto& one : here.questions) {
    std::vector<std::string_view> where;
    for (const auto* place : one.places) where.push_back(place->where);
    Json materials = Json::array();
    for (const auto& material : house.book().materials) {
      if (material.place.room == room.id && material.family == one.family->id) materials.push_back(material.id.text);
    }
    Json row = {{"family", one.family->id},
                {"name", one.family->name},
                {"faces", Json::array()},
                {"where", fmt::format("{}", fmt::join(where, "; "))},
                {"look", Json::array()},
                {"years", {one.years.from, one.years.to}},
                {"probability", one.prior.middle},
                {"low", one.prior.low},
                {"high", one.prior.high},
                {"source", known.evidence.find(one.family->id)->source},
                {"materials", std::move(materials)}};
    for (const auto face : one.faces) row["faces"].push_back(book::word(face));
    for (const auto& look : one.family->look) row["look"].push_back(look.text);
    if (const auto looked = looked_of(room.notes, *one.family)) {
      row["answer"] = looked->answer;
      row["on"] = looked->on.text();
    }
    questions.push_back(std::move(row));
  }
  Json out = {{"room", room.id.text},
              {"years", {here.years.from, here.years.to}},
              {"as", here.as},
              {"guessed", here.guessed},
              {"later_than_ban", house.years_of(room.id) && house.years_of(room.id)->from > house.ban_year()},
              {"questions", std::move(questions)}};
  return out;
}

Json walks_json(const check::House& house) {
  const auto& book = house.book();
  const auto& known = house.knowledge();
  const auto floor_of = [&](const book::Room* room) {
    const auto* storey = book::find(book.storeys, room->storey);
    return storey != nullptr ? storey->floor_m : 0.0;
  };
  std::vector<const book::Room*> rooms;
  for (const auto& room : book.rooms) rooms.push_back(&room);
  std::ranges::stable_sort(rooms, {}, [&](const book::Room* room) {
    const double floor_m = floor_of(room);
    return std::pair(std::abs(floor_m), -floor_m);
  });
  Json list = Json::array();
  for (const auto* room : rooms) {
    const auto here = likely_here(*room, house.years_of(room->id), house.ban_year(), known.catalogue, known.evidence);
    const auto answered = std::ranges::count_if(here.questions, [&](const LookFor& one) {
      return looked_of(room->notes, *one.family) || std::ranges::any_of(book.materials, [&](const auto& material) {
               return material.place.room == room->id && material.family == one.family->id;
             });
    });
    list.push_back({{"room", room->id.text}, {"asked", here.questions.size()}, {"answered", answered}});
  }
  return {{"rooms", std::move(list)}};
}

}  // namespace lathbook::service
