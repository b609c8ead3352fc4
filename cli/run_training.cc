// fit, estimate, forecast, session, log, set, roster.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/app.h"
#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/documents.h"
#include "service/coach/doubt.h"
#include "service/coach/records.h"
#include "service/coach/roster_start.h"
#include "service/coach/session_log.h"

namespace ullage::cli {
namespace {

// A value of an option that was read wrongly.
tl::unexpected<Error> not_a(const char* option, const std::string& value, const char* expected) {
  return fail(Code::invalid_input, fmt::format("{}: \"{}\" is not {}", option, value, expected));
}

Result<Unit> unit_of(Context& c, Unit otherwise) {
  if (!c.args.has("--unit")) return otherwise;
  return *parse_unit(c.args.text("--unit"));
}

Side side_of(Context& c) { return parse_side(c.args.text("--side", "both")).value_or(Side::both); }

// Reads the options of a set over what `set` holds.
Result<void> read_set_fields(Context& c, SetRecord& set, Unit unit) {
  const Args& a = c.args;
  const auto call = [&](const char* name, std::optional<Call>& to) -> Result<void> {
    if (!a.has(name)) return {};
    to = parse_call(a.text(name));
    if (!to) return not_a(name, a.text(name), "a reserve: 0 to 10 in halves, or open as 5+");
    return {};
  };
  if (const auto r = call("--called", set.called); !r) return r;
  if (const auto r = call("--cue", set.cue); !r) return r;
  if (a.flag("--failed")) set.failed = true;
  if (a.has("--rest")) set.rest_s = a.number("--rest");
  if (a.has("--side")) set.side = side_of(c);
  if (a.has("--kind")) set.kind = *parse_kind(a.text("--kind"));
  if (a.has("--stop")) set.stop = *parse_stop(a.text("--stop"));
  if (a.has("--planned-reps")) set.planned_reps = a.whole("--planned-reps");
  if (a.has("--called-at-rep")) set.called_at_rep = a.whole("--called-at-rep");
  if (a.has("--speed")) set.last_rep_speed = a.number("--speed");
  if (a.flag("--pain")) set.pain = true;
  if (a.has("--note")) set.note = a.text("--note");
  if (a.has("--session")) set.session = a.text("--session");
  if (a.has("--place")) set.place = a.text("--place");
  if (a.has("--joined")) set.joined = a.text("--joined");
  if (a.has("--part-of")) set.part_of = a.text("--part-of");
  if (a.has("--part")) set.part = a.whole("--part");
  if (a.has("--tempo")) set.tempo = a.text("--tempo");
  if (a.has("--partial-reps")) set.partial_reps = a.whole("--partial-reps");
  if (a.has("--extra")) set.extra_kind = *parse_extra_kind(a.text("--extra"));
  if (a.has("--reps")) set.reps = *a.whole("--reps");
  if (a.has("--date")) set.date = *a.date("--date");
  if (a.has("--load")) {
    const auto load = parse_load(a.text("--load"), unit);
    if (!load) return not_a("--load", a.text("--load"), "a load such as 100, 100kg or 225lb");
    set.load = *load;
  }
  if (a.has("--body-mass")) {
    const auto mass = parse_load(a.text("--body-mass"), unit == Unit::mark ? Unit::kilogram : unit);
    if (!mass || mass->unit == Unit::mark) return not_a("--body-mass", a.text("--body-mass"), "a mass such as 72.5kg");
    set.body_mass = mass;
  }
  return {};
}

}  // namespace

Result<void> run_fit(Context& c) {
  coach::FitWish wish;
  if (c.args.has("--lifter")) wish.lifters = {c.args.text("--lifter")};
  if (c.args.has("--lifter") && c.args.flag("--all")) {
    return fail(Code::invalid_input, "--all: not together with --lifter");
  }
  if (c.args.has("--start")) {
    if (c.args.has("--lifter")) return fail(Code::invalid_input, "--start: for everyone, not together with --lifter");
    if (const auto chosen = coach::choose_start(c.desk(), c.args.text("--start") == "roster"); !chosen) return chosen;
  }
  wish.anew = c.args.flag("--anew");
  wish.workers = c.args.whole("--workers").value_or(0);
  if (wish.anew && wish.lifters.empty()) {
    if (const auto dropped = c.store().drop_derived(""); !dropped) return dropped;
  }
  wish.progress = [&](int done, int total, const std::string& name) {
    return c.progress.tell(total ? double(done) / total : 1,
                           fmt::format("fitted {} of {}{}{}", done, total, name.empty() ? "" : ": ", name));
  };
  const auto report = coach::fit_lifters(c.desk(), wish);
  if (!report) return tl::unexpected(report.error());
  c.progress.clear();
  if (!c.quiet && !c.environment.err_is_terminal)
    *c.environment.err << fmt::format("fitted {} of {}\n", report->fitted, report->fitted + report->failures.size());
  if (c.json) {
    c.print(coach::to_json(*report));
  } else {
    c.term.line(fmt::format("fitted {}, {} up to date already", report->fitted, report->current));
    if (!report->unsettled.empty()) {
      std::string names;
      for (const std::string& name : report->unsettled) names += (names.empty() ? "" : ", ") + name;
      c.term.caution("did not settle fully, so that intervals may be too narrow: " + names);
    }
    for (const auto& f : report->failures) c.term.caution(f.lifter + ": " + f.error.message);
  }
  if (!report->failures.empty())
    return fail(report->failures.front().error.code, fmt::format("{} could not be fitted", report->failures.size()));
  return {};
}

Result<void> run_estimate(Context& c) {
  if (const auto named = plot_name(c); !named) return named;
  const auto view = coach::estimate(c.desk(), c.args.text("--lifter"), c.share("fitting " + c.args.text("--lifter")));
  if (!view) return tl::unexpected(view.error());
  c.progress.clear();
  if (const auto drawn = plot(c, coach::estimate_picture(*view)); !drawn) return drawn;
  if (c.json)
    c.print(coach::to_json(*view));
  else
    show_estimate(c.term, *view);
  return {};
}

Result<void> run_forecast(Context& c) {
  if (const auto named = plot_name(c); !named) return named;
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  coach::ForecastWish wish;
  wish.lifter = lifter->id;
  wish.exercise = c.args.text("--exercise");
  wish.side = side_of(c);
  const auto unit = unit_of(c, lifter->unit);
  const auto load = parse_load(c.args.text("--load"), *unit);
  if (!load) return not_a("--load", c.args.text("--load"), "a load such as 100, 100kg or 225lb");
  wish.load = *load;
  const auto reps = parse_reps_list(c.args.text("--sets"));
  if (!reps)
    return not_a("--sets", c.args.text("--sets"), "a list of reps such as 8,8,8 (1 to 100 each, at most 20 sets)");
  wish.reps = *reps;
  wish.rest_s = c.args.number("--rest").value_or(120);
  wish.date = c.args.date("--date");
  const auto view = coach::forecast(c.desk(), wish, c.share("fitting " + lifter->name));
  if (!view) return tl::unexpected(view.error());
  c.progress.clear();
  if (const auto drawn = plot(c, coach::forecast_picture(*view)); !drawn) return drawn;
  if (c.json)
    c.print(coach::to_json(*view));
  else
    show_forecast(c.term, *view);
  return {};
}

Result<void> run_session(Context& c) {
  if (const auto named = plot_name(c); !named) return named;
  const std::string format = c.args.text("--format", "text");
  const bool on_paper = format == "html" || format == "pdf";
  if (on_paper != c.args.has("--output")) {
    return fail(Code::invalid_input, on_paper ? "--output: --format " + format + " needs a file to write to"
                                              : std::string("--output: only with --format html or pdf"));
  }
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  coach::SessionWish wish;
  wish.moved_from = c.args.date("--moved-from");
  wish.lifter = lifter->id;
  wish.date = c.args.date("--date");
  wish.session = c.args.text("--session");
  wish.place = c.args.text("--place");
  wish.sharing = c.args.whole("--sharing").value_or(1);
  planning::ExerciseRequest shared;
  shared.side = side_of(c);
  shared.sets = c.args.whole("--sets");
  shared.rest_s = c.args.number("--rest");
  shared.strategy = *planning::parse_strategy(c.args.text("--strategy", "same load"));
  if (c.args.has("--reps")) {
    const auto range = parse_range(c.args.text("--reps"));
    if (!range || range->first < 1 || range->second > 100)
      return not_a("--reps", c.args.text("--reps"), "a range such as 5-8");
    shared.least_reps = static_cast<int>(range->first);
    shared.most_reps = static_cast<int>(range->second);
  }
  if (c.args.has("--reserve")) {
    const auto range = parse_range(c.args.text("--reserve"));
    if (!range || range->second > 10) return not_a("--reserve", c.args.text("--reserve"), "a range such as 1-2");
    shared.least_reserve = range->first;
    shared.most_reserve = range->second;
  }
  if (c.args.has("--load")) {
    const auto load = parse_load(c.args.text("--load"), lifter->unit);
    if (!load) return not_a("--load", c.args.text("--load"), "a load such as 100, 100kg or 225lb");
    if (c.args.all("--exercise").size() != 1)
      return fail(Code::invalid_input, "--load: only with exactly one --exercise");
    shared.load = load;
  }
  for (const std::string& name : c.args.all("--exercise")) {
    wish.exercises.push_back(shared);
    wish.exercises.back().exercise = name;
  }
  const std::string finish = c.args.text("--finish", "as usual");
  if (finish != "as usual") {
    if (wish.exercises.empty()) return fail(Code::invalid_input, "--finish: name the exercises with --exercise");
    wish.exercises.back().finish = finish == "failure" ? planning::Finish::failure : planning::Finish::rep_max_test;
  }
  if (wish.exercises.empty()) {
    for (const char* name : {"--sets", "--reps", "--reserve", "--rest", "--strategy", "--side"}) {
      if (c.args.has(name))
        return fail(Code::invalid_input, std::string(name) + ": name the exercises with --exercise");
    }
  }
  const auto sheet = coach::write_session(c.desk(), wish, c.share("fitting " + lifter->name));
  if (!sheet) return tl::unexpected(sheet.error());
  c.progress.clear();
  if (const auto drawn = plot(c, coach::session_picture(*sheet)); !drawn) return drawn;
  if (on_paper) return write_session_document(c, *sheet);
  if (c.json || c.args.text("--format") == "json") {
    coach::Json json = coach::to_json(sheet->plan);
    if (sheet->block_week > 0) json["block_week"] = sheet->block_week;
    if (!sheet->block_note.empty()) json["block_note"] = sheet->block_note;
    if (sheet->repeats) json["repeats"] = date_text(*sheet->repeats);
    json["place"] = sheet->place.id;
    json["place_assumed"] = sheet->place_assumed;
    json["sets_done"] = sheet->done.size();
    json["test_proposal"] = sheet->test ? coach::to_json(*sheet->test) : coach::Json();
    json["steered"] = sheet->steered;
    json["proposals"] = coach::Json::array();
    for (const coach::SteeringProposal& p : sheet->proposals) json["proposals"].push_back(coach::to_json(p));
    c.print(json);
  } else {
    show_session(c.term, *sheet);
  }
  return {};
}

namespace {

// How the last weeks went, in words.
void show_form(Terminal& term, const planning::RecentForm& f) {
  if (f.sessions == 0) {
    term.line(fmt::format("Too little in the log to say how the last weeks went: {} sessions before them are needed.",
                          planning::kFormLeastBefore));
    return;
  }
  term.line(fmt::format("{} from {} to {}:", counted(f.sessions, "session"), day_text(f.from), day_text(f.to)));
  if (f.lifts > 0) {
    term.line(
        fmt::format("strength {:+.1f} % against what was forecast for now ({:+.1f} to {:+.1f}), mean of {}; under it "
                    "with {:.0f} %",
                    100 * f.against.median, 100 * f.against.lo80, 100 * f.against.hi80, counted(f.lifts, "lift"),
                    100 * f.p_under),
        2, 2);
  }
  if (f.planned > 0)
    term.line(fmt::format("{} of {} missed, {:.1f} were told", f.missed, counted(f.planned, "planned set"), f.told), 2,
              2);
  term.line(fmt::format("readiness {:+.1f} % against usual", 100 * f.readiness), 2, 2);
  if (f.spent > 0)
    term.line(fmt::format("what sets cost, a week: {:+.0f} % against the four weeks before", 100 * (f.spent - 1)), 2,
              2);
}

void show_decision(Terminal& term, const coach::SteeringDecision& d) {
  term.line(fmt::format("{}  {} {}{}{}", date_text(d.date), coach::steering_name(d.proposal.kind),
                        d.accepted ? "accepted" : "rejected", d.accepted ? ": " + d.proposal.what : "",
                        d.said.empty() ? "" : "; you: " + d.said),
            0, 2);
}

Result<void> run_decision(Context& c, bool accepted) {
  coach::DecisionWish wish;
  wish.kind =
      c.args.text("--kind", "lighter") == "stall" ? coach::SteeringKind::stall : coach::SteeringKind::lighter_week;
  wish.accepted = accepted;
  wish.said = c.args.text("--why");
  if (accepted) {
    wish.unasked = c.args.flag("--unasked");
    wish.week = c.args.date("--week");
  }
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  store::ChangeId change = 0;
  const auto decided = coach::decide(c.desk(), lifter->id, wish, &change, c.share("fitting " + lifter->name));
  c.progress.clear();
  if (!decided) {
    Error error = decided.error();
    if (error.code == Code::conflict && accepted && !wish.unasked && wish.kind == coach::SteeringKind::lighter_week)
      error.message += "; --unasked makes one all the same";
    return tl::unexpected(std::move(error));
  }
  if (c.json) {
    coach::Json json = coach::to_json(*decided);
    json["change"] = change;
    c.print(json);
    return {};
  }
  c.say_change(change,
               fmt::format("{} {} for {}{}", coach::steering_name(wish.kind), accepted ? "accepted" : "rejected",
                           lifter->name, accepted ? ": " + decided->proposal.what : ""));
  return {};
}

}  // namespace

Result<void> run_steer(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto fitted = coach::ensure_fitted(c.desk(), lifter->id, c.share("fitting " + lifter->name));
  c.progress.clear();
  if (!fitted) return tl::unexpected(fitted.error());
  const auto view = coach::steering(c.desk(), *fitted);
  if (!view) return tl::unexpected(view.error());
  if (c.json) {
    coach::Json json = coach::to_json(*view);
    json["lifter"] = lifter->name;
    c.print(json);
    return {};
  }
  c.term.heading(fmt::format("{} on {}", lifter->name, day_text(c.desk().today())));
  show_form(c.term, view->form);
  if (view->open.empty()) c.term.line("Nothing is proposed.");
  show_proposals(c.term, lifter->name, view->open);
  if (!view->decided.empty()) {
    c.term.line();
    c.term.line("Decided before:");
    for (const coach::SteeringDecision& d : view->decided) show_decision(c.term, d);
  }
  return {};
}

Result<void> run_steer_accept(Context& c) { return run_decision(c, true); }
Result<void> run_steer_reject(Context& c) { return run_decision(c, false); }

namespace {

// What is more likely a slip is asked about, and done when it is said to be right.
Result<void> ask_about(Context& c, const Lifter& lifter, const std::vector<SetRecord>& sets, store::SetId but = 0) {
  if (c.args.flag("--sure")) return {};
  const auto doubts = coach::doubts_about(c.desk(), lifter, sets, but);
  if (!doubts) return tl::unexpected(doubts.error());
  if (doubts->empty()) return {};
  std::string text;
  for (const std::string& doubt : *doubts) text += doubt + "\n";
  return fail(Code::invalid_input, text + "nothing is changed; if it is right, say so: --sure");
}

}  // namespace

Result<void> run_log(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  coach::LogWish wish;
  wish.lifter = lifter->id;
  wish.set.exercise = c.args.text("--exercise");
  wish.stop_given = c.args.has("--stop");
  const auto unit = unit_of(c, lifter->unit);
  if (const auto read = read_set_fields(c, wish.set, *unit); !read) return read;
  if (const auto asked = ask_about(c, *lifter, {wish.set}); !asked) return asked;
  const auto report = coach::log_set(c.desk(), wish);
  if (!report) return tl::unexpected(report.error());
  if (c.json) {
    c.print(coach::to_json(*report));
    return {};
  }
  show_logged(c.term, *report);
  c.term.quiet(fmt::format("change {}; to take it back: {} undo {}", report->change, kProgram, report->change));
  return {};
}

Result<void> run_log_session(Context& c) {
  coach::SessionLogWish wish;
  wish.lifter = c.args.text("--lifter");
  wish.text = c.args.text("LINE");
  if (c.args.has("--unit")) wish.unit = parse_unit(c.args.text("--unit"));
  wish.date = c.args.date("--date");
  wish.session = c.args.text("--session");
  wish.place = c.args.text("--place");
  wish.dry_run = true;
  auto report = coach::log_session(c.desk(), wish);
  if (!report) return tl::unexpected(report.error());
  wish.dry_run = c.args.flag("--dry-run");
  std::vector<std::string> doubts;
  if (!wish.dry_run) {
    if (const auto asked = ask_about(c, report->lifter, report->sets); !asked) return asked;
    report = coach::log_session(c.desk(), wish);
    if (!report) return tl::unexpected(report.error());
  } else if (auto found = coach::doubts_about(c.desk(), report->lifter, report->sets)) {
    doubts = std::move(*found);
  }
  if (c.json) {
    coach::Json json;
    json["lifter"] = report->lifter.name;
    json["date"] = date_text(report->date);
    json["sets"] = coach::Json::array();
    for (const SetRecord& set : report->sets) {
      coach::Json one = coach::to_json(store::StoredSet{0, report->lifter.id, "", 0, 0, set});
      one.erase("id");
      json["sets"].push_back(std::move(one));
    }
    json["pains"] = report->pains;
    json["doubts"] = doubts;
    json["change"] = report->change;
    c.print(json);
    return {};
  }
  c.term.heading(fmt::format("{}: {} on {}{}", report->lifter.name,
                             counted(static_cast<std::int64_t>(report->sets.size()), "set"), day_text(report->date),
                             wish.dry_run ? ", read but not stored" : ""));
  for (const SetRecord& set : report->sets) {
    std::string text = set_text(set);
    if (set.rest_s) text += ", after " + rest_text(*set.rest_s);
    if (set.pain) text += ", with pain";
    c.term.line(text, 2, 4);
  }
  if (wish.dry_run) {
    for (const std::string& doubt : doubts) c.term.caution(doubt + "; logging it asks for --sure");
  }
  for (const std::string& name : report->pains) {
    c.term.caution(fmt::format("Pain was noted: {} is out from now on for {} until it is cleared (pain clear).", name,
                               report->lifter.name));
  }
  if (report->change != 0)
    c.term.quiet(fmt::format("change {}; to take it back: {} undo {}", report->change, kProgram, report->change));
  return {};
}

Result<void> run_set_list(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  store::SetFilter filter;
  filter.from = c.args.date("--from");
  filter.to = c.args.date("--to");
  if (c.args.has("--exercise")) {
    const auto exercise = c.desk().exercise(c.args.text("--exercise"));
    if (!exercise) return fail(Code::invalid_input, exercise.error().message);
    filter.exercise = (*exercise)->id;
  }
  auto sets = c.store().sets(lifter->id, filter);
  if (!sets) return tl::unexpected(sets.error());
  const auto most = static_cast<std::size_t>(c.args.whole("--last").value_or(40));
  if (sets->size() > most) sets->erase(sets->begin(), sets->end() - static_cast<std::ptrdiff_t>(most));
  if (c.json) {
    coach::Json list = coach::Json::array();
    for (const store::StoredSet& s : *sets) list.push_back(coach::to_json(s));
    c.print(list);
    return {};
  }
  show_sets(c.term, *sets);
  return {};
}

Result<void> run_set_edit(Context& c) {
  const auto id = c.args.id("SET");
  auto stored = c.store().set(id);
  if (!stored) return tl::unexpected(stored.error());
  SetRecord set = stored->set;
  const auto unit = unit_of(c, set.load.unit);
  if (const auto read = read_set_fields(c, set, *unit); !read) return read;
  if (c.args.flag("--not-failed")) {
    set.failed = false;
    if (set.stop == Stop::failed) set.stop = Stop::unknown;
  }
  if (c.args.flag("--failed") && !c.args.has("--stop")) set.stop = Stop::failed;
  if (c.args.has("--exercise")) {
    const auto exercise = c.desk().exercise(c.args.text("--exercise"));
    if (!exercise) return fail(Code::invalid_input, exercise.error().message);
    set.exercise = (*exercise)->id;
  }
  if (set.exercise != stored->set.exercise || !(set.load == stored->set.load) || set.reps != stored->set.reps) {
    const auto lifter = c.desk().lifter(stored->lifter);
    if (!lifter) return tl::unexpected(lifter.error());
    if (const auto asked = ask_about(c, *lifter, {set}, id); !asked) return asked;
  }
  const auto change = coach::edit_set(c.desk(), id, set);
  if (!change) return tl::unexpected(change.error());
  stored->set = set;
  if (c.json) {
    coach::Json json = coach::to_json(*stored);
    json["change"] = *change;
    c.print(json);
    return {};
  }
  c.say_change(*change, fmt::format("set {} is now {}", id, set_text(set)));
  if (c.args.flag("--pain"))
    c.term.caution(fmt::format("Pain was noted: {} is out until it is cleared (pain clear).", set.exercise));
  return {};
}

Result<void> run_set_remove(Context& c) {
  const auto id = c.args.id("SET");
  const auto stored = c.store().set(id);
  if (!stored) return tl::unexpected(stored.error());
  const auto change = coach::remove_set(c.desk(), id);
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print({{"change", *change}});
  else
    c.say_change(*change, fmt::format("removed set {}: {}", id, set_text(stored->set)));
  return {};
}

Result<void> run_roster(Context& c) {
  if (const auto named = plot_name(c); !named) return named;
  const auto view = coach::roster(c.desk());
  if (!view) return tl::unexpected(view.error());
  if (const auto drawn = plot(c, coach::roster_picture(*view)); !drawn) return drawn;
  if (c.json)
    c.print(coach::to_json(*view));
  else
    show_roster(c.term, *view);
  return {};
}

}  // namespace ullage::cli
