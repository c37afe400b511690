// An event of a book worked out whole: what was in the air, what each person breathed, and what every model makes of
// it.
#pragma once

#include <string>
#include <vector>

#include "catalogue/risk_data.h"
#include "dose/risk.h"
#include "event/from_book.h"
#include "event/uncertain.h"

namespace lathbook::event {

/// One model's deaths per million for the 5th, 50th and 95th percentile of one person's dose.
struct ModelRisk {
  dose::Model model = dose::Model::kEpa1986;
  dose::Risk low;
  dose::Risk middle;
  dose::Risk high;
};

struct PersonRisk {
  int age = 0;             ///< at the event
  bool age_known = false;  ///< else taken as 30, the age most of the models are stated for
  std::vector<ModelRisk> models;
  double low_per_million = 0;   ///< over all models
  double high_per_million = 0;  ///< over all models
};

struct InBook {
  FromBook taken;
  Answer answer;
  std::vector<PersonRisk> risks;  ///< as Answer::people
};

struct Tables {
  const catalogue::AirData& air;
  const catalogue::RiskData& risk;
  const catalogue::Catalogue& catalogue;
};

/// The dose counts as one brief spell at the person's age, alive until then; tremolite and the rarer amphiboles, which
/// have no slopes of their own, take amosite's. Faults: those of `from_book`, or a cancelled run.
[[nodiscard]] reason::Result<InBook> in_book(const book::Book& book, const book::Event& event, const Tables& tables,
                                             const Settings& settings);

/// A sentence about an unknown, with people's names in place of their ids.
[[nodiscard]] std::string with_names(std::string what, const book::Book& book);

}  // namespace lathbook::event
