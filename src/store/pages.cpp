#include "store/pages.h"

#include <sys/stat.h>

#include <algorithm>
#include <bit>
#include <cerrno>
#include <cstring>

#include "store/failure.h"

namespace lathbook::store {
namespace {

constexpr std::size_t kHeaderBytes = 100;
constexpr std::size_t kUsualPageBytes = 4096;  // what a book is made with
constexpr std::size_t kWalHeaderBytes = 32;
constexpr std::size_t kFrameHeaderBytes = 24;
constexpr std::uint64_t kLargestRow = 1ULL << 30U;

std::uint32_t number_at(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < count; ++i) value = value << 8U | static_cast<unsigned char>(bytes[at + i]);
  return value;
}

std::size_t sensible_page_bytes(std::uint32_t told) {
  const std::size_t bytes = told == 1 ? 65536 : told;
  return bytes >= 512 && std::has_single_bit(bytes) ? bytes : kUsualPageBytes;
}

/// A number of one to nine bytes, the high ones first; moves `at` behind it.
std::optional<std::uint64_t> varint(std::string_view bytes, std::size_t& at) {
  std::uint64_t value = 0;
  for (int i = 0; i < 9; ++i) {
    if (at >= bytes.size()) return std::nullopt;
    const auto byte = static_cast<unsigned char>(bytes[at++]);
    if (i == 8) return value << 8U | byte;
    value = value << 7U | (byte & 0x7fU);
    if ((byte & 0x80U) == 0) return value;
  }
  return value;
}

std::int64_t integer(std::string_view bytes) {
  if (bytes.empty()) return 0;
  auto value = static_cast<std::uint64_t>(static_cast<std::int64_t>(static_cast<signed char>(bytes[0])));
  for (std::size_t i = 1; i < bytes.size(); ++i) value = value << 8U | static_cast<unsigned char>(bytes[i]);
  return static_cast<std::int64_t>(value);
}

/// The values of a row from its bytes: their types first, then themselves (section 2.1 of the form).
std::optional<std::vector<Value>> values_of(std::string_view bytes) {
  std::size_t at = 0;
  const auto head = varint(bytes, at);
  if (!head || *head > bytes.size() || *head < at) return std::nullopt;
  std::vector<std::uint64_t> types;
  while (at < *head) {
    const auto type = varint(bytes.substr(0, *head), at);
    if (!type) return std::nullopt;
    types.push_back(*type);
  }
  std::vector<Value> values;
  for (const auto type : types) {
    constexpr std::size_t kWidths[] = {0, 1, 2, 3, 4, 6, 8, 8, 0, 0};
    if (type == 10 || type == 11) return std::nullopt;
    const std::uint64_t width = type >= 12 ? (type - 12) / 2 : kWidths[type];
    if (width > bytes.size() - at) return std::nullopt;
    const auto own = bytes.substr(at, width);
    at += width;
    if (type == 0) {
      values.emplace_back();
    } else if (type == 7) {
      values.emplace_back(std::bit_cast<double>(integer(own)));
    } else if (type == 8 || type == 9) {
      values.emplace_back(static_cast<std::int64_t>(type - 8));
    } else if (type < 7) {
      values.emplace_back(integer(own));
    } else if (type % 2 == 0) {
      values.emplace_back(Bytes{std::string(own)});
    } else {
      values.emplace_back(std::string(own));
    }
  }
  return values;
}

/// The two running sums of a -wal (section 4.2 of the form).
struct WalSum {
  std::uint32_t a = 0;
  std::uint32_t b = 0;
  void add(std::string_view bytes, bool big_endian) {
    const auto word = [&](std::size_t at) {
      const auto value = number_at(bytes, at, 4);
      return big_endian ? value : __builtin_bswap32(value);
    };
    for (std::size_t at = 0; at + 8 <= bytes.size(); at += 8) {
      a += word(at) + b;
      b += word(at + 4) + a;
    }
  }
  [[nodiscard]] bool fits(std::string_view bytes, std::size_t at) const {
    return a == number_at(bytes, at, 4) && b == number_at(bytes, at + 4, 4);
  }
};

}  // namespace

reason::Result<Pages> Pages::open(const std::filesystem::path& path) {
  struct stat about {};
  if (::stat(path.c_str(), &about) != 0) return system_fault(path, "cannot be opened", errno);
  if (!S_ISREG(about.st_mode)) return file_fault(path, "is not an ordinary file");
  Pages pages;
  pages.file_ = std::make_unique<RawFile>(path, RawFile::Lock::kAlone);
  if (!pages.file_->opened()) return system_fault(path, "cannot be opened", EACCES);
  if (pages.file_->busy()) {
    return file_fault(path, "is in use by another program; end that first, then try again",
                      reason::FaultKind::kConflict);
  }
  const auto size = pages.file_->size();
  if (!size) return file_fault(path, "cannot be read: the disk reports an error");
  pages.page_bytes_ = kUsualPageBytes;
  if (const auto head = pages.file_->read(0, kHeaderBytes))
    pages.page_bytes_ = sensible_page_bytes(number_at(*head, 16, 2));
  pages.count_ = static_cast<PageNumber>(*size / static_cast<std::int64_t>(pages.page_bytes_));
  pages.read_wal(path.string() + "-wal");
  if (const auto first = pages.page(1)) {
    pages.count_told_ = number_at(*first, 28, 4);
    pages.schema_told_ = static_cast<int>(number_at(*first, 60, 4));
  }
  return pages;
}

void Pages::read_wal(const std::filesystem::path& path) {
  std::error_code error;
  if (std::filesystem::file_size(path, error) == 0 || error) return;
  auto wal = std::make_unique<RawFile>(path);
  if (!wal->opened()) return;
  const auto size = wal->size();
  const auto head = wal->read(0, kWalHeaderBytes);
  if (!size || !head) {
    wal_cut_ = true;
    return;
  }
  const bool big_endian = (number_at(*head, 0, 4) & 1U) != 0;
  WalSum sum;
  sum.add(std::string_view(*head).substr(0, 24), big_endian);
  if ((number_at(*head, 0, 4) & ~1U) != 0x377f0682U || number_at(*head, 8, 4) != page_bytes_ || !sum.fits(*head, 24)) {
    wal_cut_ = true;
    return;
  }
  const auto salts = head->substr(16, 8);
  const std::size_t frame_bytes = kFrameHeaderBytes + page_bytes_;
  std::map<PageNumber, std::int64_t> begun;
  for (auto at = static_cast<std::int64_t>(kWalHeaderBytes); at + static_cast<std::int64_t>(frame_bytes) <= *size;
       at += static_cast<std::int64_t>(frame_bytes)) {
    const auto frame = wal->read(at, frame_bytes);
    // Other salts: left from before the -wal was last begun anew.
    if (frame && frame->compare(8, 8, salts) != 0) break;
    if (frame) {
      sum.add(std::string_view(*frame).substr(0, 8), big_endian);
      sum.add(std::string_view(*frame).substr(kFrameHeaderBytes), big_endian);
    }
    if (!frame || !sum.fits(*frame, 16)) {
      wal_cut_ = true;
      break;
    }
    begun[number_at(*frame, 0, 4)] = at + static_cast<std::int64_t>(kFrameHeaderBytes);
    if (const auto pages = number_at(*frame, 4, 4); pages != 0) {
      for (const auto& [number, where] : begun) in_wal_[number] = where;
      begun.clear();
      count_ = pages;
    }
  }
  wal_ = std::move(wal);
}

std::optional<std::string> Pages::page(PageNumber number) const {
  if (number < 1 || number > count_) return std::nullopt;
  if (const auto found = in_wal_.find(number); found != in_wal_.end()) return wal_->read(found->second, page_bytes_);
  return file_->read(static_cast<std::int64_t>(number - 1) * static_cast<std::int64_t>(page_bytes_), page_bytes_);
}

std::optional<Node> Pages::node(PageNumber number) const {
  const auto bytes = page(number);
  if (!bytes) return std::nullopt;
  const std::size_t start = number == 1 ? kHeaderBytes : 0;
  const auto type = static_cast<unsigned char>((*bytes)[start]);
  if (type != 2 && type != 5 && type != 10 && type != 13) return std::nullopt;
  const bool leaf = type >= 10;
  Node node;
  node.tree = type == 5 || type == 13 ? Tree::kByRowid : Tree::kByKey;
  const std::size_t cells = number_at(*bytes, start + 3, 2);
  const std::size_t pointers = start + (leaf ? 8 : 12);
  for (std::size_t i = 0; i < cells; ++i) {
    const std::size_t pointer = pointers + 2 * i;
    if (pointer + 2 > page_bytes_) {
      node.whole = false;
      break;
    }
    const std::size_t cell = number_at(*bytes, pointer, 2);
    if (cell < pointers + 2 * cells || cell + 4 > page_bytes_) {
      node.whole = false;
      continue;
    }
    if (!leaf) node.children.push_back(number_at(*bytes, cell, 4));
    if (leaf || node.tree == Tree::kByKey) node.cells.push_back(cell);
  }
  if (!leaf) node.children.push_back(number_at(*bytes, start + 8, 4));
  return node;
}

std::optional<Row> Pages::row(PageNumber number, std::size_t cell) const {
  const auto bytes = page(number);
  if (!bytes) return std::nullopt;
  const auto type = static_cast<unsigned char>((*bytes)[number == 1 ? kHeaderBytes : 0]);
  const Tree tree = type == 5 || type == 13 ? Tree::kByRowid : Tree::kByKey;
  std::size_t at = cell + (type == 2 ? 4 : 0);
  const auto length = varint(*bytes, at);
  if (!length || *length > kLargestRow) return std::nullopt;
  Row row;
  if (tree == Tree::kByRowid) {
    const auto rowid = varint(*bytes, at);
    if (!rowid) return std::nullopt;
    row.rowid = static_cast<std::int64_t>(*rowid);
  }
  const auto whole = payload(*bytes, at, *length, tree);
  if (!whole) return std::nullopt;
  auto values = values_of(*whole);
  if (!values) return std::nullopt;
  row.values = std::move(*values);
  return row;
}

/// How much of a row stays on its page, and the chain of pages with the rest: section 1.6 of the form.
std::optional<std::string> Pages::payload(const std::string& bytes, std::size_t at, std::uint64_t length,
                                          Tree tree) const {
  const std::uint64_t usable = page_bytes_;
  const std::uint64_t most = tree == Tree::kByRowid ? usable - 35 : (usable - 12) * 64 / 255 - 23;
  const std::uint64_t least = (usable - 12) * 32 / 255 - 23;
  std::uint64_t local = length;
  if (length > most) {
    local = least + (length - least) % (usable - 4);
    if (local > most) local = least;
  }
  const std::uint64_t link = local < length ? 4 : 0;
  if (at + local + link > bytes.size()) return std::nullopt;
  std::string whole = bytes.substr(at, local);
  if (link == 0) return whole;
  if (length / (usable - 4) > count_) return std::nullopt;  // more than there are pages
  whole.reserve(length);
  for (PageNumber next = number_at(bytes, at + local, 4); whole.size() < length;) {
    const auto more = page(next);
    if (!more) return std::nullopt;
    whole.append(*more, 4, std::min<std::uint64_t>(usable - 4, length - whole.size()));
    next = number_at(*more, 0, 4);
  }
  return whole;
}

std::optional<std::set<PageNumber>> Pages::free_pages() const {
  const auto first = page(1);
  if (!first) return std::nullopt;
  const auto told = number_at(*first, 36, 4);
  const PageNumber most = std::max(count_, count_told_);
  std::set<PageNumber> found;
  const auto add = [&](PageNumber number) { return number > 1 && number <= most && found.insert(number).second; };
  for (PageNumber trunk = number_at(*first, 32, 4); trunk != 0;) {
    const auto bytes = page(trunk);
    if (!bytes || !add(trunk)) return std::nullopt;
    const auto leaves = number_at(*bytes, 4, 4);
    if (leaves > page_bytes_ / 4 - 2) return std::nullopt;
    for (std::uint32_t i = 0; i < leaves; ++i) {
      if (!add(number_at(*bytes, 8 + 4 * i, 4))) return std::nullopt;
    }
    trunk = number_at(*bytes, 0, 4);
  }
  if (found.size() != told) return std::nullopt;
  return found;
}

}  // namespace lathbook::store
