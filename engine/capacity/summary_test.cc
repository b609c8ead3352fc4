// What is shown of a lift against many draws of it, by the formulas for one draw.
#include "engine/capacity/summary.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>

#include "engine/capacity/fit.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

constexpr Date kFirst{20000};

// Twelve sessions of three sets with calls, months off in the middle. reps: in each set.
Posterior fitted(int reps = 8) {
  std::vector<SetRecord> sets;
  for (int session = 0; session < 12; ++session) {
    for (int i = 0; i < 3; ++i) {
      SetRecord r;
      r.date = kFirst + 4 * session + (session > 7 ? 40 : 0);
      r.exercise = "bench-press";
      r.load = {70.0 + session, Unit::kilogram};
      r.reps = reps;
      r.stop = Stop::planned;
      r.planned_reps = reps;
      r.called = Call{static_cast<double>(std::max(0, 3 - i - session % 2)), false};
      r.rest_s = 150;
      sets.push_back(r);
    }
  }
  Lifter lifter;
  lifter.sex = Sex::male;
  lifter.body_mass = {{kFirst, {80, Unit::kilogram}}};
  const Exercise exercise = bench_press();
  return *fit(prepare(lifter, sets, [&](const std::string&) { return &exercise; }, sets.back().date));
}

struct Reference {
  std::vector<double> strength, endurance, lost2, lost4, bias;
};
Reference drawn(const Posterior& p, Date day) {
  Reference out;
  const LiftSummary& lift = p.lifts.front();
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    for (const Draw& d : p.draw_rested({{bench_press()}}, day, 4000, seed).draws) {
      const LiftDraw& l = d.lifts.front();
      const double fresh = margin_for_reps(10.0, l.endurance, lift.shape);
      FatigueStores stores;
      for (int set = 2; set <= 4; ++set) {
        stores.add(
            spend<double>(fresh - stores.total(), l.endurance, lift.shape, 8, false, d.fatigue.lam, d.fatigue.rho_f),
            d.fatigue);
        stores.rest(8 * kSecondsPerRep / 60 + lift.usual_rest_minutes, d.fatigue);
        const double lost = 10 - reps_to_failure(fresh - stores.total(), l.endurance, lift.shape);
        if (set == 2) out.lost2.push_back(lost);
        if (set == 4) out.lost4.push_back(lost);
      }
      out.strength.push_back(std::exp(l.log_strength));
      out.endurance.push_back(l.endurance);
      out.bias.push_back(d.judgement.bias - 0.5);
    }
  }
  return out;
}

// How far median, ends and sd are off, in sds of the draws.
std::array<double, 4> off(const Interval& shown, const std::vector<double>& draws) {
  const Interval by = interval_of(draws);
  return {(shown.median - by.median) / by.sd, (shown.lo80 - by.lo80) / by.sd, (shown.hi80 - by.hi80) / by.sd,
          (shown.sd - by.sd) / by.sd};
}
void expect_like(const Interval& shown, const std::vector<double>& draws, double within, const char* what) {
  for (const double sds : off(shown, draws)) EXPECT_LT(std::fabs(sds), within) << what;
}

// 40 000 draws know a 10 % point within 0.009 of their sd (one standard error), 800 within 0.06; the points of reps
// lost are off by 0.015 to 0.023 on the whole (engine/base/even_points.cc), single ones by three times that.
TEST(Shown, IsWhatManyDrawsGive) {
  double square = 0;
  int count = 0;
  for (const int reps : {6, 7, 8, 9, 10, 11, 12}) {
    const Posterior p = fitted(reps);
    const LiftSummary& lift = p.lifts.front();
    const Reference by = drawn(p, p.as_of);
    expect_like(lift.strength, by.strength, 0.03, "strength");
    expect_like(lift.endurance, by.endurance, 0.03, "endurance");
    expect_like(p.bias_reps, by.bias, 0.03, "bias");
    for (const auto& errors : {off(lift.fatigability, by.lost2), off(lift.fatigability_set4, by.lost4)}) {
      for (const double sds : errors) {
        EXPECT_LT(std::fabs(sds), 0.08) << reps;
        square += sds * sds;
        ++count;
      }
    }
  }
  std::printf("reps lost: root mean square off %.4f sd\n", std::sqrt(square / count));
  EXPECT_LT(std::sqrt(square / count), 0.025);
}

TEST(Shown, StrengthOnAnotherDayIsWhatManyDrawsGive) {
  const Posterior p = fitted();
  for (const int days : {3, 50, 400}) {
    const Interval shown = interval_of_exp(p.rested_log_strength(0, p.as_of + days));
    expect_like(shown, drawn(p, p.as_of + days).strength, 0.03, std::to_string(days).c_str());
  }
}

// Reserves given a call, drawn one by one: a feeling of the call's cell, weighed by how often sets end there.
TEST(Shown, ReservesGivenACallAreThoseOfSetsCalledSo) {
  Posterior p = fitted();
  refresh_judgement(p);
  ASSERT_EQ(p.at_called.size(), 6U);
  std::array<std::vector<double>, 6> reserves;
  for (const Draw& d : p.draw_rested({}, p.as_of, 1000, 3).draws) {
    for (std::size_t called = 0; called < 6; ++called) {
      // The middle of what this judgement gives: sums over a fine grid.
      const double low = called == 0 ? -1e9 : static_cast<double>(called) - 0.5;
      const double high = called == 5 ? 1e9 : static_cast<double>(called) + 0.5;
      double all = 0, sum = 0;
      for (double rho = 0.05; rho < 16; rho += 0.1) {
        const double mean = d.judgement.gain * rho - d.judgement.bias;
        const double sd = d.judgement.spread + d.judgement.spread_rise * rho;
        const double chance =
            rho * std::exp(-2 * rho / 2.5) *
            (std::erfc(-(high - mean) / sd / std::sqrt(2.0)) - std::erfc(-(low - mean) / sd / std::sqrt(2.0)));
        all += chance;
        sum += chance * rho;
      }
      reserves[called].push_back(sum / all);
    }
  }
  for (std::size_t called = 0; called < 6; ++called) {
    const Interval by = interval_of(reserves[called]);
    const Interval& shown = p.at_called[called].true_reserve;
    EXPECT_NEAR(shown.median, by.median, 0.2) << called;
    EXPECT_GT(shown.hi80 - shown.lo80, by.hi80 - by.lo80) << called;
    EXPECT_LT(shown.lo80, shown.median);
    EXPECT_LT(shown.median, shown.hi80);
    if (called > 0) {
      EXPECT_GT(shown.median, p.at_called[called - 1].true_reserve.median) << called;
    }
  }
}

}  // namespace
}  // namespace ullage::capacity
