// The commands as a table: what `--help`, the shell completion and the man page say comes from here too.
#pragma once

#include <filesystem>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "cli/cli.h"
#include "reason/fault.h"

namespace lathbook::cli {

/// One command line, sorted.
struct Request {
  std::string command;
  std::vector<std::string> words;
  std::string book;
  std::string colour = "auto";
  std::string today;
  bool json = false;
  bool use_colour = false;
  std::map<std::string, bool> flags;           ///< by Flag::key
  std::map<std::string, std::string> options;  ///< by Flag::key; empty = not given
};

struct Flag {
  std::string name;        ///< "-o,--to" as CLI11 takes it
  std::string key;         ///< in Request::flags or Request::options
  std::string value_name;  ///< empty = a flag without a value
  std::string about;
};

struct Command {
  std::string name;
  std::string about;   ///< one line
  std::string words;   ///< what the loose words are; empty = none are taken
  std::string footer;  ///< examples and what to know
  std::vector<Flag> flags;
  int (*run)(const Request& request, const World& world);
};

/// All commands, in the order a person meets them.
[[nodiscard]] std::span<const Command> commands();

/// Prints the faults and answers the exit status they lead to: 2 for words and values, 1 for the rest.
int fail(const World& world, const reason::Faults& faults);

/// Writes beside the target and renames, so that no half file ever bears its name. A file that is there stays unless
/// `replace`.
[[nodiscard]] reason::Result<reason::Done> write_whole(const std::filesystem::path& path, std::string_view text,
                                                       bool replace);

// One function a command, by file.
int run_new(const Request& request, const World& world);  // commands_edit.cpp
int run_demo(const Request& request, const World& world);
int run_add(const Request& request, const World& world);
int run_set(const Request& request, const World& world);
int run_remove(const Request& request, const World& world);
int run_attach(const Request& request, const World& world);
int run_undo(const Request& request, const World& world);
int run_redo(const Request& request, const World& world);
int run_history(const Request& request, const World& world);
int run_fields(const Request& request, const World& world);
int run_show(const Request& request, const World& world);       // commands_show.cpp
int run_event(const Request& request, const World& world);      // commands_event.cpp
int run_check(const Request& request, const World& world);      // commands_check.cpp
int run_waste(const Request& request, const World& world);      // commands_waste.cpp
int run_timeline(const Request& request, const World& world);   // commands_timeline.cpp
int run_test_plan(const Request& request, const World& world);  // commands_test_plan.cpp
int run_calc(const Request& request, const World& world);       // commands_calc.cpp
int run_export(const Request& request, const World& world);     // commands_file.cpp
int run_import(const Request& request, const World& world);
int run_verify(const Request& request, const World& world);
int run_backup(const Request& request, const World& world);  // commands_keep.cpp
int run_restore(const Request& request, const World& world);
int run_recover(const Request& request, const World& world);
int run_papers(const Request& request, const World& world);       // commands_papers.cpp
int run_read_report(const Request& request, const World& world);  // commands_report.cpp
int run_serve(const Request& request, const World& world);        // commands_serve.cpp
int run_phones(const Request& request, const World& world);
int run_completion(const Request& request, const World& world);  // commands_help.cpp
int run_manual(const Request& request, const World& world);

}  // namespace lathbook::cli
