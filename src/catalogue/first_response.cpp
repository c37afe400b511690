#include "catalogue/first_response.h"

#include <algorithm>
#include <stdexcept>

#include "assets/assets.h"
#include "catalogue/reader.h"

namespace lathbook::catalogue {

reason::Result<std::vector<ResponseStep>> parse_first_response(std::string_view text) {
  const auto document = schema::Document::read(text, "first_response.json");
  if (!document.ok()) return document.faults();
  reason::Faults faults;
  auto steps = Reader(*document, "", faults).each("steps", [](const Reader& in) {
    ResponseStep step{in.text("id"), in.text("text"), in.words_of<Binding>("bindings"), {}, in.backing()};
    for (const auto& word : in.texts("amounts")) {
      if (word != "small" && word != "large") in.add("amounts", "is no amount", "small or large");
      step.amounts.push_back(word == "large" ? Amount::kLarge : Amount::kSmall);
    }
    return step;
  });
  if (!faults.empty()) return faults;
  return steps;
}

const std::vector<ResponseStep>& shipped_first_response() {
  static const std::vector<ResponseStep> kSteps = [] {
    auto parsed = parse_first_response(assets::get("data/first_response.json"));
    if (!parsed.ok()) throw std::logic_error("data/first_response.json: " + parsed.faults().front().text());
    return std::move(*parsed);
  }();
  return kSteps;
}

std::vector<ResponseStep> first_response(const std::vector<ResponseStep>& steps, const Family* family, Amount amount) {
  const Binding binding = family == nullptr ? Binding::kFriable : family->binding;
  std::vector<ResponseStep> out;
  for (const auto& step : steps) {
    if (std::find(step.bindings.begin(), step.bindings.end(), binding) == step.bindings.end()) continue;
    if (std::find(step.amounts.begin(), step.amounts.end(), amount) == step.amounts.end()) continue;
    out.push_back(step);
  }
  return out;
}

}  // namespace lathbook::catalogue
