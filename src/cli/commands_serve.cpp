// serve
#include <fmt/format.h>
#include <spawn.h>

#include <charconv>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <ostream>

#include "cli/commands.h"
#include "cli/words.h"
#include "http/serve.h"
#include "http/site.h"

namespace lathbook::cli {
namespace {

using reason::Fault;
using reason::FaultKind;

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

/// A page stays open for days: its clock goes on, unless a day was asked for with --today.
http::Clock clock_of(const Request& request, const World& world) {
  const bool fixed = request.today != world.today;
  return {[] { return formatted("%Y-%m-%dT%H:%M:%SZ", true); },
          [fixed, day = request.today] { return fixed ? day : formatted("%Y-%m-%d", false); }};
}

/// Hands the address to the desktop, if there is one. False = the person has to open it.
bool open_in_browser(const std::string& address) {
  if (std::getenv("DISPLAY") == nullptr && std::getenv("WAYLAND_DISPLAY") == nullptr) return false;
  std::string program = "xdg-open";
  std::string argument = address;
  char* const words[] = {program.data(), argument.data(), nullptr};
  pid_t child = 0;
  return posix_spawnp(&child, program.c_str(), nullptr, nullptr, words, environ) == 0;
}

}  // namespace

int run_serve(const Request& request, const World& world) {
  const auto path = find_book(sort_words(request.words, request.book));
  if (!path.ok()) return fail(world, path.faults());
  http::ServeOptions options;
  if (const auto& text = request.options.at("port"); !text.empty()) {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), options.port);
    if (error != std::errc() || end != text.data() + text.size() || options.port < 1024 || options.port > 65535)
      return fail(world, {{"--port", text, "is not a port", "a whole number from 1024 to 65535", FaultKind::kUsage}});
  }
  auto files = http::page_files();
  if (files.empty())
    return fail(world,
                {{"", "", "this program was built without its page", "one built by ./run", FaultKind::kMissing}});
  const auto site = http::Site::open(*path, clock_of(request, world), std::move(files), papers_program());
  if (!site.ok()) return fail(world, site.faults());
  options.ready = [&](const std::string& address, const std::function<void()>&) {
    const bool opened = !request.flags.at("no_open") && open_in_browser(address);
    world.out << (opened ? "Opened in the browser: " : "Open this in a browser on this machine: ") << address
              << "\nCtrl-C ends it.\n"
              << std::flush;
  };
  const auto served = http::serve(**site, options);
  return served.ok() ? 0 : fail(world, served.faults());
}

}  // namespace lathbook::cli
