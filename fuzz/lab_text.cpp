// The text of a laboratory's report from anywhere: whatever the bytes, proposals that rest on lines of it, and no
// denial that a find on the next line would not take back.
#include <array>
#include <cstdint>
#include <string>

#include "laboratory/reading.h"
#include "must.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lathbook;
  using laboratory::Said;
  if (size > 20000) return 0;
  const std::array<laboratory::SampleNames, 5> samples = {
      {{"S1", "M2-1", ""}, {"S2", "M2-2", "LX/204"}, {"S10", "S10 hall tile", ""}, {"S11", "3", ""}, {"S12", "", ""}}};
  const auto text = fuzz::text_of(data, size);
  const auto reading = laboratory::read(text, samples);
  fuzz::must(reading.proposals.size() + reading.not_named.size() == samples.size(), "every sample is told of once");
  for (const auto& one : reading.proposals) {
    fuzz::must((one.said == Said::kUnclear) == !one.doubts.empty(), "what is unclear says why, and nothing else does");
    fuzz::must(!one.lines.empty(), "a proposal shows its lines");
    const bool found = one.said == Said::kDetected || one.said == Said::kTrace;
    fuzz::must(found || one.fibres.empty(), "kinds are named of finds alone");
    if (one.said != Said::kNoneDetected) continue;
    // The reader knows it by a name that tells it; another line that names a find of it ends the denial.
    for (const char* find : {"   Amosite\n", ": asbestos detected\n", "   Hall   Trace of chrysotile\n"}) {
      const auto more = std::string(text) + "\n\n" + one.named + find;
      for (const auto& again : laboratory::read(more, samples).proposals) {
        fuzz::must(again.sample != one.sample || again.said != Said::kNoneDetected, "a find is not read as none");
      }
    }
  }
  return 0;
}
