// Speed of reading logs, of the store and of finding exercises by name.
#include <benchmark/benchmark.h>
#include <unistd.h>

#include <filesystem>

#include "bench/scenes.h"
#include "service/documents/workbook_file.h"
#include "service/interchange/open_table.h"
#include "service/interchange/read_log.h"
#include "service/interchange/write_log.h"
#include "service/library/library.h"
#include "service/store/sqlite_store.h"

namespace {

using namespace ullage;

// A thousand sets of three lifts, with calls and rests.
const bench::SimulatedLog& thousand_sets() {
  static const bench::SimulatedLog log = bench::small_log(1000, 20260309);
  return log;
}

std::string lifter_name(int number) { return "lifter-" + std::to_string(number); }

// The open log format with one lifter after another.
std::string csv_of(std::size_t bytes) {
  std::string out;
  interchange::LogWriter writer([&](std::string_view text) { out += text; }, {});
  for (int lifter = 0; out.size() < bytes; ++lifter) {
    for (const SetRecord& set : thousand_sets().sets) writer.write(lifter_name(lifter), set);
  }
  return out;
}

void read_log_20_mb(benchmark::State& state) {
  const std::string csv = csv_of(20000000);
  std::size_t rows = 0;
  interchange::ReadLogOptions options;
  options.today = *make_date(2030, 1, 1);
  for (auto _ : state) {
    interchange::StringSource source(csv);
    const auto summary = interchange::read_log(
        source, options, [](interchange::LoggedSet&& set) { benchmark::DoNotOptimize(set.set.reps); });
    if (!summary || summary->bad_rows > 0) return state.SkipWithError("the log was not read");
    rows = summary->sets;
  }
  state.SetBytesProcessed(static_cast<std::int64_t>(csv.size()) * state.iterations());
  state.counters["rows"] = static_cast<double>(rows);
  state.counters["rows_per_s"] =
      benchmark::Counter(static_cast<double>(rows), benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(read_log_20_mb)->Unit(benchmark::kMillisecond);

// 200 000 rows of seven columns as XLSX: unpacked, cells found out, rows checked; nothing stored.
void read_workbook_200_000_rows(benchmark::State& state) {
  const std::string file =
      (std::filesystem::temp_directory_path() / ("ullage-bench-" + std::to_string(::getpid()) + ".xlsx")).string();
  constexpr int kRows = 200000;
  documents::WorkbookSheet sheet;
  sheet.name = "log";
  sheet.columns = {{"lifter", 12, {}}, {"date", 12, {}},          {"exercise", 12, {}}, {"load", 10, 1},
                   {"reps", 8, {}},    {"called_reserve", 8, {}}, {"rest_s", 8, {}}};
  int row = 0;
  sheet.next = [&](std::vector<documents::CellValue>& values) -> Result<bool> {
    if (row == kRows) return false;
    values = {lifter_name(row / 20000),
              Date{11000 + row % 20000 / 20 * 2},
              std::string(row / 5 % 2 == 0 ? "squat" : "bench press"),
              60 + row % 50 * 2.5,
              5.0 + row % 8,
              0.0 + row % 4,
              150.0};
    ++row;
    return true;
  };
  if (!documents::write_workbook(file, {sheet})) return state.SkipWithError("the workbook was not written");
  interchange::ReadLogOptions options;
  options.today = *make_date(2030, 1, 1);
  for (auto _ : state) {
    const auto open = interchange::open_table(file);
    if (!open) return state.SkipWithError("the workbook was not opened");
    const auto summary = interchange::read_log(
        *open->table, options, [](interchange::LoggedSet&& set) { benchmark::DoNotOptimize(set.set.reps); });
    if (!summary || summary->sets != kRows) return state.SkipWithError("the workbook was not read");
  }
  std::filesystem::remove(file);
}
BENCHMARK(read_workbook_200_000_rows)->Unit(benchmark::kMillisecond);

class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "ullage-bench-XXXXXX").string();
    if (mkdtemp(name.data())) path_ = name;
  }
  ~Folder() {
    std::error_code error;
    std::filesystem::remove_all(path_, error);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::string file(int number) const { return path_ + "/" + std::to_string(number) + ".ullage"; }

 private:
  std::string path_;
};

Result<void> merge_100(store::Writer& writer) {
  for (int i = 0; i < 100; ++i) {
    Lifter lifter;
    lifter.id = lifter.name = lifter_name(i);
    if (auto put = writer.put_lifter(lifter); !put) return put;
    if (auto merged = writer.merge_sets(lifter.id, thousand_sets().sets, {}); !merged)
      return tl::unexpected<Error>(merged.error());
  }
  return {};
}

// 100 lifters with 1000 sets each as one change into an empty file; the change is on the disk at the end.
void merge_100_000_new_rows(benchmark::State& state) {
  const Folder folder;
  store::SystemClock clock;
  int number = 0;
  for (auto _ : state) {
    state.PauseTiming();
    auto store = store::open_sqlite(folder.file(++number), clock, "bench");
    if (!store) return state.SkipWithError(store.error().message.c_str());
    state.ResumeTiming();
    if (const auto done = (*store)->change("merge", merge_100); !done)
      return state.SkipWithError(done.error().message.c_str());
  }
}
BENCHMARK(merge_100_000_new_rows)->Unit(benchmark::kMillisecond);

// The same log once more: nothing is new.
void merge_100_000_known_rows(benchmark::State& state) {
  const Folder folder;
  store::SystemClock clock;
  auto store = store::open_sqlite(folder.file(0), clock, "bench");
  if (!store || !(*store)->change("merge", merge_100)) return state.SkipWithError("no store");
  for (auto _ : state) {
    if (const auto done = (*store)->change("again", merge_100); !done || *done != 0)
      return state.SkipWithError("something was written");
  }
}
BENCHMARK(merge_100_000_known_rows)->Unit(benchmark::kMillisecond);

void resolve_known_name(benchmark::State& state) {
  const library::Library& exercises = library::builtin();
  for (auto _ : state) benchmark::DoNotOptimize(exercises.resolve("Bench Presses"));
}
BENCHMARK(resolve_known_name);

// No such name: the nearest are looked for.
void resolve_unknown_name(benchmark::State& state) {
  const library::Library& exercises = library::builtin();
  for (auto _ : state) benchmark::DoNotOptimize(exercises.resolve("bensh pres narow"));
}
BENCHMARK(resolve_unknown_name)->Unit(benchmark::kMicrosecond);

// The shipped library read from its text.
void read_library(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(library::Library::parse(embedded::exercises_toml()));
}
BENCHMARK(read_library)->Unit(benchmark::kMillisecond);

}  // namespace
