// backtest: the model's forecasts against what happened.
#include <fmt/format.h>

#include <algorithm>

#include "cli/context.h"
#include "service/coach/backtest.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

void show_table(Terminal& term, const std::string& head, const std::vector<calibration::NamedScore>& rows) {
  term.quiet(padded(head, 34) + padded("sets", 6, true) + padded("off by", 9, true) + padded("formula", 9, true) +
             padded("held", 7, true));
  for (const calibration::NamedScore& row : rows) {
    const bool compared = row.score.n > 0;
    term.line(padded(cut(row.name, 33), 34) + padded(std::to_string(row.score.n), 6, true) +
              padded(compared ? fmt::format("{:.2f}", row.score.mae_reps) : "-", 9, true) +
              padded(compared ? fmt::format("{:.2f}", row.best_formula_mae) : "-", 9, true) +
              padded(percent_text(row.score.coverage80), 7, true));
  }
  term.line();
}

void show(Terminal& term, const coach::BacktestView& view) {
  const calibration::Backtest& r = view.result;
  for (const std::string& name : view.left_out) term.caution(name);
  if (r.total.endings == 0) {
    term.line("Nothing to score: only sets that failed, were called, ended on a cue or as planned can be.");
    return;
  }
  const auto best = std::min_element(r.formulas.begin(), r.formulas.end(),
                                     [](const auto& a, const auto& b) { return a.mae_reps < b.mae_reps; });
  if (r.total.n > 0) {
    term.heading(fmt::format("Off by {:.2f} reps on average; the best formula, {}, by {:.2f}.", r.total.mae_reps,
                             best->name, best->mae_reps));
  }
  term.line(fmt::format("80 % intervals held {} of the time.", percent_text(r.total.coverage80)));
  term.quiet(
      fmt::format("{} forecast before they were done, in {}, {}; {} compared with formulas, log score {:.2f} a set.",
                  counted(r.total.endings, "set"), counted(r.sessions, "session"), counted(r.fits, "fit"), r.total.n,
                  r.total.log_score));
  if (r.not_told > 0) {
    term.quiet(fmt::format("{} ended for reasons not told: not scored.", counted(r.not_told, "set")));
  }
  if (r.set_aside > 0) {
    term.quiet(
        fmt::format("{} four times off the usual: taken for typing errors, not scored.", counted(r.set_aside, "load")));
  }
  term.line();
  show_table(term, "exercise", r.exercises);
  show_table(term, "reps left, as forecast", r.reserve_ranges);
  term.quiet(padded("formula", 34) + padded("", 6) + padded("off by", 9, true) + padded("score", 9, true) +
             "  used on");
  auto formulas = r.formulas;
  std::sort(formulas.begin(), formulas.end(), [](const auto& a, const auto& b) { return a.mae_reps < b.mae_reps; });
  if (r.total.n == 0) return;
  for (const auto& f : formulas) {
    term.line(padded(f.name, 34) + padded("", 6) + padded(fmt::format("{:.2f}", f.mae_reps), 9, true) +
              padded(fmt::format("{:.2f}", f.log_score), 9, true) + "  " + cut(f.way, 20));
  }
}

}  // namespace

Result<void> run_backtest(Context& c) {
  coach::BacktestWish wish;
  if (c.args.has("--lifter")) wish.lifters = {c.args.text("--lifter")};
  if (c.args.has("--lifter") && c.args.flag("--all")) {
    return fail(Code::invalid_input, "--all: not together with --lifter");
  }
  if (c.args.has("--plot")) {
    if (const auto format = pictures::format_of(c.args.text("--plot")); !format) return tl::unexpected(format.error());
  }
  wish.least_sessions = c.args.whole("--after").value_or(4);
  wish.sessions_a_fit = c.args.whole("--fit-every").value_or(8);
  wish.workers = c.args.whole("--workers").value_or(0);
  wish.progress = [&](double share) { return c.progress.tell(share, "forecasting what is known"); };
  const auto view = coach::backtest(c.desk(), wish);
  if (!view) return tl::unexpected(view.error());
  c.progress.clear();
  if (c.args.has("--plot")) {
    const auto written = pictures::write_picture(coach::backtest_picture(*view), c.args.text("--plot"));
    if (!written) return written;
  }
  if (c.json)
    c.print(coach::to_json(*view));
  else
    show(c.term, *view);
  return {};
}

}  // namespace ullage::cli
