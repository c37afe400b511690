#include "papers/source.h"

#include <fmt/format.h>

#include <array>
#include <cctype>
#include <cmath>
#include <string_view>

#include "book/words.h"

namespace lathbook::papers {

Sheet sheet_for(const Source& source, std::string title, std::string_view more, double text_pt) {
  std::string cautions =
      "Local codes and licensed practice come first. What is untested and suspect counts as asbestos; what is not "
      "listed has not been looked at, not been found clear.";
  if (!more.empty()) cautions += fmt::format(" {}", more);
  return Sheet({source.size, std::move(title), source.house.book().about.title, source.today, source.revision,
                std::move(cautions), text_pt, source.house.knowledge().rules.words.date});
}

std::string standing_text(const check::House& house, std::size_t material) {
  const auto& one = house.book().materials[material];
  const auto& known = house.known(material);
  if (one.removed_on) return fmt::format("removed {}", one.removed_on->text());
  if (!known.family->suspect) return "no suspect";
  return std::string(book::word(known.belief.standing));
}

std::string face_text(const book::Face& face) {
  auto text = face.text();
  for (auto& letter : text) {
    if (letter == '-') letter = ' ';
  }
  return text;
}

std::string room_name(const book::Book& book, const book::RoomId& room) {
  const auto* found = book::find(book.rooms, room);
  return found == nullptr ? room.text : found->name;
}

std::string place_text(const book::Book& book, const book::Place& place) {
  return fmt::format("{}, {}", room_name(book, place.room), face_text(place.face));
}

std::string extent_text(const book::Material& material) {
  if (!material.extent) return "";
  switch (material.extent->unit) {
    case book::Unit::kM2:
      return fmt::format("{:g} m²", material.extent->amount);
    case book::Unit::kM:
      return fmt::format("{:g} m", material.extent->amount);
    case book::Unit::kNumber:
      return fmt::format("{:g} no.", material.extent->amount);
  }
  return "";
}

std::string fibres_text(const std::vector<book::Fibre>& fibres) {
  std::string text;
  for (const auto fibre : fibres) {
    if (!text.empty()) text += ", ";
    text += book::word(fibre);
  }
  return text;
}

std::string tested_text(const book::Book& book, const book::MaterialId& material) {
  std::string text;
  for (const auto& sample : book.samples) {
    if (sample.material != material) continue;
    if (!text.empty()) text += "; ";
    const book::LabResult* result = nullptr;
    for (const auto& one : book.results) {
      if (one.sample == sample.id) result = &one;
    }
    text += sample.id.text + ": ";
    if (result == nullptr) {
      text += sample.taken_on ? "taken, no result yet" : "planned, not taken";
      continue;
    }
    text += result->found ? (result->fibres.empty() ? "asbestos found" : fibres_text(result->fibres) + " found")
                          : "none detected";
    if (!result->amount.empty()) text += fmt::format(" ({})", result->amount);
    if (result->reported_on) text += ", " + result->reported_on->text();
  }
  return text.empty() ? "not tested" : text;
}

std::string rough(double value) {
  if (!(value > 0)) return "0";
  int power = static_cast<int>(std::floor(std::log10(value)));
  double digits = std::round(value / std::pow(10.0, power - 1));
  if (digits >= 100) {
    digits /= 10;
    ++power;
  }
  if (power < -4 || power > 5) {
    static constexpr std::array<std::string_view, 10> kRaised = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    std::string exponent = power < 0 ? "⁻" : "";
    for (const char digit : std::to_string(std::abs(power))) exponent += kRaised[static_cast<std::size_t>(digit - '0')];
    return fmt::format("{:.1f} × 10{}", digits / 10, exponent);
  }
  if (power < 1) return fmt::format("{:.{}f}", digits * std::pow(10.0, power - 1), 1 - power);
  auto text = fmt::format("{:.0f}", digits * std::pow(10.0, power - 1));
  if (text.size() > 3) text.insert(text.size() - 3, ",");
  return text;
}

std::string first_upper(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

bool counts_as_asbestos(const check::House& house, std::size_t material) {
  return !house.book().materials[material].removed_on && !house.known(material).released();
}

}  // namespace lathbook::papers
