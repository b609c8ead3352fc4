#include "service/coach/readings.h"

#include <gmock/gmock.h>

#include <algorithm>

#include "service/coach/block.h"
#include "service/coach/block_views.h"
#include "service/coach/demo.h"
#include "service/coach/evidence.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/solver/cbc.h"

namespace ullage::coach {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

// Growth that falls by `slope` a rep, with a little doubt.
evidence::GrowthReading falling(const std::string& name, double slope) {
  evidence::GrowthReading out;
  out.name = name;
  out.rests_on = "invented";
  for (const double s : {slope - 0.01, slope, slope + 0.01}) {
    evidence::GrowthRow row{};
    for (int r = 0; r <= evidence::kReadingReps; ++r) row[static_cast<std::size_t>(r)] = std::max(0.0, 1 - s * r);
    out.draws.push_back(row);
  }
  out.low80 = out.draws[2];
  out.median = out.draws[1];
  out.high80 = out.draws[0];
  return out;
}

std::vector<std::string> names_of(const std::vector<planning::Reading>& readings) {
  std::vector<std::string> out;
  for (const planning::Reading& r : readings) out.push_back(r.name);
  return out;
}

class Readings : public DeskTest {};

TEST_F(Readings, AreKeptWithHistoryAndTakenBack) {
  const evidence::GrowthReading own = falling("our studies", 0.08);
  const auto change = keep_reading(*desk_, own);
  ASSERT_TRUE(change) << change.error().message;
  EXPECT_GT(*change, 0);
  EXPECT_EQ(*keep_reading(*desk_, own), 0) << "the same again is no change";
  const auto kept = kept_readings(*desk_);
  ASSERT_EQ(kept->size(), 1U);
  EXPECT_EQ(kept->front().draws, own.draws);
  EXPECT_EQ(kept->front().rests_on, "invented");
  EXPECT_THAT(names_of(*readings_for(*desk_, {}, 20, 1)), ElementsAre("plateau", "linear", "our studies"));
  EXPECT_THAT(names_of(*readings_for(*desk_, {"our studies", "plateau", "plateau"}, 20, 1)),
              ElementsAre("our studies", "plateau"));
  EXPECT_EQ(desk_->store().history(1)->front().what, "reading our studies");

  ASSERT_TRUE(remove_reading(*desk_, "our studies"));
  EXPECT_THAT(names_of(*readings_for(*desk_, {}, 20, 1)), ElementsAre("plateau", "linear"));
  ASSERT_TRUE(desk_->store().undo());
  EXPECT_EQ(kept_readings(*desk_)->front().draws, own.draws) << "nothing is lost";
  ASSERT_TRUE(desk_->store().undo());
  EXPECT_TRUE(kept_readings(*desk_)->empty());
}

TEST_F(Readings, AreRefusedInWords) {
  const auto said = [&](const std::string& name) {
    const auto kept = keep_reading(*desk_, falling(name, 0.05));
    return kept ? std::string("kept") : kept.error().message;
  };
  EXPECT_THAT(said(""), HasSubstr("1 to 40 characters"));
  EXPECT_THAT(said("two\nlines"), HasSubstr("plain text"));
  EXPECT_THAT(said("plateau"), HasSubstr("shipped reading"));
  evidence::GrowthReading none = falling("none", 0.05);
  none.draws.clear();
  EXPECT_THAT(keep_reading(*desk_, none).error().message, HasSubstr("at least one draw"));
  for (const char* name : {"a", "b", "c"}) EXPECT_EQ(said(name), "kept");
  EXPECT_THAT(said("d"), HasSubstr("remove one first (there are plateau, linear, a, b, c)"));
  EXPECT_EQ(said("a"), "kept") << "the same name is replaced";
  EXPECT_THAT(readings_for(*desk_, {"e"}, 20, 1).error().message, HasSubstr("no reading is called \"e\""));
  EXPECT_THAT(remove_reading(*desk_, "linear").error().message, HasSubstr("no reading of your own"));
}

TEST_F(Readings, APlanIsHeldAgainstThemAndSaysWhatEachWouldAskFor) {
  if (!solver::find_cbc()) GTEST_SKIP() << "CBC is not installed";
  ASSERT_TRUE(make_demo(*desk_, 1));
  ASSERT_TRUE(keep_reading(*desk_, falling("our studies", 0.09)));
  BlockWish wish;
  wish.lifter = "Idris Vanterpool-Kim";
  wish.request.weeks = 1;
  wish.request.days = {{1, 60, ""}, {4, 60, ""}};
  wish.own_request = true;
  wish.seconds = 1;
  const auto made = plan_block(*desk_, wish);
  ASSERT_TRUE(made) << made.error().message;
  ASSERT_FALSE(made->none);
  const BlockSheet& sheet = made->sheet;
  ASSERT_EQ(sheet.verdicts.size(), 3U);
  EXPECT_THAT(sheet.readings, ElementsAre("plateau", "linear", "our studies"));
  EXPECT_EQ(sheet.rests_on[2], "invented");
  EXPECT_GT(sheet.figures.sets, 0);
  for (const planning::Verdict& v : sheet.verdicts) {
    EXPECT_GE(v.found, v.value - 1e-9) << v.reading;
    EXPECT_GT(v.alone.sets, 0) << v.reading;
    EXPECT_EQ(v.same_plan, v.days_different == 0) << v.reading;
    if (v.same_plan) {
      EXPECT_NEAR(v.alone.reserve, sheet.figures.reserve, 1e-9) << v.reading;
    }
  }
  // Where every rep short costs much, nobody would stop farther from failure than on a plateau.
  EXPECT_LE(sheet.verdicts[2].alone.reserve, sheet.verdicts[0].alone.reserve + 1e-9);
  const Json json = to_json(sheet);
  EXPECT_EQ(json["readings"][2]["name"], "our studies");
  EXPECT_TRUE(json["readings"][2]["alone"].contains("days_different"));
  const auto back = read_block(block_json(sheet));
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(block_json(*back), block_json(sheet));
  const planning::Frontier curve = planning::frontier(made->problem, made->readings, made->plan, 1,
                                                      200);  // few moves: only that every reading is in it
  EXPECT_EQ(curve.plan.effect.size(), 3U);

  wish.readings = {"linear"};
  const auto one = plan_block(*desk_, wish);
  ASSERT_TRUE(one) << one.error().message;
  EXPECT_THAT(one->sheet.readings, ElementsAre("linear"));
  EXPECT_THAT(one->sheet.request.readings, ElementsAre("linear"));
  wish.readings = {"nobody's"};
  EXPECT_THAT(plan_block(*desk_, wish).error().message, HasSubstr("no reading is called"));
}

}  // namespace
}  // namespace ullage::coach
