#include "service/interchange/read_ahead.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <stdexcept>
#include <thread>

#include "service/interchange/csv_reader.h"

namespace ullage::interchange {
namespace {

constexpr int kRows = 40000;

std::string long_log() {
  std::string text = "lifter,date,exercise,load,reps\n";
  for (int row = 0; row < kRows; ++row) {
    text += row % 1000 == 999 ? "Ida,2026-03-09,squat,heavy,8\n"
                              : "Ida,2026-03-09,squat," + std::to_string(20 + row % 100) + ",8\n";
  }
  return text;
}

ReadLogOptions options() {
  ReadLogOptions made;
  made.today = *make_date(2026, 3, 10);
  return made;
}

TEST(ReadAhead, GivesTheSameRowsInTheSameOrder) {
  const std::string text = long_log();
  std::vector<LoggedSet> plain, ahead;
  StringSource bytes(text);
  CsvTable table(bytes);
  const auto first = read_log(table, options(), [&](LoggedSet&& set) { plain.push_back(std::move(set)); });
  const auto here = std::this_thread::get_id();
  const auto second = read_log_ahead(table, options(), [&](LoggedSet&& set) {
    EXPECT_EQ(std::this_thread::get_id(), here);
    ahead.push_back(std::move(set));
  });
  ASSERT_TRUE(first && second);
  EXPECT_EQ(first->rows, second->rows);
  EXPECT_EQ(first->fault_count, 40u);
  EXPECT_EQ(second->fault_count, 40u);
  ASSERT_EQ(plain.size(), ahead.size());
  for (std::size_t i = 0; i < plain.size(); ++i) {
    ASSERT_EQ(plain[i].line, ahead[i].line);
    ASSERT_EQ(plain[i].set, ahead[i].set);
  }
}

TEST(ReadAhead, WaitsForASinkThatIsSlow) {
  std::string text = "lifter,date,exercise,load,reps\n";
  for (int row = 0; row < 4 * kRows; ++row) text += "Ida,2026-03-09,lift " + std::to_string(row) + ",20,8\n";
  StringSource bytes(text);
  CsvTable table(bytes);
  std::atomic<int> read = 0;
  auto with = options();
  with.resolve = [&](std::string_view id) {  // each text is asked for once
    ++read;
    return ExerciseMatch{std::string(id), {}};
  };
  int taken = 0, furthest = 0;
  const auto summary = read_log_ahead(table, with, [&](LoggedSet&&) {
    if (taken++ == 0) std::this_thread::sleep_for(std::chrono::milliseconds(500));
    furthest = std::max(furthest, read - taken);
  });
  ASSERT_TRUE(summary);
  EXPECT_EQ(read, 4 * kRows);
  EXPECT_GT(furthest, 1000);
  EXPECT_LT(furthest, 40000);
}

TEST(ReadAhead, StopsWhenTold) {
  const std::string text = long_log();
  StringSource bytes(text);
  CsvTable table(bytes);
  auto with = options();
  bool told = false;
  with.progress = [&](std::uint64_t done, std::uint64_t total) {
    told = told || done > total / 3;
    return !told;
  };
  const auto summary = read_log_ahead(table, with, [&](LoggedSet&&) { EXPECT_FALSE(told); });
  ASSERT_FALSE(summary);
  EXPECT_EQ(summary.error().code, Code::cancelled);
  EXPECT_TRUE(told);
}

TEST(ReadAhead, AFaultOfTheTableAsAWholeIsTold) {
  StringSource bytes("nothing,of,the,sort\n1,2,3,4\n");
  CsvTable table(bytes);
  const auto summary = read_log_ahead(table, options(), [](LoggedSet&&) {});
  ASSERT_FALSE(summary);
  EXPECT_EQ(summary.error().code, Code::invalid_input);
}

TEST(ReadAhead, AnExceptionOfEitherSideEndsBoth) {
  const std::string text = long_log();
  StringSource bytes(text);
  CsvTable table(bytes);
  auto with = options();
  with.resolve = [](std::string_view) -> ExerciseMatch { throw std::length_error("reading"); };
  EXPECT_THROW((void)read_log_ahead(table, with, [](LoggedSet&&) {}), std::length_error);
  int taken = 0;
  EXPECT_THROW((void)read_log_ahead(table, options(),
                                    [&](LoggedSet&&) {
                                      if (++taken == 5000) throw std::out_of_range("putting away");
                                    }),
               std::out_of_range);
}

}  // namespace
}  // namespace ullage::interchange
