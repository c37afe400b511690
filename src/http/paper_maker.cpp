#include "http/paper_maker.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <fstream>
#include <iterator>
#include <optional>
#include <sstream>
#include <stdexcept>
#include <thread>

namespace lathbook::http {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Result;

constexpr PaperKind kKinds[] = {
    {"register"},       {"brief"}, {"scope"},          {"sample-labels"}, {"custody"},        {"exposure"},
    {"warning-labels"}, {"waste"}, {"calendar", true}, {"tables", true},  {"handover", true},
};
constexpr std::string_view kSections[] = {"health", "costs", "people", "photos"};
constexpr std::chrono::seconds kLongest{60};
constexpr std::chrono::milliseconds kLookEvery{5};
constexpr int kPreviewHeightPx = 1000;

/// A folder nobody else may look into, gone with everything in it when this is.
class PrivateFolder {
 public:
  PrivateFolder() {
    std::string pattern = std::filesystem::temp_directory_path() / "lathbook-XXXXXX";
    if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder can be made");
    path_ = pattern;
  }
  ~PrivateFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  PrivateFolder(const PrivateFolder&) = delete;
  PrivateFolder& operator=(const PrivateFolder&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

std::string read_whole(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// Runs a program to its end, with what it says kept in files of `folder`. Its exit status; empty when it could not be
/// started or had to be stopped.
std::optional<int> run(std::vector<std::string> words, const std::filesystem::path& out,
                       const std::filesystem::path& err) {
  std::vector<char*> arguments;
  for (auto& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_addopen(&files, STDERR_FILENO, err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  // The server holds signals back from its threads; its children must not inherit that.
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t none;
  sigemptyset(&none);
  posix_spawnattr_setsigmask(&attributes, &none);
  posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
  pid_t child = 0;
  const int failed = posix_spawnp(&child, arguments.front(), &files, &attributes, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&files);
  posix_spawnattr_destroy(&attributes);
  if (failed != 0) return std::nullopt;

  const auto give_up = std::chrono::steady_clock::now() + kLongest;
  int status = 0;
  bool in_time = true;
  for (pid_t ended = 0; ended != child;) {
    ended = waitpid(child, &status, in_time ? WNOHANG : 0);
    if (ended < 0 && errno != EINTR) return std::nullopt;
    if (ended != 0) continue;
    if (std::chrono::steady_clock::now() < give_up) {
      std::this_thread::sleep_for(kLookEvery);
    } else {
      in_time = false;
      kill(child, SIGKILL);
    }
  }
  if (!in_time || !WIFEXITED(status) || WEXITSTATUS(status) == 127) return std::nullopt;
  return WEXITSTATUS(status);
}

std::string media_type(const std::string& name) {
  static constexpr std::pair<std::string_view, std::string_view> kTypes[] = {
      {".pdf", "application/pdf"},
      {".csv", "text/csv; charset=utf-8"},
      {".json", "application/json"},
      {".ics", "text/calendar; charset=utf-8"},
  };
  for (const auto& [ending, type] : kTypes) {
    if (name.ends_with(ending)) return std::string(type);
  }
  return "application/octet-stream";
}

/// An order taken apart: what to make, and what to leave out of it.
struct Order {
  std::string which;
  std::vector<std::string> without;
};

bool is_id(std::string_view text, std::string_view prefix) {
  return text.size() > prefix.size() && text.starts_with(prefix) &&
         std::all_of(text.begin() + static_cast<std::ptrdiff_t>(prefix.size()), text.end(),
                     [](unsigned char digit) { return std::isdigit(digit) != 0; });
}

Result<Order> parse(const std::string& text) {
  std::istringstream in(text);
  Order order;
  std::getline(in, order.which, ',');
  const auto kind =
      std::find_if(std::begin(kKinds), std::end(kKinds), [&](const PaperKind& one) { return one.name == order.which; });
  // A job's id asks for its brief, a person's for their exposure record; whether there is one the helper says.
  const bool job = is_id(order.which, "J") || is_id(order.which, "PE");
  if (kind == std::end(kKinds) && !job) {
    std::vector<std::string_view> names;
    for (const auto& one : kKinds) names.push_back(one.name);
    return Fault{"paper", order.which, "is no paper",
                 fmt::format("{}, or the id of a job or person", fmt::join(names, ", ")), FaultKind::kMissing};
  }
  for (std::string section; std::getline(in, section, ',');) {
    const bool known = std::find(std::begin(kSections), std::end(kSections), section) != std::end(kSections);
    if (!known || job || !kind->redactable)
      return Fault{"without", section, "cannot be left out of it",
                   "health, costs, people, photos, of the handover, the tables and the calendar", FaultKind::kUsage};
    order.without.push_back(section);
  }
  std::sort(order.without.begin(), order.without.end());
  order.without.erase(std::unique(order.without.begin(), order.without.end()), order.without.end());
  return order;
}

Fault too_many() {
  return {"papers", "", "are being made: too many asked for at once", "ask again in a moment", FaultKind::kConflict};
}

}  // namespace

/// A place among the few requests that may wait for papers, so that they never hold every thread of the server.
class PaperMaker::Turn {
 public:
  explicit Turn(std::atomic<int>& waiting) : waiting_(waiting), place_(++waiting) {}
  ~Turn() { --waiting_; }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  [[nodiscard]] bool given() const { return place_ <= kMostWaiting; }

 private:
  std::atomic<int>& waiting_;
  int place_;
};

std::span<const PaperKind> paper_kinds() { return kKinds; }

PaperMaker::PaperMaker(std::filesystem::path program, std::filesystem::path book)
    : program_(std::move(program)), book_(std::move(book)) {}
PaperMaker::~PaperMaker() = default;

Result<PaperMaker::Files> PaperMaker::files(const std::string& order, const PaperMoment& moment) {
  const Turn turn(waiting_);
  if (!turn.given()) return too_many();
  const std::lock_guard lock(one_at_a_time_);
  return made(order, moment);
}

Result<PaperMaker::Files> PaperMaker::made(const std::string& order, const PaperMoment& moment) {
  if (moment.revision != moment_.revision || moment.today != moment_.today) {
    made_.clear();
    previews_.clear();
    moment_ = moment;
  }
  if (const auto known = made_.find(order); known != made_.end()) return known->second;
  const auto parsed = parse(order);
  if (!parsed.ok()) return parsed.faults();

  const PrivateFolder folder;
  const auto to = folder.path() / "papers";
  std::vector<std::string> words{program_.string(), "--book",  book_.string(), "--to",
                                 to.string(),       "--today", moment.today};
  if (!parsed->without.empty()) {
    words.emplace_back("--without");
    words.push_back(fmt::format("{}", fmt::join(parsed->without, ",")));
  }
  words.push_back(parsed->which);
  const auto status = run(words, folder.path() / "out", folder.path() / "err");
  if (!status)
    return Fault{"papers", "", "cannot be made: the program that makes them did not start or did not end",
                 "lathbook-papers beside lathbook", FaultKind::kFile};
  if (*status != 0) {
    auto said = read_whole(folder.path() / "err");
    if (const auto last = said.find_last_not_of('\n'); last != std::string::npos) said.resize(last + 1);
    if (const auto line = said.rfind('\n'); line != std::string::npos) said.erase(0, line + 1);
    constexpr std::string_view kName = "lathbook: ";
    if (said.starts_with(kName)) said.erase(0, kName.size());
    return Fault{"papers", order, said, "", *status == 2 ? FaultKind::kMissing : FaultKind::kFile};
  }
  auto files = std::make_shared<std::vector<PaperFile>>();
  if (std::filesystem::exists(to)) {
    for (const auto& entry : std::filesystem::recursive_directory_iterator(to)) {
      if (!entry.is_regular_file()) continue;
      const auto name = std::filesystem::relative(entry.path(), to).generic_string();
      files->push_back({name, media_type(name), read_whole(entry.path())});
    }
  }
  std::sort(files->begin(), files->end(), [](const auto& a, const auto& b) { return a.name < b.name; });
  return made_.emplace(order, std::move(files)).first->second;
}

Result<std::string> PaperMaker::preview(const std::string& order, const std::string& file, int page,
                                        const PaperMoment& moment) {
  const Turn turn(waiting_);
  if (!turn.given()) return too_many();
  const std::lock_guard lock(one_at_a_time_);
  const auto made_files = made(order, moment);
  if (!made_files.ok()) return made_files.faults();
  const auto found = std::find_if((*made_files)->begin(), (*made_files)->end(),
                                  [&](const PaperFile& one) { return one.name == file; });
  if (found == (*made_files)->end() || found->media_type != "application/pdf")
    return Fault{"paper", file, "is no paper with pages", "", FaultKind::kMissing};
  const auto key = fmt::format("{} {} {}", order, file, page);
  if (const auto known = previews_.find(key); known != previews_.end()) return known->second;

  const PrivateFolder folder;
  const auto pdf = folder.path() / "paper.pdf";
  std::ofstream(pdf, std::ios::binary) << found->bytes;
  const auto number = std::to_string(page);
  const auto out = folder.path() / "page.png";
  const auto status =
      run({"pdftoppm", "-png", "-f", number, "-l", number, "-scale-to", std::to_string(kPreviewHeightPx), pdf.string()},
          out, folder.path() / "err");
  if (!status)
    return Fault{"preview", "", "cannot be drawn: pdftoppm is not there", "the package poppler-utils",
                 FaultKind::kFile};
  auto image = read_whole(out);
  if (*status != 0 || image.empty()) return Fault{"page", number, "is not a page of it", "", FaultKind::kMissing};
  return previews_.emplace(key, std::move(image)).first->second;
}

}  // namespace lathbook::http
