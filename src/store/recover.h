// Saves what is intact of a damaged book into a new one, and says what is not.
//
// Every row of a book carries a checksum of 64 bits, so a row is believed where it fits and nowhere else: nothing is
// guessed, mended or made up. Rows are looked for through the trees of the file, and where those are broken on every
// page that is not known to be empty. There are two sources for each item, its own row and the log of changes; the log
// is believed only as far as nothing after it is missing, for an item as it stood earlier (a result later taken back,
// say) is not the item. Such a state is told among what is lost, not saved.
//
// What is promised: with sound pages an item is saved whenever its row, or the log from its last change on, lies wholly
// on them, and the tree above it or the list of empty pages is sound; photos and papers by the SHA-256 that names them.
// The new book passes verify(). The damaged file is not written to. Checked in recover_test.cpp over random flips,
// truncations and overwritten pages.
#pragma once

#include "store/store.h"

namespace lathbook::store {

/// Something that was not saved.
struct Loss {
  std::string where;                             ///< "material M7", "paper 3f…", "log", "page 17"
  std::string problem;                           ///< a clause: "is lost"
  std::optional<Json> last_known;                ///< the item as it stood at some time, where the log still tells
  std::optional<Revision> as_of = std::nullopt;  ///< the entry of the log that tells it
};

struct Recovered {
  std::int64_t items = 0;
  std::int64_t papers = 0;
  Revision steps = 0;      ///< entries of the log that were saved; when it is whole there is no other
  std::vector<Loss> lost;  ///< empty = everything was saved
  std::string bad_pages;   ///< where the file is damaged, as "3, 7 to 9"; what lay there may be known from elsewhere
};

/// Makes a new book at `target` (which must not exist) from what is intact of `damaged`. When the log was not whole the
/// new one ends with a step labelled "recovered", at `at` (UTC, as for Store::apply). Faults: `damaged` cannot be
/// opened, is in use, or holds nothing of a book; `target` is there already or cannot be written. Nothing is left
/// behind then.
[[nodiscard]] Result<Recovered> recover(const std::filesystem::path& damaged, const std::filesystem::path& target,
                                        std::string_view at, const Options& options = {});

}  // namespace lathbook::store
