#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "book/words.h"
#include "fabric/drawing.h"

namespace lathbook::fabric {
namespace {

enum Way : unsigned { kNorth = 1, kEast = 2, kSouth = 4, kWest = 8 };

/// What joins the ways a cell is left by.
const char* line_sign(unsigned ways) {
  static constexpr const char* kSigns[16] = {" ", "╵", "╶", "└", "╷", "│", "┌", "├",
                                             "╴", "┘", "─", "┴", "┐", "┤", "┬", "┼"};
  return kSigns[ways];
}

std::size_t width_of(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

/// A page of character cells: walls below, letters above.
class Sheet {
 public:
  Sheet(std::size_t columns, std::size_t rows) : columns_(columns), ways_(columns * rows), letters_(columns * rows) {}

  [[nodiscard]] std::size_t columns() const { return columns_; }
  [[nodiscard]] std::size_t rows() const { return ways_.size() / columns_; }

  /// From cell to cell, across and then down where the wall runs askew.
  void wall(long x0, long y0, long x1, long y1) {
    long x = x0;
    long y = y0;
    const long dx = std::abs(x1 - x0);
    const long dy = std::abs(y1 - y0);
    while (x != x1 || y != y1) {
      const bool across = y == y1 || (x != x1 && std::abs(x - x0) * dy <= std::abs(y - y0) * dx);
      if (across) {
        step(x, y, x1 > x ? kEast : kWest);
        x += x1 > x ? 1 : -1;
        step(x, y, x1 >= x0 ? kWest : kEast);
      } else {
        step(x, y, y1 > y ? kSouth : kNorth);
        y += y1 > y ? 1 : -1;
        step(x, y, y1 >= y0 ? kNorth : kSouth);
      }
    }
  }

  [[nodiscard]] bool clear(long x, long y, std::size_t width) const {
    for (long i = -1; i <= static_cast<long>(width); ++i) {
      if (!inside(x + i, y)) return false;
      const auto at = cell(x + i, y);
      if (ways_[at] != 0 || !letters_[at].empty()) return false;
    }
    return true;
  }

  void write(long x, long y, const std::string& text) {
    for (std::size_t i = 0; i < text.size();) {
      std::size_t next = i + 1;
      while (next < text.size() && (static_cast<unsigned char>(text[next]) & 0xC0U) == 0x80U) ++next;
      if (inside(x, y)) letters_[cell(x, y)] = text.substr(i, next - i);
      ++x;
      i = next;
    }
  }

  [[nodiscard]] std::string text() const {
    std::string out;
    for (std::size_t y = 0; y < rows(); ++y) {
      std::string line;
      for (std::size_t x = 0; x < columns_; ++x) {
        const std::size_t at = y * columns_ + x;
        line += letters_[at].empty() ? line_sign(ways_[at]) : letters_[at];
      }
      line.erase(line.find_last_not_of(' ') + 1);
      out += line + '\n';
    }
    return out;
  }

 private:
  [[nodiscard]] bool inside(long x, long y) const {
    return x >= 0 && y >= 0 && x < static_cast<long>(columns_) && y < static_cast<long>(rows());
  }
  [[nodiscard]] std::size_t cell(long x, long y) const {
    return static_cast<std::size_t>(y) * columns_ + static_cast<std::size_t>(x);
  }
  void step(long x, long y, unsigned way) {
    if (inside(x, y)) ways_[cell(x, y)] |= way;
  }

  std::size_t columns_;
  std::vector<unsigned> ways_;
  std::vector<std::string> letters_;
};

/// Breaks text at spaces into lines of at most `columns`, the later ones set in; leading spaces stay.
std::string folded(const std::string& text, std::size_t columns, std::size_t set_in) {
  std::string out;
  std::size_t at = std::min(text.find_first_not_of(' '), text.size());
  std::string line(at, ' ');
  bool first = true;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, end - at);
    if (!first && width_of(line) + 1 + width_of(word) > columns) {
      out += line + '\n';
      line = std::string(set_in, ' ') + word;
    } else {
      line += (first ? "" : " ") + word;
    }
    first = false;
    at = end + 1;
  }
  return out + line + '\n';
}

std::string storey_text(const Drawing& drawing, std::size_t storey, std::size_t columns) {
  const Plan& plan = drawing.plan;
  std::vector<const Space*> spaces;
  for (const auto& space : plan.spaces()) {
    if (space.storey == storey) spaces.push_back(&space);
  }
  const auto& info = plan.storeys()[storey];
  std::string out = folded(fmt::format("{}  {} (floor at {:g} m)", info.id.text, info.name, info.floor_m), columns, 4);
  if (spaces.empty()) return out + "    no room is drawn here\n";

  Box box = spaces.front()->box;
  for (const Space* space : spaces)
    box = {std::min(box.x0, space->box.x0), std::min(box.y0, space->box.y0), std::max(box.x1, space->box.x1),
           std::max(box.y1, space->box.y1)};
  // As large as fits, but no larger than six characters a metre: beyond that a small room only gets empty.
  const double per_m = std::min(6.0, static_cast<double>(columns - 3) / std::max(0.1, box.x1 - box.x0));
  const auto column = [&](double x) { return std::lround((x - box.x0) * per_m) + 1; };
  const auto row = [&](double y) { return std::lround((box.y1 - y) * per_m / 2); };
  Sheet sheet(columns, static_cast<std::size_t>(row(box.y0)) + 1);
  for (const Space* space : spaces) {
    for (std::size_t i = 0; i < space->outline.size(); ++i) {
      const Point a = space->outline[i];
      const Point b = space->outline[(i + 1) % space->outline.size()];
      sheet.wall(column(a.x_m), row(a.y_m), column(b.x_m), row(b.y_m));
    }
  }
  std::vector<const Space*> unnamed;
  // In each room its id and name if they fit, then the ids of what lies in it.
  for (const Space* space : spaces) {
    std::vector<std::string> lines{space->id.text, space->name};
    std::string ids;
    for (std::size_t i = 0; i < drawing.materials.size(); ++i) {
      if (drawing.materials[i].place.room == space->id && !drawing.materials[i].removed_on)
        ids += (ids.empty() ? "" : " ") + drawing.materials[i].id.text;
    }
    const Point middle = inmost_point(space->outline, 0.05).at;
    long y = row(middle.y_m) - 1;
    const auto place = [&](const std::string& text) {
      const long x = column(middle.x_m) - static_cast<long>(width_of(text)) / 2;
      if (text.empty() || !sheet.clear(x, y, width_of(text))) return false;
      sheet.write(x, y, text);
      return true;
    };
    const std::string both = fmt::format("{} {}", space->id.text, space->name);
    const bool named = place(both);
    if (named || place(space->id.text)) ++y;
    if (!named) unnamed.push_back(space);
    if (!place(ids)) {
      ++y;
      place(ids);
    }
  }
  out += sheet.text();
  const double bar_m = per_m >= 2 ? 2 : per_m >= 0.8 ? 5 : 20;
  out += fmt::format(
      " ├{}┤ {:g} m\n",
      [&] {
        std::string bar;
        for (long i = 0; i < std::lround(bar_m * per_m) - 1; ++i) bar += "─";
        return bar;
      }(),
      bar_m);

  for (const Space* space : spaces) {
    std::string listed;
    for (std::size_t i = 0; i < drawing.materials.size(); ++i) {
      const auto& material = drawing.materials[i];
      if (material.place.room != space->id || material.removed_on) continue;
      const bool suspect = drawing.suspect.empty() || drawing.suspect[i];
      listed += folded(fmt::format("    {:<4} {}, {}: {}", material.id.text, material.place.face.text(), material.name,
                                   suspect ? std::string(book::word(drawing.standings[i])) : "no suspect"),
                       columns, 9);
    }
    for (const auto& job : drawing.jobs) {
      for (std::size_t i = 0; i < job.cuts.size(); ++i) {
        if (job.cuts[i].place.room == space->id)
          listed += folded(
              fmt::format("    {}/{} {}: {}", job.id.text, i + 1, job.cuts[i].place.face.text(), job.cuts[i].task),
              columns, 9);
      }
    }
    const bool told = std::find(unnamed.begin(), unnamed.end(), space) == unnamed.end();
    if (!listed.empty() || !told) out += fmt::format("  {} {}\n", space->id.text, space->name) + listed;
  }
  return out;
}

}  // namespace

std::vector<std::string> route_in_words(const Route& route) {
  const auto counted = [](std::size_t count, const char* one) {
    return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
  };
  std::vector<std::string> lines{fmt::format("{:.1f} m, {}, {}", route.length_m,
                                             counted(static_cast<std::size_t>(route.bends), "bend"),
                                             counted(route.holes.size(), "hole"))};
  for (std::size_t from = 0; from < route.path.size();) {
    const Spot& first = route.path[from];
    std::vector<std::string> spots;
    for (; from < route.path.size() && route.path[from].room == first.room && route.path[from].face == first.face;
         ++from)
      spots.push_back(fmt::format("({:.2f}, {:.2f})", route.path[from].at.x_m, route.path[from].at.y_m));
    lines.push_back(fmt::format("{} of {}: {}", first.face.text(), first.room.text, fmt::join(spots, " to ")));
  }
  for (const auto& hole : route.holes) {
    lines.push_back(fmt::format("hole through a {} at ({:.2f}, {:.2f}) of {} of {}, to {} of {}", word(hole.fabric),
                                hole.from.at.x_m, hole.from.at.y_m, hole.from.face.text(), hole.from.room.text,
                                hole.to.face.text(), hole.to.room.text));
  }
  lines.push_back(
      "On a wall: metres from its left end seen from inside, and above the floor; else x and y of the plan.");
  return lines;
}

std::string plan_text(const Drawing& drawing, std::size_t columns) {
  columns = std::max<std::size_t>(columns, 40);
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < drawing.plan.storeys().size(); ++i) {
    if (!drawing.storey || drawing.plan.storeys()[i].id == *drawing.storey) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return drawing.plan.storeys()[a].floor_m > drawing.plan.storeys()[b].floor_m;
  });
  std::string out = drawing.title.empty() ? "" : folded(drawing.title, columns, 2) + "\n";
  for (const std::size_t storey : order) out += storey_text(drawing, storey, columns) + "\n";
  for (std::size_t i = 0; i < drawing.routes.size(); ++i) {
    out += fmt::format("Route {}\n", i + 1);
    for (const auto& line : route_in_words(drawing.routes[i])) out += folded("  " + line, columns, 4);
    out += "\n";
  }
  return out + folded(
                   "Shows what was written down, where it was drawn, give or take 0.15 m. What is not shown is not "
                   "known to be absent: an untested suspect is treated as asbestos.",
                   columns, 0);
}

}  // namespace lathbook::fabric
