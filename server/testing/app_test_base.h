// The program running on a free port over a data file of its own, for tests. The roster it begins with (one lifter with
// twelve weeks of log, fitted; one on hold; one new) is made once for all tests of the process and copied.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>

#include "server/application.h"
#include "server/problem.h"
#include "server/testing/client.h"
#include "service/coach/estimates.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/testing/desk_test_base.h"

namespace ullage::server {

class AppTest : public coach::DeskTest {
 protected:
  void SetUp() override {
    coach::DeskTest::SetUp();
    desk_.reset();
    file_ = path("app.db");
    std::filesystem::copy_file(standard_file(), file_);
    options_.data_file = file_;
    options_.clock = &clock_;
    options_.who = "tester";
    options_.version = "test";
    options_.limits.grace = std::chrono::milliseconds(100);
  }
  void TearDown() override {
    app_.reset();
    coach::DeskTest::TearDown();
  }
  void begin() {
    auto app = Application::start(options_);
    ASSERT_TRUE(app) << app.error().message;
    app_ = std::move(*app);
  }
  Got ask(const std::string& method, const std::string& target, const std::string& body = "",
          const std::string& type = "application/json", const std::string& fields = "") {
    return Client(app_->port()).ask(method, target, body, type, fields);
  }
  Json asked(const std::string& method, const std::string& target, const Json& body = Json(), int status = 200) {
    const Got got = ask(method, target, body.is_null() ? "" : body.dump());
    EXPECT_EQ(got.status, status) << method << " " << target << ": " << got.body;
    return Json::parse(got.body, nullptr, false);
  }
  static std::string code_of(const Got& got) {
    const Json json = Json::parse(got.body, nullptr, false);
    if (!json.is_object() || !json.contains("error")) return "no error: " + got.body.substr(0, 100);
    return json.at("error").at("code").get<std::string>();
  }
  static Json set(const std::string& client_id, int reps = 8) {
    return {{"client_id", client_id},
            {"exercise", "bench press"},
            {"load", {{"amount", 60}, {"unit", "kg"}}},
            {"reps", reps},
            {"called_reserve", "2"}};
  }

  // A data file with ines (log of twelve weeks, fitted, all health questions answered no), hanno (the same log, on
  // hold) and nuria (new).
  const std::string& standard_file() {
    static std::string made;
    if (!made.empty()) return made;
    static struct Keeper {
      std::filesystem::path folder =
          std::filesystem::temp_directory_path() / ("ullage-app-" + std::to_string(::getpid()));
      Keeper() { std::filesystem::create_directories(folder); }
      ~Keeper() {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
      }
    } keeper;
    const std::string file = (keeper.folder / "standard.db").string();
    auto desk = coach::Desk::open(file, clock_, "tester");
    EXPECT_TRUE(desk);
    for (const char* name : {"Ines", "Hanno", "Nuria"}) {
      Lifter lifter;
      lifter.name = name;
      lifter.born = make_date(1990, 5, 17);
      lifter.training_years = 4;
      lifter.body_mass = {{clock_today_ - 90, {72, Unit::kilogram}}};
      const auto taken = coach::take_on(**desk, lifter);
      EXPECT_TRUE(taken);
      safety::Intake intake{clock_today_ - 90, "tester", {}};
      for (int q = 0; q < safety::kQuestionCount; ++q)
        intake.answers.push_back({static_cast<safety::Question>(q), safety::Answer::no, ""});
      EXPECT_TRUE(coach::record_intake(**desk, *taken, intake));
      if (lifter.name == "Nuria") continue;
      coach::ImportWish wish;
      wish.file = write(lifter.name + ".csv", log_text(lifter.name, 12));
      EXPECT_TRUE(coach::read_in(**desk, wish));
    }
    const auto hold =
        coach::change_health(**desk, *(*desk)->lifter("hanno"), "hold", [&](safety::HealthRecord& r) -> Result<void> {
          r.holds.push_back({"hold-1", clock_today_ - 1, "a strained back", {}, {}, ""});
          return {};
        });
    EXPECT_TRUE(hold);
    coach::FitWish fit;
    fit.lifters = {"ines"};
    EXPECT_TRUE(coach::fit_lifters(**desk, fit));
    desk->reset();
    made = file;
    return made;
  }

  Options options_;
  std::string file_;
  std::unique_ptr<Application> app_;
};

}  // namespace ullage::server
