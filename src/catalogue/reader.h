// Reads fields out of a JSON object and notes every fault with its place, so that a parser can be written as a list of
// assignments. A field that cannot be read leaves its value at the default; the caller answers with the faults in the
// end.
//
// A reader owns nothing: the document it reads, the reader it came out of and the name of its file must outlive it.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/words.h"
#include "catalogue/catalogue.h"
#include "reason/fault.h"
#include "schema/node.h"
#include "schema/parse.h"

namespace lathbook::catalogue {

class Reader {
 public:
  /// `name` goes before every place that is named.
  Reader(const schema::Document& document, std::string_view name, reason::Faults& faults)
      : Reader(document.root(), nullptr, name, std::nullopt, faults) {}

  /// The place of this object.
  [[nodiscard]] std::string where() const;
  [[nodiscard]] bool has(std::string_view key) const { return find(key).has_value(); }

  [[nodiscard]] std::string text(std::string_view key) const { return std::string(text_at(key).value_or("")); }
  [[nodiscard]] std::string text_or_empty(std::string_view key) const { return has(key) ? text(key) : std::string(); }

  [[nodiscard]] double number(std::string_view key) const;
  [[nodiscard]] std::optional<double> maybe_number(std::string_view key) const {
    return has(key) ? std::optional(number(key)) : std::nullopt;
  }
  [[nodiscard]] int whole(std::string_view key) const;
  [[nodiscard]] std::optional<int> maybe_whole(std::string_view key) const {
    return has(key) ? std::optional(whole(key)) : std::nullopt;
  }
  [[nodiscard]] bool flag(std::string_view key) const;

  [[nodiscard]] std::vector<std::string> texts(std::string_view key) const;
  /// A list of at least one number.
  [[nodiscard]] std::vector<double> numbers(std::string_view key) const;
  /// A list of lists of `columns` numbers.
  [[nodiscard]] std::vector<std::vector<double>> table(std::string_view key, std::size_t columns) const;

  /// A word of a catalogue enumeration.
  template <class E>
  [[nodiscard]] E word_of(std::string_view key) const {
    return chosen<E>(key, text_at(key), [](std::string_view t) { return catalogue::from_word<E>(t); });
  }
  /// A word of the book's vocabulary.
  template <class E>
  [[nodiscard]] E book_word(std::string_view key) const {
    return chosen<E>(key, text_at(key), [](std::string_view t) { return book::from_word<E>(t); });
  }
  template <class E>
  [[nodiscard]] std::vector<E> words_of(std::string_view key) const {
    std::vector<E> out;
    for (const auto& one : texts(key))
      out.push_back(chosen<E>(key, one, [](std::string_view t) { return catalogue::from_word<E>(t); }));
    return out;
  }
  template <class E>
  [[nodiscard]] std::vector<E> book_words(std::string_view key) const {
    std::vector<E> out;
    for (const auto& one : texts(key))
      out.push_back(chosen<E>(key, one, [](std::string_view t) { return book::from_word<E>(t); }));
    return out;
  }

  [[nodiscard]] Backing backing() const { return {text("source"), word_of<Sure>("sure")}; }

  /// `read` for each object of a list.
  template <class Read>
  auto each(std::string_view key, Read read) const {
    std::vector<decltype(read(std::declval<const Reader&>()))> out;
    const auto rows = list(key);
    if (!rows) return out;
    out.reserve(rows->size());
    rows->items([&](schema::Taped row) {
      out.push_back(read(Reader(row, this, key, out.size(), *faults_)));
      return true;
    });
    return out;
  }

  /// The object in a field. Where there is none, one without fields.
  [[nodiscard]] Reader inner(std::string_view key) const& { return {get(key), this, key, std::nullopt, *faults_}; }
  Reader inner(std::string_view key) const&& = delete;  // it would outlive the reader it came out of

  /// The fields there are, in their order.
  [[nodiscard]] std::vector<std::string_view> names() const;
  /// Notes every field of this object that is not in `known`: a misspelt one must not be passed over.
  void refuse_fields_but(std::initializer_list<std::string_view> known) const;

  /// Notes a fault at a field of this object, or at the object itself where `key` is empty.
  void add(std::string_view key, std::string problem, std::string allowed) const;

 private:
  Reader(std::optional<schema::Taped> object, const Reader* outer, std::string_view name,
         std::optional<std::size_t> index, reason::Faults& faults);

  [[nodiscard]] std::optional<schema::Taped> find(std::string_view key) const;
  /// These note what is missing or of another type.
  [[nodiscard]] std::optional<schema::Taped> get(std::string_view key) const;
  [[nodiscard]] std::optional<schema::Taped> list(std::string_view key) const;
  [[nodiscard]] std::optional<std::string_view> text_at(std::string_view key) const;

  template <class E, class Find>
  E chosen(std::string_view key, std::optional<std::string_view> text, Find find) const {
    if (!text) return E{};
    if (const auto value = find(*text)) return *value;
    add(key, "is not one of the words known here", "");
    return E{};
  }

  std::optional<schema::Taped> object_;  ///< empty = an object without fields
  const Reader* outer_;
  std::string_view name_;             ///< the key in `outer_`, or what the whole is called
  std::optional<std::size_t> index_;  ///< the row of a list under that key
  reason::Faults* faults_;
};

}  // namespace lathbook::catalogue
