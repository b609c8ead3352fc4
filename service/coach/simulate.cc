#include "service/coach/simulate.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <filesystem>
#include <fstream>
#include <map>
#include <mutex>
#include <optional>
#include <sstream>
#include <thread>
#include <tuple>

#include "engine/drawing/plot.h"

namespace ullage::coach {
namespace {

using calibration::Kind;
using calibration::Places;
using calibration::Scenario;
using calibration::Variant;
using Json = nlohmann::ordered_json;

struct Key {
  std::string kind, variant;
  int number = 0;
  auto operator<=>(const Key&) const = default;
};
struct Row {
  bool fitted = true, converged = true;
  std::vector<double> places;
};

std::string header(int weeks) {
  std::string out = fmt::format("weeks_{},kind,variant,lifter,state", weeks);
  for (const std::string& name : calibration::parameter_names()) out += "," + name;
  return out;
}

std::string row_text(int weeks, const Key& key, const Row& row) {
  std::string out = fmt::format("{},{},{},{},{}", weeks, key.kind, key.variant, key.number,
                                !row.fitted     ? "failed"
                                : row.converged ? "fitted"
                                                : "unsettled");
  for (const double place : row.places) out += fmt::format(",{:.5f}", place);
  return out;
}

Result<std::map<Key, Row>> read_rows(const std::string& path, int weeks) {
  std::map<Key, Row> out;
  std::ifstream in(path);
  if (!in) return out;
  std::string line;
  std::getline(in, line);
  if (line != header(weeks)) {
    return fail(Code::invalid_input, path + ": not a file of runs of this length and model; move it away first");
  }
  while (std::getline(in, line)) {
    std::istringstream cells(line);
    std::vector<std::string> f;
    for (std::string cell; std::getline(cells, cell, ',');) f.push_back(cell);
    if (f.size() < 5 || in.eof()) continue;  // the last line of a run that was cut off
    Row row;
    row.fitted = f[4] != "failed";
    row.converged = f[4] == "fitted";
    for (std::size_t i = 5; i < f.size(); ++i) row.places.push_back(std::strtod(f[i].c_str(), nullptr));
    if (row.fitted && row.places.size() != calibration::parameter_names().size()) continue;
    out[{f[1], f[2], std::atoi(f[3].c_str())}] = std::move(row);
  }
  return out;
}

std::string summary_text(const SimulateView& view) {
  std::string out = "weeks,kind,variant,parameter,n";
  for (int bin = 1; bin <= 10; ++bin) out += fmt::format(",bin{}", bin);
  out += ",coverage80,p,p_holm\n";
  for (const SimulatedKind& kind : view.kinds) {
    for (const calibration::ParameterTally& t : kind.parameters) {
      out += fmt::format("{},{},{},{},{}", view.weeks, calibration::kind_name(kind.scenario.kind),
                         calibration::variant_name(kind.scenario.variant), t.parameter, t.n);
      for (const int count : t.bins) out += fmt::format(",{}", count);
      out += fmt::format(",{:.4f},{:.3g},{:.3g}\n", t.coverage80, t.p, t.p_holm);
    }
  }
  return out;
}

}  // namespace

bool SimulateView::holds() const {
  return std::all_of(kinds.begin(), kinds.end(), [](const SimulatedKind& k) { return k.faults.empty(); });
}

std::vector<std::string> calibration_faults(const Scenario& scenario,
                                            const std::vector<calibration::ParameterTally>& parameters) {
  std::vector<std::string> out;
  const bool broken = scenario.variant != Variant::none;
  for (const calibration::ParameterTally& t : parameters) {
    const bool chief = calibration::is_chief(t.parameter);
    // The bounds are for a thousand lifters; of fewer, chance alone moves the share by more.
    const double chance = 2.6 * std::max(0.0, std::sqrt(0.16 / std::max(1, t.n)) - std::sqrt(0.16 / 1000));
    const double low = (broken ? 0.70 : chief ? 0.765 : 0.74) - chance;
    const double high = (broken ? 1.0 : chief ? 0.835 : 0.86) + chance;
    if (t.coverage80 < low || t.coverage80 > high) {
      out.push_back(fmt::format("{}: {:.1f} % of 80 % intervals held", t.parameter, 100 * t.coverage80));
    }
    if (!broken && t.p_holm <= 0.01) {
      out.push_back(fmt::format("{}: places are not uniform, adjusted p {:.2g}", t.parameter, t.p_holm));
    }
  }
  return out;
}

Result<SimulateView> simulate(const SimulateWish& wish) {
  std::vector<std::pair<Scenario, int>> scenarios;
  for (const Kind kind : wish.kinds) scenarios.push_back({{kind, Variant::none, wish.weeks}, wish.lifters});
  if (wish.variant_lifters > 0) {
    for (int v = 1; v < calibration::kVariants; ++v) {
      scenarios.push_back({calibration::scenario_of(static_cast<Variant>(v), wish.weeks), wish.variant_lifters});
    }
  }
  const auto key_of = [](const Scenario& s, int number) {
    return Key{std::string(calibration::kind_name(s.kind)), std::string(calibration::variant_name(s.variant)), number};
  };

  std::map<Key, Row> rows;
  std::ofstream keep;
  if (!wish.results.empty()) {
    std::error_code error;
    std::filesystem::create_directories(wish.results, error);
    const std::string path = wish.results + "/calibration_lifters.csv";
    auto read = read_rows(path, wish.weeks);
    if (!read) return tl::unexpected(read.error());
    rows = std::move(*read);
    // Written anew, so that a line that was cut off is gone; then added to.
    keep.open(path, std::ios::trunc);
    keep << header(wish.weeks) << '\n';
    for (const auto& [key, row] : rows) keep << row_text(wish.weeks, key, row) << '\n';
    keep.flush();
    if (!keep) return fail(Code::unavailable, path + ": cannot be written");
  }

  std::vector<std::pair<Scenario, int>> tasks;
  int total = 0;
  for (const auto& [scenario, count] : scenarios) {
    total += count;
    for (int number = 0; number < count; ++number) {
      if (!rows.count(key_of(scenario, number))) tasks.push_back({scenario, number});
    }
  }
  std::atomic<std::size_t> next = 0;
  std::atomic<bool> stop = false;
  std::mutex mutex;
  int done = total - static_cast<int>(tasks.size());
  int running = 0;
  std::condition_variable changed;
  const auto work = [&] {
    for (std::size_t i = next++; i < tasks.size() && !stop; i = next++) {
      const auto& [scenario, number] = tasks[i];
      const Result<Places> places = calibration::place_truths(scenario, number);
      Row row;
      row.fitted = places.has_value();
      if (places) {
        row.converged = places->converged;
        row.places = places->value;
      }
      const Key key = key_of(scenario, number);
      const std::lock_guard lock(mutex);
      if (keep.is_open()) keep << row_text(wish.weeks, key, row) << std::endl;
      rows[key] = std::move(row);
      ++done;
      changed.notify_all();
    }
    const std::lock_guard lock(mutex);
    --running;
    changed.notify_all();
  };
  const int cores = std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
  running = wish.workers > 0 ? wish.workers : cores;
  std::vector<std::thread> workers;
  for (int i = running; i > 0; --i) workers.emplace_back(work);
  {
    std::unique_lock lock(mutex);
    while (running > 0) {
      changed.wait_for(lock, std::chrono::milliseconds(200));
      if (wish.progress && !wish.progress(done, total)) stop = true;
    }
  }
  for (std::thread& worker : workers) worker.join();
  if (stop) {
    return fail(Code::cancelled,
                fmt::format("stopped after {} of {} lifters{}", done, total,
                            wish.results.empty() ? "; nothing was kept" : "; they are kept, the same command goes on"));
  }

  SimulateView view;
  view.weeks = wish.weeks;
  for (const auto& [scenario, count] : scenarios) {
    SimulatedKind kind;
    kind.scenario = scenario;
    std::vector<std::vector<double>> places;
    for (int number = 0; number < count; ++number) {
      const Row& row = rows.at(key_of(scenario, number));
      ++kind.lifters;
      if (!row.fitted) {
        ++kind.failed;
        continue;
      }
      kind.unsettled += row.converged ? 0 : 1;
      places.push_back(row.places);
    }
    kind.parameters = calibration::tally(places);
    kind.faults = calibration_faults(scenario, kind.parameters);
    if (kind.failed > 0) kind.faults.push_back(fmt::format("{} of {} could not be fitted", kind.failed, kind.lifters));
    view.kinds.push_back(std::move(kind));
  }
  if (!wish.results.empty()) {
    const std::string path = wish.results + "/calibration.csv";
    std::ofstream out(path);
    out << summary_text(view);
    if (!out.flush()) return fail(Code::unavailable, path + ": cannot be written");
  }
  return view;
}

Json to_json(const SimulateView& view) {
  Json out;
  out["holds"] = view.holds();
  out["weeks"] = view.weeks;
  out["kinds"] = Json::array();
  for (const SimulatedKind& kind : view.kinds) {
    Json k{{"kind", calibration::kind_name(kind.scenario.kind)},
           {"variant", calibration::variant_name(kind.scenario.variant)},
           {"lifters", kind.lifters},
           {"failed", kind.failed},
           {"unsettled", kind.unsettled},
           {"faults", kind.faults},
           {"parameters", Json::array()}};
    for (const auto& t : kind.parameters) {
      k["parameters"].push_back({{"parameter", t.parameter},
                                 {"n", t.n},
                                 {"coverage80", t.coverage80},
                                 {"p", t.p},
                                 {"p_holm", t.p_holm},
                                 {"bins", t.bins}});
    }
    out["kinds"].push_back(std::move(k));
  }
  return out;
}

drawing::Picture simulate_picture(const SimulateView& view) {
  using namespace drawing;
  Picture picture(
      kSpread,
      view.holds() ? "Every interval held as often as it should" : "Not every interval held as often as it should",
      "How often 80 % intervals held the truth, by parameter and kind of log.");
  double top = picture.heading("share of simulated lifters whose truth lay in the 80 % interval");
  top += 28;
  const auto& names = calibration::parameter_names();
  const double step = 18;
  const std::size_t columns = view.kinds.size();
  const double left = 120, width = (kSpread - kMargin - left) / static_cast<double>(std::max<std::size_t>(1, columns));
  for (std::size_t c = 0; c < columns; ++c) {
    const SimulatedKind& kind = view.kinds[c];
    const Frame frame{left + width * static_cast<double>(c) + 6, top, left + width * static_cast<double>(c + 1) - 6,
                      top + step * static_cast<double>(names.size())};
    Plot plot(picture, frame, Scale::linear(0.6, 1), Scale::linear(0, static_cast<double>(names.size())), true);
    const bool broken = kind.scenario.variant != Variant::none;
    picture.text({frame.left, frame.top - 8},
                 std::string(broken ? calibration::variant_name(kind.scenario.variant)
                                    : calibration::kind_name(kind.scenario.kind)),
                 Anchor::start, Role::ink, 11);
    plot.rule_x(broken ? 0.7 : 0.8);
    for (std::size_t k = 0; k < kind.parameters.size(); ++k) {
      const double y = static_cast<double>(k) + 0.5;
      const auto& t = kind.parameters[k];
      if (c == 0) picture.text({left - 4, plot.at(0.6, y).y + 4}, t.parameter, Anchor::end, Role::ink, 12);
      const double half = 1.96 * std::sqrt(0.16 / std::max(1, t.n));
      plot.whisker_x(y, std::max(0.6, t.coverage80 - half), std::min(1.0, t.coverage80 + half));
      plot.point(std::clamp(t.coverage80, 0.6, 1.0), y, calibration::is_chief(t.parameter) ? Mark::dot : Mark::ring, 3);
    }
    plot.axis_x("", {{0.6, "60"}, {0.8, "80"}, {1.0, "100 %"}});
  }
  picture.end_at(top + step * static_cast<double>(names.size()) + Plot::axis_height(false) + 12);
  return picture;
}

}  // namespace ullage::coach
