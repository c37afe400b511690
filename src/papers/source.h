// What papers are made from: the house with what follows from it, and what front doors worked out of each material.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "assess/advice.h"
#include "assess/score.h"
#include "catalogue/waste_data.h"
#include "check/house.h"
#include "event/in_book.h"
#include "papers/sheet.h"
#include "reason/date.h"

namespace lathbook::papers {

/// Of one material; empty where plain work on it is released or it has gone.
struct Assessed {
  assess::MaterialScore score;
  assess::Recommendation advice;
  assess::NextLook next_look;
};

/// An event that was not imagined, and what it came to: or, when that cannot be worked out, what is missing.
struct Happened {
  std::size_t event = 0;  ///< position in Book::events
  reason::Result<event::InBook> came_to;
};

/// Sections a handover may leave out.
enum class Section { kHealth, kCosts, kPeople, kPhotos };

/// A photo of the book as it goes onto paper, or why it cannot.
using Photo = reason::Result<std::shared_ptr<const photo::Picture>>;

struct Source {
  const check::House& house;
  const catalogue::WasteData& waste;
  std::vector<std::optional<Assessed>> assessed;  ///< as Book::materials
  reason::Date today;
  std::int64_t revision = 0;
  Size size = Size::kA4;
  std::set<Section> without;
  std::map<std::string, Photo> photos;  ///< by document; those asked for and not here are told to be missing
  std::vector<Happened> happened;       ///< in the order of Book::events
};

/// The sheet every paper starts from, with the cautions that hold on all of them and `more` behind them.
[[nodiscard]] Sheet sheet_for(const Source& source, std::string title, std::string_view more = {},
                              double text_pt = 9.2);

// ---- words
// ------------------------------------------------------------------------------------------------------------

/// "presumed", "removed 2021-05-01", "no suspect": what may be claimed now.
[[nodiscard]] std::string standing_text(const check::House& house, std::size_t material);
/// "wall 2", "ceiling", "inside".
[[nodiscard]] std::string face_text(const book::Face& face);
/// "ceiling of the Hall".
[[nodiscard]] std::string place_text(const book::Book& book, const book::Place& place);
[[nodiscard]] std::string room_name(const book::Book& book, const book::RoomId& room);
/// "4.2 m²", "3 m", "2"; empty when not written down.
[[nodiscard]] std::string extent_text(const book::Material& material);
/// "chrysotile, amosite".
[[nodiscard]] std::string fibres_text(const std::vector<book::Fibre>& fibres);
/// What the laboratory said of a material's own samples, a sentence each; "not tested" when nothing was.
[[nodiscard]] std::string tested_text(const book::Book& book, const book::MaterialId& material);
/// A figure that is only roughly known: two digits, never rounded to nothing: "0.0031", "12", "1,600", "7.6 × 10⁻⁶".
[[nodiscard]] std::string rough(double value);
[[nodiscard]] std::string first_upper(std::string text);
/// Still in the house, suspect, and not released: what has to be left alone.
[[nodiscard]] bool counts_as_asbestos(const check::House& house, std::size_t material);

}  // namespace lathbook::papers
