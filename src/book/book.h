// The house and what is in it, as plain values: the words of docs/domain.md, and nothing computed.
//
// Ids are short and readable (M7, J3, S12) and stable across export and import. Plan coordinates are in metres, x
// right, y up, per storey. On a floor, ceiling, roof slope or the inside of a void a shape lies in plan coordinates; on
// a wall it lies in face coordinates: metres along the wall from its left end as seen from inside the room, and metres
// above the room's floor. Dates are ISO 8601. Money is in the book's currency in integer minor units (pence, cents).
#pragma once

#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "reason/date.h"

namespace lathbook::book {

using reason::Date;

/// A readable id of one kind of thing; ids of different kinds do not mix.
template <class Tag>
struct Id {
  std::string text;
  auto operator<=>(const Id&) const = default;
  [[nodiscard]] bool empty() const { return text.empty(); }
};

using PhaseId = Id<struct PhaseTag>;
using StoreyId = Id<struct StoreyTag>;
using RoomId = Id<struct RoomTag>;
using OpeningId = Id<struct OpeningTag>;
using GroupId = Id<struct GroupTag>;
using MaterialId = Id<struct MaterialTag>;
using SampleId = Id<struct SampleTag>;
using ResultId = Id<struct ResultTag>;
using InspectionId = Id<struct InspectionTag>;
using JobId = Id<struct JobTag>;
using EventId = Id<struct EventTag>;
using PersonId = Id<struct PersonTag>;
using PieceId = Id<struct PieceTag>;
using SiteId = Id<struct SiteTag>;
using VehicleId = Id<struct VehicleTag>;
using PartyId = Id<struct PartyTag>;
using QuoteId = Id<struct QuoteTag>;
using CertificateId = Id<struct CertificateTag>;
using ActionId = Id<struct ActionTag>;
using DocumentId = Id<struct DocumentTag>;

using Money = std::int64_t;  ///< minor units of the book's currency

// ---- places -------------------------------------------------------------------------------------------------------

/// A closed range of calendar years. `from <= to`.
struct YearRange {
  int from = 0;
  int to = 0;
  auto operator<=>(const YearRange&) const = default;
};

struct Point {
  double x_m = 0;
  double y_m = 0;
  bool operator==(const Point&) const = default;
};

/// A time when part of the house was built or altered.
struct Phase {
  PhaseId id;
  std::string name;
  YearRange years;
  std::string known_from;  ///< how the years are known: deeds, planning papers, a neighbour, a guess
};

struct Storey {
  StoreyId id;
  std::string name;
  double floor_m = 0;     ///< level of its floor above the book's datum (usually the ground floor)
  double height_m = 2.4;  ///< usual floor-to-ceiling height; a room may differ
};

enum class RoomKind { kRoom, kLoft, kCellar, kPorch, kGarage, kOutbuilding, kShaft, kVoid };

/// Part of the plan of a room where the ceiling is at another height (under a roof slope, a bay).
struct HeightZone {
  std::vector<Point> outline;
  double low_m = 0;   ///< height of the ceiling above the floor at its lowest
  double high_m = 0;  ///< at its highest
};

struct Room {
  RoomId id;
  std::string name;
  StoreyId storey;
  RoomKind kind = RoomKind::kRoom;
  std::string use;                 ///< kitchen, bedroom, hall … (free words)
  PhaseId phase;                   ///< may be empty: unknown
  std::vector<Point> outline;      ///< simple polygon, anticlockwise or clockwise, not repeated at the end
  std::optional<double> height_m;  ///< floor to ceiling; the storey's when absent
  std::vector<HeightZone> heights;
  std::optional<double> air_changes_per_h;
  std::optional<double> hours_used_per_day;
  std::string notes;
};

enum class OpeningKind { kDoor, kWindow, kHatch, kStair, kVent };
enum class OpeningState { kOpen, kAjar, kClosed, kSealed };
enum class Hung { kLeft, kRight, kBoth };  ///< at which end a door's leaf hangs, seen from inside `from`
enum class Opens { kIn, kOut };            ///< into `from`, or out of it

/// A door, window, hatch, stair or vent between two rooms, or a room and outdoors.
struct Opening {
  OpeningId id;
  OpeningKind kind = OpeningKind::kDoor;
  RoomId from;
  RoomId to;                ///< empty = outdoors
  std::optional<Point> at;  ///< plan position of its middle
  double width_m = 0.8;
  double height_m = 2.0;
  std::optional<double> sill_m;  ///< its lower edge above the floor of `from`; as usual when absent (fabric/opening.h)
  OpeningState usual = OpeningState::kClosed;
  std::optional<Hung> hung;    ///< for drawing alone, like `opens`
  std::optional<Opens> opens;  ///< absent = not said
};

enum class FaceKind { kFloor, kCeiling, kWall, kRoof, kInside };

/// One side of the building's fabric as seen from a room. `number` counts from 1 and is 0 for floor, ceiling and
/// inside: wall n runs from outline corner n to corner n + 1 of the room taken anticlockwise from above, so that the
/// inside is on the left hand; seen from inside, its left end is therefore corner n + 1. Text: `floor`, `ceiling`,
/// `wall-2`, `roof-1`, `inside`.
struct Face {
  FaceKind kind = FaceKind::kFloor;
  int number = 0;
  auto operator<=>(const Face&) const = default;
  [[nodiscard]] std::string text() const;
  [[nodiscard]] static std::optional<Face> parse(std::string_view text);
};

struct WholeFace {
  bool operator==(const WholeFace&) const = default;
};
struct PointShape {
  Point at;
  bool operator==(const PointShape&) const = default;
};
struct LineShape {
  std::vector<Point> points;  ///< at least two
  double width_m = 0.05;
  bool operator==(const LineShape&) const = default;
};
struct PolygonShape {
  std::vector<Point> outline;
  bool operator==(const PolygonShape&) const = default;
};
/// On a wall: from `left_m` to `right_m` along it, between two heights.
struct SpanShape {
  double left_m = 0;
  double right_m = 0;
  double low_m = 0;
  double high_m = 0;
  bool operator==(const SpanShape&) const = default;
};
using Shape = std::variant<WholeFace, PointShape, LineShape, PolygonShape, SpanShape>;

/// Where something is: a face of a room and a shape on it.
struct Place {
  RoomId room;
  Face face;
  Shape shape = WholeFace{};
};

// ---- materials and what is known of them ----------------------------------------------------------------------------

enum class Alike { kSamePiece, kSameJobAndLook, kSameLook, kSameKind };

/// Materials believed to come from one source; groups nest.
struct Group {
  GroupId id;
  std::string name;
  GroupId parent;              ///< empty = none
  std::optional<Alike> alike;  ///< how alike the group as a whole is to its parent's others
};

enum class Damage { kNone, kLow, kMedium, kHigh };
enum class Surface { kComposite, kSealed, kUnsealed, kBare };
enum class Unit { kM2, kM, kNumber };
enum class Fibre { kChrysotile, kAmosite, kCrocidolite, kTremolite, kActinolite, kAnthophyllite };

/// What may be claimed of a material now. Only the last two release plain work; a belief, however low, never does.
enum class Standing { kPresumed, kStronglyPresumed, kIdentified, kNoneDetected, kProvenLater };
[[nodiscard]] constexpr bool releases(Standing standing) {
  return standing == Standing::kNoneDetected || standing == Standing::kProvenLater;
}

struct Extent {
  double amount = 0;
  Unit unit = Unit::kM2;
};

/// The factors of a priority assessment, each 0 to 3, as far as the person gave them.
struct PriorityFactors {
  std::vector<int> activity;     ///< main use, secondary uses
  std::vector<int> disturbance;  ///< location, accessibility, extent
  std::vector<int> exposure;     ///< occupants, frequency, time
  std::vector<int> maintenance;  ///< type, frequency
};

/// Evidence that something was installed wholly after a date; `text` names the paper it rests on.
struct InstallProof {
  Date installed_on;
  std::string text;
};

/// One piece or run of the same stuff in one place.
struct Material {
  MaterialId id;
  std::string name;
  std::string family;  ///< id in data/families.json
  Place place;
  int layer = 0;  ///< 0 = the surface towards the room; larger = deeper
  std::optional<Extent> extent;
  std::optional<double> thickness_mm;
  PhaseId phase;                   ///< when it was put in; empty = any time since its room was built
  std::optional<YearRange> years;  ///< its own years, if they differ from the phase
  std::optional<InstallProof> proof;
  Damage damage = Damage::kNone;
  std::optional<Surface> surface;  ///< the family's usual surface when absent
  GroupId group;
  std::optional<Alike> alike;
  std::optional<PriorityFactors> priority;
  bool overhead_or_hard_to_reach = false;
  std::optional<Date> last_inspected;
  std::optional<Date> removed_on;  ///< gone from the house; kept for the record
  std::vector<DocumentId> photos;
  std::string notes;
};

struct Sample {
  SampleId id;
  MaterialId material;
  std::string label;
  std::string spot;  ///< where on the piece, in words
  std::optional<Date> taken_on;
  std::optional<Date> sent_on;
  PartyId laboratory;
  std::string laboratory_ref;
  std::string notes;
};

struct LabResult {
  ResultId id;
  SampleId sample;
  bool found = false;
  std::vector<Fibre> fibres;
  std::string amount;  ///< as the laboratory worded it
  std::string method;
  std::optional<Date> reported_on;
  DocumentId document;
};

struct Inspection {
  InspectionId id;
  MaterialId material;
  Date on;
  Damage damage = Damage::kNone;
  std::optional<Surface> surface;
  DocumentId photo;
  std::string notes;
};

enum class ActionKind { kLeave, kSeal, kBoxIn, kRemove };

/// What was decided for a material.
struct Action {
  ActionId id;
  MaterialId material;
  ActionKind kind = ActionKind::kLeave;
  PartyId by;
  std::optional<Date> due_on;
  std::optional<Date> started_on;
  std::optional<Date> done_on;
  std::optional<Money> cost;
  std::string notes;
};

// ---- jobs and events ------------------------------------------------------------------------------------------------

enum class Who { kHouseholder, kTrade, kLicensedRemover };
enum class Depth { kSurface, kLayer, kThrough };

/// One thing a job does to the fabric.
struct Cut {
  std::string task;  ///< id in data/tasks.json
  Place place;
  int count = 1;  ///< holes, panels …
  std::optional<double> length_m;
  std::optional<double> area_m2;
  std::optional<double> diameter_mm;
  double minutes = 10;  ///< working time of one person, setting up and clearing up included
  Depth depth = Depth::kLayer;
  std::vector<std::string> controls;  ///< ids in data/controls.json
};

/// Planned work.
struct Job {
  JobId id;
  std::string title;
  std::optional<Date> wanted_on;
  Who by = Who::kHouseholder;
  int people = 1;  ///< how many work on it at once
  std::vector<Cut> cuts;
  std::vector<JobId> after;
  std::optional<Money> cost_plain;        ///< if nothing it touches holds asbestos
  std::optional<Money> cost_as_asbestos;  ///< done with all that asbestos asks for
  std::optional<Money> cost_elsewhere;    ///< moved so that it touches nothing suspect, or dropped
  std::optional<double> days;
  std::optional<Date> done_on;
  std::string notes;
};

struct Person {
  PersonId id;
  std::string name;
  std::string role;
  std::optional<int> birth_year;
  std::optional<std::string> sex;  ///< female or male, only if they want the risk by sex
  std::optional<bool> smoker;
};

/// Somebody in a room for part of an event; minutes count from its start.
struct Stay {
  PersonId person;
  RoomId room;
  double from_min = 0;
  double to_min = 0;
  bool at_the_work = false;  ///< within arm's reach of it
};

struct MaskWorn {
  PersonId person;
  std::string respirator;  ///< id in data/respirators.json
  double from_min = 0;
  double to_min = 0;
  std::optional<double> share_worn;  ///< 0 to 1; absent = cannot remember
  bool beard = false;
};

struct CleanUp {
  std::string task;  ///< id in data/tasks.json
  double from_min = 0;
  double to_min = 0;
  PersonId by;
};

/// An opening in another state than usual during an event.
struct OpeningDuring {
  OpeningId opening;
  OpeningState state = OpeningState::kOpen;
  double from_min = 0;
  double to_min = 0;
};

/// A disturbance that happened or is being imagined.
struct Event {
  EventId id;
  std::string title;
  std::string started_at;  ///< `YYYY-MM-DD` or `YYYY-MM-DDThh:mm`
  bool imagined = false;
  std::vector<MaterialId> materials;  ///< what was disturbed
  std::vector<Cut> cuts;
  std::vector<Stay> stays;
  std::vector<MaskWorn> masks;
  std::vector<CleanUp> cleaning;
  std::vector<OpeningDuring> openings;
  std::string notes;
};

// ---- waste, people outside, papers
// ------------------------------------------------------------------------------------

struct Piece {
  PieceId id;
  std::string name;
  MaterialId material;
  double length_m = 0;
  double width_m = 0;
  double thickness_mm = 0;
  std::optional<double> mass_kg;
  int count = 1;
  bool whole = true;  ///< false = broken, or debris
  bool wrapped = false;
  RoomId room;  ///< where it waits
  std::optional<Date> gone_on;
};

struct Site {
  SiteId id;
  std::string name;
  std::string rules;  ///< id in data/sites.json, or empty
  std::optional<int> pieces_per_visit;
  std::optional<double> mass_kg_per_visit;
  std::optional<double> length_m;
  std::optional<double> width_m;
  std::optional<int> visits_per_month;
  std::optional<double> distance_km;
  std::string conditions;
};

struct Vehicle {
  VehicleId id;
  std::string name;
  double length_m = 0;  ///< inside
  double width_m = 0;
  double height_m = 0;
  std::optional<double> door_width_m;
  std::optional<double> door_height_m;
  double payload_kg = 0;
};

struct Party {
  PartyId id;
  std::string name;
  std::string role;  ///< laboratory, surveyor, analyst, remover, carrier, trade
  std::string licence;
  std::optional<Date> licence_expires_on;
  std::optional<double> lead_days;
  std::optional<Money> price_fixed;  ///< call-out, mobilisation or per order
  std::optional<Money> price_each;   ///< per sample, per visit
};

struct Quote {
  QuoteId id;
  PartyId party;
  std::vector<MaterialId> materials;
  Money amount = 0;
  std::optional<Date> quoted_on;
  std::optional<Date> valid_to;
  DocumentId document;
  std::string notes;
};

/// One air sample of a clearance certificate, as printed on it.
struct AirSample {
  double litres = 0;
  double fibres = 0;
  double fields = 0;
  std::optional<double> flow_l_per_min;
  std::optional<double> minutes;
  std::optional<double> f_per_ml;      ///< the figure the certificate states
  std::optional<double> filter_mm;     ///< diameter of the exposed part of the filter; absent: the usual 22
  std::optional<double> graticule_um;  ///< diameter of the counting circle; absent: the usual 100
  std::optional<double> blank_fibres;  ///< on the blank filter that went with it
  std::optional<double> blank_fields;  ///< looked at on the blank; both or neither
};

struct Certificate {
  CertificateId id;
  PartyId party;
  std::vector<MaterialId> materials;
  std::vector<RoomId> rooms;
  std::optional<Date> work_finished_on;
  std::optional<Date> issued_on;
  std::vector<std::string> stages;  ///< in the order stated
  std::optional<double> area_m2;
  std::optional<double> height_m;
  std::vector<AirSample> samples;
  DocumentId document;
};

/// A photo or paper; the bytes lie in the store under their SHA-256.
struct Document {
  DocumentId id;
  std::string title;
  std::string kind;  ///< photo, laboratory report, invoice, certificate …
  std::string media_type;
  std::string sha256;  ///< lower-case hex
  std::int64_t bytes = 0;
  std::optional<Date> dated;
  RoomId room;
  MaterialId material;
};

/// Days from `from` to `to`, both included.
struct Stretch {
  Date from;
  Date to;
  std::string why;
};

/// What kind of house this is and whose rules hold.
struct About {
  std::string title;
  std::string rules = "gb";               ///< id of a rule pack in data/law/
  std::string region;                     ///< a region of that pack; empty = not said: the strictest of them holds
  std::string currency = "GBP";           ///< ISO 4217
  std::optional<Money> test_fixed;        ///< what one order to the laboratory costs
  std::optional<Money> test_each;         ///< and each sample
  std::optional<Money> waiting_per_week;  ///< what a week of waiting is worth to the person
  std::vector<Stretch> away;              ///< nobody of the household does anything or lets anybody in
  std::vector<Stretch> dry;               ///< when given, roofs are only opened inside these
  std::string notes;
};

/// One house, one book.
struct Book {
  About about;
  std::vector<Phase> phases;
  std::vector<Storey> storeys;
  std::vector<Room> rooms;
  std::vector<Opening> openings;
  std::vector<Group> groups;
  std::vector<Material> materials;
  std::vector<Sample> samples;
  std::vector<LabResult> results;
  std::vector<Inspection> inspections;
  std::vector<Action> actions;
  std::vector<Job> jobs;
  std::vector<Event> events;
  std::vector<Person> people;
  std::vector<Piece> pieces;
  std::vector<Site> sites;
  std::vector<Vehicle> vehicles;
  std::vector<Party> parties;
  std::vector<Quote> quotes;
  std::vector<Certificate> certificates;
  std::vector<Document> documents;
};

/// The item with this id, or nullptr. Linear: use `index_of` where many are looked up.
template <class Item, class Tag>
[[nodiscard]] const Item* find(const std::vector<Item>& items, const Id<Tag>& id) {
  for (const auto& item : items) {
    if (item.id == id) return &item;
  }
  return nullptr;
}

/// Positions by id.
template <class Item>
[[nodiscard]] std::map<std::string, std::size_t> index_of(const std::vector<Item>& items) {
  std::map<std::string, std::size_t> index;
  for (std::size_t i = 0; i < items.size(); ++i) index.emplace(items[i].id.text, i);
  return index;
}

}  // namespace lathbook::book
