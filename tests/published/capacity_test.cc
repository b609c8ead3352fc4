// The capacity curve and its priors against published repetitions at a share of 1RM.
//
// People are drawn from the prior of endurance; the strength test carries set noise and so does the set; repetitions
// are whole. Rows that k was set from are marked fitted: for them the check is that the setting still holds. The rest
// is validation. Rows with status MEMORY are marked "from memory" and only bound loosely.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "tests/published/published_values.h"

namespace ullage::capacity {
namespace {

using published::row;
using published::sd;
using published::value;

constexpr int kPeople = 40000;  // counting error of a mean: sd/200, about 0.02 reps

struct Reps {
  double mean = 0, sd = 0;
  std::vector<double> sorted;
  double quantile(double p) const {
    return sorted[static_cast<std::size_t>(p * (static_cast<double>(sorted.size()) - 1))];
  }
};

Reps reps_at(double share, const Prior& log_k, double shape = 1) {
  Random random(20);
  Reps out;
  for (int i = 0; i < kPeople; ++i) {
    const double k = random.log_normal(log_k.mean, log_k.sd);
    const double sigma = std::exp(kLogSigma.mean);
    const double margin = -std::log(share) + sigma * random.normal() + sigma * random.normal();
    out.sorted.push_back(std::max(0.0, std::floor(reps_to_failure(margin, Curve{k, shape}))));
  }
  std::sort(out.sorted.begin(), out.sorted.end());
  for (const double r : out.sorted) out.mean += r / kPeople;
  for (const double r : out.sorted) out.sd += (r - out.mean) * (r - out.mean) / kPeople;
  out.sd = std::sqrt(out.sd);
  return out;
}

Prior with_k(ExerciseClass cls, double k) {
  Exercise exercise;
  exercise.cls = cls;
  exercise.endurance = k;
  return log_endurance(exercise);
}
const Prior kBench = with_k(ExerciseClass::barbell_compound, 32);
const Prior kLegPress = with_k(ExerciseClass::supported_compound, 48);
const Prior kSquat = log_endurance(ExerciseClass::barbell_compound);  // the class alone, not its own k

// Nuzzo et al. 2024, doi:10.1007/s40279-023-01937-7. Fitted; tolerance: the published 95 % interval of the mean.
TEST(PublishedCapacity, BenchPressMeans) {
  for (const auto& [id, share] : {std::pair{"T01-008", 0.80}, {"T01-009", 0.70}}) {
    const double mean = reps_at(share, kBench).mean;
    EXPECT_GT(mean, *row(id).lower) << id;
    EXPECT_LT(mean, *row(id).upper) << id;
    // The setting itself: half a rep is what whole repetitions leave open.
    EXPECT_NEAR(mean, value(id), 0.5) << id;
  }
}
TEST(PublishedCapacity, LegPressMeans) {
  for (const auto& [id, share] : {std::pair{"T01-010", 0.80}, {"T01-011", 0.70}}) {
    const double mean = reps_at(share, kLegPress).mean;
    EXPECT_GT(mean, *row(id).lower) << id;
    EXPECT_LT(mean, *row(id).upper) << id;
  }
}

// T01-018, Nuzzo et al. 2024: bench press, 90 %, "about 4" (rounded, second hand). Validation; rounding and the
// published relative doubt of the mean (T01-008, 14 %) together allow 0.5 + 0.5.
TEST(PublishedCapacity, BenchPressAtNinetyPercent) { EXPECT_NEAR(reps_at(0.90, kBench).mean, value("T01-018"), 1.0); }

// T01-012, T01-015, T01-013, Nuzzo et al. 2024: sd between people at 80, 70, 60 %. The sd of log k, one number, was set
// from these three; the check is that one number serves all. 25 %: the published line was read second hand, it pools
// exercises, and the model's sd rises faster with reps than the line (science/results/curve_spread.csv).
TEST(PublishedCapacity, SpreadBetweenPeople) {
  EXPECT_NEAR(reps_at(0.80, kBench).sd / value("T01-012"), 1, 0.25);
  EXPECT_NEAR(reps_at(0.70, kBench).sd / value("T01-015"), 1, 0.25);
  EXPECT_NEAR(reps_at(0.60, kBench).sd / value("T01-013"), 1, 0.25);
}

// T01-089, Zourdos et al. 2021: squat at 70 %, 16 (4) reps, 25 trained men. Validation: the class prior, not told of
// the squat, must hold the mean within the doubt of one exercise's k (sd 0.20 of log k: 20 % of reps - 1) and the
// spread within 40 % (an sd of 25 people is good to 14 %; the class prior is wider by the doubt of the exercise).
TEST(PublishedCapacity, SquatFromItsClass) {
  const Reps reps = reps_at(0.70, kSquat);
  EXPECT_NEAR(reps.mean, value("T01-089"), 0.20 * (value("T01-089") - 1));
  EXPECT_NEAR(reps.sd / sd("T01-089"), 1, 0.40);
}

// T01-087, T01-088, Cooke et al. 2019: lowest 6 and highest 26 reps at 70 % of the back squat among some sixty lifters.
// Validation: both can happen (inside the middle 99.8 %), and neither is commonplace (outside the middle 80 %).
TEST(PublishedCapacity, SquatRange) {
  const Reps reps = reps_at(0.70, kSquat);
  EXPECT_GE(value("T01-087"), reps.quantile(0.001));
  EXPECT_LE(value("T01-088"), reps.quantile(0.999));
  EXPECT_LT(value("T01-087"), reps.quantile(0.10));
  EXPECT_GT(value("T01-088"), reps.quantile(0.90));
}

// T01-037..039, Richens & Cleather 2014: leg press, weightlifters, n = 8. Validation: within two sd of the mean of
// eight people whose group may differ as exercises of a class do (0.20 of log k).
TEST(PublishedCapacity, LegPressOfWeightlifters) {
  for (const auto& [id, share] : {std::pair{"T01-037", 0.70}, {"T01-038", 0.80}, {"T01-039", 0.90}}) {
    const Reps reps = reps_at(share, kLegPress);
    const double group = 0.20 * (reps.mean - 1);
    EXPECT_NEAR(reps.mean, value(id), 2 * std::sqrt(reps.sd * reps.sd / 8 + group * group)) << id;
  }
}

// T01-155, T01-156, Reynolds et al. 2006: bench press 1RM = 1.1307 5RM + 0.70 kg (70 people). Validation. A 5RM load
// leaves 5 and not 6 reps, 5.5 in the middle. Tolerance 1.5 %: the interval of T01-008 leaves k between 29 and 38,
// which moves this ratio by 1.5 %.
TEST(PublishedCapacity, BenchPressStrengthFromFiveRepetitionMaximum) {
  for (const double five_rm : {40.0, 60.0, 90.0}) {
    const double published = value("T01-155") * five_rm + value("T01-156");
    const double model = five_rm * std::exp(margin_for_reps(5.5, Curve{32, 1}));
    EXPECT_NEAR(model / published, 1, 0.015) << five_rm;
  }
}

// T01-044..049, Shimano et al. 2006 (from memory): trained men, n = 8. Loose: within 1.5 of the published sd.
TEST(PublishedCapacity, TrainedMenFromMemory) {
  const Prior squat = with_k(ExerciseClass::barbell_compound, 40);
  for (const auto& [id, share] : {std::pair{"T01-047", 0.60}, {"T01-048", 0.80}, {"T01-049", 0.90}}) {
    EXPECT_NEAR(reps_at(share, kBench).mean, value(id), 1.5 * sd(id)) << id;
  }
  for (const auto& [id, share] : {std::pair{"T01-044", 0.60}, {"T01-045", 0.80}, {"T01-046", 0.90}}) {
    EXPECT_NEAR(reps_at(share, squat).mean, value(id), 1.5 * sd(id)) << id;
  }
}

// T01-071..086 at 80 %, Hoeger et al. 1990 (from memory): single-joint lifts. Loose: within two published sd.
TEST(PublishedCapacity, SingleJointAtEightyPercentFromMemory) {
  const double mean =
      reps_at(0.80, log_endurance(ExerciseClass::isolation), curve_shape(ExerciseClass::isolation)).mean;
  for (const char* id : {"T01-071", "T01-074", "T01-077", "T01-080", "T01-083", "T01-086"}) {
    EXPECT_NEAR(mean, value(id), 2 * sd(id)) << id;
  }
}

// Standard error of measurement of reps at a share of strength, a week apart: set noise and readiness, whole reps. The
// 1RM is the same in both tests, so its noise does not enter.
double retest_error(double share) {
  const double noise = std::hypot(std::exp(kLogSigma.mean), std::exp(kLogDaySd.mean));
  Random random(4);
  double square = 0;
  for (int i = 0; i < kPeople; ++i) {
    const double k = random.log_normal(kBench.mean, kBench.sd);
    const auto reps = [&] {
      return std::floor(reps_to_failure(-std::log(share) + noise * random.normal(), Curve{k, 1}));
    };
    const double difference = reps() - reps();
    square += difference * difference / 2 / kPeople;
  }
  return std::sqrt(square);
}

// Mitter et al. 2022, doi:10.1371/journal.pone.0268074, bench press, 24 people: 1.1 [0.8, 1.4] at 70 %. Validation:
// sigma and readiness were not fitted to it. (At 90 % the model is too noisy: KnownMisses.)
TEST(PublishedCapacity, RetestNoise) {
  EXPECT_GT(retest_error(0.70), 0.8);
  EXPECT_LT(retest_error(0.70), 1.4);
}

// Where the model is wrong, and by how much: docs/model.md tells these numbers, and this keeps it true. Model over
// published.
TEST(PublishedCapacity, KnownMisses) {
  EXPECT_NEAR(retest_error(0.90) / 0.7, 1.53, 0.05);  // Mitter et al. 2022, 0.7 [0.5, 0.9] at 90 %
  const Prior isolation = log_endurance(ExerciseClass::isolation);
  const auto single_joint = [&](double share) {
    return reps_at(share, isolation, curve_shape(ExerciseClass::isolation)).mean;
  };
  const auto five_rm = [&](double w) {
    return std::exp(margin_for_reps(5.5, Curve{48, 1})) * w / (value("T01-161") * w + value("T01-162"));
  };
  EXPECT_NEAR(reps_at(0.90, kLegPress).mean / value("T01-019"), 0.65,
              0.03);  // Nuzzo et al. 2024, about 9 (second hand)
  EXPECT_NEAR(reps_at(0.70, kLegPress).mean / value("T01-040"), 0.53, 0.03);  // Richens & Cleather 2014, runners, 39.9
  EXPECT_NEAR(five_rm(200), 0.94, 0.01);                          // Reynolds et al. 2006, leg press, SEE 16 kg
  EXPECT_NEAR(single_joint(0.60) / value("T01-082"), 1.8, 0.1);   // Hoeger et al. 1990, leg curl (from memory)
  EXPECT_NEAR(single_joint(0.60) / value("T01-079"), 0.93, 0.1);  // arm curl, trained (from memory)
  EXPECT_NEAR(single_joint(0.40) / value("T01-069"), 1.6, 0.1);   // knee extension at 40 % (from memory)
}

}  // namespace
}  // namespace ullage::capacity
