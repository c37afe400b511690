#include "http/forms.h"

#include <nlohmann/json.hpp>
#include <stdexcept>

#include "assets/assets.h"
#include "book/json.h"
#include "schema/schema.h"

namespace lathbook::http {
namespace {

using Json = nlohmann::json;

constexpr std::string_view kFolder = "src/http/schemas/";

/// The name of a question's form among the others. No name of a form holds a blank.
std::string name_of(std::string_view question, std::string_view side) {
  return std::string(question) + " " + std::string(side);
}

void add(Json& forms, const std::string& name, Json form) {
  if (!forms.emplace(name, std::move(form)).second) throw std::logic_error("two forms are called " + name);
}

/// The book's schema as one form among others.
void add_book(Json& forms) {
  auto whole = book::book_schema().document();
  for (auto& [name, form] : whole["$defs"].items()) add(forms, name, std::move(form));
  for (const char* key : {"$schema", "$defs", "x-kinds"}) whole.erase(key);
  add(forms, "book", std::move(whole));
}

const schema::Schema& forms() {
  static const schema::Schema kForms = [] {
    Json all = Json::object();
    add_book(all);
    for (const auto& asset : assets::all()) {
      if (!asset.name.starts_with(kFolder)) continue;
      auto file = schema::parse_json(asset.bytes, std::string(asset.name)).value();
      for (auto& [name, form] : file["$defs"].items()) add(all, name, std::move(form));
      for (auto& [question, sides] : file["questions"].items()) {
        for (auto& [side, form] : sides.items()) add(all, name_of(question, side), std::move(form));
      }
    }
    return schema::Schema(Json{{"$defs", std::move(all)}});
  }();
  return kForms;
}

reason::Faults check(std::string_view question, std::string_view side, const Json& value) {
  return forms().check_part("/$defs/" + name_of(question, side), value);
}

}  // namespace

reason::Result<Json> read_request(std::string_view question, const std::string& body) {
  auto json = schema::parse_json(body, "the request");
  if (!json.ok()) return json;
  if (auto faults = check(question, "request", *json); !faults.empty()) return faults;
  return json;
}

reason::Faults check_answer(std::string_view question, const Json& answer) { return check(question, "answer", answer); }

reason::Faults check_refusal(const Json& answer) { return forms().check_part("/$defs/refusal", answer); }

std::vector<std::string> questions_with_forms() {
  constexpr std::string_view kAnswer = " answer";
  std::vector<std::string> questions;
  for (const auto& [name, form] : forms().document()["$defs"].items()) {
    if (name.ends_with(kAnswer)) questions.push_back(name.substr(0, name.size() - kAnswer.size()));
  }
  return questions;
}

}  // namespace lathbook::http
