// backup, restore, recover
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <nlohmann/json.hpp>
#include <ostream>
#include <system_error>

#include "cli/commands.h"
#include "cli/text.h"
#include "cli/words.h"
#include "service/open_book.h"
#include "store/copies.h"
#include "store/recover.h"

namespace lathbook::cli {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Faults;
using reason::Result;
using service::Json;

/// The first line of a file; nothing when it cannot be read or is empty.
std::optional<std::string> first_line(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::string line;
  if (!in || !std::getline(in, line)) return std::nullopt;
  if (line.ends_with('\r')) line.pop_back();
  if (line.empty()) return std::nullopt;
  return line;
}

Result<std::string> passphrase_in(const std::string& file) {
  auto line = first_line(file);
  if (!line) {
    return Fault{"--passphrase-file", file, "cannot be read, or its first line is empty",
                 "a file whose first line is the passphrase", FaultKind::kUsage};
  }
  return *line;
}

Fault nothing_typed() {
  return {"passphrase", "", "was not given", "what is typed at the terminal, or --passphrase-file FILE",
          FaultKind::kUsage};
}

/// For a new copy: from a file, or asked twice; nothing when the copy is to be a plain one.
Result<std::optional<std::string>> new_passphrase(const Request& request, const World& world) {
  if (const auto& file = request.options.at("passphrase_file"); !file.empty()) {
    auto words = passphrase_in(file);
    if (!words.ok()) return words.faults();
    return std::optional(*words);
  }
  if (!request.flags.at("passphrase")) return std::optional<std::string>();
  const auto once = world.ask_secret ? world.ask_secret("Passphrase for the copy: ") : std::nullopt;
  if (!once) return nothing_typed();
  if (world.ask_secret("The same once more: ") != once)
    return Fault{"passphrase", "", "was not the same both times", "", FaultKind::kUsage};
  return once;
}

/// What backup was asked to do.
struct Target {
  std::filesystem::path file;
  bool in_folder = false;
  std::size_t keep = 0;  ///< 0 = forget none
};

Result<Target> target_of(const Request& request, const World& world, const std::filesystem::path& book, bool locked) {
  Faults faults;
  Target target;
  const auto& to = request.options.at("to");
  if (to.empty())
    faults.push_back(
        {"--to", "", "is missing", "a folder to keep copies in, or the file to copy to", FaultKind::kUsage});
  std::error_code error;
  target.file = to;
  target.in_folder = std::filesystem::is_directory(to, error) || to.ends_with('/');
  if (const auto& keep = request.options.at("keep"); !keep.empty()) {
    const auto [end, bad] = std::from_chars(keep.data(), keep.data() + keep.size(), target.keep);
    if (bad != std::errc() || end != keep.data() + keep.size() || target.keep < 1)
      faults.push_back({"--keep", keep, "is not a number of copies", "a whole number from 1", FaultKind::kUsage});
    if (!target.in_folder && !to.empty())
      faults.push_back(
          {"--keep", "", "needs a folder", "--to a folder that is there, or a name ending in /", FaultKind::kUsage});
  }
  if (!faults.empty()) return faults;
  if (target.in_folder) {
    std::filesystem::create_directories(target.file, error);
    if (error) return Fault{to, "", fmt::format("cannot be made: {}", error.message()), "", FaultKind::kFile};
    target.file /= store::copy_name(book.stem().string(), world.now, locked);
  }
  return target;
}

/// Removes the copies that newer ones stand for, and names them.
Result<std::vector<std::string>> forget(const std::filesystem::path& folder, const std::filesystem::path& book,
                                        std::size_t keep) {
  std::vector<std::string> names;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(folder, error))
    names.push_back(entry.path().filename().string());
  auto gone = store::outdated(names, book.stem().string(), keep);
  for (const auto& name : gone) {
    if (!std::filesystem::remove(folder / name, error) && error) {
      return Fault{(folder / name).string(), "", fmt::format("cannot be removed: {}", error.message()), "",
                   FaultKind::kFile};
    }
  }
  return gone;
}

Json loss_json(const store::Loss& loss) {
  Json json = {{"where", loss.where}, {"problem", loss.problem}};
  if (loss.last_known) json["last_known"] = *loss.last_known;
  if (loss.as_of) json["as_of"] = *loss.as_of;
  return json;
}

std::string loss_text(const store::Loss& loss) {
  std::string name;
  if (loss.last_known && loss.last_known->is_object()) {
    for (const char* field : {"name", "title", "label"}) {
      if (name.empty() && loss.last_known->contains(field) && (*loss.last_known)[field].is_string())
        name = (*loss.last_known)[field].get<std::string>();
    }
  }
  return fmt::format("{}{} {}", loss.where, name.empty() ? "" : fmt::format(" ({})", name), loss.problem);
}

/// Among what is lost may be the result that found asbestos beside the one that did not. The book says so itself, in
/// the notes on the house, where whoever opens it later finds it. Nothing else in it is changed.
constexpr const char* kCaution =
    "Items were lost from this book. Before relying on a clear result in it, hold the results against the laboratory's "
    "papers: one that found asbestos may be among what is lost.";

Result<reason::Done> note_caution(const std::filesystem::path& path, const World& world) {
  auto book = service::OpenBook::open(path, store::Mode::kReadWrite);
  if (!book.ok()) return book.faults();
  auto about = book->item("about", "about").value_or(Json::object());
  const auto notes = about.value("notes", std::string());
  about["notes"] = (notes.empty() ? "" : notes + "\n") + world.now.substr(0, 10) + ": " + kCaution;
  const auto noted = book->apply("note that items were lost", world.now, {{"about", "about", about}});
  if (!noted.ok()) return noted.faults();
  return reason::Done{};
}

bool is_item(const store::Loss& loss) {
  return loss.last_known.has_value() || loss.as_of.has_value() || loss.where == "items";
}

}  // namespace

int run_backup(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  const bool locked = request.flags.at("passphrase") || !request.options.at("passphrase_file").empty();
  const auto target = target_of(request, world, *path, locked);
  if (!target.ok()) return fail(world, target.faults());
  const auto opened = store::Store::open(*path, store::Mode::kReadOnly);
  if (!opened.ok()) return fail(world, opened.faults());
  const auto passphrase = new_passphrase(request, world);
  if (!passphrase.ok()) return fail(world, passphrase.faults());
  const auto copied = store::copy_book(*opened, target->file, *passphrase, request.flags.at("replace"));
  if (!copied.ok()) return fail(world, copied.faults());
  std::vector<std::string> gone;
  if (target->keep > 0) {
    auto forgotten = forget(target->file.parent_path(), *path, target->keep);
    if (!forgotten.ok()) return fail(world, forgotten.faults());
    gone = std::move(*forgotten);
  }
  if (request.json) {
    world.out << Json{{"copied", path->string()}, {"to", target->file.string()}, {"locked", locked}, {"removed", gone}}
                     .dump(2)
              << "\n";
    return 0;
  }
  world.out << fmt::format("Copied {} to {}\n", path->string(), target->file.string());
  if (locked) world.out << "It opens only with its passphrase: without it nobody can, you neither.\n";
  for (const auto& name : gone) world.out << fmt::format("Removed the older copy {}\n", name);
  return 0;
}

int run_restore(const Request& request, const World& world) {
  const auto& to = request.options.at("to");
  Faults faults;
  if (request.words.size() != 1)
    faults.push_back({"", "", "one name is needed", "the copy that `lathbook backup` made", FaultKind::kUsage});
  if (to.empty())
    faults.push_back({"--to", "", "is missing", "the book to make, a file that is not there yet", FaultKind::kUsage});
  if (!faults.empty()) return fail(world, faults);
  const auto& copy = request.words.front();
  std::optional<std::string> passphrase;
  if (store::is_locked(copy)) {
    if (const auto& file = request.options.at("passphrase_file"); !file.empty()) {
      auto words = passphrase_in(file);
      if (!words.ok()) return fail(world, words.faults());
      passphrase = *words;
    } else {
      passphrase = world.ask_secret ? world.ask_secret("Passphrase of the copy: ") : std::nullopt;
      if (!passphrase) return fail(world, {nothing_typed()});
    }
  }
  const auto restored = store::restore(copy, to, passphrase);
  if (!restored.ok()) return fail(world, restored.faults());
  if (request.json) {
    world.out << Json{{"from", copy}, {"book", to}}.dump(2) << "\n";
  } else {
    world.out << fmt::format("Made {} from {}\n", to, copy);
  }
  return 0;
}

int run_recover(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  const auto& to = request.options.at("to");
  if (to.empty())
    return fail(world,
                {{"--to", "", "is missing", "the book to make, a file that is not there yet", FaultKind::kUsage}});
  const auto recovered = store::recover(*path, to, world.now);
  if (!recovered.ok()) return fail(world, recovered.faults());
  const bool items_lost = std::ranges::any_of(recovered->lost, is_item);
  if (items_lost) {
    if (const auto noted = note_caution(to, world); !noted.ok()) fail(world, noted.faults());
  }
  const auto book = service::OpenBook::open(to, store::Mode::kReadOnly);
  const auto hanging = book.ok() ? service::faults_of(book->book()) : book.faults();

  if (request.json) {
    Json lost = Json::array();
    for (const auto& loss : recovered->lost) lost.push_back(loss_json(loss));
    Json leaning = Json::array();
    for (const auto& fault : hanging) leaning.push_back(fault.text());
    world.out << Json{{"from", path->string()},    {"book", to},
                      {"items", recovered->items}, {"papers", recovered->papers},
                      {"steps", recovered->steps}, {"damaged_pages", recovered->bad_pages},
                      {"lost", std::move(lost)},   {"to_mend", std::move(leaning)}}
                     .dump(2)
              << "\n";
    return recovered->lost.empty() ? 0 : 1;
  }
  Page page(request.use_colour);
  page.paragraph(fmt::format("Saved to {}: {} items, {} photos and papers, {} steps of the log.", to, recovered->items,
                             recovered->papers, recovered->steps));
  if (!recovered->bad_pages.empty())
    page.paragraph(fmt::format("{} is damaged on these of its pages: {}.", path->string(), recovered->bad_pages));
  if (recovered->lost.empty()) {
    page.paragraph("Nothing of the book was lost.");
  } else {
    page.heading("Not saved");
    for (const auto& loss : recovered->lost) page.item("–", loss_text(loss));
    if (items_lost) page.blank().paragraph(kCaution);
    page.blank().paragraph(
        "A copy made earlier may still hold it: `lathbook restore`. The damaged file is as it was; "
        "keep it until you have all you need.");
  }
  if (!hanging.empty()) {
    page.heading("To mend");
    for (const auto& fault : hanging) page.item("–", fault.text());
  }
  world.out << page.text();
  return recovered->lost.empty() ? 0 : 1;
}

}  // namespace lathbook::cli
