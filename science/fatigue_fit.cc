// Fits the constants of engine/capacity/fatigue.h to published figures, all studies and with each study left out.
//
//   fatigue_fit data/fatigue_figures.csv results/
//
// Cost: sum of ((log predicted - log published) / tolerance)^2, plus a weak pull of each constant towards a round
// number fixed beforehand, so that a fit with a study left out stays defined. Minimised by Nelder and Mead's simplex
// from several starts. Writes results/fatigue_constants.csv and results/fatigue_residuals.csv.
#include <array>
#include <cstdio>
#include <fstream>
#include <functional>
#include <future>
#include <iostream>
#include <map>
#include <sstream>

#include "engine/base/random.h"
#include "science/fatigue_protocols.h"

namespace {

using namespace ullage::science;

struct Figure {
  std::string id, study;
  double value = 0, tolerance = 0;
};

std::vector<std::string> fields(const std::string& line) {
  std::vector<std::string> out(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      out.emplace_back();
    } else {
      out.back() += c;
    }
  }
  return out;
}

constexpr int kCount = 6;
using Point = std::array<double, kCount>;
const char* const kNames[kCount] = {"a_fast", "a_slow", "lam", "rho_f", "tau_fast", "tau_slow"};
double logit(double p) { return std::log(p / (1 - p)); }

// Round numbers and how far from them is believable, on the log (logit for lam).
const Point kCentre{std::log(0.4), std::log(0.4), logit(0.5), std::log(1.0), std::log(1.0), std::log(5.0)};
const Point kReach{1, 1, 1.5, 1, 1, 0.7};

FatigueConstants constants(const Point& p) {
  return {std::exp(p[0]), std::exp(p[1]), 1 / (1 + std::exp(-p[2])), std::exp(p[3]), std::exp(p[4]), std::exp(p[5])};
}
Point point(const FatigueConstants& c) {
  return {std::log(c.a_fast), std::log(c.a_slow),   logit(c.lam),
          std::log(c.rho_f),  std::log(c.tau_fast), std::log(c.tau_slow)};
}

double misfit(const FatigueConstants& c, const std::vector<Figure>& figures, const Crowd& crowd) {
  double sum = 0;
  for (const Figure& f : figures) {
    const double r = std::log(predicted(f.id, c, crowd) / f.value) / f.tolerance;
    sum += r * r;
  }
  return sum;
}

double cost(const Point& p, const std::vector<Figure>& figures, const Crowd& crowd) {
  double sum = misfit(constants(p), figures, crowd);
  for (int i = 0; i < kCount; ++i) sum += std::pow((p[i] - kCentre[i]) / kReach[i], 2);
  return sum;
}

Point minimise(const std::function<double(const Point&)>& f, const Point& start, double step) {
  std::array<std::pair<double, Point>, kCount + 1> simplex;
  for (int i = 0; i <= kCount; ++i) {
    Point p = start;
    if (i > 0) p[i - 1] += step;
    simplex[i] = {f(p), p};
  }
  const auto along = [](const Point& a, const Point& b, double t) {
    Point out;
    for (int j = 0; j < kCount; ++j) out[j] = a[j] + t * (b[j] - a[j]);
    return out;
  };
  for (int round = 0; round < 600; ++round) {
    std::sort(simplex.begin(), simplex.end());
    if (simplex[kCount].first - simplex[0].first < 1e-5) break;
    Point centre{};
    for (int i = 0; i < kCount; ++i)
      for (int j = 0; j < kCount; ++j) centre[j] += simplex[i].second[j] / kCount;
    auto& worst = simplex[kCount];
    const Point mirrored = along(centre, worst.second, -1);
    const double fm = f(mirrored);
    if (fm < simplex[0].first) {
      const Point further = along(centre, worst.second, -2);
      const double ff = f(further);
      worst = ff < fm ? std::pair{ff, further} : std::pair{fm, mirrored};
    } else if (fm < simplex[kCount - 1].first) {
      worst = {fm, mirrored};
    } else {
      const Point nearer = along(centre, fm < worst.first ? mirrored : worst.second, 0.5);
      const double fn = f(nearer);
      if (fn < std::min(fm, worst.first)) {
        worst = {fn, nearer};
      } else {
        for (int i = 1; i <= kCount; ++i) {
          simplex[i].second = along(simplex[0].second, simplex[i].second, 0.5);
          simplex[i].first = f(simplex[i].second);
        }
      }
    }
  }
  std::sort(simplex.begin(), simplex.end());
  return simplex[0].second;
}

Point fit(const std::vector<Figure>& figures, const Crowd& crowd) {
  const auto f = [&](const Point& p) { return cost(p, figures, crowd); };
  Point best = kCentre;
  for (const Point& start :
       {kCentre, point(FatigueConstants{}),
        Point{std::log(0.6), std::log(0.2), logit(0.2), std::log(0.5), std::log(2.0), std::log(8.0)}}) {
    Point p = minimise(f, start, 0.4);
    p = minimise(f, p, 0.15);
    if (f(p) < f(best)) best = p;
  }
  return best;
}

// sd of each constant over exp(-cost/2), by a random walk: whole reps make the cost too rough for its curvature.
Point spread(const Point& start, const std::vector<Figure>& figures, const Crowd& crowd) {
  constexpr int kSteps = 8000, kSkipped = 500;
  ullage::Random random(1);
  Point at = start, sum{}, square{};
  double here = cost(at, figures, crowd);
  for (int step = 0; step < kSteps; ++step) {
    Point next = at;
    for (int i = 0; i < kCount; ++i) next[i] += 0.15 * kReach[i] * random.normal();
    const double there = cost(next, figures, crowd);
    if (std::log(random.uniform()) < (here - there) / 2) {
      at = next;
      here = there;
    }
    if (step < kSkipped) continue;
    for (int i = 0; i < kCount; ++i) {
      sum[i] += at[i] / (kSteps - kSkipped);
      square[i] += at[i] * at[i] / (kSteps - kSkipped);
    }
  }
  Point out;
  for (int i = 0; i < kCount; ++i) out[i] = std::sqrt(square[i] - sum[i] * sum[i]);
  return out;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return std::cerr << "usage: fatigue_fit figures.csv results-folder\n", 2;
  std::ifstream in(argv[1]);
  std::vector<Figure> bench, squat;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const auto f = fields(line);
    const Figure figure{f[0], f[1], std::stod(f[3]), std::stod(f[4]) / 100};
    (figure.study.rfind("squat", 0) == 0 ? squat : bench).push_back(figure);
  }
  const Crowd crowd;
  const FatigueConstants documented;
  const Point all = fit(bench, crowd);
  const FatigueConstants fitted = constants(all);
  auto spreading = std::async(std::launch::async, [&] { return spread(all, bench, crowd); });

  std::map<std::string, FatigueConstants> without;
  std::map<std::string, std::future<FatigueConstants>> running;
  for (const Figure& f : bench) {
    if (running.count(f.study)) continue;
    std::vector<Figure> others;
    for (const Figure& o : bench)
      if (o.study != f.study) others.push_back(o);
    running[f.study] = std::async(std::launch::async, [others, crowd] { return constants(fit(others, crowd)); });
  }
  for (auto& [study, result] : running) without[study] = result.get();
  Crowd squatters;
  squatters.endurance = 36;  // T01-089
  const FatigueConstants squat_fit = constants(fit(squat, squatters));

  const std::string folder = argv[2];
  std::ofstream table(folder + "/fatigue_constants.csv");
  table << "fit,a_fast,a_slow,lam,rho_f,tau_fast,tau_slow,misfit_of_bench_figures\n";
  const auto row = [&](const std::string& name, const FatigueConstants& c) {
    char text[200];
    std::snprintf(text, sizeof text, "%s,%.4f,%.4f,%.4f,%.4f,%.4f,%.4f,%.2f\n", name.c_str(), c.a_fast, c.a_slow, c.lam,
                  c.rho_f, c.tau_fast, c.tau_slow, misfit(c, bench, crowd));
    table << text;
    std::cout << text;
  };
  row("engine", documented);
  row("fit to all", fitted);
  {
    const Point sd = spreading.get();
    char text[200];
    std::snprintf(text, sizeof text, "sd of the fit to all (log; lam logit),%.2f,%.2f,%.2f,%.2f,%.2f,%.2f,\n", sd[0],
                  sd[1], sd[2], sd[3], sd[4], sd[5]);
    table << text;
    std::cout << text;
  }
  for (const auto& [study, c] : without) row("without " + study, c);
  row("squat alone", squat_fit);

  std::ofstream residuals(folder + "/fatigue_residuals.csv");
  residuals << "id,study,published,tolerance_percent,engine,fit_to_all,study_left_out\n";
  const auto residual = [&](const Figure& f, const FatigueConstants& own, const FatigueConstants& left,
                            const Crowd& people) {
    char text[200];
    std::snprintf(text, sizeof text, "%s,%s,%.4g,%.3g,%.4f,%.4f,%.4f\n", f.id.c_str(), f.study.c_str(), f.value,
                  f.tolerance * 100, predicted(f.id, documented, people), predicted(f.id, own, people),
                  predicted(f.id, left, people));
    residuals << text;
    std::cout << text;
  };
  for (const Figure& f : bench) residual(f, fitted, without[f.study], crowd);
  for (const Figure& f : squat) residual(f, squat_fit, fitted, squatters);
}
