// A country's rules about work on asbestos, as data: docs/formats/rule-pack.md describes the file, data/law/gb.json is
// the first. Nothing in this module knows a country's law; a second country is a second file.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "catalogue/catalogue.h"
#include "reason/date.h"
#include "reason/fault.h"

namespace lathbook::law {

/// What the law calls a piece of work, mildest first.
enum class Outcome { kOutside, kNonLicensed, kNotifiable, kLicensed };

/// Whether the person named may do it, mildest first.
enum class May { kYes, kWithPrecautions, kNo };

[[nodiscard]] std::string_view word(
    Outcome outcome);                          ///< "outside", "non-licensed", "notifiable non-licensed", "licensed"
[[nodiscard]] std::string_view word(May may);  ///< "yes", "with precautions", "no"

/// A limit of working time over some days. Times include setting up and clearing up. Exactly at the limit is within it:
/// minutes are compared as given, so 60 is within 60 and 60.01 is beyond.
struct Limit {
  std::string id;
  double minutes_longest_person = 0;
  double minutes_all_people = 0;
  int window_days = 7;
  std::string text;
  catalogue::Backing backing;
};

/// Every field that is there must hold; an empty list or absent field asks nothing.
struct Condition {
  std::vector<std::string> families;
  std::vector<catalogue::LegalKind> legal_kinds;
  std::vector<catalogue::Binding> bindings;
  std::vector<std::string> tasks;
  std::vector<catalogue::TaskKind> task_kinds;
  std::optional<int> disturbance_at_least;
  std::optional<int> disturbance_at_most;
  std::optional<book::Damage> damage_at_least;
  std::optional<book::Damage> damage_at_most;
  std::optional<bool> kept_whole;
  std::vector<book::Fibre> any_fibre;  ///< one of these is in it, or its types are not known
  std::vector<book::Who> by;
  std::optional<bool> suspect;
  std::optional<bool> released;
  std::string within;            ///< id of a limit neither of whose times is exceeded
  std::string beyond;            ///< id of a limit of which at least one time is exceeded
  std::vector<Outcome> classes;  ///< permissions only: what the rules decided
};

struct Rule {
  std::string id;
  Condition when;
  Outcome outcome = Outcome::kLicensed;
  std::string reason;
  catalogue::Backing backing;
};

struct Permission {
  std::string id;
  Condition when;
  May may = May::kNo;
  std::string reason;
  catalogue::Backing backing;
};

struct Duty {
  std::string id;
  std::string text;
  std::optional<int> days_before;            ///< notice: days before the start; 0 = any time before
  std::string form;                          ///< notice: the form's name
  std::optional<int> every_years;            ///< medicals
  std::optional<int> keep_years;             ///< records
  std::optional<double> minimum_protection;  ///< masks: least assigned protection factor
  catalogue::Backing backing;
};

struct Precaution {
  std::string id;
  std::string text;
  Condition when;
  catalogue::Backing backing;
};

struct Ban {
  reason::Date date;
  std::string what;
  std::vector<book::Fibre> fibres;
  bool final = false;  ///< after this date nothing new held asbestos
  catalogue::Backing backing;
};

struct WasteCode {
  std::string code;
  std::string text;
  std::vector<catalogue::LegalKind> legal_kinds;
  catalogue::Backing backing;
};

struct Statement {
  std::string id;
  std::string text;
  catalogue::Backing backing;
};

struct RulePack {
  std::string id;
  std::string name;
  std::string note;
  std::vector<Limit> limits;
  std::vector<Rule> rules;                           ///< in order: the first that matches decides
  std::vector<Permission> permissions;               ///< likewise
  std::array<std::vector<Duty>, 4> duties_by_class;  ///< by Outcome
  std::vector<Precaution> precautions;               ///< in the order one does them
  std::vector<Ban> bans;
  std::vector<WasteCode> waste;
  std::vector<Statement> emergency;  ///< in the order one does them
  std::vector<Statement> facts;      ///< what else people ask of this country's law

  [[nodiscard]] const Limit* find_limit(std::string_view wanted) const;
  [[nodiscard]] const std::vector<Duty>& duties(Outcome outcome) const;
  [[nodiscard]] const WasteCode* waste_code(catalogue::LegalKind kind) const;
  /// The day after which a material counts as later than the ban: the final ban's date.
  [[nodiscard]] reason::Date final_ban() const;
};

/// Reads a pack. Faults: text that is not JSON, a missing or unknown field (a misspelt condition would match
/// everything), a word, family, task, limit or source that is not there, an id used twice, not exactly one final ban.
[[nodiscard]] reason::Result<RulePack> parse_pack(std::string_view text, const catalogue::Catalogue& catalogue,
                                                  std::string_view name = "");

/// The pack inside the program with this id ("gb"), or nullptr.
[[nodiscard]] const RulePack* find_pack(std::string_view id);

/// Ids of the packs inside the program, in order.
[[nodiscard]] std::vector<std::string> pack_ids();

}  // namespace lathbook::law
