#include "cli/cited.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "catalogue/catalogue.h"

namespace lathbook::cli {
namespace {

std::string source_text(const std::string& id) {
  const auto* source = catalogue::shipped().find_source(id);
  if (source == nullptr) return id;
  return source->year ? fmt::format("{}, {}", source->title, *source->year) : source->title;
}

}  // namespace

void cited(Page& page, const reason::Reasons& reasons) {
  if (reasons.empty()) return;
  page.heading("Why");
  std::vector<std::string> sources;
  std::set<std::string> said;
  for (const auto& one : reasons) {
    if (!said.insert(one.text).second) continue;
    const auto at = std::find(sources.begin(), sources.end(), one.source);
    const auto number = at - sources.begin() + 1;
    if (at == sources.end()) sources.push_back(one.source);
    page.item("–", fmt::format("{} [{}]", one.text, number));
  }
  page.blank();
  for (std::size_t i = 0; i < sources.size(); ++i)
    page.item(fmt::format("[{}]", i + 1), source_text(sources[i]), 2, Style::kQuiet);
}

}  // namespace lathbook::cli
