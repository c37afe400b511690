#include "check/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <span>

#include "book/money.h"
#include "book/words.h"

namespace lathbook::check {
namespace {

using book::Money;
using reason::Reasons;

/// What is said to everybody, whatever the verdict.
const std::vector<std::string>& usual_cautions() {
  static const std::vector<std::string> kCautions = {
      "If you meet something this book does not name, stop, leave it alone, and write it down first.",
      "Local codes and licensed practice come first. A low probability never releases work."};
  return kCautions;
}

/// Work that takes the material itself out, rather than working near or through it.
bool takes_out(const catalogue::Catalogue& catalogue, std::string_view task) {
  const auto* known = catalogue.find_task(task);
  return known != nullptr && known->kind == catalogue::TaskKind::kRemoval;
}

/// Stricter work asks for more, or lets fewer people do it.
bool stricter(const law::WorkClass& a, const law::WorkClass& b) {
  if (a.outcome != b.outcome) return a.outcome > b.outcome;
  return a.may > b.may;
}

bool identified(const House& house, const Touched& touched) {
  return house.known(touched.material).belief.standing == book::Standing::kIdentified;
}

std::string name_of(const House& house, std::size_t material) {
  const auto& one = house.book().materials[material];
  return fmt::format("{} ({})", one.id.text, one.name);
}

std::string names_of(const House& house, const std::vector<std::size_t>& materials) {
  std::vector<std::string> names;
  for (const auto material : materials) names.push_back(name_of(house, material));
  if (names.size() < 2) return names.empty() ? "" : names.front();
  const auto last = names.back();
  names.pop_back();
  return fmt::format("{} and {}", fmt::join(names, ", "), last);
}

std::string_view without_full_stop(std::string_view text) {
  return text.ends_with('.') ? text.substr(0, text.size() - 1) : text;
}

/// Minutes of work on one legal kind of material.
struct Minutes {
  double longest_person = 0;
  double all_people = 0;
};

}  // namespace

/// What the cuts of each job touch, worked out once; a job asks for its own and for those of its week.
class Checker::Touches {
 public:
  explicit Touches(const House& house)
      : house_(house), by_job_(house.book().jobs.size()), area_by_job_(house.book().jobs.size()) {
    for (std::size_t i = 0; i < house.book().jobs.size(); ++i) {
      const auto& job = house.book().jobs[i];
      if (job.wanted_on && !job.done_on) by_day_.emplace(*job.wanted_on, i);
    }
  }

  const std::vector<fabric::Touch>& of(std::size_t job) {
    auto& held = by_job_[job];
    if (!held) held = fabric::touches(house_.plan(), house_.materials(), house_.book().jobs[job].cuts);
    return *held;
  }

  /// Work on unreleased material of one legal kind (or of all, as the pack counts) in other jobs, wanted within the
  /// days of the pack's limits and done by the same hands: a job may not be split up to keep under a limit.
  Minutes of_other_jobs(std::size_t job, catalogue::LegalKind kind) {
    Minutes minutes;
    const auto& jobs = house_.book().jobs;
    const auto& rules = house_.knowledge().rules;
    const auto window = rules.widest_minutes_window();
    const bool all_kinds = rules.minutes_of_all_kinds();
    if (!jobs[job].wanted_on || window == 0) return minutes;
    const auto first = window ? by_day_.lower_bound(jobs[job].wanted_on->plus_days(1 - *window)) : by_day_.begin();
    const auto last = window ? by_day_.upper_bound(jobs[job].wanted_on->plus_days(*window - 1)) : by_day_.end();
    for (auto at = first; at != last; ++at) {
      const auto other = at->second;
      if (other == job || jobs[other].by != jobs[job].by) continue;
      std::set<std::size_t> cuts;
      for (const auto& touch : of(other)) {
        const auto& known = house_.known(touch.material_index);
        if (!known.released() && (all_kinds || known.family->legal_kind == kind)) cuts.insert(touch.cut);
      }
      double sum = 0;
      for (const auto cut : cuts) sum += jobs[other].cuts[cut].minutes;
      minutes.longest_person += sum;
      minutes.all_people += sum * jobs[other].people;
    }
    return minutes;
  }

  /// m2 of unreleased material that is not friable which this job and all others still to be done take out, licensed
  /// removers' jobs apart; empty where a part of it is not known.
  std::optional<double> area_taken_out(std::size_t job) {
    double sum = 0;
    const auto& jobs = house_.book().jobs;
    for (std::size_t i = 0; i < jobs.size(); ++i) {
      if (i != job && (jobs[i].done_on || jobs[i].by == book::Who::kLicensedRemover)) continue;
      auto& held = area_by_job_[i];
      if (!held) held = area_of(i);
      if (!*held) return std::nullopt;
      sum += **held;
    }
    return sum;
  }

 private:
  std::optional<double> area_of(std::size_t job) {
    std::map<std::size_t, std::vector<std::size_t>> materials_by_cut;
    for (const auto& touch : of(job)) {
      const auto& known = house_.known(touch.material_index);
      if (known.released() || known.family->binding == catalogue::Binding::kFriable) continue;
      if (!takes_out(house_.knowledge().catalogue, house_.book().jobs[job].cuts[touch.cut].task)) continue;
      materials_by_cut[touch.cut].push_back(touch.material_index);
    }
    double sum = 0;
    std::set<std::size_t> counted;  // the same sheet is taken out once, however many cuts say so
    for (const auto& [cut, materials] : materials_by_cut) {
      if (const auto written = house_.book().jobs[job].cuts[cut].area_m2) {
        sum += *written;
        continue;
      }
      for (const auto material : materials) {
        if (!counted.insert(material).second) continue;
        const auto area = house_.area_of(house_.book().materials[material]);
        if (!area) return std::nullopt;
        sum += *area;
      }
    }
    return sum;
  }

  const House& house_;
  std::vector<std::optional<std::vector<fabric::Touch>>> by_job_;
  std::vector<std::optional<std::optional<double>>> area_by_job_;
  std::multimap<book::Date, std::size_t> by_day_;
};

/// One job's way from its cuts to its answer.
class Checker::OneJob {
 public:
  OneJob(const House& house, Touches& touches, std::span<const NotCleared> not_cleared, std::size_t job, Routes routes)
      : house_(house),
        book_(house.book()),
        touches_(touches),
        not_cleared_(not_cleared),
        index_(job),
        job_(book_.jobs[job]),
        routes_(routes) {
    answer_.job = job_.id;
  }

  Answer run() {
    find_touches();
    answer_.unwritten = unwritten_faces(job_.cuts, answer_.touched);
    ask_the_law();
    find_not_cleared();
    far_sides_ = far_sides_to_look_at();
    decide();
    find_what_happened();
    keep_out();
    collect_ways();
    explain();
    answer_.cautions = usual_cautions();
    for (auto& one : into_nothing_drawn()) answer_.cautions.push_back(std::move(one));
    if (answer_.precautions.empty())
      answer_.cautions.insert(answer_.cautions.end(), far_sides_.begin(), far_sides_.end());
    for (const auto& one : rules().cautions) answer_.cautions.push_back(one.text);
    return std::move(answer_);
  }

 private:
  void find_touches() {
    std::map<std::size_t, Touched> by_material;
    for (const auto& touch : touches_.of(index_)) {
      auto [at, fresh] = by_material.try_emplace(touch.material_index);
      auto& one = at->second;
      const bool closer = fresh || touch.certainty < one.certainty ||
                          (touch.certainty == one.certainty && touch.distance_m < one.distance_m);
      if (closer) {
        one.certainty = touch.certainty;
        one.side = touch.side;
        one.distance_m = touch.distance_m;
      }
      one.material = touch.material_index;
      one.released = house_.known(touch.material_index).released();
      if (one.cuts.empty() || one.cuts.back() != touch.cut) one.cuts.push_back(touch.cut);
      const auto& task = job_.cuts[touch.cut].task;
      if (std::find(one.tasks.begin(), one.tasks.end(), task) == one.tasks.end()) one.tasks.push_back(task);
    }
    for (auto& [material, touched] : by_material) answer_.touched.push_back(std::move(touched));
  }

  [[nodiscard]] bool built_after_the_ban(const book::RoomId& room) const {
    const auto years = house_.years_of(room);
    return years && years->from > house_.ban_year();
  }

  /// A face of which nothing is written down is no face without asbestos.
  [[nodiscard]] std::vector<Unwritten> unwritten_faces(const std::vector<book::Cut>& cuts,
                                                       const std::vector<Touched>& all) const {
    std::map<std::pair<std::string, book::Face>, Unwritten> found;
    for (std::size_t i = 0; i < cuts.size(); ++i) {
      const auto& place = cuts[i].place;
      const bool met = std::any_of(all.begin(), all.end(), [&](const Touched& touched) {
        return touched.side == fabric::Side::kNear &&
               std::find(touched.cuts.begin(), touched.cuts.end(), i) != touched.cuts.end();
      });
      if (met || built_after_the_ban(place.room)) continue;
      auto& one = found[{place.room.text, place.face}];
      one.room = place.room;
      one.face = place.face;
      one.cuts.push_back(i);
    }
    std::vector<Unwritten> faces;
    for (auto& [where, unwritten] : found) faces.push_back(std::move(unwritten));
    return faces;
  }

  /// Calls `use(cut, face it is on)` for each cut that goes right through.
  template <class Use>
  void each_through(Use use) const {
    for (const auto& cut : job_.cuts) {
      const auto face = house_.plan().find_face(cut.place.room, cut.place.face);
      if (cut.depth == book::Depth::kThrough && face) use(cut, house_.plan().faces()[*face]);
    }
  }

  /// Walls gone right through behind which nothing is drawn.
  [[nodiscard]] std::set<std::string> into_nothing_drawn() const {
    std::set<std::string> told;
    each_through([&](const book::Cut& cut, const fabric::FaceInfo& face) {
      if (!face.backings.empty() || cut.place.face.kind != book::FaceKind::kWall) return;
      told.insert(fmt::format(
          "Nothing is drawn behind {}: know what is there, outdoors or next door, before going right through.",
          names_of_faces({{.room = cut.place.room, .face = cut.place.face, .cuts = {}}})));
    });
    return told;
  }

  /// What a cut goes right through to, and nobody has looked at. It asks for a look and not for a test: the far side of
  /// a ceiling is often the back of the very board that is written down.
  [[nodiscard]] std::set<std::string> far_sides_to_look_at() const {
    const auto& plan = house_.plan();
    std::set<std::string> told;
    each_through([&](const book::Cut&, const fabric::FaceInfo& face) {
      for (const auto one : face.backings) {
        const auto& other = plan.faces()[plan.backings()[one].other];
        const auto& room = plan.spaces()[other.space].id;
        // A void is one place: who has written down what is in it has looked.
        const auto* space = book::find(book_.rooms, room);
        const bool is_void = space != nullptr && space->kind == book::RoomKind::kVoid;
        const bool written = std::ranges::any_of(book_.materials, [&](const book::Material& material) {
          return material.place.room == room && (is_void || material.place.face == other.face);
        });
        if (written || built_after_the_ban(room)) continue;
        told.insert(fmt::format("It goes right through to {}, of which nothing is written down: look there first.",
                                names_of_faces({{.room = room, .face = other.face, .cuts = {}}})));
      }
    });
    return told;
  }

  void ask_the_law() {
    for (auto& touched : answer_.touched) {
      if (touched.released) continue;
      const auto minutes = minutes_for(touched);
      for (const auto cut : touched.cuts) {
        auto work = law::classify(rules(), question(touched, job_.cuts[cut], minutes));
        if (!touched.work || stricter(work, *touched.work)) touched.work = std::move(work);
      }
    }
    std::stable_sort(answer_.touched.begin(), answer_.touched.end(), [](const Touched& a, const Touched& b) {
      if (a.work.has_value() != b.work.has_value()) return a.work.has_value();
      if (a.work && (stricter(*a.work, *b.work) || stricter(*b.work, *a.work))) return stricter(*a.work, *b.work);
      return a.certainty < b.certainty;
    });
    for (const auto& touched : answer_.touched) {
      if (touched.work && (!answer_.work || stricter(*touched.work, *answer_.work))) answer_.work = touched.work;
    }
  }

  /// The removers themselves go on; and where the very material stands in the job's way, that is told already.
  void find_not_cleared() {
    for (const auto& one : not_cleared_) {
      if (!one.event.empty()) continue;
      if (one.under_way && job_.by == book::Who::kLicensedRemover) continue;
      const bool works_there = std::any_of(job_.cuts.begin(), job_.cuts.end(),
                                           [&](const book::Cut& cut) { return cut.place.room == one.room; });
      const bool told = std::any_of(answer_.touched.begin(), answer_.touched.end(), [&](const Touched& touched) {
        return touched.material == one.material && touched.work && touched.work->may == law::May::kNo;
      });
      if (works_there && !told) answer_.not_cleared.push_back(one);
    }
  }

  /// A job that might go on otherwise does not in a room where something was disturbed and nobody has cleared it. One
  /// that a removal holds up waits for the certificate after that, which clears the room of both.
  void find_what_happened() {
    if (answer_.verdict >= Verdict::kRemoveFirst || job_.by == book::Who::kLicensedRemover) return;
    for (const auto& one : not_cleared_) {
      if (one.event.empty()) continue;
      const bool works_there = std::any_of(job_.cuts.begin(), job_.cuts.end(),
                                           [&](const book::Cut& cut) { return cut.place.room == one.room; });
      if (works_there) answer_.not_cleared.push_back(one);
    }
  }

  /// Whatever it meets, nobody works in a room that is not cleared.
  void keep_out() {
    if (answer_.not_cleared.empty() || answer_.verdict >= Verdict::kRemoveFirst) return;
    answer_.verdict = Verdict::kRemoveFirst;
    answer_.precautions.clear();
    const auto& first = answer_.not_cleared.front();
    const auto* room = book::find(book_.rooms, first.room);
    answer_.sentence = fmt::format("{} ({}) is not cleared: {}.", first.room.text, room == nullptr ? "" : room->name,
                                   without_full_stop(first.why));
  }

  Minutes minutes_for(const Touched& touched) {
    Minutes minutes;
    for (const auto cut : touched.cuts) minutes.longest_person += job_.cuts[cut].minutes;
    minutes.all_people = minutes.longest_person * job_.people;
    const auto more = touches_.of_other_jobs(index_, house_.known(touched.material).family->legal_kind);
    minutes.longest_person += more.longest_person;
    minutes.all_people += more.all_people;
    return minutes;
  }

  [[nodiscard]] std::vector<std::size_t> unreleased() const {
    std::vector<std::size_t> materials;
    for (const auto& touched : answer_.touched) {
      if (!touched.released) materials.push_back(touched.material);
    }
    return materials;
  }

  [[nodiscard]] std::vector<const Touched*> blockers() const {
    std::vector<const Touched*> found;
    for (const auto& touched : answer_.touched) {
      if (touched.work && touched.work->may == law::May::kNo) found.push_back(&touched);
    }
    return found;
  }

  void decide() {
    const auto met = unreleased();
    const auto blocking = blockers();
    if (job_.cuts.empty()) {
      answer_.verdict = Verdict::kTestFirst;
      answer_.sentence =
          "Nothing is written down of what this job drills, cuts, lifts or opens, so nothing can be said of it yet.";
      return;
    }
    if (blocking.empty() && !answer_.unwritten.empty()) {
      answer_.verdict = Verdict::kTestFirst;
      answer_.sentence =
          fmt::format("It goes into {}, and nothing is written down of what that is made of: look first.",
                      names_of_faces(answer_.unwritten));
      return;
    }
    if (met.empty()) {
      answer_.verdict = far_sides_.empty() ? Verdict::kMayStart : Verdict::kWithPrecautions;
      answer_.sentence =
          answer_.touched.empty()
              ? "The rooms it works in were built wholly after the ban, and nothing suspect is written down there."
          : far_sides_.empty()
              ? "Nothing it meets counts as asbestos."
              : "Nothing it meets counts as asbestos, as far as anybody has looked: not on its far side.";
      answer_.precautions.assign(far_sides_.begin(), far_sides_.end());
      return;
    }
    if (blocking.empty()) {
      answer_.verdict = Verdict::kWithPrecautions;
      answer_.sentence = fmt::format("It meets {}, which {} as asbestos. The law calls the work {}.",
                                     names_of(house_, met), met.size() == 1 ? "counts" : "count", answer_.work->called);
      // Several materials may ask for the same step; the pack holds the order in which one does them.
      answer_.precautions.assign(far_sides_.begin(), far_sides_.end());
      std::set<std::string> wanted;
      for (const auto& touched : answer_.touched) {
        if (!touched.work) continue;
        for (const auto& step : touched.work->precautions) wanted.insert(step.id);
      }
      for (const auto& step : rules().precautions) {
        if (wanted.contains(step.id)) answer_.precautions.push_back(step.text);
      }
      return;
    }
    std::vector<std::size_t> certain;
    bool is_the_removal = false;
    std::vector<std::size_t> names;
    for (const auto* touched : blocking) {
      names.push_back(touched->material);
      if (!identified(house_, *touched)) continue;
      certain.push_back(touched->material);
      const bool out = std::any_of(touched->tasks.begin(), touched->tasks.end(), [&](const std::string& task) {
        return takes_out(house_.knowledge().catalogue, task);
      });
      is_the_removal = is_the_removal || (out && touched->side == fabric::Side::kNear);
    }
    const auto who = job_.by == book::Who::kHouseholder ? "you"
                     : job_.by == book::Who::kTrade     ? "an ordinary trade"
                                                        : "them";
    if (certain.empty()) {
      answer_.verdict = Verdict::kTestFirst;
      answer_.sentence = fmt::format(
          "It would meet {}, which {} as asbestos until a test shows otherwise; as that, the work is {} and not for "
          "{}.",
          names_of(house_, names), names.size() == 1 ? "counts" : "count", answer_.work->called, who);
    } else {
      answer_.verdict = is_the_removal ? Verdict::kNotByYou : Verdict::kRemoveFirst;
      answer_.sentence =
          fmt::format("{} asbestos was found in {}; this work on it is {} and not for {}.",
                      is_the_removal ? "It takes out what is identified:" : "It goes into what is identified:",
                      names_of(house_, certain), answer_.work->called, who);
    }
  }

  [[nodiscard]] std::string names_of_faces(const std::vector<Unwritten>& faces) const {
    std::vector<std::string> names;
    for (const auto& one : faces) {
      const auto* room = book::find(book_.rooms, one.room);
      names.push_back(fmt::format("{} of {} ({})", one.face.text(), one.room.text, room == nullptr ? "" : room->name));
    }
    return fmt::format("{}", fmt::join(names, ", "));
  }

  void collect_ways() {
    for (const auto& one : answer_.unwritten) {
      WayOn way;
      way.kind = WayKind::kWriteDown;
      way.text = fmt::format(
          "Look at {} and write down what it is made of; what you cannot tell for certain, as the kind it might be.",
          names_of_faces({one}));
      way.command =
          fmt::format("lathbook add material room={} face={} family=… name=…", one.room.text, one.face.text());
      way.at = one;
      way.cost = 0;
      answer_.ways.push_back(std::move(way));
    }
    if (job_.cuts.empty()) {
      WayOn way;
      way.kind = WayKind::kWriteDown;
      way.text = "Write down what it does.";
      way.command = fmt::format("lathbook add {}/cuts task=drill room=… face=… shape=…", job_.id.text);
      way.cost = 0;
      answer_.ways.push_back(std::move(way));
    }
    for (const auto& one : answer_.not_cleared) {
      WayOn way;
      way.kind = WayKind::kAwaitRemoval;
      way.text = one.ask;
      way.command = one.command;
      way.materials.push_back(book_.materials[one.material].id);
      if (one.event.empty()) way.cost = 0;  // a clean-up is paid for besides, and nobody has said how much
      answer_.ways.push_back(std::move(way));
    }
    if (answer_.verdict == Verdict::kMayStart) return;
    test_way();
    if (routes_ == Routes::kLookFor) other_routes();
    if (!blockers().empty()) {
      round_way();
      removal_ways();
      other_hands();
    }
    std::stable_sort(answer_.ways.begin(), answer_.ways.end(), [](const WayOn& a, const WayOn& b) {
      if (a.cost.has_value() != b.cost.has_value()) return a.cost.has_value();
      return a.cost && *a.cost < *b.cost;
    });
  }

  [[nodiscard]] std::string money(Money amount) const { return book::money_text(amount, book_.about.currency); }

  /// A test helps when every material in the way could still be found clear.
  void test_way() {
    std::vector<const Touched*> open;
    for (const auto& touched : answer_.touched) {
      if (touched.released) continue;
      if (identified(house_, touched)) return;
      open.push_back(&touched);
    }
    if (open.empty()) return;
    WayOn way;
    way.kind = WayKind::kTest;
    int samples = 0;
    double clear = 1;
    bool by_others = false;
    std::vector<std::size_t> materials;
    for (const auto* touched : open) {
      const auto& known = house_.known(touched->material);
      const auto& material = book_.materials[touched->material];
      materials.push_back(touched->material);
      way.materials.push_back(material.id);
      samples += std::max(1, known.belief.samples_needed - known.belief.clear_samples);
      clear *= 1 - known.belief.probability;
      by_others = by_others || !house_.may_take_sample(touched->material);
    }
    way.chance_clear = clear;
    if (book_.about.test_each) way.cost = book_.about.test_fixed.value_or(0) + *book_.about.test_each * samples;
    for (const auto& party : book_.parties) {
      if (party.role == "laboratory" && party.lead_days) way.days_from = way.days_to = *party.lead_days;
    }
    const bool settles_it = answer_.unwritten.empty() && answer_.not_cleared.empty();
    way.text = fmt::format("Test {}: {} sample{}{}. If all is clear, {}{}.", names_of(house_, materials), samples,
                           samples == 1 ? "" : "s",
                           by_others ? fmt::format(", taken by {}, not by you", rules().words.sampler) : "",
                           settles_it ? "it may start as plain work" : "only the rest that is open stands in the way",
                           materials.size() > 1 ? "; one find decides it the other way" : "");
    answer_.ways.push_back(std::move(way));
  }

  void round_way() {
    double furthest = 0;
    bool only_near_misses = true;
    for (const auto* touched : blockers()) {
      only_near_misses = only_near_misses && touched->certainty == fabric::Certainty::kPossible;
      furthest = std::max(furthest, fabric::kUncertaintyM - touched->distance_m);
    }
    if (only_near_misses) {
      WayOn way;
      way.kind = WayKind::kGoRound;
      way.text = fmt::format(
          "Move it by at least {:.2f} m away from what it might just meet, or measure where that really lies.",
          std::ceil(furthest * 100) / 100);
      way.cost = 0;
      answer_.ways.push_back(std::move(way));
    }
    if (!job_.cost_elsewhere || routed_) return;
    WayOn way;
    way.kind = WayKind::kGoRound;
    way.text = "Do it another way or in another place, so that it meets nothing suspect.";
    if (job_.cost_plain) way.cost = *job_.cost_elsewhere - *job_.cost_plain;
    answer_.ways.push_back(std::move(way));
  }

  /// The run the job lays, taken where it meets nothing that is not released: over faces that are written down, and,
  /// when that is shorter or the only way, over others that have to be looked at first.
  void other_routes() {
    const auto run = fabric::laid_run(house_.plan(), job_.cuts);
    if (!run || unreleased().empty() || !answer_.not_cleared.empty()) return;
    // Of no use where another cut of the job stays in the way.
    for (const auto& touched : answer_.touched) {
      const bool in_the_way =
          blockers().empty() ? !touched.released : touched.work && touched.work->may == law::May::kNo;
      if (in_the_way && !std::includes(run->cuts.begin(), run->cuts.end(), touched.cuts.begin(), touched.cuts.end()))
        return;
    }
    fabric::RouteRequest request;
    request.from = run->from;
    request.to = run->to;
    request.service.diameter_m = run->diameter_m;
    request.count = 1;
    auto materials = book_.materials;
    std::vector<bool> blocks;
    for (std::size_t i = 0; i < materials.size(); ++i) blocks.push_back(!house_.known(i).released());
    const auto cheapest = [&] {
      auto found = fabric::find_routes(house_.plan(), fabric::MaterialIndex(house_.plan(), materials), blocks, request);
      // An end that lies off its face: the cuts were drawn past it, within what a drawing may be off.
      if (!found.ok() || found->routes.empty()) return std::optional<fabric::Route>();
      return std::optional(std::move(found->routes.front()));
    };
    // A face that is barred stands in the way like a material that covers it.
    const auto bar = [&](auto which) {
      for (const auto& space : house_.plan().spaces()) {
        for (std::size_t face = space.first_face; face < space.first_face + space.face_count; ++face) {
          const auto& info = house_.plan().faces()[face];
          if (info.face.kind == book::FaceKind::kInside || !which(space, face)) continue;
          materials.emplace_back().place = {space.id, info.face, book::WholeFace{}};
          blocks.push_back(true);
        }
      }
    };
    bar([&](const fabric::Space& space, std::size_t) {
      return std::any_of(not_cleared_.begin(), not_cleared_.end(),
                         [&](const NotCleared& one) { return one.room == space.id; });
    });
    auto shortest = cheapest();
    if (!shortest) return;
    auto way = other_route(*run, std::move(*shortest));
    if (!way.other_route->look_at.empty()) {
      bar([&](const fabric::Space& space, std::size_t face) {
        return house_.materials().on_face(face).empty() && !built_after_the_ban(space.id);
      });
      if (auto written = cheapest()) {
        auto other = other_route(*run, std::move(*written));
        if (other.other_route->look_at.empty()) answer_.ways.push_back(std::move(other));
      }
    }
    answer_.ways.push_back(std::move(way));
    routed_ = true;
  }

  WayOn other_route(const fabric::LaidRun& run, fabric::Route route) {
    OtherRoute other;
    other.diameter_m = run.diameter_m;
    other.extra_m = route.length_m - run.length_m;
    other.extra_holes = static_cast<int>(route.holes.size()) - run.holes;
    const auto cuts = fabric::cuts_of(route, {.diameter_m = run.diameter_m});
    std::vector<Touched> touched;
    for (const auto& touch : fabric::touches(house_.plan(), house_.materials(), cuts)) {
      if (touch.side == fabric::Side::kNear) touched.push_back({.cuts = {touch.cut}, .side = touch.side});
    }
    other.look_at = unwritten_faces(cuts, touched);
    for (auto& one : other.look_at) one.cuts.clear();

    // "wall-1 and ceiling of R9 (Back bedroom), then floor of R13 (Loft)"
    std::vector<std::string> rooms;
    for (std::size_t i = 0; i < route.path.size();) {
      const auto& in = route.path[i].room;
      std::vector<std::string> faces;
      for (; i < route.path.size() && route.path[i].room == in; ++i) {
        auto face = route.path[i].face.text();
        if (faces.empty() || faces.back() != face) faces.push_back(std::move(face));
      }
      const auto last = std::move(faces.back());
      faces.pop_back();
      const auto* room = book::find(book_.rooms, in);
      rooms.push_back(fmt::format("{}{}{} of {} ({})", fmt::join(faces, ", "), faces.empty() ? "" : " and ", last,
                                  in.text, room == nullptr ? "" : room->name));
    }
    const auto count_of = [](std::size_t count) {
      return count == 0 ? std::string("no hole") : fmt::format("{} hole{}", count, count == 1 ? "" : "s");
    };
    const auto metres = std::abs(other.extra_m) < 0.05
                            ? std::string("no longer")
                            : fmt::format("{:.1f} m {}", std::abs(other.extra_m), other.extra_m > 0 ? "more" : "less");
    const auto holes = other.extra_holes == 0
                           ? std::string("no more holes")
                           : fmt::format("{} {}", count_of(static_cast<std::size_t>(std::abs(other.extra_holes))),
                                         other.extra_holes > 0 ? "more" : "fewer");
    WayOn way;
    way.kind = WayKind::kGoRound;
    way.text = fmt::format(
        "Lay the run by {}: {:.1f} m with {} through walls and floors; {} and {} than as drawn. It keeps {:g} m off "
        "everything that counts as asbestos.",
        fmt::join(rooms, ", then "), route.length_m, count_of(route.holes.size()), metres, holes,
        fabric::kUncertaintyM);
    if (!other.look_at.empty()) {
      way.text += fmt::format(" Nothing is written down of {}: look there first.", names_of_faces(other.look_at));
    }
    if (job_.cost_elsewhere && job_.cost_plain) way.cost = *job_.cost_elsewhere - *job_.cost_plain;
    other.route = std::move(route);
    way.other_route = std::move(other);
    return way;
  }

  void removal_ways() {
    std::vector<std::size_t> materials;
    for (const auto* touched : blockers()) materials.push_back(touched->material);
    std::set<std::size_t> under_way;
    for (const auto& action : book_.actions) {
      if (action.kind != book::ActionKind::kRemove || action.done_on) continue;
      const auto material = house_.find_material(action.material);
      if (!material || std::find(materials.begin(), materials.end(), *material) == materials.end()) continue;
      under_way.insert(*material);
      WayOn way;
      way.kind = WayKind::kAwaitRemoval;
      way.materials.push_back(action.material);
      way.text =
          fmt::format("The removal of {} ({}) is {}{}. Wait for it, and for the certificate that clears the room.",
                      name_of(house_, *material), action.id.text,
                      action.started_on ? fmt::format("under way since {}", action.started_on->text()) : "decided",
                      action.due_on ? fmt::format(", due {}", action.due_on->text()) : "");
      way.cost = 0;
      answer_.ways.push_back(std::move(way));
    }
    std::erase_if(materials, [&](std::size_t material) { return under_way.contains(material); });
    if (materials.empty()) return;
    WayOn way;
    way.kind = WayKind::kRemove;
    // A few holes in a board may need no licence where the board as a whole does.
    const bool licensed = answer_.work->outcome == law::Outcome::kLicensed ||
                          std::any_of(materials.begin(), materials.end(),
                                      [&](std::size_t material) { return licensed_to_remove(house_, material); });
    const auto& remover = licensed ? rules().words.remover : rules().words.trained;
    way.text = answer_.verdict == Verdict::kNotByYou
                   ? fmt::format("Have the whole of it done by {}.", remover)
                   : fmt::format("Have {} taken out by {} first.", names_of(house_, materials), remover);
    for (const auto material : materials) way.materials.push_back(book_.materials[material].id);
    if (job_.cost_as_asbestos && job_.cost_plain) way.cost = *job_.cost_as_asbestos - *job_.cost_plain;
    for (const auto& party : book_.parties) {
      if (party.role == "remover" && party.lead_days) way.days_from = way.days_to = *party.lead_days;
    }
    answer_.ways.push_back(std::move(way));
  }

  /// Work that is not for a householder may still be for a trade trained for it.
  void other_hands() {
    if (job_.by != book::Who::kHouseholder) return;
    for (auto& touched : answer_.touched) {
      if (touched.released) continue;
      for (const auto cut : touched.cuts) {
        auto asked = question(touched, job_.cuts[cut], minutes_for(touched));
        asked.by = book::Who::kTrade;
        if (law::classify(rules(), asked).may == law::May::kNo) return;
      }
    }
    WayOn way;
    way.kind = WayKind::kBringIn;
    way.text = fmt::format("Have it done as asbestos work by {}.",
                           rules().class_words.at(static_cast<std::size_t>(answer_.work->outcome)).hands);
    if (job_.cost_as_asbestos && job_.cost_plain) way.cost = *job_.cost_as_asbestos - *job_.cost_plain;
    answer_.ways.push_back(std::move(way));
  }

  void explain() {
    for (const auto& touched : answer_.touched) {
      const auto& known = house_.known(touched.material);
      const auto& id = book_.materials[touched.material].id.text;
      if (!known.family->suspect) {
        answer_.reasons.push_back({fmt::format("{} is {}: no suspect", id, known.family->name), "book"});
        continue;
      }
      for (const auto& one : known.belief.reasons)
        answer_.reasons.push_back({fmt::format("{}: {}", id, one.text), one.source});
    }
    std::set<std::string> said;
    for (const auto& touched : answer_.touched) {
      if (!touched.work) continue;
      for (const auto& one : touched.work->reasons) {
        if (said.insert(one.text).second) answer_.reasons.push_back(one);
      }
    }
  }

  [[nodiscard]] law::WorkQuestion question(const Touched& touched, const book::Cut& cut, Minutes minutes) const {
    const auto& known = house_.known(touched.material);
    const auto& material = book_.materials[touched.material];
    return {.family = *known.family,
            .task = *house_.knowledge().catalogue.find_task(cut.task),
            .damage = house_.damage_of(material),
            .fibres = known.belief.found_fibres,
            .minutes_longest_person = minutes.longest_person,
            .minutes_all_people = minutes.all_people,
            .by = job_.by,
            .kept_whole = std::nullopt,
            .released = touched.released,
            .area_m2 = takes_out(house_.knowledge().catalogue, cut.task) && rules().limits_area()
                           ? touches_.area_taken_out(index_)
                           : std::nullopt,
            .region = book_.about.region};
  }

  [[nodiscard]] const law::RulePack& rules() const { return house_.knowledge().rules; }

  const House& house_;
  const book::Book& book_;
  Touches& touches_;
  std::span<const NotCleared> not_cleared_;
  std::size_t index_;
  const book::Job& job_;
  Routes routes_;
  bool routed_ = false;              ///< another route is among the ways
  std::set<std::string> far_sides_;  ///< that are to be looked at first, as told
  Answer answer_;
};

Checker::Checker(const House& house)
    : house_(house), not_cleared_(rooms_not_cleared(house)), touches_(std::make_unique<Touches>(house)) {}
Checker::~Checker() = default;

Answer Checker::job(std::size_t index, Routes routes) {
  return OneJob(house_, *touches_, not_cleared_, index, routes).run();
}

std::vector<Answer> Checker::all() {
  std::vector<Answer> answers;
  answers.reserve(house_.book().jobs.size());
  for (std::size_t i = 0; i < house_.book().jobs.size(); ++i) answers.push_back(job(i));
  return answers;
}

std::string verdict_words(Verdict verdict, book::Who by) {
  switch (verdict) {
    case Verdict::kMayStart:
      return "may start";
    case Verdict::kWithPrecautions:
      return "may start with these precautions";
    case Verdict::kTestFirst:
      return "test first";
    case Verdict::kRemoveFirst:
      return "have it removed first, or go round";
    case Verdict::kNotByYou:
      return by == book::Who::kHouseholder ? "not by you" : "not by them";
  }
  return {};
}

int exit_status(Verdict verdict) {
  switch (verdict) {
    case Verdict::kMayStart:
      return 0;
    case Verdict::kWithPrecautions:
      return 10;
    case Verdict::kTestFirst:
      return 11;
    case Verdict::kRemoveFirst:
      return 12;
    case Verdict::kNotByYou:
      return 13;
  }
  return 1;
}

}  // namespace lathbook::check
