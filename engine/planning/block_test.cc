// The block planner without a solver: worth, writing, search, checker. The property tests draw their inputs with
// rapidcheck, from the same seed each time so that the same tree gives the same answer; others with
// RC_PARAMS="seed=2 max_success=2000 max_discard_ratio=1000".
#include "engine/planning/block.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>
#include <cstdlib>

#include "engine/planning/block_infeasible.h"
#include "engine/planning/block_instances.h"
#include "engine/planning/block_model.h"
#include "engine/planning/block_rules.h"
#include "engine/planning/block_search.h"
#include "engine/planning/block_solve.h"
#include "engine/planning/block_summed.h"
#include "engine/planning/block_words.h"

namespace ullage::planning {
namespace {

using testing::InstanceSize;
using testing::random_problem;

std::string told(const std::vector<Breach>& breaches) {
  std::string out;
  for (const Breach& b : breaches) {
    out += "week " + std::to_string(b.week) + " day " + std::to_string(b.day) + ": " + b.rule + ", found " + b.found +
           "\n";
  }
  return out;
}

InstanceSize small_size(int days, int exercises, int weeks) {
  InstanceSize size;
  size.days = days;
  size.exercises = exercises;
  size.weeks = weeks;
  return size;
}

bool checked(const char* what, int cases, const std::function<void()>& property) {
  const std::string params = "max_success=" + std::to_string(cases) + " max_discard_ratio=1000 seed=1";
  if (!std::getenv("RC_PARAMS")) ::setenv("RC_PARAMS", params.c_str(), 1);
  return rc::check(what, property);
}

TEST(BlockWorth, ChordsStayWithinOnePerCentOfTheCurve) {
  // Above one set; below, the chord lies under the square root by up to a quarter of a small thing.
  for (double s = 1; s <= 34; s += 0.05) {
    EXPECT_LE(growth_by_chords(s), weekly_growth(s) + 1e-12);
    EXPECT_GE(growth_by_chords(s), 0.984 * weekly_growth(s)) << s;
  }
  for (double s = 1; s <= 12; s += 0.05) EXPECT_GE(strength_by_chords(s), 0.97 * weekly_strength(s)) << s;
  EXPECT_EQ(growth_by_chords(0), 0);
  EXPECT_EQ(growth_by_chords(100), weekly_growth(34));
}

// The programme says of a plan what the plan is worth, and that it keeps the rules, exactly when the checker says so.
TEST(BlockPropertiesSlow, SearchKeepsEveryRuleAndTheProgrammeAgrees) {
  int found = 0, tried = 0;
  EXPECT_TRUE(checked("no plan of the search breaks a rule", 2000, [&] {
    const int days = *rc::gen::inRange(1, 6), exercises = *rc::gen::inRange(6, 20), weeks = *rc::gen::inRange(1, 6);
    const auto seed = *rc::gen::arbitrary<std::uint32_t>();
    auto size = small_size(days, exercises, weeks);
    size.alternate = *rc::gen::arbitrary<bool>();
    const BlockProblem p = random_problem(size, seed);
    ++tried;
    const auto plan = search_block(p, seed, 800);
    if (!plan) return;
    ++found;
    const auto breaches = breaches_of(p, *plan);
    if (!breaches.empty()) RC_FAIL(told(breaches));
    const BlockModel model = write_model(p);
    const auto at = point_of(p, model, *plan);
    if (!at) RC_FAIL(at.error().message);
    RC_ASSERT(worst_breach(model.mip, *at) < 1e-6);
    RC_ASSERT(std::abs(worth(model.mip, *at) - worth_of(p, *plan).value) < 1e-6);
    BlockPlan back = plan_at(p, model, *at);
    RC_ASSERT(breaches_of(p, back).empty());
    const SummedBlock summed = summed_over_days(model);
    const auto sum = summed.point(*at);
    RC_ASSERT(worst_breach(summed.mip, sum) < 1e-6);
    RC_ASSERT(worth(summed.mip, sum) > worth(model.mip, *at) - 1e-6);
  }));
  EXPECT_GT(found, tried / 3) << "too few problems had a plan for the test to mean anything";
}

// Monday, Tuesday, Thursday, Friday, Saturday with 48 hours between: three days at most, one of them early in the week.
TEST(BlockSummed, KnowsOnHowManyDaysAMuscleMayBeTrained) {
  auto size = small_size(5, 24, 1);
  size.rules = false;
  BlockProblem p = random_problem(size, 1);
  for (MuscleRule& muscle : p.muscles) muscle.recovery_hours = 24;
  p.muscles[static_cast<std::size_t>(Muscle::chest)].recovery_hours = 48;
  p.muscles[static_cast<std::size_t>(Muscle::lats)].recovery_hours = 72;
  const SummedBlock summed = summed_over_days(write_model(p));
  std::map<std::string, double> most;
  for (const MipRow& row : summed.mip.rows) {
    if (row.name.rfind("days.", 0) == 0) most[row.name] = row.high;
  }
  const auto name = [](Muscle muscle) { return "days.u.0." + std::to_string(static_cast<int>(muscle)); };
  EXPECT_EQ(most, (std::map<std::string, double>{{name(Muscle::chest), 3}, {name(Muscle::lats), 2}}));
}

// A solver that finds nothing in its time must not lose the search's plan, nor may it be said that there is none.
TEST(BlockSolve, ThePlanOfTheSearchStandsWhenTheSolverFindsNone) {
  const std::vector<BlockReading> readings{{"one", testing::middle_stimulus()}};
  int found = 0;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const BlockProblem p = random_problem(small_size(3, 40, 3), seed);
    bool started = false;
    for (const MipEnd end : {MipEnd::deadline, MipEnd::infeasible}) {
      const MipSolver idle = [&](const Mip& mip, const MipWish& wish) -> Result<MipAnswer> {
        started = started || (!wish.start.empty() && worst_breach(mip, wish.start) < 1e-6);
        MipAnswer answer;
        answer.end = end;
        return answer;
      };
      SolveWish wish;
      wish.moves = 10000;
      const auto solved = solve_block(p, readings, idle, wish);
      if (!search_block(p, wish.seed, wish.moves)) continue;
      ASSERT_TRUE(solved) << seed << ": " << solved.error().message;
      ASSERT_TRUE(solved->found) << seed;
      EXPECT_TRUE(breaches_of(p, solved->block.plan).empty());
      EXPECT_TRUE(started) << seed << ": the search's plan is no point of the programme";
      ++found;
    }
  }
  EXPECT_GE(found, 12);
}

// A plan made worse at random: whenever the checker finds a broken rule that the programme knows, so does the
// programme.
TEST(BlockPropertiesSlow, TheCheckerAndTheProgrammeFindTheSameFaults) {
  int broken = 0, kept = 0, tried = 0;
  EXPECT_TRUE(checked("checker and programme agree", 2000, [&] {
    const auto seed = *rc::gen::arbitrary<std::uint32_t>();
    const BlockProblem p = random_problem(small_size(3, 12, 3), seed);
    ++tried;
    const auto plan = search_block(p, seed, 600);
    if (!plan) return;
    const BlockModel model = write_model(p);
    BlockPlan other = *plan;
    Random random(seed + 1);
    const auto pick = [&](std::size_t n) {
      return static_cast<std::size_t>(random.uniform() * static_cast<double>(n)) % n;
    };
    const std::size_t w = pick(other.weeks.size()), d = pick(other.weeks[w].size());
    // Weeks that are alike must stay alike to be a point of the programme.
    const int like = model.shape.like[w];
    const double what = random.uniform();
    const std::size_t item = pick(20), mode = pick(8), exercise = pick(p.exercises.size());
    for (std::size_t v = 0; v < other.weeks.size(); ++v) {
      if (model.shape.like[v] != like) continue;
      auto& items = other.weeks[v][d].items;
      if (what < 0.4 && !items.empty()) {
        ++items[item % items.size()].sets[mode % items[item % items.size()].sets.size()];
      } else if (what < 0.7 && !items.empty()) {
        items.erase(items.begin() + static_cast<std::ptrdiff_t>(item % items.size()));
      } else {
        bool there = false;
        for (const auto& i : items) there = there || i.exercise == static_cast<int>(exercise);
        if (there) continue;
        PlannedExercise added;
        added.exercise = static_cast<int>(exercise);
        added.sets.assign(p.exercises[exercise].modes.size(), 0);
        added.sets[0] = 3;
        items.push_back(added);
      }
    }
    const bool breaks = !breaches_of(p, other).empty();
    const auto at = point_of(p, model, other);
    const bool refused = !at || worst_breach(model.mip, *at) > 1e-6;
    (breaks ? broken : kept) += 1;
    if (breaks && !refused) RC_FAIL("the programme lets through: " + told(breaches_of(p, other)));
    // The other way round the programme may refuse more: exercises that stay, copies left out.
  }));
  EXPECT_GT(broken, tried / 5);
  EXPECT_GT(kept, tried / 20);
}

TEST(BlockRules, EachKindOfFaultIsFound) {
  auto p = random_problem(small_size(3, 24, 4), 3);
  for (auto& week : p.weeks) week.kind = WeekKind::usual, week.least_reserve = 0;
  const auto plan = search_block(p, 1, 20000);
  ASSERT_TRUE(plan);
  ASSERT_TRUE(breaches_of(p, *plan).empty()) << told(breaches_of(p, *plan));
  const int first = plan->weeks[0][0].items.front().exercise;
  const auto broken = [&](const std::function<void(BlockProblem&)>& change, const std::string& words) {
    BlockProblem q = p;
    change(q);
    const std::string said = told(breaches_of(q, *plan));
    EXPECT_NE(said.find(words), std::string::npos) << words << "\n" << said;
  };
  broken([&](BlockProblem& q) { q.weeks[0].barred[static_cast<std::size_t>(first)] = "pain on record"; },
         "pain on record");
  broken([&](BlockProblem& q) { q.no_equipment[0][static_cast<std::size_t>(first)] = "no bar"; }, "no bar");
  broken([&](BlockProblem& q) { q.weeks[0].days[0].minutes = 5; }, "at most 5 minutes");
  broken([&](BlockProblem& q) { q.weeks[0].days[0].closed = true; }, "is closed");
  broken([&](BlockProblem& q) { q.weeks[0].days[0].most_exercises = 1; }, "at most 1 exercises a day");
  broken([&](BlockProblem& q) { q.weeks[0].least_reserve = 9; }, "at least 9 in reserve");
  broken(
      [&](BlockProblem& q) {
        q.exercises[static_cast<std::size_t>(first)].most_sets = 1;
        q.exercises[static_cast<std::size_t>(first)].least_sets = 1;
      },
      "sets a day");
  broken([&](BlockProblem& q) { q.must.push_back({first, 7, 0, 99}); }, "on at least 7 days a week");
  broken([&](BlockProblem& q) { q.fixed.push_back({first, weekday(q.weeks[0].days[0].date), 0, 99, 9, {}}); },
         "fixed:");
  broken([&](BlockProblem& q) { q.tests.push_back({first, 0}); }, "rep-max test");
  broken(
      [&](BlockProblem& q) {
        for (auto& m : q.muscles) m.most_session = 0.5;
      },
      "sets a session");
  broken(
      [&](BlockProblem& q) {
        for (auto& m : q.muscles) m.most_week = 1;
      },
      "sets a week");
  broken(
      [&](BlockProblem& q) {
        for (auto& m : q.muscles) m.least_week = 39;
      },
      "at least 39 sets a week");
  broken(
      [&](BlockProblem& q) {
        for (auto& m : q.muscles) m.recovery_hours = 160;
      },
      "160 h between");
  broken(
      [&](BlockProblem& q) {
        q.balance.push_back({{Muscle::chest, Muscle::quadriceps, Muscle::lats}, {Muscle::neck}, 1, "odd"});
      },
      "odd");
}

TEST(BlockRules, FailureKeepsItsDistance) {
  auto p = random_problem(small_size(2, 20, 4), 5);
  p.tests.clear();
  const auto plan = search_block(p, 1, 20000);
  ASSERT_TRUE(plan);
  BlockPlan other = *plan;
  // Every exercise that may go to failure does so every time.
  bool any = false;
  for (auto& week : other.weeks) {
    for (auto& day : week) {
      for (auto& item : day.items) {
        const auto& modes = p.exercises[static_cast<std::size_t>(item.exercise)].modes;
        for (std::size_t m = 0; m < modes.size(); ++m) {
          if (modes[m].reserve == 0) item.sets[m] = 1, any = true;
        }
      }
    }
  }
  ASSERT_TRUE(any);
  for (auto& e : p.exercises) e.failure_every_days = e.failure_every_days > 0 ? 21 : 0;
  EXPECT_NE(told(breaches_of(p, other)).find("to failure at most every 21 days"), std::string::npos);
}

// A week's share is of what the plan itself has in its ordinary weeks, however few sets those are.
TEST(BlockShares, ALighterWeekOfASmallBlockIsLighter) {
  int found = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    auto p = random_problem(small_size(3, 24, 4), seed);
    p.must.clear(), p.fixed.clear(), p.tests.clear(), p.balance.clear(), p.lifts.clear();
    for (auto& rule : p.muscles) rule.least_week = 0, rule.most_week = 30;
    for (auto& week : p.weeks) {
      week.kind = WeekKind::usual, week.most_share = 1, week.least_reserve = 0, week.most = {};
      for (auto& day : week.days) day.minutes = 30, day.place = 0;
    }
    BlockWeek& lighter = p.weeks[2];
    lighter.kind = WeekKind::lighter, lighter.most_share = 0.6;
    const auto plan = search_block(p, seed, 20000);
    ASSERT_TRUE(plan) << seed;
    ASSERT_TRUE(breaches_of(p, *plan).empty()) << told(breaches_of(p, *plan));
    const PlanWorth worth = worth_of(p, *plan);
    // Far below the most a week may have, so that a share of that would take nothing off.
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      EXPECT_LT(worth.weeks[0].sets[k], 0.6 * p.muscles[k].most_week);
      const double mean = (worth.weeks[0].sets[k] + worth.weeks[1].sets[k] + worth.weeks[3].sets[k]) / 3;
      if (p.muscles[k].weight > 0) {
        EXPECT_LE(worth.weeks[2].sets[k], 0.6 * mean + 1e-9) << seed;
      }
    }
    const int ordinary = std::min({worth.weeks[0].hard_sets, worth.weeks[1].hard_sets, worth.weeks[3].hard_sets});
    EXPECT_LE(worth.weeks[2].hard_sets, 0.65 * ordinary) << seed;
    EXPECT_GE(worth.weeks[2].hard_sets, 0.3 * ordinary) << seed;
    // The ordinary weeks' own plan, done again in the lighter week, breaks the rule.
    BlockPlan same = *plan;
    same.weeks[2] = same.weeks[1];
    EXPECT_NE(told(breaches_of(p, same)).find("of its sets in an ordinary week"), std::string::npos);
    ++found;
  }
  EXPECT_EQ(found, 6);
}

// Sets that the coach fixed in number stay, and what lies behind counts as ordinary.
TEST(BlockShares, FixedSetsStayAndWhatLiesBehindCounts) {
  auto p = random_problem(small_size(2, 24, 3), 4);
  p.must.clear(), p.fixed.clear(), p.tests.clear(), p.balance.clear(), p.lifts.clear();
  for (auto& rule : p.muscles) rule.least_week = 0;
  for (auto& place : p.no_equipment) {
    for (auto& why : place) why.clear();
  }
  for (auto& week : p.weeks) {
    week.kind = WeekKind::usual, week.most_share = 1, week.least_reserve = 0, week.most = {};
    week.barred.assign(p.exercises.size(), "");
    for (auto& day : week.days) day.minutes = 40, day.place = 0;
  }
  p.weeks[1].kind = WeekKind::lighter, p.weeks[1].most_share = 0.5;
  p.fixed.push_back({1, weekday(p.weeks[0].days[0].date), 0, 99, 4, {}});
  const auto plan = search_block(p, 1, 20000);
  ASSERT_TRUE(plan);
  EXPECT_TRUE(breaches_of(p, *plan).empty()) << told(breaches_of(p, *plan));
  EXPECT_EQ(ordinary_weeks(p), (std::vector<int>{0, 2}));

  // The first week is over: only what is known of it makes it an ordinary one.
  p.fixed.clear();
  for (auto& day : p.weeks[0].days) day.closed = true;
  EXPECT_EQ(ordinary_weeks(p), std::vector<int>{2});
  p.weeks[2].kind = WeekKind::lighter, p.weeks[2].most_share = 0.5;
  EXPECT_TRUE(ordinary_weeks(p).empty());
  const auto free = search_block(p, 1, 20000);
  p.weeks[0].behind.fill(6);
  EXPECT_EQ(ordinary_weeks(p), std::vector<int>{0});
  const auto bound = search_block(p, 1, 20000);
  ASSERT_TRUE(free);
  ASSERT_TRUE(bound);
  const PlanWorth before = worth_of(p, *free), after = worth_of(p, *bound);
  double most_before = 0, most_after = 0;
  for (std::size_t k = 0; k < kMuscleCount; ++k) {
    if (p.muscles[k].weight <= 0) continue;
    most_before = std::max(most_before, before.weeks[1].sets[k]);
    most_after = std::max(most_after, after.weeks[1].sets[k]);
  }
  EXPECT_GT(most_before, 3);
  EXPECT_LE(most_after, 3);
  const BlockModel model = write_model(p);
  const auto at = point_of(p, model, *bound);
  ASSERT_TRUE(at) << at.error().message;
  EXPECT_LT(worst_breach(model.mip, *at), 1e-6);
  const auto other = point_of(p, model, *free);
  ASSERT_TRUE(other) << other.error().message;
  EXPECT_GT(worst_breach(model.mip, *other), 0.1);
}

// Sets of an exercise on a day of a week; failure: only those that go to failure.
int sets_of(const BlockProblem& p, const BlockPlan& plan, std::size_t week, std::size_t day, int exercise,
            bool failure = false) {
  int out = 0;
  for (const PlannedExercise& item : plan.weeks[week][day].items) {
    if (item.exercise != exercise) continue;
    for (std::size_t m = 0; m < item.sets.size(); ++m) {
      const int reserve = p.exercises[static_cast<std::size_t>(exercise)].modes[m].reserve;
      out += failure && reserve > 0 ? 0 : item.sets[m];
    }
  }
  return out;
}

// Weeks that differ only in failure have the same sets, one of which may go to failure; sets only rise with the limits;
// after a week away the old exercises go on.
TEST(BlockSteady, UsualWeeksChangeOnlyForACause) {
  int same = 0, to_failure = 0, rises = 0, after_break = 0;
  for (std::uint64_t seed = 1; seed <= 16; ++seed) {
    BlockProblem p = random_problem(small_size(3, 30, 6), seed);
    if (seed % 4 == 0) {  // away in the third week
      p.weeks[2].kind = WeekKind::travel, p.weeks[2].most_share = 1, p.weeks[2].least_reserve = 0;
      for (BlockDay& day : p.weeks[2].days) day.place = 1;
    }
    const auto plan = search_block(p, seed, 8000);
    if (!plan) continue;
    const BlockShape shape = shape_of(p);
    for (std::size_t w = 0; w < p.weeks.size(); ++w) {
      if (p.weeks[w].kind != WeekKind::usual) continue;
      const auto base = static_cast<std::size_t>(shape.base[w]);
      for (std::size_t d = 0; d < plan->weeks[w].size(); ++d) {
        for (int e = 0; e < static_cast<int>(p.exercises.size()); ++e) {
          const int sets = sets_of(p, *plan, w, d, e);
          EXPECT_EQ(sets, sets_of(p, *plan, base, d, e)) << seed << ": week " << w << " as week " << base;
          const int here = sets_of(p, *plan, w, d, e, true), there = sets_of(p, *plan, base, d, e, true);
          EXPECT_LE(std::abs(here - there), 1);
          if (here != there) {
            EXPECT_NE(shape.failure[w][static_cast<std::size_t>(e)], shape.failure[base][static_cast<std::size_t>(e)]);
            ++to_failure;
          }
          if (base != w && sets > 0) ++same;
          if (const int whole = shape.part[w]; whole >= 0) {
            const int more = sets_of(p, *plan, static_cast<std::size_t>(whole), d, e);
            EXPECT_LE(sets, more) << seed << ": week " << w << " has a part of week " << whole;
            rises += more - sets;
          }
          for (std::size_t v = w + 2; v < p.weeks.size(); ++v) {
            if (p.weeks[v].kind != WeekKind::usual || p.weeks[v - 1].kind != WeekKind::travel) continue;
            if (p.weeks[v].days[d].minutes < p.weeks[w].days[d].minutes) continue;
            EXPECT_EQ(sets > 0, sets_of(p, *plan, v, d, e) > 0) << seed;
            after_break += sets > 0 ? 1 : 0;
          }
        }
      }
    }
  }
  EXPECT_GT(same, 100);
  EXPECT_GT(to_failure, 5);
  EXPECT_GT(rises, 10);
  EXPECT_GT(after_break, 10);
}

// The programme of a plan solved again says of every plan what worth_of says, the price of changes that all have
// included: what lies on a day that is closed by now, and what may not be done any more.
TEST(BlockSteady, AChangedPlanIsWorthTheSameToTheProgramme) {
  int changed = 0;
  for (std::uint64_t seed = 1; seed <= 16; ++seed) {
    BlockProblem p = random_problem(small_size(3, 30, 4), seed);
    const auto before = search_block(p, seed, 3000);
    if (!before) continue;
    p.near = &*before;
    p.weeks[0].days[0].closed = true;
    if (!before->weeks[3][1].items.empty())
      p.weeks[3].barred[static_cast<std::size_t>(before->weeks[3][1].items.front().exercise)] = "hurts";
    const auto plan = search_block(p, seed, 3000);
    if (!plan) continue;
    const BlockModel model = write_model(p);
    const auto at = point_of(p, model, *plan);
    ASSERT_TRUE(at) << seed << ": " << at.error().message;
    EXPECT_NEAR(worth(model.mip, *at) + model.base, worth_of(p, *plan).value, 1e-6) << seed;
    EXPECT_LT(model.base, 0) << seed;
    changed += worth_of(p, *plan).change > 0 ? 1 : 0;
  }
  EXPECT_GE(changed, 3);
}

TEST(BlockReasons, EndWithTheNumbersThatDecided) {
  const auto p = random_problem(small_size(2, 20, 3), 5);
  const auto plan = search_block(p, 1, 20000);
  ASSERT_TRUE(plan);
  const std::vector<BlockReading> readings{block_reading(plateau_reading(64, 1)), block_reading(linear_reading(64, 1))};
  const auto reasons = reasons_for(p, readings, *plan);
  ASSERT_FALSE(reasons.empty());
  for (const ItemReason& r : reasons) {
    EXPECT_NE(r.text.find("without it"), std::string::npos) << r.text;
    EXPECT_GE(r.effect_lost, 0) << r.text;
    EXPECT_GT(r.minutes_freed, 0) << r.text;
  }
  // The corners lie on either side of the plan.
  const PlanWorth worth = worth_of(p, *plan, readings[1].stimulus);
  const Corner hard = corner_of(p, readings, *plan, 0), easy = corner_of(p, readings, *plan, kVeryEasyReserve);
  EXPECT_GT(hard.effect[1] * 3, worth.effect);
  EXPECT_LT(easy.effect[1] * 3, worth.effect);
}

TEST(Mps, BoundsRangesAndRulesAreWritten) {
  Mip mip;
  const int x = mip.add_column("x", 0, 3, 2, true), y = mip.add_column("y", -kNoLimit, 5, 0, false);
  mip.add_row("r", 1, 4, {{x, 1}, {y, 2}, {x, 1}}, mip.add_rule("a rule"));
  mip.add_row("nothing", -kNoLimit, kNoLimit, {{x, 1}});
  const std::string text = to_mps(mip);
  EXPECT_EQ(text,
            "NAME block FREE\nROWS\n N worth\n L r\nCOLUMNS\n M0 'MARKER' 'INTORG'\n x worth -2\n x r 2\n"
            " M1 'MARKER' 'INTEND'\n y worth 0\n y r 2\nRHS\n RHS r 4\nRANGES\n RNG r 3\nBOUNDS\n UP BND x 3\n"
            " MI BND y\n UP BND y 5\nENDATA\n");
  EXPECT_EQ(worst_breach(mip, {1, 1}), 0);
  EXPECT_EQ(worst_breach(mip, {3, 1}), 4);
}

}  // namespace
}  // namespace ullage::planning
