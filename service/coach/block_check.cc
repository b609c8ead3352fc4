#include "service/coach/block_check.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/planning/block_played.h"
#include "engine/planning/block_rules.h"
#include "engine/planning/block_words.h"
#include "service/coach/readings.h"

namespace ullage::coach {
namespace {

using planning::BlockExercise;
using planning::BlockPlan;
using planning::BlockProblem;

BlockItem item_from(const BlockProblem& p, const planning::PlannedExercise& planned) {
  const BlockExercise& e = p.exercises[static_cast<std::size_t>(planned.exercise)];
  BlockItem item;
  item.exercise = e.exercise.id;
  item.name = e.exercise.name;
  item.test = planned.test;
  for (std::size_t m = 0; m < planned.sets.size(); ++m) {
    if (planned.sets[m] > 0)
      item.sets.push_back(
          {planned.sets[m], e.modes[m].reserve, e.modes[m].least_reps, e.modes[m].most_reps, e.modes[m].heavy});
  }
  std::sort(item.sets.begin(), item.sets.end(), [](const BlockSets& a, const BlockSets& b) {
    return std::pair(a.heavy, a.reserve) > std::pair(b.heavy, b.reserve);
  });
  return item;
}

planning::StimulusByReserve middle_of(const std::vector<planning::BlockReading>& readings) {
  planning::StimulusByReserve out{};
  for (std::size_t i = 0; i < out.size(); ++i) {
    for (const auto& r : readings) out[i] += r.stimulus[i] / static_cast<double>(readings.size());
  }
  return out;
}

}  // namespace

void fill_sheet(BlockSheet& sheet, const BlockMaterial& material, const BlockPlan& plan,
                const planning::PlanWorth& worth, const std::vector<planning::BlockReading>& readings) {
  const BlockProblem& p = material.problem;
  const auto reasons = planning::reasons_for(p, readings, plan);
  const planning::BlockShape shape = planning::shape_of(p);
  sheet.weeks.clear();
  for (std::size_t w = 0; w < p.weeks.size(); ++w) {
    BlockWeekPlan week;
    week.monday = p.weeks[w].monday;
    week.kind = p.weeks[w].kind;
    week.why = p.weeks[w].why;
    week.note = material.notes[w];
    week.effect = worth.weeks[w].effect;
    week.fatigue = worth.weeks[w].fatigue;
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      if (p.muscles[k].weight > 0) week.sets.emplace_back(static_cast<Muscle>(k), worth.weeks[w].sets[k]);
    }
    std::sort(week.sets.begin(), week.sets.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    for (std::size_t d = 0; d < p.weeks[w].days.size(); ++d) {
      const planning::BlockDay& from = p.weeks[w].days[d];
      BlockDayPlan day;
      day.date = from.date;
      day.place = material.place_ids[static_cast<std::size_t>(from.place)];
      day.limit = from.minutes;
      day.minutes = worth.weeks[w].minutes[d];
      day.closed = material.closed[w][d];
      for (const planning::PlannedExercise& planned : plan.weeks[w][d].items) {
        day.items.push_back(item_from(p, planned));
        for (const planning::ItemReason& r : reasons) {
          if (r.exercise == planned.exercise && r.day == static_cast<int>(d) &&
              shape.phase[static_cast<std::size_t>(r.week)] == shape.phase[w])
            day.items.back().why = r.text;
        }
      }
      week.days.push_back(std::move(day));
    }
    sheet.weeks.push_back(std::move(week));
  }
  sheet.corners = {planning::corner_of(p, readings, plan, 0),
                   planning::corner_of(p, readings, plan, planning::kVeryEasyReserve)};
  sheet.readings.clear();
  sheet.effect.clear();
  const double weeks = static_cast<double>(std::max<std::size_t>(1, p.weeks.size()));
  for (const auto& r : readings) {
    sheet.readings.push_back(r.name);
    sheet.effect.push_back(planning::worth_of(p, plan, r.stimulus).effect / weeks);
  }
  sheet.fatigue = worth.fatigue / weeks;
  const planning::PlayedPlan played = planning::play_plan(p, plan, material.draws, material.day_sd, 1);
  sheet.played = {{}, played.fatigue() / weeks, played.missed()};
  for (const auto& r : readings)
    sheet.played.effect.push_back(planning::played_effect(p, plan, played, r.stimulus) / weeks);
}

BlockPlan plan_of_sheet(const BlockProblem& p, const BlockSheet& sheet) {
  BlockPlan plan;
  for (const planning::BlockWeek& week : p.weeks) {
    plan.weeks.emplace_back();
    for (const planning::BlockDay& day : week.days) {
      planning::PlannedDay out;
      const BlockDayPlan* from = nullptr;
      for (const BlockWeekPlan& w : sheet.weeks) {
        for (const BlockDayPlan& d : w.days) {
          if (d.date == day.date) from = &d;
        }
      }
      for (const BlockItem& item : from ? from->items : std::vector<BlockItem>{}) {
        for (std::size_t e = 0; e < p.exercises.size(); ++e) {
          if (p.exercises[e].exercise.id != item.exercise) continue;
          planning::PlannedExercise planned;
          planned.exercise = static_cast<int>(e);
          planned.test = item.test;
          planned.sets.assign(p.exercises[e].modes.size(), 0);
          for (const BlockSets& s : item.sets) {
            std::size_t best = 0;
            int distance = 1000;
            for (std::size_t m = 0; m < p.exercises[e].modes.size(); ++m) {
              const planning::BlockMode& mode = p.exercises[e].modes[m];
              const int far = 10 * std::abs(mode.reserve - s.reserve) + (mode.heavy != s.heavy);
              if (far < distance) distance = far, best = m;
            }
            planned.sets[best] += s.sets;
          }
          out.items.push_back(std::move(planned));
        }
      }
      plan.weeks.back().push_back(std::move(out));
    }
  }
  return plan;
}

void leave_behind(BlockProblem& p, BlockPlan& plan, Date open_from) {
  for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
    planning::BlockWeek& week = p.weeks[w];
    for (std::size_t d = 0; d < plan.weeks[w].size(); ++d) {
      if (!week.days[d].closed) continue;
      for (const planning::PlannedExercise& item : plan.weeks[w][d].items) {
        if (week.days[d].date >= open_from ||
            planning::sets_fixed(p, static_cast<int>(w), item.exercise, weekday(week.days[d].date)))
          continue;
        const auto& share = p.exercises[static_cast<std::size_t>(item.exercise)].exercise.involvement;
        for (std::size_t k = 0; k < kMuscleCount; ++k) week.behind[k] += item.total() * share[k];
      }
      plan.weeks[w][d].items.clear();
    }
  }
}

Result<LaidOut> lay_out(Desk& desk, const Fitted& fitted, const BlockSheet& sheet) {
  LaidOut out;
  if (sheet.weeks.empty()) return fail(Code::corrupt, "a block without weeks");
  const std::string place = sheet.weeks.front().days.empty() ? "" : sheet.weeks.front().days.front().place;
  auto material = block_material(desk, fitted, sheet.request, place, sheet.weeks.front().monday, desk.today(), true);
  if (!material) return tl::unexpected(material.error());
  out.material = std::move(*material);
  auto readings = readings_for(desk, sheet.request.readings, kBlockReadingDraws, 1);
  // A reading that was taken away since: those there are.
  if (!readings && readings.error().code == Code::not_found) readings = readings_for(desk, {}, kBlockReadingDraws, 1);
  if (!readings) return tl::unexpected(readings.error());
  for (const planning::Reading& r : *readings) out.readings.push_back(planning::block_reading(r));
  BlockProblem& p = out.material.problem;
  p.stimulus = middle_of(out.readings);
  out.plan = plan_of_sheet(p, sheet);
  leave_behind(p, out.plan, desk.today());
  planning::put_in_order(p, out.plan);
  return out;
}

void recheck(BlockSheet& sheet, const LaidOut& laid) {
  const BlockProblem& p = laid.material.problem;
  const planning::PlanWorth worth = planning::worth_of(p, laid.plan);
  sheet.faults.clear();
  bool whole = true;
  for (std::size_t w = 0; w < sheet.weeks.size() && w < p.weeks.size(); ++w) {
    BlockWeekPlan& week = sheet.weeks[w];
    bool begun = false;  // part of the week lies behind: its sums are not those of a week
    for (std::size_t d = 0; d < p.weeks[w].days.size(); ++d) {
      const planning::BlockDay& from = p.weeks[w].days[d];
      begun = begun || from.closed;
      const auto day =
          std::find_if(week.days.begin(), week.days.end(), [&](const BlockDayPlan& x) { return x.date == from.date; });
      if (day == week.days.end() || from.closed) continue;
      day->minutes = worth.weeks[w].minutes[d];
      day->limit = from.minutes;
      std::vector<BlockItem> ordered;
      for (const planning::PlannedExercise& planned : laid.plan.weeks[w][d].items) {
        const std::string& id = p.exercises[static_cast<std::size_t>(planned.exercise)].exercise.id;
        for (const BlockItem& i : day->items) {
          if (i.exercise == id) ordered.push_back(i);
        }
      }
      for (const BlockItem& i : day->items) {
        if (std::any_of(ordered.begin(), ordered.end(), [&](const auto& o) { return o.exercise == i.exercise; }))
          continue;
        ordered.push_back(i);
        sheet.faults.push_back({static_cast<int>(w) + 1, from.date, i.name + " can be chosen", "it no longer can"});
      }
      day->items = std::move(ordered);
    }
    whole = whole && !begun;
    if (begun) continue;
    week.effect = worth.weeks[w].effect;
    week.fatigue = worth.weeks[w].fatigue;
    for (auto& [muscle, sets] : week.sets) sets = worth.weeks[w].sets[static_cast<std::size_t>(muscle)];
    std::sort(week.sets.begin(), week.sets.end(), [](const auto& a, const auto& b) {
      return a.second != b.second ? a.second > b.second : a.first < b.first;
    });
  }
  for (const planning::Breach& b : planning::breaches_of(p, laid.plan)) {
    BlockFault fault{b.week + 1, {}, b.rule, b.found};
    if (b.week >= 0) {
      const planning::BlockWeek& week = p.weeks[static_cast<std::size_t>(b.week)];
      const bool begun = std::any_of(week.days.begin(), week.days.end(), [](const auto& d) { return d.closed; });
      if (b.day >= 0)
        fault.date = week.days[static_cast<std::size_t>(b.day)].date;
      else if (begun)
        continue;
    }
    sheet.faults.push_back(std::move(fault));
  }
  if (!whole) return;
  const double weeks = static_cast<double>(std::max<std::size_t>(1, p.weeks.size()));
  sheet.readings.clear();
  sheet.effect.clear();
  for (const auto& r : laid.readings) {
    sheet.readings.push_back(r.name);
    sheet.effect.push_back(planning::worth_of(p, laid.plan, r.stimulus).effect / weeks);
  }
  sheet.fatigue = worth.fatigue / weeks;
  sheet.figures = planning::figures_of(p, laid.plan, p.stimulus);
  sheet.corners = {planning::corner_of(p, laid.readings, laid.plan, 0),
                   planning::corner_of(p, laid.readings, laid.plan, planning::kVeryEasyReserve)};
}

std::string curve_mark(const KeptBlock& kept) { return std::to_string(kept.number) + " " + block_json(kept.sheet); }

Result<BlockCurve> block_curve(Desk& desk, const std::string& lifter, const std::function<bool(double)>& progress) {
  const auto all = kept_blocks(desk, lifter);
  if (!all) return tl::unexpected(all.error());
  const KeptBlock* kept = nullptr;
  for (const char* state : {"proposed", "accepted"}) {
    for (const KeptBlock& k : *all) {
      if (!kept && k.state == state) kept = &k;
    }
  }
  if (!kept) return fail(Code::not_found, "no block is planned: make one first");
  const auto fitted = ensure_fitted(desk, lifter, [&](double share) { return !progress || progress(0.1 * share); });
  if (!fitted) return tl::unexpected(fitted.error());
  const auto laid = lay_out(desk, *fitted, kept->sheet);
  if (!laid) return tl::unexpected(laid.error());
  bool stopped = false;
  BlockCurve out;
  out.number = kept->number;
  out.block = curve_mark(*kept);
  out.curve = planning::frontier(laid->material.problem, laid->readings, laid->plan, 1, 100000, [&](double share) {
    stopped = stopped || (progress && !progress(0.1 + 0.9 * share));
    return !stopped;
  });
  if (stopped) return fail(Code::cancelled, "stopped");
  for (const planning::FrontierPoint& point : out.curve.points) {
    BlockSheet sheet;
    fill_sheet(sheet, laid->material, point.plan, planning::worth_of(laid->material.problem, point.plan),
               laid->readings);
    out.weeks.push_back(std::move(sheet.weeks));
  }
  return out;
}

}  // namespace ullage::coach
