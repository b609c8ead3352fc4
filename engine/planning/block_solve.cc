#include "engine/planning/block_solve.h"

#include <algorithm>
#include <cmath>

#include "engine/planning/block_infeasible.h"
#include "engine/planning/block_model.h"
#include "engine/planning/block_rules.h"
#include "engine/planning/block_search.h"
#include "engine/planning/block_summed.h"
#include "engine/planning/block_words.h"

namespace ullage::planning {
namespace {

BlockReading middle_of(const std::vector<BlockReading>& readings) {
  BlockReading out{readings.size() > 1 ? "all" : readings.front().name, {}};
  for (const BlockReading& r : readings) {
    for (std::size_t i = 0; i < out.stimulus.size(); ++i)
      out.stimulus[i] += r.stimulus[i] / static_cast<double>(readings.size());
  }
  return out;
}

double value_under(const BlockProblem& p, const BlockPlan& plan, const BlockReading& reading) {
  return worth_of(p, plan, reading.stimulus).value;
}

}  // namespace

BlockReading block_reading(const Reading& reading) {
  BlockReading out{reading.name, {}};
  const auto mean = reading.mean_stimulus();
  std::copy(mean.begin(), mean.begin() + kReserveSteps, out.stimulus.begin());
  return out;
}

PlanFigures figures_of(const BlockProblem& p, const BlockPlan& plan, const StimulusByReserve& stimulus) {
  PlanFigures out;
  const double weeks = std::max<double>(1, static_cast<double>(plan.weeks.size()));
  for (const auto& week : plan.weeks) {
    for (const PlannedDay& day : week) {
      for (const PlannedExercise& item : day.items) {
        const std::vector<BlockMode>& modes = p.exercises[static_cast<std::size_t>(item.exercise)].modes;
        for (std::size_t m = 0; m < item.sets.size(); ++m) {
          out.sets += item.sets[m] / weeks;
          out.reserve += modes[m].reserve * item.sets[m] / weeks;
          if (modes[m].reserve == 0) out.failure_sets += item.sets[m] / weeks;
        }
      }
    }
  }
  if (out.sets > 0) out.reserve /= out.sets;
  const PlanWorth worth = worth_of(p, plan, stimulus);
  out.effect = worth.effect / weeks;
  out.fatigue = worth.fatigue / weeks;
  return out;
}

Corner corner_of(const BlockProblem& p, const std::vector<BlockReading>& readings, const BlockPlan& plan, int reserve) {
  Corner out;
  out.name = reserve == 0 ? "all to failure" : "very easy";
  BlockProblem other = p;
  for (BlockExercise& e : other.exercises) {
    for (BlockMode& m : e.modes) {
      m.reserve = reserve;
      m.fatigue = reserve == 0 ? e.fatigue_at_failure : e.fatigue_very_easy;
    }
  }
  const double weeks = std::max<double>(1, static_cast<double>(plan.weeks.size()));
  for (const BlockReading& r : readings) {
    const PlanWorth worth = worth_of(other, plan, r.stimulus);
    out.effect.push_back(worth.effect / weeks);
    out.fatigue = worth.fatigue / weeks;
  }
  return out;
}

Result<SolveOutcome> solve_block(const BlockProblem& given, const std::vector<BlockReading>& readings,
                                 const MipSolver& solver, const SolveWish& wish) {
  BlockProblem p = given;
  SolveOutcome out;
  std::vector<BlockReading> aims{middle_of(readings)};
  if (readings.size() > 1) aims.insert(aims.end(), readings.begin(), readings.end());
  std::vector<BlockPlan> plans;
  std::vector<MipAnswer> answers(aims.size());
  bool stop = false;
  const auto tell = [&](const std::string& what, double share, std::optional<double> gap) {
    if (wish.progress && !wish.progress(what, share, gap)) stop = true;
    return !stop;
  };
  double spent = 0;
  const BlockShape shape = shape_of(p);
  // A move takes as long as there are kinds of week in its phase.
  double kinds = 0;
  for (std::size_t w = 0; w < shape.base.size(); ++w) kinds += shape.base[w] == static_cast<int>(w) ? 1 : 0;
  const double kinds_a_phase = std::max(1.0, kinds / std::max(1, shape.phases));
  const int moves = static_cast<int>(std::min<double>(wish.moves, kMovesASecond * wish.seconds) / kinds_a_phase);
  for (std::size_t i = 0; i < aims.size(); ++i) {
    p.stimulus = aims[i].stimulus;
    const BlockModel model = write_model(p);
    std::optional<BlockPlan> first;
    if (!stop) {
      const double begun = std::min(0.99, spent / wish.seconds);
      // The readings ask for much the same: the middle one's plan is where the others' begin.
      const BlockPlan* start = plans.empty() ? nullptr : &plans.front();
      const int runs = start ? 1 : kRuns;
      double worth = 0;
      for (int run = 0; run < runs && !stop; ++run) {
        const std::uint64_t seed = wish.seed + i + 1000003 * static_cast<std::uint64_t>(run);
        auto found =
            search_block(p, seed, start ? moves / 4 : moves, [&] { return tell("searching", begun, {}); }, start);
        if (!found) continue;
        if (const double now = worth_of(p, *found).value; !first || now > worth) {
          worth = now;
          first = std::move(found);
        }
      }
    }
    // Plans for the other readings are starts as well.
    for (const BlockPlan& other : plans) {
      if (!first || worth_of(p, other).value > worth_of(p, *first).value) first = other;
    }
    MipWish ask;
    ask.gap = wish.gap;
    if (first) {
      // The programme's worth lacks what every plan has in common: the same gap is another share of it.
      const double value = worth_of(p, *first).value;
      if (value > 0 && value > model.base) ask.gap *= value / (value - model.base);
      if (auto at = point_of(p, model, *first)) ask.start = std::move(*at);
    }
    ask.progress = [&](double seconds, std::optional<double> value, std::optional<double> bound) {
      std::optional<double> gap;
      if (value && bound && *value + model.base != 0)
        gap = std::max(0.0, (*bound - *value) / std::abs(*value + model.base));
      return tell("planning", std::min(0.99, (spent + seconds) / wish.seconds), gap);
    };
    // The bound first, from the block summed over its days: no plan's worth is above it.
    double above = kNoLimit, summing = 0;
    if (!ask.start.empty() && !stop) {
      const SummedBlock summed = summed_over_days(model);
      MipWish of_sum;
      of_sum.seconds = std::max(0.1, (i == 0 ? kSummedShare : kSummedShareOfOthers) * wish.seconds);
      of_sum.gap = ask.gap;
      of_sum.start = summed.point(ask.start);
      of_sum.hard_cuts = true;
      of_sum.progress = [&](double seconds, std::optional<double>, std::optional<double>) {
        return tell("planning", std::min(0.99, (spent + seconds) / wish.seconds), {});
      };
      auto sum = solver(summed.mip, of_sum);
      if (!sum) return tl::unexpected(sum.error());
      spent += sum->seconds;
      summing = sum->seconds;
      above = sum->bound;
    }
    const double share = (i == 0 ? kSolverShare : kSolverShareOfOthers) * (first ? 1 : 2);
    ask.seconds = std::max(0.1, share * wish.seconds);
    if (stop && i > 0) break;
    auto answer = solver(model.mip, ask);
    if (!answer) return tl::unexpected(answer.error());
    spent += answer->seconds;
    answer->seconds += summing;
    if (!answer->at.empty()) answer->bound = std::max(answer->value, std::min(answer->bound, above));
    answer->value += model.base;
    answer->bound += model.base;
    // The search's plan stands where the solver found none; the solver's bound holds for it as for any other. A solver
    // that says there is no plan is wrong when one is at hand, and its bound with it.
    if (i == 0 && answer->at.empty() && first && breaches_of(p, *first).empty()) {
      if (answer->end == MipEnd::infeasible) answer->bound = kNoLimit;
      answer->value = worth_of(p, *first).value;
      plans.push_back(*first);
      answers[0] = std::move(*answer);
      if (stop) break;
      continue;
    }
    if (answer->at.empty()) {
      if (i > 0) continue;  // the middle reading's plan stands
      if (answer->end == MipEnd::cancelled || stop) return fail(Code::cancelled, "stopped before a plan was found");
      const MipSolver heard = [&](const Mip& mip, const MipWish& part) -> Result<MipAnswer> {
        MipWish mine = part;
        mine.progress = [&](double, std::optional<double>, std::optional<double>) {
          return tell("finding which rules contradict each other", 0.99, {});
        };
        auto got = solver(mip, mine);
        if (stop) return fail(Code::cancelled, "stopped before a plan was found");
        return got;
      };
      auto why = find_contradiction(model.mip, heard, 3 * wish.seconds + 10);
      if (!why) return tl::unexpected(why.error());
      if (why->feasible)
        return fail(Code::unavailable, "no plan was found within the time, nor that there is none: allow more seconds");
      out.none = {why->rules, why->irreducible};
      return out;
    }
    plans.push_back(plan_at(p, model, answer->at));
    answers[i] = std::move(*answer);
    if (stop) break;
  }
  // Each reading's best, and every plan's regret under it.
  SolvedBlock& b = out.block;
  out.found = true;
  const std::size_t first_reading = readings.size() > 1 ? 1 : 0;
  BlockPlan least;
  double worst_best = kNoLimit;
  std::size_t chosen = 0;
  double chosen_mean = 0, gap_unit = 0;
  for (std::size_t c = 0; c < plans.size(); ++c) {
    std::vector<Verdict> verdicts;
    double worst = 0, mean = 0;
    for (std::size_t r = 0; r < readings.size(); ++r) {
      Verdict v;
      v.reading = readings[r].name;
      v.value = value_under(p, plans[c], readings[r]);
      for (const BlockPlan& other : plans) v.found = std::max(v.found, value_under(p, other, readings[r]));
      const MipAnswer& own = answers[std::min(first_reading + r, answers.size() - 1)];
      v.best = own.bound == kNoLimit ? v.found : std::max(own.bound, v.found);
      v.gap = v.found > 0 ? (v.best - v.found) / v.found : 0;
      // The least plan: this one with every set stopped very early.
      const Corner easy = corner_of(p, {readings[r]}, plans[c], kVeryEasyReserve);
      const double weeks = static_cast<double>(plans[c].weeks.size());
      const double low = weeks * (easy.effect.front() - p.price * easy.fatigue);
      v.regret = v.best > low ? std::max(0.0, (v.best - v.value) / (v.best - low)) : 0;
      v.regret_found = v.best > low ? std::max(0.0, (v.found - v.value) / (v.best - low)) : 0;
      if (v.best > low) gap_unit = std::max(gap_unit, (v.best - v.found) / (v.best - low));
      worst = std::max(worst, v.regret);
      mean += v.regret / static_cast<double>(readings.size());
      verdicts.push_back(v);
    }
    const bool near_tie = c > 0 && std::abs(worst - worst_best) < 0.5 * gap_unit;
    if (near_tie) b.tie = true;
    if (c == 0 || worst < worst_best - 1e-9 || (std::abs(worst - worst_best) <= 1e-9 && mean < chosen_mean)) {
      worst_best = worst;
      chosen = c;
      chosen_mean = mean;
      b.verdicts = std::move(verdicts);
    }
  }
  b.plan = plans[chosen];
  for (std::size_t r = 0; r < readings.size(); ++r) {
    Verdict& v = b.verdicts[r];
    std::size_t alone = chosen;
    for (std::size_t c = 0; c < plans.size(); ++c) {
      if (value_under(p, plans[c], readings[r]) > value_under(p, plans[alone], readings[r]) + 1e-9) alone = c;
    }
    v.same_plan = plans[alone] == b.plan;
    v.alone = figures_of(p, plans[alone], readings[r].stimulus);
    for (std::size_t w = 0; w < b.plan.weeks.size(); ++w) {
      for (std::size_t d = 0; d < b.plan.weeks[w].size(); ++d)
        v.days_different += plans[alone].weeks[w][d] == b.plan.weeks[w][d] ? 0 : 1;
    }
  }
  b.chosen_for = aims[chosen].name;
  b.worst_regret = worst_best;
  b.plans_compared = static_cast<int>(plans.size());
  p.stimulus = aims.front().stimulus;
  b.worth = worth_of(p, b.plan);
  b.figures = figures_of(p, b.plan, p.stimulus);
  const double top = value_under(p, plans.front(), aims.front());
  const double bound = answers.front().bound;
  b.gap = !answers.front().at.empty() ? answers.front().gap()
          : top > 0                   ? std::max(0.0, bound - top) / top
                                      : kUnknownGap;
  b.gap = std::min(b.gap, kUnknownGap);
  for (const MipAnswer& a : answers) b.seconds += a.seconds;
  b.stopped = stop || b.gap > wish.gap + 1e-9;
  return out;
}

Frontier frontier(const BlockProblem& given, const std::vector<BlockReading>& readings, const BlockPlan& plan,
                  std::uint64_t seed, int moves, const std::function<bool(double)>& progress) {
  Frontier out;
  for (const BlockReading& r : readings) out.readings.push_back(r.name);
  const double weeks = std::max<double>(1, static_cast<double>(plan.weeks.size()));
  const auto point = [&](const BlockPlan& of, double price) {
    FrontierPoint at;
    at.price = price;
    for (const BlockReading& r : readings) {
      const PlanWorth worth = worth_of(given, of, r.stimulus);
      at.effect.push_back(worth.effect / weeks);
      at.fatigue = worth.fatigue / weeks;
    }
    at.figures = figures_of(given, of, middle_of(readings).stimulus);
    at.plan = of;
    return at;
  };
  BlockProblem p = given;
  p.near = nullptr;
  p.stimulus = middle_of(readings).stimulus;
  const double times[] = {0, 0.5, 1, 2, 4, 8, 16};
  int done = 0;
  for (double factor : times) {
    if (progress && !progress(done++ / 7.0)) break;
    p.price = (given.price > 0 ? given.price : 0.01) * factor;
    bool go_on = true;
    const auto found =
        search_block(p, seed, moves, [&] { return go_on = go_on && (!progress || progress((done - 1) / 7.0)); });
    if (!go_on) break;
    if (found) out.points.push_back(point(*found, p.price));
  }
  out.plan = point(plan, given.price);
  out.corners = {corner_of(given, readings, plan, 0), corner_of(given, readings, plan, kVeryEasyReserve)};
  return out;
}

std::vector<ItemReason> reasons_for(const BlockProblem& given, const std::vector<BlockReading>& readings,
                                    const BlockPlan& plan) {
  BlockProblem p = given;
  p.near = nullptr;
  p.stimulus = middle_of(readings).stimulus;
  const BlockShape shape = shape_of(p);
  std::vector<ItemReason> out;
  const PlanWorth whole = worth_of(p, plan);
  for (int ph = 0; ph < shape.phases; ++ph) {
    // One reason for each exercise of each day of a phase, told from its fullest week.
    std::size_t at = 0;
    int fullest = -1;
    for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
      if (shape.phase[w] != ph) continue;
      int sets = 0;
      for (const PlannedDay& day : plan.weeks[w]) {
        for (const PlannedExercise& item : day.items) sets += item.total();
      }
      if (sets > fullest) fullest = sets, at = w;
    }
    const WeekWorth& before = whole.weeks[at];
    for (std::size_t d = 0; d < plan.weeks[at].size(); ++d) {
      for (std::size_t i = 0; i < plan.weeks[at][d].items.size(); ++i) {
        const PlannedExercise& item = plan.weeks[at][d].items[i];
        const BlockExercise& ex = p.exercises[static_cast<std::size_t>(item.exercise)];
        ItemReason reason{static_cast<int>(at), static_cast<int>(d), item.exercise, "", 0, 0, 0};
        BlockPlan without = plan;
        auto& items = without.weeks[at][d].items;
        items.erase(items.begin() + static_cast<std::ptrdiff_t>(i));
        const WeekWorth after = worth_of(p, without).weeks[at];
        reason.effect_lost = before.effect > 0 ? (before.effect - after.effect) / before.effect : 0;
        reason.minutes_freed = before.minutes[d] - after.minutes[d];
        reason.fatigue_freed = before.fatigue > 0 ? (before.fatigue - after.fatigue) / before.fatigue : 0;
        const auto percent = [](double share) { return words::short_number(100 * share) + " %"; };
        bool must = false;
        for (const MustHave& m : p.must) must = must || m.exercise == item.exercise;
        bool fixed = false;
        for (const FixedPart& f : p.fixed) fixed = fixed || f.exercise == item.exercise;
        reason.text = std::string(fixed  ? "fixed by you; "
                                  : must ? "you asked for it; "
                                         : "") +
                      "without it " + percent(reason.effect_lost) + " less effect, " + percent(reason.fatigue_freed) +
                      " less fatigue, " + words::short_number(reason.minutes_freed) + " min freed";
        // The reserve: what a rep nearer and a rep farther would change for its main mode.
        std::size_t main = 0;
        for (std::size_t m = 1; m < item.sets.size(); ++m) {
          if (item.sets[m] > item.sets[main]) main = m;
        }
        const BlockMode& mode = ex.modes[main];
        const BlockMode *nearer = nullptr, *farther = nullptr;
        std::size_t near_at = 0, far_at = 0;
        for (std::size_t m = 0; m < ex.modes.size(); ++m) {
          if (ex.modes[m].heavy != mode.heavy) continue;
          if (ex.modes[m].reserve == mode.reserve - 1 && ex.modes[m].reserve > 0) nearer = &ex.modes[m], near_at = m;
          if (ex.modes[m].reserve == mode.reserve + 1) farther = &ex.modes[m], far_at = m;
        }
        const auto change = [&](std::size_t to) {
          BlockPlan other = plan;
          auto& sets = other.weeks[at][d].items[i].sets;
          sets[to] += sets[main];
          sets[main] = 0;
          return worth_of(p, other).weeks[at];
        };
        const auto side = [&](std::size_t to, const char* where) {
          const WeekWorth w = change(to);
          const double effect = (w.effect - before.effect) / before.effect;
          const double fatigue = (w.fatigue - before.fatigue) / before.fatigue;
          return std::string("one rep ") + where + ": " + (effect >= 0 ? "+" : "") + percent(effect) + " effect, " +
                 (fatigue >= 0 ? "+" : "") + percent(fatigue) + " fatigue";
        };
        if (nearer && mode_allowed(p, shape, item.exercise, static_cast<int>(near_at), static_cast<int>(at)))
          reason.text += "; " + side(near_at, "nearer failure");
        else if (farther && mode_allowed(p, shape, item.exercise, static_cast<int>(far_at), static_cast<int>(at)))
          reason.text +=
              "; the policy's edge of " + std::to_string(mode.reserve) + " decides, " + side(far_at, "farther");
        else
          reason.text += "; the policy allows only " + std::to_string(mode.reserve) + " in reserve";
        out.push_back(std::move(reason));
      }
    }
  }
  return out;
}

}  // namespace ullage::planning
