// export, import, verify
#include <fmt/format.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <ostream>
#include <system_error>

#include "cli/commands.h"
#include "cli/text.h"
#include "cli/words.h"
#include "schema/schema.h"
#include "service/open_book.h"

namespace lathbook::cli {
namespace {

using reason::Fault;
using reason::FaultKind;
using service::Json;
using service::OpenBook;

}  // namespace

reason::Result<reason::Done> write_whole(const std::filesystem::path& path, std::string_view text, bool replace) {
  std::error_code error;
  if (!replace && std::filesystem::exists(path, error)) {
    return Fault{path.string(), "", "is there already", "another name, or --replace", FaultKind::kConflict};
  }
  auto part = path;
  part += ".part";
  {
    std::ofstream out(part, std::ios::binary | std::ios::trunc);
    out.write(text.data(), static_cast<std::streamsize>(text.size()));
    out.close();
    if (!out) {
      std::filesystem::remove(part, error);
      return Fault{path.string(), "", "cannot be written: the folder is missing or read-only, or the disk is full",
                   "a folder with room that you may write to", FaultKind::kFile};
    }
  }
  std::filesystem::rename(part, path, error);
  if (error) {
    std::error_code ignored;
    std::filesystem::remove(part, ignored);
    return Fault{path.string(), "", fmt::format("cannot be written: {}", error.message()), "", FaultKind::kFile};
  }
  return reason::Done{};
}

int run_export(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  const auto book = OpenBook::open(*path, store::Mode::kReadOnly);
  if (!book.ok()) return fail(world, book.faults());
  const auto form = book->open_form(!request.flags.at("without_files"));
  if (!form.ok()) return fail(world, form.faults());
  const auto text = form->dump(2) + "\n";
  const auto& to = request.options.at("to");
  if (to.empty()) {
    world.out << text;
    return 0;
  }
  const auto written = write_whole(to, text, request.flags.at("replace"));
  if (!written.ok()) return fail(world, written.faults());
  world.err << fmt::format("Wrote {} ({} bytes)\n", to, text.size());
  return 0;
}

int run_import(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (!words.book || words.rest.size() != 1)
    return fail(world, {{"", "", "two names are needed", "the JSON file, and the book to make (ending in .lathbook)",
                         FaultKind::kUsage}});
  const auto& from = words.rest.front();
  std::string text;
  if (from == "-") {
    text.assign(std::istreambuf_iterator<char>(world.in), {});
  } else {
    std::ifstream in(from, std::ios::binary);
    if (!in)
      return fail(world, {{from, "", "cannot be read", "a file in the open form, or - for standard input",
                           FaultKind::kMissing}});
    text.assign(std::istreambuf_iterator<char>(in), {});
  }
  const auto json = schema::parse_json(text, from);
  if (!json.ok()) return fail(world, json.faults());
  const auto made = OpenBook::create(*words.book, *json, "import " + from, world.now);
  if (!made.ok()) return fail(world, made.faults());
  if (request.json) {
    world.out << Json{{"book", words.book->string()}, {"items", made->items().size()}}.dump(2) << "\n";
  } else {
    world.out << fmt::format("Made {} with {} items: {}\n", words.book->string(), made->items().size(),
                             made->book().about.title);
  }
  return 0;
}

int run_verify(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  const auto opened = store::Store::open(*path, store::Mode::kReadOnly);
  if (!opened.ok()) return fail(world, opened.faults());
  auto problems = opened->verify();
  if (!problems.ok()) return fail(world, problems.faults());
  // A sound file can still hold a book that does not hang together, if another program wrote into it.
  if (problems->empty()) {
    const auto book = OpenBook::open(*path, store::Mode::kReadOnly);
    const auto faults = book.ok() ? service::faults_of(book->book()) : book.faults();
    for (const auto& fault : faults) problems->push_back({store::Problem::Weight::kDamage, fault.where, fault.text()});
  }
  bool damaged = false;
  Json list = Json::array();
  Page page(request.use_colour);
  for (const auto& problem : *problems) {
    const bool damage = problem.weight == store::Problem::Weight::kDamage;
    damaged = damaged || damage;
    list.push_back({{"weight", damage ? "damage" : "loose"}, {"where", problem.where}, {"problem", problem.problem}});
    page.item("–", fmt::format("{}{}: {}", damage ? "" : "(loose end) ", problem.where, problem.problem), 0);
  }
  if (request.json) {
    world.out << Json{{"sound", !damaged}, {"problems", std::move(list)}}.dump(2) << "\n";
  } else if (problems->empty()) {
    world.out << fmt::format("{} is sound.\n", path->string());
  } else {
    world.out << page.text();
  }
  return damaged ? 1 : 0;
}

}  // namespace lathbook::cli
