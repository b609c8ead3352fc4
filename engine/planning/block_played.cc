#include "engine/planning/block_played.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/priors.h"
#include "engine/planning/block_costs.h"

namespace ullage::planning {
namespace {

constexpr int kUsualGapDays = 2;

// One set of an item in the order they are done: farthest from failure first.
std::vector<std::size_t> modes_in_order(const BlockExercise& exercise, const PlannedExercise& item) {
  std::vector<std::size_t> out;
  for (std::size_t m = 0; m < item.sets.size(); ++m) out.insert(out.end(), static_cast<std::size_t>(item.sets[m]), m);
  std::sort(out.begin(), out.end(), [&](std::size_t a, std::size_t b) {
    return std::pair(-exercise.modes[a].reserve, a) < std::pair(-exercise.modes[b].reserve, b);
  });
  return out;
}

// The feeling on which a set of so many reps to failure ends nearest to `reserve` on the whole, over all possibilities.
Call cue_for(const capacity::LifterDraws& draws, double reps, int reserve) {
  constexpr int kMostCalled = 5;
  const double reach = reps + reserve + 0.5;
  Call best{static_cast<double>(reserve), false};
  double least_off = 1e9;
  std::vector<double> left(draws.draws.size());
  for (int called = 0; called <= kMostCalled; ++called) {
    const Call cue{static_cast<double>(called), false};
    for (std::size_t i = 0; i < draws.draws.size(); ++i) {
      const double z = normal_quantile((static_cast<double>(i) + 0.5) / static_cast<double>(draws.draws.size()));
      const double stop = capacity::cue_stop_rep(draws.draws[i].judgement, reach, capacity::call_cell(cue, false), z);
      left[i] = std::max(0.0, reach - std::max(1.0, stop));
    }
    std::nth_element(left.begin(), left.begin() + static_cast<std::ptrdiff_t>(left.size() / 2), left.end());
    const double off = std::fabs(left[left.size() / 2] - (reserve + 0.5));
    if (off < least_off) {
      least_off = off;
      best = cue;
    }
  }
  return best;
}

// By exercise and mode.
using Cues = std::vector<std::vector<Call>>;

// One possible lifter on their way through the plan.
class Play {
 public:
  Play(const BlockProblem& problem, const capacity::LifterDraws& draws, const Cues& cues, const capacity::Draw& draw,
       Random& random)
      : problem_(problem),
        draws_(draws),
        cues_(cues),
        draw_(draw),
        random_(random),
        stores_(draw.lifts.size()),
        spent_today_(draw.lifts.size(), 0),
        spent_before_(draw.lifts.size(), 0) {}

  // days: since the session before.
  void session(const PlannedDay& day, int days, double readiness, double share, PlayedWeek& out) {
    for (std::size_t l = 0; l < stores_.size(); ++l) {
      spent_before_[l] = capacity::residual_after(days, spent_before_[l] + spent_today_[l], 1);
      spent_today_[l] = 0;
      stores_[l] = {};
    }
    done_.clear();
    for (const PlannedExercise& item : day.items) exercise(item, readiness, share, out);
  }

 private:
  void exercise(const PlannedExercise& item, double readiness, double share, PlayedWeek& out) {
    const auto l = static_cast<std::size_t>(item.exercise);
    const BlockExercise& e = problem_.exercises[l];
    const capacity::LiftDraw& lift = draw_.lifts[l];
    const double shape = draws_.info[l].shape;
    const double muscles = muscles_felt(e.exercise);
    double residual = 0;
    for (std::size_t from = 0; from < stores_.size(); ++from) {
      if (spent_before_[from] > 0) residual += draw_.a_day * draws_.overlap[from][l] * spent_before_[from];
    }
    if (std::find(done_.begin(), done_.end(), l) == done_.end()) done_.push_back(l);
    std::optional<double> log_load;
    for (const std::size_t m : modes_in_order(e, item)) {
      const BlockMode& mode = e.modes[m];
      double tired = residual;
      for (const std::size_t from : done_) tired += draws_.overlap[from][l] * stores_[from].total();
      const double now = lift.log_strength + readiness - tired;
      const double middle = (mode.least_reps + mode.most_reps) / 2;
      if (!log_load) {  // the load that suits the middle of the zone today
        log_load = now - capacity::margin_for_reps(middle + mode.reserve + 0.5, lift.endurance, shape);
      }
      const double margin = now - *log_load;
      const double reach = capacity::reps_to_failure(margin + draw_.sigma * random_.normal(), lift.endurance, shape);
      const int whole = static_cast<int>(std::floor(std::clamp(reach, 0.0, 100.0)));
      int done = whole;
      bool failed = true;
      if (mode.reserve > 0) {
        const double stop = std::min<double>(
            mode.most_reps,
            capacity::cue_stop_rep(draw_.judgement, reach, capacity::call_cell(cues_[l][m], false), random_.normal()));
        failed = stop > whole;
        done = failed ? whole : std::max(1, static_cast<int>(stop));
        out.planned += share;
        if (failed) out.missed += share;
      }
      const double left = failed ? 0 : std::max(0.0, reach - done);
      out.ended[l][static_cast<std::size_t>(std::min<double>(left, kReserveSteps - 1))] += share;
      const auto spent =
          capacity::spend<double>(margin, lift.endurance, shape, done, failed, draw_.fatigue.lam, draw_.fatigue.rho_f);
      const double work = middle * capacity::kSecondsPerRep / 60, rest = std::max(0.5, mode.minutes - work);
      const double next = capacity::residual_after(kUsualGapDays, 1, draw_.a_day);
      out.fatigue += share * fatigue_of_spent(spent, draw_.fatigue, rest, next, muscles);
      stores_[l].add(spent, draw_.fatigue);
      spent_today_[l] += spent.depletion;
      for (const std::size_t store : done_)
        stores_[store].rest(rest + done * capacity::kSecondsPerRep / 60, draw_.fatigue);
    }
  }

  const BlockProblem& problem_;
  const capacity::LifterDraws& draws_;
  const Cues& cues_;
  const capacity::Draw& draw_;
  Random& random_;
  std::vector<capacity::FatigueStores> stores_;
  std::vector<double> spent_today_, spent_before_;  // margin, by exercise; before: of other days, what is left of it
  std::vector<std::size_t> done_;                   // exercises of this session so far
};

}  // namespace

double PlayedPlan::fatigue() const {
  double sum = 0;
  for (const PlayedWeek& week : weeks) sum += week.fatigue;
  return sum;
}

double PlayedPlan::missed() const {
  double planned = 0, missed = 0;
  for (const PlayedWeek& week : weeks) {
    planned += week.planned;
    missed += week.missed;
  }
  return planned > 0 ? missed / planned : 0;
}

PlayedPlan play_plan(const BlockProblem& problem, const BlockPlan& plan, const capacity::LifterDraws& draws,
                     double day_sd, std::uint64_t seed) {
  PlayedPlan out;
  for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
    out.weeks.emplace_back();
    out.weeks.back().ended.assign(problem.exercises.size(), {});
  }
  Cues cues;
  for (const BlockExercise& e : problem.exercises) {
    cues.emplace_back();
    for (const BlockMode& mode : e.modes)
      cues.back().push_back(cue_for(draws, (mode.least_reps + mode.most_reps) / 2, mode.reserve));
  }
  Random random(seed, 4);
  const double share = 1.0 / static_cast<double>(std::max<std::size_t>(1, draws.draws.size()));
  for (const capacity::Draw& draw : draws.draws) {
    Play play(problem, draws, cues, draw, random);
    std::optional<Date> last;
    for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
      for (std::size_t d = 0; d < plan.weeks[w].size(); ++d) {
        if (plan.weeks[w][d].items.empty()) continue;
        int days = kUsualGapDays;
        if (w < problem.weeks.size() && d < problem.weeks[w].days.size()) {
          const Date date = problem.weeks[w].days[d].date;
          if (last) days = std::max(1, date - *last);
          last = date;
        }
        play.session(plan.weeks[w][d], days, random.normal(0, day_sd), share, out.weeks[w]);
      }
    }
  }
  return out;
}

double played_effect(const BlockProblem& problem, const BlockPlan& plan, const PlayedPlan& played,
                     const StimulusByReserve& stimulus) {
  // What worth_of makes of the plan, its stimulus taken out and that which was played put in.
  const PlanWorth as_planned = worth_of(problem, plan, stimulus);
  double out = as_planned.effect;
  for (std::size_t w = 0; w < played.weeks.size(); ++w) {
    std::array<double, kMuscleCount> sums{};
    for (std::size_t e = 0; e < problem.exercises.size(); ++e) {
      double worth = 0;
      for (std::size_t r = 0; r < stimulus.size(); ++r) worth += played.weeks[w].ended[e][r] * stimulus[r];
      for (std::size_t i = 0; i < kMuscleCount; ++i) sums[i] += worth * problem.exercises[e].exercise.involvement[i];
    }
    for (std::size_t i = 0; i < kMuscleCount; ++i) {
      if (!(problem.muscles[i].weight > 0)) continue;
      out +=
          problem.muscles[i].weight * (growth_by_chords(sums[i]) - growth_by_chords(as_planned.weeks[w].stimulus[i]));
    }
  }
  return out;
}

}  // namespace ullage::planning
