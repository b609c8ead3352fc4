#include "service/coach/roster_start.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/calibration/scenario.h"
#include "service/coach/estimates.h"
#include "service/coach/testing/desk_test_base.h"

namespace ullage::coach {
namespace {

TEST(RosterStartText, ComesBackTheSame) {
  Start start;
  start.move.unknowns = {{"b", 1.0 / 3, 7}, {"log k bench-press", -0.1, 5}};
  start.lesson.unknowns = {"b", "log g"};
  start.lesson.told = Eigen::Vector2d(0.1, -std::sqrt(2.0));
  start.lesson.weight = Eigen::Matrix2d::Identity() / 7;
  const std::string text = start_text(start);
  EXPECT_EQ(text.find('\n'), std::string::npos);
  const auto back = start_of(text);
  ASSERT_TRUE(back);
  EXPECT_EQ(start_text(*back), text);
  EXPECT_EQ(back->lesson.told, start.lesson.told);
  EXPECT_EQ(back->move.by("b"), 1.0 / 3);
  EXPECT_TRUE(start_of(start_text({})));
  for (const char* wrong : {"", "{}", "[1]", R"({"move":[],"unknowns":["b"],"told":[],"weight":[]})"}) {
    EXPECT_FALSE(start_of(wrong)) << wrong;
  }
}

class RosterStart : public DeskTest {
 protected:
  // A simulated person who has 1.6 reps more left than they say than the priors have it; calls and rep-max tests.
  void take_on(const std::string& name, int number, int weeks) {
    calibration::Scenario scenario;
    scenario.kind = calibration::Kind::mixed;
    scenario.weeks = weeks;
    scenario.people.bias = 1.6;
    const calibration::Scene scene = calibration::make_scene(scenario, 700 + number);
    Lifter lifter = scene.lifter;
    lifter.id = lifter.name = name;
    std::vector<SetRecord> sets;
    for (SetRecord set : scene.sets) {
      if (set.exercise == "curl") continue;
      set.exercise = set.exercise == "press" ? "bench-press" : "barbell-row";
      sets.push_back(set);
    }
    const auto change = desk_->store().change("log", [&](store::Writer& w) -> Result<void> {
      if (const auto put = w.put_lifter(lifter); !put) return put;
      const auto merged = w.merge_sets(name, sets, {});
      if (!merged) return tl::unexpected(merged.error());
      return {};
    });
    ASSERT_TRUE(change) << change.error().message;
  }
  void fit(std::vector<std::string> lifters, int expect_fitted) {
    const auto report =
        fit_lifters(*desk_, {.lifters = std::move(lifters), .anew = false, .workers = 2, .progress = {}});
    ASSERT_TRUE(report) << report.error().message;
    EXPECT_EQ(report->fitted, expect_fitted);
  }
  double bias(const std::string& name) { return ensure_fitted(*desk_, name)->posterior.bias_reps.median; }
  capacity::RosterMove start(const std::string& name) { return *kept_start(*desk_, name); }
};

TEST_F(RosterStart, IsTakenFromTheOthersFeedsOnNothingAndCanBeLeft) {
  for (int i = 0; i < 7; ++i) take_on("teacher-" + std::to_string(i), i, 8);
  ASSERT_TRUE(choose_start(*desk_, false));
  fit({}, 7);
  EXPECT_TRUE(start("teacher-0").empty());
  const double published = bias("teacher-0");

  ASSERT_TRUE(choose_start(*desk_, true));
  fit({}, 0);
  const capacity::RosterMove first = start("teacher-0");
  EXPECT_EQ(first.teachers(), 6) << "nobody counts in their own start";
  EXPECT_GT(first.by(capacity::kMoveBias), 0.2);
  const double once = bias("teacher-0");
  EXPECT_GT(once, published + 0.02);
  EXPECT_FALSE(ensure_fitted(*desk_, "teacher-0")->fresh) << "moved, not fitted again";
  const auto view = estimate(*desk_, "teacher-0");
  ASSERT_TRUE(view);
  ASSERT_FALSE(view->remarks.empty());
  EXPECT_NE(view->remarks.back().find("starts from 6 other lifters of this roster: "), std::string::npos)
      << view->remarks.back();
  EXPECT_NE(view->remarks.back().find(" reps more left at a call than published"), std::string::npos)
      << view->remarks.back();

  // Again, and fitted anew alone or as somebody new: the same.
  fit({}, 0);
  EXPECT_DOUBLE_EQ(bias("teacher-0"), once);
  ASSERT_TRUE(desk_->store().drop_derived("teacher-0"));
  EXPECT_NEAR(bias("teacher-0"), once, 1e-9);
  EXPECT_TRUE(capacity::same_start(start("teacher-0"), first));
  const auto kept = *desk_->store().estimate("teacher-1");
  ASSERT_TRUE(fit_lifters(*desk_, {.lifters = {"teacher-1"}, .anew = true, .workers = 1, .progress = {}}));
  EXPECT_EQ((*desk_->store().estimate("teacher-1"))->blob.size(), kept->blob.size());
  EXPECT_FALSE(start("teacher-1").empty()) << "as before";

  // Somebody new starts where all the others show, and a fit of everyone leaves it there.
  take_on("newcomer", 20, 1);
  ASSERT_TRUE(ensure_fitted(*desk_, "newcomer"));
  EXPECT_EQ(start("newcomer").teachers(), 7);
  const double new_here = bias("newcomer");
  fit({}, 0);
  EXPECT_DOUBLE_EQ(bias("newcomer"), new_here);

  ASSERT_TRUE(choose_start(*desk_, false));
  fit({}, 0);
  EXPECT_TRUE(start("teacher-0").empty());
  EXPECT_NEAR(bias("teacher-0"), published, 1e-9);
}

TEST_F(RosterStart, NeedsAHandfulOfOthers) {
  for (int i = 0; i < capacity::kLeastTeachers; ++i) take_on("teacher-" + std::to_string(i), i, 3);
  fit({}, capacity::kLeastTeachers);
  EXPECT_TRUE(start("teacher-0").empty()) << "four others";
  const auto view = estimate(*desk_, "teacher-0");
  ASSERT_TRUE(view);
  for (const std::string& remark : view->remarks) {
    EXPECT_EQ(remark.find("starts from"), std::string::npos) << remark;
  }
}

}  // namespace
}  // namespace ullage::coach
