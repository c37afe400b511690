// The one vocabulary: each choice's word, the same in data, code, command, page and paper.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string_view>
#include <utility>

#include "book/book.h"

namespace lathbook::book {

template <class E>
using WordTable = std::span<const std::pair<E, std::string_view>>;

/// The words of an enumeration, in order. Specialised below for each.
template <class E>
[[nodiscard]] WordTable<E> words();

template <>
WordTable<RoomKind> words();
template <>
WordTable<OpeningKind> words();
template <>
WordTable<OpeningState> words();
template <>
WordTable<Hung> words();
template <>
WordTable<Opens> words();
template <>
WordTable<FaceKind> words();
template <>
WordTable<Alike> words();
template <>
WordTable<Damage> words();
template <>
WordTable<Surface> words();
template <>
WordTable<Unit> words();
template <>
WordTable<Fibre> words();
template <>
WordTable<Standing> words();
template <>
WordTable<ActionKind> words();
template <>
WordTable<Who> words();
template <>
WordTable<Depth> words();

/// The word of a value: `word(Alike::kSameLook)` is "same look".
template <class E>
[[nodiscard]] std::string_view word(E value) {
  for (const auto& [one, text] : words<E>()) {
    if (one == value) return text;
  }
  return {};
}

/// The value of a word; empty when there is no such word.
template <class E>
[[nodiscard]] std::optional<E> from_word(std::string_view text) {
  for (const auto& [one, known] : words<E>()) {
    if (known == text) return one;
  }
  return std::nullopt;
}

}  // namespace lathbook::book
