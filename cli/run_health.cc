// intake, hold, word, consent, pain.
#include <fmt/format.h>

#include <algorithm>

#include "cli/app.h"
#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/pains.h"
#include "service/coach/records.h"

namespace ullage::cli {
namespace {

Result<void> check_day(Context& c) {
  if (c.day() > c.desk().today())
    return fail(Code::invalid_input,
                "--date: " + date_text(c.day()) + " is after today, " + date_text(c.desk().today()));
  return {};
}

// What may be prescribed now, in words.
Result<void> show_gate(Context& c, const Lifter& lifter) {
  const auto gate = c.desk().session_gate(lifter, c.desk().today());
  if (!gate) return tl::unexpected(gate.error());
  if (gate->allowed()) {
    c.term.heading(lifter.name + ": sessions may be written");
  } else {
    c.term.heading(lifter.name + " is on hold: nothing is prescribed");
    for (const safety::Held& held : gate->holds) {
      c.term.line(
          fmt::format("{}: {}{}", held.reason, held.lifts, held.id.empty() ? "" : fmt::format(" [{}]", held.id)), 2);
    }
  }
  if (gate->least_reserve > 0)
    c.term.line(fmt::format("at least {:g} in reserve ({})", gate->least_reserve, gate->least_reserve_from), 2);
  if (gate->extra_reserve > 0)
    c.term.line(fmt::format("{:g} more in reserve than the policy ({})", gate->extra_reserve, gate->extra_reserve_from),
                2);
  if (gate->load_cap_share)
    c.term.line(fmt::format("loads up to {:.0f} % of strength ({})", 100 * *gate->load_cap_share, gate->load_cap_from),
                2);
  for (const safety::Barred& barred : gate->barred)
    c.term.line(
        fmt::format("{} is out: {}", barred.exercise.empty() ? "every exercise" : barred.exercise, barred.reason), 2);
  if (!gate->failure) c.term.line("no sets to failure: " + gate->no_failure, 2);
  return {};
}

}  // namespace

Result<void> run_intake(Context& c) {
  // "intake" with nothing answered asks what there is to answer.
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  safety::Intake intake;
  intake.date = c.day();
  intake.recorded_by = c.by();
  bool any = c.args.flag("--all-no");
  for (int q = 0; q < safety::kQuestionCount; ++q) {
    safety::IntakeAnswer answer;
    answer.question = static_cast<safety::Question>(q);
    const std::string option = intake_option(answer.question);
    if (c.args.has(option)) {
      answer.answer = c.args.text(option) == "yes" ? safety::Answer::yes : safety::Answer::no;
      any = true;
    } else {
      answer.answer = c.args.flag("--all-no") ? safety::Answer::no : safety::Answer::not_asked;
    }
    if (answer.answer == safety::Answer::yes) answer.detail = c.args.text("--detail");
    intake.answers.push_back(answer);
  }
  if (!any) {
    std::string questions = "no answer was given; the questions are:";
    for (int q = 0; q < safety::kQuestionCount; ++q) {
      const auto question = static_cast<safety::Question>(q);
      questions += fmt::format("\n{} yes|no: {}", intake_option(question), safety::question_text(question));
    }
    return fail(Code::invalid_input, questions);
  }
  const auto change = coach::record_intake(c.desk(), *lifter, intake);
  if (!change) return tl::unexpected(change.error());
  if (c.json) {
    const auto record = c.store().health(lifter->id);
    if (!record) return tl::unexpected(record.error());
    c.print(coach::to_json(*record));
    return {};
  }
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  c.say_change(*change, "the answers are on record");
  return {};
}

Result<void> run_intake_show(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto record = c.store().health(lifter->id);
  if (!record) return tl::unexpected(record.error());
  if (c.json) {
    c.print(coach::to_json(*record));
    return {};
  }
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  for (const safety::Intake& intake : record->intakes) {
    c.term.line(fmt::format("{}: asked by {}", date_text(intake.date), intake.recorded_by));
    for (const safety::IntakeAnswer& a : intake.answers) {
      const char* word = a.answer == safety::Answer::yes ? "yes" : a.answer == safety::Answer::no ? "no" : "not asked";
      c.term.line(
          padded(word, 11) + std::string(safety::question_name(a.question)) + (a.detail.empty() ? "" : ": " + a.detail),
          2, 11);
    }
  }
  for (const safety::Hold& h : record->holds) {
    c.term.line(fmt::format("hold {} since {}: {}{}", h.id, date_text(h.since), h.reason,
                            h.lifted ? fmt::format("; lifted {} by {}", date_text(*h.lifted), h.lifted_by) : ""));
  }
  for (const safety::ClinicianWord& w : record->words) {
    c.term.line(fmt::format("word {} of {}, {}{}: {}", w.id, w.clinician, date_text(w.date),
                            w.until ? " until " + date_text(*w.until) : "", w.note.empty() ? "no note" : w.note));
  }
  if (record->consent)
    c.term.line(fmt::format("consent of {} on {}, recorded by {}", record->consent->guardian,
                            date_text(record->consent->date), record->consent->recorded_by));
  for (const safety::Pain& p : record->pains) {
    c.term.line(fmt::format("pain on {} since {}{}{}", p.exercise.empty() ? "everything" : p.exercise,
                            date_text(p.since), p.note.empty() ? "" : ": " + p.note,
                            p.cleared ? "; cleared " + date_text(*p.cleared) : ""));
  }
  return {};
}

Result<void> run_hold_add(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  const auto change = coach::change_health(c.desk(), *lifter, "hold", [&](safety::HealthRecord& r) -> Result<void> {
    safety::Hold hold;
    hold.since = c.day();
    hold.reason = c.args.text("--reason");
    coach::add_hold(r, hold);
    return {};
  });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, lifter->name + " is on hold: " + c.args.text("--reason"));
  return {};
}

Result<void> run_hold_lift(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  std::string lifted;
  const auto change =
      coach::change_health(c.desk(), *lifter, "hold lifted", [&](safety::HealthRecord& r) -> Result<void> {
        const auto hold = coach::lift_hold(r, c.args.text("--id"), c.day(), c.by(), c.args.text("--ground"));
        if (!hold) return tl::unexpected(hold.error());
        lifted = hold->reason;
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  c.say_change(*change, "lifted: " + lifted);
  return {};
}

Result<void> run_hold_show(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (!c.json) return show_gate(c, *lifter);
  const auto gate = c.desk().gate(*lifter, c.desk().today());
  if (!gate) return tl::unexpected(gate.error());
  c.print(coach::to_json(*gate));
  return {};
}

Result<void> run_word_add(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  safety::ClinicianWord word;
  word.date = c.day();
  word.clinician = c.args.text("--clinician");
  word.recorded_by = c.by();
  word.until = c.args.date("--until");
  if (word.until && *word.until < word.date) return fail(Code::invalid_input, "--until: is before the day of the word");
  word.least_reserve = c.args.number("--least-reserve");
  if (c.args.has("--load-cap")) word.load_cap_share = *c.args.number("--load-cap") / 100;
  word.note = c.args.text("--note");
  for (const auto& [option, list] :
       {std::pair{"--only", &word.only_exercises}, std::pair{"--not", &word.not_exercises}}) {
    for (const std::string& name : c.args.all(option)) {
      const auto exercise = c.desk().exercise(name);
      if (!exercise) return fail(Code::invalid_input, std::string(option) + ": " + exercise.error().message);
      list->push_back((*exercise)->id);
    }
  }
  const auto change =
      coach::change_health(c.desk(), *lifter, "clinician's word", [&](safety::HealthRecord& r) -> Result<void> {
        const auto id = coach::add_word(r, word, c.args.all("--lifts"));
        if (!id) return fail(Code::invalid_input, "--lifts: " + id.error().message);
        word.id = *id;
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  c.say_change(*change, "on record: " + word.id + " of " + word.clinician);
  return {};
}

Result<void> run_word_end(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto change =
      coach::change_health(c.desk(), *lifter, "clinician's word ended", [&](safety::HealthRecord& r) -> Result<void> {
        const auto ended = coach::end_word(r, c.args.text("--id"), c.day());
        if (!ended) return fail(Code::not_found, ended.error().message + "; see intake show");
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  c.say_change(*change, "ended: " + c.args.text("--id"));
  return {};
}

Result<void> run_consent_add(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  const auto change =
      coach::change_health(c.desk(), *lifter, "guardian's consent", [&](safety::HealthRecord& r) -> Result<void> {
        r.consent = safety::GuardianConsent{c.day(), c.args.text("--guardian"), c.by()};
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  c.say_change(*change, "consent of " + c.args.text("--guardian") + " is on record");
  return {};
}

Result<void> run_consent_remove(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto change = coach::change_health(c.desk(), *lifter, "guardian's consent taken back",
                                           [&](safety::HealthRecord& r) -> Result<void> {
                                             r.consent.reset();
                                             return {};
                                           });
  if (!change) return tl::unexpected(change.error());
  if (const auto shown = show_gate(c, *lifter); !shown) return shown;
  c.say_change(*change, "the consent is taken back");
  return {};
}

Result<void> run_pain_add(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  safety::Pain pain;
  pain.since = c.day();
  pain.note = c.args.text("--note");
  std::string name = "every exercise";
  if (c.args.has("--exercise")) {
    const auto exercise = c.desk().exercise(c.args.text("--exercise"));
    if (!exercise) return fail(Code::invalid_input, exercise.error().message);
    pain.exercise = (*exercise)->id;
    name = (*exercise)->name;
  }
  const auto change = coach::change_health(c.desk(), *lifter, "pain", [&](safety::HealthRecord& r) -> Result<void> {
    coach::add_pain(r, pain);
    return {};
  });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, fmt::format("{} is out for {} until it is cleared", name, lifter->name));
  c.term.line("Pain that is sharp, lasts, or comes with numbness or swelling: see a clinician first.");
  return {};
}

Result<void> run_pain_clear(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (const auto fine = check_day(c); !fine) return fine;
  if (c.args.has("--exercise") == c.args.flag("--all")) {
    return fail(Code::invalid_input, "say what is let back in: --exercise NAME, or --all for everything that is out");
  }
  std::string id;
  if (c.args.has("--exercise")) {
    const auto exercise = c.desk().exercise(c.args.text("--exercise"));
    if (!exercise) return fail(Code::invalid_input, exercise.error().message);
    id = (*exercise)->id;
  }
  int cleared = 0;
  const auto change =
      coach::change_health(c.desk(), *lifter, "pain cleared", [&](safety::HealthRecord& r) -> Result<void> {
        for (safety::Pain& p : r.pains) {
          if (p.cleared || (c.args.has("--exercise") && p.exercise != id)) continue;
          p.cleared = c.day();
          p.cleared_by = c.by();
          ++cleared;
        }
        if (cleared == 0) return fail(Code::not_found, "no pain is on record that could be cleared");
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, fmt::format("cleared for {}: {}", lifter->name,
                                    c.args.has("--exercise") ? id : fmt::format("{} exercises", cleared)));
  return {};
}

}  // namespace ullage::cli
