// What a command works with: its options, the open data, where to print.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "cli/environment.h"
#include "cli/options.h"
#include "cli/terminal.h"
#include "engine/drawing/picture.h"
#include "service/coach/desk.h"
#include "service/coach/sessions.h"
#include "service/coach/views.h"

namespace ullage::cli {

// Shows how far a long piece of work is, on stderr, after the first second, as one line that is written over. Nothing
// with --quiet or when stderr is no terminal.
class ProgressLine {
 public:
  ProgressLine(const Environment& environment, bool quiet) : environment_(environment), quiet_(quiet) {}
  ~ProgressLine() { clear(); }
  // False when the work should stop.
  bool tell(double share, const std::string& what);
  void clear();

 private:
  const Environment& environment_;
  bool quiet_;
  std::chrono::steady_clock::time_point begun_ = std::chrono::steady_clock::now(), last_{};
  std::size_t shown_ = 0;
};

struct Context {
  const Environment& environment;
  const Command& command;
  Args args;
  Terminal term;
  bool json = false;
  bool quiet = false;
  std::string data_file;
  std::string who;
  std::unique_ptr<coach::Desk> open_desk;  // null for commands without data
  ProgressLine progress;

  coach::Desk& desk() { return *open_desk; }
  store::Store& store() { return open_desk->store(); }
  void print(const coach::Json& result) { term.raw(coach::json_text(result)); }
  coach::Share share(const std::string& what) {
    return [this, what](double done) { return progress.tell(done, what); };
  }
  // The day a record is dated: --date, else the desk's today.
  Date day() { return args.date("--date").value_or(desk().today()); }
  std::string by() { return args.text("--by", who); }
  // The lifter named by --lifter.
  Result<Lifter> lifter() { return desk().lifter(args.text("--lifter")); }
  // "change 12; to take it back: ullage undo 12", or that nothing changed.
  void say_change(store::ChangeId change, const std::string& done);
};

// Writes the picture to --plot, when it is given. The name is checked by plot_name before any work is done.
Result<void> plot_name(Context& c);
Result<void> plot(Context& c, const drawing::Picture& picture);

// Writes a session to --output in the format asked for (html, pdf).
Result<void> write_session_document(Context& c, const coach::SessionSheet& sheet);

// The option of "intake" that answers a question: "--heart-disease".
std::string intake_option(safety::Question question);

// ---- Commands; one file each family. The table is in commands.cc.
Result<void> run_demo(Context&);
Result<void> run_import(Context&);
Result<void> run_mapping_cells(Context&);
Result<void> run_mapping_suggest(Context&);
Result<void> run_mapping_add(Context&);
Result<void> run_mapping_list(Context&);
Result<void> run_mapping_show(Context&);
Result<void> run_mapping_remove(Context&);

Result<void> run_lifter_add(Context&);
Result<void> run_lifter_edit(Context&);
Result<void> run_lifter_show(Context&);
Result<void> run_lifter_list(Context&);
Result<void> run_lifter_remove(Context&);
Result<void> run_lifter_weigh(Context&);
Result<void> run_lifter_settle(Context&);
Result<void> run_exercise_list(Context&);
Result<void> run_exercise_show(Context&);
Result<void> run_exercise_add(Context&);
Result<void> run_exercise_edit(Context&);
Result<void> run_exercise_remove(Context&);
Result<void> run_place_add(Context&);
Result<void> run_place_edit(Context&);
Result<void> run_place_show(Context&);
Result<void> run_place_list(Context&);
Result<void> run_place_remove(Context&);
Result<void> run_policy_show(Context&);
Result<void> run_policy_set(Context&);
Result<void> run_policy_reset(Context&);

Result<void> run_intake(Context&);
Result<void> run_intake_show(Context&);
Result<void> run_hold_add(Context&);
Result<void> run_hold_lift(Context&);
Result<void> run_hold_show(Context&);
Result<void> run_word_add(Context&);
Result<void> run_word_end(Context&);
Result<void> run_consent_add(Context&);
Result<void> run_consent_remove(Context&);
Result<void> run_pain_add(Context&);
Result<void> run_pain_clear(Context&);

Result<void> run_fit(Context&);
Result<void> run_estimate(Context&);
Result<void> run_forecast(Context&);
Result<void> run_session(Context&);
Result<void> run_compare(Context&);
Result<void> run_log(Context&);
Result<void> run_log_session(Context&);
Result<void> run_set_list(Context&);
Result<void> run_set_edit(Context&);
Result<void> run_set_remove(Context&);
Result<void> run_roster(Context&);
Result<void> run_steer(Context&);
Result<void> run_steer_accept(Context&);
Result<void> run_steer_reject(Context&);
Result<void> run_backtest(Context&);
Result<void> run_simulate(Context&);

Result<void> run_report(Context&);
Result<void> run_sheets(Context&);
Result<void> run_overview(Context&);
Result<void> run_calendar(Context&);

Result<void> run_plan(Context&);
Result<void> run_plan_show(Context&);
Result<void> run_plan_list(Context&);
Result<void> run_plan_accept(Context&);
Result<void> run_plan_reject(Context&);
Result<void> run_plan_edit(Context&);
Result<void> run_plan_note(Context&);
Result<void> run_template_list(Context&);
Result<void> run_template_show(Context&);
Result<void> run_template_add(Context&);
Result<void> run_template_remove(Context&);
Result<void> run_evidence_fit(Context&);
Result<void> run_evidence_ask(Context&);
Result<void> run_evidence_curve(Context&);
Result<void> run_evidence_reading_list(Context&);
Result<void> run_evidence_reading_add(Context&);
Result<void> run_evidence_reading_remove(Context&);
Result<void> run_evidence_published(Context&);

Result<void> run_serve(Context&);

Result<void> run_undo(Context&);
Result<void> run_history(Context&);
Result<void> run_export(Context&);
Result<void> run_backup(Context&);
Result<void> run_restore(Context&);
Result<void> run_erase(Context&);
Result<void> run_doctor(Context&);
Result<void> run_version(Context&);

}  // namespace ullage::cli
