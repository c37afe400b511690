#include "catalogue/reader.h"

#include <algorithm>
#include <cmath>

#include "schema/schema.h"

namespace lathbook::catalogue {

using schema::Taped;

Reader::Reader(std::optional<Taped> object, const Reader* outer, std::string_view name,
               std::optional<std::size_t> index, reason::Faults& faults)
    : object_(object), outer_(outer), name_(name), index_(index), faults_(&faults) {
  if (object_ && !object_->is_object()) add("", "is not an object", "an object");
}

double Reader::number(std::string_view key) const {
  const auto value = get(key);
  if (!value) return 0;
  if (value->is_number()) return value->number();
  add(key, "is not a number", "a number");
  return 0;
}

int Reader::whole(std::string_view key) const {
  const auto value = get(key);
  if (!value) return 0;
  const double number = value->is_number() ? value->number() : NAN;
  if (std::floor(number) == number && std::abs(number) < 1e9) return static_cast<int>(number);
  add(key, "is not a whole number", "a whole number");
  return 0;
}

bool Reader::flag(std::string_view key) const {
  const auto value = get(key);
  if (!value) return false;
  if (value->is_boolean()) return value->boolean();
  add(key, "is not true or false", "true or false");
  return false;
}

std::vector<std::string> Reader::texts(std::string_view key) const {
  std::vector<std::string> out;
  const auto all = list(key);
  if (!all) return out;
  out.reserve(all->size());
  all->items([&](Taped one) {
    if (one.is_string()) {
      out.emplace_back(one.text());
    } else {
      add(key, "holds something that is not text", "a list of texts");
    }
    return true;
  });
  return out;
}

std::vector<double> Reader::numbers(std::string_view key) const {
  std::vector<double> out;
  const auto all = list(key);
  if (!all) return out;
  out.reserve(all->size());
  const bool sound = all->items([&](Taped one) {
    if (one.is_number()) out.push_back(one.number());
    return one.is_number();
  });
  if (!sound || out.empty()) add(key, "is not a list of numbers", "at least one number");
  return out;
}

std::vector<std::vector<double>> Reader::table(std::string_view key, std::size_t columns) const {
  std::vector<std::vector<double>> out;
  const auto rows = list(key);
  if (!rows) return out;
  out.reserve(rows->size());
  const bool sound = rows->items([&](Taped row) {
    auto& numbers = out.emplace_back();
    return row.is_array() && row.size() == columns && row.items([&](Taped one) {
      if (one.is_number()) numbers.push_back(one.number());
      return one.is_number();
    });
  });
  if (sound) return out;
  add(key, "holds a row that is not so many numbers", std::to_string(columns) + " numbers to a row");
  return {};
}

std::vector<std::string_view> Reader::names() const {
  std::vector<std::string_view> out;
  if (!object_ || !object_->is_object()) return out;
  const simdjson::dom::object fields = object_->value.get_object().value_unsafe();
  for (const auto field : fields) out.push_back(field.key);
  return out;
}

void Reader::refuse_fields_but(std::initializer_list<std::string_view> known) const {
  for (const auto key : names()) {
    if (std::find(known.begin(), known.end(), key) == known.end()) add(key, "is a field that is not known here", "");
  }
}

void Reader::add(std::string_view key, std::string problem, std::string allowed) const {
  const auto value = key.empty() ? object_ : find(key);
  const auto json = value ? value->json() : std::nullopt;
  faults_->push_back({key.empty() ? where() : where() + "/" + std::string(key), json ? schema::shown(*json) : "",
                      std::move(problem), std::move(allowed)});
}

std::string Reader::where() const {
  std::string out = outer_ == nullptr ? std::string(name_) : outer_->where() + "/" + std::string(name_);
  if (index_) out += "/" + std::to_string(*index_);
  return out;
}

std::optional<Taped> Reader::find(std::string_view key) const {
  return object_ && object_->is_object() ? object_->find(key) : std::nullopt;
}

std::optional<Taped> Reader::get(std::string_view key) const {
  const auto value = find(key);
  const bool should_be_there = !object_ || object_->is_object();
  if (!value && should_be_there) add(key, "is missing", "");
  return value;
}

std::optional<Taped> Reader::list(std::string_view key) const {
  const auto value = get(key);
  if (!value || value->is_array()) return value;
  add(key, "is not a list", "a list");
  return std::nullopt;
}

std::optional<std::string_view> Reader::text_at(std::string_view key) const {
  const auto value = get(key);
  if (!value) return std::nullopt;
  if (value->is_string()) return value->text();
  add(key, "is not text", "text");
  return std::nullopt;
}

}  // namespace lathbook::catalogue
