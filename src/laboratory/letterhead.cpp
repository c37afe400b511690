#include "laboratory/letterhead.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

namespace lathbook::laboratory {
namespace {

constexpr std::size_t kLongestName = 120;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::optional<int> number(std::string_view text) {
  if (text.empty() || text.size() > 4 || !std::all_of(text.begin(), text.end(), is_digit)) return std::nullopt;
  int value = 0;
  for (const char c : text) value = value * 10 + (c - '0');
  return value;
}

std::optional<reason::Date> day(int year, int month, int of_month) {
  return reason::Date::parse(fmt::format("{:04}-{:02}-{:02}", year, month, of_month));
}

int month_of(std::string_view word) {
  static constexpr std::array<std::string_view, 12> kMonths = {"january",   "february", "march",    "april",
                                                               "may",       "june",     "july",     "august",
                                                               "september", "october",  "november", "december"};
  if (word.size() < 3) return 0;
  for (std::size_t i = 0; i < kMonths.size(); ++i) {
    if (kMonths[i] == word || (word.size() <= 4 && kMonths[i].starts_with(word))) return static_cast<int>(i) + 1;
  }
  return 0;
}

/// "25/11/2026", "25.11.2026", "2026-11-25" in one word.
std::optional<reason::Date> day_in_word(std::string_view word) {
  const auto mark = word.find_first_of("/.-");
  if (mark == std::string_view::npos) return std::nullopt;
  const auto second = word.find(word[mark], mark + 1);
  if (second == std::string_view::npos) return std::nullopt;
  const auto a = word.substr(0, mark);
  const auto b = word.substr(mark + 1, second - mark - 1);
  const auto c = word.substr(second + 1);
  const auto one = number(a);
  const auto two = number(b);
  const auto three = number(c);
  if (!one || !three) return std::nullopt;
  const int month = two ? *two : month_of(b);
  if (a.size() == 4) return day(*one, month, *three);
  if (c.size() == 4 && a.size() <= 2) return day(*three, month, *one);
  return std::nullopt;
}

struct Told {
  std::optional<reason::Date> day;
  bool twice = false;
  void take(reason::Date found) {
    twice = twice || (day && *day != found);
    day = found;
  }
  [[nodiscard]] std::optional<reason::Date> one() const { return twice ? std::nullopt : day; }
};

/// What stands behind the first of `keys` in the row; empty when none is there.
std::string_view behind(std::string_view line, std::span<const std::string_view> keys) {
  for (const auto key : keys) {
    const auto at = line.find(key);
    if (at == std::string_view::npos || (at > 0 && line[at - 1] >= 'a' && line[at - 1] <= 'z')) continue;
    return line.substr(at + key.size());
  }
  return {};
}

}  // namespace

std::optional<reason::Date> day_in(std::string_view text) {
  std::vector<std::string_view> words;
  for (std::size_t at = 0; at < text.size() && words.size() < 64;) {
    const auto end = std::min(text.find_first_of(" ,:;()", at), text.size());
    if (end > at) words.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (auto found = day_in_word(words[i])) return found;
    if (i + 2 >= words.size()) continue;
    const auto year = number(words[i + 2].substr(0, 4));
    if (!year || *year < 1000) continue;
    auto of_month = words[i];
    for (const char* ending : {"st", "nd", "rd", "th"}) {
      if (of_month.ends_with(ending)) of_month.remove_suffix(2);
    }
    if (const auto n = number(of_month); n && month_of(words[i + 1]) > 0) return day(*year, month_of(words[i + 1]), *n);
    if (const auto n = number(words[i + 1]); n && month_of(words[i]) > 0) return day(*year, month_of(words[i]), *n);
  }
  return std::nullopt;
}

Letterhead letterhead_of(std::span<const Row> rows) {
  static constexpr std::array<std::string_view, 9> kReported = {"date of report", "report date",   "date reported",
                                                                "reported on",    "date of issue", "issue date",
                                                                "date issued",    "issued on",     "report issued"};
  static constexpr std::array<std::string_view, 8> kAnalysed = {"date of analysis", "analysis date", "date analysed",
                                                                "date analyzed",    "analysed on",   "date of test",
                                                                "date tested",      "tested on"};
  static constexpr std::array<std::string_view, 4> kLaboratory = {"testing laboratory", "laboratory name",
                                                                  "name of laboratory", "laboratory"};
  Told reported;
  Told analysed;
  Letterhead head;
  for (const auto& row : rows) {
    std::string line;
    for (const auto& cell : row.cells) line += (line.empty() ? "" : "  ") + cell.text;
    if (const auto rest = behind(line, kReported); !rest.empty()) {
      if (const auto found = day_in(rest)) reported.take(*found);
    }
    if (const auto rest = behind(line, kAnalysed); !rest.empty()) {
      if (const auto found = day_in(rest)) analysed.take(*found);
    }
    if (head.laboratory.empty() && std::any_of(kLaboratory.begin(), kLaboratory.end(), [&](std::string_view key) {
          return line.starts_with(key) && line.find(':') >= key.size() && line.find(':') <= key.size() + 1;
        })) {
      const auto colon = row.text.find(':');
      auto name = row.text.substr(std::min(row.text.size(), colon + 1));
      name.erase(0, std::min(name.find_first_not_of(' '), name.size()));
      name.resize(std::min(name.find("  "), name.size()));
      if (name.size() <= kLongestName) head.laboratory = std::move(name);
    }
    // UKAS and NATA accredit the laboratories of Great Britain and of Australia.
    const bool accredits = std::any_of(line.begin(), line.end(), is_digit) &&
                           std::any_of(row.cells.begin(), row.cells.end(), [](const Cell& cell) {
                             return std::any_of(cell.words.begin(), cell.words.end(), [](const Word& word) {
                               return word.text.starts_with("accredit") || word.text == "ukas" || word.text == "nata";
                             });
                           });
    if (head.accreditation.empty() && accredits && row.text.size() <= 2 * kLongestName) head.accreditation = row.text;
  }
  head.reported_on = reported.one();
  head.analysed_on = analysed.one();
  return head;
}

}  // namespace lathbook::laboratory
