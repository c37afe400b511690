// A book in the open form from a stranger.
#include <nlohmann/json.hpp>

#include "book/json.h"
#include "check/check.h"
#include "check/house.h"
#include "must.h"
#include "schema/schema.h"
#include "service/answers.h"
#include "service/open_book.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  const auto json = schema::parse_json(fuzz::text_of(data, size));
  if (!json.ok()) return 0;
  const auto book = book::book_from_json(*json);
  if (!book.ok()) {
    for (const auto& fault : book.faults()) fuzz::must(!fault.text().empty(), "a fault says something");
    return 0;
  }
  const auto form = book::to_json(*book);
  const auto again = book::book_from_json(form);
  fuzz::must(again.ok(), "what is written out can be read");
  fuzz::must(book::to_json(*again) == form, "and is the same");
  if (!service::faults_of(*book).empty()) return 0;
  const auto knowledge = service::knowledge_for(*book);
  if (!knowledge.ok()) return 0;
  const auto house = check::House::build(*book, *knowledge);
  fuzz::must(house.ok(), "a book without faults can be worked out");
  check::Checker checker(*house);
  fuzz::must(checker.all().size() == book->jobs.size(), "each job has an answer");
  static_cast<void>(service::overview_json(*house));
  return 0;
}
