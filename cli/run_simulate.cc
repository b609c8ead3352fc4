// simulate: the model put to the test on simulated lifters.
#include <fmt/format.h>

#include <algorithm>

#include "cli/context.h"
#include "service/coach/simulate.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

void show(Terminal& term, const coach::SimulateView& view) {
  term.heading(view.holds() ? "Every interval held as often as it should."
                            : "Not every interval held as often as it should.");
  for (const coach::SimulatedKind& kind : view.kinds) {
    const bool broken = kind.scenario.variant != calibration::Variant::none;
    term.line();
    term.line(fmt::format("{}{}: {}, {} weeks, {} did not settle", calibration::kind_name(kind.scenario.kind),
                          broken ? fmt::format(", {}", calibration::variant_name(kind.scenario.variant)) : "",
                          counted(kind.lifters, "lifter"), view.weeks, kind.unsettled));
    std::string line;
    for (const auto& t : kind.parameters) {
      line += padded(cut(fmt::format("{} {:.1f}", t.parameter, 100 * t.coverage80), 25), 26);
      if (line.size() > 60) {
        term.line(line, 2);
        line.clear();
      }
    }
    if (!line.empty()) term.line(line, 2);
    for (const std::string& fault : kind.faults) term.caution(fault);
  }
  term.line();
  term.quiet("Numbers: how many in a hundred 80 % intervals held the truth.");
}

}  // namespace

Result<void> run_simulate(Context& c) {
  coach::SimulateWish wish;
  wish.lifters = c.args.whole("--lifters").value_or(1000);
  wish.variant_lifters = c.args.whole("--broken-lifters").value_or(std::min(wish.lifters, 250));
  wish.weeks = c.args.whole("--weeks").value_or(10);
  wish.workers = c.args.whole("--workers").value_or(0);
  wish.results = c.args.text("--results");
  if (c.args.has("--kind")) {
    wish.kinds.clear();
    for (int k = 0; k < calibration::kKinds; ++k) {
      const auto kind = static_cast<calibration::Kind>(k);
      if (calibration::kind_name(kind) == c.args.text("--kind")) wish.kinds.push_back(kind);
    }
    if (!c.args.has("--broken-lifters")) wish.variant_lifters = 0;
  }
  if (c.args.has("--plot")) {
    if (const auto format = pictures::format_of(c.args.text("--plot")); !format) return tl::unexpected(format.error());
  }
  wish.progress = [&](int done, int total) {
    return c.progress.tell(total ? double(done) / total : 1, fmt::format("{} of {} lifters", done, total));
  };
  const auto view = coach::simulate(wish);
  if (!view) return tl::unexpected(view.error());
  c.progress.clear();
  if (c.args.has("--plot")) {
    const auto written = pictures::write_picture(coach::simulate_picture(*view), c.args.text("--plot"));
    if (!written) return written;
  }
  if (c.json)
    c.print(coach::to_json(*view));
  else
    show(c.term, *view);
  return {};
}

}  // namespace ullage::cli
