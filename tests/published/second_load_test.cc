// Repetitions at a second load forecast from those at a first, against studies that no constant was set from, beside
// the published formulas. tests/published/second_load.h says what is forecast and from what. Every pair is printed:
//
//   build/test/tests/published_test --gtest_filter='SecondLoad.*'
#include "tests/published/second_load.h"

#include <gtest/gtest.h>

#include <cstdio>

#include "engine/capacity/fit.h"
#include "service/library/library.h"

namespace ullage::published {
namespace {

using namespace capacity;

// Prior and shape as the program takes them for an exercise of its library.
Group group(const char* name, const char* exercise_id, std::vector<Level> levels) {
  const Exercise& exercise = *library::builtin().find(exercise_id);
  return {name, log_endurance(exercise), curve_shape(exercise.cls), std::move(levels)};
}

// Not used anywhere before. T01-201..212: Wolfe et al. 2024, doi:10.47206/ijsc.v4i1.266, VERIFIED (abstract), 17
// trained women; a session for each load, squat first, bench press and deadlift after 10 to 15 minutes of rest.
// T01-213, 214: conference abstract 2019, VERIFIED, 19 women with at least two months of training; a session for each
// load. (An abstract of the first laboratory on 11 women, with the same protocol, is not counted: they may be the
// same.)
std::vector<Group> unused() {
  return {
      group("squat, women", "back-squat", {{"T01-201", 0.65}, {"T01-202", 0.75}, {"T01-203", 0.85}, {"T01-204", 0.95}}),
      group("bench press, women", "bench-press",
            {{"T01-205", 0.65}, {"T01-206", 0.75}, {"T01-207", 0.85}, {"T01-208", 0.95}}),
      group("deadlift, women", "deadlift",
            {{"T01-209", 0.65}, {"T01-210", 0.75}, {"T01-211", 0.85}, {"T01-212", 0.95}}),
      group("machine bench press, women", "chest-press", {{"T01-213", 0.60}, {"T01-214", 0.80}})};
}

// Looked at before (science/results/curve_shape.csv, capacity_test), no constant set from them. T01-037..042: Richens &
// Cleather 2014, doi:10.5604/20831862.1099047, VERIFIED, 8 people each.
std::vector<Group> looked_at() {
  return {group("leg press, weightlifters", "leg-press", {{"T01-037", 0.70}, {"T01-038", 0.80}, {"T01-039", 0.90}}),
          group("leg press, runners", "leg-press", {{"T01-040", 0.70}, {"T01-041", 0.80}, {"T01-042", 0.90}})};
}

// From memory, 60 % and above: Shimano et al. 2006, doi:10.1519/R-18195.1; Hoeger et al. 1990. What was set from these
// studies is set without them: the squat from T01-089 alone (36), machines from the leg press alone (47), single-joint
// lifts from T05-017 alone (52), with the spreads of priors.h.
std::vector<Group> from_memory() {
  const Prior squat{std::log(36.0), 0.22}, machine{std::log(47.0), 0.30}, single_joint{std::log(52.0), 0.35};
  const double p = curve_shape(ExerciseClass::barbell_compound), bent = curve_shape(ExerciseClass::isolation);
  return {{"squat, men", squat, p, {{"T01-044", 0.60}, {"T01-045", 0.80}, {"T01-046", 0.90}}},
          group("bench press, men", "bench-press", {{"T01-047", 0.60}, {"T01-048", 0.80}, {"T01-049", 0.90}}),
          group("leg press, untrained", "leg-press", {{"T01-052", 0.60}, {"T01-053", 0.80}}),
          group("leg press, trained", "leg-press", {{"T01-055", 0.60}, {"T01-056", 0.80}}),
          {"lat pulldown, untrained", machine, p, {{"T01-058", 0.60}, {"T01-059", 0.80}}},
          {"lat pulldown, trained", machine, p, {{"T01-061", 0.60}, {"T01-062", 0.80}}},
          {"machine bench press, untrained", machine, p, {{"T01-064", 0.60}, {"T01-065", 0.80}}},
          {"machine bench press, trained", machine, p, {{"T01-067", 0.60}, {"T01-068", 0.80}}},
          {"knee extension, untrained", single_joint, bent, {{"T01-070", 0.60}, {"T01-071", 0.80}}},
          {"knee extension, trained", single_joint, bent, {{"T01-073", 0.60}, {"T01-074", 0.80}}},
          {"arm curl, untrained", single_joint, bent, {{"T01-076", 0.60}, {"T01-077", 0.80}}},
          {"arm curl, trained", single_joint, bent, {{"T01-079", 0.60}, {"T01-080", 0.80}}},
          {"leg curl, untrained", single_joint, bent, {{"T01-082", 0.60}, {"T01-083", 0.80}}},
          {"leg curl, trained", single_joint, bent, {{"T01-085", 0.60}, {"T01-086", 0.80}}}};
}

struct Sums {
  int pairs = 0;
  double mean = 0, lifter = 0, untold = 0;         // mean absolute error, reps
  double lighter = 0, heavier = 0;                 // mean error of `mean` towards a lighter and a heavier load
  std::array<double, kFormulas.size()> formula{};  // mean absolute error of the better use
  int mean80 = 0, mean95 = 0, lifter80 = 0, lifter95 = 0, untold80 = 0, untold95 = 0;  // intervals that held
  double of(Formula f) const { return formula[static_cast<std::size_t>(f)]; }
};

Sums sums(const std::vector<Pair>& all) {
  Sums out;
  int lighter = 0;
  for (const Pair& p : all) {
    ++out.pairs;
    out.mean += std::abs(p.mean.mean - p.published);
    out.lifter += std::abs(p.lifter.mean - p.published);
    out.untold += std::abs(p.lifter_untold.mean - p.published);
    const bool down = p.group->levels[p.second].share < p.group->levels[p.first].share;
    lighter += down;
    (down ? out.lighter : out.heavier) += p.mean.mean - p.published;
    out.mean80 += p.mean.holds80(p.published), out.mean95 += p.mean.holds95(p.published);
    out.lifter80 += p.lifter.holds80(p.published), out.lifter95 += p.lifter.holds95(p.published);
    out.untold80 += p.lifter_untold.holds80(p.published), out.untold95 += p.lifter_untold.holds95(p.published);
  }
  for (double* sum : {&out.mean, &out.lifter, &out.untold}) *sum /= out.pairs;
  out.lighter /= lighter;
  out.heavier /= out.pairs - lighter;
  // A formula without an answer for a pair is not charged with it.
  for (std::size_t f = 0; f < kFormulas.size(); ++f) {
    const auto error = [&](auto use) {
      double sum = 0;
      int count = 0;
      for (const Pair& p : all) {
        const double reps = (p.*use)[f];
        if (std::isfinite(reps)) sum += std::abs(reps - p.published), ++count;
      }
      return count > 0 ? sum / count : INFINITY;
    };
    out.formula[f] = std::min(error(&Pair::from_set), error(&Pair::from_test));
  }
  return out;
}

Sums print(const char* title, const std::vector<Pair>& all) {
  std::printf("%s\n", title);
  for (const Pair& p : all) {
    const Group& g = *p.group;
    std::printf(
        "  %-30s %2.0f > %2.0f %%  %4.1f (%4.1f)  mean %4.1f [%4.1f %4.1f]  lifter %4.1f [%4.1f %4.1f]  untold %4.1f\n",
        g.name.c_str(), 100 * g.levels[p.first].share, 100 * g.levels[p.second].share, p.published, g.sd(p.second),
        p.mean.mean, p.mean.lo80, p.mean.hi80, p.lifter.mean, p.lifter.lo80, p.lifter.hi80, p.lifter_untold.mean);
  }
  const Sums s = sums(all);
  std::printf("  %d pairs. Off by: mean %.2f, lifter %.2f, untold %.2f;", s.pairs, s.mean, s.lifter, s.untold);
  for (const Formula f : kFormulas) std::printf(" %s %.2f", std::string(formula_name(f)).c_str(), s.of(f));
  std::printf(
      "\n  Held, 80 and 95 %%: mean %d %d, lifter %d %d, untold %d %d. Mean to lighter %+.2f, to heavier %+.2f\n",
      s.mean80, s.mean95, s.lifter80, s.lifter95, s.untold80, s.untold95, s.lighter, s.heavier);
  return s;
}

// Two standard errors of the published means at the second load, averaged over pairs. A forecaster who knew the
// population, but not these people, would be off by 0.8 standard errors on average.
double two_standard_errors(const std::vector<Pair>& all) {
  double sum = 0;
  for (const Pair& p : all) sum += 2 * p.group->sd(p.second) / std::sqrt(p.group->people(p.second));
  return sum / static_cast<double>(all.size());
}

// How far apart members of a group are at the second load, with the spread of log k of priors.h (0.22), beside the
// published sds: log of forecast over published, and share of the people inside a member's 80 % interval.
struct Members {
  double log_ratio = 0, inside = 0;
};
Members members(const std::vector<Pair>& all) {
  Members out;
  for (const Pair& p : all) {
    out.log_ratio += std::log(p.members_sd / p.group->sd(p.second)) / static_cast<double>(all.size());
    out.inside += p.members_inside / static_cast<double>(all.size());
  }
  return out;
}

// Forecast sd of reps between people at this share of the bench press over the published one.
double bench_press_spread(double share, const char* error, const char* correlation) {
  const Exercise& bench = *library::builtin().find("bench-press");
  const Prior log_k = log_endurance(bench);
  const double forecast = std::sqrt(detail::people().at(log_k.mean, log_k.sd, curve_shape(bench.cls), share, share).aa);
  return forecast / (value(error) / std::sqrt(1 - value(correlation)));
}

TEST(SecondLoad, VerifiedStudies) {
  const auto women = unused(), leg_press = looked_at();
  const auto fresh = pairs(women), seen = pairs(leg_press);
  auto both = fresh;
  both.insert(both.end(), seen.begin(), seen.end());
  const Sums a = print("not used before", fresh), b = print("looked at before", seen), all = print("both", both);
  for (const Formula f : kFormulas) {
    // Over everything every formula is beaten, by the forecast of the mean and by what one lifter is told.
    EXPECT_LT(all.mean, all.of(f)) << formula_name(f);
    EXPECT_LT(all.lifter, all.of(f)) << formula_name(f);
    EXPECT_LT(b.mean, b.of(f)) << formula_name(f);
    if (f == Formula::oconner) continue;  // KnownMisses
    EXPECT_LT(a.mean, a.of(f)) << formula_name(f);
    EXPECT_LT(a.lifter, a.of(f)) << formula_name(f);
    EXPECT_LT(a.untold, a.of(f)) << formula_name(f);
  }
  EXPECT_LT(a.mean, two_standard_errors(fresh));
  EXPECT_LT(a.lifter, two_standard_errors(fresh));
  EXPECT_LT(b.mean, two_standard_errors(seen));
  EXPECT_LT(b.lifter, two_standard_errors(seen));
  // Intervals for a set of one lifter hold a mean at least as often as they are said to hold a set.
  EXPECT_GE(all.lifter80, 0.80 * all.pairs);
  EXPECT_GE(all.lifter95, 0.95 * all.pairs);
  EXPECT_GE(a.untold80, 0.80 * a.pairs);
  // The sds of 17 women are good to 18 %, and three of the four groups are the same women: 0.25 is 1.4 of that.
  const Members m = members(fresh);
  std::printf("sd between members, forecast over published %.2f; inside their 80 %% interval %.2f\n",
              std::exp(m.log_ratio), m.inside);
  EXPECT_NEAR(m.log_ratio, 0, 0.25);
}

// T01-215..218: Mitter et al. 2022, doi:10.1371/journal.pone.0268074, VERIFIED (abstract), 24 people, bench press. The
// published sd is the standard error of measurement over the root of 1 - intraclass correlation, and good to 15 %: 0.30
// is two of that. The standard errors set sigma, the correlations nothing. At 90 %: KnownMisses.
TEST(SecondLoad, SpreadBetweenPeople) { EXPECT_NEAR(bench_press_spread(0.70, "T01-215", "T01-217"), 1, 0.30); }

// T01-155, 156, 161, 162: 1RM from 5RM, Reynolds et al. 2006, doi:10.1519/R-15304.1, VERIFIED, 70 people; compared with
// before (capacity_test), nothing set from it. 1RM over 5RM from the prior of k alone, interval of a group's centre; at
// 60 and 200 kg, since the group's mean 5RM is not in the table (assumption; the ratio of the bench press changes by
// 0.5 % from 40 to 90 kg).
struct FiveRm {
  double published, mean, lo80, hi80, lo95, hi95;
};
FiveRm five_rm(const char* exercise_id, const char* slope, const char* intercept, double kg) {
  const Exercise& exercise = *library::builtin().find(exercise_id);
  const Prior log_k = log_endurance(exercise);
  const auto ratio = [&](double z) {
    return std::exp(margin_for_reps(5.5, Curve{std::exp(log_k.mean - z * log_k.sd), curve_shape(exercise.cls)}));
  };
  const double z80 = normal_quantile(0.9), z95 = normal_quantile(0.975);
  return {value(slope) + value(intercept) / kg, ratio(0), ratio(-z80), ratio(z80), ratio(-z95), ratio(z95)};
}

TEST(SecondLoad, OneRepetitionMaximumFromFive) {
  const FiveRm bench = five_rm("bench-press", "T01-155", "T01-156", 60);
  const FiveRm leg_press = five_rm("leg-press", "T01-161", "T01-162", 200);
  for (const FiveRm& r : {bench, leg_press}) {
    std::printf("1RM over 5RM %.3f: engine %.3f [%.3f %.3f]", r.published, r.mean, r.lo80, r.hi80);
    for (const Formula f : kFormulas)
      std::printf(" %s %.3f", std::string(formula_name(f)).c_str(), one_rep_maximum(f, 1, 5));
    std::printf("\n");
  }
  for (const Formula f : kFormulas) {
    EXPECT_LT(std::abs(bench.mean - bench.published), std::abs(one_rep_maximum(f, 1, 5) - bench.published));
  }
  EXPECT_GT(bench.published, bench.lo80);
  EXPECT_LT(bench.published, bench.hi80);
}

// From memory, so loose: over multi-joint lifts no more than a quarter worse than the best formula.
TEST(SecondLoad, FromMemory) {
  const auto groups = from_memory();
  std::vector<Pair> multi, single;
  const auto all = pairs(groups);
  for (const Pair& p : all) (p.group->shape == curve_shape(ExerciseClass::isolation) ? single : multi).push_back(p);
  const Sums m = print("from memory, multi-joint", multi);
  print("from memory, single-joint", single);
  for (const Formula f : kFormulas) {
    EXPECT_LT(m.mean, 1.25 * m.of(f)) << formula_name(f);
  }
}

// The forecasts above are the program's: its fit of the same few sets says the same, within half a rep and, of an end
// of the 80 % interval, within three quarters of one. (It also lets strength move from day to day, and takes a tested
// 1RM for what it is, a single done and 2.5 % more missed, not for strength with normal error.)
TEST(SecondLoad, TheProgramSaysTheSame) {
  const Exercise& bench = *library::builtin().find("bench-press");
  const Date test_day = *parse_date("2026-01-05"), set_day = test_day + 3, asked = test_day + 7;
  constexpr double kOneRm = 40, kFirst = 0.75;
  constexpr int kReps = 14;
  Lifter lifter;
  lifter.sex = Sex::female;
  for (const bool told : {false, true}) {
    std::vector<SetRecord> records;
    const auto add = [&](Date day, double kg, int reps, bool failed) {
      SetRecord set;
      set.date = day;
      set.exercise = bench.id;
      set.load = {kg, Unit::kilogram};
      set.reps = reps;
      set.failed = failed;
      set.stop = failed ? Stop::failed : Stop::planned;
      if (!failed) set.planned_reps = reps;
      set.rest_s = 300;
      records.push_back(set);
    };
    if (told) add(test_day, kOneRm, 1, false), add(test_day, 1.025 * kOneRm, 0, true);
    add(set_day, kFirst * kOneRm, kReps, true);
    const auto posterior = fit(prepare(lifter, records, [&](const std::string&) { return &bench; }, asked));
    ASSERT_TRUE(posterior);
    const LifterDraws draws = posterior->draw({{bench}}, asked, 75, 4000, 3);
    for (const double second : {0.65, 0.85, 0.95}) {
      const Interval program =
          SessionForecast(draws, 7).look(0, std::log(second * kOneRm), {.to_failure = true}).capacity;
      const Forecast here = of_one_lifter(log_endurance(bench), curve_shape(bench.cls), kFirst, kReps, second, told);
      EXPECT_NEAR(program.median - 0.5, here.mean, 0.5) << told << " " << second;
      EXPECT_NEAR(program.lo80 - 0.5, here.lo80, 0.75) << told << " " << second;
      EXPECT_NEAR(program.hi80 - 0.5, here.hi80, 0.75) << told << " " << second;
    }
  }
}

// Where the forecasts fail, and by how much: docs/model.md tells these numbers, and this keeps it true.
TEST(SecondLoad, KnownMisses) {
  const auto women = unused(), leg_press = looked_at();
  const auto all = pairs(women), seen = pairs(leg_press);
  const Sums s = sums(all), b = sums(seen);
  // One formula is nearer in the unused studies.
  EXPECT_NEAR(s.lifter / s.of(Formula::oconner), 1.11, 0.04);
  EXPECT_NEAR(s.mean / s.of(Formula::oconner), 1.27, 0.05);
  EXPECT_NEAR(s.untold / s.of(Formula::oconner), 1.34, 0.05);
  // Without a tested 1RM it is nearer over both kinds of study too.
  const auto over_both = [&](double a, double c) { return (s.pairs * a + b.pairs * c) / (s.pairs + b.pairs); };
  EXPECT_NEAR(over_both(s.untold, b.untold) / over_both(s.of(Formula::oconner), b.of(Formula::oconner)), 1.14, 0.04);
  // The leg press alone: what one lifter is told loses to a formula, without a tested 1RM by far.
  EXPECT_NEAR(b.lifter / b.of(Formula::mayhew), 1.12, 0.04);
  EXPECT_NEAR(b.untold / b.of(Formula::mayhew), 1.70, 0.06);
  // Intervals for the mean take the curve's shape as known and hold far too seldom: 13 and 23 of 38, 3 and 6 of 12.
  EXPECT_NEAR(s.mean80, 13, 2);
  EXPECT_NEAR(s.mean95, 23, 2);
  EXPECT_NEAR(b.mean80, 3, 1);
  EXPECT_NEAR(b.mean95, 6, 1);
  // k comes out lower the lighter the load: too many reps are forecast for lighter loads, too few for heavier ones.
  EXPECT_NEAR(s.lighter, 1.73, 0.1);
  EXPECT_NEAR(s.heavier, -0.78, 0.1);
  const double squat_k[] = {46, 50, 53, 66};  // 65, 75, 85, 95 %
  for (std::size_t i = 0; i < 4; ++i) EXPECT_NEAR(std::exp(detail::fitted(women[0], i).centre), squat_k[i], 1.5) << i;
  // A machine for the chest, by the prior of its class: 22.7 at 60 % from 8.2 at 80 %, published 18.3.
  const Pair& machine = all.back();
  EXPECT_NEAR(machine.lifter.mean / machine.published, 1.24, 0.03);
  // Intervals for a member hold fewer than four fifths of the people, but in the bench press at 90 % are too wide.
  EXPECT_NEAR(members(all).inside, 0.70, 0.02);
  EXPECT_NEAR(bench_press_spread(0.90, "T01-216", "T01-218"), 1.42, 0.05);
  // 1RM of the leg press from 5RM: 6 % low, outside the 95 % interval; Epley, Lombardi and Wathen are within 0.7 %.
  const FiveRm five = five_rm("leg-press", "T01-161", "T01-162", 200);
  EXPECT_NEAR(five.mean / five.published, 0.936, 0.005);
  EXPECT_GT(five.published, five.hi95);
  // Single-joint lifts, whose curve is wrong (docs/model.md, section 1), from memory: two formulas are nearer.
  std::vector<Group> single = from_memory();
  std::erase_if(single, [](const Group& g) { return g.shape != curve_shape(ExerciseClass::isolation); });
  const Sums memory = sums(pairs(single));
  EXPECT_GT(memory.mean, memory.of(Formula::brzycki));
  EXPECT_GT(memory.mean, memory.of(Formula::lander));
}

}  // namespace
}  // namespace ullage::published
