#include "service/coach/backtest.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <mutex>
#include <optional>
#include <thread>

#include "engine/drawing/plot.h"
#include "service/library/library.h"

namespace ullage::coach {
namespace {

using calibration::Backtest;
using Json = nlohmann::ordered_json;

struct Task {
  Lifter lifter;
  std::vector<SetRecord> sets;
  std::optional<Result<Backtest>> result;
};

double rounded(double value) { return std::round(value * 1e6) / 1e6; }

Json json_of(const calibration::NamedScore& named) {
  return {{"name", named.name},
          {"n", named.score.n},
          {"endings", named.score.endings},
          {"mae_reps", rounded(named.score.mae_reps)},
          {"bias_reps", rounded(named.score.bias_reps)},
          {"coverage80", rounded(named.score.coverage80)},
          {"log_score", rounded(named.score.log_score)},
          {"best_formula_mae_reps", rounded(named.best_formula_mae)}};
}

}  // namespace

Result<BacktestView> backtest(Desk& desk, const BacktestWish& wish) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  std::vector<Lifter> lifters;
  if (wish.lifters.empty()) {
    auto all = desk.store().lifters();
    if (!all) return tl::unexpected(all.error());
    lifters = std::move(*all);
  }
  for (const std::string& name : wish.lifters) {
    auto found = desk.lifter(name);
    if (!found) return tl::unexpected(found.error());
    lifters.push_back(std::move(*found));
  }
  std::vector<Task> tasks;
  std::size_t all_sets = 0;
  for (const Lifter& lifter : lifters) {
    store::SetFilter filter;
    filter.to = desk.today();
    auto sets = desk.store().sets(lifter.id, filter);
    if (!sets) return tl::unexpected(sets.error());
    Task task;
    task.lifter = lifter;
    for (store::StoredSet& s : *sets) task.sets.push_back(std::move(s.set));
    all_sets += task.sets.size();
    tasks.push_back(std::move(task));
  }

  // Workers take one lifter each from the list; the store is not touched any more.
  std::atomic<std::size_t> next = 0;
  std::atomic<bool> stop = false;
  std::atomic<int> running = 0;
  std::vector<std::atomic<double>> done(tasks.size());
  const auto find = [&library](const std::string& id) { return (*library)->find(id); };
  const auto work = [&] {
    for (std::size_t i = next++; i < tasks.size() && !stop; i = next++) {
      calibration::BacktestOptions options;
      options.least_sessions = wish.least_sessions;
      options.sessions_a_fit = wish.sessions_a_fit;
      options.progress = [&, i](double share) {
        done[i] = share;
        return !stop.load();
      };
      tasks[i].result = calibration::backtest(tasks[i].lifter, tasks[i].sets, find, options);
      done[i] = 1;
    }
    --running;
  };
  const int cores = std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
  const int count = std::clamp(wish.workers > 0 ? wish.workers : cores, 1, std::max(1, static_cast<int>(tasks.size())));
  running = count;
  std::vector<std::thread> workers;
  for (int i = 0; i < count; ++i) workers.emplace_back(work);
  while (running > 0) {
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    double share = 0;
    for (std::size_t i = 0; i < tasks.size(); ++i) {
      // A fit's cost goes with the log so far: the share of work done with the square of the share of sessions.
      share += done[i] * done[i] * static_cast<double>(tasks[i].sets.size());
    }
    if (wish.progress && !wish.progress(all_sets > 0 ? share / static_cast<double>(all_sets) : 1)) stop = true;
  }
  for (std::thread& worker : workers) worker.join();
  if (stop) return fail(Code::cancelled, "stopped; a backtest keeps nothing");

  BacktestView view;
  for (Task& task : tasks) {
    if (!task.result || !*task.result) {
      view.left_out.push_back(task.lifter.name + ": " +
                              (task.result ? task.result->error().message : std::string("not done")));
      continue;
    }
    const Backtest& one = **task.result;
    if (one.sets.empty()) {
      view.left_out.push_back(task.lifter.name + ": " +
                              (task.sets.empty()   ? "no set is logged"
                               : one.sessions == 0 ? fmt::format("{} sessions or fewer: too few", wish.least_sessions)
                                                   : "no set whose reps to failure were seen or called"));
      continue;
    }
    view.lifters.push_back(task.lifter.name);
    calibration::merge(view.result, one);
  }
  if (tasks.size() == 1 && tasks[0].result && *tasks[0].result) view.result = std::move(**tasks[0].result);
  return view;
}

Json to_json(const BacktestView& view) {
  const Backtest& r = view.result;
  Json out;
  out["n"] = r.total.n;
  out["mae_reps"] = rounded(r.total.mae_reps);
  out["coverage80"] = rounded(r.total.coverage80);
  out["log_score"] = rounded(r.total.log_score);
  out["baselines"] = Json::array();
  for (const calibration::FormulaScore& f : r.formulas) {
    out["baselines"].push_back(
        {{"name", f.name}, {"mae_reps", rounded(f.mae_reps)}, {"log_score", rounded(f.log_score)}, {"way", f.way}});
  }
  out["bias_reps"] = rounded(r.total.bias_reps);
  out["endings"] = r.total.endings;
  out["histogram"] = Json::array();
  for (const double share : r.total.histogram) out["histogram"].push_back(rounded(share));
  out["exercises"] = Json::array();
  for (const auto& named : r.exercises) out["exercises"].push_back(json_of(named));
  out["reserve_ranges"] = Json::array();
  for (const auto& named : r.reserve_ranges) out["reserve_ranges"].push_back(json_of(named));
  out["lifters"] = view.lifters;
  out["left_out"] = view.left_out;
  out["sessions"] = r.sessions;
  out["fits"] = r.fits;
  out["not_told"] = r.not_told;
  out["set_aside"] = r.set_aside;
  return out;
}

drawing::Picture backtest_picture(const BacktestView& view) {
  using namespace drawing;
  const calibration::Score& total = view.result.total;
  Picture picture(
      kColumn, fmt::format("The 80 % intervals held {:.0f} % of {} endings", 100 * total.coverage80, total.endings),
      fmt::format("Histogram of where what happened lay in its forecast, ten parts of equal chance; below it the mean "
                  "error in reps: model {:.2f}.",
                  total.mae_reps));
  double top =
      picture.heading(view.lifters.size() == 1 ? view.lifters.front() : fmt::format("{} lifters", view.lifters.size()));
  top += 24;
  const Frame frame{52, top, kColumn - kMargin, top + 150};
  double most = 0.2;
  for (const double share : total.histogram) most = std::max(most, share);
  Plot plot(picture, frame, Scale::linear(0, 1), Scale::linear(0, std::ceil(most * 20) / 20));
  plot.axis_y("share of endings", 4);
  // What chance alone does to a right forecast's bars, 8 of 10 times.
  const double spread = 1.2816 * std::sqrt(0.09 / std::max(1, total.endings));
  plot.band({0, 1}, {std::max(0.0, 0.1 - spread), std::max(0.0, 0.1 - spread)}, {0.1 + spread, 0.1 + spread});
  for (std::size_t bin = 0; bin < total.histogram.size(); ++bin) {
    const At low = plot.at(static_cast<double>(bin) / 10 + 0.008, 0);
    const At high = plot.at(static_cast<double>(bin + 1) / 10 - 0.008, total.histogram[bin]);
    picture.add(Box{low.x, high.y, high.x - low.x, low.y - high.y, {Role::done, 0.75}, {Role::ink, 0, {}, 1}});
  }
  plot.rule_y(0.1, "right");
  plot.axis_x("where it lay in its forecast, from worst to best", 5);
  top = frame.bottom + Plot::axis_height(true) + 18;

  struct Row {
    std::string name;
    double mae;
    bool model;
  };
  std::vector<Row> rows{{"model", total.mae_reps, true}};
  for (const auto& f : view.result.formulas) rows.push_back({f.name, f.mae_reps, false});
  std::sort(rows.begin() + 1, rows.end(), [](const Row& a, const Row& b) { return a.mae < b.mae; });
  if (total.n > 0) {
    std::vector<double> values{0};
    for (const Row& row : rows) values.push_back(row.mae);
    const Frame below{92, top, kColumn - kMargin - 30, top + 20.0 * static_cast<double>(rows.size())};
    Plot errors(picture, below, Scale::around(values), Scale::linear(0, static_cast<double>(rows.size())), true);
    errors.grid_x();
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const double y = static_cast<double>(i) + 0.5;
      const At at = errors.at(rows[i].mae, y);
      picture.text({below.left - 8, at.y + 4.5}, rows[i].name, Anchor::end, rows[i].model ? Role::ink : Role::quiet);
      errors.point(rows[i].mae, y, rows[i].model ? Mark::dot : Mark::ring, 4, rows[i].model ? Role::done : Role::ink);
      errors.label_end(rows[i].mae, y, fmt::format("{:.2f}", rows[i].mae), rows[i].model ? Role::ink : Role::quiet);
    }
    errors.axis_x(fmt::format("mean error in reps over {} sets", total.n));
    top = below.bottom + Plot::axis_height(true) + 10;
  }
  picture.end_at(top);
  return picture;
}

}  // namespace ullage::coach
