// Simulated lifters sampled: how far a fit's means and sds lie from those of its own posterior.
//
//   sampled_lifters KIND FIRST COUNT [DRAWS]   rows of science/results/sampled_lifters.csv; half a minute a lifter
//
// Hamiltonian Monte Carlo (Duane, Kennedy, Pendleton, Roweth 1987) over the whole field and the three scales at once,
// with the density the fit itself approximates (LatentField::evaluate) and none of its approximations. That this
// density is the model's is checked against another program's (science/results/stan_log_density.csv). Two chains from
// different places; steps are laid along the eigenvectors of the curvature, their lengths set while warming up.
#include <Eigen/Core>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/random.h"
#include "engine/calibration/scenario.h"
#include "engine/capacity/field_solver.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/latent_field.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/summary.h"

namespace {

using namespace ullage;
using capacity::LatentField;
using capacity::Posterior;
using capacity::Scales;

constexpr int kScales = 3;
constexpr std::array<const capacity::Prior*, kScales> kScalePriors{&capacity::kLogSigma, &capacity::kLogDrift,
                                                                   &capacity::kLogDaySd};

// Field and scales in one vector, the scales last, in prior sds from the prior means.
class Density {
 public:
  explicit Density(LatentField& field) : field_(&field) {}
  Eigen::Index size() const { return field_->size() + kScales; }
  static Scales scales(const Eigen::VectorXd& at) { return capacity::scales_at(at.tail<kScales>()); }
  // Log density and its slopes: by the field exact, by the scales from differences.
  double operator()(const Eigen::VectorXd& at, Eigen::VectorXd& slope) const {
    constexpr double kLittle = 1e-4;
    const Eigen::VectorXd field = at.head(field_->size());
    LatentField::Terms terms;
    field_->evaluate(field, scales(at), 1, terms);
    slope.resize(size());
    slope.head(field_->size()) = terms.gradient;
    LatentField::Terms moved;
    for (Eigen::Index i = field_->size(); i < size(); ++i) {
      Eigen::VectorXd there = at;
      there(i) += kLittle;
      field_->evaluate(field, scales(there), 0, moved);
      slope(i) = (moved.value - terms.value) / kLittle - at(i);
    }
    return terms.value - 0.5 * at.tail(kScales).squaredNorm();
  }
  // Minus its second derivatives.
  Eigen::MatrixXd curvature(const Eigen::VectorXd& at) const {
    constexpr double kStep = 0.05;
    const Eigen::Index n = field_->size();
    LatentField::Terms terms;
    field_->evaluate(at.head(n), scales(at), 2, terms);
    Eigen::MatrixXd out = Eigen::MatrixXd::Zero(size(), size());
    out.topLeftCorner(n, n) = Eigen::MatrixXd(terms.precision).selfadjointView<Eigen::Lower>();
    for (Eigen::Index i = n; i < size(); ++i) {
      Eigen::VectorXd above = at, below = at, up, down;
      above(i) += kStep;
      below(i) -= kStep;
      (*this)(above, up);
      (*this)(below, down);
      out.col(i) = (down - up) / (2 * kStep);
      out.row(i).head(n) = out.col(i).head(n).transpose();
    }
    return 0.5 * (out + out.transpose());
  }

 private:
  LatentField* field_;
};

struct Chain {
  std::vector<Eigen::VectorXd> draws;
  double accepted = 0;
};

Chain sample(const Density& density, const Eigen::VectorXd& centre, int draws, Random& random) {
  constexpr int kLeaps = 12;
  constexpr double kWanted = 0.8;     // chance of a step being taken
  constexpr double kLeastBend = 0.3;  // of the curvature: along less than the prior's the place tells nothing
  const Eigen::Index n = density.size();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(density.curvature(centre));
  Eigen::VectorXd lengths = parts.eigenvalues().cwiseAbs().cwiseMax(kLeastBend).cwiseSqrt().cwiseInverse();
  const Eigen::MatrixXd& ways = parts.eigenvectors();
  const auto normals = [&] {
    Eigen::VectorXd out(n);
    for (Eigen::Index i = 0; i < n; ++i) out(i) = random.normal();
    return out;
  };
  Eigen::VectorXd at = centre + 0.5 * (ways * lengths.cwiseProduct(normals())), slope;
  double value = density(at, slope), step = 0.15;
  const int warm = draws / 2;
  std::vector<Eigen::VectorXd> seen;
  Chain out;
  for (int i = 0; i < warm + draws; ++i) {
    Eigen::VectorXd push = normals(), to = at, slope_there = slope;
    const double before = value - 0.5 * push.squaredNorm();
    const double length = step * (0.8 + 0.4 * random.uniform());
    const auto pushed = [&] { return (length * lengths.cwiseProduct(ways.transpose() * slope_there)).eval(); };
    double there = value;
    bool good = true;
    push += 0.5 * pushed();
    for (int leap = 0; good && leap < kLeaps; ++leap) {
      to += length * (ways * lengths.cwiseProduct(push));
      there = density(to, slope_there);
      good = std::isfinite(there) && slope_there.allFinite();
      if (good) push += (leap + 1 < kLeaps ? 1.0 : 0.5) * pushed();
    }
    const double chance = good ? std::min(1.0, std::exp(there - 0.5 * push.squaredNorm() - before)) : 0;
    if (random.uniform() < chance) {
      at = to;
      value = there;
      slope = slope_there;
    }
    if (i >= warm) {
      out.draws.push_back(at);
      out.accepted += chance / draws;
      continue;
    }
    step *= std::exp((chance - kWanted) * (i < 100 ? 0.1 : 0.03));
    if (i > warm / 4) seen.push_back(ways.transpose() * at);
    if (i == warm / 2) {
      Eigen::VectorXd mean = Eigen::VectorXd::Zero(n), square = mean;
      for (const Eigen::VectorXd& s : seen) {
        mean += s / static_cast<double>(seen.size());
        square += s.cwiseAbs2() / static_cast<double>(seen.size());
      }
      const Eigen::VectorXd sds = (square - mean.cwiseAbs2()).cwiseMax(0).cwiseSqrt();
      lengths = sds.cwiseMax(0.5 * lengths).cwiseMin(4 * lengths);
    }
  }
  return out;
}

// Of one unknown over all chains.
struct Summary {
  double mean = 0, sd = 0;
  double r_hat = 0;  // of halves (Gelman and Rubin 1992)
  double draws = 0;  // independent ones that would say as much
};
Summary summary(const std::vector<std::vector<double>>& chains) {
  Summary out;
  double count = 0, variance = 0;
  std::vector<double> means, within;
  for (const std::vector<double>& chain : chains) {
    const std::size_t half = chain.size() / 2;
    for (const std::size_t from : {std::size_t{0}, half}) {
      double mean = 0, square = 0;
      for (std::size_t i = from; i < from + half; ++i) mean += chain[i] / static_cast<double>(half);
      for (std::size_t i = from; i < from + half; ++i) {
        square += (chain[i] - mean) * (chain[i] - mean) / static_cast<double>(half - 1);
      }
      means.push_back(mean);
      within.push_back(square);
    }
    for (const double x : chain) {
      out.mean += x;
      ++count;
    }
  }
  out.mean /= count;
  for (const auto& chain : chains) {
    for (const double x : chain) variance += (x - out.mean) * (x - out.mean) / (count - 1);
  }
  out.sd = std::sqrt(variance);
  double between = 0, inside = 0;
  for (std::size_t i = 0; i < means.size(); ++i) {
    between += (means[i] - out.mean) * (means[i] - out.mean) / static_cast<double>(means.size() - 1);
    inside += within[i] / static_cast<double>(within.size());
  }
  out.r_hat = std::sqrt(1 + between / inside);
  // Autocorrelations up to where they are gone.
  double together = 1;
  const std::size_t longest = chains.front().size() / 3;
  for (std::size_t lag = 1; lag < longest; ++lag) {
    double product = 0;
    for (const auto& chain : chains) {
      for (std::size_t i = 0; i + lag < chain.size(); ++i)
        product += (chain[i] - out.mean) * (chain[i + lag] - out.mean);
    }
    const double correlation = product / (count * variance);
    if (correlation < 0.03) break;
    together += 2 * correlation;
  }
  out.draws = count / together;
  return out;
}

// The best place with the scales at their prior means, fatigue and the rest going to it in turn.
Eigen::VectorXd starting_place(LatentField& field) {
  const Scales scales = Density::scales(Eigen::VectorXd::Zero(kScales));
  const capacity::FieldLayout& f = field.layout();
  Eigen::VectorXd at = field.start();
  field.freeze(at, scales);
  capacity::FieldSolver solver(field);
  solver.pin({f.log_a_fast, f.log_a_slow, f.log_tau_fast, f.logit_lam});
  solver.solve(at, scales, 1e-4, 200);
  field.freeze(at, scales);
  solver.pin({});
  solver.marginalise(
      at, scales,
      {f.log_a_fast, f.log_a_slow, f.log_tau_fast, f.logit_lam, f.bias, f.log_gain, f.log_spread, f.log_spread_rise},
      8);
  Eigen::VectorXd out(field.size() + kScales);
  out << at, Eigen::VectorXd::Zero(kScales);
  return out;
}

// What is compared: where it stands in the sampled vector, and in the kept unknowns of the fit.
struct Compared {
  std::string name;
  Eigen::Index sampled;
  int kept;  // of a scale, -1 - which
};
std::vector<Compared> compared(const LatentField& field, const Posterior& fit) {
  const capacity::FieldLayout& f = field.layout();
  const Posterior::Index& i = fit.index;
  std::vector<Compared> out;
  for (std::size_t l = 0; l < fit.lifts.size(); ++l) {
    out.push_back({"strength " + fit.lifts[l].exercise, f.strength[l].back(), i.strength[l]});
    const auto k = static_cast<std::size_t>(fit.lifts[l].endurance_index);
    out.push_back({"log k " + fit.lifts[l].exercise, f.log_endurance[k], i.log_endurance[k]});
  }
  const std::array<std::pair<const char*, std::pair<int, int>>, 9> shared{
      {{"b", {f.bias, i.bias}},
       {"log g", {f.log_gain, i.log_gain}},
       {"log s0", {f.log_spread, i.log_spread}},
       {"log s1", {f.log_spread_rise, i.log_spread_rise}},
       {"cue shift", {f.cue_shift, i.cue_shift}},
       {"log A_fast", {f.log_a_fast, i.log_a_fast}},
       {"log A_slow", {f.log_a_slow, i.log_a_slow}},
       {"log tau_fast", {f.log_tau_fast, i.log_tau_fast}},
       {"logit lam", {f.logit_lam, i.logit_lam}}}};
  for (const auto& [name, places] : shared) out.push_back({name, places.first, places.second});
  for (int s = 0; s < kScales; ++s) {
    constexpr std::array<const char*, kScales> kNames{"log sigma", "log q", "log sigma_d"};
    out.push_back({kNames[static_cast<std::size_t>(s)], field.size() + s, -1 - s});
  }
  return out;
}

// Mean and sd of one of the fit's unknowns; of a scale in prior sds from the prior mean.
capacity::Prior said(const Posterior& fit, int kept) {
  if (kept >= 0) return capacity::moments(fit.components, kept);
  using capacity::Component;
  constexpr std::array<double Component::*, kScales> kScale{&Component::sigma, &Component::drift, &Component::day_sd};
  const auto which = static_cast<std::size_t>(-1 - kept);
  const capacity::Prior of = capacity::log_moments(fit.components, kScale[which]);
  const capacity::Prior& prior = *kScalePriors[which];
  return {(of.mean - prior.mean) / prior.sd, of.sd / prior.sd};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::fprintf(stderr, "sampled_lifters planned|cue|unknown|mixed FIRST COUNT [DRAWS]\n");
    return 2;
  }
  calibration::Scenario scenario;
  scenario.weeks = 10;
  int kind = 0;
  while (kind < calibration::kKinds && calibration::kind_name(calibration::Kind(kind)) != argv[1]) ++kind;
  if (kind == calibration::kKinds) {
    std::fprintf(stderr, "%s: planned, cue, unknown or mixed was expected\n", argv[1]);
    return 2;
  }
  scenario.kind = calibration::Kind(kind);
  const int first = std::atoi(argv[2]), count = std::atoi(argv[3]), draws = argc > 4 ? std::atoi(argv[4]) : 1500;
  for (int number = first; number < first + count; ++number) {
    const calibration::Scene scene = calibration::make_scene(scenario, number);
    const auto log = capacity::prepare(
        scene.lifter, scene.sets, [&](const std::string& id) { return scene.find(id); }, scene.sets.back().date);
    const auto fit = capacity::fit(log, {});
    if (!fit) {
      std::fprintf(stderr, "%s\n", fit.error().message.c_str());
      return 1;
    }
    LatentField field(log);
    const Eigen::VectorXd start = starting_place(field);
    const Density density(field);
    std::array<Chain, 2> chains;
    for (std::size_t c = 0; c < chains.size(); ++c) {
      Random random(static_cast<std::uint64_t>(number), 100 + c);
      chains[c] = sample(density, start, draws, random);
    }
    for (const Compared& of : compared(field, *fit)) {
      std::vector<std::vector<double>> values(chains.size());
      for (std::size_t c = 0; c < chains.size(); ++c) {
        for (const Eigen::VectorXd& draw : chains[c].draws) values[c].push_back(draw(of.sampled));
      }
      const Summary sampled = summary(values);
      const capacity::Prior told = said(*fit, of.kept);
      std::printf("%s,%d,%s,%.5f,%.5f,%.3f,%.0f,%.5f,%.5f\n", argv[1], number, of.name.c_str(), sampled.mean,
                  sampled.sd, sampled.r_hat, sampled.draws, told.mean, told.sd);
    }
    std::fflush(stdout);
    std::fprintf(stderr, "%s %d: steps taken %.2f, %.2f\n", argv[1], number, chains[0].accepted, chains[1].accepted);
  }
  return 0;
}
