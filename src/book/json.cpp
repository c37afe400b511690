#include "book/json.h"

#include <algorithm>
#include <array>
#include <iterator>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <type_traits>

#include "assets/assets.h"
#include "book/words.h"
#include "schema/node.h"
#include "schema/parse.h"
#include "schema/schema.h"

namespace lathbook::book {
namespace {

using schema::Held;

constexpr std::array<Kind, 20> kKinds = {{{"phase", "phases", "PH"},
                                          {"storey", "storeys", "L"},
                                          {"room", "rooms", "R"},
                                          {"opening", "openings", "O"},
                                          {"group", "groups", "G"},
                                          {"material", "materials", "M"},
                                          {"sample", "samples", "S"},
                                          {"result", "results", "LR"},
                                          {"inspection", "inspections", "I"},
                                          {"action", "actions", "A"},
                                          {"job", "jobs", "J"},
                                          {"event", "events", "E"},
                                          {"person", "people", "PE"},
                                          {"piece", "pieces", "W"},
                                          {"site", "sites", "TS"},
                                          {"vehicle", "vehicles", "V"},
                                          {"party", "parties", "PA"},
                                          {"quote", "quotes", "Q"},
                                          {"certificate", "certificates", "C"},
                                          {"document", "documents", "D"}}};

// Each item is described once, as a list of fields, and that list both reads and writes it (`Read` and `Write` below).
// A field that holds its default is left out when written, so equal items have equal JSON.

template <class V>
void fields(V& v, YearRange& x) {
  v("from", x.from);
  v("to", x.to);
}
template <class V>
void fields(V& v, Phase& x) {
  v("id", x.id);
  v("name", x.name);
  v("years", x.years);
  v("known_from", x.known_from);
}
template <class V>
void fields(V& v, Storey& x) {
  v("id", x.id);
  v("name", x.name);
  v.always("floor_m", x.floor_m);
  v("height_m", x.height_m);
}
template <class V>
void fields(V& v, HeightZone& x) {
  v("outline", x.outline);
  v.always("low_m", x.low_m);
  v.always("high_m", x.high_m);
}
template <class V>
void fields(V& v, Room& x) {
  v("id", x.id);
  v("name", x.name);
  v("storey", x.storey);
  v("kind", x.kind);
  v("use", x.use);
  v("phase", x.phase);
  v("outline", x.outline);
  v("height_m", x.height_m);
  v("heights", x.heights);
  v("air_changes_per_h", x.air_changes_per_h);
  v("hours_used_per_day", x.hours_used_per_day);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, Opening& x) {
  v("id", x.id);
  v.always("kind", x.kind);
  v("from", x.from);
  v("to", x.to);
  v("at", x.at);
  v("width_m", x.width_m);
  v("height_m", x.height_m);
  v("sill_m", x.sill_m);
  v("usual", x.usual);
  v("hung", x.hung);
  v("opens", x.opens);
}
template <class V>
void fields(V& v, Group& x) {
  v("id", x.id);
  v("name", x.name);
  v("parent", x.parent);
  v("alike", x.alike);
}
template <class V>
void fields(V& v, Extent& x) {
  v("amount", x.amount);
  v.always("unit", x.unit);
}
template <class V>
void fields(V& v, PriorityFactors& x) {
  v("activity", x.activity);
  v("disturbance", x.disturbance);
  v("exposure", x.exposure);
  v("maintenance", x.maintenance);
}
template <class V>
void fields(V& v, InstallProof& x) {
  v("installed_on", x.installed_on);
  v("text", x.text);
}
template <class V>
void fields(V& v, Place& x) {
  v("room", x.room);
  v.always("face", x.face);
  v("shape", x.shape);
}
template <class V>
void fields(V& v, Material& x) {
  v("id", x.id);
  v("name", x.name);
  v("family", x.family);
  fields(v, x.place);
  v("layer", x.layer);
  v("extent", x.extent);
  v("thickness_mm", x.thickness_mm);
  v("phase", x.phase);
  v("years", x.years);
  v("proof", x.proof);
  v("damage", x.damage);
  v("surface", x.surface);
  v("group", x.group);
  v("alike", x.alike);
  v("priority", x.priority);
  v("overhead_or_hard_to_reach", x.overhead_or_hard_to_reach);
  v("last_inspected", x.last_inspected);
  v("removed_on", x.removed_on);
  v("photos", x.photos);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, Sample& x) {
  v("id", x.id);
  v("material", x.material);
  v("label", x.label);
  v("spot", x.spot);
  v("taken_on", x.taken_on);
  v("sent_on", x.sent_on);
  v("laboratory", x.laboratory);
  v("laboratory_ref", x.laboratory_ref);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, LabResult& x) {
  v("id", x.id);
  v("sample", x.sample);
  v.always("found", x.found);
  v("fibres", x.fibres);
  v("amount", x.amount);
  v("method", x.method);
  v("reported_on", x.reported_on);
  v("document", x.document);
}
template <class V>
void fields(V& v, Inspection& x) {
  v("id", x.id);
  v("material", x.material);
  v.always("on", x.on);
  v.always("damage", x.damage);
  v("surface", x.surface);
  v("photo", x.photo);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, Action& x) {
  v("id", x.id);
  v("material", x.material);
  v.always("kind", x.kind);
  v("by", x.by);
  v("due_on", x.due_on);
  v("started_on", x.started_on);
  v("done_on", x.done_on);
  v("cost", x.cost);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, Cut& x) {
  v("task", x.task);
  fields(v, x.place);
  v("count", x.count);
  v("length_m", x.length_m);
  v("area_m2", x.area_m2);
  v("diameter_mm", x.diameter_mm);
  v("minutes", x.minutes);
  v("depth", x.depth);
  v("controls", x.controls);
}
template <class V>
void fields(V& v, Job& x) {
  v("id", x.id);
  v("title", x.title);
  v("wanted_on", x.wanted_on);
  v("by", x.by);
  v("people", x.people);
  v("cuts", x.cuts);
  v("after", x.after);
  v("cost_plain", x.cost_plain);
  v("cost_as_asbestos", x.cost_as_asbestos);
  v("cost_elsewhere", x.cost_elsewhere);
  v("days", x.days);
  v("done_on", x.done_on);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, Stay& x) {
  v("person", x.person);
  v("room", x.room);
  v.always("from_min", x.from_min);
  v.always("to_min", x.to_min);
  v("at_the_work", x.at_the_work);
}
template <class V>
void fields(V& v, MaskWorn& x) {
  v("person", x.person);
  v("respirator", x.respirator);
  v.always("from_min", x.from_min);
  v.always("to_min", x.to_min);
  v("share_worn", x.share_worn);
  v("beard", x.beard);
}
template <class V>
void fields(V& v, CleanUp& x) {
  v("task", x.task);
  v.always("from_min", x.from_min);
  v.always("to_min", x.to_min);
  v("by", x.by);
}
template <class V>
void fields(V& v, OpeningDuring& x) {
  v("opening", x.opening);
  v.always("state", x.state);
  v.always("from_min", x.from_min);
  v.always("to_min", x.to_min);
}
template <class V>
void fields(V& v, Event& x) {
  v("id", x.id);
  v("title", x.title);
  v("started_at", x.started_at);
  v("imagined", x.imagined);
  v("materials", x.materials);
  v("cuts", x.cuts);
  v("stays", x.stays);
  v("masks", x.masks);
  v("cleaning", x.cleaning);
  v("openings", x.openings);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, Person& x) {
  v("id", x.id);
  v("name", x.name);
  v("role", x.role);
  v("birth_year", x.birth_year);
  v("sex", x.sex);
  v("smoker", x.smoker);
}
template <class V>
void fields(V& v, Piece& x) {
  v("id", x.id);
  v("name", x.name);
  v("material", x.material);
  v("length_m", x.length_m);
  v("width_m", x.width_m);
  v("thickness_mm", x.thickness_mm);
  v("mass_kg", x.mass_kg);
  v("count", x.count);
  v("whole", x.whole);
  v("wrapped", x.wrapped);
  v("room", x.room);
  v("gone_on", x.gone_on);
}
template <class V>
void fields(V& v, Site& x) {
  v("id", x.id);
  v("name", x.name);
  v("rules", x.rules);
  v("pieces_per_visit", x.pieces_per_visit);
  v("mass_kg_per_visit", x.mass_kg_per_visit);
  v("length_m", x.length_m);
  v("width_m", x.width_m);
  v("visits_per_month", x.visits_per_month);
  v("distance_km", x.distance_km);
  v("conditions", x.conditions);
}
template <class V>
void fields(V& v, Vehicle& x) {
  v("id", x.id);
  v("name", x.name);
  v("length_m", x.length_m);
  v("width_m", x.width_m);
  v("height_m", x.height_m);
  v("door_width_m", x.door_width_m);
  v("door_height_m", x.door_height_m);
  v("payload_kg", x.payload_kg);
}
template <class V>
void fields(V& v, Party& x) {
  v("id", x.id);
  v("name", x.name);
  v("role", x.role);
  v("licence", x.licence);
  v("licence_expires_on", x.licence_expires_on);
  v("lead_days", x.lead_days);
  v("price_fixed", x.price_fixed);
  v("price_each", x.price_each);
}
template <class V>
void fields(V& v, Quote& x) {
  v("id", x.id);
  v("party", x.party);
  v("materials", x.materials);
  v.always("amount", x.amount);
  v("quoted_on", x.quoted_on);
  v("valid_to", x.valid_to);
  v("document", x.document);
  v("notes", x.notes);
}
template <class V>
void fields(V& v, AirSample& x) {
  v("litres", x.litres);
  v.always("fibres", x.fibres);
  v("fields", x.fields);
  v("flow_l_per_min", x.flow_l_per_min);
  v("minutes", x.minutes);
  v("f_per_ml", x.f_per_ml);
  v("filter_mm", x.filter_mm);
  v("graticule_um", x.graticule_um);
  v("blank_fibres", x.blank_fibres);
  v("blank_fields", x.blank_fields);
}
template <class V>
void fields(V& v, Certificate& x) {
  v("id", x.id);
  v("party", x.party);
  v("materials", x.materials);
  v("rooms", x.rooms);
  v("work_finished_on", x.work_finished_on);
  v("issued_on", x.issued_on);
  v("stages", x.stages);
  v("area_m2", x.area_m2);
  v("height_m", x.height_m);
  v("samples", x.samples);
  v("document", x.document);
}
template <class V>
void fields(V& v, Document& x) {
  v("id", x.id);
  v("title", x.title);
  v("kind", x.kind);
  v("media_type", x.media_type);
  v("sha256", x.sha256);
  v.always("bytes", x.bytes);
  v("dated", x.dated);
  v("room", x.room);
  v("material", x.material);
}
template <class V>
void fields(V& v, Stretch& x) {
  v("from", x.from);
  v("to", x.to);
  v("why", x.why);
}
template <class V>
void fields(V& v, About& x) {
  v("title", x.title);
  v("rules", x.rules);
  v("region", x.region);
  v("currency", x.currency);
  v("test_fixed", x.test_fixed);
  v("test_each", x.test_each);
  v("waiting_per_week", x.waiting_per_week);
  v("away", x.away);
  v("dry", x.dry);
  v("notes", x.notes);
}

template <class T>
constexpr bool kIsOptional = false;
template <class T>
constexpr bool kIsOptional<std::optional<T>> = true;
template <class T>
constexpr bool kIsVector = false;
template <class T>
constexpr bool kIsVector<std::vector<T>> = true;
template <class T>
constexpr bool kIsId = false;
template <class Tag>
constexpr bool kIsId<Id<Tag>> = true;

/// A value with nothing in it, to compare with when a default may be left out.
template <class T>
T blank() {
  if constexpr (std::is_same_v<T, Date>) {
    return Date(std::chrono::sys_days{});
  } else if constexpr (std::is_same_v<T, Inspection>) {
    return Inspection{.id = {},
                      .material = {},
                      .on = Date(std::chrono::sys_days{}),
                      .damage = {},
                      .surface = {},
                      .photo = {},
                      .notes = {}};
  } else if constexpr (std::is_same_v<T, InstallProof>) {
    return InstallProof{.installed_on = Date(std::chrono::sys_days{}), .text = {}};
  } else if constexpr (std::is_same_v<T, Stretch>) {
    return Stretch{.from = Date(std::chrono::sys_days{}), .to = Date(std::chrono::sys_days{}), .why = {}};
  } else {
    return T{};
  }
}

Json point_to_json(Point p) { return Json::array({p.x_m, p.y_m}); }

template <class Node>
Point point_from(const Node& pair) {
  double at[2] = {};
  std::size_t i = 0;
  pair.items([&](const Node& one) {
    at[i++] = one.number();
    return i < 2;
  });
  return {at[0], at[1]};
}

template <class Node>
Shape shape_from(const Node& shape) {
  const auto points = [](const Node& list) {
    std::vector<Point> out;
    out.reserve(list.size());
    list.items([&](const Node& one) {
      out.push_back(point_from(one));
      return true;
    });
    return out;
  };
  if (const auto point = shape.find("point")) return PointShape{point_from(*point)};
  if (const auto line = shape.find("line")) {
    const auto width = shape.find("width_m");
    return LineShape{points(*line), width ? width->number() : LineShape{}.width_m};
  }
  if (const auto outline = shape.find("outline")) return PolygonShape{points(*outline)};
  const auto number = [&](const char* key) { return shape.find(key).value().number(); };
  return SpanShape{number("left_m"), number("right_m"), number("low_m"), number("high_m")};
}

template <class Node>
class Read {
 public:
  explicit Read(const Node& from) : from_(from) {}
  template <class T>
  void operator()(const char* key, T& value) {
    if (const auto found = from_.find(key)) read(*found, value);
  }
  template <class T>
  void always(const char* key, T& value) {
    (*this)(key, value);
  }

 private:
  template <class T>
  static void read(const Node& from, T& value) {
    if constexpr (kIsOptional<T>) {
      auto inner = blank<typename T::value_type>();
      read(from, inner);
      value = std::move(inner);
    } else if constexpr (kIsVector<T>) {
      value.clear();
      value.reserve(from.size());
      from.items([&](const Node& one) {
        auto inner = blank<typename T::value_type>();
        read(one, inner);
        value.push_back(std::move(inner));
        return true;
      });
    } else if constexpr (kIsId<T>) {
      value.text = from.text();
    } else if constexpr (std::is_enum_v<T>) {
      value = from_word<T>(from.text()).value();
    } else if constexpr (std::is_same_v<T, Date>) {
      value = Date::parse(from.text()).value();
    } else if constexpr (std::is_same_v<T, Face>) {
      value = Face::parse(from.text()).value();
    } else if constexpr (std::is_same_v<T, Point>) {
      value = point_from(from);
    } else if constexpr (std::is_same_v<T, Shape>) {
      value = shape_from(from);
    } else if constexpr (std::is_same_v<T, std::string>) {
      value = from.text();
    } else if constexpr (std::is_same_v<T, bool>) {
      value = from.boolean();
    } else if constexpr (std::is_same_v<T, int> || std::is_same_v<T, std::int64_t>) {
      // JSON Schema lets 3.0 pass for a whole number.
      value = from.is_integer() ? from.template integer<T>() : static_cast<T>(from.number());
    } else if constexpr (std::is_same_v<T, double>) {
      value = from.number();
    } else {
      Read inner(from);
      fields(inner, value);
    }
  }

  const Node& from_;
};

class Write {
 public:
  template <class T>
  void operator()(const char* key, T& value) {
    if (!is_default(value, key)) out_[key] = write(value);
  }
  template <class T>
  void always(const char* key, T& value) {
    out_[key] = write(value);
  }
  Json take() { return std::move(out_); }

 private:
  /// Fields whose natural default is not "nothing".
  template <class T>
  static bool is_default(const T& value, std::string_view key) {
    if constexpr (kIsOptional<T>) {
      return !value.has_value();
    } else if constexpr (kIsVector<T> || kIsId<T> || std::is_same_v<T, std::string>) {
      return value.empty();
    } else if constexpr (std::is_same_v<T, Shape>) {
      return std::holds_alternative<WholeFace>(value);
    } else if constexpr (std::is_same_v<T, bool>) {
      return value == (key == "whole");
    } else if constexpr (std::is_same_v<T, RoomKind>) {
      return value == RoomKind::kRoom;
    } else if constexpr (std::is_same_v<T, Damage>) {
      return value == Damage::kNone;
    } else if constexpr (std::is_same_v<T, OpeningState>) {
      return value == OpeningState::kClosed;
    } else if constexpr (std::is_same_v<T, Who>) {
      return value == Who::kHouseholder;
    } else if constexpr (std::is_same_v<T, Depth>) {
      return value == Depth::kLayer;
    } else if constexpr (std::is_same_v<T, int>) {
      return (key == "layer" && value == 0) || ((key == "count" || key == "people") && value == 1);
    } else {
      return false;
    }
  }

  template <class T>
  static Json write(const T& value) {
    if constexpr (kIsOptional<T>) {
      return write(*value);
    } else if constexpr (kIsVector<T>) {
      Json list = Json::array();
      for (const auto& one : value) list.push_back(write(one));
      return list;
    } else if constexpr (kIsId<T>) {
      return value.text;
    } else if constexpr (std::is_enum_v<T>) {
      return std::string(word(value));
    } else if constexpr (std::is_same_v<T, Date> || std::is_same_v<T, Face>) {
      return value.text();
    } else if constexpr (std::is_same_v<T, Point>) {
      return point_to_json(value);
    } else if constexpr (std::is_same_v<T, Shape>) {
      return shape_to_json(value);
    } else if constexpr (std::is_same_v<T, std::string> || std::is_arithmetic_v<T>) {
      return value;
    } else {
      Write inner;
      fields(inner, const_cast<T&>(value));  // the field list is shared with reading; writing changes nothing
      return inner.take();
    }
  }

  template <class T>
  friend Json item_json(const T& item);

  Json out_ = Json::object();
};

template <class T>
Json item_json(const T& item) {
  return Write::write(item);
}

template <class T, class Node>
T item_from(const Node& node) {
  T item = blank<T>();
  Read<Node> read(node);
  fields(read, item);
  return item;
}

/// Calls `use(kind name, list)` for each list of the book, in the order of kinds().
template <class B, class F>
void each_list(B& book, F&& use) {
  use("phase", book.phases);
  use("storey", book.storeys);
  use("room", book.rooms);
  use("opening", book.openings);
  use("group", book.groups);
  use("material", book.materials);
  use("sample", book.samples);
  use("result", book.results);
  use("inspection", book.inspections);
  use("action", book.actions);
  use("job", book.jobs);
  use("event", book.events);
  use("person", book.people);
  use("piece", book.pieces);
  use("site", book.sites);
  use("vehicle", book.vehicles);
  use("party", book.parties);
  use("quote", book.quotes);
  use("certificate", book.certificates);
  use("document", book.documents);
}

template <class Node>
void insert(Book& book, std::string_view kind, const Node& node) {
  if (kind == "about") {
    book.about = item_from<About>(node);
    return;
  }
  bool known = false;
  each_list(book, [&](std::string_view name, auto& items) {
    if (name != kind) return;
    known = true;
    items.push_back(item_from<typename std::decay_t<decltype(items)>::value_type>(node));
  });
  if (!known) throw std::logic_error("no kind of item is called " + std::string(kind));
}

}  // namespace

const schema::Schema& book_schema() {
  static const schema::Schema kSchema(schema::parse_json(assets::get("data/schemas/book.schema.json")).value());
  return kSchema;
}

std::span<const Kind> kinds() { return kKinds; }

const Kind* find_kind(std::string_view name) {
  const auto found = std::find_if(kKinds.begin(), kKinds.end(),
                                  [&](const Kind& kind) { return kind.name == name || kind.list == name; });
  return found == kKinds.end() ? nullptr : &*found;
}

const Kind* kind_of_id(std::string_view id) {
  const auto letters = id.substr(0, id.find_first_of("0123456789"));
  const auto found =
      std::find_if(kKinds.begin(), kKinds.end(), [&](const Kind& kind) { return kind.prefix == letters; });
  return found == kKinds.end() ? nullptr : &*found;
}

Json to_json(const Book& book) {
  Json out = {{"format", "lathbook-book"}, {"version", 1}, {"about", item_json(book.about)}};
  each_list(book, [&](std::string_view name, const auto& items) {
    if (items.empty()) return;
    Json list = Json::array();
    for (const auto& item : items) list.push_back(item_json(item));
    out[std::string(find_kind(name)->list)] = std::move(list);
  });
  return out;
}

reason::Result<Book> book_from_json(const Json& json) {
  if (!json.is_object() || json.value("format", Json()) != "lathbook-book") {
    return reason::Fault{"/format", "", "is not there: this is not a book in the open form",
                         "\"format\": \"lathbook-book\""};
  }
  if (const auto version = json.value("version", Json()); version.is_number() && version.get<double>() > 1) {
    return reason::Fault{"/version", schema::shown(version), "is newer than this program", "1"};
  }
  auto faults = book_schema().check(json);
  if (!faults.empty()) return faults;
  Book book;
  insert_item(book, "about", json["about"]);
  each_list(book, [&](std::string_view name, auto& items) {
    const auto found = json.find(std::string(find_kind(name)->list));
    if (found == json.end()) return;
    items.reserve(found->size());
    for (const auto& one : *found)
      items.push_back(item_from<typename std::decay_t<decltype(items)>::value_type>(Held{one}));
  });
  return book;
}

void insert_item(Book& book, std::string_view kind, const Json& json) { insert(book, kind, Held{json}); }

struct ItemReader::Inside {
  schema::Parser parser;
  std::string kind;
  const Json* part = nullptr;  ///< the schema of that kind
};

ItemReader::ItemReader() : inside_(std::make_unique<Inside>()) {}
ItemReader::~ItemReader() = default;

reason::Faults ItemReader::read(Book& book, std::string_view kind, std::string_view id, std::string_view text) {
  auto& [parser, known_kind, part] = *inside_;
  if (kind != known_kind) {
    known_kind = kind;
    part = &book_schema().part("/$defs/" + known_kind);
  }
  const auto quick = parser.tape(text);
  if (quick && book_schema().fits_taped(*part, *quick)) {
    insert(book, kind, *quick);
    return {};
  }
  const auto json = schema::parse_json(text);
  if (!json.ok() || !json->is_object())
    return {{std::string(id), "", "is damaged: its body is not an object", "", reason::FaultKind::kFile}};
  auto faults = book_schema().check_part("/$defs/" + known_kind, *json, id);
  if (faults.empty()) insert_item(book, kind, *json);
  return faults;
}

void append_items(Book& book, Book more) {
  each_list(book, [&](std::string_view name, auto& items) {
    each_list(more, [&](std::string_view other, auto& others) {
      if constexpr (std::is_same_v<decltype(items), decltype(others)>) {
        if (name == other)
          items.insert(items.end(), std::make_move_iterator(others.begin()), std::make_move_iterator(others.end()));
      }
    });
  });
}

Json canonical_item(std::string_view kind, const Json& json) {
  if (kind == "about") return item_json(item_from<About>(Held{json}));
  Book one;
  insert_item(one, kind, json);
  Json out;
  each_list(one, [&](std::string_view, const auto& items) {
    if (!items.empty()) out = item_json(items.front());
  });
  return out;
}

Storey storey_from_json(const Json& json) { return item_from<Storey>(Held{json}); }
Room room_from_json(const Json& json) { return item_from<Room>(Held{json}); }
Opening opening_from_json(const Json& json) { return item_from<Opening>(Held{json}); }
Material material_from_json(const Json& json) { return item_from<Material>(Held{json}); }
Cut cut_from_json(const Json& json) { return item_from<Cut>(Held{json}); }

Json shape_to_json(const Shape& shape) {
  const auto points = [](const std::vector<Point>& list) {
    Json out = Json::array();
    for (const auto& one : list) out.push_back(point_to_json(one));
    return out;
  };
  if (const auto* point = std::get_if<PointShape>(&shape)) return {{"point", point_to_json(point->at)}};
  if (const auto* line = std::get_if<LineShape>(&shape))
    return {{"line", points(line->points)}, {"width_m", line->width_m}};
  if (const auto* polygon = std::get_if<PolygonShape>(&shape)) return {{"outline", points(polygon->outline)}};
  if (const auto* span = std::get_if<SpanShape>(&shape)) {
    return {{"left_m", span->left_m}, {"right_m", span->right_m}, {"low_m", span->low_m}, {"high_m", span->high_m}};
  }
  return nullptr;
}

}  // namespace lathbook::book
