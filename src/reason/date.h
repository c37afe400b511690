// Calendar days as values: ISO 8601 in, ISO 8601 out, no clock and no time zone.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace lathbook::reason {

/// A proleptic Gregorian day. Only real days can be held (no 30 February).
class Date {
 public:
  /// Reads `YYYY-MM-DD` with a year from 1000 to 9999; empty when the text is anything else or no such day exists.
  [[nodiscard]] static std::optional<Date> parse(std::string_view text);
  explicit Date(std::chrono::sys_days days) : days_(days) {}

  [[nodiscard]] std::string text() const;  ///< `YYYY-MM-DD`
  [[nodiscard]] int year() const;
  [[nodiscard]] std::chrono::sys_days days() const { return days_; }
  [[nodiscard]] Date plus_days(int n) const { return Date(days_ + std::chrono::days(n)); }
  [[nodiscard]] int days_until(Date other) const { return static_cast<int>((other.days_ - days_).count()); }
  /// 1 = Monday … 7 = Sunday, as ISO 8601 counts.
  [[nodiscard]] unsigned iso_weekday() const { return std::chrono::weekday(days_).iso_encoding(); }
  auto operator<=>(const Date&) const = default;

 private:
  std::chrono::sys_days days_;
};

}  // namespace lathbook::reason
