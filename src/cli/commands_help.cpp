// completion, manual: both written from the table of commands
#include <fmt/format.h>

#include <algorithm>
#include <ostream>
#include <set>

#include "book/json.h"
#include "calc/topic.h"
#include "cli/commands.h"

namespace lathbook::cli {
namespace {

/// "-o,--to" → "--to"
std::string long_name(const Flag& flag) { return flag.name.substr(flag.name.rfind("--")); }

std::string options_of(const Command& command) {
  std::string words = "--json --book --colour --today --help";
  for (const auto& flag : command.flags) words += " " + long_name(flag);
  return words;
}

std::string kinds_and_topics(std::string_view command) {
  std::vector<std::string_view> words;
  if (command == "calc") {
    for (const auto& topic : calc::topics()) words.push_back(topic.name);
  } else if (command == "add" || command == "fields") {
    for (const auto& kind : book::kinds()) words.push_back(kind.name);
  } else if (command == "show") {
    for (const auto& kind : book::kinds()) words.push_back(kind.list);
    words.push_back("plan");
  } else if (command == "completion") {
    words = {"bash", "zsh", "fish"};
  }
  return fmt::format("{}", fmt::join(words, " "));
}

bool names_a_file(const Flag& flag) { return flag.value_name == "FILE" || flag.value_name == "FOLDER"; }

/// `text` inside single quotes of a shell, where `quote` is how that shell writes a quote there.
std::string quoted(std::string_view text, std::string_view quote) {
  std::string out;
  for (const char c : text) {
    if (c == '\'') {
      out += quote;
    } else {
      out += c;
    }
  }
  return out;
}

std::string bash() {
  std::string names;
  std::string cases;
  std::set<std::string> files{"--book"};
  for (const auto& command : commands()) {
    names += (names.empty() ? "" : " ") + command.name;
    cases +=
        fmt::format("    {}) words=\"{} {}\" ;;\n", command.name, options_of(command), kinds_and_topics(command.name));
    for (const auto& flag : command.flags) {
      if (names_a_file(flag)) files.insert(long_name(flag));
    }
  }
  return fmt::format(R"(# Completion of lathbook for bash.
_lathbook() {{
  local word=${{COMP_WORDS[COMP_CWORD]}} words
  if [ "$COMP_CWORD" -eq 1 ]; then
    mapfile -t COMPREPLY < <(compgen -W "{} --help --version" -- "$word")
    return
  fi
  case ${{COMP_WORDS[COMP_CWORD - 1]}} in
    {}) mapfile -t COMPREPLY < <(compgen -f -- "$word"); return ;;
  esac
  case ${{COMP_WORDS[1]}} in
{}    *) words="--help" ;;
  esac
  mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word"; compgen -f -X '!*.lathbook' -- "$word"; compgen -d -- "$word")
}}
complete -o filenames -F _lathbook lathbook
)",
                     names, fmt::join(files, "|"), cases);
}

/// A text of an `_arguments` entry, where brackets and colons end things.
std::string zsh_text(std::string_view text) {
  std::string out;
  for (const char c : quoted(text, "'\\''")) {
    if (c == '[' || c == ']' || c == ':') out += '\\';
    out += c;
  }
  return out;
}

std::string zsh() {
  std::string names;
  std::string cases;
  for (const auto& command : commands()) {
    names += fmt::format("    '{}:{}'\n", command.name, zsh_text(command.about));
    cases += fmt::format("    {}) words_of='{}'; options=(\n", command.name, kinds_and_topics(command.name));
    for (const auto& flag : command.flags) {
      cases += fmt::format("      '{}[{}]{}'\n", long_name(flag), zsh_text(flag.about),
                           flag.value_name.empty()
                               ? ""
                               : fmt::format(":{}:{}", zsh_text(flag.value_name), names_a_file(flag) ? "_files" : " "));
    }
    cases += "    ) ;;\n";
  }
  return fmt::format(R"(#compdef lathbook
# Completion of lathbook for zsh.
_lathbook() {{
  local words_of
  local -a commands options common
  commands=(
{})
  if (( CURRENT == 2 )); then
    _describe command commands
    return
  fi
  case $words[2] in
{}  esac
  common=(
    '--json[Answer as JSON]'
    '--book[The book]:FILE:_files'
    '--colour[Colour]:WHEN:(auto always never)'
    '--today[Answer as if today were this day]:YYYY-MM-DD: '
    '--help[Explain the command]'
  )
  shift words
  (( CURRENT-- ))
  _arguments $options $common "*:word:_lathbook_words $words_of"
}}
_lathbook_words() {{
  compadd -- $@[(r)[^-]*,-1]
  _files -g '*.lathbook'
}}
if [ "$funcstack[1]" = _lathbook ]; then
  _lathbook "$@"
else
  compdef _lathbook lathbook
fi
)",
                     names, cases);
}

std::string fish() {
  std::string out = "# Completion of lathbook for fish.\ncomplete -c lathbook -f\n";
  for (const auto& command : commands()) {
    out += fmt::format("complete -c lathbook -n __fish_use_subcommand -a {} -d '{}'\n", command.name,
                       quoted(command.about, "\\'"));
    const auto words = kinds_and_topics(command.name);
    if (!words.empty())
      out += fmt::format("complete -c lathbook -n '__fish_seen_subcommand_from {}' -a '{}'\n", command.name, words);
    for (const auto& flag : command.flags) {
      out += fmt::format("complete -c lathbook -n '__fish_seen_subcommand_from {}' -l {} -d '{}'{}{}\n", command.name,
                         long_name(flag).substr(2), quoted(flag.about, "\\'"), flag.value_name.empty() ? "" : " -r",
                         names_a_file(flag) ? " -F" : "");
    }
    out += fmt::format(
        "complete -c lathbook -n '__fish_seen_subcommand_from {}' -a '(__fish_complete_suffix .lathbook)'\n",
        command.name);
  }
  return out;
}

/// Text for roff: a backslash, and a dot or quote at the start of a line, mean something there.
std::string roff(std::string_view text) {
  std::string out;
  bool start = true;
  for (const char c : text) {
    if (start && (c == '.' || c == '\'')) out += "\\&";
    if (c == '\\') {
      out += "\\e";
    } else if (c == '-') {
      out += "\\-";
    } else {
      out += c;
    }
    start = c == '\n';
  }
  return out;
}

}  // namespace

int run_completion(const Request& request, const World& world) {
  const std::string shell = request.words.size() == 1 ? request.words.front() : "";
  if (shell == "bash") {
    world.out << bash();
  } else if (shell == "zsh") {
    world.out << zsh();
  } else if (shell == "fish") {
    world.out << fish();
  } else {
    return fail(world, {{"", fmt::format("\"{}\"", shell), "is not a shell this knows", "bash, zsh or fish",
                         reason::FaultKind::kUsage}});
  }
  return 0;
}

int run_manual(const Request& /*request*/, const World& world) {
  world.out << fmt::format(".TH LATHBOOK 1 \"{}\" \"lathbook {}\" \"User commands\"\n", LATHBOOK_DATE,
                           LATHBOOK_VERSION);
  world.out << ".SH NAME\nlathbook \\- the record of an old house that may hold asbestos\n"
               ".SH SYNOPSIS\n.B lathbook\n.I command\n.RI [ word \" ...\"]\n"
               ".SH DESCRIPTION\nLathbook keeps what a house is made of in one file and answers, before each job that "
               "drills, cuts, lifts or strips,\n"
               "whether it may start, and if not, what the cheapest way on is. Nothing leaves the machine.\n"
               "An untested suspect counts as asbestos; only a negative result that covers the piece, or a proven date "
               "after the ban, releases plain work.\n"
               ".SH COMMANDS\n";
  for (const auto& command : commands()) {
    world.out << ".SS " << roff(command.name) << "\n" << roff(command.about) << ".\n";
    if (!command.words.empty()) world.out << "Takes: " << roff(command.words) << ".\n";
    for (const auto& flag : command.flags) {
      world.out << ".TP\n.B " << roff(long_name(flag))
                << (flag.value_name.empty() ? "" : " \\fI" + roff(flag.value_name) + "\\fR") << "\n"
                << roff(flag.about) << ".\n";
    }
    if (!command.footer.empty()) world.out << ".PP\n.nf\n" << roff(command.footer) << "\n.fi\n";
  }
  world.out << ".SH OPTIONS OF EVERY COMMAND\n"
               ".TP\n.B \\-\\-json\nAnswer as JSON.\n"
               ".TP\n.BR \\-\\-book \" \\fIFILE\\fR\"\nThe book's file. Without it, a word ending in .lathbook, or the "
               "only such file in the folder.\n"
               ".TP\n.BR \\-\\-colour \" \\fIWHEN\\fR\"\nauto, always or never. The variable NO_COLOR is heeded.\n"
               ".TP\n.BR \\-\\-today \" \\fIYYYY\\-MM\\-DD\\fR\"\nAnswer as if today were this day.\n"
               ".SH EXIT STATUS\n0 done, or the job may start; 10 it may start with precautions; 11 test first; 12 "
               "have it removed first or go round;\n"
               "13 not by you; 2 the words or values were wrong; 1 something failed.\n"
               ".SH FILES\n.TP\n.I *.lathbook\nOne house: an SQLite 3 database. While it is open, files of the same "
               "name ending in \\-wal and \\-shm lie beside it and belong to it.\n"
               ".SH SEE ALSO\n.BR lathbook\\-open (1)\n"
               ".SH CAUTIONS\nLocal codes and licensed practice come first. Estimates carry a range and are not "
               "medical advice.\n";
  return 0;
}

}  // namespace lathbook::cli
