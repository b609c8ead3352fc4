// How near to the bound the block planner comes on random instances of the size that is typical: 5 days, 60 exercises,
// 6 weeks (engine/planning/block_instances.h). One line an instance, in CSV; instances without any plan are left out.
//
//   block_gaps FROM TO [SECONDS [MOVES]]     seeds FROM..TO; seconds for search and solver
//
// value: of the plan; bound: no plan is worth more; gap: (bound - value) / value in per cent. wall and cpu: of the
// whole solve with the search and the solver's process, one core each in turn. moved and sets: how unsteady the plan
// is, from each usual week to the next one: exercises that come to a day or leave it, and sets that the others have
// more or fewer; fewer: those of them that are fewer.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <optional>

#include "engine/planning/block_instances.h"
#include "engine/planning/block_model.h"
#include "engine/planning/block_rules.h"
#include "engine/planning/block_solve.h"
#include "service/solver/cbc.h"

using namespace ullage;

namespace {

double cpu_seconds() {
  double sum = 0;
  for (const int who : {RUSAGE_SELF, RUSAGE_CHILDREN}) {
    rusage used{};
    getrusage(who, &used);
    for (const timeval& t : {used.ru_utime, used.ru_stime})
      sum += static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
  }
  return sum;
}

struct Unsteady {
  int moved = 0, sets = 0, fewer = 0;
};
Unsteady unsteady(const planning::BlockProblem& problem, const planning::BlockPlan& plan) {
  Unsteady out;
  const auto sets_in = [](const planning::PlannedDay& day, int exercise) {
    for (const planning::PlannedExercise& item : day.items) {
      if (item.exercise == exercise) return item.total();
    }
    return 0;
  };
  std::optional<std::size_t> last;
  for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
    if (problem.weeks[w].kind != planning::WeekKind::usual) continue;
    for (std::size_t d = 0; last && d < plan.weeks[w].size(); ++d) {
      for (int e = 0; e < static_cast<int>(problem.exercises.size()); ++e) {
        const int before = sets_in(plan.weeks[*last][d], e), now = sets_in(plan.weeks[w][d], e);
        if ((before > 0) != (now > 0)) {
          ++out.moved;
        } else {
          out.sets += std::abs(now - before);
          out.fewer += std::max(0, before - now);
        }
      }
    }
    last = w;
  }
  return out;
}

}  // namespace

int main(int count, char** arguments) {
  if (count < 3) {
    std::fprintf(stderr, "block_gaps FROM TO [SECONDS [MOVES]]\n");
    return 2;
  }
  planning::SolveWish wish;
  wish.gap = 0.001;
  wish.seconds = count > 3 ? std::atof(arguments[3]) : 10;
  if (count > 4) wish.moves = std::atoi(arguments[4]);
  std::puts("seed,phases,week_kinds,value,bound,gap_pct,wall_s,cpu_s,moved,sets,fewer");
  for (int seed = std::atoi(arguments[1]); seed <= std::atoi(arguments[2]); ++seed) {
    const planning::BlockProblem problem = planning::testing::random_problem({}, static_cast<std::uint64_t>(seed));
    const planning::BlockShape shape = planning::shape_of(problem);
    int kinds = 0;
    for (std::size_t w = 0; w < shape.like.size(); ++w) kinds += shape.like[w] == static_cast<int>(w) ? 1 : 0;
    const auto begun = std::chrono::steady_clock::now();
    const double cpu = cpu_seconds();
    const auto solved = planning::solve_block(problem, {{"middle", problem.stimulus}}, solver::cbc_solver(), wish);
    const double wall = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
    if (!solved) {
      std::fprintf(stderr, "%d: %s\n", seed, solved.error().message.c_str());
      continue;
    }
    if (!solved->found) {
      std::fprintf(stderr, "%d: no plan keeps the rules\n", seed);
      continue;
    }
    if (!planning::breaches_of(problem, solved->block.plan).empty()) {
      std::fprintf(stderr, "%d: the plan breaks a rule\n", seed);
      return 1;
    }
    const double value = solved->block.worth.value;
    const Unsteady change = unsteady(problem, solved->block.plan);
    std::printf("%d,%d,%d,%.3f,%.3f,%.2f,%.1f,%.1f,%d,%d,%d\n", seed, shape.phases, kinds, value,
                value * (1 + solved->block.gap), 100 * solved->block.gap, wall, cpu_seconds() - cpu, change.moved,
                change.sets, change.fewer);
    std::fflush(stdout);
  }
}
