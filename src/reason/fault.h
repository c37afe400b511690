// What went wrong with something a user, a file or a network gave us: a value, never an exception.
#pragma once

#include <initializer_list>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace lathbook::reason {

/// How a fault is reported outside: the command's exit status and (later) the HTTP status hang on it alone.
enum class FaultKind {
  kUsage,     ///< the words of the request are off (exit 2)
  kValue,     ///< a value is missing, of the wrong type or impossible (exit 2)
  kConflict,  ///< two writers, or a thing that others still lean on (exit 1)
  kMissing,   ///< a file, item or book that is not there (exit 1)
  kFile,      ///< the operating system, or a damaged or foreign file (exit 1)
};

/// One fault, in the words a person needs to mend it.
struct Fault {
  std::string where;    ///< JSON Pointer, field, item or file the fault is at; empty = the whole input
  std::string value;    ///< the offending value as given; empty when there is none (a missing field)
  std::string problem;  ///< what is wrong, as a clause: "is not a whole number", "is missing"
  std::string allowed;  ///< what would be accepted, as a phrase: "a whole number from 1 to 3"; may be empty
  FaultKind kind = FaultKind::kValue;

  /// One line: `/product: 7 is too large; allowed: a whole number from 1 to 3`.
  [[nodiscard]] std::string text() const;
  bool operator==(const Fault&) const = default;
};

/// All faults found, not only the first.
using Faults = std::vector<Fault>;

/// The same faults with `prefix` put before each `where`.
[[nodiscard]] Faults within(std::string_view prefix, Faults faults);

/// Either a value or at least one fault. Reading the side that is not there is a programming error (std::logic_error).
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}  // NOLINT(google-explicit-constructor)
  Result(Fault fault)
      : held_(std::in_place_index<1>, Faults{std::move(fault)}) {}            // NOLINT(google-explicit-constructor)
  Result(Faults faults) : held_(std::in_place_index<1>, std::move(faults)) {  // NOLINT(google-explicit-constructor)
    if (std::get<1>(held_).empty()) throw std::logic_error("a failed Result needs a fault");
  }

  [[nodiscard]] bool ok() const { return held_.index() == 0; }
  explicit operator bool() const { return ok(); }

  [[nodiscard]] const T& value() const& { return get<0>(); }
  [[nodiscard]] T& value() & { return const_cast<T&>(get<0>()); }
  [[nodiscard]] T&& value() && { return std::move(const_cast<T&>(get<0>())); }
  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

  [[nodiscard]] const Faults& faults() const { return get<1>(); }

 private:
  template <std::size_t I>
  [[nodiscard]] const auto& get() const {
    if (held_.index() != I)
      throw std::logic_error(I == 0 ? "Result holds faults, not a value" : "Result holds no faults");
    return std::get<I>(held_);
  }

  std::variant<T, Faults> held_;
};

/// For functions that answer nothing but may fail.
struct Done {
  bool operator==(const Done&) const = default;
};

}  // namespace lathbook::reason
