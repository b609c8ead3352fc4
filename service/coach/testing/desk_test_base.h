// A desk over a data file of its own, with a clock that stands still, for tests.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>
#include <string>

#include "service/coach/desk.h"
#include "service/store/testing/fake_clock.h"

namespace ullage::coach {

class DeskTest : public testing::Test {
 protected:
  void SetUp() override {
    const auto* info = testing::UnitTest::GetInstance()->current_test_info();
    folder_ = std::filesystem::temp_directory_path() / (std::string("ullage-") + info->test_suite_name() + "-" +
                                                        info->name() + "-" + std::to_string(::getpid()));
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
    desk_ = open("studio.db");
  }
  void TearDown() override {
    desk_.reset();
    std::filesystem::remove_all(folder_);
  }

  std::unique_ptr<Desk> open(const std::string& name, std::optional<Date> as_of = std::nullopt) {
    auto desk = Desk::open(path(name), clock_, "tester", as_of);
    EXPECT_TRUE(desk) << (desk ? "" : desk.error().message);
    return desk ? std::move(*desk) : nullptr;
  }
  std::string path(const std::string& name) const { return (folder_ / name).string(); }
  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(path(name), std::ios::binary) << text;
    return path(name);
  }
  std::string read(const std::string& name) const {
    std::ifstream in(path(name), std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  }
  // A plausible invented log: `weeks` weeks of bench press and back squat, two sessions a week up to the clock's day,
  // three work sets each, called; loads rise slowly.
  std::string log_text(const std::string& lifter, int weeks, const std::string& unit = "kg") const {
    std::ostringstream out;
    out << "lifter,date,exercise,load,unit,reps,called_reserve,failed,rest_s,stop,planned_reps\n";
    const double factor = unit == "lb" ? 2.5 : 1;
    for (int session = 0; session < 2 * weeks; ++session) {
      const Date date = clock_today_ - 3 - (2 * weeks - 1 - session) * 7 / 2;
      const double bench = 60 + 2.5 * std::floor(session / 8.0), squat = 90 + 2.5 * std::floor(session / 6.0);
      for (int set = 0; set < 3; ++set) {
        out << lifter << ',' << date_text(date) << ",bench press," << bench * factor << ',' << unit << ",8," << 3 - set
            << ",0,150,planned,8\n";
      }
      for (int set = 0; set < 3; ++set) {
        out << lifter << ',' << date_text(date) << ",back squat," << squat * factor << ',' << unit << ",6," << 3 - set
            << ",0,180,planned,6\n";
      }
    }
    return out.str();
  }

  Date clock_today_ = *parse_date("2026-03-09");
  store::FakeClock clock_{clock_today_};
  std::filesystem::path folder_;
  std::unique_ptr<Desk> desk_;
};

}  // namespace ullage::coach
