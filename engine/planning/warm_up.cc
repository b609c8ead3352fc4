#include "engine/planning/warm_up.h"

#include <algorithm>

namespace ullage::planning {
namespace {

struct Rung {
  double share;  // of the first work load
  int reps;
  bool also_warm;                 // stays when the muscles are warm already
  double from_share_of_strength;  // only for work loads at least this heavy
};

const std::vector<Rung>& rungs(ExerciseClass cls) {
  static const std::vector<Rung> barbell = {
      {0.40, 8, false, 0}, {0.60, 5, true, 0}, {0.80, 3, true, 0}, {0.90, 1, true, 0.85}};
  static const std::vector<Rung> supported = {{0.50, 8, false, 0}, {0.75, 4, true, 0}};
  static const std::vector<Rung> isolation = {{0.60, 8, false, 0}};
  switch (cls) {
    case ExerciseClass::barbell_compound: return barbell;
    case ExerciseClass::supported_compound: return supported;
    case ExerciseClass::isolation: return isolation;
  }
  return isolation;
}

}  // namespace

std::vector<WarmUp> warm_up_ramp(ExerciseClass cls, const std::vector<double>& totals, int work, double work_share,
                                 bool warmed) {
  std::vector<WarmUp> out;
  const double target = totals[static_cast<std::size_t>(work)];
  int last = -1;
  for (const Rung& rung : rungs(cls)) {
    if ((warmed && !rung.also_warm) || work_share < rung.from_share_of_strength) continue;
    // The nearest load; never the work load itself.
    const double want = rung.share * target;
    const auto above = std::lower_bound(totals.begin(), totals.end(), want);
    auto pick = above;
    if (above == totals.end() || (above != totals.begin() && want - *(above - 1) <= *above - want)) pick = above - 1;
    const int load = static_cast<int>(pick - totals.begin());
    // A step far off its share would be no warm-up: an empty bar at 90 % of the work load.
    if (load <= last || load >= work || *pick > std::min(0.93, rung.share + 0.12) * target) continue;
    out.push_back({load, rung.reps});
    last = load;
  }
  return out;
}

}  // namespace ullage::planning
