#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "book/words.h"
#include "check/check.h"
#include "papers/papers.h"
#include "papers/plan_drawing.h"

namespace lathbook::papers {
namespace {

/// "3 holes", "2.4 m", "1.2 m²": how much of it.
std::string amount_text(const book::Cut& cut) {
  std::string text = cut.count > 1 ? fmt::format("{} times", cut.count) : "once";
  if (cut.length_m) text += fmt::format(", {:g} m", *cut.length_m);
  if (cut.area_m2) text += fmt::format(", {:g} m²", *cut.area_m2);
  if (cut.diameter_mm) text += fmt::format(", {:g} mm across", *cut.diameter_mm);
  return fmt::format("{}; {:g} min", text, cut.minutes);
}

std::string controls_text(const catalogue::Catalogue& catalogue, const book::Cut& cut) {
  std::string text;
  for (const auto& id : cut.controls) {
    const auto* control = catalogue.find_control(id);
    if (!text.empty()) text += ", ";
    text += control == nullptr ? id : control->name;
  }
  return text.empty() ? "none written down" : text;
}

/// How tightly a brief is set, loosest first, until it fits on two pages.
struct Fit {
  double text_pt;
  double plan_mm;
};
constexpr Fit kFits[] = {{9.2, 78}, {8.6, 62}, {8.0, 52}, {7.4, 44}, {7.0, 36}};

class Brief {
 public:
  Brief(const Source& source, std::size_t index)
      : source_(source),
        house_(source.house),
        book_(house_.book()),
        job_(book_.jobs[index]),
        answer_(check::Checker(house_).job(index, check::Routes::kLookFor)) {
    for (const auto& touched : answer_.touched) met_.insert(touched.material);
    for (const auto& cut : job_.cuts) rooms_.insert(cut.place.room.text);
  }

  [[nodiscard]] Sheet set(const Fit& fit) const {
    auto sheet = sheet_for(source_, fmt::format("Brief for job {}", job_.id.text),
                           "This brief holds for the cuts listed and no others.", fit.text_pt);
    sheet.title(fmt::format("{}  {}", job_.id.text, job_.title));
    sheet.paragraph(fmt::format("{}. To be done by: {}.{}", book_.about.title, book::word(job_.by),
                                job_.wanted_on ? fmt::format(" Wanted on {}.", job_.wanted_on->text()) : ""));
    sheet.paragraph(verdict(), Look::kStrong);
    sheet.paragraph(answer_.sentence);
    plans(sheet, fit.plan_mm);
    cuts(sheet);
    met(sheet);
    nearby(sheet);
    work(sheet);
    something_else(sheet);
    sheet.lines_to_fill({{"Read by (name)", 2}, {"Signature", 2}, {"Date", 1}});
    return sheet;
  }

  [[nodiscard]] std::string name() const { return fmt::format("brief-{}.pdf", job_.id.text); }

 private:
  [[nodiscard]] std::string verdict() const {
    const auto words = first_upper(check::verdict_words(answer_.verdict, job_.by));
    switch (answer_.verdict) {
      case check::Verdict::kMayStart:
      case check::Verdict::kWithPrecautions:
        return words + ".";
      default:
        return fmt::format("Do not start: {}.", check::verdict_words(answer_.verdict, job_.by));
    }
  }

  void plans(Sheet& sheet, double most_mm) const {
    bool legend = false;
    for (const auto& storey : book_.storeys) {
      for (const bool overhead : {false, true}) {
        PlanView view{storey.id, {}, {}, {}, overhead};
        for (std::size_t i = 0; i < job_.cuts.size(); ++i) {
          const auto* room = book::find(book_.rooms, job_.cuts[i].place.room);
          if (room != nullptr && room->storey == storey.id && is_overhead(job_.cuts[i].place.face) == overhead) {
            view.cuts.push_back({&job_.cuts[i], static_cast<int>(i) + 1});
            view.focus.insert(room->id.text);
          }
        }
        bool met_here = false;
        for (std::size_t i = 0; i < book_.materials.size(); ++i) {
          const auto& place = book_.materials[i].place;
          const auto* room = book::find(book_.rooms, place.room);
          if (room == nullptr || room->storey != storey.id || is_overhead(place.face) != overhead) continue;
          const bool shown = met_.contains(i) || (rooms_.contains(place.room.text) && counts_as_asbestos(house_, i));
          if (!shown) continue;
          view.materials.push_back(i);
          if (met_.contains(i)) {
            met_here = true;
            view.focus.insert(place.room.text);
          }
        }
        if (view.cuts.empty() && !met_here) continue;
        if (!legend) {
          sheet.figure(
              kLegendHeightMm, [](Canvas& canvas) { draw_legend(canvas, true); }, "");
          legend = true;
        }
        const double height = plan_height_mm(house_, view, width_mm(source_.size) - 34, most_mm);
        const auto caption =
            fmt::format("{}, {}: the cuts, what they meet, and what else in those rooms must be left alone.",
                        storey.name, overhead ? "overhead, seen from above" : "floors and walls");
        sheet.figure(
            height, [&house = house_, view](Canvas& canvas) { draw_plan(canvas, house, view); }, caption);
      }
    }
  }

  void cuts(Sheet& sheet) const {
    sheet.heading("The work");
    std::vector<Cells> rows;
    const auto& catalogue = house_.knowledge().catalogue;
    int number = 0;
    for (const auto& cut : job_.cuts) {
      const auto* task = catalogue.find_task(cut.task);
      rows.push_back({fmt::format("cut {}", ++number), task == nullptr ? cut.task : task->name,
                      place_text(book_, cut.place), fmt::format("{}, {}", book::word(cut.depth), amount_text(cut)),
                      controls_text(catalogue, cut)});
    }
    if (rows.empty()) {
      sheet.paragraph("No cut is written down for this job, so nothing can be said about what it meets.");
      return;
    }
    sheet.table({{"", 0.6}, {"What", 1.4}, {"Where", 1.8}, {"How deep and how much", 2}, {"Dust kept down by", 2}},
                rows);
  }

  void met(Sheet& sheet) const {
    sheet.heading("What it meets, and what was tested");
    std::vector<Cells> rows;
    for (const auto& touched : answer_.touched) {
      const auto& material = book_.materials[touched.material];
      std::string where = place_text(book_, material.place);
      if (touched.side == fabric::Side::kVoid) where += " (in the void behind)";
      if (touched.side == fabric::Side::kFar) where += " (on the far side)";
      if (touched.certainty == fabric::Certainty::kPossible)
        where += touched.distance_m < 0.005 ? " (perhaps: if it goes deeper than drawn)"
                                            : fmt::format(" (perhaps: {:.2f} m away as drawn)", touched.distance_m);
      std::string standing = first_upper(standing_text(house_, touched.material));
      const auto& found = house_.known(touched.material).belief.found_fibres;
      if (!found.empty()) standing += fmt::format(" ({})", fibres_text(found));
      if (touched.work) standing += "; " + law::as_work(*touched.work);
      rows.push_back(
          {material.id.text, fmt::format("{}: {}", material.name, where), standing, tested_text(book_, material.id)});
    }
    for (const auto& one : answer_.unwritten) {
      rows.push_back({"?", fmt::format("{}, {}", room_name(book_, one.room), face_text(one.face)),
                      "Nothing is written down: look first", "not tested"});
    }
    if (rows.empty()) {
      sheet.paragraph("Nothing that is written down lies in the way of these cuts.");
    } else {
      sheet.table({{"", 0.45}, {"Material and place", 2.4}, {"Standing", 1.8}, {"Tests", 2}}, rows);
    }
  }

  /// What stays presumed or found in the rooms of the job and is not part of the work.
  void nearby(Sheet& sheet) const {
    std::string text;
    for (std::size_t i = 0; i < book_.materials.size(); ++i) {
      const auto& material = book_.materials[i];
      if (met_.contains(i) || !rooms_.contains(material.place.room.text) || !counts_as_asbestos(house_, i)) continue;
      if (!text.empty()) text += "; ";
      text += fmt::format("{} {} ({}): {}", material.id.text, material.name, place_text(book_, material.place),
                          standing_text(house_, i));
    }
    sheet.heading("Leave alone");
    sheet.paragraph(text.empty() ? "Nothing else that counts as asbestos is written down in these rooms." : text + ".");
  }

  void work(Sheet& sheet) const {
    if (answer_.work) {
      sheet.heading("What the law calls it");
      sheet.paragraph(fmt::format("{}.{}", first_upper(law::as_work(*answer_.work)),
                                  answer_.work->rule == nullptr ? "" : " " + answer_.work->rule->reason));
      for (const auto& duty : answer_.work->duties) sheet.item("–", duty.text);
    }
    if (answer_.verdict == check::Verdict::kWithPrecautions) {
      sheet.heading("Precautions, in this order");
      int number = 0;
      for (const auto& step : answer_.precautions) sheet.item(fmt::format("{}.", ++number), step);
    } else if (answer_.verdict != check::Verdict::kMayStart && !answer_.ways.empty()) {
      sheet.heading("Before it can start, one of these");
      for (const auto& way : answer_.ways) sheet.item("–", way.text);
    }
  }

  void something_else(Sheet& sheet) const {
    sheet.heading("If something else turns up");
    sheet.paragraph(fmt::format(
        "Stop. Leave it where it is and touch nothing more: no sweeping, no vacuum cleaner, no further hole. Everyone "
        "out, door shut. Take off dusty clothing at the door and leave it there. Tell the owner, who writes it down "
        "and has it tested. What looks like anything in this brief, or like no material you know, counts as asbestos "
        "until a laboratory or {} says otherwise. Work goes on only with a new brief.",
        house_.knowledge().rules.words.sampler));
  }

  const Source& source_;
  const check::House& house_;
  const book::Book& book_;
  const book::Job& job_;
  check::Answer answer_;
  std::set<std::size_t> met_;
  std::set<std::string> rooms_;
};

}  // namespace

Files brief(const Source& source, std::size_t job) {
  const Brief one(source, job);
  for (std::size_t i = 0; i < std::size(kFits); ++i) {
    const auto sheet = one.set(kFits[i]);
    // A job with more in it than two pages hold even so runs on: leaving something out would be worse.
    if (sheet.pages() > 2 && i + 1 < std::size(kFits)) continue;
    auto pdf = sheet.pdf();
    if (!pdf.ok()) return pdf.faults();
    return std::vector<File>{{one.name(), std::move(*pdf)}};
  }
  return std::vector<File>{};
}

}  // namespace lathbook::papers
