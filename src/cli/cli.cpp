#include "cli/cli.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <ostream>

#include "cli/commands.h"
#include "cli/text.h"
#include "cli/versions.h"
#include "reason/date.h"

namespace lathbook::cli {
namespace {

constexpr const char* kAbout =
    "Keeps the record of an old house that may hold asbestos, in one file on this machine, and answers before each "
    "job: "
    "may I start, and if not, what is the cheapest way on?";

constexpr const char* kFirstSteps =
    "  lathbook demo house.lathbook         make a demo book to look round in\n"
    "  lathbook check J2 house.lathbook     may job J2 start?\n"
    "  lathbook new mine.lathbook title=\"My house\"\n"
    "  lathbook add storey name=\"Ground floor\" floor_m=0\n"
    "  lathbook fields room                 what a room is described by\n";

/// `lathbook --help`, from the table of commands: the library's own help would run over 80 columns.
std::string help_of_all() {
  Page page(false);
  page.paragraph("lathbook COMMAND [WORDS …]").blank().paragraph(kAbout);
  page.heading("Commands");
  for (const auto& command : commands()) page.entry(command.name, command.about, 12);
  page.heading("First steps");
  return page.text() + kFirstSteps +
         Page(false)
             .blank()
             .paragraph(
                 "lathbook COMMAND --help explains one. Where only one .lathbook file lies in the folder, it need not "
                 "be named.")
             .paragraph("Local codes and licensed practice come first. An estimate is not medical advice.")
             .text();
}

std::string help_of(const Command& command) {
  Page page(false);
  page.paragraph(fmt::format("lathbook {}{}", command.name, command.words.empty() ? "" : " WORDS …"))
      .blank()
      .paragraph(command.about + ".");
  if (!command.words.empty()) page.blank().entry("WORDS", command.words, 7, 0);
  if (!command.footer.empty()) {
    page.blank();
    std::size_t at = 0;
    while (at < command.footer.size()) {
      const auto end = std::min(command.footer.find('\n', at), command.footer.size());
      page.raw(std::string_view(command.footer).substr(at, end - at));
      at = end + 1;
    }
  }
  page.heading("Options");
  for (const auto& flag : command.flags) page.entry(fmt::format("{} {}", flag.name, flag.value_name), flag.about, 20);
  page.entry("--json", "Answer as JSON", 20).entry("--book FILE", "The book's file, whatever its name", 20);
  page.entry("--colour WHEN", "auto, always or never; NO_COLOR is heeded", 20)
      .entry("--today YYYY-MM-DD", "Answer as if today were this day", 20);
  return page.text();
}

/// Every subcommand takes the same few options.
void common(CLI::App& sub, Request& request) {
  sub.add_flag("--json", request.json, "Answer as JSON");
  sub.add_option("--book", request.book, "The book's file (any name)")->type_name("FILE");
  sub.add_option("--colour", request.colour, "Colour: auto, always or never")
      ->check(CLI::IsMember({"auto", "always", "never"}))
      ->type_name("WHEN");
  sub.add_option("--today", request.today, "Answer as if today were this day")->type_name("YYYY-MM-DD");
}

}  // namespace

int run(const std::vector<std::string>& arguments, const World& world) {
  CLI::App app(kAbout, "lathbook");
  app.set_version_flag("--version");
  app.require_subcommand(1);

  Request request;
  request.today = world.today;
  int status = 0;
  for (const auto& command : commands()) {
    // Only the command that is asked for is described: the options of them all take longer than most answers.
    if (arguments.empty() || arguments.front() != command.name) continue;
    auto* sub = app.add_subcommand(command.name, command.about);
    common(*sub, request);
    for (const auto& flag : command.flags) {
      if (flag.value_name.empty()) {
        sub->add_flag(flag.name, request.flags[flag.key], flag.about);
      } else {
        sub->add_option(flag.name, request.options[flag.key], flag.about)->type_name(flag.value_name);
      }
    }
    if (!command.words.empty()) sub->add_option("words", request.words, command.words)->type_name("");
    sub->callback([&request, &world, &status, run_command = command.run, name = command.name] {
      request.command = name;
      request.use_colour =
          request.colour == "always" || (request.colour == "auto" && world.terminal && !world.no_colour);
      if (!reason::Date::parse(request.today)) {
        status = fail(world, {{"--today", request.today, "is not a day of the calendar", "a day as YYYY-MM-DD",
                               reason::FaultKind::kUsage}});
        return;
      }
      status = run_command(request, world);
    });
  }

  try {
    // CLI11 takes the words from the end.
    app.parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
  } catch (const CLI::CallForHelp& help) {
    const auto asked = app.get_subcommands();
    const auto known = commands();
    const auto command = std::find_if(known.begin(), known.end(), [&](const Command& one) {
      return !asked.empty() && one.name == asked.front()->get_name();
    });
    world.out << (command == known.end() ? help_of_all() : help_of(*command));
    return 0;
  } catch (const CLI::CallForVersion&) {
    world.out << versions();
    return 0;
  } catch (const CLI::ParseError& error) {
    if (arguments.empty()) {
      world.out << help_of_all();
      return 2;
    }
    const auto known = commands();
    const bool command =
        std::any_of(known.begin(), known.end(), [&](const Command& one) { return one.name == arguments.front(); });
    if (command || arguments.front().starts_with('-')) {
      world.err << "lathbook: " << error.what() << "\n";
    } else {
      world.err << "lathbook: \"" << arguments.front() << "\" is not a command\n";
    }
    world.err << "`lathbook --help` lists the commands; `lathbook COMMAND --help` explains one.\n";
    return 2;
  }
  return status;
}

int fail(const World& world, const reason::Faults& faults) {
  constexpr std::size_t kMostTold = 100;  // more than anybody mends at one go
  int status = 2;
  std::size_t told = 0;
  for (const auto& fault : faults) {
    if (told++ < kMostTold) world.err << Page(false).item("lathbook:", fault.text(), 0).text();
    if (fault.kind != reason::FaultKind::kUsage && fault.kind != reason::FaultKind::kValue) status = 1;
  }
  if (told > kMostTold) world.err << fmt::format("lathbook: and {} more\n", told - kMostTold);
  return status;
}

}  // namespace lathbook::cli
