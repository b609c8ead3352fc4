// Published comparisons of ways to train, reproduced through engine/comparing and the readings of
// engine/planning/stimulus on lifters from the priors. (fatigue_test.cc checks the fatigue formulas themselves on the
// same studies' protocols.)
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "engine/comparing/average_lifter.h"
#include "engine/comparing/compare.h"
#include "service/library/library.h"
#include "tests/published/published_values.h"

namespace ullage::comparing {
namespace {

using published::row;
using published::sd;
using published::value;

constexpr int kPeople = 1500;

// Lifters who stop where they are told to, as under a study's supervision.
capacity::LifterDraws supervised(const std::string& exercise) {
  capacity::LifterDraws draws = average_lifter(*library::builtin().find(exercise), kPeople, 11);
  for (capacity::Draw& d : draws.draws) d.judgement = {0.5, 1, 0.01, 0, 0};
  return draws;
}

Comparison compared(const capacity::LifterDraws& draws, const std::vector<std::string>& ways, int sets, double rest_min,
                    const std::vector<double>& log_loads, Basis basis = Basis::sets) {
  CompareRequest request;
  for (const std::string& way : ways) request.contenders.push_back({*parse_way(way), log_loads, false});
  request.sets = sets;
  request.rest_s = 60 * rest_min;
  request.basis = basis;
  static const std::vector<planning::Reading> readings{planning::plateau_reading(kPeople, 1),
                                                       planning::linear_reading(kPeople, 2)};
  return *compare(draws, readings, request);
}

std::vector<double> share_of_strength(double share) { return std::vector<double>(kPeople, std::log(share)); }

// Refalo et al. 2023: six sets of bench press at 75 %, 4 minutes of rest (T04-050, from memory). Fatigue 4 minutes
// after the last set relative to failure: T04-046 (0.52 at 1 RIR), T04-047 (0.32 at 3 RIR). Fatigue there is loss of
// velocity at a fixed load, taken as proportional to missing margin. Tolerance 0.22 on the log: two of the 11 % that
// the figures' doubt from 12 men and 12 women is (science/data/fatigue_figures.csv). The constants were fitted to these
// figures among others: this is consistency, through other code and other people than the fit's.
TEST(PublishedComparisons, FatigueRelativeToFailure) {
  const auto draws = supervised("bench-press");
  const auto after_four_minutes = [&](const std::optional<int>& reserve) {
    capacity::SessionForecast forecast(draws, 5);
    for (int set = 0; set < 6; ++set) {
      capacity::PlannedSet planned{1000, {}, !reserve};
      if (reserve) planned.cue = Call{static_cast<double>(*reserve), false};
      forecast.play(0, share_of_strength(0.75), planned);
      forecast.rest(Minutes{4});
    }
    return forecast.mean_fatigue(0);
  };
  const double failure = after_four_minutes({});
  EXPECT_NEAR(std::log(after_four_minutes(1) / failure / value("T04-046")), 0, 0.22);
  EXPECT_NEAR(std::log(after_four_minutes(3) / failure / value("T04-047")), 0, 0.22);
}

// T04-033, 036, 039 (right after, in per cent of velocity) and T04-034, 037, 040 (at 24 h: -3, -3, +2): failure loses
// most, 3 short least, at the end and the day after.
TEST(PublishedComparisons, NearerFailureLosesMore) {
  const auto draws = supervised("bench-press");
  const Comparison c = compared(draws, {"failure", "reserve:1", "reserve:3"}, 6, 4, share_of_strength(0.75));
  ASSERT_LT(value("T04-033"), value("T04-036"));
  ASSERT_LT(value("T04-036"), value("T04-039"));
  for (const std::size_t nearer : {0U, 1U}) {
    const Outcome &near = c.ways[nearer].outcome, &far = c.ways[nearer + 1].outcome;
    EXPECT_GT(near.margin_lost_end.mean, far.margin_lost_end.mean);
    EXPECT_GT(near.residual_24h.mean, far.residual_24h.mean);
  }
  // At 24 h failure and 1 short were alike (-3, -3), 3 short not (+2).
  ASSERT_EQ(value("T04-034"), value("T04-037"));
  const auto residual = [&](std::size_t way) { return c.ways[way].outcome.residual_24h.mean; };
  EXPECT_LT(residual(0) - residual(1), residual(1) - residual(2));
}

// Total reps to failure by rest. Willardson & Burkett 2005, four sets at 8RM, totals relative to 1 minute: T04-001 (2
// min), tolerance two of 6 % (15 men, science/data/fatigue_figures.csv). T04-002 (5 min) is a known miss of the priors'
// spread, see below. Silva et al. 2014, three sets at 70 % with 1 minute: T04-018, tolerance two standard errors of 13
// people.
TEST(PublishedComparisons, TotalRepsByRest) {
  const auto draws = supervised("bench-press");
  const auto total = [&](double rest) {
    return compared(draws, {"failure"}, 4, rest, load_for_reps(draws, 0, 8)).ways[0].outcome.total_reps.mean;
  };
  EXPECT_NEAR(std::log(total(2) / total(1) / value("T04-001")), 0, 0.12);
  EXPECT_GT(total(5), total(2));
  const double silva = compared(draws, {"failure"}, 3, 1, share_of_strength(0.7)).ways[0].outcome.total_reps.mean;
  EXPECT_NEAR(silva, value("T04-018"), 2 * sd("T04-018") / std::sqrt(13.0));
}

// Growth of one way over the other by a reading: the square root undoes the square, see stimulus.h. Weeks, people and
// everything else are the same in both arms, so the ratio of weekly growth is the ratio of what the studies found.
double growth_ratio(const planning::Reading& reading, int reps_short, double sets_ratio) {
  return planning::weekly_growth(reading.mean_stimulus()[static_cast<std::size_t>(reps_short)] * sets_ratio);
}
const planning::Reading& plateau() {
  static const planning::Reading reading = planning::plateau_reading(2000, 1);
  return reading;
}
const planning::Reading& linear() {
  static const planning::Reading reading = planning::linear_reading(2000, 1);
  return reading;
}

// Refalo et al. 2024, 18 trained people, leg press 2 and leg extension 1 short of failure against failure, equal sets:
// T05-021 0.181 [0.119, 0.243], T05-022 0.182 [0.115, 0.247] cm. Ratio 1.01; its standard error from the two intervals
// (half width over 1.96, on the log) is 0.25, so two of them are 0.5. Both readings lie within: the study cannot tell
// them apart, which is why both are kept.
TEST(PublishedComparisons, EqualSetsStoppedOneOrTwoShort) {
  const auto se = [](const char* id) { return (*row(id).upper - *row(id).lower) / (2 * 1.96) / value(id); };
  const double doubt = std::hypot(se("T05-021"), se("T05-022"));
  const double found = std::log(value("T05-022") / value("T05-021"));
  for (const planning::Reading* reading : {&plateau(), &linear()}) {
    const double expected = (std::log(growth_ratio(*reading, 1, 1)) + std::log(growth_ratio(*reading, 2, 1))) / 2;
    EXPECT_NEAR(expected, found, 2 * doubt) << reading->name;
    EXPECT_LT(expected, 0);
    EXPECT_GT(expected, std::log(0.9)) << reading->name;
  }
}

// Lasevicius et al. 2022, 25 untrained men, knee extension, volume equated. At 80 %: 12.4 reps a set to failure, 6.7
// short of it, so 5.7 reps short and 1.85 times the sets; growth 8.1 against 7.7 % (T05-017, 019). At 30 %: 34.4
// and 19.6 reps, 14.8 short, 1.76 times the sets; 7.8 against 2.8 % (T05-013, 015). (Reps a set stand in the table's
// notes.) Sds were not read; with pre-post sizes of 0.57 to 0.60 and about 12 legs an arm, the standard error of a size
// is about 0.3, half of the size: 0.5 on the log for a ratio near one is one standard error, and is the tolerance here.
TEST(PublishedComparisons, EqualVolumeFarFromFailure) {
  const double heavy = value("T05-019") / value("T05-017"), light = value("T05-015") / value("T05-013");
  for (const planning::Reading* reading : {&plateau(), &linear()}) {
    const double at_heavy = growth_ratio(*reading, 5, 12.4 / 6.7), at_light = growth_ratio(*reading, 14, 34.4 / 19.6);
    EXPECT_NEAR(std::log(at_heavy / heavy), 0, 0.5) << reading->name;
    EXPECT_NEAR(std::log(at_light / light), 0, 0.5) << reading->name;
    // Light sets stopped far short lose most, heavy ones with volume equated hardly anything.
    EXPECT_GT(at_heavy, 0.9) << reading->name;
    EXPECT_LT(at_light, 0.65) << reading->name;
  }
}

// Grgic et al. 2022, T05-006: strength, failure against not, -0.09 [-0.22, 0.05]: no slope, as strength_stimulus has
// it. T05-007: growth 0.22 [-0.11, 0.55] in favour of failure. On a typical effect of 0.4 (assumption of the linear
// reading) a difference of three reps is 0.06 under the linear reading and 0.01 under the plateau: both inside.
TEST(PublishedComparisons, PooledDifferences) {
  EXPECT_LT(*row("T05-006").lower, 0);
  EXPECT_GT(*row("T05-006").upper, 0);
  EXPECT_EQ(planning::strength_stimulus(3) - planning::strength_stimulus(0), 0);
  for (const planning::Reading* reading : {&plateau(), &linear()}) {
    const double in_favour = 0.4 * (1 - growth_ratio(*reading, 3, 1));
    EXPECT_GT(in_favour, *row("T05-007").lower);
    EXPECT_LT(in_favour, *row("T05-007").upper);
  }
}

// Where the readings fail. Martorelli et al. 2017, young women, curls at 70 %: three sets to failure 17.5 %, 4 x 7 of
// equal volume 8.5 %, 3 x 7 2.1 % (T05-025..027). A set of 7 at 70 % is some 4 short; no reading makes three such sets
// an eighth of three to failure.
TEST(PublishedComparisons, KnownMisses) {
  const double equal_volume = value("T05-026") / value("T05-025"), equal_sets = value("T05-027") / value("T05-025");
  EXPECT_NEAR(equal_volume, 0.49, 0.01);
  EXPECT_NEAR(equal_sets, 0.12, 0.01);
  for (const planning::Reading* reading : {&plateau(), &linear()}) {
    EXPECT_GT(growth_ratio(*reading, 4, 4.0 / 3), 0.9) << reading->name;
    EXPECT_GT(growth_ratio(*reading, 4, 1), 0.75) << reading->name;
  }
  // Santanielo et al. 2020 found more growth short of failure (18.1 against 13.5 %, T05-023, 024): no reading has G
  // above 1.
  EXPECT_GT(value("T05-024"), value("T05-023"));
}

}  // namespace
}  // namespace ullage::comparing
