#include "cli/show.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/app.h"
#include "cli/vessel.h"
#include "cli/words.h"
#include "service/interchange/fault.h"

namespace ullage::cli {
namespace {

using capacity::Interval;

// Interval of a total load in the unit it is shown in.
std::string mass_text(const Interval& total_kg, Unit unit, bool marks) {
  if (marks) return interval_text(total_kg, 1, "marks");
  const double factor = unit == Unit::pound ? 1 / kKilogramsPerPound : 1;
  return interval_text(total_kg, total_kg.median * factor < 50 ? 1 : 0, unit_name(unit), factor);
}

std::string side_text(Side side) { return side == Side::both ? "" : fmt::format(", {}", side_name(side)); }

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

void show_judgement(Terminal& term, const coach::EstimateView& view) {
  const capacity::Posterior& p = view.posterior;
  if (p.at_called.empty()) return;
  const auto at_one = std::find_if(p.at_called.begin(), p.at_called.end(), [](const auto& c) { return c.called == 1; });
  const auto& shown = at_one == p.at_called.end() ? p.at_called.front() : *at_one;
  const int has = static_cast<int>(std::floor(std::max(shown.true_reserve.median, 0.0)));
  std::string head = words::judgement_headline(shown.called, has);
  if (p.learned_judgement < coach::kMostlyAssumedBelow) head += fmt::format(" ({})", words::kMostlyAssumed);
  term.heading(head);
  std::string called = "says", really = "has";
  for (const capacity::CalledPoint& c : p.at_called) {
    called += padded(fmt::format("{:g}", c.called), 11, true);
    really += padded(whole_reps_text(c.true_reserve), c.called == p.at_called.front().called ? 12 : 11, true);
  }
  term.line(called, 2);
  term.line(really, 2);
  term.quiet(fmt::format("bias {} reps, positive: has more than they say; learned {:.2f}",
                         interval_text(p.bias_reps, 1, ""), p.learned_judgement),
             2);
  term.line();
}

// Where the set is likely to end: at its cap, or before it on the cue.
int expected_reps(const planning::PlanSet& s) {
  if (!s.cue || s.to_failure) return s.reps;
  return std::min(s.reps, static_cast<int>(std::lround(s.reps_done.median)));
}

std::string cue_text(const planning::PlanSet& s) {
  const int likely = expected_reps(s);
  return s.cue->text + (likely < s.reps ? fmt::format(" (about rep {}), at most {}", likely, s.reps)
                                        : fmt::format(", at most {}", s.reps));
}

std::string plan_line_one(const planning::PlanSet& s, int number, bool utf8, int per_cell) {
  Vessel v;
  v.reps = expected_reps(s);
  v.capacity = s.capacity;
  const std::string what = fmt::format("{} x {}{}", load_text(s.load), s.reps, s.to_failure ? "+" : "");
  const std::string leaves = s.to_failure ? "to failure" : "leaves " + whole_reps_text(s.reserve);
  const std::string miss = s.to_failure ? "" : "miss " + percent_text(s.p_miss);
  return padded(fmt::format("{:>2}  {}", number, what), 19) + " " + padded(draw(v, utf8, per_cell), 26) + " " +
         padded(leaves, 15) + " " + miss;
}

void show_item(Terminal& term, const planning::PlanItem& item, int number, Unit unit) {
  const int most = static_cast<int>(std::ceil(item.band_high)) - 1;
  const std::string band = item.band_low == most || item.band_high > 50 ? fmt::format("{:g}", item.band_low)
                                                                        : fmt::format("{:g}-{}", item.band_low, most);
  term.heading(fmt::format("{}. {}{}: end with {} in reserve", number, capital(item.name), side_text(item.side), band));
  std::string warm;
  double rest = -1;
  bool same_rest = true;
  double highest = 1;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind == SetKind::warmup) {
      warm += (warm.empty() ? "warm up: " : ", ") + fmt::format("{} x {}", load_text(s.load), s.reps);
      if (!s.per_side.empty()) warm += " (" + plates_text(s.per_side, unit) + ")";
      continue;
    }
    highest = std::max({highest, s.capacity.hi80, double(s.reps)});
  }
  if (!warm.empty()) term.line(warm, 3);
  const int per_cell = reps_per_cell(highest);
  int n = 0;
  std::string before;
  bool first = true;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind == SetKind::warmup) continue;
    if (!first) {
      if (rest >= 0 && std::fabs(rest - s.rest_s) > 0.5) same_rest = false;
      rest = s.rest_s;
    }
    first = false;
  }
  first = true;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind == SetKind::warmup) continue;
    term.raw(plan_line_one(s, ++n, term.utf8(), per_cell));
    std::string how;
    if (!s.per_side.empty()) how = plates_text(s.per_side, unit) + " a side";
    if (s.cue)
      how += (how.empty() ? "" : "; ") + cue_text(s);
    else if (!s.to_failure)
      how += (how.empty() ? "" : "; ") + fmt::format("do {} reps", s.reps);
    else
      how += (how.empty() ? "" : "; ") + std::string("until a rep fails");
    if (!same_rest && !first) how = "rest " + rest_text(s.rest_s) + " first; " + how;
    if (how != before) term.line(how, 4);
    before = how;
    first = false;
  }
  if (same_rest && rest >= 0)
    term.line(fmt::format("rest {} between sets; {:.0f} minutes in all", rest_text(rest), item.minutes), 4);
  if (per_cell > 1) term.quiet(fmt::format("one cell of the drawing is {} reps", per_cell), 4);
  if (!item.why.empty()) term.quiet("why: " + item.why, 4, 5);
  for (const std::string& remark : item.remarks) term.quiet(remark, 4, 2);
}

}  // namespace

std::string day_text(Date date) {
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::string iso = date_text(date);
  return fmt::format("{} {} {} {}", weekday_name(date), std::stoi(iso.substr(8, 2)),
                     kMonths[std::stoi(iso.substr(5, 2)) - 1], iso.substr(0, 4));
}

std::string set_text(const SetRecord& s) {
  std::string text = fmt::format("{}{} {} x {}", s.exercise, side_text(s.side), load_text(s.load), s.reps);
  if (s.called) text += ", called " + call_text(*s.called);
  if (s.failed) text += ", then failed";
  if (s.kind != SetKind::work) text += fmt::format(", {}", kind_name(s.kind));
  return text;
}

void show_estimate(Terminal& term, const coach::EstimateView& view) {
  term.heading(fmt::format("{} on {}", view.lifter.name, day_text(view.as_of)));
  if (view.lifts.empty()) {
    term.line("No sets in the log yet: everything rests on what is usual for people.");
  } else {
    term.quiet(fmt::format("intervals hold with 80 %; last session {}; model {}", date_text(view.last_session),
                           view.posterior.model_version));
  }
  term.line();
  show_judgement(term, view);
  for (const coach::LiftEstimate& lift : view.lifts) {
    const capacity::LiftSummary& s = lift.summary;
    const Interval& trend = s.trend_pct_per_week;
    std::string way = trend.lo80 > 0 ? "up " : trend.hi80 < 0 ? "down " : "";
    const bool clear = !way.empty();
    const Interval size = clear && trend.hi80 < 0 ? Interval{-trend.median, -trend.hi80, -trend.lo80, trend.sd} : trend;
    std::string head = fmt::format("{}{}: strength {}", capital(lift.name), side_text(s.side),
                                   mass_text(lift.strength, view.lifter.unit, s.marks));
    if (lift.assumed)
      head += fmt::format(", {}", words::kMostlyAssumed);
    else
      head += fmt::format(", {}{}", clear ? way : "trend ", interval_text(size, 1, "% a week"));
    term.heading(head);
    if (lift.body_mass_part > 0 && !s.marks) {
      const auto added = [&](double total) { return (total - lift.body_mass_part) / lift.multiplier; };
      term.line("that is " +
                    mass_text({added(lift.strength.median), added(lift.strength.lo80), added(lift.strength.hi80), 0},
                              view.lifter.unit, false) +
                    " added to what the body brings",
                2);
    }
    std::string tired = fmt::format("set 2 loses {} reps, set 4 {}, at {} rest", interval_text(s.fatigability, 1, ""),
                                    interval_text(s.fatigability_set4, 1, ""), rest_text(s.usual_rest_minutes * 60));
    if (s.learned_fatigability < coach::kMostlyAssumedBelow) tired += fmt::format(" ({})", words::kMostlyAssumed);
    term.line(fmt::format("at 80 %: {} reps; {}", whole_reps_text(lift.reps_at_80), tired), 2);
    term.quiet(
        fmt::format("rests on {}, last {}; learned {:.2f}", counted(s.sets_used, "set"), date_text(s.last), s.learned),
        2);
  }
  if (!view.suspects.empty()) {
    term.line();
    term.heading(view.suspects.size() == 1 ? "One set looks mis-typed"
                                           : fmt::format("{} sets look mis-typed", view.suspects.size()));
    for (const coach::SuspectView& s : view.suspects) {
      term.line(fmt::format("{} {}: {}", date_text(s.set.set.date), set_text(s.set.set), s.reason), 2);
      term.quiet(fmt::format("to correct it: {} set edit {} --load LOAD", kProgram, s.set.id), 4);
    }
  }
  if (!view.remarks.empty()) {
    term.line();
    for (const std::string& remark : view.remarks) term.quiet(remark);
  }
}

void show_forecast(Terminal& term, const coach::ForecastView& view) {
  term.heading(fmt::format("{}{}, {} with {} rest, {} on {}", capital(view.exercise.name), side_text(view.side),
                           load_text(view.load), rest_text(view.rest_s), view.lifter.name, day_text(view.date)));
  double highest = 1;
  for (std::size_t i = 0; i < view.sets.size(); ++i)
    highest = std::max({highest, view.sets[i].capacity.hi80, double(view.reps[i])});
  const int per_cell = reps_per_cell(highest);
  for (std::size_t i = 0; i < view.sets.size(); ++i) {
    const capacity::SetOutcome& o = view.sets[i];
    Vessel v;
    v.reps = view.reps[i];
    v.capacity = o.capacity;
    term.raw(padded(fmt::format("{:>2}  {} reps", i + 1, view.reps[i]), 13) +
             padded(draw(v, term.utf8(), per_cell), 26) + " " + padded("leaves " + whole_reps_text(o.reserve), 16) +
             " done with " + percent_text(o.p_complete));
  }
  term.quiet("reps to failure, set by set:", 4);
  std::string list;
  for (const capacity::SetOutcome& o : view.sets) list += (list.empty() ? "" : ", ") + whole_reps_text(o.capacity);
  term.quiet(list, 4, 0);
  for (std::size_t i = 0; i + 1 < view.sets.size(); ++i) {
    if (view.sets[i].p_complete >= 0.5) continue;
    term.quiet(fmt::format("Set {} will hardly come to {}: the sets after it are told as if it had.", i + 1,
                           counted(view.reps[i], "rep")));
    break;
  }
  if (!view.known) term.quiet("Never done: judged from related lifts, so the intervals are wide.");
  if (view.outside_seen)
    term.quiet("Outside the loads and reps of the log: the intervals keep the doubt of the first guess.");
  if (view.known && view.sets.size() > 1 && view.learned_fatigability < coach::kMostlyAssumedBelow) {
    term.quiet("How much later sets lose is mostly assumed.");
  }
  term.quiet(vessel_key(term.utf8()));
}

void show_proposals(Terminal& term, const std::string& lifter, const std::vector<coach::SteeringProposal>& proposals) {
  for (const coach::SteeringProposal& p : proposals) {
    term.line();
    term.line(p.kind == coach::SteeringKind::lighter_week ? "A lighter week? " + p.why : "A stall. " + p.why);
    term.line((p.kind == coach::SteeringKind::lighter_week ? "It would be " : "What could be tried: ") + p.what + ".",
              2, 2);
    term.quiet(fmt::format("You decide: {} steer accept --lifter \"{}\" --kind {}, or steer reject.", kProgram, lifter,
                           p.kind == coach::SteeringKind::lighter_week ? "lighter" : "stall"),
               2, 2);
  }
}

void show_session(Terminal& term, const coach::SessionSheet& sheet) {
  const planning::SessionPlan& plan = sheet.plan;
  term.heading(fmt::format("{}: session of {}, {:.0f} minutes", sheet.lifter.name, day_text(plan.date), plan.minutes));
  if (sheet.block_week > 0)
    term.line(fmt::format("Week {} of the block{}", sheet.block_week,
                          sheet.block_note.empty() ? "." : ", your note: " + sheet.block_note));
  if (sheet.repeats) term.line(fmt::format("The exercises of {}, the session longest ago.", day_text(*sheet.repeats)));
  if (!sheet.done.empty()) {
    term.line(sheet.done.size() == 1 ? "One set is done; this is the rest."
                                     : fmt::format("{} sets are done; this is the rest.", sheet.done.size()));
  }
  if (sheet.place_assumed) term.quiet(words::kPlainGym);
  if (plan.items.empty())
    term.line(sheet.why_empty.empty() ? "Nothing is left to do." : "Nothing could be planned; each exercise says why.");
  int n = 0;
  for (const planning::PlanItem& item : plan.items) {
    term.line();
    show_item(term, item, ++n, sheet.place.unit);
  }
  for (const planning::LeftOut& left : plan.left_out) {
    term.line();
    term.line(fmt::format("Left out: {}: {}", left.name.empty() ? left.exercise : left.name, left.reason));
  }
  for (const std::string& steered : sheet.steered) {
    term.line();
    term.line(steered);
  }
  show_proposals(term, sheet.lifter.name, sheet.proposals);
  if (sheet.test) {
    term.line();
    term.line("Worth a thought: " + sheet.test->why + " Add --finish test to have it written.");
  }
  if (!plan.items.empty()) {
    term.line();
    term.quiet(vessel_key(term.utf8()));
    term.quiet(
        "\"Leaves 2 (1-4)\": reps left where the set ends, 80 % interval. Stop at the reps or the cue, whichever comes "
        "first.");
  }
  for (const std::string& caution : plan.cautions) term.caution(caution);
}

void show_logged(Terminal& term, const coach::LogReport& r) {
  term.heading(fmt::format("{}: {}{} {} x {}{}", r.lifter.name, capital(r.exercise.name), side_text(r.set.side),
                           load_text(r.set.load), r.set.reps, r.set.failed ? ", then a miss" : ""));
  if (r.expected && r.expected->capacity.median > 0) {
    Vessel v;
    v.reps = r.set.reps;
    v.done = true;
    v.missed = r.set.failed;
    v.capacity = r.expected->capacity;
    if (r.set.called && !r.set.failed) v.called = r.set.called->reserve;
    const double most =
        std::max({double(r.set.reps), r.expected->capacity.hi80, v.called ? r.set.reps + *v.called : 0.0});
    term.raw("  " + draw(v, term.utf8(), reps_per_cell(most)) +
             fmt::format("  {} reps to failure were expected", whole_reps_text(r.expected->capacity)));
  }
  for (const std::string& remark : r.remarks) term.quiet(remark, 2);
  if (r.set.pain) {
    term.caution(fmt::format("Pain was noted: {} is {} for {} until it is cleared (pain clear).", r.exercise.name,
                             r.pain_opened ? "out from now on" : "out already and stays out", r.lifter.name));
  }
  if (!r.no_next.empty()) {
    term.line("No next set: " + r.no_next);
  } else if (r.rest && !r.rest->items.empty()) {
    const planning::PlanItem& item = r.rest->items.front();
    const auto next =
        std::find_if(item.sets.begin(), item.sets.end(), [](const auto& s) { return s.kind != SetKind::warmup; });
    if (next != item.sets.end()) {
      std::string text =
          fmt::format("Next: {}{} {} x {}", item.name, side_text(item.side), load_text(next->load), next->reps);
      if (next->rest_s > 0) text += " after " + rest_text(next->rest_s);
      if (next->cue) text += ", " + cue_text(*next);
      term.heading(text);
      std::string warm;
      for (const auto& s : item.sets) {
        if (s.kind == SetKind::warmup)
          warm += (warm.empty() ? "warm up first: " : ", ") + fmt::format("{} x {}", load_text(s.load), s.reps);
      }
      if (!warm.empty()) term.line(warm, 2);
      Vessel v;
      v.reps = expected_reps(*next);
      v.capacity = next->capacity;
      term.raw("  " +
               padded(draw(v, term.utf8(), reps_per_cell(std::max(next->capacity.hi80, double(next->reps)))), 25) +
               "  leaves " + whole_reps_text(next->reserve) + ", miss " + percent_text(next->p_miss));
      if (!next->per_side.empty()) term.line(plates_text(next->per_side, next->load.unit) + " a side", 2);
    }
  }
  for (const planning::LeftOut& left : r.rest ? r.rest->left_out : std::vector<planning::LeftOut>{}) {
    term.quiet(fmt::format("left out: {}: {}", left.name, left.reason));
  }
}

void show_sets(Terminal& term, const std::vector<store::StoredSet>& sets) {
  if (sets.empty()) term.line("no such sets");
  for (const store::StoredSet& s : sets) {
    term.line(fmt::format("{:>8}  {}  {}", s.id, date_text(s.set.date), set_text(s.set)), 0, 22);
  }
}

void show_roster(Terminal& term, const coach::RosterView& view) {
  if (view.rows.empty()) {
    term.line("The roster is empty: import a log, take a lifter on, or make the demo roster.");
    return;
  }
  const auto count =
      std::count_if(view.rows.begin(), view.rows.end(), [](const auto& r) { return !r.reasons.empty(); });
  term.heading(fmt::format("{} of {} stand out on {}", count, view.rows.size(), day_text(view.as_of)));
  std::size_t width = 8;
  for (const coach::RosterRow& row : view.rows)
    width = std::max(width, std::min<std::size_t>(shown_width(row.lifter.name), 20));
  for (const coach::RosterRow& row : view.rows) {
    std::string text;  // one line: as many reasons as fit
    std::size_t shown = 0;
    for (const coach::Reason& reason : row.reasons) {
      const std::string longer = text + (text.empty() ? "" : "; ") + reason.text;
      if (shown > 0 && width + 12 + shown_width(longer) > kColumns) break;
      text = longer;
      ++shown;
    }
    const bool hold = !row.reasons.empty() && row.reasons.front().attention == coach::Attention::hold;
    if (hold) text = "on hold: " + text;
    if (shown < row.reasons.size()) {
      const std::string more = fmt::format(" (+{})", row.reasons.size() - shown);
      text = cut(text, kColumns - width - 2 - more.size()) + more;
    }
    if (text.empty())
      text =
          fmt::format("nothing stands out; last session {}", row.last_session ? date_text(*row.last_session) : "none");
    term.line(cut(padded(cut(row.lifter.name, 20), width) + "  " + text, kColumns));
  }
}

void show_import(Terminal& term, const coach::ImportReport& r, bool dry_run) {
  const auto& s = r.summary;
  for (const std::string& found : s.found) term.quiet(found);
  if (!s.previews.empty()) {
    term.heading("The first sets, beside the cells they were read from");
    for (const interchange::SetPreview& p : s.previews) {
      std::string cells;
      for (const std::string& cell : p.cells) cells += (cells.empty() ? "" : " | ") + cell;
      term.line(cut(fmt::format("{}: {}", interchange::printable(p.place, 40), cells), kColumns - 2), 2);
      const std::string who = p.logged.lifter.empty() ? "" : p.logged.lifter + ", ";
      term.line(
          fmt::format(
              "-> {}{} {}{}", who, date_text(p.logged.set.date), set_text(p.logged.set),
              p.logged.set.note.empty() ? "" : ", note \"" + interchange::printable(p.logged.set.note, 30) + "\""),
          5, 3);
    }
    if (s.sets > s.previews.size())
      term.quiet(fmt::format("and {} more", counted(static_cast<std::int64_t>(s.sets - s.previews.size()), "set")), 2);
  }
  for (const auto& dropped : s.dropped)
    term.line(fmt::format("left out by the mapping: {}, {}", counted(static_cast<std::int64_t>(dropped.rows), "row"),
                          dropped.rule));
  term.heading(fmt::format("{}{} added, {} there already, {} changed", dry_run ? "would be: " : "",
                           counted(r.merged.added, "set"), r.merged.unchanged, r.merged.changed.size()));
  if (s.bad_rows > 0)
    term.line(fmt::format("left out: {}, listed on the error stream",
                          counted(static_cast<std::int64_t>(s.bad_rows), "bad row")));
  if (!r.new_lifters.empty()) {
    std::string names;
    for (const std::string& name : r.new_lifters) names += (names.empty() ? "" : ", ") + name;
    term.line(fmt::format("{}: {}", dry_run ? "would be taken on" : "taken on", names));
  }
  for (const coach::PainRow& pain : r.pains) {
    term.caution(fmt::format("{}: pain on {} on {}; it {} out until it is cleared (pain clear).", pain.lifter,
                             pain.exercise, date_text(pain.date), dry_run ? "would be" : "is"));
  }
  if (!r.merged.changed.empty()) {
    term.line(r.merged.applied > 0 || dry_run ? "changed rows:" : "changed rows, not applied without --update:");
    for (std::size_t i = 0; i < r.merged.changed.size() && i < 20; ++i) {
      const store::ChangedSet& c = r.merged.changed[i];
      term.line(fmt::format("{} {} -> {}", date_text(c.before.date), set_text(c.before), set_text(c.after)), 2);
    }
    if (r.merged.changed.size() > 20) term.line(fmt::format("and {} more", r.merged.changed.size() - 20), 2);
  }
  for (std::size_t i = 0; i < s.remarks.size() && i < 10; ++i)
    term.quiet("worth a look: " + interchange::fault_text(s.remarks[i]));
  if (s.remark_count > 10) term.quiet(fmt::format("and {} more worth a look", s.remark_count - 10));
  if (!s.kept_as_notes.empty()) {
    std::string names;
    for (const std::string& name : s.kept_as_notes) names += (names.empty() ? "" : ", ") + name;
    term.quiet("kept as notes: " + names);
  }
}

}  // namespace ullage::cli
