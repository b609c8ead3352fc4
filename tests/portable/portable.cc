// Prints a few results of the engine. The same text must come out of every compiler and of WebAssembly: 12 digits of
// single functions, 6 of what an iteration ends with, whose last digits the order of additions may decide.
#include <cmath>
#include <cstdio>

#include "bench/evidence_scene.h"
#include "bench/scenes.h"
#include "engine/base/dates.h"
#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/base/units.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/judgement.h"
#include "engine/capacity/session_forecast.h"
#include "engine/capacity/set_likelihood.h"
#include "engine/evidence/design.h"
#include "engine/evidence/distributions.h"
#include "engine/evidence/effect_size.h"
#include "engine/evidence/influence.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"
#include "engine/evidence/reading.h"
#include "engine/evidence/robust.h"
#include "engine/evidence/small_study.h"
#include "engine/planning/set_planner.h"

using namespace ullage;

namespace {

void base() {
  for (double p : {1e-12, 0.025, 0.5, 0.8, 1 - 1e-9}) std::printf("normal_quantile %g %.12g\n", p, normal_quantile(p));
  for (double z : {-1e4, -31.0, -3.0, 0.0, 2.0}) std::printf("normal_log_cdf %g %.12g\n", z, normal_log_cdf(z));
  Random random(20260309);
  for (int i = 0; i < 3; ++i) {
    const double normal = random.normal();
    const int integer = random.integer(1, 6);
    const double gamma = random.gamma(3, 2);
    std::printf("random %.12g %d %.12g\n", normal, integer, gamma);
  }
  for (const char* text : {"2024-02-29", "2023-02-29", "1969-12-31"}) {
    const auto date = parse_date(text);
    std::printf("date %s %s\n", text, date ? date_text(*date + 366).c_str() : "no such day");
  }
  std::printf("pounds %s\n", number_text(kilograms(Load{225, Unit::pound}).value).c_str());
}

void curve_and_judgement() {
  for (const capacity::Curve& curve : {capacity::Curve{32, 1}, capacity::Curve{24, 0.2}, capacity::Curve{40, 0}}) {
    for (const double margin : {-0.03, 0.0, 0.2, 0.6}) {
      const double reps = capacity::reps_to_failure(margin, curve);
      std::printf("curve %g %g %g %.12g %.12g\n", curve.endurance, curve.shape, margin, reps,
                  capacity::margin_for_reps(reps, curve));
    }
  }
  const capacity::Judgement judgement;
  for (const Call& call : {Call{0, false}, Call{2, false}, Call{1.5, false}, Call{5, true}}) {
    const capacity::Cell cell = capacity::call_cell(call, call.reserve == 1.5);
    std::printf("judgement %s", call_text(call).c_str());
    for (const double reserve : {0.0, 1.7, 4.0, 9.0})
      std::printf(" %.12g", capacity::call_probability(judgement, reserve, cell, false));
    std::printf(" stops at %.12g\n", capacity::cue_stop_rep(judgement, 11.3, cell, 0.4));
  }
}

void set_likelihood() {
  capacity::SetObservation called{
      8, Stop::planned, capacity::Feeling{{1.5, 0, false}, {-INFINITY, 0, false}, {2.5, 0, false}}, {}};
  capacity::SetObservation cued{
      7, Stop::cue, capacity::Feeling{{-INFINITY, 0, false}, {1.5, 1, true}, {1.5, 0, true}}, {}};
  const struct {
    const char* name;
    capacity::SetObservation set;
  } cases[] = {{"called", called},
               {"cued", cued},
               {"planned", {8, Stop::planned, {}, {}}},
               {"failed", {8, Stop::failed, {}, {}}},
               {"unknown", {8, Stop::unknown, {}, {}}},
               {"speed", {8, Stop::planned, {}, 0.34}}};
  for (const auto& [name, set] : cases) {
    for (const double margin : {0.15, 0.28, 0.5}) {
      const capacity::LocalVector at{margin, std::log(32.0), 0.8,  std::log(0.8),   std::log(0.6), std::log(0.15),
                                     0.2,    std::log(2.5),  0.25, std::log(0.035), std::log(0.04)};
      const capacity::SetTerms terms = capacity::set_log_likelihood(set, at, 1, 0.025, 2);
      std::printf("set %s %g %.9g slope %.9g bend %.9g\n", name, margin, terms.log_likelihood,
                  terms.gradient(capacity::kMargin), terms.hessian(capacity::kMargin, capacity::kMargin));
    }
  }
}

void print(const char* name, const capacity::Interval& of) {
  std::printf(" %s %.6g [%.6g, %.6g]", name, of.median, of.lo80, of.hi80);
}

void pooled_studies() {
  using namespace evidence;
  std::printf("tails %.12g %.12g %.12g %.12g\n", student_two_sided_p(2.1, 7.3), student_quantile(0.975, 3.2),
              chi_square_upper(11.4, 6), f_upper(3.1, 2, 17.5));
  for (const auto& effect :
       {standardised_mean_difference({12, 3.4, 1.1, 14, 2.2, 0.9}), standardised_mean_change({15, 40, 5, 44, 0.8}),
        log_ratio_of_means({12, 3, 1, 14, 2, 1}), log_odds_ratio({3, 12, 0, 14}), log_risk_ratio({3, 12, 1, 14})})
    std::printf("effect %.12g %.12g\n", effect->effect, effect->variance);
  const MultilevelData data = bench::invented_effects(150, 20, 3);
  for (const Method method : {Method::common, Method::REML, Method::ML, Method::DL, Method::PM, Method::SJ}) {
    PoolOptions options;
    options.method = method;
    const auto fit = pool(data.y, data.v, data.x, data.names, options);
    std::printf("pool %s tau2 %.6g", std::string(method_name(method)).c_str(), fit->tau2);
    if (fit->tau2_interval.known()) std::printf(" [%.6g, %.6g]", fit->tau2_interval.low, fit->tau2_interval.high);
    for (const Coefficient& c : fit->coefficients) std::printf(" %.6g (%.6g)", c.estimate, c.se);
    std::printf("\n");
  }
  MultilevelOptions options;
  options.correlation = 0.5;
  const auto fit = fit_multilevel(data, options);
  std::printf("levels %.6g %.6g likelihood %.9g\n", fit->sigma2[0], fit->sigma2[1], *fit->log_likelihood);
  const auto robust =
      cluster_robust(data.y, data.x, data.names, {data.v, 0, data.levels, fit->sigma2, 0.5}, data.levels[0]);
  for (const Coefficient& c : robust->coefficients) std::printf("robust %.6g %.6g %.6g\n", c.estimate, c.se, c.df);
  const auto without = leave_one_group_out(data, *fit, options);
  for (const WithoutGroup& w : *without) std::printf("without %d %.6g %.6g\n", w.group, w.estimate, w.se);
  std::printf("egger %.6g rank %.6g\n", egger(data.y, data.v)->slope, rank_test(data.y, data.v)->tau);
  Column dose{"dose", true, {}, {}};
  for (const double x : data.x.col(1)) dose.numbers.push_back(x);
  const auto terms = resolve({{Shape::spline, "dose", "", {}, 3}}, {dose});
  MultilevelData curved = data;
  curved.x = *terms->matrix({dose});
  curved.names = terms->names();
  const auto curve = fit_multilevel(curved);
  ReadingWish wish;
  wish.name = "own";
  wish.along = "dose";
  const auto reading = growth_reading(*terms, {dose}, *curve, wish);
  if (!reading) {
    std::printf("no reading: %s\n", reading.error().message.c_str());
    return;
  }
  for (const int r : {1, 5, 10}) {
    const auto at = static_cast<std::size_t>(r);
    std::printf("reading at %d: %.5g [%.5g, %.5g]\n", r, reading->median[at], reading->low80[at], reading->high80[at]);
  }
}

// From a simulated log through the fit and a live update to a plan.
int fit_and_plan() {
  const bench::SimulatedLog log = bench::small_log(60, 20260309);
  double load = 0;
  int reps = 0;
  for (const SetRecord& set : log.sets) {
    load += set.load.amount;
    reps += set.reps;
  }
  std::printf("log %zu sets %g kg %d reps\n", log.sets.size(), load, reps);

  const auto [before, today] = log.without_last_session();
  const auto early = capacity::fit(log.prepare(before));
  const auto posterior = capacity::fit(log.prepare());
  if (!early || !posterior) {
    std::printf("no fit: %s\n", (early ? posterior : early).error().message.c_str());
    return 1;
  }
  const auto live = capacity::update(*early, log.prepare(today));
  if (!live) {
    std::printf("no update: %s\n", live.error().message.c_str());
    return 1;
  }
  for (const auto& [name, p] : {std::pair{"fit", &*posterior}, std::pair{"update", &*live}}) {
    for (const capacity::LiftSummary& lift : p->lifts) {
      std::printf("%s %s", name, lift.exercise.c_str());
      print("strength", lift.strength);
      print("endurance", lift.endurance);
      print("fatigability", lift.fatigability);
      std::printf("\n");
    }
    std::printf("%s", name);
    print("bias", p->bias_reps);
    std::printf("\n");
  }

  std::vector<capacity::Posterior::Wanted> wanted;
  for (const Exercise& e : log.exercises) wanted.push_back({e});
  bench::PlanningScene scene(posterior->draw(wanted, posterior->as_of + 2, 80, 200, 5), log.exercises, 3);
  for (const std::size_t i : {0, 99, 199}) {
    const capacity::Draw& draw = scene.draws.draws[i];
    std::printf("draw %zu", i);
    for (const capacity::LiftDraw& lift : draw.lifts)
      std::printf(" %.6g %.6g %.6g", lift.log_strength, lift.endurance, lift.residual);
    std::printf(" %.6g %.6g\n", draw.fatigue.a_slow, draw.judgement.bias);
  }
  const auto plan = planning::plan_session(scene.request, scene.input);
  if (!plan) {
    std::printf("no plan: %s\n", plan.error().message.c_str());
    return 1;
  }
  for (const planning::PlanItem& item : plan->items) {
    std::printf("plan %s", item.exercise.c_str());
    for (const planning::PlanSet& set : item.sets) {
      std::printf(", %s %g x %d", std::string(kind_name(set.kind)).c_str(), set.load.amount, set.reps);
      if (set.cue) std::printf(" %s", set.cue->text.c_str());
    }
    std::printf("\n");
  }
  for (const planning::LeftOut& out : plan->left_out) std::printf("left out %s\n", out.exercise.c_str());
  return 0;
}

}  // namespace

int main() {
  base();
  curve_and_judgement();
  set_likelihood();
  pooled_studies();
  return fit_and_plan();
}
