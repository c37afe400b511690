// A country's rule pack from a stranger.
#include "catalogue/catalogue.h"
#include "law/classify.h"
#include "law/pack.h"
#include "must.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  const auto pack = law::parse_pack(fuzz::text_of(data, size), catalogue::shipped());
  if (pack.ok()) return 0;
  for (const auto& fault : pack.faults()) fuzz::must(!fault.text().empty(), "a fault says something");
  return 0;
}
