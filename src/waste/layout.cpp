#include "waste/layout.h"

#include <algorithm>
#include <numeric>
#include <optional>
#include <stdexcept>
#include <unordered_map>

namespace lathbook::waste {
namespace {

bool within(double length, double room) { return length <= room + kSameLength_m; }

/// One footprint of a set of pieces: a pile, or two sets side by side.
struct Footprint {
  double x = 0;
  double y = 0;
  bool pile = true;
  How how = How::kFlat;
  double height = 0;
  bool beside_along = false;  ///< the second set follows along x rather than y
  Counts first;               ///< when not a pile
};

using Front = std::vector<Footprint>;

void add(Front& front, Footprint one) {
  for (const auto& other : front) {
    if (within(other.x, one.x) && within(other.y, one.y)) return;
  }
  std::erase_if(front, [&](const Footprint& other) { return within(one.x, other.x) && within(one.y, other.y); });
  front.push_back(std::move(one));
}

std::string key_of(const Counts& counts) {
  std::string key(counts.size() * sizeof(std::uint16_t), '\0');
  for (std::size_t i = 0; i < counts.size(); ++i) {
    key[2 * i] = static_cast<char>(counts[i] & 0xFF);
    key[2 * i + 1] = static_cast<char>((counts[i] >> 8) & 0xFF);
  }
  return key;
}

}  // namespace

const char* word(How how) {
  switch (how) {
    case How::kFlat:
      return "flat";
    case How::kOnEdge:
      return "on edge";
    case How::kLeaning:
      return "leaning";
  }
  throw std::logic_error("no such way to lie");
}

struct Layouts::State {
  std::vector<Sheet> kinds;
  Box box;
  std::int64_t work_left;
  std::unordered_map<std::string, Front> known;
  std::unordered_map<std::string, Fits> answers;

  double volume(const Counts& counts) const {
    double sum = 0;
    for (std::size_t i = 0; i < counts.size(); ++i) {
      sum += counts[i] * kinds[i].length_m * kinds[i].width_m * kinds[i].thickness_m;
    }
    return sum;
  }

  bool too_big(const Counts& counts) const {
    return volume(counts) > box.length_m * box.width_m * box.height_m * (1 + 1e-9);
  }

  /// The set as one pile, every way that stays inside the vehicle; the plainest first.
  Front piles(const Counts& counts) const {
    double longest = 0, widest = 0, thick = 0;
    bool each_askew = true;
    for (std::size_t i = 0; i < counts.size(); ++i) {
      if (counts[i] == 0) continue;
      longest = std::max(longest, kinds[i].length_m);
      widest = std::max(widest, kinds[i].width_m);
      thick += counts[i] * kinds[i].thickness_m;
      each_askew = each_askew && goes_into({kinds[i].length_m, kinds[i].width_m}, {box.length_m, box.width_m});
    }
    Front front;
    const auto offer = [&](bool stands, double x, double y, How how, double height) {
      if (stands && within(x, box.length_m) && within(y, box.width_m)) {
        front.push_back(
            {.x = x, .y = y, .pile = true, .how = how, .height = height, .beside_along = false, .first = {}});
      }
    };
    const bool below_roof = within(thick, box.height_m);
    offer(below_roof, longest, widest, How::kFlat, thick);
    offer(below_roof, widest, longest, How::kFlat, thick);
    offer(below_roof && each_askew, box.length_m, box.width_m, How::kFlat, thick);
    const auto edges = {std::pair(longest, widest), std::pair(widest, longest)};
    for (const auto& [along, up] : edges) {
      offer(within(up, box.height_m), along, thick, How::kOnEdge, up);
      offer(within(up, box.height_m), thick, along, How::kOnEdge, up);
    }
    for (const auto& [along, up] : edges) {
      offer(goes_into({up, thick}, {box.width_m, box.height_m}), along, box.width_m, How::kLeaning, box.height_m);
      offer(goes_into({up, thick}, {box.length_m, box.height_m}), box.length_m, along, How::kLeaning, box.height_m);
    }
    return front;
  }

  /// All smallest footprints of a set, or nothing when the work ran out on the way.
  const Front* front_of(const Counts& counts) {
    const auto key = key_of(counts);
    if (const auto found = known.find(key); found != known.end()) return &found->second;
    Front front;
    for (auto& one : piles(counts)) add(front, std::move(one));
    // Splits: the first part holds at least one of the first kind there is, so that each split is seen once.
    const auto lead =
        static_cast<std::size_t>(std::ranges::find_if(counts, [](int n) { return n > 0; }) - counts.begin());
    Counts part(counts.size(), 0);
    part[lead] = 1;
    for (;;) {
      Counts rest(counts.size());
      int left = 0;
      for (std::size_t i = 0; i < counts.size(); ++i) left += rest[i] = counts[i] - part[i];
      if (left > 0) {
        const Front* one = front_of(part);
        if (one == nullptr) return nullptr;
        const Front* two = one->empty() ? nullptr : front_of(rest);
        if (!one->empty() && two == nullptr) return nullptr;
        if (two != nullptr) {
          work_left -= static_cast<std::int64_t>(1 + one->size() * two->size());
          if (work_left < 0) return nullptr;
          for (const auto& a : *one) {
            for (const auto& b : *two) {
              const double along_x = a.x + b.x, along_y = std::max(a.y, b.y);
              if (within(along_x, box.length_m)) {
                add(front, {.x = along_x,
                            .y = along_y,
                            .pile = false,
                            .how = {},
                            .height = 0,
                            .beside_along = true,
                            .first = part});
              }
              const double across_x = std::max(a.x, b.x), across_y = a.y + b.y;
              if (within(across_y, box.width_m)) {
                add(front, {.x = across_x,
                            .y = across_y,
                            .pile = false,
                            .how = {},
                            .height = 0,
                            .beside_along = false,
                            .first = part});
              }
            }
          }
        }
      }
      std::size_t i = lead;
      while (i < counts.size() && part[i] == counts[i]) {
        part[i] = i == lead ? 1 : 0;
        ++i;
      }
      if (i == counts.size()) break;
      ++part[i];
    }
    return &known.emplace(key, std::move(front)).first->second;
  }

  void place(const Counts& counts, double x_limit, double y_limit, double x, double y, std::vector<Pile>& out) {
    for (const auto& one : piles(counts)) {
      if (within(one.x, x_limit) && within(one.y, y_limit)) {
        out.push_back(pile_at(counts, one, x, y));
        return;
      }
    }
    const Front* front = front_of(counts);
    const auto chosen = std::ranges::find_if(
        *front, [&](const Footprint& one) { return within(one.x, x_limit) && within(one.y, y_limit); });
    if (chosen == front->end()) throw std::logic_error("a layout was asked for that does not fit");
    const Counts first = chosen->first;
    const bool along = chosen->beside_along;
    Counts second(counts.size());
    for (std::size_t i = 0; i < counts.size(); ++i) second[i] = counts[i] - first[i];
    const double whole_x = chosen->x, whole_y = chosen->y;
    // Find the two footprints that made this one: any pair within it will do.
    for (const auto& a : *front_of(first)) {
      for (const auto& b : *front_of(second)) {
        const double sum_x = along ? a.x + b.x : std::max(a.x, b.x);
        const double sum_y = along ? std::max(a.y, b.y) : a.y + b.y;
        if (!within(sum_x, whole_x) || !within(sum_y, whole_y)) continue;
        place(first, a.x, a.y, x, y, out);
        place(second, b.x, b.y, along ? x + a.x : x, along ? y : y + a.y, out);
        return;
      }
    }
    throw std::logic_error("a split lost its parts");
  }

  Pile pile_at(const Counts& counts, const Footprint& footprint, double x, double y) const {
    Pile pile{.how = footprint.how,
              .x_m = x,
              .y_m = y,
              .size_x_m = footprint.x,
              .size_y_m = footprint.y,
              .height_m = footprint.height,
              .sheets = {}};
    std::vector<std::size_t> kinds_by_area;
    for (std::size_t i = 0; i < counts.size(); ++i) {
      if (counts[i] > 0) kinds_by_area.push_back(i);
    }
    std::ranges::stable_sort(kinds_by_area, std::greater{},
                             [&](std::size_t i) { return kinds[i].length_m * kinds[i].width_m; });
    for (const auto i : kinds_by_area) pile.sheets.insert(pile.sheets.end(), static_cast<std::size_t>(counts[i]), i);
    return pile;
  }
};

Layouts::Layouts(std::vector<Sheet> kinds, Box box, std::int64_t work_limit)
    : state_(std::make_unique<State>(
          State{.kinds = std::move(kinds), .box = box, .work_left = work_limit, .known = {}, .answers = {}})) {}

Layouts::~Layouts() = default;

Fits Layouts::fits(const Counts& counts) {
  if (std::accumulate(counts.begin(), counts.end(), 0) == 0) return Fits::kYes;
  if (state_->too_big(counts)) return Fits::kNo;
  const auto key = key_of(counts);
  if (const auto found = state_->answers.find(key); found != state_->answers.end()) return found->second;
  Fits answer = Fits::kUnknown;
  if (!state_->piles(counts).empty()) {
    answer = Fits::kYes;
  } else if (state_->work_left > 0) {
    const auto* front = state_->front_of(counts);
    if (front != nullptr) answer = front->empty() ? Fits::kNo : Fits::kYes;
  }
  state_->answers.emplace(key, answer);
  return answer;
}

std::vector<Pile> Layouts::layout(const Counts& counts) {
  std::vector<Pile> out;
  if (std::accumulate(counts.begin(), counts.end(), 0) == 0) return out;
  state_->place(counts, state_->box.length_m, state_->box.width_m, 0, 0, out);
  return out;
}

}  // namespace lathbook::waste
