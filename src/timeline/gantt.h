// The plan drawn: as text 80 columns wide, and as SVG. No meaning by colour alone: what delays the end is drawn solid
// and marked with a word, what may slip is hatched and followed by its slack.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reason/date.h"

namespace lathbook::timeline {

using reason::Date;

struct GanttRow {
  std::string id;
  std::string name;
  Date start;
  Date finish;                 ///< first day nothing of it remains
  std::optional<Date> latest;  ///< the latest finish in the range of outcomes
  bool critical = false;
  double slack_days = 0;
};

/// Lines of at most `columns` characters. `#` delays the end, `=` may slip, `.` how late it may come, `|` no length.
[[nodiscard]] std::string gantt_text(const std::vector<GanttRow>& rows, int columns = 80);

/// A stand-alone SVG: title, a row for each activity with a spoken description, week lines, month names, a key.
[[nodiscard]] std::string gantt_svg(const std::vector<GanttRow>& rows, const std::string& title);

}  // namespace lathbook::timeline
