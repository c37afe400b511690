#include "book/words.h"

#include <charconv>
#include <string>

namespace lathbook::book {
namespace {

template <class E, std::size_t N>
using Table = std::array<std::pair<E, std::string_view>, N>;

constexpr Table<RoomKind, 8> kRoomKinds = {{{RoomKind::kRoom, "room"},
                                            {RoomKind::kLoft, "loft"},
                                            {RoomKind::kCellar, "cellar"},
                                            {RoomKind::kPorch, "porch"},
                                            {RoomKind::kGarage, "garage"},
                                            {RoomKind::kOutbuilding, "outbuilding"},
                                            {RoomKind::kShaft, "shaft"},
                                            {RoomKind::kVoid, "void"}}};
constexpr Table<OpeningKind, 5> kOpeningKinds = {{{OpeningKind::kDoor, "door"},
                                                  {OpeningKind::kWindow, "window"},
                                                  {OpeningKind::kHatch, "hatch"},
                                                  {OpeningKind::kStair, "stair"},
                                                  {OpeningKind::kVent, "vent"}}};
constexpr Table<OpeningState, 4> kOpeningStates = {{{OpeningState::kOpen, "open"},
                                                    {OpeningState::kAjar, "ajar"},
                                                    {OpeningState::kClosed, "closed"},
                                                    {OpeningState::kSealed, "sealed"}}};
constexpr Table<Hung, 3> kHungs = {{{Hung::kLeft, "left"}, {Hung::kRight, "right"}, {Hung::kBoth, "both"}}};
constexpr Table<Opens, 2> kWaysToOpen = {{{Opens::kIn, "in"}, {Opens::kOut, "out"}}};
constexpr Table<FaceKind, 5> kFaceKinds = {{{FaceKind::kFloor, "floor"},
                                            {FaceKind::kCeiling, "ceiling"},
                                            {FaceKind::kWall, "wall"},
                                            {FaceKind::kRoof, "roof"},
                                            {FaceKind::kInside, "inside"}}};
constexpr Table<Alike, 4> kAlikes = {{{Alike::kSamePiece, "same piece"},
                                      {Alike::kSameJobAndLook, "same job and look"},
                                      {Alike::kSameLook, "same look"},
                                      {Alike::kSameKind, "same kind"}}};
constexpr Table<Damage, 4> kDamages = {
    {{Damage::kNone, "none"}, {Damage::kLow, "low"}, {Damage::kMedium, "medium"}, {Damage::kHigh, "high"}}};
constexpr Table<Surface, 4> kSurfaces = {{{Surface::kComposite, "composite"},
                                          {Surface::kSealed, "sealed"},
                                          {Surface::kUnsealed, "unsealed"},
                                          {Surface::kBare, "bare"}}};
constexpr Table<Unit, 3> kUnits = {{{Unit::kM2, "m2"}, {Unit::kM, "m"}, {Unit::kNumber, "number"}}};
constexpr Table<Fibre, 6> kFibres = {{{Fibre::kChrysotile, "chrysotile"},
                                      {Fibre::kAmosite, "amosite"},
                                      {Fibre::kCrocidolite, "crocidolite"},
                                      {Fibre::kTremolite, "tremolite"},
                                      {Fibre::kActinolite, "actinolite"},
                                      {Fibre::kAnthophyllite, "anthophyllite"}}};
constexpr Table<Standing, 5> kStandings = {{{Standing::kPresumed, "presumed"},
                                            {Standing::kStronglyPresumed, "strongly presumed"},
                                            {Standing::kIdentified, "identified"},
                                            {Standing::kNoneDetected, "no asbestos detected"},
                                            {Standing::kProvenLater, "proven later than the ban"}}};
constexpr Table<ActionKind, 4> kActionKinds = {{{ActionKind::kLeave, "leave and look again"},
                                                {ActionKind::kSeal, "seal"},
                                                {ActionKind::kBoxIn, "box in"},
                                                {ActionKind::kRemove, "remove"}}};
constexpr Table<Who, 3> kWhos = {
    {{Who::kHouseholder, "householder"}, {Who::kTrade, "trade"}, {Who::kLicensedRemover, "licensed remover"}}};
constexpr Table<Depth, 3> kDepths = {
    {{Depth::kSurface, "surface"}, {Depth::kLayer, "layer"}, {Depth::kThrough, "through"}}};

}  // namespace

template <>
WordTable<RoomKind> words() {
  return kRoomKinds;
}
template <>
WordTable<OpeningKind> words() {
  return kOpeningKinds;
}
template <>
WordTable<OpeningState> words() {
  return kOpeningStates;
}
template <>
WordTable<Hung> words() {
  return kHungs;
}
template <>
WordTable<Opens> words() {
  return kWaysToOpen;
}
template <>
WordTable<FaceKind> words() {
  return kFaceKinds;
}
template <>
WordTable<Alike> words() {
  return kAlikes;
}
template <>
WordTable<Damage> words() {
  return kDamages;
}
template <>
WordTable<Surface> words() {
  return kSurfaces;
}
template <>
WordTable<Unit> words() {
  return kUnits;
}
template <>
WordTable<Fibre> words() {
  return kFibres;
}
template <>
WordTable<Standing> words() {
  return kStandings;
}
template <>
WordTable<ActionKind> words() {
  return kActionKinds;
}
template <>
WordTable<Who> words() {
  return kWhos;
}
template <>
WordTable<Depth> words() {
  return kDepths;
}

std::string Face::text() const {
  std::string text(word(kind));
  if (number > 0) text += "-" + std::to_string(number);
  return text;
}

std::optional<Face> Face::parse(std::string_view text) {
  const auto dash = text.find('-');
  const auto kind = from_word<FaceKind>(text.substr(0, dash));
  if (!kind) return std::nullopt;
  const bool numbered = *kind == FaceKind::kWall || *kind == FaceKind::kRoof;
  if (dash == std::string_view::npos) return numbered ? std::nullopt : std::optional(Face{*kind, 0});
  if (!numbered) return std::nullopt;
  const auto digits = text.substr(dash + 1);
  int number = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (error != std::errc() || end != digits.data() + digits.size() || number < 1 || digits.front() == '0')
    return std::nullopt;
  return Face{*kind, number};
}

}  // namespace lathbook::book
