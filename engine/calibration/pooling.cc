#include "engine/calibration/pooling.h"

#include <cmath>
#include <memory>

#include "engine/calibration/scenario.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/population.h"

namespace ullage::calibration {
namespace {

// A roster's people: means moved from the published ones by draws of `departure` prior sds, spreads halved, so that
// they are more alike than strangers are.
struct RosterPeople {
  double bias = 0, gain = 0, a_fast = 0, a_slow = 0;  // moves of the means
  std::vector<double> endurance, ratio;               // by lift
};

double next_reps(const capacity::Posterior& p, const Scene& scene, std::uint64_t seed) {
  const auto draws = p.draw({{scene.lifts[0].exercise}}, scene.next_day, 80, 400, seed);
  const double log_load = std::log(total_load(scene.lifts[0].exercise, scene.next_load, 80));
  double sum = 0;
  for (const capacity::Draw& d : draws.draws) {
    sum += capacity::reps_to_failure(d.lifts[0].log_strength - d.lifts[0].residual - log_load, d.lifts[0].endurance,
                                     draws.info[0].shape);
  }
  return sum / static_cast<double>(draws.draws.size());
}

double mean_of(const capacity::Posterior& p, int variable) {
  double sum = 0;
  for (const capacity::Component& c : p.components) sum += c.weight * c.mean(variable);
  return sum;
}

double squared_error(const capacity::Posterior& p, const Scene& scene, int& n) {
  double sum = 0;
  const auto add = [&](double error, double unit) {
    sum += error * error / (unit * unit);
    ++n;
  };
  for (std::size_t i = 0; i < scene.lifts.size(); ++i) {
    const int lift = p.find_lift(scene.lifts[i].exercise.id, Side::both);
    if (lift < 0) continue;
    const auto l = static_cast<std::size_t>(lift);
    add(mean_of(p, p.index.strength[l]) - scene.log_strength[i], 0.1);
    add(mean_of(p, p.index.log_endurance[static_cast<std::size_t>(p.lifts[l].endurance_index)]) -
            std::log(scene.truth.lifts[i].endurance),
        capacity::log_endurance(scene.lifts[i].exercise).sd);
  }
  add(mean_of(p, p.index.bias) - scene.truth.judgement.bias, capacity::kBias.sd);
  add(mean_of(p, p.index.log_a_slow) - std::log(scene.truth.fatigue.a_slow), capacity::kLogASlow.sd);
  add(next_reps(p, scene, 11) - scene.next_capacity, 2);
  return sum;
}

}  // namespace

double PooledErrors::ratio() const { return published > 0 ? std::sqrt(pooled / published) : 1; }

void PooledErrors::add(const PooledErrors& other) {
  published += other.published;
  pooled += other.pooled;
  n += other.n;
}

Result<RosterErrors> pooling_errors(int number, const RosterOptions& options) {
  Random random(kStudySeed + 104729ULL * static_cast<std::uint64_t>(number), 2);
  RosterPeople people;
  const auto move = [&](double sd) { return options.departure * sd * random.normal(); };
  people.bias = move(capacity::kBias.sd);
  people.gain = move(capacity::kLogGain.sd);
  people.a_fast = move(capacity::kLogAFast.sd);
  people.a_slow = move(capacity::kLogASlow.sd);
  for (int i = 0; i < 3; ++i) {
    people.endurance.push_back(move(0.22));
    people.ratio.push_back(move(0.15));
  }
  const double spread = options.departure > 0 ? 0.5 : 1;
  const auto adjust = [&](std::vector<simulation::SimulatedLift>& lifts, simulation::Truth& truth) {
    // Closer together, about the roster's own mean.
    const auto moved = [&](double value, const capacity::Prior& prior, double by) {
      return prior.mean + by + spread * (value - prior.mean);
    };
    truth.judgement.bias = moved(truth.judgement.bias, capacity::kBias, people.bias);
    truth.judgement.gain = std::exp(moved(std::log(truth.judgement.gain), capacity::kLogGain, people.gain));
    truth.fatigue.a_fast = std::exp(moved(std::log(truth.fatigue.a_fast), capacity::kLogAFast, people.a_fast));
    truth.fatigue.a_slow = std::exp(moved(std::log(truth.fatigue.a_slow), capacity::kLogASlow, people.a_slow));
    for (std::size_t i = 0; i < lifts.size(); ++i) {
      simulation::LiftTruth& lift = truth.lifts[i];
      lift.endurance = std::max(3.0, std::exp(moved(std::log(lift.endurance),
                                                    capacity::log_endurance(lifts[i].exercise), people.endurance[i])));
      lift.log_strength += people.ratio[i];
    }
  };

  std::vector<Scene> scenes;
  std::vector<capacity::TrainingLog> logs;
  std::vector<capacity::Posterior> first;
  capacity::FitOptions fit_options;
  fit_options.history = false;
  const auto fitted = [&](std::size_t i) { return capacity::fit(logs[i], fit_options); };
  for (int i = 0; i < options.lifters; ++i) {
    Scenario scenario{Kind::planned, Variant::none, i % 2 == 0 ? options.little_weeks : options.much_weeks};
    scenes.push_back(make_scene(scenario, 1000000 + number * 1000 + i, adjust));
    const Scene& scene = scenes.back();
    logs.push_back(capacity::prepare(
        scene.lifter, scene.sets, [&scene](const std::string& id) { return scene.find(id); }, scene.sets.back().date));
    auto p = fitted(logs.size() - 1);
    if (!p) return tl::unexpected(p.error());
    first.push_back(std::move(*p));
    if (options.progress && !options.progress(0.5 * (i + 1) / options.lifters)) return fail(Code::cancelled, "stopped");
  }
  const auto find = [&](const std::string& id) { return scenes.front().find(id); };
  std::vector<capacity::LifterHints> pooled;
  for (std::size_t i = 0; i < first.size(); ++i) {
    pooled.push_back(capacity::hints_of(first[i], scenes[i].lifter.training_years, find));
  }
  const auto population = std::make_shared<const capacity::Population>(capacity::pool(pooled, find));

  RosterErrors out;
  for (std::size_t i = 0; i < scenes.size(); ++i) {
    logs[i].population = population;
    const auto second = fitted(i);
    if (!second) return tl::unexpected(second.error());
    PooledErrors& errors = i % 2 == 0 ? out.little : out.much;
    int again = 0;
    errors.published += squared_error(first[i], scenes[i], errors.n);
    errors.pooled += squared_error(*second, scenes[i], again);
    if (options.progress &&
        !options.progress(0.5 + 0.5 * static_cast<double>(i + 1) / static_cast<double>(scenes.size()))) {
      return fail(Code::cancelled, "stopped");
    }
  }
  return out;
}

}  // namespace ullage::calibration
