// Adding, changing and removing what a book holds.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "service/open_book.h"

namespace lathbook::service {

/// Fields to put into an item: as typed ("name=Front room") or in the open form; both may be given, typed ones win.
struct Fields {
  std::vector<std::string> typed;
  std::optional<Json> open_form;
};

/// Adds an item of a kind ("material"), which gets the next free id, or an entry to a list ("J3/cuts").
[[nodiscard]] reason::Result<Edited> add(OpenBook& book, std::string_view what, const Fields& fields,
                                         const Asked& asked);

/// Changes fields of an item ("M7", "about") or of an entry of a list ("J3/cuts/1").
[[nodiscard]] reason::Result<Edited> set(OpenBook& book, std::string_view what, const Fields& fields,
                                         const Asked& asked);

/// One part of several edits made at one go.
struct Part {
  bool is_new = false;
  std::string what;  ///< a kind when new, else an id or `about`
  std::string as;    ///< new: a name ("@hall") that later parts' fields may hold in place of the id it will get
  Json fields;       ///< open form; null takes one away
  /// A new document's own bytes; its media type, digest and size are put in. They are kept when the parts are written.
  std::string bytes{};
};

/// Adds and changes several items as one step, under one label: all of them or none. Parts are taken in order.
[[nodiscard]] reason::Result<Edited> several(OpenBook& book, const std::string& label, std::span<const Part> parts,
                                             const Asked& asked);

/// Takes away an item or an entry. An item that others lean on stays, and the fault lists them, unless
/// `with_what_leans_on_it`.
[[nodiscard]] reason::Result<Edited> remove(OpenBook& book, std::string_view what, bool with_what_leans_on_it,
                                            const Asked& asked);

/// What is kept of a picture.
enum class Keep {
  kPixels,  ///< a JPEG made anew, upright, at most 4000 px: what is seen, without place, time, camera or comment
  kAsItIs,  ///< the file, byte for byte
};

/// Puts a file into the book as a document of `kind` ("photo", "laboratory report"); fields as for add(). A picture
/// that does not read is refused, unless it is to be kept as it is.
[[nodiscard]] reason::Result<Edited> attach(OpenBook& book, const std::filesystem::path& file, const Fields& fields,
                                            const Asked& asked, Keep keep = Keep::kPixels);

/// The same from bytes at hand; `name` is the title when none is given.
[[nodiscard]] reason::Result<Edited> attach(OpenBook& book, std::string_view bytes, const std::string& name,
                                            const Fields& fields, const Asked& asked);

}  // namespace lathbook::service
