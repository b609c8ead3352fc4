#include "service/coach/compare.h"

#include <gmock/gmock.h>

#include <cmath>

#include "engine/drawing/svg.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/testing/desk_test_base.h"

namespace ullage::coach {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;

class Compare : public DeskTest {
 protected:
  void import(int weeks) {
    ImportWish wish;
    wish.file = write("log.csv", log_text("Ines", weeks));
    ASSERT_TRUE(read_in(*desk_, wish));
  }
  static LoadAsked share(double of_strength) {
    LoadAsked asked;
    asked.share = of_strength;
    return asked;
  }
  CompareWish wish_of(std::vector<std::string> strategies, const std::string& lifter = "") {
    CompareWish wish;
    wish.lifter = lifter;
    wish.exercise = "bench press";
    wish.strategies = std::move(strategies);
    return wish;
  }
};

TEST_F(Compare, AnAverageLifterNeedsNoLog) {
  const auto view = compare_ways(*desk_, wish_of({"failure", "reserve:2"}));
  ASSERT_TRUE(view) << view.error().message;
  EXPECT_FALSE(view->lifter);
  EXPECT_EQ(view->sets, 3);
  EXPECT_TRUE(view->loads.empty());
  EXPECT_NEAR(view->shares[0], 0.78, 0.04);  // nine reps of a bench press
  EXPECT_THAT(view->finding, HasSubstr("2 in reserve brings"));
  EXPECT_THAT(view->cautions, Contains(HasSubstr("between lifters")));
  EXPECT_THAT(view->cautions, Contains(HasSubstr("not a prescription")));
  EXPECT_THAT(view->cautions, Contains(HasSubstr("All to failure is no plan")));
  // The same call, the same numbers.
  EXPECT_EQ(json_text(to_json(*view)), json_text(to_json(*compare_ways(*desk_, wish_of({"failure", "reserve:2"})))));
  CompareWish wish = wish_of({"failure"});
  wish.loads.emplace_back();
  wish.loads.back().load = Load{80, Unit::kilogram};
  EXPECT_EQ(compare_ways(*desk_, wish).error().code, Code::invalid_input);
}

TEST_F(Compare, ALifterIsComparedAtALoadThatCanBeBuilt) {
  import(6);
  CompareWish wish = wish_of({"failure", "reserve:2"}, "Ines");
  wish.loads = {share(0.75)};
  const auto view = compare_ways(*desk_, wish);
  ASSERT_TRUE(view) << view.error().message;
  ASSERT_EQ(view->loads.size(), 2U);
  EXPECT_NEAR(view->shares[0], 0.75, 0.02);
  const auto places = buildable_loads(plain_gym(), view->exercise, Unit::kilogram);
  EXPECT_TRUE(
      std::any_of(places->begin(), places->end(), [&](const Buildable& b) { return b.load == view->loads[0]; }));
  EXPECT_NEAR(view->comparison.ways[0].outcome.tonnage_kg.mean,
              view->loads[0].amount * view->comparison.ways[0].outcome.total_reps.mean, 1e-6);
  // A heavier load for the second way: equal volume is then tonnage.
  wish.loads = {share(0.7), share(0.8)};
  wish.basis = comparing::Basis::volume;
  const auto two = compare_ways(*desk_, wish);
  ASSERT_TRUE(two);
  EXPECT_TRUE(two->comparison.by_tonnage);
  EXPECT_LT(two->loads[0].amount, two->loads[1].amount);
  EXPECT_THAT(two->finding, HasSubstr("equal tonnage"));
}

TEST_F(Compare, LimitsAreSaidAndNothingIsRefused) {
  import(6);
  const Lifter ines = *desk_->lifter("Ines");
  const auto cautions = [&](std::vector<std::string> ways) {
    const auto view = compare_ways(*desk_, wish_of(std::move(ways), "Ines"));
    EXPECT_TRUE(view);
    return view ? view->cautions : std::vector<std::string>{};
  };
  EXPECT_THAT(cautions({"reserve:2"}), Not(Contains(HasSubstr("no plan"))));
  ASSERT_TRUE(change_health(*desk_, ines, "word", [&](safety::HealthRecord& r) -> Result<void> {
    safety::ClinicianWord word;
    word.id = "w";
    word.date = clock_today_;
    word.clinician = "Dr Example";
    word.least_reserve = 3;
    word.load_cap_share = 0.5;
    r.words.push_back(word);
    return {};
  }));
  EXPECT_THAT(cautions({"reserve:2"}), Contains(HasSubstr("at least 3 in reserve")));
  EXPECT_THAT(cautions({"reserve:4"}), Not(Contains(HasSubstr("no plan"))));
  EXPECT_THAT(cautions({"last-failure"}), Contains(HasSubstr("Last set to failure is no plan")));
  EXPECT_THAT(cautions({"reserve:4"}), Contains(HasSubstr("above 50 % of strength")));
  ASSERT_TRUE(change_health(*desk_, ines, "hold", [&](safety::HealthRecord& r) -> Result<void> {
    r.holds.push_back({"hold-1", clock_today_, "dizzy", std::nullopt, std::nullopt, ""});
    return {};
  }));
  EXPECT_THAT(cautions({"reserve:4"}), Contains(HasSubstr("Ines is on hold: dizzy")));
}

TEST_F(Compare, BadWishesAreNamedAllAtOnce) {
  CompareWish wish = wish_of({"reserve:0", "often"});
  wish.exercise = "bench pres of no kind";
  const auto refused = compare_ways(*desk_, wish);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::invalid_input);
  EXPECT_THAT(refused.error().message, HasSubstr("reserve:0"));
  EXPECT_THAT(refused.error().message, HasSubstr("often"));
  EXPECT_THAT(refused.error().message, HasSubstr("no kind"));
  EXPECT_EQ(compare_ways(*desk_, wish_of({"failure"}, "Nobody")).error().code, Code::not_found);
  EXPECT_FALSE(compare_ways(*desk_, wish_of({})));
}

TEST_F(Compare, ThePictureShowsARowOfVesselsForEachWay) {
  CompareWish wish = wish_of({"failure", "reserve:3"});
  wish.basis = comparing::Basis::volume;
  const auto view = compare_ways(*desk_, wish);
  ASSERT_TRUE(view);
  const drawing::Picture picture = compare_picture(*view);
  const std::string svg = drawing::svg_text(picture);
  EXPECT_THAT(svg, HasSubstr("all to failure, 3 sets"));
  EXPECT_THAT(svg, HasSubstr("3 in reserve, "));
  EXPECT_THAT(svg, HasSubstr("set 1"));
  EXPECT_GT(picture.height(), 300);
  EXPECT_EQ(svg, drawing::svg_text(compare_picture(*compare_ways(*desk_, wish))));
}

TEST(SetsWords, SayParts) {
  EXPECT_EQ(sets_words(1), "1 set");
  EXPECT_EQ(sets_words(4), "4 sets");
  EXPECT_EQ(sets_words(4.38), "4.4 sets");
}

}  // namespace
}  // namespace ullage::coach
