// Copies of a book kept in a folder: how they are called, which go when newer ones are there, how one comes back.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "store/locked.h"
#include "store/store.h"

namespace lathbook::store {

/// "house-20261125-140501.lathbook", with ".locked" behind where it needs a passphrase. `now` as for Store::apply.
[[nodiscard]] std::string copy_name(std::string_view book_name, std::string_view now, bool locked);

/// Of the copies of a book among `names`, those that go: all but the newest `keep` (at least 1) and the newest of each
/// month. Names that are not of this form, or of another book, are no copies of it and stay. Sorted.
[[nodiscard]] std::vector<std::string> outdated(std::span<const std::string> names, std::string_view book_name,
                                                std::size_t keep);

/// Copies the book as it is now to `target`, checked like Store::backup_to; locked if there is a passphrase. On the way
/// a plain copy lies beside the book itself, under a hidden name.
[[nodiscard]] Result<Done> copy_book(const Store& book, const std::filesystem::path& target,
                                     const std::optional<std::string>& passphrase, bool replace,
                                     const Effort& effort = {});

/// Makes a new book at `target` from a copy, plain or locked. With any fault nothing is left behind.
[[nodiscard]] Result<Done> restore(const std::filesystem::path& copy, const std::filesystem::path& target,
                                   const std::optional<std::string>& passphrase, const Options& options = {});

}  // namespace lathbook::store
