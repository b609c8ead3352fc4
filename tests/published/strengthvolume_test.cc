// The whole way from a published table to strength: 1RM tests of 34 people who had not trained before, over 12 weeks.
//
// Data: Hammarstrom et al. 2020, J Physiol 598(3):543-565, CC0 (tests/data/exscidata-strength/NOTICE). The table is
// read through the mapping beside it, every person's log is fitted, and the gains of the model's strength are held
// against the study's own: mean change of log 1RM, straight from the rows, per exercise and volume (one set or three).
//
// Which gains. A test in the model finds strength less a practice offset that a new exercise carries in its first two
// sessions (docs/model.md section 4), so from the second test on what the study measured and what the model calls
// strength are the same thing only from week 2. Gains from week 2 are therefore compared as strength; gains from the
// first test as the test would show them, with the practice offset taken off the first two.
//
// Tolerance: the 95 % interval of the study's mean over its legs. Model and study look at the same people, so their
// difference has none of that error in it; what it has is shrinkage, towards the prior trend and along the smooth
// strength over time. The check says that the shrinkage is lost in what the study itself leaves open.
// The priors of trend and practice were set with these data in view (engine/capacity/priors.h): this checks that the
// fit as a whole gives back what was put in and measured, it is no validation on other people.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <tuple>
#include <vector>

#include "engine/calibration/backtest.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/training_log.h"
#include "service/coach/estimates.h"
#include "service/coach/read_in.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/interchange/read_log.h"
#include "service/library/library.h"
#include "tests/published/published_values.h"

namespace ullage {
namespace {

const std::string kFolder = ULLAGE_SOURCE_DIR "/tests/data/exscidata-strength/";
const std::map<std::string, int> kDayOf = {{"pre", -7},   {"session1", 0}, {"week2", 14},
                                           {"week5", 35}, {"week9", 63},   {"post", 84}};
const Date kSession1 = *parse_date("2024-01-08");  // as the mapping has it

std::string text_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

struct LegKey {
  std::string person, exercise, leg;
  auto operator<=>(const LegKey&) const = default;
};
// Log strength of one leg by occasion, as the study measured it, as the model has it, and as the model's test shows it.
struct Leg {
  std::string volume;
  std::map<std::string, double> measured, strength, shown;
};
struct Study {
  std::map<LegKey, Leg> legs;
  std::map<std::string, std::vector<SetRecord>> logs;  // read through the mapping
  std::map<std::string, Lifter> lifters;
  std::uint64_t faults = 0;
  int unsettled = 0;
};

// The rows themselves, read without the service.
void read_rows(Study& study) {
  std::istringstream in(text_of(kFolder + "strengthvolume.csv"));
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const auto f = published::detail::fields(line);
    if (f[2] != "incl" || f[7].empty() || (f[6] != "legpress" && f[6] != "legext")) continue;
    Leg& leg = study.legs[{f[0], f[6], f[5]}];
    leg.volume = f[4];
    leg.measured[f[3]] = std::log(std::stod(f[7]));
    Lifter& lifter = study.lifters[f[0]];
    lifter.id = lifter.name = f[0];
    lifter.sex = f[1] == "female" ? Sex::female : f[1] == "male" ? Sex::male : Sex::unknown;
    lifter.training_years = 0;
  }
}

capacity::Posterior fitted(const Lifter& lifter, const std::vector<SetRecord>& sets) {
  const auto log = capacity::prepare(
      lifter, sets, [](const std::string& id) { return library::builtin().find(id); }, sets.back().date);
  return capacity::fit(log).value();
}

void fit_everyone(Study& study) {
  const auto mapping = interchange::parse_mapping(text_of(kFolder + "mapping.toml"));
  interchange::ReadLogOptions options;
  options.today = *parse_date("2025-01-01");
  options.mapping = &mapping.value();
  auto source = interchange::FileSource::open(kFolder + "strengthvolume.csv");
  const auto summary = interchange::read_log(source.value(), options, [&](interchange::LoggedSet&& row) {
    study.logs[row.lifter].push_back(std::move(row.set));
  });
  study.faults = summary.value().fault_count;
  for (const auto& [person, sets] : study.logs) {
    const capacity::Posterior posterior = fitted(study.lifters.at(person), sets);
    study.unsettled += posterior.converged ? 0 : 1;
    for (std::size_t i = 0; i < posterior.lifts.size(); ++i) {
      const capacity::LiftSummary& lift = posterior.lifts[i];
      double practice = 0;
      for (const auto& c : posterior.components) practice += c.weight * c.mean(posterior.index.practice[i]);
      Leg& leg = study.legs.at(
          {person, lift.exercise == "single-leg-press" ? "legpress" : "legext", lift.side == Side::left ? "L" : "R"});
      for (std::size_t s = 0; s < lift.history.size(); ++s) {
        const int day = lift.history[s].date - kSession1;
        const auto occasion =
            std::find_if(kDayOf.begin(), kDayOf.end(), [&](const auto& named) { return named.second == day; });
        const double strength = std::log(lift.history[s].median);
        leg.strength[occasion->first] = strength;
        leg.shown[occasion->first] = strength - capacity::practice_share(static_cast<int>(s) + 1) * practice;
      }
    }
  }
}

const Study& study() {
  static const Study read = [] {
    Study made;
    read_rows(made);
    fit_everyone(made);
    return made;
  }();
  return read;
}

struct Mean {
  int n = 0;
  double mean = 0, half_width = 0;  // of the 95 % interval
};
Mean mean_of(const std::vector<double>& values) {
  Mean out;
  out.n = static_cast<int>(values.size());
  for (const double v : values) out.mean += v / out.n;
  double squares = 0;
  for (const double v : values) squares += (v - out.mean) * (v - out.mean);
  // 97.5 % point of Student's t with 14 to 33 degrees of freedom, to 0.01: 1.96 + 2.45 / degrees.
  const double t = 1.96 + 2.45 / (out.n - 1);
  out.half_width = t * std::sqrt(squares / (out.n - 1) / out.n);
  return out;
}

using Strengths = std::map<std::string, double> Leg::*;
// Gains of the legs that have both tests.
std::vector<double> gains(const std::string& exercise, const std::string& volume, const std::string& from,
                          const std::string& to, Strengths which) {
  std::vector<double> out;
  for (const auto& [key, leg] : study().legs) {
    if (key.exercise != exercise || leg.volume != volume) continue;
    if (leg.measured.count(from) == 0 || leg.measured.count(to) == 0) continue;
    out.push_back((leg.*which).at(to) - (leg.*which).at(from));
  }
  return out;
}

void expect_gains_agree(const std::string& from, const std::string& to, Strengths which) {
  for (const char* exercise : {"legpress", "legext"}) {
    for (const char* volume : {"single", "multiple"}) {
      const Mean measured = mean_of(gains(exercise, volume, from, to, &Leg::measured));
      const Mean model = mean_of(gains(exercise, volume, from, to, which));
      ASSERT_GE(measured.n, 15);
      EXPECT_NEAR(model.mean, measured.mean, measured.half_width)
          << exercise << ", " << volume << ", " << from << " to " << to << ", " << measured.n << " legs";
    }
  }
}

TEST(StrengthVolume, TheTableIsReadWhole) {
  EXPECT_EQ(study().faults, 0U);
  EXPECT_EQ(study().logs.size(), 34U);  // NOTICE: 34 people included
  EXPECT_EQ(study().legs.size(), 34U * 4);
  EXPECT_EQ(study().unsettled, 0);
  std::size_t rows = 0, sets = 0;
  for (const auto& [key, leg] : study().legs) {
    rows += leg.measured.size();
    EXPECT_EQ(leg.measured.size(), leg.strength.size()) << key.person;
  }
  for (const auto& [person, log] : study().logs) sets += log.size();
  EXPECT_EQ(sets, rows);
  // What the file says of a person and a leg is kept with each set.
  for (const SetRecord& set : study().logs.at("FP13")) {
    EXPECT_NE(std::find(set.extra.begin(), set.extra.end(), std::pair<std::string, std::string>("sex", "male")),
              set.extra.end());
  }
}

TEST(StrengthVolume, StrengthGainsFromWeek2ToTheEnd) { expect_gains_agree("week2", "post", &Leg::strength); }
TEST(StrengthVolume, StrengthGainsFromWeek2ToWeek9) { expect_gains_agree("week2", "week9", &Leg::strength); }

// The study's question: what three sets give over one, leg against leg of the same person, week 2 to the end.
TEST(StrengthVolume, WhatThreeSetsGiveOverOne) {
  for (const char* exercise : {"legpress", "legext"}) {
    std::vector<double> measured, model;
    for (const auto& [key, leg] : study().legs) {
      if (key.exercise != exercise || leg.volume != "multiple") continue;
      const Leg& other = study().legs.at({key.person, key.exercise, key.leg == "L" ? "R" : "L"});
      bool all = true;
      for (const char* time : {"week2", "post"}) all = all && leg.measured.count(time) && other.measured.count(time);
      if (!all) continue;
      const auto gain = [](const std::map<std::string, double>& s) { return s.at("post") - s.at("week2"); };
      measured.push_back(gain(leg.measured) - gain(other.measured));
      model.push_back(gain(leg.strength) - gain(other.strength));
    }
    const Mean study_mean = mean_of(measured);
    ASSERT_GE(study_mean.n, 30);
    EXPECT_NEAR(mean_of(model).mean, study_mean.mean, study_mean.half_width) << exercise;
    EXPECT_GT(mean_of(model).mean * study_mean.mean, 0) << exercise;
  }
}

// From the first test to the last, practice of the first two tests included. The practice prior of untrained people was
// chosen on these data (engine/capacity/priors.h): consistency, not validation.
TEST(StrengthVolume, GainsOfTheTestsFromTheFirstToTheLast) {
  expect_gains_agree("pre", "session1", &Leg::shown);
  expect_gains_agree("pre", "post", &Leg::shown);
}

// Known misses, so that they cannot be mended in words only: the path on the way is smoothed. Week 2 to week 5 the
// study's knee extension rises faster than the model's (0.106 and 0.118 against 0.074 and 0.082), and from week 5 to
// week 9 the leg press with one set less (0.038 against 0.064, 15 legs).
TEST(StrengthVolume, KnownMissesOnTheWay) {
  const auto miss = [](const char* exercise, const char* volume, const char* from, const char* to) {
    return mean_of(gains(exercise, volume, from, to, &Leg::strength)).mean -
           mean_of(gains(exercise, volume, from, to, &Leg::measured)).mean;
  };
  EXPECT_NEAR(miss("legext", "single", "week2", "week5"), -0.032, 0.010);
  EXPECT_NEAR(miss("legext", "multiple", "week2", "week5"), -0.036, 0.010);
  EXPECT_NEAR(miss("legpress", "single", "week5", "week9"), 0.026, 0.010);
}

// Each test from the third on, forecast from those before it: whether the load is too heavy for one repetition, just
// right or too light. The formulas know the last tests and nothing of training.
TEST(StrengthVolume, TheNextTestIsForecastBetterThanByTheFormulas) {
  calibration::Backtest all;
  for (const auto& [person, sets] : study().logs) {
    calibration::BacktestOptions options;
    options.least_sessions = 2;
    options.sessions_a_fit = 1;
    options.draws = 200;
    const auto one = calibration::backtest(
        study().lifters.at(person), sets, [](const std::string& id) { return library::builtin().find(id); }, options);
    ASSERT_TRUE(one) << person;
    calibration::merge(all, *one);
  }
  double best = 1e9;
  for (const auto& f : all.formulas) best = std::min(best, f.mae_reps);
  std::printf("%d tests: model %.2f reps, best formula %.2f, held %.3f, log score %.2f\n", all.total.n,
              all.total.mae_reps, best, all.total.coverage80, all.total.log_score);
  EXPECT_GT(all.total.n, 400);
  EXPECT_LT(all.total.mae_reps, best);
  for (const auto& f : all.formulas) EXPECT_GT(all.total.log_score, f.log_score) << f.name;
}

// Through the coach's own import: the mapping saved by name, the file read into the store, the stored log fitted.
class StrengthVolumeImport : public coach::DeskTest {};

TEST_F(StrengthVolumeImport, GivesTheSameEstimates) {
  ASSERT_TRUE(coach::save_mapping(*desk_, "strength tests", text_of(kFolder + "mapping.toml")));
  coach::ImportWish wish;
  wish.file = kFolder + "strengthvolume.csv";
  wish.mapping = "strength tests";
  const auto report = coach::read_in(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_FALSE(report->refused);
  EXPECT_EQ(report->new_lifters.size(), 34U);
  std::size_t sets = 0;
  for (const auto& [person, log] : study().logs) sets += log.size();
  EXPECT_EQ(report->summary.sets, sets);
  EXPECT_EQ(report->merged.added, static_cast<int>(sets));
  const auto again = coach::read_in(*desk_, wish);
  ASSERT_TRUE(again);
  EXPECT_EQ(again->merged.added, 0);
  EXPECT_EQ(again->merged.unchanged, static_cast<int>(sets));

  for (const char* person : {"FP13", "FP28"}) {
    auto lifter = desk_->lifter(person);
    ASSERT_TRUE(lifter);
    const Lifter& profile = study().lifters.at(person);
    lifter->sex = profile.sex;
    lifter->training_years = profile.training_years;
    ASSERT_TRUE(desk_->store().change("profile", [&](store::Writer& w) { return w.put_lifter(*lifter); }));
    const auto stored = coach::ensure_fitted(*desk_, person);
    ASSERT_TRUE(stored) << stored.error().message;
    const capacity::Posterior straight = fitted(profile, study().logs.at(person));
    ASSERT_EQ(stored->posterior.lifts.size(), 4U);
    for (const capacity::LiftSummary& lift : straight.lifts) {
      const int at = stored->posterior.find_lift(lift.exercise, lift.side);
      ASSERT_GE(at, 0);
      const auto& history = stored->posterior.lifts[static_cast<std::size_t>(at)].history;
      ASSERT_EQ(history.size(), lift.history.size());
      for (std::size_t i = 0; i < history.size(); ++i) {
        EXPECT_EQ(history[i].date, lift.history[i].date);
        EXPECT_NEAR(history[i].median / lift.history[i].median, 1, 1e-9);
      }
    }
  }
}

}  // namespace
}  // namespace ullage
