// What a family of product is, when it was used, what a task does to it, what keeps dust down, what a mask is worth.
//
// The rows live in data/families.json, tasks.json, controls.json, respirators.json and sources.json (forms in
// data/schemas/). Every figure names its source and how sure it is. Checked against the guide's product list in
// tests/published/gb_families.csv. Nothing here reads a file: the texts are passed in.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "reason/fault.h"

namespace lathbook::catalogue {

/// How sure a figure is. Only `kSeen` was read in the document named (or a copy of it).
enum class Sure {
  kSeen,       ///< read in the document named
  kSecondary,  ///< read in another page that restates the document named
  kMemory,     ///< not read: from memory
  kJudgement,  ///< our own
  kPractice,   ///< common practice of the trade
};

/// Where a figure comes from: an id of data/sources.json.
struct Backing {
  std::string source;
  Sure sure = Sure::kJudgement;
};

/// A range `low <= high` of a measured property; the unit is in the name of the field that holds it.
struct Figure {
  double low = 0;
  double high = 0;
  Backing backing;
};

/// How firmly the product holds its fibres, mildest first.
enum class Binding { kFirmlyBound, kPartBound, kFriable };

/// How readily fibre comes off, mildest first. An ordinal: no figure hangs on it.
enum class Release { kNone, kVeryLow, kLow, kMedium, kHigh, kVeryHigh };

/// What the definitions of the Control of Asbestos Regulations 2012 (reg 2) make of it. `kUnboundOther` is paper, rope,
/// cloth, gaskets and the like; `kNone` is a family that is not suspect.
enum class LegalKind {
  kNone,
  kBondedOther,
  kCement,
  kTexturedCoating,
  kUnboundOther,
  kInsulatingBoard,
  kInsulation,
  kCoating,
};

/// Years of use in Great Britain: `first <= peak_from <= peak_to <= last <= old_stock_until`.
struct UseYears {
  int first = 0;
  int peak_from = 0;
  int peak_to = 0;
  int last = 0;             ///< last year of ordinary making or sale
  int old_stock_until = 0;  ///< last year in which left-over stock was still put in as a matter of course
  std::string note;
  Backing backing;
};

/// A fibre type in the product. `share` is the part of asbestos-holding pieces in which the type occurs (types occur
/// together, so shares may add to more than 1); contents are per cent by weight of the product. Shares are judgement.
struct FibreContent {
  book::Fibre type = book::Fibre::kChrysotile;
  double share = 0;
  double low_percent = 0;
  double high_percent = 0;
  std::optional<book::YearRange> years;  ///< the type's own years, when they are narrower than the family's
  std::string note;
  Backing backing;
};

/// A typical place: the kind of faces and the uses of rooms it is found in (free words, as in book::Room::use).
struct TypicalPlace {
  std::string where;
  std::vector<book::FaceKind> faces;
  std::vector<std::string> room_uses;
  Backing backing;
};

struct Look {
  std::string text;
  Backing backing;
};

/// Something that looks like the family, and how it may be told apart. Never releases anything.
struct MistakenFor {
  std::string thing;
  std::string tell;
  Backing backing;
};

struct ReleaseWhen {
  std::vector<std::string> tasks;
  Release release = Release::kNone;
};

struct Family {
  std::string id;
  std::string name;
  std::string description;
  std::vector<std::string> other_names;
  bool suspect = true;  ///< false: brick, timber, glass … which the rules do not touch
  LegalKind legal_kind = LegalKind::kNone;
  Binding binding = Binding::kFirmlyBound;
  Release release = Release::kNone;  ///< in place, for a task not listed in `release_when`
  std::vector<ReleaseWhen> release_when;
  Backing release_backing;
  int product_score = 0;  ///< 1 to 3 (material assessment); 0 when not suspect
  Backing product_score_backing;
  book::Surface default_surface = book::Surface::kComposite;
  std::optional<UseYears> use;  ///< always there when suspect
  std::vector<FibreContent> fibres;
  Figure density_kg_per_m3;
  Figure thickness_mm;
  std::vector<TypicalPlace> places;
  std::vector<Look> look;
  std::vector<MistakenFor> mistaken_for;

  /// How readily it releases fibre under a task.
  [[nodiscard]] Release release_by(std::string_view task) const;
};

/// What the law calls a task, whatever it is done to.
enum class TaskKind { kSampling, kEncapsulation, kCleaning, kMaintenance, kRemoval };

struct Task {
  std::string id;
  std::string name;  ///< a verb phrase: "drill holes"
  std::string what;
  int disturbance =
      0;  ///< 0 touched, 1 moved whole, 2 small hole or shallow cut, 3 cut through or broken, 4 ground to dust
  TaskKind kind = TaskKind::kMaintenance;
  bool keeps_whole = true;
  bool powered = false;
  std::string advice;
  Backing backing;
};

struct Control {
  std::string id;
  std::string name;
  std::string what;
  std::string advice;
  Backing backing;
};

/// Protection of real wearers as a lognormal.
struct WornProtection {
  double geometric_mean = 1;
  double geometric_sd = 1;
  std::string note;
  Backing backing;
};

struct Respirator {
  std::string id;
  std::string name;
  std::string what;
  double assigned_protection = 1;  ///< air outside over air inside, as guidance assigns it
  Backing assigned_backing;
  std::optional<WornProtection> worn;  ///< absent: nothing better than the assigned factor is known here
};

struct Source {
  std::string id;
  std::string title;
  std::string publisher;
  std::optional<int> year;
  std::string where;
  std::string kind;  ///< law, guidance, paper, report, data, practice, judgement, arithmetic, book
  std::string note;
  Sure sure = Sure::kJudgement;
};

struct Catalogue {
  std::vector<Family> families;
  std::vector<Task> tasks;
  std::vector<Control> controls;
  std::vector<Respirator> respirators;
  std::vector<Source> sources;

  /// The row with this id, or nullptr.
  [[nodiscard]] const Family* find_family(std::string_view id) const;
  [[nodiscard]] const Task* find_task(std::string_view id) const;
  [[nodiscard]] const Control* find_control(std::string_view id) const;
  [[nodiscard]] const Respirator* find_respirator(std::string_view id) const;
  [[nodiscard]] const Source* find_source(std::string_view id) const;
};

/// The five files as JSON text.
struct CatalogueTexts {
  std::string_view families;
  std::string_view tasks;
  std::string_view controls;
  std::string_view respirators;
  std::string_view sources;
};

/// Reads the five texts. Faults: a text that is not JSON or not of its form, an id used twice, a source or task that is
/// not there, years or ranges out of order. `where` starts with the file's name.
[[nodiscard]] reason::Result<Catalogue> parse_catalogue(const CatalogueTexts& texts);

/// The catalogue inside the program. Throws std::logic_error when the embedded files do not parse: a build that passed
/// its tests cannot meet it.
[[nodiscard]] const Catalogue& shipped();

/// The word of each enumeration, the same in data and pages.
[[nodiscard]] std::string_view word(Sure value);
[[nodiscard]] std::string_view word(Binding value);
[[nodiscard]] std::string_view word(Release value);
[[nodiscard]] std::string_view word(LegalKind value);
[[nodiscard]] std::string_view word(TaskKind value);

/// The value of a word, for E one of the enumerations above; empty when there is no such word.
template <class E>
[[nodiscard]] std::optional<E> from_word(std::string_view text);
template <>
[[nodiscard]] std::optional<Sure> from_word(std::string_view text);
template <>
[[nodiscard]] std::optional<Binding> from_word(std::string_view text);
template <>
[[nodiscard]] std::optional<Release> from_word(std::string_view text);
template <>
[[nodiscard]] std::optional<LegalKind> from_word(std::string_view text);
template <>
[[nodiscard]] std::optional<TaskKind> from_word(std::string_view text);

/// The family meant by `text`: an id, a name or another name people use, in any letter case; nullptr when none is.
[[nodiscard]] const Family* family_called(const Catalogue& catalogue, std::string_view text);

/// Up to `most` ids close to a word that is not an id, nearest first. Compared by edit distance with
/// ids, names and other names; a word far from everything has no suggestion.
[[nodiscard]] std::vector<std::string> near_families(const Catalogue& catalogue, std::string_view text,
                                                     std::size_t most = 3);
[[nodiscard]] std::vector<std::string> near_tasks(const Catalogue& catalogue, std::string_view text,
                                                  std::size_t most = 3);

/// The fault for a family or task id that is not in the catalogue, with the nearest ids as what is allowed.
[[nodiscard]] reason::Fault unknown_family(const Catalogue& catalogue, std::string_view where, std::string_view text);
[[nodiscard]] reason::Fault unknown_task(const Catalogue& catalogue, std::string_view where, std::string_view text);

}  // namespace lathbook::catalogue
