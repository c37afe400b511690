#include "timeline/gantt.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "reason/xml.h"

namespace lathbook::timeline {
namespace {

constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                 "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

std::chrono::year_month_day calendar(Date day) { return std::chrono::year_month_day(day.days()); }

const char* month_name(Date day) { return kMonths[static_cast<unsigned>(calendar(day).month()) - 1]; }

struct Span {
  Date first;
  Date last;  // first day after everything
};

Span span_of(const std::vector<GanttRow>& rows) {
  Span span{rows.front().start, rows.front().finish};
  for (const auto& row : rows) {
    span.first = std::min(span.first, row.start);
    span.last = std::max({span.last, row.finish, row.latest.value_or(row.finish)});
  }
  if (span.last <= span.first) span.last = span.first.plus_days(1);
  return span;
}

/// Characters, not bytes, so that names with accents line up; cut with an ellipsis.
std::string fitted(const std::string& text, std::size_t width) {
  std::string out;
  std::size_t used = 0;
  std::size_t total = 0;
  for (const char c : text) total += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  for (std::size_t i = 0; i < text.size();) {
    std::size_t next = i + 1;
    while (next < text.size() && (static_cast<unsigned char>(text[next]) & 0xC0U) == 0x80U) ++next;
    if (total > width && used + 1 == width) {
      out += "…";
      ++used;
      break;
    }
    out += text.substr(i, next - i);
    ++used;
    i = next;
  }
  return out + std::string(width > used ? width - used : 0, ' ');
}

std::string name_of(const GanttRow& row) { return row.name.empty() ? row.id : row.name; }

}  // namespace

std::string gantt_text(const std::vector<GanttRow>& rows, int columns) {
  if (rows.empty()) return "nothing planned\n";
  const Span span = span_of(rows);
  const int days = span.first.days_until(span.last);
  constexpr int kName = 24;
  constexpr int kDate = 11;
  const int width = std::max(10, columns - kName - kDate - 2);
  // Whole days a column, so that a bar never claims a day it has not.
  const int per_column = std::max(1, (days + width - 1) / width);
  const auto column = [&](Date day) { return span.first.days_until(day) / per_column; };
  const int used = std::min(width, (days + per_column - 1) / per_column);

  std::string months(static_cast<std::size_t>(width), ' ');
  int written = 0;
  for (Date day = span.first; day < span.last; day = day.plus_days(1)) {
    const bool begins = day == span.first || calendar(day).day() == std::chrono::day(1);
    const int at = column(day);
    if (!begins || at < written || at + 3 > width) continue;
    months.replace(static_cast<std::size_t>(at), 3, month_name(day));
    written = at + 4;
  }
  while (!months.empty() && months.back() == ' ') months.pop_back();
  std::string out = std::string(kName + 1 + kDate + 1, ' ') + months + "\n";
  for (const auto& row : rows) {
    std::string bar(static_cast<std::size_t>(used), ' ');
    const int from = std::min(used - 1, column(row.start));
    const auto fill = [&](int begin, int end, char mark) {
      for (int at = begin; at < std::min(used, end); ++at) bar[static_cast<std::size_t>(at)] = mark;
    };
    const int to = std::max(from + 1, column(row.finish.plus_days(per_column - 1)));
    if (row.latest && *row.latest > row.finish) fill(to, column(row.latest->plus_days(per_column - 1)), '.');
    if (row.finish <= row.start) {
      fill(from, from + 1, '|');
    } else {
      fill(from, to, row.critical ? '#' : '=');
    }
    while (!bar.empty() && bar.back() == ' ') bar.pop_back();
    out += fitted(name_of(row), kName) + " " + row.start.text() + "  " + bar + "\n";
  }
  out += "# delays the end  = may slip  . may come as late as  | no length\n";
  out += per_column == 1 ? "a column is a day\n" : fmt::format("a column is {} days\n", per_column);
  return out;
}

std::string gantt_svg(const std::vector<GanttRow>& rows, const std::string& title) {
  constexpr double kLeft = 260, kRight = 90, kTop = 64, kRow = 26, kBar = 14, kPlot = 640;
  const double height = kTop + kRow * static_cast<double>(rows.size()) + 56;
  const double width = kLeft + kPlot + kRight;
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:g}\" height=\"{1:g}\" viewBox=\"0 0 {0:g} {1:g}\" "
      "role=\"img\" aria-label=\"{2}\" "
      "font-family=\"sans-serif\" font-size=\"12\">\n<title>{2}</title>\n"
      "<defs><pattern id=\"slip\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" "
      "patternTransform=\"rotate(45)\">"
      "<rect width=\"6\" height=\"6\" fill=\"#fff\"/><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" stroke=\"#222\" "
      "stroke-width=\"2\"/></pattern></defs>\n"
      "<rect width=\"100%\" height=\"100%\" fill=\"#fffdf7\"/>\n<text x=\"16\" y=\"26\" font-size=\"16\" "
      "font-family=\"serif\">{2}</text>\n",
      width, height, reason::xml_text(title));
  if (rows.empty()) return out + "<text x=\"16\" y=\"56\">nothing planned</text>\n</svg>\n";

  const Span span = span_of(rows);
  const double per_day = kPlot / span.first.days_until(span.last);
  const auto x = [&](Date day) { return kLeft + per_day * span.first.days_until(day); };
  const double bottom = kTop + kRow * static_cast<double>(rows.size());
  double free_from = 0;
  for (Date day = span.first; day < span.last; day = day.plus_days(1)) {
    const bool month = day == span.first || calendar(day).day() == std::chrono::day(1);
    if (month && x(day) >= free_from) {
      out += fmt::format("<text x=\"{:.1f}\" y=\"48\">{} {}</text>\n", x(day), month_name(day), day.year());
      free_from = x(day) + 62;
    }
    if (month || (day.iso_weekday() == 1 && per_day > 2)) {
      out += fmt::format(
          "<line x1=\"{0:.1f}\" y1=\"{1:g}\" x2=\"{0:.1f}\" y2=\"{2:g}\" stroke=\"#222\" stroke-opacity=\"{3}\"/>\n",
          x(day), kTop - 8, bottom, month ? "0.35" : "0.12");
    }
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto& row = rows[i];
    const double y = kTop + kRow * static_cast<double>(i);
    const std::string words = row.critical ? "delays the end" : fmt::format("may slip {:g} days", row.slack_days);
    out += fmt::format("<g role=\"listitem\" aria-label=\"{}: {} to {}, {}\">\n", reason::xml_text(name_of(row)),
                       row.start.text(), row.finish.text(), words);
    out += fmt::format("<text x=\"16\" y=\"{:g}\">{}</text>\n", y + kBar, reason::xml_text(name_of(row)));
    double end = x(row.finish);
    if (row.latest && *row.latest > row.finish) {
      out += fmt::format(
          "<line x1=\"{:.1f}\" y1=\"{:g}\" x2=\"{:.1f}\" y2=\"{:g}\" stroke=\"#222\" stroke-dasharray=\"2 3\"/>\n", end,
          y + kBar / 2 + 3, x(*row.latest), y + kBar / 2 + 3);
      end = x(*row.latest);
    }
    if (row.finish <= row.start) {
      const double at = x(row.start);
      out += fmt::format("<path d=\"M {0:.1f} {1:g} l 6 7 l -6 7 l -6 -7 z\" fill=\"{2}\" stroke=\"#222\"/>\n", at,
                         y + 3, row.critical ? "#222" : "url(#slip)");
      end = std::max(end, at + 8);
    } else {
      out +=
          fmt::format("<rect x=\"{:.1f}\" y=\"{:g}\" width=\"{:.1f}\" height=\"{:g}\" fill=\"{}\" stroke=\"#222\"/>\n",
                      x(row.start), y + 3, x(row.finish) - x(row.start), kBar, row.critical ? "#222" : "url(#slip)");
    }
    const std::string note = row.critical ? "delays the end" : fmt::format("+{:g} d", row.slack_days);
    out += fmt::format("<text x=\"{:.1f}\" y=\"{:g}\" font-size=\"10\">{}</text>\n</g>\n",
                       std::min(end + 6, width - kRight + 6), y + kBar, note);
  }
  const double key = bottom + 30;
  out += fmt::format(
      "<rect x=\"16\" y=\"{:g}\" width=\"24\" height=\"12\" fill=\"#222\"/><text x=\"46\" y=\"{:g}\">delays the "
      "end</text>\n",
      key - 11, key);
  out += fmt::format(
      "<rect x=\"160\" y=\"{:g}\" width=\"24\" height=\"12\" fill=\"url(#slip)\" stroke=\"#222\"/><text x=\"190\" "
      "y=\"{:g}\">may slip (days)</text>\n",
      key - 11, key);
  out += fmt::format(
      "<line x1=\"310\" y1=\"{0:g}\" x2=\"338\" y2=\"{0:g}\" stroke=\"#222\" stroke-dasharray=\"2 3\"/><text x=\"346\" "
      "y=\"{1:g}\">may come as late as</text>\n",
      key - 5, key);
  return out + "</svg>\n";
}

}  // namespace lathbook::timeline
