// Opening a book and reading all its records, beside SQLite's own C interface reading the same rows of the same file.
#include <benchmark/benchmark.h>
#include <sqlite3.h>

#include <string>
#include <vector>

#include "store/store.h"
#include "store/testing.h"

namespace {

using namespace lathbook::store;
using namespace lathbook::store::testing;

/// A book of `records` materials with bodies of about 400 bytes, made once.
const std::filesystem::path& book_of(int records) {
  static const Folder folder(std::filesystem::temp_directory_path());
  static std::map<int, std::filesystem::path> made;
  auto& path = made[records];
  if (path.empty()) {
    path = folder / (std::to_string(records) + ".lathbook");
    std::vector<Edit> edits;
    for (int i = 1; i <= records; ++i) {
      const auto id = "M" + std::to_string(i);
      Json body = material(id, i);
      body["shape"] = {{"outline", {{0.1, 0.2}, {3.35, 0.2}, {3.35, 2.75}, {0.1, 2.75}}}};
      body["notes"] = std::string(220, 'n');
      edits.push_back({"material", id, std::move(body)});
    }
    got(Store::create(path, [&](Store& store) -> Result<Done> {
      got(store.apply("import", kNow, edits));
      return Done{};
    }));
  }
  return path;
}

/// The peer: open, every column of every row copied out, close.
void sqlite_reads(benchmark::State& state) {
  const auto& path = book_of(static_cast<int>(state.range(0)));
  for (auto _ : state) {
    struct Row {
      std::string kind, id, body;
      std::int64_t revision;
    };
    std::vector<Row> rows;
    sqlite3* database = nullptr;
    sqlite3_stmt* query = nullptr;
    sqlite3_open_v2(path.c_str(), &database, SQLITE_OPEN_READWRITE, nullptr);
    sqlite3_prepare_v2(database, "SELECT kind, id, body, revision FROM records", -1, &query, nullptr);
    const auto text = [&](int i) {
      return std::string(reinterpret_cast<const char*>(sqlite3_column_text(query, i)),
                         static_cast<std::size_t>(sqlite3_column_bytes(query, i)));
    };
    while (sqlite3_step(query) == SQLITE_ROW)
      rows.push_back({text(0), text(1), text(2), sqlite3_column_int64(query, 3)});
    sqlite3_finalize(query);
    sqlite3_close(database);
    if (rows.size() != static_cast<std::size_t>(state.range(0))) state.SkipWithError("rows are missing");
    benchmark::DoNotOptimize(rows);
  }
}

void store_reads_text(benchmark::State& state) {
  const auto& path = book_of(static_cast<int>(state.range(0)));
  for (auto _ : state) {
    const auto store = got(Store::open(path, Mode::kReadOnly));
    auto contents = got(store.read_all_text());
    if (contents.records.size() != static_cast<std::size_t>(state.range(0))) state.SkipWithError("records are missing");
    benchmark::DoNotOptimize(contents);
  }
}

void store_reads_json(benchmark::State& state) {
  const auto& path = book_of(static_cast<int>(state.range(0)));
  for (auto _ : state) {
    const auto store = got(Store::open(path, Mode::kReadOnly));
    auto contents = got(store.read_all());
    benchmark::DoNotOptimize(contents);
  }
}

void store_opens(benchmark::State& state) {
  const auto& path = book_of(static_cast<int>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(got(Store::open(path, Mode::kReadOnly)).path());
}

/// One edit: open, write and close as the command does, on the disk of the temporary folder.
void store_applies(benchmark::State& state) {
  const Folder folder(std::filesystem::temp_directory_path());
  std::filesystem::copy_file(book_of(static_cast<int>(state.range(0))), folder / "house.lathbook");
  int count = 0;
  for (auto _ : state) {
    auto store = got(Store::open(folder / "house.lathbook", Mode::kReadWrite));
    benchmark::DoNotOptimize(got(store.apply("set", kNow, std::vector{put("M1", ++count)})));
  }
}

void store_verifies(benchmark::State& state) {
  const auto store = got(Store::open(book_of(static_cast<int>(state.range(0))), Mode::kReadOnly));
  for (auto _ : state) {
    if (!got(store.verify()).empty()) state.SkipWithError("the book is damaged");
  }
}

BENCHMARK(sqlite_reads)->Arg(60)->Arg(12'000)->Unit(benchmark::kMicrosecond);
BENCHMARK(store_opens)->Arg(60)->Unit(benchmark::kMicrosecond);
BENCHMARK(store_reads_text)->Arg(60)->Arg(12'000)->Unit(benchmark::kMicrosecond);
BENCHMARK(store_reads_json)->Arg(60)->Arg(12'000)->Unit(benchmark::kMicrosecond);
BENCHMARK(store_applies)->Arg(60)->Arg(12'000)->Unit(benchmark::kMicrosecond);
BENCHMARK(store_verifies)->Arg(12'000)->Unit(benchmark::kMicrosecond);

}  // namespace
