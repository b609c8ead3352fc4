// One simulated lifter, their log, the fit of it, and where the truth lies in the posterior.
//
//   const Result<Places> places = place_truths({Kind::cue, Variant::none, 10}, 17);
//   places->value[k]        // of parameter_names()[k]: 0.5 when the truth is the posterior's median
//
// Truths are drawn from exactly the model's priors (engine/capacity/priors.h). Loads, reps and cues depend on what was
// logged before and on a first guess drawn without the truth (engine/simulation). When the fit is right, every place is
// uniform on 0..1 over lifters: simulation-based calibration, Talts, Betancourt, Simpson, Vehtari and Gelman 2018,
// arXiv:1804.06788. The seed was fixed before the first run and is never changed.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "engine/simulation/training_months.h"

namespace ullage::calibration {

inline constexpr std::uint64_t kStudySeed = 20250106;

// How sets end and what is told of them.
enum class Kind {
  planned,  // after the planned reps, each with a call
  cue,      // on feeling a called reserve of two
  unknown,  // where the lifter likes, reasons not told, nothing called
  mixed     // planned, six in ten called, and a rep-max test in every fourth session
};
inline constexpr int kKinds = 4;

// Lifters whom the model does not describe (engine/simulation/simulated_lifter.h).
enum class Variant {
  none,
  heavy_tails,         // set noise with three degrees of freedom; planned with calls
  wrong_rests,         // rests written down wrong by a log sd of 0.3; planned with calls
  drifting_judgement,  // bias rises by one rep in 100 days; planned with calls
  plateau_then_jump,   // no progress for half the log, then 8 % at once; planned with calls
  feeling_anew,        // what is felt is drawn anew at every rep; cue
  feeling_half_anew    // half of its variance is, the other half once a set; cue
};
inline constexpr int kVariants = 7;

std::string_view kind_name(Kind kind);           // "planned", ...
std::string_view variant_name(Variant variant);  // "none", "heavy tails", ...

// How far the people a lifter is drawn from lie from the model's priors, each on the scale of its prior.
struct PeopleShift {
  double bias = 0, log_gain = 0, log_a_fast = 0, log_a_slow = 0;
  std::array<double, 3> log_endurance{};  // by lift
};

struct Scenario {
  Kind kind = Kind::planned;
  Variant variant = Variant::none;
  int weeks = 10;  // of training on two days a week, three lifts
  PeopleShift people{};
};
// The kind of log a variant is shown on.
Scenario scenario_of(Variant variant, int weeks);

struct Scene {
  std::vector<simulation::SimulatedLift> lifts;  // press, row, curl
  Lifter lifter;
  simulation::Truth truth;
  std::vector<SetRecord> sets;
  // On the last day.
  std::vector<double> log_strength, trend;
  double readiness = 0, bias = 0;
  // Three days later: the first set of the first lift, with its last working load, done to failure.
  Date next_day;
  Load next_load;
  double next_capacity = 0;  // real reps to failure, set noise included

  const Exercise* find(const std::string& id) const;
};
// number: of the lifter, 0 and up; the same scenario and number give the same scene everywhere.
Scene make_scene(const Scenario& scenario, int number);

// The parameters in the order of Places::value.
const std::vector<std::string>& parameter_names();
// Those whose 80 % coverage must be within 76.5-83.5 %; the others within 74-86 %.
bool is_chief(const std::string& parameter);

struct Places {
  std::vector<double> value;  // share of the posterior below the truth
  int sets = 0;
  bool converged = true;
};
// Simulates and fits. Errors: as capacity::fit.
Result<Places> place_truths(const Scenario& scenario, int number);

// ---- Over many lifters.

struct ParameterTally {
  std::string parameter;
  int n = 0;
  std::vector<int> bins = std::vector<int>(10, 0);
  double coverage80 = 0;
  double p = 1;       // chi-squared of the ten bins, 9 degrees of freedom
  double p_holm = 1;  // adjusted over the parameters of the scenario
};
// places: one row a lifter. p_holm: Holm 1979.
std::vector<ParameterTally> tally(const std::vector<std::vector<double>>& places);
// Chance of a chi-squared variable of `degrees` (odd) above x.
double chi_squared_above(double x, int degrees);
// The smallest adjusted first; as many as given.
std::vector<double> holm(const std::vector<double>& p);

}  // namespace ullage::calibration
