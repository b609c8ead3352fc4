#include "engine/calibration/scenario.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "engine/base/normal.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/summary.h"

namespace ullage::calibration {
namespace {

constexpr int kDraws = 1000;
constexpr double kLeastTrueEndurance = 2.1;  // k > 2 always
constexpr std::array<const char*, 3> kLiftNames{"press", "row", "curl"};

std::vector<simulation::SimulatedLift> three_lifts() {
  Exercise press;
  press.id = press.name = "press";
  press.cls = ExerciseClass::barbell_compound;
  press.involvement[static_cast<std::size_t>(Muscle::chest)] = 1;
  press.involvement[static_cast<std::size_t>(Muscle::triceps)] = 0.5;
  press.strength_ratio = 1;
  press.strength_log_sd = 0.1;
  press.endurance = 32;
  Exercise row;
  row.id = row.name = "row";
  row.cls = ExerciseClass::supported_compound;
  row.involvement[static_cast<std::size_t>(Muscle::lats)] = 1;
  row.involvement[static_cast<std::size_t>(Muscle::biceps)] = 0.5;
  row.strength_ratio = 0.85;
  row.strength_log_sd = 0.2;
  Exercise curl;
  curl.id = curl.name = "curl";
  curl.cls = ExerciseClass::isolation;
  curl.involvement[static_cast<std::size_t>(Muscle::biceps)] = 1;
  curl.strength_ratio = 0.35;
  curl.strength_log_sd = 0.35;
  return {{press}, {row}, {curl}};
}

std::uint64_t scene_seed(const Scenario& s, int number) {
  return kStudySeed + 1000003ULL * static_cast<std::uint64_t>(s.kind) +
         10000019ULL * static_cast<std::uint64_t>(s.variant) + 7919ULL * static_cast<std::uint64_t>(number);
}

// Share of a mixture's one variable below a value.
double share_below(const std::vector<capacity::Component>& components, int variable, double value) {
  double sum = 0;
  for (const capacity::Component& c : components) {
    sum += c.weight * normal_cdf((value - c.mean(variable)) / std::sqrt(c.covariance(variable, variable)));
  }
  return sum;
}

// Scales stand at the points of a design that has the mean and variance of their posterior; between the points it is
// taken as a skewed normal on the log.
double scale_below(const capacity::Posterior& p, std::size_t which, double value) {
  constexpr std::array<double capacity::Component::*, 3> kScales{
      &capacity::Component::sigma, &capacity::Component::drift, &capacity::Component::day_sd};
  const auto [mean, sd] = capacity::log_moments(p.components, kScales[which]);
  if (!(sd > 0)) return std::log(value) > mean ? 1 : 0;
  const capacity::Skewing skewing({p.scale_skewness[which], mean, sd});
  return normal_cdf((skewing.inverse(std::log(value)) - mean) / sd);
}

}  // namespace

std::string_view kind_name(Kind kind) {
  constexpr std::array<std::string_view, kKinds> kNames{"planned", "cue", "unknown", "mixed"};
  return kNames[static_cast<std::size_t>(kind)];
}

std::string_view variant_name(Variant variant) {
  constexpr std::array<std::string_view, kVariants> kNames{"none",
                                                           "heavy tails",
                                                           "wrong rests",
                                                           "drifting judgement",
                                                           "plateau then jump",
                                                           "feeling anew each rep",
                                                           "feeling half anew"};
  return kNames[static_cast<std::size_t>(variant)];
}

Scenario scenario_of(Variant variant, int weeks) {
  const bool of_cues = variant == Variant::feeling_anew || variant == Variant::feeling_half_anew;
  return {of_cues ? Kind::cue : Kind::planned, variant, weeks, {}};
}

const Exercise* Scene::find(const std::string& id) const {
  for (const auto& l : lifts) {
    if (l.exercise.id == id) return &l.exercise;
  }
  return nullptr;
}

Scene make_scene(const Scenario& scenario, int number) {
  Scene out;
  out.lifts = three_lifts();
  const std::uint64_t seed = scene_seed(scenario, number);
  Random random(seed, 1);
  const simulation::Background background{Sex::male, 80, 2};
  out.truth = simulation::draw_truth(out.lifts, background, random);
  // The fit takes the log-normal of the same moments; so does the truth here.
  const capacity::Prior loss = capacity::log_lay_off_loss();
  out.truth.layoff_loss = std::exp(random.normal(loss.mean, loss.sd));
  const PeopleShift& people = scenario.people;
  out.truth.judgement.bias += people.bias;
  out.truth.judgement.gain *= std::exp(people.log_gain);
  out.truth.fatigue.a_fast *= std::exp(people.log_a_fast);
  out.truth.fatigue.a_slow *= std::exp(people.log_a_slow);
  for (std::size_t i = 0; i < out.truth.lifts.size(); ++i) {
    double& k = out.truth.lifts[i].endurance;
    k = std::max(kLeastTrueEndurance, k * std::exp(people.log_endurance[i]));
  }
  const std::vector<double> guesses = simulation::first_guesses(out.lifts, background, random);

  simulation::Flaws flaws;
  flaws.heavy_tails = scenario.variant == Variant::heavy_tails;
  flaws.wrong_rest_sd = scenario.variant == Variant::wrong_rests ? 0.3 : 0;
  flaws.judgement_drift = scenario.variant == Variant::drifting_judgement ? 1 : 0;
  flaws.feeling_anew = scenario.variant == Variant::feeling_anew        ? 1
                       : scenario.variant == Variant::feeling_half_anew ? 0.5
                                                                        : 0;
  if (scenario.variant == Variant::plateau_then_jump) flaws.jump_on_day = scenario.weeks * 7 / 2;
  simulation::SimulatedLifter lifter(out.lifts, out.truth, seed, flaws);

  std::vector<simulation::LiftHabit> habits;
  for (std::size_t i = 0; i < out.lifts.size(); ++i) {
    simulation::LiftHabit habit;
    habit.exercise = out.lifts[i].exercise;
    for (double load = 2; load < 400; load += 2) habit.loads.push_back({load, Unit::kilogram});
    habit.first_guess = guesses[i];
    habit.scheme = static_cast<simulation::Scheme>(random.integer(0, 2));
    habit.rest_minutes = i == 0 ? 3 : 2;
    switch (scenario.kind) {
      case Kind::planned: break;
      case Kind::cue: habit.ending = simulation::Ending::cue; break;
      case Kind::unknown:
        habit.ending = simulation::Ending::own_feeling;
        habit.call_chance = 0;
        break;
      case Kind::mixed:
        habit.call_chance = 0.6;
        habit.test_every = 4;
        break;
    }
    habits.push_back(std::move(habit));
  }
  simulation::LoggingCoach coach(habits);
  const Date start = *make_date(2025, 1, 6);
  const auto days = simulation::calendar(start, start + scenario.weeks * 7, {1, 4}, {{{0}, {1}, {2}}}, 0.05, random);
  simulation::LogManner manner;
  manner.stop_known = scenario.kind != Kind::unknown;
  manner.body_mass = [](Date) { return 80.0; };
  out.sets = simulation::train(lifter, coach, days, manner, random).sets;

  out.lifter.id = out.lifter.name = "simulated";
  out.lifter.sex = background.sex;
  out.lifter.training_years = background.training_years;
  out.lifter.body_mass = {{start, {background.body_mass_kg, Unit::kilogram}}};
  for (int i = 0; i < 3; ++i) {
    out.log_strength.push_back(lifter.log_strength(i));
    out.trend.push_back(lifter.trend(i));
  }
  out.readiness = lifter.readiness();
  out.bias = lifter.bias_now();
  for (const SetRecord& r : out.sets) {
    if (r.exercise == out.lifts[0].exercise.id && r.kind == SetKind::work) out.next_load = r.load;
  }
  if (out.next_load.amount <= 0) out.next_load = out.sets.back().load;
  out.next_day = out.sets.back().date + 3;
  lifter.begin_day(out.next_day);
  simulation::SetOrder order;
  order.total_load = total_load(out.lifts[0].exercise, out.next_load, background.body_mass_kg);
  order.ending = simulation::Ending::failure;
  out.next_capacity = lifter.perform(order).capacity;
  return out;
}

const std::vector<std::string>& parameter_names() {
  static const std::vector<std::string> kNames = [] {
    std::vector<std::string> out;
    for (const char* of : {"strength", "log k", "trend"}) {
      for (const char* lift : kLiftNames) out.push_back(std::string(of) + " " + lift);
    }
    for (const char* other :
         {"b", "log g", "log s0", "log s1", "cue shift", "log A_fast", "log A_slow", "log tau_fast", "logit lam",
          "log A_day", "log lay-off loss", "log sigma", "log q", "log sigma_d", "readiness", "next set"}) {
      out.emplace_back(other);
    }
    return out;
  }();
  return kNames;
}

bool is_chief(const std::string& parameter) {
  return parameter.rfind("strength", 0) == 0 || parameter.rfind("log k", 0) == 0 || parameter == "b" ||
         parameter == "next set";
}

Result<Places> place_truths(const Scenario& scenario, int number) {
  const Scene scene = make_scene(scenario, number);
  const auto log = capacity::prepare(
      scene.lifter, scene.sets, [&](const std::string& id) { return scene.find(id); }, scene.sets.back().date);
  capacity::FitOptions options;
  options.history = false;
  const auto fitted = capacity::fit(log, options);
  if (!fitted) return tl::unexpected(fitted.error());
  const capacity::Posterior& p = *fitted;
  const auto& index = p.index;
  const auto below = [&](int variable, double value) {
    return share_below(p.components, variable, p.skewing(variable).inverse(value));
  };

  Places out;
  out.sets = p.set_count;
  out.converged = p.converged;
  std::array<std::size_t, 3> at{};
  for (std::size_t i = 0; i < 3; ++i) {
    at[i] = static_cast<std::size_t>(p.find_lift(scene.lifts[i].exercise.id, Side::both));
  }
  for (std::size_t i = 0; i < 3; ++i) out.value.push_back(below(index.strength[at[i]], scene.log_strength[i]));
  for (std::size_t i = 0; i < 3; ++i) {
    const int k = index.log_endurance[static_cast<std::size_t>(p.lifts[at[i]].endurance_index)];
    out.value.push_back(below(k, std::log(scene.truth.lifts[i].endurance)));
  }
  for (std::size_t i = 0; i < 3; ++i) out.value.push_back(below(index.trend[at[i]], scene.trend[i]));
  const capacity::Judgement& j = scene.truth.judgement;
  const capacity::FatigueConstants& f = scene.truth.fatigue;
  out.value.push_back(below(index.bias, scene.bias));
  out.value.push_back(below(index.log_gain, std::log(j.gain)));
  out.value.push_back(below(index.log_spread, std::log(j.spread)));
  out.value.push_back(below(index.log_spread_rise, std::log(j.spread_rise)));
  out.value.push_back(below(index.cue_shift, j.cue_shift));
  out.value.push_back(below(index.log_a_fast, std::log(f.a_fast)));
  out.value.push_back(below(index.log_a_slow, std::log(f.a_slow)));
  out.value.push_back(below(index.log_tau_fast, std::log(f.tau_fast)));
  out.value.push_back(below(index.logit_lam, std::log(f.lam / (1 - f.lam))));
  out.value.push_back(below(index.log_a_day, std::log(scene.truth.residual)));
  out.value.push_back(below(index.log_layoff, std::log(scene.truth.layoff_loss)));
  out.value.push_back(scale_below(p, 0, scene.truth.sigma));
  out.value.push_back(scale_below(p, 1, scene.truth.lifts[0].drift));
  out.value.push_back(scale_below(p, 2, scene.truth.day_sd));
  out.value.push_back(below(index.readiness, scene.readiness));

  const std::uint64_t seed = scene_seed(scenario, number) + 5;
  const auto draws = p.draw({{scene.lifts[0].exercise}}, scene.next_day, 80, kDraws, seed);
  const double log_load = std::log(total_load(scene.lifts[0].exercise, scene.next_load, 80));
  Random noise(seed, 9);
  int fewer = 0;
  for (const capacity::Draw& d : draws.draws) {
    const double x = d.lifts[0].log_strength - d.lifts[0].residual - log_load;
    const double k = d.lifts[0].endurance;
    const bool outside = x > std::log(2.0) || capacity::reps_to_failure(x, k, draws.info[0].shape) > 25;
    const double sigma = d.sigma * (outside ? capacity::kSigmaOutsideRange : 1);
    if (capacity::reps_to_failure(x + sigma * noise.normal(), k, draws.info[0].shape) < scene.next_capacity) ++fewer;
  }
  out.value.push_back((fewer + 0.5) / (kDraws + 1));
  return out;
}

double chi_squared_above(double x, int degrees) {
  if (x <= 0) return 1;
  // Q(1/2, h) = erfc(sqrt h); Q(a + 1, h) = Q(a, h) + h^a exp(-h) / Gamma(a + 1).
  const double h = x / 2;
  double q = std::erfc(std::sqrt(h));
  for (double a = 0.5; 2 * a + 1 <= degrees; a += 1) q += std::exp(a * std::log(h) - h - std::lgamma(a + 1));
  return std::min(1.0, q);
}

std::vector<double> holm(const std::vector<double>& p) {
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return p[a] < p[b]; });
  std::vector<double> out(p.size());
  double most = 0;
  for (std::size_t i = 0; i < order.size(); ++i) {
    most = std::max(most, std::min(1.0, static_cast<double>(p.size() - i) * p[order[i]]));
    out[order[i]] = most;
  }
  return out;
}

std::vector<ParameterTally> tally(const std::vector<std::vector<double>>& places) {
  std::vector<ParameterTally> out;
  std::vector<double> p;
  for (std::size_t k = 0; k < parameter_names().size(); ++k) {
    ParameterTally t;
    t.parameter = parameter_names()[k];
    int inside = 0;
    for (const std::vector<double>& row : places) {
      const double u = row[k];
      ++t.n;
      ++t.bins[static_cast<std::size_t>(std::clamp(static_cast<int>(u * 10), 0, 9))];
      inside += u > 0.1 && u < 0.9 ? 1 : 0;
    }
    if (t.n > 0) {
      t.coverage80 = static_cast<double>(inside) / t.n;
      double x = 0;
      for (const int count : t.bins) x += (count - t.n / 10.0) * (count - t.n / 10.0) / (t.n / 10.0);
      t.p = chi_squared_above(x, 9);
    }
    p.push_back(t.p);
    out.push_back(std::move(t));
  }
  const std::vector<double> adjusted = holm(p);
  for (std::size_t k = 0; k < out.size(); ++k) out[k].p_holm = adjusted[k];
  return out;
}

}  // namespace ullage::calibration
