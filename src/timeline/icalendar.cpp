#include "timeline/icalendar.h"

#include <fmt/format.h>

namespace lathbook::timeline {
namespace {

std::string compact(Date day) {
  std::string text = day.text();
  std::erase(text, '-');
  return text;
}

}  // namespace

std::string escaped_text(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '\r') continue;  // a line break is one \n however it was typed
    if (c == '\n') {
      out += "\\n";
    } else if (c == '\\' || c == ';' || c == ',') {
      out += '\\';
      out += c;
    } else if (static_cast<unsigned char>(c) < 0x20 && c != '\t') {
      out += ' ';  // other control characters may not stand in a value
    } else {
      out += c;
    }
  }
  return out;
}

std::string folded(std::string_view line) {
  constexpr std::size_t kOctets = 75;
  std::string out;
  std::size_t room = kOctets;
  while (line.size() > room) {
    std::size_t cut = room;
    while (cut > 0 && (static_cast<unsigned char>(line[cut]) & 0xC0U) == 0x80U) --cut;  // not inside a character
    if (cut == 0) cut = room;
    out += line.substr(0, cut);
    out += "\r\n ";
    line.remove_prefix(cut);
    room = kOctets - 1;  // the space that marks a continued line counts
  }
  out += line;
  out += "\r\n";
  return out;
}

std::string icalendar(std::span<const CalendarEntry> entries, const CalendarStamp& stamp) {
  std::string out;
  const auto line = [&](const std::string& text) { out += folded(text); };
  line("BEGIN:VCALENDAR");
  line("VERSION:2.0");
  line("PRODID:" + stamp.product);
  line("CALSCALE:GREGORIAN");
  line("METHOD:PUBLISH");
  for (const auto& entry : entries) {
    const Date end = entry.end <= entry.first ? entry.first.plus_days(1) : entry.end;
    line("BEGIN:VEVENT");
    line("UID:" + escaped_text(entry.key + "@" + (stamp.book_key.empty() ? std::string("book") : stamp.book_key)));
    line("DTSTAMP:" + stamp.written_at);
    line("DTSTART;VALUE=DATE:" + compact(entry.first));
    line("DTEND;VALUE=DATE:" + compact(end));
    line("SUMMARY:" + escaped_text(entry.summary));
    if (!entry.description.empty()) line("DESCRIPTION:" + escaped_text(entry.description));
    line("TRANSP:TRANSPARENT");
    for (const int days : entry.remind_days_before) {
      line("BEGIN:VALARM");
      line("ACTION:DISPLAY");
      line("DESCRIPTION:" + escaped_text(entry.summary));
      line(fmt::format("TRIGGER:-P{}D", days));
      line("END:VALARM");
    }
    line("END:VEVENT");
  }
  line("END:VCALENDAR");
  return out;
}

}  // namespace lathbook::timeline
