// read-report
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <ostream>
#include <system_error>

#include "cli/commands.h"
#include "cli/text.h"
#include "cli/words.h"
#include "laboratory/pdf_text.h"
#include "laboratory/reading.h"
#include "service/open_book.h"
#include "service/report_answer.h"

namespace lathbook::cli {
namespace {

using reason::Fault;
using reason::FaultKind;
using service::Json;

/// A word as a shell takes it.
std::string typed(std::string_view word) {
  static constexpr std::string_view kPlain = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_./=:,+-";
  if (!word.empty() && word.find_first_not_of(kPlain) == std::string_view::npos) return std::string(word);
  std::string out = "'";
  for (const char c : word) {
    if (c == '\'') {
      out += "'\\''";
    } else {
      out += c;
    }
  }
  return out + "'";
}

/// A line of a table with its columns moved together.
std::string closed_up(std::string_view line) {
  std::string out;
  for (const char c : line) {
    if (c != ' ' || !out.ends_with("  ")) out += c;
  }
  return out;
}

std::string command_of(const Json& result, const std::string& document, const std::string& book) {
  std::string line = fmt::format("lathbook add result sample={} found={}", result["sample"].get<std::string>(),
                                 result["found"].get<bool>() ? "yes" : "no");
  if (result.contains("fibres")) {
    std::string fibres = "fibres=";
    for (const auto& fibre : result["fibres"]) fibres += (fibres.back() == '=' ? "" : ",") + fibre.get<std::string>();
    line += " " + fibres;
  }
  for (const char* field : {"amount", "reported_on"}) {
    if (result.contains(field)) line += " " + typed(fmt::format("{}={}", field, result[field].get<std::string>()));
  }
  return line + fmt::format(" document={} {}", document, typed(book));
}

reason::Result<std::string> bytes_of(const std::filesystem::path& file) {
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  const laboratory::Limits limits;
  if (!error && size > limits.most_bytes)
    return Fault{file.string(), fmt::format("{} bytes", size), "is too large",
                 fmt::format("a PDF of at most {} bytes", limits.most_bytes)};
  std::ifstream in(file, std::ios::binary);
  if (error || !in)
    return Fault{file.string(), "", "cannot be read", "a laboratory's PDF on this machine", FaultKind::kMissing};
  return std::string(std::istreambuf_iterator<char>(in), {});
}

constexpr std::string_view kSaid[][2] = {{"none detected", "No asbestos detected"},
                                         {"detected", "Asbestos found"},
                                         {"trace", "A trace of asbestos found"},
                                         {"not analysed", "Not analysed: nothing to write down"},
                                         {"unclear", "Unclear: read it yourself"}};

std::string said_in_words(const Json& proposal) {
  std::string words;
  for (const auto& [said, text] : kSaid) {
    if (proposal["said"] == said) words = text;
  }
  std::string fibres;
  for (const auto& fibre : proposal["fibres"]) fibres += (fibres.empty() ? ": " : ", ") + fibre.get<std::string>();
  return words + fibres + ".";
}

void tell_proposal(Page& page, const Json& proposal, const book::Book& book) {
  const auto id = proposal["sample"].get<std::string>();
  const auto* material = book::find(book.materials, book::MaterialId{proposal["material"].get<std::string>()});
  auto name = proposal["named"].get<std::string>();
  if (name == id) name.clear();
  page.heading(fmt::format("{}  {}{}{}", id, name, name.empty() || material == nullptr ? "" : ", ",
                           material == nullptr ? "" : material->name));
  page.paragraph(said_in_words(proposal), 2, Style::kStrong);
  for (const auto& doubt : proposal["doubts"]) page.item("–", doubt.get<std::string>(), 2);
  for (const auto& line : proposal["lines"]) {
    page.paragraph(fmt::format("page {}, line {}: {}", line["page"].get<int>(), line["line"].get<int>(),
                               closed_up(line["text"].get<std::string>())),
                   2, Style::kQuiet);
  }
  if (proposal.contains("has_result"))
    page.paragraph(fmt::format("It has a result already: {}.", proposal["has_result"].get<std::string>()), 2);
  if (proposal.contains("command")) page.raw("  " + proposal["command"].get<std::string>());
}

std::string page_of(const Json& answer, const std::string& file, const book::Book& book, bool colour) {
  Page page(colour);
  page.title(fmt::format("What {} says", file));
  page.paragraph(
      "Proposals, read by machine; nothing is written down. Hold each line against the paper first: the text inside a "
      "PDF need not be what is printed on it.");
  for (const auto& [key, words] :
       {std::pair("reported_on", "Day of the report"), std::pair("analysed_on", "Analysed"),
        std::pair("laboratory", "Laboratory"), std::pair("accreditation", "Accreditation")}) {
    if (answer.contains(key)) page.entry(words, answer[key].get<std::string>(), 19);
  }
  if (answer.contains("attach")) {
    page.heading("To keep the paper with its results, first");
    page.raw("  " + answer["attach"].get<std::string>());
  }
  for (const auto& proposal : answer["proposals"]) tell_proposal(page, proposal, book);
  if (answer["proposals"].empty()) page.blank().paragraph("It names no sample of this book.");
  if (!answer["strangers"].empty()) {
    page.heading("Named there, and no sample of this book");
    for (const auto& one : answer["strangers"]) {
      page.item("–", fmt::format("{} (page {}, line {}: {})", one["name"].get<std::string>(), one["page"].get<int>(),
                                 one["line"].get<int>(), closed_up(one["text"].get<std::string>())));
    }
  }
  if (!answer["not_named"].empty()) {
    std::string ids;
    for (const auto& id : answer["not_named"]) ids += (ids.empty() ? "" : ", ") + id.get<std::string>();
    page.heading("Without a result, and not named there").paragraph(ids, 2);
  }
  page.blank().paragraph("An untested suspect counts as asbestos, and so does one whose report is unclear.");
  return page.text();
}

}  // namespace

int run_read_report(const Request& request, const World& world) {
  const auto words = sort_words(request.words, request.book);
  if (words.rest.size() != 1 || !words.fields.empty())
    return fail(world, {{"", words.fields.empty() ? "" : words.fields.front(), "one report is read at a time",
                         "the PDF's name, and a book ending in .lathbook", FaultKind::kUsage}});
  const auto& file = words.rest.front();
  const auto path = find_book(words);
  if (!path.ok()) return fail(world, path.faults());
  const auto book = service::OpenBook::open(*path, store::Mode::kReadOnly);
  if (!book.ok()) return fail(world, book.faults());
  const auto bytes = bytes_of(file);
  if (!bytes.ok()) return fail(world, bytes.faults());
  const auto text = laboratory::pdf_text(*bytes);
  if (!text.ok()) {
    auto faults = text.faults();
    for (auto& fault : faults) fault.where = file;
    return fail(world, faults);
  }
  const auto next = book->next_id("document");
  if (!next.ok()) return fail(world, next.faults());

  const auto names = service::sample_names(book->book());
  auto answer = service::report_json(book->book(), laboratory::read(*text, names));
  bool records = false;
  for (auto& proposal : answer["proposals"]) {
    if (!proposal.contains("result")) continue;
    proposal["command"] = command_of(proposal["result"], *next, path->string());
    records = true;
  }
  if (records) {
    answer["attach"] =
        fmt::format("lathbook attach {} kind='laboratory report' title='Laboratory report'{} {}", typed(file),
                    answer.contains("reported_on") ? " dated=" + answer["reported_on"].get<std::string>() : "",
                    typed(path->string()));
  }
  world.out << (request.json ? answer.dump(2) + "\n" : page_of(answer, file, book->book(), request.use_colour));
  return 0;
}

}  // namespace lathbook::cli
