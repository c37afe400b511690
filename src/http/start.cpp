#include "http/start.h"

#include <fmt/format.h>
#include <spawn.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cstdlib>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>
#include <system_error>

#include "http/page_files.h"
#include "http/serve.h"
#include "http/site.h"
#include "phone/folder.h"
#include "phone/network.h"
#include "phone/qr.h"
#include "reason/date.h"
#include "service/clock.h"
#include "service/open_book.h"
#include "store/store.h"

namespace lathbook::http {
namespace {

using reason::Fault;
using reason::FaultKind;
using reason::Faults;

/// A page stays open for days: its clock goes on, unless a day was asked for.
Clock clock_of(const std::optional<std::string>& day) {
  return {service::now_utc, [day] { return day ? *day : service::today_here(); }};
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
    if (word == "--no-open" || word == "--phone" || word == "--phones" || word == "--json") {
      if (word == "--json") wanted.json = true;
      if (word == "--no-open") wanted.open_browser = false;
      if (word == "--phone") wanted.phone = true;
      if (word == "--phones") wanted.list_phones = true;
      continue;
    }
    if (word != "--book" && word != "--port" && word != "--day" && word != "--revoke") {
      faults.push_back({"", word, "is not a word known here",
                        "--book, --port, --day, --no-open, --phone, --phones, --revoke, --json", FaultKind::kUsage});
      continue;
    }
    if (i + 1 == words.size()) {
      faults.push_back({word, "", "has no value", "", FaultKind::kUsage});
      break;
    }
    const auto& value = words[++i];
    if (word == "--book") {
      wanted.book = value;
    } else if (word == "--revoke") {
      wanted.revoke = value;
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
  if (wanted.book.empty() && !wanted.list_phones && !wanted.revoke)
    faults.push_back({"--book", "", "is missing", "the file of the book", FaultKind::kUsage});
  if (!faults.empty()) return faults;
  return wanted;
}

namespace {

/// What phones are let in by: the person's own folder, this machine's private addresses.
reason::Result<PhoneService> phone_service(const std::filesystem::path& book, const std::vector<assets::Asset>& files,
                                           const Clock& clock) {
  PhoneService service;
  service.addresses = phone::private_addresses();
  if (service.addresses.empty())
    return Fault{"--phone", "", "finds no private address on this machine", "a home network: 192.168…, 10…, fd…",
                 FaultKind::kFile};
  const auto page = std::ranges::find(files, "pair.html", &assets::Asset::name);
  if (page == files.end())
    return Fault{"", "", "this program was built without its page", "one built by ./run", FaultKind::kMissing};
  service.pair_page = page->bytes;
  service.port = usual_port(book);
  const auto folder = phone::usual_folder();
  if (!folder.ok()) return folder.faults();
  auto identity = phone::identity_for(*folder, service.addresses, std::time(nullptr));
  if (!identity.ok()) return identity.faults();
  service.identity = std::move(*identity);
  service.desk = std::make_shared<PhoneDesk>(
      phone::Devices(*folder), fmt::format("https://{}:{}", phone::in_url(service.addresses.front()), service.port),
      service.identity, PhoneDesk::Clock{[] { return std::chrono::steady_clock::now(); }, clock.today});
  return service;
}

/// Where a phone finds the book, for the terminal; the square only where there is one to draw on.
reason::Result<std::string> for_the_phone(const PhoneService& service) {
  const auto code = service.desk->new_code();
  if (!code.ok()) return code.faults();
  std::string text = "\n";
  if (::isatty(STDOUT_FILENO) == 1)
    text += phone::qr_for_terminal((*code)["qr"].get<std::vector<std::string>>()) + "\n";
  text += "For your phone, on this network alone:";
  for (const auto& address : service.addresses)
    text += fmt::format(" https://{}:{}", phone::in_url(address), service.port);
  text += fmt::format(
      "\nIts code, for five minutes: {} (a new one: Phone, on the page)\n"
      "The phone will warn that it does not know this certificate. Go on only if the\n"
      "SHA-256 fingerprint it shows is\n  {}\n  {}\n",
      (*code)["code"].get<std::string>(), service.identity.fingerprint.substr(0, 47),
      service.identity.fingerprint.substr(48));
  return text;
}

reason::Result<reason::Done> tell_phones(const Start& wanted, std::ostream& out) {
  const auto folder = phone::usual_folder();
  if (!folder.ok()) return folder.faults();
  phone::Devices devices(*folder);
  if (wanted.revoke) {
    const auto gone = devices.revoke(*wanted.revoke);
    if (!gone.ok()) return gone.faults();
    if (wanted.json) {
      out << nlohmann::json{{"revoked", gone->id}, {"name", gone->name}}.dump(2) << "\n";
    } else {
      out << fmt::format("{}, {}, is let in no longer.\n", gone->id, gone->name);
    }
    return reason::Done{};
  }
  const auto all = devices.all();
  if (!all.ok()) return all.faults();
  if (wanted.json) {
    auto list = nlohmann::json::array();
    for (const auto& one : *all) list.push_back({{"id", one.id}, {"name", one.name}, {"paired_on", one.paired_on}});
    out << nlohmann::json{{"phones", std::move(list)}}.dump(2) << "\n";
    return reason::Done{};
  }
  if (all->empty()) out << "No phone is paired. lathbook serve --phone shows how.\n";
  for (const auto& one : *all) out << fmt::format("{:<4} {}  {}\n", one.id, one.paired_on, one.name);
  return reason::Done{};
}

}  // namespace

reason::Result<reason::Done> start(const Start& wanted, std::ostream& out) {
  if (wanted.list_phones || wanted.revoke) return tell_phones(wanted, out);
  auto files = page_files();
  if (files.empty())
    return Fault{"", "", "this program was built without its page", "one built by ./run", FaultKind::kMissing};
  const auto clock = clock_of(wanted.day);
  ServeOptions options{.port = wanted.port, .usual_port = usual_port(wanted.book), .ready = {}};
  std::string phone_text;
  std::shared_ptr<PhoneDesk> desk;
  if (wanted.phone) {
    auto service = phone_service(wanted.book, files, clock);
    if (!service.ok()) return service.faults();
    auto text = for_the_phone(*service);
    if (!text.ok()) return text.faults();
    phone_text = std::move(*text);
    desk = service->desk;
    options.phones = std::move(*service);
  }
  std::error_code error;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
  const auto site =
      Site::open(wanted.book, clock, std::move(files), self.parent_path() / "lathbook-papers", std::move(desk));
  if (!site.ok()) return site.faults();
  if (const auto& kept = (*site)->old_copy()) out << service::old_copy_told(*kept) << "\n";
  options.ready = [&](const std::string& address, const std::function<void()>&) {
    const bool opened = wanted.open_browser && open_in_browser(address);
    out << (opened ? "Opened in the browser: " : "Open this in a browser on this machine: ") << address << "\n"
        << phone_text << "Ctrl-C ends it.\n"
        << std::flush;
  };
  return serve(**site, options);
}

}  // namespace lathbook::http
