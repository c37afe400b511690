#include "sampling/cover.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <numeric>
#include <queue>
#include <stdexcept>

namespace lathbook::sampling {
namespace {

using Set = std::vector<bool>;

/// A part in itself: things that need no distinguishing are one, and bundles with the same needs are one.
struct Part {
  std::vector<int> weights;
  std::vector<std::vector<std::size_t>> things;  ///< positions in the question that each stands for
  std::vector<Bundle> bundles;

  [[nodiscard]] int weight() const { return std::accumulate(weights.begin(), weights.end(), 0); }
};

constexpr std::size_t kExhaustive = 20;
constexpr int kNodesInAll = 3000;
constexpr int kNodesEach = 400;

/// Things needed by exactly the same bundles stand or fall together; so do bundles with the same needs.
std::vector<Part> parts_of(std::span<const int> weights, std::span<const Bundle> bundles) {
  std::vector<std::vector<std::size_t>> users(weights.size());
  for (std::size_t b = 0; b < bundles.size(); ++b) {
    for (const auto thing : bundles[b].needs) users[thing].push_back(b);
  }
  std::vector<std::size_t> leader(bundles.size());
  std::iota(leader.begin(), leader.end(), std::size_t{0});
  const auto find = [&](std::size_t b) {
    while (leader[b] != b) b = leader[b] = leader[leader[b]];
    return b;
  };
  for (const auto& all : users) {
    for (std::size_t i = 1; i < all.size(); ++i) {
      const auto a = find(all[0]);
      const auto b = find(all[i]);
      leader[std::max(a, b)] = std::min(a, b);
    }
  }
  std::map<std::size_t, std::size_t> part_of_leader;
  std::vector<Part> parts;
  std::map<std::vector<std::size_t>, std::pair<std::size_t, std::size_t>> twin;  // users -> part, position in it
  std::vector<std::size_t> place(weights.size());
  for (std::size_t t = 0; t < weights.size(); ++t) {
    if (users[t].empty()) continue;
    const auto [part, fresh] = part_of_leader.emplace(find(users[t][0]), parts.size());
    if (fresh) parts.emplace_back();
    auto& here = parts[part->second];
    const auto [known, first] = twin.try_emplace(users[t], part->second, here.things.size());
    place[t] = known->second.second;
    if (first) {
      here.things.emplace_back();
      here.weights.push_back(0);
    }
    here.things[place[t]].push_back(t);
    here.weights[place[t]] += weights[t];
  }
  std::map<std::pair<std::size_t, std::vector<std::size_t>>, double> merged;
  for (std::size_t b = 0; b < bundles.size(); ++b) {
    std::vector<std::size_t> needs;
    for (const auto thing : bundles[b].needs) needs.push_back(place[thing]);
    std::sort(needs.begin(), needs.end());
    needs.erase(std::unique(needs.begin(), needs.end()), needs.end());
    merged[{part_of_leader.at(find(b)), std::move(needs)}] += bundles[b].value;
  }
  for (const auto& [key, value] : merged) parts[key.first].bundles.push_back({value, key.second});
  return parts;
}

double value_of(const Part& part, const Set& chosen) {
  double value = 0;
  for (const auto& bundle : part.bundles) {
    if (std::all_of(bundle.needs.begin(), bundle.needs.end(), [&](std::size_t t) { return chosen[t]; }))
      value += bundle.value;
  }
  return value;
}

int weight_of(const Part& part, const Set& chosen) {
  int weight = 0;
  for (std::size_t t = 0; t < chosen.size(); ++t) {
    if (chosen[t]) weight += part.weights[t];
  }
  return weight;
}

// ---- the best set for a price: a smallest cut ----------------------------------------------------------------------

/// The greatest flow by shortest augmenting layers, on whole numbers.
class Flow {
 public:
  explicit Flow(std::size_t nodes) : out_(nodes) {}

  void join(std::size_t from, std::size_t to, std::int64_t capacity) {
    out_[from].push_back(arcs_.size());
    arcs_.push_back({to, capacity});
    out_[to].push_back(arcs_.size());
    arcs_.push_back({from, 0});
  }

  /// What `source` still reaches once the flow to `sink` is greatest: its side of the smallest cut.
  std::vector<bool> cut_off(std::size_t source, std::size_t sink) {
    while (layers_from(source), depth_[sink] != kNotReached) {
      next_.assign(out_.size(), 0);
      while (push(source, sink, std::numeric_limits<std::int64_t>::max()) > 0) {
      }
    }
    std::vector<bool> reached(out_.size());
    for (std::size_t v = 0; v < out_.size(); ++v) reached[v] = depth_[v] != kNotReached;
    return reached;
  }

 private:
  struct Arc {
    std::size_t to;
    std::int64_t left;
  };
  static constexpr std::size_t kNotReached = std::numeric_limits<std::size_t>::max();

  void layers_from(std::size_t source) {
    depth_.assign(out_.size(), kNotReached);
    depth_[source] = 0;
    std::vector<std::size_t> queue{source};
    for (std::size_t i = 0; i < queue.size(); ++i) {
      for (const auto a : out_[queue[i]]) {
        if (arcs_[a].left <= 0 || depth_[arcs_[a].to] != kNotReached) continue;
        depth_[arcs_[a].to] = depth_[queue[i]] + 1;
        queue.push_back(arcs_[a].to);
      }
    }
  }

  /// One path; the depth of the recursion is that of the layers.
  std::int64_t push(std::size_t from, std::size_t sink, std::int64_t amount) {
    if (from == sink) return amount;
    for (auto& i = next_[from]; i < out_[from].size(); ++i) {
      const auto a = out_[from][i];
      if (arcs_[a].left <= 0 || depth_[arcs_[a].to] != depth_[from] + 1) continue;
      const auto sent = push(arcs_[a].to, sink, std::min(amount, arcs_[a].left));
      if (sent == 0) continue;
      arcs_[a].left -= sent;
      arcs_[a ^ 1].left += sent;
      return sent;
    }
    return 0;
  }

  std::vector<Arc> arcs_;  ///< each with its opposite beside it
  std::vector<std::vector<std::size_t>> out_;
  std::vector<std::size_t> depth_;
  std::vector<std::size_t> next_;
};

/// Source -> bundle (its value) -> what it needs (no limit) -> sink (its price). What the source still reaches when the
/// flow is greatest is the smallest set of the most value. Amounts are whole numbers of 2^-k, so that no rounding
/// decides.
Set best_set(std::span<const double> price, std::span<const Bundle> bundles) {
  const std::size_t n = price.size();
  double all = 0;
  for (const auto& bundle : bundles) all += bundle.value;
  Set chosen(n, false);
  if (all <= 0) return chosen;
  const double scale = std::exp2(50.0 - std::ceil(std::log2(all)));
  constexpr auto kNoLimit = std::int64_t{1} << 60;
  const std::size_t source = n + bundles.size();
  const std::size_t sink = source + 1;
  Flow flow(n + bundles.size() + 2);
  for (std::size_t t = 0; t < n; ++t) flow.join(t, sink, std::llround(std::min(price[t], 2 * all) * scale));
  for (std::size_t b = 0; b < bundles.size(); ++b) {
    flow.join(source, n + b, std::llround(bundles[b].value * scale));
    for (const auto thing : bundles[b].needs) flow.join(n + b, thing, kNoLimit);
  }
  const auto reached = flow.cut_off(source, sink);
  for (std::size_t t = 0; t < n; ++t) chosen[t] = reached[t];
  return chosen;
}

// ---- a part by itself -----------------------------------------------------------------------------------------------

struct Point {
  double value = 0;
  double at_most = 0;
  Set chosen;
};

/// All subsets: the values of the bundles are put at their needs and summed over subsets.
std::vector<Point> by_all_subsets(const Part& part, int limit) {
  const std::size_t n = part.weights.size();
  const std::size_t sets = std::size_t{1} << n;
  std::vector<double> value(sets, 0.0);
  for (const auto& bundle : part.bundles) {
    std::size_t mask = 0;
    for (const auto t : bundle.needs) mask |= std::size_t{1} << t;
    value[mask] += bundle.value;
  }
  for (std::size_t t = 0; t < n; ++t) {
    const std::size_t bit = std::size_t{1} << t;
    for (std::size_t mask = 0; mask < sets; ++mask) {
      if ((mask & bit) != 0) value[mask] += value[mask ^ bit];
    }
  }
  std::vector<int> weight(sets, 0);
  std::vector<std::size_t> best(static_cast<std::size_t>(limit) + 1, 0);
  for (std::size_t mask = 1; mask < sets; ++mask) {
    const auto low = static_cast<std::size_t>(std::countr_zero(mask));
    weight[mask] = weight[mask & (mask - 1)] + part.weights[low];
    if (weight[mask] > limit) continue;
    auto& here = best[static_cast<std::size_t>(weight[mask])];
    if (value[mask] > value[here]) here = mask;
  }
  const double least = 1e-12 * value[sets - 1];
  std::vector<Point> points;
  std::size_t so_far = 0;
  for (const auto mask : best) {
    if (value[mask] > value[so_far] + least) so_far = mask;
    Point point{value[so_far], value[so_far], Set(n, false)};
    for (std::size_t t = 0; t < n; ++t) point.chosen[t] = (so_far >> t & 1) != 0;
    points.push_back(std::move(point));
  }
  return points;
}

class LargePart {
 public:
  LargePart(const Part& part, int limit) : part_(part), limit_(limit), whole_(part.weight()) {
    for (const auto& bundle : part.bundles) all_ += bundle.value;
  }

  std::vector<Point> solve() {
    const std::size_t n = part_.weights.size();
    const Corner none{0, 0, Set(n, false)};
    const Corner everything{all_, whole_, Set(n, true)};
    corners_.push_back(none);
    find_corners(none, everything);
    corners_.push_back(everything);
    std::vector<Point> points;
    std::size_t next = 1;
    for (int k = 0; k <= limit_; ++k) {
      while (corners_[next].weight < k) ++next;
      const auto& above = corners_[next];
      const auto& below = corners_[next - 1];
      if (above.weight == k) {
        points.push_back({above.value, above.value, above.chosen});
      } else if (below.weight == k) {
        points.push_back({below.value, below.value, below.chosen});
      } else {
        points.push_back(between(below, above, k, points.back()));
      }
    }
    return points;
  }

 private:
  struct Corner {
    double value = 0;
    int weight = 0;
    Set chosen;
  };

  /// Corners of the hull strictly between two, left to right: the best set at the price of the line through them.
  void find_corners(const Corner& left, const Corner& right) {
    if (right.weight - left.weight < 2) return;
    const double price = (right.value - left.value) / (right.weight - left.weight);
    Corner middle = at_price(price, {}, {});
    const double line = left.value + price * (middle.weight - left.weight);
    if (middle.weight <= left.weight || middle.weight >= right.weight || middle.value <= line + 1e-9 * all_) return;
    find_corners(left, middle);
    corners_.push_back(middle);
    find_corners(middle, right);
  }

  /// The best set at a price per weight; what is forced in is free, what is forced out too dear.
  [[nodiscard]] Corner at_price(double price, const Set& in, const Set& out) const {
    std::vector<double> prices(part_.weights.size());
    for (std::size_t t = 0; t < prices.size(); ++t) {
      prices[t] = price * part_.weights[t];
      if (!in.empty() && in[t]) prices[t] = 0;
      if (!out.empty() && out[t]) prices[t] = 2 * all_;
    }
    auto chosen = best_set(prices, part_.bundles);
    if (!in.empty()) {
      for (std::size_t t = 0; t < prices.size(); ++t) chosen[t] = chosen[t] || in[t];
    }
    return {value_of(part_, chosen), weight_of(part_, chosen), std::move(chosen)};
  }

  /// Adds, as long as they fit, the bundles that bring the most for the weight they still need.
  [[nodiscard]] Set filled(Set chosen, const Set& out, int k) const {
    int left = k - weight_of(part_, chosen);
    while (true) {
      double best = 0;
      const Bundle* pick = nullptr;
      for (const auto& bundle : part_.bundles) {
        int need = 0;
        bool barred = false;
        for (const auto t : bundle.needs) {
          if (!chosen[t]) need += part_.weights[t];
          barred = barred || (!out.empty() && out[t]);
        }
        if (need == 0 || need > left || barred) continue;
        Set more = chosen;
        for (const auto t : bundle.needs) more[t] = true;
        const double rate = (value_of(part_, more) - value_of(part_, chosen)) / need;
        if (rate > best) {
          best = rate;
          pick = &bundle;
        }
      }
      if (pick == nullptr) return chosen;
      for (const auto t : pick->needs) chosen[t] = true;
      left = k - weight_of(part_, chosen);
    }
  }

  /// Takes away, until it fits, the thing whose loss costs least for its weight.
  [[nodiscard]] Set thinned(Set chosen, const Set& in, int k) const {
    while (weight_of(part_, chosen) > k) {
      const double now = value_of(part_, chosen);
      double least = std::numeric_limits<double>::infinity();
      std::size_t pick = chosen.size();
      for (std::size_t t = 0; t < chosen.size(); ++t) {
        if (!chosen[t] || (!in.empty() && in[t])) continue;
        Set less = chosen;
        less[t] = false;
        const double loss = (now - value_of(part_, less)) / part_.weights[t];
        if (loss < least) {
          least = loss;
          pick = t;
        }
      }
      if (pick == chosen.size()) return chosen;
      chosen[pick] = false;
    }
    return chosen;
  }

  struct Node {
    Set in;
    Set out;
    double at_most = 0;
    std::size_t split = 0;  ///< the thing to decide next
    bool settled = false;   ///< nothing is left to decide
    bool operator<(const Node& other) const { return at_most < other.at_most; }
  };

  /// The bound of a node and a good set in it: prices are tried until the set just fits on one side and just not on the
  /// other.
  Node look(Set in, Set out, double low_price, double high_price, int k, Point& best) const {
    Node node{std::move(in), std::move(out), std::numeric_limits<double>::infinity()};
    Corner fits;
    Corner over;
    bool have_fit = false;
    bool have_over = false;
    const auto try_price = [&](double price) {
      auto found = at_price(price, node.in, node.out);
      // Forced things were free: their price is paid here.
      node.at_most = std::min(node.at_most, found.value + price * (k - found.weight));
      const bool fit = found.weight <= k;
      auto& here = fit ? fits : over;
      here = std::move(found);
      (fit ? have_fit : have_over) = true;
      return fit;
    };
    const auto keep = [&](const Set& set) {
      if (weight_of(part_, set) > k) return;
      const double value = value_of(part_, set);
      if (value > best.value + 1e-12 * all_) {
        best.value = value;
        best.chosen = set;
      }
    };
    for (int step = 0; step < 6; ++step) {
      const double price = 0.5 * (low_price + high_price);
      (try_price(price) ? high_price : low_price) = price;
      if (node.at_most <= best.value) break;
    }
    if (have_fit) keep(filled(fits.chosen, node.out, k));
    if (have_over) keep(thinned(over.chosen, node.in, k));
    const Set& ask = have_over ? over.chosen : fits.chosen;
    node.settled = true;
    double most = -1;
    for (std::size_t t = 0; t < ask.size(); ++t) {
      if (node.in[t] || node.out[t] || (have_fit && have_over && fits.chosen[t] == over.chosen[t])) continue;
      double held = 0;
      for (const auto& bundle : part_.bundles) {
        if (std::find(bundle.needs.begin(), bundle.needs.end(), t) != bundle.needs.end()) held += bundle.value;
      }
      if (held > most) {
        most = held;
        node.split = t;
        node.settled = false;
      }
    }
    if (node.settled) {  // the two agree on all that is open: any open thing will do
      for (std::size_t t = 0; t < ask.size() && node.settled; ++t) {
        if (node.in[t] || node.out[t]) continue;
        node.split = t;
        node.settled = false;
      }
    }
    return node;
  }

  Point between(const Corner& below, const Corner& above, int k, const Point& smaller) {
    const double price = (above.value - below.value) / (above.weight - below.weight);
    const double line = below.value + price * (k - below.weight);
    Point best{smaller.value, line, smaller.chosen};
    const auto keep = [&](const Set& set) {
      const double value = value_of(part_, set);
      if (weight_of(part_, set) <= k && value > best.value + 1e-12 * all_) {
        best.value = value;
        best.chosen = set;
      }
    };
    keep(filled(below.chosen, {}, k));
    keep(thinned(above.chosen, {}, k));

    const std::size_t n = part_.weights.size();
    const double enough = 1e-9 * all_;
    std::priority_queue<Node> open;
    open.push(look(Set(n, false), Set(n, false), 0, 2 * price + enough, k, best));
    for (int nodes = 1; !open.empty() && nodes < kNodesEach && nodes_left_ > 0; ++nodes) {
      if (open.top().at_most <= best.value + enough) break;
      const Node node = open.top();
      open.pop();
      if (node.settled) continue;  // its one set has been kept or was no better
      for (const bool take : {true, false}) {
        Set in = node.in;
        Set out = node.out;
        (take ? in : out)[node.split] = true;
        if (weight_of(part_, in) > k) continue;
        --nodes_left_;
        Node child = look(std::move(in), std::move(out), 0, 2 * price + enough, k, best);
        child.at_most = std::min(child.at_most, node.at_most);
        if (child.at_most > best.value + enough) open.push(std::move(child));
      }
    }
    const double rest = open.empty() ? 0.0 : open.top().at_most;
    best.at_most = rest <= best.value + enough ? best.value : std::min(line, rest);
    return best;
  }

  const Part& part_;
  int limit_;
  int whole_;
  double all_ = 0;
  int nodes_left_ = kNodesInAll;
  std::vector<Corner> corners_;
};

std::vector<Point> solve(const Part& part, int limit) {
  const int most = std::min(limit, part.weight());
  if (part.weights.size() <= kExhaustive) return by_all_subsets(part, most);
  return LargePart(part, most).solve();
}

}  // namespace

std::vector<Cover> best_by_weight(std::span<const int> weights, std::span<const Bundle> bundles, int limit) {
  if (std::any_of(weights.begin(), weights.end(), [](int w) { return w < 1; }))
    throw std::logic_error("weights are at least 1");
  const auto parts = parts_of(weights, bundles);
  // How much of the limit each part gets: a knapsack over parts, by value for the sets and by bound for the bounds.
  std::vector<double> value{0.0};
  std::vector<double> at_most{0.0};
  std::vector<std::vector<Point>> points;
  std::vector<std::vector<std::size_t>> given;  // by part and total: the weight the part gets
  for (const auto& part : parts) {
    points.push_back(solve(part, limit));
    const auto& mine = points.back();
    const std::size_t total =
        std::min(static_cast<std::size_t>(std::max(limit, 0)), value.size() - 1 + mine.size() - 1);
    std::vector<double> next(total + 1, -1.0);
    std::vector<double> next_most(total + 1, -1.0);
    std::vector<std::size_t> gives(total + 1, 0);
    for (std::size_t a = 0; a < value.size(); ++a) {
      for (std::size_t b = 0; b < mine.size() && a + b <= total; ++b) {
        const double sum = value[a] + mine[b].value;
        if (sum > next[a + b]) {
          next[a + b] = sum;
          gives[a + b] = b;
        }
        next_most[a + b] = std::max(next_most[a + b], at_most[a] + mine[b].at_most);
      }
    }
    value = std::move(next);
    at_most = std::move(next_most);
    given.push_back(std::move(gives));
  }
  std::vector<Cover> curve(value.size());
  for (std::size_t k = 0; k < value.size(); ++k) {
    curve[k].value = value[k];
    curve[k].at_most = std::max(value[k], at_most[k]);
    std::size_t left = k;
    for (std::size_t p = parts.size(); p-- > 0;) {
      const std::size_t gets = given[p][left];
      left -= gets;
      for (std::size_t t = 0; t < parts[p].things.size(); ++t) {
        if (!points[p][gets].chosen[t]) continue;
        curve[k].chosen.insert(curve[k].chosen.end(), parts[p].things[t].begin(), parts[p].things[t].end());
      }
    }
    std::sort(curve[k].chosen.begin(), curve[k].chosen.end());
  }
  return curve;
}

std::vector<std::size_t> best_at_price(std::span<const double> price, std::span<const Bundle> bundles) {
  const auto chosen = best_set(price, bundles);
  std::vector<std::size_t> picked;
  for (std::size_t t = 0; t < chosen.size(); ++t) {
    if (chosen[t]) picked.push_back(t);
  }
  return picked;
}

}  // namespace lathbook::sampling
