#include "http/start.h"

#include <fmt/format.h>
#include <spawn.h>
#include <unistd.h>

#include <charconv>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <ostream>
#include <system_error>

#include "http/page_files.h"
#include "http/serve.h"
#include "http/site.h"
#include "reason/date.h"
#include "service/open_book.h"
#include "store/store.h"

namespace lathbook::http {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Faults;

std::string formatted(const char* form, bool utc) {
  const auto when = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  std::tm parts{};
  if (utc) {
    gmtime_r(&when, &parts);
  } else {
    localtime_r(&when, &parts);
  }
  char text[32];
  return {text, std::strftime(text, sizeof text, form, &parts)};
}

/// A page stays open for days: its clock goes on, unless a day was asked for.
Clock clock_of(const std::optional<std::string>& day) {
  return {[] { return formatted("%Y-%m-%dT%H:%M:%SZ", true); },
          [day] { return day ? *day : formatted("%Y-%m-%d", false); }};
}

/// Hands the address to the desktop, if there is one. False = the person has to open it.
bool open_in_browser(const std::string& address) {
  // NOLINTNEXTLINE(concurrency-mt-unsafe): nothing in this program sets a variable
  if (std::getenv("DISPLAY") == nullptr && std::getenv("WAYLAND_DISPLAY") == nullptr) return false;
  std::string program = "xdg-open";
  std::string argument = address;
  char* const words[] = {program.data(), argument.data(), nullptr};
  pid_t child = 0;
  return posix_spawnp(&child, program.c_str(), nullptr, nullptr, words, environ) == 0;
}

std::optional<int> port_of(std::string_view text) {
  int port = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), port);
  if (error != std::errc() || end != text.data() + text.size() || port < 1024 || port > 65535) return std::nullopt;
  return port;
}

}  // namespace

int usual_port(const std::filesystem::path& book) {
  std::error_code error;
  const auto full = std::filesystem::weakly_canonical(book, error);
  const auto name = store::sha256_hex((error ? book : full).string());
  constexpr int kFirst = 20000;
  constexpr unsigned kMany = 10000;
  return kFirst + static_cast<int>(std::stoul(name.substr(0, 7), nullptr, 16) % kMany);
}

reason::Result<Start> read_start(const std::vector<std::string>& words) {
  Start wanted;
  Faults faults;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto& word = words[i];
    if (word == "--no-open") {
      wanted.open_browser = false;
      continue;
    }
    if (word != "--book" && word != "--port" && word != "--day") {
      faults.push_back({"", word, "is not a word known here", "--book, --port, --day, --no-open", FaultKind::kUsage});
      continue;
    }
    if (i + 1 == words.size()) {
      faults.push_back({word, "", "has no value", "", FaultKind::kUsage});
      break;
    }
    const auto& value = words[++i];
    if (word == "--book") {
      wanted.book = value;
    } else if (word == "--day") {
      wanted.day = value;
      if (!reason::Date::parse(value))
        faults.push_back({word, value, "is not a day of the calendar", "a day as YYYY-MM-DD", FaultKind::kUsage});
    } else if (const auto port = port_of(value)) {
      wanted.port = *port;
    } else {
      faults.push_back({word, value, "is not a port", "a whole number from 1024 to 65535", FaultKind::kUsage});
    }
  }
  if (wanted.book.empty()) faults.push_back({"--book", "", "is missing", "the file of the book", FaultKind::kUsage});
  if (!faults.empty()) return faults;
  return wanted;
}

reason::Result<reason::Done> start(const Start& wanted, std::ostream& out) {
  auto files = page_files();
  if (files.empty())
    return Fault{"", "", "this program was built without its page", "one built by ./run", FaultKind::kMissing};
  std::error_code error;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
  const auto site =
      Site::open(wanted.book, clock_of(wanted.day), std::move(files), self.parent_path() / "lathbook-papers");
  if (!site.ok()) return site.faults();
  if (const auto& kept = (*site)->old_copy()) out << service::old_copy_told(*kept) << "\n";
  return serve(**site,
               {wanted.port, usual_port(wanted.book), [&](const std::string& address, const std::function<void()>&) {
                  const bool opened = wanted.open_browser && open_in_browser(address);
                  out << (opened ? "Opened in the browser: " : "Open this in a browser on this machine: ") << address
                      << "\nCtrl-C ends it.\n"
                      << std::flush;
                }});
}

}  // namespace lathbook::http
