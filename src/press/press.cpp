#include "press/press.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <memory>
#include <optional>
#include <ostream>
#include <system_error>
#include <thread>

#include "catalogue/air_data.h"
#include "catalogue/risk_data.h"
#include "check/house.h"
#include "event/in_book.h"
#include "service/answers.h"
#include "service/open_book.h"
#include "service/photo_answer.h"

namespace lathbook::press {
namespace {

using reason::Fault;
using reason::FaultKind;
namespace fs = std::filesystem;

constexpr std::pair<std::string_view, papers::Section> kSections[] = {{"health", papers::Section::kHealth},
                                                                      {"costs", papers::Section::kCosts},
                                                                      {"people", papers::Section::kPeople},
                                                                      {"photos", papers::Section::kPhotos}};

reason::Result<std::set<papers::Section>> sections(std::string_view text) {
  std::set<papers::Section> found;
  reason::Faults faults;
  while (!text.empty()) {
    const auto comma = text.find(',');
    const auto word = text.substr(0, comma);
    text = comma == std::string_view::npos ? std::string_view{} : text.substr(comma + 1);
    const auto* at = std::find_if(std::begin(kSections), std::end(kSections),
                                  [&](const auto& section) { return section.first == word; });
    if (at == std::end(kSections)) {
      faults.push_back({"--without", std::string(word), "is not a section that can be left out",
                        "health, costs, people, photos", FaultKind::kUsage});
    } else {
      found.insert(at->second);
    }
  }
  if (!faults.empty()) return faults;
  return found;
}

/// Enough for two digits of each percentile, few enough that no paper keeps anybody waiting. Each paper states it.
constexpr std::size_t kDraws = 1024;

std::vector<papers::Happened> happened_in(const book::Book& book, const law::RulePack& rules) {
  event::Settings settings;
  settings.limits = rules.air_limits;
  settings.limits_of = rules.name;
  settings.draws = kDraws;
  settings.wanted_error = 0;  // always so many, so that the same book gives the same figures on any machine
  settings.workers = std::max(1U, std::thread::hardware_concurrency());
  settings.changes = false;
  const event::Tables tables{catalogue::shipped_air_data(), catalogue::shipped_risk_data(), catalogue::shipped()};
  std::vector<papers::Happened> all;
  for (std::size_t i = 0; i < book.events.size(); ++i) {
    if (!book.events[i].imagined) all.push_back({i, event::in_book(book, book.events[i], tables, settings)});
  }
  return all;
}

/// 55 mm wide at 240 dots an inch; so small that 300 of them stay well under 20 MB.
constexpr photo::Wanted kOnPaper{.longest_px = 520, .quality = 78, .most_bytes = 60'000};
constexpr std::size_t kTellFrom = 50;

/// Every picture of the book made ready, by as many threads as there are; the store is read by this one alone.
std::map<std::string, papers::Photo> photos_in(const service::OpenBook& opened, std::ostream& progress) {
  std::vector<std::string> ids;
  for (const auto& document : opened.book().documents) {
    if (document.media_type.starts_with("image/")) ids.push_back(document.id.text);
  }
  std::map<std::string, papers::Photo> all;
  const std::size_t workers = std::max(1U, std::thread::hardware_concurrency());
  const std::size_t at_a_time = 8 * workers;  // large ones are let go again soon
  for (std::size_t from = 0; from < ids.size(); from += at_a_time) {
    const auto count = std::min(at_a_time, ids.size() - from);
    std::vector<reason::Result<store::Blob>> kept;
    std::vector<std::string_view> bytes;  // empty for one that could not be read
    for (std::size_t i = 0; i < count; ++i) {
      kept.push_back(service::photo_bytes(opened, ids[from + i]));
      bytes.emplace_back(kept.back().ok() ? std::string_view(kept.back()->bytes) : std::string_view{});
    }
    auto made = photo::fit_each(bytes, kOnPaper, workers);
    for (std::size_t i = 0; i < count; ++i) {
      papers::Photo photo = !kept[i].ok() ? papers::Photo(kept[i].faults())
                            : !made[i].ok()
                                ? papers::Photo(made[i].faults())
                                : papers::Photo(std::make_shared<const photo::Picture>(std::move(made[i]).value()));
      if (!photo.ok()) progress << fmt::format("{}: {}\n", ids[from + i], photo.faults().front().problem);
      all.emplace(ids[from + i], std::move(photo));
    }
    if (ids.size() >= kTellFrom) progress << fmt::format("photos: {} of {}\n", from + count, ids.size());
  }
  return all;
}

/// Why a kind of paper has nothing on it.
std::string_view why_empty(std::string_view kind) {
  if (kind == "brief") return "no job is open";
  if (kind == "sample-labels" || kind == "custody") return "no sample is waiting for a result";
  if (kind == "exposure") return "nobody was there when something was disturbed, or health is left out";
  if (kind == "waste") return "no piece of waste is waiting to go";
  if (kind == "warning-labels") return "nothing counts as asbestos";
  if (kind == "calendar") return "nothing has a date yet";
  return "nothing to say yet";
}

bool is_kind(std::string_view word) {
  const auto known = papers::kinds();
  return std::any_of(known.begin(), known.end(), [&](const papers::Kind& kind) { return kind.name == word; });
}

Fault cannot_write(const fs::path& path, const std::string& why) {
  return {path.string(), "", "cannot be written: " + why, "a folder with room that you may write to", FaultKind::kFile};
}

}  // namespace

reason::Result<Order> read_order(const std::vector<std::string>& words) {
  Order order{{}, {}, {}, reason::Date{{}}, papers::Size::kA4, {}, false};
  reason::Faults faults;
  bool dated = false;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto& word = words[i];
    if (word == "--force") {
      order.force = true;
      continue;
    }
    if (!word.starts_with("--")) {
      order.which.push_back(word);
      continue;
    }
    if (i + 1 == words.size()) {
      faults.push_back({word, "", "has no value", "", FaultKind::kUsage});
      break;
    }
    const auto& value = words[++i];
    if (word == "--book") {
      order.book = value;
    } else if (word == "--to") {
      order.folder = value;
    } else if (word == "--today") {
      if (const auto day = reason::Date::parse(value)) {
        order.today = *day;
        dated = true;
      } else {
        faults.push_back({word, value, "is not a day of the calendar", "a day as YYYY-MM-DD", FaultKind::kUsage});
      }
    } else if (word == "--paper") {
      if (value == "letter") {
        order.size = papers::Size::kLetter;
      } else if (value != "a4") {
        faults.push_back({word, value, "is not a size of paper", "a4 or letter", FaultKind::kUsage});
      }
    } else if (word == "--without") {
      auto found = sections(value);
      if (found.ok()) {
        order.without = std::move(*found);
      } else {
        faults.insert(faults.end(), found.faults().begin(), found.faults().end());
      }
    } else {
      faults.push_back({word, "", "is not an option", "--to, --paper, --without, --force", FaultKind::kUsage});
    }
  }
  if (order.book.empty()) faults.push_back({"--book", "", "is missing", "the book's file", FaultKind::kUsage});
  if (order.folder.empty())
    faults.push_back({"--to", "", "is missing", "the folder to put the papers into", FaultKind::kUsage});
  if (!dated) faults.push_back({"--today", "", "is missing", "a day as YYYY-MM-DD", FaultKind::kUsage});
  if (!faults.empty()) return faults;
  return order;
}

reason::Result<std::vector<Written>> put(const std::vector<papers::File>& files, const fs::path& folder, bool force) {
  std::error_code error;
  reason::Faults faults;
  for (const auto& file : files) {
    const auto path = folder / file.name;
    if (!force && fs::exists(path, error))
      faults.push_back(
          {path.string(), "", "is there already", "another folder, or --force to replace it", FaultKind::kConflict});
  }
  if (!faults.empty()) return faults;
  std::vector<Written> written;
  for (const auto& file : files) {
    const auto path = folder / file.name;
    fs::create_directories(path.parent_path(), error);
    if (error) return cannot_write(path.parent_path(), error.message());
    auto part = path;
    part += ".part";
    {
      std::ofstream out(part, std::ios::binary | std::ios::trunc);
      out.write(file.bytes.data(), static_cast<std::streamsize>(file.bytes.size()));
      out.close();
      if (!out) {
        fs::remove(part, error);
        return cannot_write(path, "the folder is read-only, or the disk is full");
      }
    }
    fs::rename(part, path, error);
    if (error) {
      std::error_code ignored;
      fs::remove(part, ignored);
      return cannot_write(path, error.message());
    }
    written.push_back({path, file.bytes.size()});
  }
  return written;
}

reason::Result<std::vector<Written>> print(const Order& order, std::ostream& progress) {
  const auto opened = service::OpenBook::open(order.book, store::Mode::kReadOnly);
  if (!opened.ok()) return opened.faults();
  const auto& book = opened->book();

  std::vector<std::string> which;
  std::vector<papers::Only> jobs;
  std::vector<papers::Only> people;
  reason::Faults faults;
  for (const auto& word : order.which) {
    if (book::find(book.jobs, book::JobId{word}) != nullptr) {
      jobs.push_back({book::JobId{word}, {}});
    } else if (book::find(book.people, book::PersonId{word}) != nullptr) {
      people.push_back({{}, book::PersonId{word}});
    } else if (is_kind(word)) {
      which.push_back(word);
    } else {
      std::string names;
      for (const auto& kind : papers::kinds()) names += std::string(kind.name) + ", ";
      faults.push_back({"", word, "is neither a paper nor a job or person of this book", names + "or a job such as J3",
                        FaultKind::kUsage});
    }
  }
  if (!faults.empty()) return faults;
  const auto wanted = [&](std::string_view kind) { return std::find(which.begin(), which.end(), kind) != which.end(); };
  if (!jobs.empty() && !wanted("brief")) which.emplace_back("brief");
  if (!people.empty() && !wanted("exposure")) which.emplace_back("exposure");
  if (which.empty()) {
    for (const auto& kind : papers::kinds()) which.emplace_back(kind.name);
  }

  const auto knowledge = service::knowledge_for(book);
  if (!knowledge.ok()) return knowledge.faults();
  const auto house = check::House::build(book, *knowledge);
  if (!house.ok()) return house.faults();
  papers::Source source{*house,
                        catalogue::shipped_waste_data(house->knowledge().rules.id),
                        {},
                        order.today,
                        opened->revision(),
                        order.size,
                        order.without,
                        {},
                        {}};
  if (!order.without.contains(papers::Section::kPhotos) && (wanted("register") || wanted("handover")))
    source.photos = photos_in(*opened, progress);
  if (!order.without.contains(papers::Section::kHealth) &&
      (wanted("exposure") || wanted("tables") || wanted("handover")))
    source.happened = happened_in(book, house->knowledge().rules);
  for (std::size_t i = 0; i < book.materials.size(); ++i) {
    auto sheet = service::material_sheet(*house, i, order.today);
    source.assessed.push_back(sheet
                                  ? std::optional<papers::Assessed>({std::move(sheet->score), std::move(sheet->advice),
                                                                     std::move(sheet->next_look)})
                                  : std::nullopt);
  }

  const bool takes_a_while = book.materials.size() + source.photos.size() >= kTellFrom * 2;
  std::vector<papers::File> files;
  for (const auto& kind : which) {
    std::vector<papers::Only> runs;
    if (kind == "brief") runs = jobs;
    if (kind == "exposure") runs = people;
    if (runs.empty()) runs.emplace_back();
    for (const auto& only : runs) {
      auto made = papers::make(kind, source, only);
      if (!made.ok()) return made.faults();
      if (takes_a_while) progress << fmt::format("{}: made\n", kind);
      if (made->empty()) progress << fmt::format("{}: left out, {}\n", kind, why_empty(kind));
      files.insert(files.end(), std::make_move_iterator(made->begin()), std::make_move_iterator(made->end()));
    }
  }
  return put(files, order.folder, order.force);
}

}  // namespace lathbook::press
