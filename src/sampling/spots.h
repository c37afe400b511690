// Where on a piece the samples come from: spread as far apart as the piece allows, the first at its edge.
//
// The spots are chosen one after the other, each the farthest from those before it (from a grid over the shape, its
// corners and edges included). No choice of n spots leaves any place of the piece at less than half the distance that
// these leave it (the well-known bound for farthest-first choice). A point shape or a piece without one gives words
// alone. Every spot goes through all layers; joins, repairs and what looks different come before the plain field,
// because that is where a second job hides. Checked in spots_test.cpp.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "book/book.h"

namespace lathbook::sampling {

struct Spot {
  std::optional<book::Point> at;  ///< in the coordinates of the shape
  std::string words;
};

/// How a place of the face is told to someone who stands before it.
using Tell = std::function<std::string(const book::Point&)>;

/// `count` spots on a piece; `outline` stands for the whole face when the shape is that (empty = not known).
[[nodiscard]] std::vector<Spot> spots(const book::Shape& shape, const std::vector<book::Point>& outline, int count,
                                      const Tell& tell);

/// What is written on the bag of sample `number` of `count` (from 1).
struct Label {
  std::string id;  ///< "M7-2": material and number
  std::vector<std::string> lines;
};

[[nodiscard]] Label label(const std::string& material, const std::string& name, const std::string& room, int number,
                          int count, const Spot& spot, const std::string& warning);

}  // namespace lathbook::sampling
