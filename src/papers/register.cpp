#include <fmt/format.h>

#include <algorithm>

#include "book/money.h"
#include "book/words.h"
#include "papers/papers.h"
#include "papers/plan_drawing.h"

namespace lathbook::papers {
namespace {

constexpr double kMostPlanMm = 92;

std::string years_text(const check::House& house, const book::Material& material) {
  const auto years = house.years_of(material);
  return years.from == years.to ? fmt::format("{}", years.from) : fmt::format("{} to {}", years.from, years.to);
}

std::string state_text(const Source& source, std::size_t index) {
  const auto& material = source.house.book().materials[index];
  std::string text = fmt::format("damage {}", book::word(source.house.damage_of(material)));
  if (material.surface) text += fmt::format(", surface {}", book::word(*material.surface));
  if (const auto& one = source.assessed[index]) {
    text += fmt::format("; material score {} ({})", one->score.total, assess::word(one->score.band));
  }
  return text;
}

std::string decision_text(const Source& source, std::size_t index) {
  const auto& book = source.house.book();
  const auto& material = book.materials[index];
  std::string text;
  for (const auto& action : book.actions) {
    if (action.material != material.id) continue;
    if (!text.empty()) text += "; ";
    text += book::word(action.kind);
    if (action.done_on) {
      text += fmt::format(", done {}", action.done_on->text());
    } else if (action.due_on) {
      text += fmt::format(", due {}", action.due_on->text());
    }
  }
  const auto& assessed = source.assessed[index];
  if (text.empty() && assessed) text = fmt::format("none yet; suggested: {}", book::word(assessed->advice.kind));
  if (assessed) text += fmt::format(". Look again by {}", assessed->next_look.on.text());
  return text;
}

std::string photo_text(const book::Book& book, const book::Material& material) {
  std::string text;
  for (const auto& document : book.documents) {
    const bool shows = document.material == material.id ||
                       std::find(material.photos.begin(), material.photos.end(), document.id) != material.photos.end();
    if (!shows) continue;
    if (!text.empty()) text += ", ";
    text += document.id.text;
  }
  for (const auto& id : material.photos) {
    if (book::find(book.documents, id) == nullptr)
      text += fmt::format("{}{} (no longer in the book)", text.empty() ? "" : ", ", id.text);
  }
  return text;
}

constexpr std::string_view kNothingWritten =
    "Nothing that is there now is written down. That does not mean that nothing is there: it may not have been looked "
    "at.";

struct RoomPhotos {
  std::vector<Shown> shown;
  std::vector<std::string> not_shown;  ///< which, and why, a sentence each
  [[nodiscard]] bool none() const { return shown.empty() && not_shown.empty(); }
};

/// Photos that belong to a room: of it, of a material in it, or of a look at one.
RoomPhotos photos_of(const Source& source, const book::RoomId& room) {
  const auto& book = source.house.book();
  std::vector<book::DocumentId> ids;
  const auto add = [&](const book::DocumentId& id) {
    if (!id.text.empty() && std::find(ids.begin(), ids.end(), id) == ids.end()) ids.push_back(id);
  };
  for (const auto& material : book.materials) {
    if (material.place.room != room) continue;
    for (const auto& id : material.photos) add(id);
    for (const auto& document : book.documents) {
      if (document.material == material.id) add(document.id);
    }
    for (const auto& look : book.inspections) {
      if (look.material == material.id) add(look.photo);
    }
  }
  for (const auto& document : book.documents) {
    if (document.room == room) add(document.id);
  }
  RoomPhotos found;
  auto& [shown, not_shown] = found;
  for (const auto& id : ids) {
    const auto* document = book::find(book.documents, id);
    if (document == nullptr) {
      not_shown.push_back(fmt::format("{} is no longer in the book.", id.text));
      continue;
    }
    if (!document->media_type.starts_with("image/")) continue;
    std::string caption = fmt::format("{} {}", id.text, document->title);
    if (!document->material.text.empty()) caption += fmt::format(" ({})", document->material.text);
    if (document->dated) caption += fmt::format(", {}", document->dated->text());
    const auto photo = source.photos.find(id.text);
    if (photo == source.photos.end()) {
      not_shown.push_back(fmt::format("{}: its picture is missing.", caption));
    } else if (!photo->second.ok()) {
      not_shown.push_back(fmt::format("{}: {}.", caption, photo->second.faults().front().problem));
    } else {
      shown.push_back({*photo->second, std::move(caption)});
    }
  }
  return found;
}

void add_photos(Sheet& sheet, const RoomPhotos& photos) {
  if (photos.none()) return;
  sheet.subheading("Photos");
  sheet.photos(photos.shown);
  for (const auto& text : photos.not_shown) sheet.paragraph(text, Look::kSmall);
}

}  // namespace

void add_plans(Sheet& sheet, const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  sheet.heading("Plans");
  sheet.figure(
      kLegendHeightMm, [](Canvas& canvas) { draw_legend(canvas, false); }, "");
  for (const auto& storey : book.storeys) {
    for (const bool overhead : {false, true}) {
      PlanView view{storey.id, {}, {}, {}, overhead};
      for (std::size_t i = 0; i < book.materials.size(); ++i) {
        const auto& material = book.materials[i];
        const auto* room = book::find(book.rooms, material.place.room);
        if (material.removed_on || room == nullptr || room->storey != storey.id ||
            is_overhead(material.place.face) != overhead)
          continue;
        view.materials.push_back(i);
      }
      const bool has_rooms = std::any_of(book.rooms.begin(), book.rooms.end(),
                                         [&](const book::Room& room) { return room.storey == storey.id; });
      if (!has_rooms || (overhead && view.materials.empty())) continue;
      const double height = plan_height_mm(house, view, width_mm(source.size) - 34, kMostPlanMm);
      const auto caption = fmt::format(
          "{}: {}", storey.name,
          overhead ? "ceilings and roof slopes, seen from above" : "floors, walls and what lies inside them");
      sheet.figure(
          height, [&house, view](Canvas& canvas) { draw_plan(canvas, house, view); }, caption);
    }
  }
}

void add_register(Sheet& sheet, const Source& source) {
  const auto& house = source.house;
  const auto& book = house.book();
  std::size_t listed = 0;
  const auto entry = [&](std::size_t i) {
    const auto& material = book.materials[i];
    const auto& known = house.known(i);
    std::string what = fmt::format("{}\n{}\n{}", material.name, known.family->name, face_text(material.place.face));
    if (const auto extent = extent_text(material); !extent.empty()) what += ", " + extent;
    what += fmt::format("\nput in {}", years_text(house, material));
    std::string standing = first_upper(standing_text(house, i));
    if (!known.belief.found_fibres.empty()) standing += fmt::format(": {}", fibres_text(known.belief.found_fibres));
    standing += fmt::format("\nTests: {}", tested_text(book, material.id));
    std::string state = first_upper(state_text(source, i));
    const auto photos = source.without.contains(Section::kPhotos) ? "" : photo_text(book, material);
    if (!photos.empty()) state += "\nPhotos: " + photos;
    if (!material.notes.empty()) state += "\n" + material.notes;
    ++listed;
    return Cells{material.id.text, what, standing, state, first_upper(decision_text(source, i))};
  };
  const std::vector<Column> columns{
      {"", 0.42}, {"What and where on it", 2}, {"Standing and tests", 2}, {"State", 2}, {"Decision", 1.5}};
  std::string nothing;
  for (const auto& storey : book.storeys) {
    for (const auto& room : book.rooms) {
      if (room.storey != storey.id) continue;
      std::vector<Cells> rows;
      for (std::size_t i = 0; i < book.materials.size(); ++i) {
        if (book.materials[i].place.room == room.id && !book.materials[i].removed_on) rows.push_back(entry(i));
      }
      const auto name = fmt::format("{} ({}, {})", room.name, room.id.text, storey.name);
      const auto photos = source.without.contains(Section::kPhotos) ? RoomPhotos{} : photos_of(source, room.id);
      if (rows.empty() && photos.none()) {
        nothing += (nothing.empty() ? "" : "; ") + name;
        continue;
      }
      sheet.heading(name);
      if (rows.empty()) {
        sheet.paragraph(std::string(kNothingWritten));
      } else {
        sheet.table(columns, rows);
      }
      add_photos(sheet, photos);
    }
  }
  std::vector<Cells> gone;
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    if (book.materials[i].removed_on) gone.push_back(entry(i));
  }
  if (!gone.empty()) {
    sheet.heading("Gone from the house");
    sheet.table(columns, gone);
  }
  const auto counted = fmt::format("{} materials listed.", listed);
  if (nothing.empty()) {
    sheet.paragraph(counted, Look::kSmall);
  } else {
    sheet.heading("Rooms with nothing listed");
    sheet.paragraph(fmt::format("{}. {} {}", nothing, kNothingWritten, counted));
  }
}

Files register_by_room(const Source& source) {
  const auto& house = source.house;
  auto sheet = sheet_for(source, "Register by room");
  sheet.title(fmt::format("Register: {}", house.book().about.title));
  std::size_t counted = 0;
  for (std::size_t i = 0; i < house.book().materials.size(); ++i) counted += counts_as_asbestos(house, i) ? 1U : 0U;
  sheet.paragraph(fmt::format(
      "What is known of the materials in this house on {}. {} of the {} written down count as asbestos: found by a "
      "laboratory, or suspect and not released by a result or by proof of a later date.",
      source.today.text(), counted, house.book().materials.size()));
  if (source.without.contains(Section::kPhotos)) sheet.paragraph("Photos are left out of this paper.", Look::kStrong);
  for (const auto& conflict : house.conflicts())
    sheet.paragraph(fmt::format("Results that disagree: {}", conflict.text), Look::kStrong);
  add_plans(sheet, source);
  add_register(sheet, source);
  auto pdf = sheet.pdf();
  if (!pdf.ok()) return pdf.faults();
  return std::vector<File>{{"register.pdf", std::move(*pdf)}};
}

}  // namespace lathbook::papers
