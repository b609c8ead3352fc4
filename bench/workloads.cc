// Small named workloads whose instruction counts are watched (bench/budgets.csv).
//
//   workloads NAME    prepares and runs one of them; only ullage_measured() is counted
//   workloads         lists the names
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <functional>
#include <memory>

#include "bench/evidence_scene.h"
#include "bench/scenes.h"
#include "engine/base/normal.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/session_forecast.h"
#include "engine/capacity/set_likelihood.h"
#include "engine/comparing/average_lifter.h"
#include "engine/comparing/compare.h"
#include "engine/evidence/influence.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/robust.h"
#include "engine/planning/block_instances.h"
#include "engine/planning/block_search.h"
#include "service/documents/pdf.h"
#include "service/documents/session_sheet.h"
#include "service/interchange/read_log.h"
#include "service/interchange/write_log.h"
#include "service/library/library.h"

using namespace ullage;

namespace {

// Keeps a result from being optimised away.
volatile double sink;

constexpr std::uint64_t kSeed = 20260309;

struct Workload {
  const char* name;
  // Prepares, uncounted, and gives the work to be counted.
  std::function<std::function<void()>()> prepare;
};

// The value, or the end of the program with what went wrong: a workload that fails must not count as fast.
template <class T>
T must(Result<T> result) {
  if (result) return *std::move(result);
  std::fprintf(stderr, "%s\n", result.error().message.c_str());
  std::exit(1);
}

capacity::Posterior small_posterior() { return must(capacity::fit(bench::small_log(60, kSeed).prepare())); }

// The next day of that lifter.
capacity::LifterDraws next_day(const capacity::Posterior& posterior, const std::vector<Exercise>& exercises, int n) {
  std::vector<capacity::Posterior::Wanted> wanted;
  for (const Exercise& e : exercises) wanted.push_back({e});
  return posterior.draw(wanted, posterior.as_of + 2, 80, n, 5);
}

const Workload kWorkloads[] = {
    {"normal_quantile_1e5",
     [] {
       return [] {
         double sum = 0;
         for (int i = 1; i <= 100000; ++i) sum += normal_quantile(i / 100001.0);
         sink = sum;
       };
     }},
    // Every set carries a call; value, gradient and Hessian.
    {"set_likelihood_1000",
     [] {
       return [] {
         double sum = 0;
         for (int i = 0; i < 1000; ++i) {
           const double called = i % 5;
           capacity::SetObservation set{1 + i % 12, Stop::planned, {}, {}};
           set.feeling = capacity::Feeling{{called - 0.5, 0, false}, {-INFINITY, 0, false}, {called + 0.5, 0, false}};
           const capacity::LocalVector at{0.15 + 0.0003 * i,
                                          std::log(32.0),
                                          0.8,
                                          std::log(0.8),
                                          std::log(0.6),
                                          std::log(0.15),
                                          0.2,
                                          std::log(2.5),
                                          0.25,
                                          std::log(0.035),
                                          std::log(0.04)};
           sum += capacity::set_log_likelihood(set, at, i % 2 ? 1 : 0.2, 0.025, 2).log_likelihood;
         }
         sink = sum;
       };
     }},
    {"fit_60_sets",
     [] {
       return [log = bench::small_log(60, kSeed).prepare()] {
         sink = must(capacity::fit(log)).lifts.front().strength.median;
       };
     }},
    // The first work set of the session after those 60 sets.
    {"live_update_one_set",
     [] {
       const bench::SimulatedLog log = bench::small_log(60, kSeed);
       SetRecord set = log.sets.back();
       set.date = set.date + 3;
       set.rest_s.reset();
       return [posterior = small_posterior(), session = log.prepare({set})] {
         sink = must(capacity::update(posterior, session)).lifts.front().strength.median;
       };
     }},
    {"draw_512_of_3_exercises",
     [] {
       return [posterior = small_posterior()] {
         sink = next_day(posterior, bench::three_exercises(), 512).draws.back().lifts.back().log_strength;
       };
     }},
    // Three exercises x 4 sets through 128 draws.
    {"session_forecast",
     [] {
       const capacity::Posterior posterior = small_posterior();
       std::vector<double> loads;
       for (const Exercise& e : bench::three_exercises()) {
         const int lift = posterior.find_lift(e.id, Side::both);
         loads.push_back(std::log(0.75 * posterior.lifts[static_cast<std::size_t>(lift)].strength.median));
       }
       return [draws = next_day(posterior, bench::three_exercises(), 128), loads] {
         capacity::SessionForecast forecast(draws, 7);
         double sum = 0;
         for (int lift = 0; lift < 3; ++lift) {
           for (int set = 0; set < 4; ++set) {
             if (lift + set > 0) forecast.rest(Minutes{2});
             const double load = loads[static_cast<std::size_t>(lift)];
             sum += forecast.perform(lift, load, {8, Call{1, false}}, 1, 3).p_band;
           }
         }
         sink = sum;
       };
     }},
    // Four sets from 128 draws.
    {"plan_one_exercise",
     [] {
       const std::vector<Exercise> one{bench::three_exercises().front()};
       const auto scene = std::make_shared<bench::PlanningScene>(next_day(small_posterior(), one, 128), one, 4);
       return [scene] {
         const planning::SessionPlan plan = must(planning::plan_session(scene->request, scene->input));
         sink = plan.items.at(0).sets.back().load.amount;
       };
     }},
    // 5 days, 60 exercises, 6 weeks of two kinds.
    {"search_block_20000_moves",
     [] {
       return [problem = planning::testing::random_problem({}, 3)] {
         const auto plan = planning::search_block(problem, 1, 20000);
         if (!plan) std::exit(1);
         sink = planning::worth_of(problem, *plan).value;
       };
     }},
    // Two ways, four sets each, an average lifter with 512 draws, both readings.
    {"compare_two_ways",
     [] {
       const capacity::LifterDraws draws = comparing::average_lifter(bench::three_exercises().front(), 512, kSeed);
       comparing::CompareRequest request;
       for (const char* way : {"failure", "reserve:2"}) {
         request.contenders.push_back({must(comparing::parse_way(way)), comparing::load_for_reps(draws, 0, 10), false});
       }
       request.sets = 4;
       const std::vector<planning::Reading> readings{planning::plateau_reading(512, 1),
                                                     planning::linear_reading(512, 2)};
       return [draws, request, readings] {
         sink = must(comparing::compare(draws, readings, request)).ways[1].outcome.total_reps.mean;
       };
     }},
    // 1 154 effects in 68 studies, levels study and effect, two moderators.
    {"multilevel_1154_effects",
     [] {
       return [data = bench::invented_effects(1154, 68, 3)] { sink = must(evidence::fit_multilevel(data)).sigma2[0]; };
     }},
    // 200 effects in 20 studies, each study left out in turn.
    {"leave_20_studies_out",
     [] {
       const auto data = bench::invented_effects(200, 20, 3);
       const auto whole = must(evidence::fit_multilevel(data));
       return [data, whole] { sink = must(evidence::leave_one_group_out(data, whole, {})).back().estimate; };
     }},
    {"robust_200_effects",
     [] {
       return [data = bench::invented_effects(200, 20, 3)] {
         const evidence::WorkingCovariance w{data.v, 0, data.levels, {0.09, 0.02}, 0.5};
         sink = must(evidence::cluster_robust(data.y, data.x, data.names, w, data.levels[0])).coefficients[0].df;
       };
     }},
    {"read_log_1_mb",
     [] {
       std::string csv;
       interchange::LogWriter writer([&](std::string_view text) { csv += text; }, {});
       const bench::SimulatedLog log = bench::small_log(500, kSeed);
       for (int lifter = 0; csv.size() < 1000000; ++lifter) {
         for (const SetRecord& set : log.sets) writer.write(std::to_string(lifter), set);
       }
       return [csv] {
         interchange::StringSource source(csv);
         interchange::ReadLogOptions options;
         options.today = *make_date(2030, 1, 1);
         int reps = 0;
         const auto summary =
             must(interchange::read_log(source, options, [&](interchange::LoggedSet&& set) { reps += set.set.reps; }));
         if (summary.bad_rows > 0) std::exit(1);
         sink = reps;
       };
     }},
    {"buildable_loads_large_gym",
     [] {
       Place gym = plain_gym();
       gym.plates.clear();
       for (const double mass : {25.0, 20.0, 15.0, 10.0, 5.0, 2.5, 2.0, 1.5, 1.25, 1.0, 0.5, 0.25}) {
         gym.plates.push_back({{mass, Unit::kilogram}, mass >= 20 ? 8 : 4});
       }
       return [gym] {
         sink =
             static_cast<double>(must(buildable_loads(gym, bench::three_exercises().front(), Unit::kilogram)).size());
       };
     }},
    {"resolve_10000_names",
     [] {
       std::vector<std::string> names;
       for (const Exercise& exercise : library::builtin().all()) {
         names.push_back(exercise.name);
         names.insert(names.end(), exercise.aliases.begin(), exercise.aliases.end());
       }
       return [names] {
         int found = 0;
         for (std::size_t i = 0; i < 10000; ++i) {
           found += library::builtin().resolve(names[i % names.size()]).exercise != nullptr ? 1 : 0;
         }
         sink = found;
       };
     }},
    // The fonts are found before.
    {"sheet_of_4_exercises_as_pdf",
     [] {
       documents::SessionSheetPage page;
       page.lifter = "Ida Roos";
       page.when = "Mon 9 Mar 2026, boathouse, about 40 minutes";
       documents::SheetExercise exercise;
       exercise.name = "Bench press";
       exercise.aim = "end with 2 to 4 in reserve";
       exercise.warm_up = "Warm up: 20 kg x 8, 60 kg x 4";
       for (int number = 1; number <= 4; ++number) {
         documents::SheetSet set;
         set.number = number;
         set.load = "102.5 kg";
         set.reps = 8;
         set.cue = "stop when you would call 2, about rep 7; at most 8";
         set.vessel.reps = 8;
         set.vessel.low = 9;
         set.vessel.median = 11;
         set.vessel.high = 12;
         set.leaves = "leaves 3";
         exercise.sets.push_back(set);
       }
       exercise.bars.push_back({"102.5 kg", {{25, "25"}, {15, "15"}, {1.25, "1.25"}}, "25 + 15 + 1.25 a side"});
       exercise.rest = "Rest 3:00 between sets; 12 minutes in all.";
       exercise.why = "Why: you say 2 and have about 4.";
       page.exercises.assign(4, exercise);
       page.cautions = {"Set the safety bars before the first work set.", "Pain that is new: stop the exercise."};
       const documents::Document paper{"a sheet", "en", documents::Paper::a4, {documents::session_sheet(page)}};
       must(documents::pdf(paper));
       return [paper] { sink = static_cast<double>(must(documents::pdf(paper)).bytes.size()); };
     }},
};

}  // namespace

// Named for callgrind's --toggle-collect.
extern "C" __attribute__((noinline)) void ullage_measured(const std::function<void()>& work);
extern "C" void ullage_measured(const std::function<void()>& work) { work(); }

int main(int count, char** arguments) {
  for (const Workload& workload : kWorkloads) {
    if (count < 2) {
      std::puts(workload.name);
    } else if (std::strcmp(arguments[1], workload.name) == 0) {
      ullage_measured(workload.prepare());
      return 0;
    }
  }
  if (count < 2) return 0;
  std::fprintf(stderr, "no workload is named %s\n", arguments[1]);
  return 2;
}
