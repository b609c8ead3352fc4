// What --plot draws, kept as pictures: figures are given, so that only a change of the drawing changes them.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include "engine/drawing/svg.h"
#include "service/coach/documents.h"
#include "service/coach/roster.h"

namespace ullage::coach {
namespace {

// Looked at as PNG when written: ULLAGE_GOLDEN=write keeps what is drawn now.
void expect_picture(const std::string& name, const drawing::Picture& picture) {
  const std::string path = ULLAGE_SOURCE_DIR "/tests/golden/plot-" + name + ".svg";
  const std::string now = drawing::svg_text(picture);
  if (const char* wish = std::getenv("ULLAGE_GOLDEN"); wish && std::string(wish) == "write")
    std::ofstream(path, std::ios::binary) << now;
  std::ifstream in(path, std::ios::binary);
  std::ostringstream kept;
  kept << in.rdbuf();
  EXPECT_EQ(now, kept.str()) << name << ": look at the picture";
}

Lifter ines() {
  Lifter lifter;
  lifter.id = "ines";
  lifter.name = "Ines Aalto";
  return lifter;
}

capacity::Interval about(double median, double half) { return {median, median - half, median + half, half / 1.28}; }

LiftEstimate lift(const std::string& name, double strength, double gain) {
  LiftEstimate out;
  out.name = name;
  out.strength = about(strength, 2);
  for (int day = 0; day < 365; day += 14) {
    const double now = strength - gain * (1 - day / 364.0) + std::sin(day / 40.0);
    out.summary.history.push_back({*parse_date("2025-11-24") + day, now, now - 3 + day / 364.0, now + 3 - day / 364.0});
  }
  return out;
}

TEST(Plots, StrengthOverTime) {
  EstimateView view;
  view.lifter = ines();
  view.as_of = *parse_date("2026-11-24");
  view.lifts = {lift("back squat", 121, 12), lift("bench press", 64, 3)};
  expect_picture("estimate", estimate_picture(view));
  view.lifter.unit = Unit::pound;
  view.lifts.resize(1);
  expect_picture("estimate-pounds", estimate_picture(view));
  view.lifts.clear();
  expect_picture("estimate-empty", estimate_picture(view));
}

planning::PlanSet planned(double load, int reps, double most) {
  planning::PlanSet set;
  set.load = {load, Unit::kilogram};
  set.reps = reps;
  set.capacity = about(most, 1.5);
  set.reserve = about(most - reps, 1.5);
  set.reps_done = about(reps - 0.6, 0.5);
  set.rest_s = 180;
  return set;
}

TEST(Plots, ForecastAndSession) {
  ForecastView view;
  view.lifter = ines();
  view.exercise.name = "bench press";
  view.load = {102.5, Unit::kilogram};
  view.rest_s = 150;
  view.reps = {8, 7, 6};
  for (int i = 0; i < 3; ++i) {
    capacity::SetOutcome outcome;
    outcome.capacity = about(11 - i, 1.5);
    view.sets.push_back(outcome);
  }
  expect_picture("forecast", forecast_picture(view));

  SessionSheet sheet;
  sheet.lifter = ines();
  sheet.plan.date = *parse_date("2026-11-26");
  sheet.plan.minutes = 34.4;
  planning::PlanItem bench, curl;
  bench.name = "bench press";
  bench.band_low = 2;
  bench.band_high = 5;
  bench.sets = {planned(40, 5, 30), planned(70, 8, 11), planned(70, 8, 10), planned(70, 7, 9.5)};
  bench.sets[0].kind = SetKind::warmup;
  curl.name = "one-arm curl";
  curl.side = Side::left;
  curl.band_low = 1;
  curl.band_high = 2;
  curl.sets = {planned(12.5, 12, 13), planned(12.5, 11, 12)};
  sheet.plan.items = {bench, curl};
  expect_picture("session", session_picture(sheet));
}

TEST(Plots, Roster) {
  RosterView view;
  view.as_of = *parse_date("2026-11-26");
  const auto row = [&](const std::string& name, std::vector<Reason> reasons) {
    RosterRow one;
    one.lifter.name = name;
    one.reasons = std::move(reasons);
    view.rows.push_back(std::move(one));
  };
  row("Casimir Doyle-Nakata",
      {{Attention::hold, "on hold since 3 Nov"}, {Attention::unseen, "no session for 23 days"}});
  row("Osric Banerji", {{Attention::judgement, "has 2.1 reps more than called"}});
  row("Sunniva Adeyemi-Roos of the far northern shore",
      {{Attention::stall, "stalled: -0.3 % in 20 weeks"}, {Attention::pain, "bench press is out"}});
  row("Ines Aalto", {});
  expect_picture("roster", roster_picture(view));
  view.rows.erase(view.rows.begin(), view.rows.end() - 1);
  expect_picture("roster-quiet", roster_picture(view));
}

}  // namespace
}  // namespace ullage::coach
