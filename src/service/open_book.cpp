#include "service/open_book.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <future>
#include <span>
#include <thread>

#include "book/json.h"
#include "book/validate.h"
#include "schema/schema.h"
#include "service/base64.h"
#include "service/known_words.h"

namespace lathbook::service {
namespace {

using reason::Done;
using reason::Fault;
using reason::FaultKind;
using reason::Faults;
using reason::Result;

/// The order of every list in a book: as its ids count, M2 before M10.
void sort_by_id(std::vector<store::RecordText>& records) {
  std::stable_sort(records.begin(), records.end(), [](const store::RecordText& a, const store::RecordText& b) {
    if (a.kind != b.kind) return a.kind < b.kind;
    return a.id.size() != b.id.size() ? a.id.size() < b.id.size() : a.id < b.id;
  });
}

/// Items from a store are in the open form already; a book that does not fit was written by something else. Each body
/// is read, checked and let go in turn: a whole book as JSON would take several times the room and time.
Result<book::Book> items_of(std::span<const store::RecordText> records) {
  book::ItemReader reader;
  book::Book book;
  Faults faults;
  for (const auto& record : records) {
    const bool known = record.kind == "about" || book::find_kind(record.kind) != nullptr;
    if (!known) {
      faults.push_back({record.id, record.kind, "is a kind this program does not know", "", FaultKind::kFile});
      continue;
    }
    auto found = reader.read(book, record.kind, record.id, record.body);
    faults.insert(faults.end(), found.begin(), found.end());
  }
  if (!faults.empty()) return faults;
  return book;
}

/// A large book is read by two hands, each taking half of its text; `about` comes first of all.
Result<book::Book> book_of(const store::ContentsText& contents) {
  constexpr std::size_t kWorthTwoHands = 2000;
  const std::span records(contents.records);
  if (records.size() < kWorthTwoHands || std::thread::hardware_concurrency() < 2) return items_of(records);
  std::size_t whole = 0;
  for (const auto& record : records) whole += record.body.size();
  std::size_t middle = 0;
  for (std::size_t read = 0; read < whole / 2; ++middle) read += records[middle].body.size();
  auto later = std::async(std::launch::async, [&] { return items_of(records.subspan(middle)); });
  auto book = items_of(records.first(middle));
  auto rest = later.get();
  if (book.ok() && rest.ok()) {
    book::append_items(*book, std::move(*rest));
    return book;
  }
  auto faults = book.ok() ? Faults{} : book.faults();
  if (!rest.ok()) faults.insert(faults.end(), rest.faults().begin(), rest.faults().end());
  return faults;
}

/// The revision of the step that undo would take back; 0 when there is none. The log is read from its end in growing
/// stretches, since that step is nearly always among the last.
Result<store::Revision> latest_step_in_force(const store::Store& store) {
  for (std::size_t limit = 32;; limit *= 8) {
    const auto entries = store.history(limit);
    if (!entries.ok()) return entries.faults();
    const auto found = std::find_if(entries->begin(), entries->end(), [](const store::Entry& entry) {
      return entry.verb == store::Verb::kDo && entry.state == store::StepState::kDone;
    });
    if (found != entries->end()) return found->revision;
    if (entries->size() < limit) return store::Revision{0};
  }
}

struct File {
  std::string bytes;
  std::string media_type;
};

/// The documents' bytes of an open form, each checked against its digest.
Result<std::vector<File>> files_of(const Json& form) {
  std::vector<File> files;
  Faults faults;
  std::size_t i = 0;
  for (const auto& one : form.value("files", Json::array())) {
    const auto where = fmt::format("/files/{}", i++);
    auto bytes = from_base64(one["base64"].get_ref<const std::string&>());
    if (!bytes) {
      faults.push_back({where + "/base64", "", "is not base64", "RFC 4648 base64 with padding"});
    } else if (store::sha256_hex(*bytes) != one["sha256"].get_ref<const std::string&>()) {
      faults.push_back({where + "/sha256", one["sha256"].get<std::string>(), "is not the digest of these bytes",
                        store::sha256_hex(*bytes)});
    } else {
      files.push_back({std::move(*bytes), one["media_type"].get<std::string>()});
    }
  }
  if (!faults.empty()) return faults;
  return files;
}

}  // namespace

OpenBook::OpenBook(store::Store opened, store::ContentsText contents, book::Book book)
    : store_(std::move(opened)), contents_(std::move(contents)), book_(std::move(book)) {}

Result<OpenBook> OpenBook::open(const std::filesystem::path& path, store::Mode mode) {
  auto opened = store::Store::open(path, mode);
  if (!opened.ok()) return opened.faults();
  auto contents = opened->read_all_text();
  if (!contents.ok()) return contents.faults();
  auto book = book_of(*contents);
  if (!book.ok()) return reason::within(path.string() + ": ", book.faults());
  return OpenBook(std::move(*opened), std::move(*contents), std::move(*book));
}

Result<OpenBook> OpenBook::create(const std::filesystem::path& path, const Json& open_form, const std::string& label,
                                  const std::string& at) {
  auto book = book::book_from_json(open_form);
  if (!book.ok()) return book.faults();
  auto faults = faults_of(*book);
  if (!faults.empty()) return faults;
  auto files = files_of(open_form);
  if (!files.ok()) return files.faults();

  const Json canonical = book::to_json(*book);
  std::vector<store::Edit> edits = {{"about", "about", canonical["about"]}};
  for (const auto& kind : book::kinds()) {
    const auto list = canonical.find(std::string(kind.list));
    if (list == canonical.end()) continue;
    for (const auto& item : *list) edits.push_back({std::string(kind.name), item["id"].get<std::string>(), item});
  }
  auto made = store::Store::create(path, [&](store::Store& fresh) -> Result<Done> {
    for (const auto& file : *files) {
      const auto kept = fresh.put_blob(file.bytes, file.media_type);
      if (!kept.ok()) return kept.faults();
    }
    const auto applied = fresh.apply(label, at, edits);
    if (!applied.ok()) return applied.faults();
    return Done{};
  });
  if (!made.ok()) return made.faults();
  auto contents = made->read_all_text();
  if (!contents.ok()) return contents.faults();
  auto kept = book_of(*contents);
  if (!kept.ok()) return kept.faults();
  return OpenBook(std::move(*made), std::move(*contents), std::move(*kept));
}

std::optional<Json> OpenBook::item(std::string_view kind, std::string_view id) const {
  const auto wanted = kind == "about" ? std::string_view("about") : id;
  const auto found =
      std::find_if(contents_.records.begin(), contents_.records.end(),
                   [&](const store::RecordText& record) { return record.kind == kind && record.id == wanted; });
  if (found == contents_.records.end()) return std::nullopt;
  return Json::parse(found->body);
}

Result<std::string> OpenBook::next_id(std::string_view kind) const {
  const auto prefix = book::find_kind(kind)->prefix;
  const auto ids = store_.ids_ever_used(kind);
  if (!ids.ok()) return ids.faults();
  int highest = 0;
  for (const auto& id : *ids) {
    int number = 0;
    const auto digits = std::string_view(id).substr(std::min(prefix.size(), id.size()));
    std::from_chars(digits.data(), digits.data() + digits.size(), number);
    highest = std::max(highest, number);
  }
  return fmt::format("{}{}", prefix, highest + 1);
}

Result<Edited> OpenBook::apply(const std::string& label, const Asked& asked, std::vector<store::Edit> edits,
                               std::span<const store::NewBlob> blobs) {
  store::ContentsText next = contents_;
  for (auto& edit : edits) {
    const auto found = std::find_if(next.records.begin(), next.records.end(), [&](const store::RecordText& record) {
      return record.kind == edit.kind && record.id == edit.id;
    });
    if (!edit.after) {
      if (found != next.records.end()) next.records.erase(found);
      continue;
    }
    auto faults = book::book_schema().check_part("/$defs/" + edit.kind, *edit.after, edit.id);
    if (!faults.empty()) return faults;
    edit.after = book::canonical_item(edit.kind, *edit.after);
    // Text that is not UTF-8 is named by the store, which refuses it.
    auto body = edit.after->dump(-1, ' ', false, Json::error_handler_t::replace);
    if (found != next.records.end()) {
      found->body = std::move(body);
    } else {
      next.records.push_back({edit.kind, edit.id, std::move(body), 0});
    }
  }
  sort_by_id(next.records);
  auto book = book_of(next);
  if (!book.ok()) return book.faults();
  auto faults = faults_of(*book);
  if (!faults.empty()) {
    // What was saved of a damaged book may lean on what is lost. Such a book is mended edit by edit: none brings a new
    // fault, each may leave old ones.
    const auto before = faults_of(book_);
    std::erase_if(faults, [&](const Fault& fault) { return std::ranges::count(before, fault) > 0; });
    if (!faults.empty()) return faults;
  }
  auto applied = store_.apply(label, asked.at, edits, contents_.revision, asked.key, blobs);
  if (!applied.ok()) return applied.faults();
  if (applied->again) {
    if (const auto read = reread(); !read.ok()) return read.faults();
    return applied;
  }
  next.revision = applied->revision;
  contents_ = std::move(next);
  book_ = std::move(*book);
  return applied;
}

Result<Done> OpenBook::reread() {
  auto contents = store_.read_all_text();
  if (!contents.ok()) return contents.faults();
  auto book = book_of(*contents);
  if (!book.ok()) return book.faults();
  contents_ = std::move(*contents);
  book_ = std::move(*book);
  return Done{};
}

Result<Edited> OpenBook::undo(const Asked& asked) {
  // The step that made the book is not one to take back: without it there is no book.
  const auto last = latest_step_in_force(store_);
  if (!last.ok()) return last.faults();
  if (*last <= 1) return Fault{store_.path().string(), "", "has nothing to take back", "", FaultKind::kMissing};
  auto applied = store_.undo(asked.at, contents_.revision, asked.key);
  if (!applied.ok()) return applied.faults();
  if (const auto read = reread(); !read.ok()) return read.faults();
  return applied;
}

Result<Edited> OpenBook::redo(const Asked& asked) {
  auto applied = store_.redo(asked.at, contents_.revision, asked.key);
  if (!applied.ok()) return applied.faults();
  if (const auto read = reread(); !read.ok()) return read.faults();
  return applied;
}

Result<Json> OpenBook::open_form(bool with_files) const {
  Json form = book::to_json(book_);
  if (!with_files) return form;
  const auto blobs = store_.blobs();
  if (!blobs.ok()) return blobs.faults();
  Json files = Json::array();
  for (const auto& info : *blobs) {
    auto blob = store_.get_blob(info.sha256);
    if (!blob.ok()) return blob.faults();
    files.push_back({{"sha256", info.sha256}, {"media_type", info.media_type}, {"base64", to_base64(blob->bytes)}});
  }
  if (!files.empty()) form["files"] = std::move(files);
  return form;
}

Faults faults_of(const book::Book& book) {
  auto faults = book::validate(book);
  for (auto& fault : unknown_words(book)) faults.push_back(std::move(fault));
  // A plan can only be judged when its rooms and storeys hang together.
  if (faults.empty()) faults = plan_faults(book);
  return faults;
}

std::string old_copy_told(const std::filesystem::path& kept) {
  return fmt::format(
      "The book was written by an earlier version and has been brought up to date. The file as it was is kept as {} "
      "until you delete it.",
      kept.string());
}

std::optional<std::string> media_type_of(std::string_view bytes) {
  using namespace std::string_view_literals;
  if (bytes.starts_with("\xFF\xD8\xFF"sv)) return "image/jpeg";
  if (bytes.starts_with("\x89PNG\r\n\x1A\n"sv)) return "image/png";
  if (bytes.size() > 12 && bytes.starts_with("RIFF"sv) && bytes.substr(8, 4) == "WEBP"sv) return "image/webp";
  if (bytes.starts_with("%PDF-"sv)) return "application/pdf";
  const bool text = !bytes.empty() && bytes.find('\0') == std::string_view::npos && schema::is_utf8(bytes);
  if (text) return "text/plain";
  return std::nullopt;
}

}  // namespace lathbook::service
