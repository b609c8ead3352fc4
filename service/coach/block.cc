#include "service/coach/block.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "engine/planning/block_model.h"
#include "engine/planning/block_rules.h"
#include "engine/planning/stimulus.h"
#include "service/coach/block_check.h"
#include "service/coach/readings.h"
#include "service/solver/cbc.h"

namespace ullage::coach {
namespace {

using planning::BlockExercise;
using planning::BlockPlan;
using planning::BlockProblem;

// Re-solving: worth of leaving an exercise where it is, and each set (units of the effect; assumption).
constexpr double kPriceMoved = 1.0, kPriceSet = 0.15;

std::string cell(const BlockItem& item) {
  std::string out;
  for (const BlockSets& s : item.sets)
    out += (out.empty() ? "" : ", ") + fmt::format("{} sets {} short", s.sets, s.reserve);
  return out;
}

constexpr const char* kNothing = "nothing changes";

// What is different from today on, day by day, and the rules that the old plan would break.
std::vector<std::string> differences(const BlockSheet& before, const BlockSheet& after,
                                     const std::vector<planning::Breach>& broken, Date from) {
  std::vector<std::string> out;
  std::vector<std::string> said;
  for (const planning::Breach& b : broken) {
    const std::string line = fmt::format("the plan had to change: {}{} (it would be {})",
                                         b.week >= 0 ? fmt::format("week {}, ", b.week + 1) : "", b.rule, b.found);
    if (said.size() < 6 && std::find(said.begin(), said.end(), line) == said.end()) said.push_back(line);
  }
  std::map<Date, const BlockDayPlan*> old;
  for (const BlockWeekPlan& w : before.weeks) {
    for (const BlockDayPlan& d : w.days) old[d.date] = &d;
  }
  std::set<Date> dates;
  for (const auto& [date, day] : old) dates.insert(date);
  std::map<Date, const BlockDayPlan*> now;
  for (const BlockWeekPlan& w : after.weeks) {
    for (const BlockDayPlan& d : w.days) {
      now[d.date] = &d;
      dates.insert(d.date);
    }
  }
  static const BlockDayPlan kNone;
  for (Date date : dates) {
    if (date < from) continue;
    const BlockDayPlan& a = old.count(date) ? *old[date] : kNone;
    const BlockDayPlan& b = now.count(date) ? *now[date] : kNone;
    const auto find = [](const BlockDayPlan& day, const std::string& id) -> const BlockItem* {
      for (const BlockItem& i : day.items) {
        if (i.exercise == id) return &i;
      }
      return nullptr;
    };
    const std::string day = std::string(weekday_name(date)) + " " + date_text(date) + ": ";
    if (a.closed.empty() && !b.closed.empty()) out.push_back(day + b.closed);
    for (const BlockItem& i : b.items) {
      const BlockItem* was = find(a, i.exercise);
      if (!was)
        out.push_back(day + i.name + " added, " + cell(i));
      else if (was->sets != i.sets)
        out.push_back(day + i.name + " " + cell(*was) + " -> " + cell(i));
    }
    for (const BlockItem& i : a.items) {
      if (!find(b, i.exercise)) out.push_back(day + i.name + " out");
    }
  }
  if (out.empty()) return {kNothing};
  said.insert(said.end(), out.begin(), out.end());
  return said;
}

KeptBlock kept_from(const store::StoredPlan& stored, BlockSheet sheet) {
  return {stored.number, stored.state, stored.said, std::move(sheet)};
}

store::StoredPlan stored_from(const Lifter& lifter, const KeptBlock& kept) {
  return {lifter.id,
          kept.number,
          kept.state,
          kept.said,
          kept.sheet.weeks.empty() ? kept.sheet.made : kept.sheet.weeks.front().monday,
          block_json(kept.sheet)};
}

Result<std::optional<KeptBlock>> newest_in(Desk& desk, const std::string& lifter, const std::string& state) {
  const auto all = desk.store().plans(lifter);
  if (!all) return tl::unexpected(all.error());
  for (const store::StoredPlan& s : *all) {
    if (s.state != state) continue;
    auto sheet = read_block(s.json);
    if (!sheet) return tl::unexpected(sheet.error());
    return kept_from(s, std::move(*sheet));
  }
  return std::nullopt;
}

// Keeps the sheet as the one open proposal.
Result<store::ChangeId> keep_proposal(Desk& desk, const Lifter& lifter, const BlockSheet& sheet) {
  const auto all = desk.store().plans(lifter.id);
  if (!all) return tl::unexpected(all.error());
  KeptBlock kept{all->empty() ? 1 : all->front().number + 1, "proposed", "", sheet};
  if (!all->empty() && all->front().state == "proposed") kept.number = all->front().number;
  return desk.store().change("block proposed for " + lifter.name,
                             [&](store::Writer& writer) { return writer.put_plan(stored_from(lifter, kept)); });
}

// Lighter weeks that the coach accepted from the data are weeks of the block; one that the request says something else
// of stays as the request has it.
Result<void> add_lighter_weeks(Desk& desk, const Lifter& lifter, Date first, BlockRequest& request) {
  const auto accepted = lighter_weeks_from(desk, lifter.id, desk.today());
  if (!accepted) return tl::unexpected(accepted.error());
  const auto policy = desk.policy(lifter);
  if (!policy) return tl::unexpected(policy.error());
  const auto gate = desk.strict_gate(lifter, desk.today());
  if (!gate) return tl::unexpected(gate.error());
  double least = 99;
  for (const ClassPolicy& c : policy->by_class) least = std::min(least, c.least_reserve);
  for (const SteeringDecision& d : *accepted) {
    const int number = (d.proposal.from - first) / 7 + 1;
    const bool told = std::any_of(request.special.begin(), request.special.end(),
                                  [&](const BlockRequest::Week& week) { return week.number == number; });
    if (d.proposal.from < first || number > request.weeks || told) continue;
    BlockRequest::Week week;
    week.number = number;
    week.share = planning::kLighterShare;
    week.least_reserve = static_cast<int>(std::ceil(least + gate->extra_reserve + planning::kLighterExtraReserve));
    week.failure = false;
    week.why = kAcceptedLighterWeek + date_text(d.date) + ": " + d.proposal.why;
    request.special.push_back(week);
  }
  return {};
}

}  // namespace

int BlockItem::total() const {
  int sum = 0;
  for (const BlockSets& s : sets) sum += s.sets;
  return sum;
}

Result<BlockProposal> plan_block(Desk& desk, const BlockWish& wish) {
  BlockProposal out;
  auto lifter = desk.lifter(wish.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  out.lifter = *lifter;
  {
    const auto gate = desk.strict_gate(*lifter, desk.today());
    if (!gate) return tl::unexpected(gate.error());
    if (!gate->allowed()) return fail(Code::not_allowed, lifter->name + " is on hold: " + gate->held_text());
  }
  if (const auto program = solver::find_cbc(wish.solver); !program) return tl::unexpected(program.error());
  const auto accepted = newest_in(desk, lifter->id, "accepted");
  if (!accepted) return tl::unexpected(accepted.error());
  const bool changes = !wish.day_changes.empty() || wish.travel || wish.coming_back || wish.ban;
  std::optional<BlockSheet> before;
  if (*accepted && !wish.own_request && !(*accepted)->sheet.weeks.empty() &&
      desk.today() <= (*accepted)->sheet.weeks.back().monday + 6)
    before = (*accepted)->sheet;
  if (changes && !before && !wish.own_request)
    return fail(Code::invalid_input, "there is no accepted plan to change for " + lifter->name +
                                         ": make one with \"plan\" and accept it with \"plan accept\"");
  BlockRequest request = before ? before->request : wish.request;
  if (before) out.resolved = true;
  for (const auto& c : wish.day_changes) request.day_changes.push_back(c);
  if (wish.travel) request.travel.push_back(*wish.travel);
  if (wish.coming_back) request.coming_back = wish.coming_back;
  if (wish.ban) request.ban.push_back(*wish.ban);

  const auto tell = [&](const std::string& what, double share, std::optional<double> gap) {
    return !wish.progress || wish.progress(what, share, gap);
  };
  auto fitted =
      ensure_fitted(desk, lifter->id, [&](double share) { return tell("fitting " + lifter->name, share, {}); });
  if (!fitted) return tl::unexpected(fitted.error());
  const Date first = before ? before->weeks.front().monday : first_monday(request, desk.today());
  if (const auto fine = add_lighter_weeks(desk, *lifter, first, request); !fine) return tl::unexpected(fine.error());
  {
    auto steered = steering(desk, *fitted);
    if (!steered) return tl::unexpected(steered.error());
    out.proposals = std::move(steered->open);
  }
  Date open_from = desk.today();
  if (before) {  // a session already begun today stays as it is
    for (const store::StoredSet& s : fitted->sets) {
      if (s.set.date == desk.today()) open_from = desk.today() + 1;
    }
  }
  auto material = block_material(desk, *fitted, request, wish.place, first, open_from, before.has_value());
  if (!material) return tl::unexpected(material.error());
  if (!wish.readings.empty()) request.readings = wish.readings;
  auto readings = readings_for(desk, request.readings, kBlockReadingDraws, 1);
  if (!readings && readings.error().code == Code::not_found && before && wish.readings.empty()) {
    // The plan that is being followed goes on without what was taken away.
    material->remarks.push_back("The plan was made with other readings, but " + readings.error().message +
                                ". It is held against those.");
    request.readings.clear();
    readings = readings_for(desk, {}, kBlockReadingDraws, 1);
  }
  if (!readings) return tl::unexpected(readings.error());
  for (const planning::Reading& r : *readings) out.readings.push_back(planning::block_reading(r));
  // A day that moves takes along what was planned for it: only what else changes is a change.
  std::vector<std::string> moves;
  for (const auto& c : wish.day_changes) {
    if (!before || !c.to) continue;
    for (BlockWeekPlan& w : before->weeks) {
      for (BlockDayPlan& d : w.days) {
        if (d.date != c.date) continue;
        d.date = *c.to;
        moves.push_back(fmt::format("{} {} moved to {} {}", weekday_name(c.date), date_text(c.date),
                                    weekday_name(*c.to), date_text(*c.to)));
      }
    }
  }
  BlockPlan near;
  std::vector<planning::Breach> broken;
  if (before) {
    near = plan_of_sheet(material->problem, *before);
    leave_behind(material->problem, near, open_from);
    material->problem.near = &near;
    material->problem.price_moved = kPriceMoved;
    material->problem.price_set = kPriceSet;
    broken = planning::breaches_of(material->problem, near);
  }
  planning::SolveWish solve;
  solve.seconds = wish.seconds;
  solve.seed = wish.seed;
  solve.progress = tell;
  auto solved = planning::solve_block(material->problem, out.readings, solver::cbc_solver(wish.solver), solve);
  if (!solved) return tl::unexpected(solved.error());
  out.sheet.lifter = lifter->id;
  out.sheet.made = desk.today();
  out.sheet.request = request;
  if (!solved->found) {
    out.none = solved->none;
    return out;
  }
  planning::SolvedBlock& b = solved->block;
  out.plan = b.plan;
  fill_sheet(out.sheet, *material, b.plan, b.worth, out.readings);
  out.sheet.verdicts = b.verdicts;
  for (const planning::Reading& r : *readings) out.sheet.rests_on.push_back(r.rests_on);
  out.sheet.figures = b.figures;
  out.sheet.worst_regret = b.worst_regret;
  out.sheet.gap = b.gap;
  out.sheet.seconds = b.seconds;
  out.sheet.tie = b.tie;
  out.sheet.stopped = b.stopped;
  out.sheet.chosen_for = b.chosen_for;
  out.sheet.remarks = material->remarks;
  out.sheet.cautions = material->cautions;
  out.problem = material->problem;
  out.problem.near = nullptr;
  if (before) {
    // What lies behind stays written as it was planned; sessions without a set are said to be missed.
    std::set<Date> trained;
    for (const store::StoredSet& s : fitted->sets) trained.insert(s.set.date);
    std::vector<std::string> missed;
    for (BlockWeekPlan& w : out.sheet.weeks) {
      for (BlockDayPlan& d : w.days) {
        if (d.date >= open_from) continue;
        for (const BlockWeekPlan& ow : before->weeks) {
          if (ow.monday == w.monday && w.note.empty()) w.note = ow.note;
          for (const BlockDayPlan& od : ow.days) {
            if (od.date == d.date) d.items = od.items, d.minutes = od.minutes;
          }
        }
        d.closed = trained.count(d.date) ? "done" : d.items.empty() ? d.closed : "missed";
        if (d.closed == "missed")
          missed.push_back(fmt::format("{} {} was missed", weekday_name(d.date), date_text(d.date)));
      }
      for (const BlockWeekPlan& ow : before->weeks) {
        if (ow.monday == w.monday && w.note.empty()) w.note = ow.note;
      }
    }
    out.sheet.changes = differences(*before, out.sheet, broken, open_from);
    if (!moves.empty() && out.sheet.changes == std::vector<std::string>{kNothing})
      out.sheet.changes = {"nothing else changes"};
    out.sheet.changes.insert(out.sheet.changes.begin(), missed.begin(), missed.end());
    out.sheet.changes.insert(out.sheet.changes.begin(), moves.begin(), moves.end());
  }
  if (wish.wanted && !wish.wanted()) return fail(Code::cancelled, "the plan was not wanted any more");
  if (wish.keep) {
    const auto change = keep_proposal(desk, *lifter, out.sheet);
    if (!change) return tl::unexpected(change.error());
    out.change = *change;
  }
  return out;
}

planning::Frontier frontier_of(const BlockProposal& proposal, const std::function<bool(double)>& progress) {
  return planning::frontier(proposal.problem, proposal.readings, proposal.plan, 1, 100000, progress);
}

std::string block_mps(const BlockProposal& proposal) {
  BlockProblem p = proposal.problem;
  for (std::size_t i = 0; i < p.stimulus.size(); ++i) {
    p.stimulus[i] = 0;
    for (const auto& r : proposal.readings)
      p.stimulus[i] += r.stimulus[i] / static_cast<double>(proposal.readings.size());
  }
  return planning::to_mps(planning::write_model(p).mip);
}

Result<std::vector<KeptBlock>> kept_blocks(Desk& desk, const std::string& name) {
  const auto lifter = desk.lifter(name);
  if (!lifter) return tl::unexpected(lifter.error());
  const auto all = desk.store().plans(lifter->id);
  if (!all) return tl::unexpected(all.error());
  std::vector<KeptBlock> out;
  for (const store::StoredPlan& s : *all) {
    auto sheet = read_block(s.json);
    if (!sheet) return tl::unexpected(sheet.error());
    out.push_back(kept_from(s, std::move(*sheet)));
  }
  return out;
}

Result<std::optional<KeptBlock>> accepted_block(Desk& desk, const std::string& name, Date day) {
  const auto lifter = desk.lifter(name);
  if (!lifter) return tl::unexpected(lifter.error());
  auto kept = newest_in(desk, lifter->id, "accepted");
  if (!kept) return kept;
  if (*kept && ((*kept)->sheet.weeks.empty() || day < (*kept)->sheet.weeks.front().monday ||
                day > (*kept)->sheet.weeks.back().monday + 6))
    return std::nullopt;
  return kept;
}

Result<KeptBlock> accept_block(Desk& desk, const std::string& name, const std::string& said, store::ChangeId* change) {
  const auto lifter = desk.lifter(name);
  if (!lifter) return tl::unexpected(lifter.error());
  auto proposal = newest_in(desk, lifter->id, "proposed");
  if (!proposal) return tl::unexpected(proposal.error());
  if (!*proposal) return fail(Code::conflict, "no block is proposed for " + lifter->name + ": make one with \"plan\"");
  // A hold that came since the proposal holds here too.
  const auto gate = desk.strict_gate(*lifter, desk.today());
  if (!gate) return tl::unexpected(gate.error());
  if (!gate->allowed()) return fail(Code::not_allowed, lifter->name + " is on hold: " + gate->held_text());
  const auto old = newest_in(desk, lifter->id, "accepted");
  if (!old) return tl::unexpected(old.error());
  KeptBlock kept = std::move(**proposal);
  kept.state = "accepted";
  kept.said = said;
  const auto done = desk.store().change("block accepted for " + lifter->name, [&](store::Writer& w) -> Result<void> {
    if (*old) {
      KeptBlock replaced = **old;
      replaced.state = "replaced";
      if (const auto put = w.put_plan(stored_from(*lifter, replaced)); !put) return put;
    }
    return w.put_plan(stored_from(*lifter, kept));
  });
  if (!done) return tl::unexpected(done.error());
  if (change) *change = *done;
  return kept;
}

Result<KeptBlock> reject_block(Desk& desk, const std::string& name, const std::string& said, store::ChangeId* change) {
  const auto lifter = desk.lifter(name);
  if (!lifter) return tl::unexpected(lifter.error());
  auto proposal = newest_in(desk, lifter->id, "proposed");
  if (!proposal) return tl::unexpected(proposal.error());
  if (!*proposal) return fail(Code::conflict, "no block is proposed for " + lifter->name);
  KeptBlock kept = std::move(**proposal);
  kept.state = "rejected";
  kept.said = said;
  const auto done = desk.store().change("block rejected for " + lifter->name,
                                        [&](store::Writer& w) { return w.put_plan(stored_from(*lifter, kept)); });
  if (!done) return tl::unexpected(done.error());
  if (change) *change = *done;
  return kept;
}

namespace {

// The open proposal, else the accepted plan.
Result<KeptBlock> current(Desk& desk, const Lifter& lifter) {
  for (const char* state : {"proposed", "accepted"}) {
    auto kept = newest_in(desk, lifter.id, state);
    if (!kept) return tl::unexpected(kept.error());
    if (*kept) return std::move(**kept);
  }
  return fail(Code::not_found, "no block is planned for " + lifter.name + ": make one with \"plan\"");
}

enum class Recheck { no, yes };
Result<KeptBlock> change_block(Desk& desk, const std::string& name, const std::string& what, Recheck recheck_it,
                               store::ChangeId* change,
                               const std::function<Result<void>(const Lifter&, KeptBlock&)>& edit) {
  const auto lifter = desk.lifter(name);
  if (!lifter) return tl::unexpected(lifter.error());
  auto kept = current(desk, *lifter);
  if (!kept) return kept;
  if (const auto fine = edit(*lifter, *kept); !fine) return tl::unexpected(fine.error());
  if (recheck_it == Recheck::yes) {
    const auto fitted = ensure_fitted(desk, lifter->id);
    if (!fitted) return tl::unexpected(fitted.error());
    const auto laid = lay_out(desk, *fitted, kept->sheet);
    if (!laid) return tl::unexpected(laid.error());
    kept->sheet.edited = true;
    recheck(kept->sheet, *laid);
  }
  const auto done = desk.store().change(what + " of " + lifter->name,
                                        [&](store::Writer& w) { return w.put_plan(stored_from(*lifter, *kept)); });
  if (!done) return tl::unexpected(done.error());
  if (change) *change = *done;
  return kept;
}

using Parts = std::vector<BlockRequest::Fixed>;
// Fixed parts that reach over the ends of from..to are cut there, so that each lies inside or outside.
void cut_at(Parts& parts, int from, int to) {
  Parts out;
  for (const BlockRequest::Fixed& f : parts) {
    const auto piece = [&](int first, int last) {
      BlockRequest::Fixed one = f;
      one.from_week = std::max(f.from_week, first);
      one.to_week = std::min(f.to_week, last);
      if (one.from_week <= one.to_week) out.push_back(one);
    };
    piece(1, from - 1);
    piece(from, to);
    piece(to + 1, 99);
  }
  parts = std::move(out);
}
bool inside(const BlockRequest::Fixed& f, int from, int to) { return f.from_week >= from && f.to_week <= to; }

// From now on the exercise is done on that day in those weeks: later solves keep to it.
void keep_on(Parts& parts, const std::string& exercise, int weekday, int to_weekday, int from, int to) {
  cut_at(parts, from, to);
  bool there = false;
  for (BlockRequest::Fixed& f : parts) {
    if (f.exercise != exercise || f.weekday != weekday || !inside(f, from, to)) continue;
    f.weekday = to_weekday;
    there = true;
  }
  if (!there) parts.push_back({exercise, to_weekday, from, to, {}, {}});
}

}  // namespace

Result<KeptBlock> edit_block(Desk& desk, const std::string& name, const BlockEdit& edit, store::ChangeId* change) {
  const auto exercise = desk.exercise(edit.exercise);
  if (!exercise) return fail(Code::invalid_input, exercise.error().message);
  const Exercise chosen = **exercise;
  const auto make = [&](const Lifter& lifter, KeptBlock& kept) -> Result<void> {
    const auto policy = desk.policy(lifter);
    if (!policy) return tl::unexpected(policy.error());
    const auto gate = desk.strict_gate(lifter, desk.today());
    if (!gate) return tl::unexpected(gate.error());
    const bool takes_out = edit.sets && *edit.sets == 0;
    if (!takes_out) {
      if (const auto why = gate->barred_because(chosen.id))
        return fail(Code::not_allowed, chosen.name + " is out: " + *why);
      if (edit.reserve && *edit.reserve < gate->least_reserve)
        return fail(Code::not_allowed,
                    fmt::format("at least {:g} in reserve: {}", gate->least_reserve, gate->least_reserve_from));
      if (edit.reserve && *edit.reserve == 0 && !gate->failure)
        return fail(Code::not_allowed, "no sets to failure: " + gate->no_failure);
      if (edit.reserve && *edit.reserve == 0 && chosen.cls == ExerciseClass::barbell_compound)
        return fail(Code::not_allowed, chosen.name + " is not trained to failure: plan a rep-max test instead");
    }
    const ClassPolicy& c = policy->of(chosen.cls);
    bool any = false;
    for (std::size_t w = 0; w < kept.sheet.weeks.size(); ++w) {
      const int number = static_cast<int>(w) + 1;
      if (number < edit.from_week || number > edit.to_week) continue;
      for (BlockDayPlan& day : kept.sheet.weeks[w].days) {
        if (weekday(day.date) != edit.weekday || !day.closed.empty() || day.date < desk.today()) continue;
        const auto found = std::find_if(day.items.begin(), day.items.end(),
                                        [&](const BlockItem& i) { return i.exercise == chosen.id; });
        any = true;
        if (takes_out) {
          if (found != day.items.end()) day.items.erase(found);
          continue;
        }
        BlockItem made;
        made.exercise = chosen.id;
        made.name = chosen.name;
        BlockItem& item = found != day.items.end() ? *found : day.items.emplace_back(made);
        const int usual = static_cast<int>(std::ceil(c.least_reserve + gate->extra_reserve));
        const int reserve = edit.reserve.value_or(item.sets.empty() ? usual : item.sets.front().reserve);
        const int n = edit.sets.value_or(item.sets.empty() ? c.sets : item.total());
        const bool heavy = !item.sets.empty() && item.sets.front().heavy;
        const int most = heavy ? item.sets.front().most_reps : c.most_reps;
        item.sets = {{n, reserve, c.least_reps, most, heavy}};
        if (reserve == 0 && n > 1)  // only the last set may go to failure
          item.sets = {{n - 1, std::max(1, usual), c.least_reps, most, heavy}, {1, 0, c.least_reps, most, heavy}};
        item.why = "set by you";
      }
    }
    if (!any)
      return fail(Code::invalid_input,
                  fmt::format("no open {} in those weeks of the block", weekday_name(Date{3 + edit.weekday})));
    // Later re-solves keep to it.
    auto& fixed = kept.sheet.request.fixed;
    cut_at(fixed, edit.from_week, edit.to_week);
    fixed.erase(std::remove_if(fixed.begin(), fixed.end(),
                               [&](const BlockRequest::Fixed& f) {
                                 return f.exercise == chosen.id && f.weekday == edit.weekday &&
                                        inside(f, edit.from_week, edit.to_week);
                               }),
                fixed.end());
    if (!takes_out) {
      const std::optional<int> reserve = edit.reserve && *edit.reserve > 0 ? edit.reserve : std::nullopt;
      fixed.push_back({chosen.id, edit.weekday, edit.from_week, edit.to_week, edit.sets, reserve});
    }
    return {};
  };
  return change_block(desk, name, "block edited", Recheck::yes, change, make);
}

namespace {

BlockDayPlan* open_day(BlockWeekPlan& week, int on, Date today) {
  for (BlockDayPlan& day : week.days) {
    if (day.closed.empty() && day.date >= today && weekday(day.date) == on) return &day;
  }
  return nullptr;
}

Result<void> move_exercise(KeptBlock& kept, const BlockMove& move, const Exercise& chosen, Date today) {
  const std::string to_name(weekday_name(Date{3 + move.to_weekday}));
  bool any = false;
  for (std::size_t w = 0; w < kept.sheet.weeks.size(); ++w) {
    const int number = static_cast<int>(w) + 1;
    if (number < move.from_week || number > move.to_week) continue;
    BlockDayPlan* from = open_day(kept.sheet.weeks[w], move.weekday, today);
    BlockDayPlan* to = open_day(kept.sheet.weeks[w], move.to_weekday, today);
    if (!from || !to) continue;
    const auto is_it = [&](const BlockItem& i) { return i.exercise == chosen.id; };
    const auto found = std::find_if(from->items.begin(), from->items.end(), is_it);
    if (found == from->items.end()) continue;
    if (std::any_of(to->items.begin(), to->items.end(), is_it))
      return fail(Code::conflict, fmt::format("{} is done on {} of week {} already", chosen.name, to_name, number));
    found->why = "moved by you";
    to->items.push_back(std::move(*found));
    from->items.erase(found);
    any = true;
  }
  if (!any)
    return fail(Code::invalid_input, fmt::format("in those weeks no {} is done on an open {} beside an open {}",
                                                 chosen.name, weekday_name(Date{3 + move.weekday}), to_name));
  keep_on(kept.sheet.request.fixed, chosen.id, move.weekday, move.to_weekday, move.from_week, move.to_week);
  return {};
}

Result<void> move_session(KeptBlock& kept, const BlockMove& move, Date today) {
  auto& request = kept.sheet.request;
  bool any = false;
  for (std::size_t w = 0; w < kept.sheet.weeks.size(); ++w) {
    const int number = static_cast<int>(w) + 1;
    if (number < move.from_week || number > move.to_week) continue;
    BlockWeekPlan& week = kept.sheet.weeks[w];
    BlockDayPlan* from = open_day(week, move.weekday, today);
    if (!from) continue;
    const Date target = week.monday + (move.to_weekday - 1);
    const auto there =
        std::find_if(week.days.begin(), week.days.end(), [&](const BlockDayPlan& d) { return d.date == target; });
    if (target < today || (there != week.days.end() && !there->closed.empty()))
      return fail(Code::conflict, fmt::format("{} {} is closed", weekday_name(target), date_text(target)));
    any = true;
    if (there != week.days.end()) {
      Parts moved;
      for (const BlockItem& i : from->items) moved.push_back({i.exercise, move.to_weekday, number, number, {}, {}});
      for (const BlockItem& i : there->items) moved.push_back({i.exercise, move.weekday, number, number, {}, {}});
      cut_at(request.fixed, number, number);
      // What was fixed keeps its sets and reserve on its new day.
      for (BlockRequest::Fixed& f : request.fixed) {
        if (!inside(f, number, number)) continue;
        if (f.weekday == move.weekday || f.weekday == move.to_weekday)
          f.weekday = move.weekday + move.to_weekday - f.weekday;
      }
      for (const BlockRequest::Fixed& m : moved) {
        const bool fixed = std::any_of(request.fixed.begin(), request.fixed.end(), [&](const auto& f) {
          return f.exercise == m.exercise && f.weekday == m.weekday && inside(f, number, number);
        });
        if (!fixed) request.fixed.push_back(m);
      }
      std::swap(from->items, there->items);
      for (BlockItem& i : from->items) i.why = "moved by you";
      for (BlockItem& i : there->items) i.why = "moved by you";
      continue;
    }
    // A day that was moved before is moved from where it was at first.
    const auto moved_before = std::find_if(request.day_changes.begin(), request.day_changes.end(),
                                           [&](const auto& c) { return c.to && *c.to == from->date; });
    if (moved_before == request.day_changes.end())
      request.day_changes.push_back({from->date, target, {}});
    else if (moved_before->date == target)
      request.day_changes.erase(moved_before);
    else
      moved_before->to = target;
    cut_at(request.fixed, number, number);
    for (BlockRequest::Fixed& f : request.fixed) {
      if (f.weekday == move.weekday && inside(f, number, number)) f.weekday = move.to_weekday;
    }
    from->date = target;
    std::sort(week.days.begin(), week.days.end(), [](const auto& a, const auto& b) { return a.date < b.date; });
  }
  if (!any)
    return fail(Code::invalid_input, fmt::format("in those weeks no session is planned on an open {}",
                                                 weekday_name(Date{3 + move.weekday})));
  return {};
}

}  // namespace

Result<KeptBlock> move_in_block(Desk& desk, const std::string& name, const BlockMove& move, store::ChangeId* change) {
  if (move.weekday == move.to_weekday) return fail(Code::invalid_input, "another day was expected");
  std::optional<Exercise> chosen;
  if (!move.exercise.empty()) {
    const auto exercise = desk.exercise(move.exercise);
    if (!exercise) return fail(Code::invalid_input, exercise.error().message);
    chosen = **exercise;
  }
  return change_block(desk, name, "block edited", Recheck::yes, change, [&](const Lifter&, KeptBlock& kept) {
    return chosen ? move_exercise(kept, move, *chosen, desk.today()) : move_session(kept, move, desk.today());
  });
}

Result<KeptBlock> note_week(Desk& desk, const std::string& name, int week, const std::string& note,
                            store::ChangeId* change) {
  return change_block(
      desk, name, "note on a week", Recheck::no, change, [&](const Lifter&, KeptBlock& kept) -> Result<void> {
        if (week < 1 || week > static_cast<int>(kept.sheet.weeks.size()))
          return fail(Code::invalid_input,
                      fmt::format("week {}: the block has weeks 1 to {}", week, kept.sheet.weeks.size()));
        kept.sheet.weeks[static_cast<std::size_t>(week) - 1].note = note;
        return {};
      });
}

Result<std::optional<DayFromBlock>> day_from_block(Desk& desk, const std::string& name, Date day) {
  const auto kept = accepted_block(desk, name, day);
  if (!kept) return tl::unexpected(kept.error());
  if (!*kept) return std::nullopt;
  int number = 0;
  for (const BlockWeekPlan& week : (*kept)->sheet.weeks) {
    ++number;
    for (const BlockDayPlan& d : week.days) {
      if (d.date != day || !d.closed.empty() || d.items.empty()) continue;
      DayFromBlock out;
      out.place = d.place;
      out.note = week.note;
      out.week = number;
      out.lighter = week.kind == planning::WeekKind::lighter;
      for (const BlockItem& item : d.items) {
        planning::ExerciseRequest e;
        e.exercise = item.exercise;
        e.sets = item.total();
        double least = 99, most = 0;
        int low = 99, high = 0;
        for (const BlockSets& s : item.sets) {
          if (s.reserve == 0) {
            e.finish = planning::Finish::failure;
          } else {
            least = std::min<double>(least, s.reserve);
            most = std::max<double>(most, s.reserve);
          }
          low = std::min(low, s.least_reps);
          high = std::max(high, s.most_reps);
        }
        if (least <= most) e.least_reserve = least, e.most_reserve = most;
        if (low <= high) e.least_reps = low, e.most_reps = high;
        if (item.test) e.finish = planning::Finish::rep_max_test;
        out.exercises.push_back(std::move(e));
      }
      return out;
    }
  }
  return std::nullopt;
}

}  // namespace ullage::coach
