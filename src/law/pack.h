// A country's rules about work on asbestos, as data: docs/formats/rule-pack.md describes the file; data/law/gb.json and
// data/law/au.json are two. Nothing in this module knows a country's law; another country is another file.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.h"
#include "catalogue/air_limit.h"
#include "catalogue/catalogue.h"
#include "catalogue/clearance_rules.h"
#include "reason/date.h"
#include "reason/date_words.h"
#include "reason/fault.h"

namespace lathbook::law {

/// How much is asked of those who do a piece of work, mildest first: nothing; trained work; work told to an authority;
/// work for the holder of a licence. A pack says what its country calls each (`ClassWords`) and need not use all four.
enum class Outcome { kOutside, kNonLicensed, kNotifiable, kLicensed };

/// Whether the person named may do it, mildest first.
enum class May { kYes, kWithPrecautions, kNo };

[[nodiscard]] std::string_view word(
    Outcome outcome);                          ///< "outside", "non-licensed", "notifiable non-licensed", "licensed"
[[nodiscard]] std::string_view word(May may);  ///< "yes", "with precautions", "no"

/// A limit of working time, of the area taken out, or of both. Times include setting up and clearing up. Exactly at the
/// limit is within it: minutes and areas are compared as given, so 60 is within 60 and 60.01 is beyond. An area not
/// known is beyond. What counts together is what is done within `window_days`; absent: all that is still to be done.
struct Limit {
  std::string id;
  std::optional<double> minutes_longest_person;
  std::optional<double> minutes_all_people;
  std::optional<double> area_m2;
  std::optional<int> window_days;
  bool all_kinds = false;  ///< minutes count together whatever the material; else each legal kind by itself
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
  std::vector<std::string> regions;  ///< the house stands in one of these
  std::string within;                ///< id of a limit of which nothing is exceeded
  std::string beyond;                ///< id of a limit of which at least one figure is exceeded
  std::vector<Outcome> classes;      ///< permissions only: what the rules decided
};

/// A state, territory or nation whose rules differ in some part. `note` says what differs, or
/// that its own rules were not read, so that the strictest are taken.
struct Region {
  std::string id;
  std::string name;
  std::string note;
  catalogue::Backing backing;
};

/// What one country calls a class of work and those who do it.
struct ClassWords {
  std::string name;     ///< "licensed"
  std::string done_by;  ///< a sentence: "A licensed remover only."
  std::string hands;    ///< within one: "a licensed remover"
};

struct Rule {
  std::string id;
  Condition when;
  Outcome outcome = Outcome::kLicensed;
  std::string called;  ///< what this work is called, where that is more than its class's name; may be empty
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

/// How a room is cleared after a removal that `when` fits.
struct Clearance {
  std::string id;
  Condition when;
  catalogue::ClearanceRules rules;
  catalogue::Backing backing;
};

/// The words for people and papers, as they stand in a sentence.
struct PackWords {
  std::string remover;      ///< "a licensed remover"
  std::string trained;      ///< "people trained and equipped for it"
  std::string sampler;      ///< "a surveyor": who takes the samples that a householder may not
  std::string authority;    ///< "the health and safety regulator": who is told of work
  std::string waste_paper;  ///< "the consignment note": what goes with waste that is fetched
  std::string region;       ///< "nation", "state or territory"
  std::string mask;         ///< the class of disposable mask that asbestos asks for: "FFP3"
  reason::DateOrder date = reason::DateOrder::kDayMonthYear;  ///< how papers write a day
};

/// The warning label. `letter_a` = the label of REACH (EC) 1907/2006, Annex XVII, appendix 7; else lines of text.
struct WarningLabel {
  bool letter_a = false;
  std::string heading;
  std::vector<std::string> lines;
  std::string contains;              ///< the line in `lines` that crocidolite changes; may be empty
  std::string contains_crocidolite;  ///< and what it changes to
  catalogue::Backing backing;
};

/// What is believed before any test, where a country has no data of its own: another pack's years, the knots from
/// `from_year` on put `later_by` years later, so that use ends with this country's ban.
struct CarriedYears {
  std::string from_rules;
  int from_year = 0;
  int later_by = 0;
  std::string why;  ///< said in place of the family's own history
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
  reason::Date as_of{std::chrono::sys_days()};  ///< the day by which its sources were read, in copies that may be older
  std::string currency;                         ///< ISO 4217
  PackWords words;
  std::array<ClassWords, 4> class_words;  ///< by Outcome
  std::vector<Region> regions;            ///< empty: the same everywhere
  bool asks_region = false;               ///< a condition of a rule, permission or precaution names regions
  std::vector<Limit> limits;
  std::vector<Rule> rules;                           ///< in order: the first that matches decides
  std::vector<Permission> permissions;               ///< likewise
  std::array<std::vector<Duty>, 4> duties_by_class;  ///< by Outcome
  std::vector<Precaution> precautions;               ///< in the order one does them
  std::vector<Ban> bans;
  std::vector<catalogue::AirLimit> air_limits;  ///< shortest first
  std::vector<Clearance> clearance;  ///< in order: the first that matches holds; none = no certificate is asked
  WarningLabel label;
  std::optional<CarriedYears> years;  ///< absent: data/evidence.json has years of its own for this pack
  std::vector<Statement> cautions;    ///< said with every answer about a job
  std::vector<Statement> exposure;    ///< advice of this country's authorities for an exposure record
  std::vector<Statement> emergency;   ///< in the order one does them
  std::vector<Statement> facts;       ///< what else people ask of this country's law

  [[nodiscard]] const Limit* find_limit(std::string_view wanted) const;
  [[nodiscard]] const Region* find_region(std::string_view wanted) const;
  [[nodiscard]] const std::vector<Duty>& duties(Outcome outcome) const;
  [[nodiscard]] const std::string& name_of(Outcome outcome) const;  ///< what this country calls the class
  /// The longest window over which a limit of minutes counts, in days (0 where none does); empty = all that is to be
  /// done.
  [[nodiscard]] std::optional<int> widest_minutes_window() const;
  /// Some limit of minutes counts every kind of material together.
  [[nodiscard]] bool minutes_of_all_kinds() const;
  [[nodiscard]] bool limits_area() const;
  /// The day after which a material counts as later than the ban: the final ban's date.
  [[nodiscard]] reason::Date final_ban() const;
};

/// Reads a pack. Faults: text that is not JSON, a missing or unknown field (a misspelt condition would match
/// everything), a word, family, task, limit, region or source that is not there, an id used twice, not exactly one
/// final ban, a class that a rule gives without its words and duties, a limit that limits nothing.
[[nodiscard]] reason::Result<RulePack> parse_pack(std::string_view text, const catalogue::Catalogue& catalogue,
                                                  std::string_view name = "");

/// The pack inside the program with this id ("gb"), or nullptr.
[[nodiscard]] const RulePack* find_pack(std::string_view id);

/// Ids of the packs inside the program, in order.
[[nodiscard]] std::vector<std::string> pack_ids();

}  // namespace lathbook::law
