#include "cli/open_house.h"

#include "service/answers.h"

namespace lathbook::cli {

reason::Result<OpenHouse> open_house(const Words& words) {
  auto path = find_book(words);
  if (!path.ok()) return path.faults();
  auto opened = service::OpenBook::open(*path, store::Mode::kReadOnly);
  if (!opened.ok()) return opened.faults();
  auto book = std::make_unique<service::OpenBook>(std::move(*opened));
  const auto knowledge = service::knowledge_for(book->book());
  if (!knowledge.ok()) return knowledge.faults();
  auto house = check::House::build(book->book(), *knowledge);
  if (!house.ok()) return house.faults();
  return OpenHouse{std::move(*path), std::move(book), std::move(*house)};
}

}  // namespace lathbook::cli
