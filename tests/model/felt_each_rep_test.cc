// Lifters who feel each rep anew, and those who do not: told apart by their stops on cues, and estimated as what they
// are.
#include "engine/capacity/felt_each_rep.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "engine/calibration/scenario.h"
#include "engine/capacity/fit.h"

namespace ullage::capacity {
namespace {

using calibration::Variant;

calibration::Scene scene_of(Variant variant, int number) {
  return calibration::make_scene({calibration::Kind::cue, variant, 10}, number);
}
TrainingLog log_of(const calibration::Scene& scene, const std::vector<SetRecord>& sets) {
  return prepare(scene.lifter, sets, [&](const std::string& id) { return scene.find(id); }, sets.back().date);
}
FitOptions quick() {
  FitOptions options;
  options.history = false;
  return options;
}
bool says_so(const Posterior& p) {
  return std::any_of(p.remarks.begin(), p.remarks.end(),
                     [](const std::string& r) { return r.find("each rep were felt anew") != std::string::npos; });
}

TEST(FeltEachRep, IsToldFromFeelingTheSetOnce) {
  int anew = 0, once = 0;
  constexpr int kLifters = 12;
  for (int i = 0; i < kLifters; ++i) {
    for (const Variant variant : {Variant::feeling_anew, Variant::none}) {
      const calibration::Scene scene = scene_of(variant, 9000 + i);
      const auto p = fit(log_of(scene, scene.sets), quick());
      ASSERT_TRUE(p);
      EXPECT_EQ(says_so(*p), p->felt_each_rep);
      (variant == Variant::none ? once : anew) += p->felt_each_rep ? 1 : 0;
    }
  }
  EXPECT_GE(anew, 9);
  EXPECT_LE(once, 1);
}

TEST(FeltEachRep, NeedsStopsOnCuesAndBelievesALogAsWritten) {
  const calibration::Scene scene = scene_of(Variant::feeling_anew, 9000);
  FitOptions options = quick();
  ASSERT_TRUE(fit(log_of(scene, scene.sets), options)->felt_each_rep);
  options.as_written = true;
  EXPECT_FALSE(fit(log_of(scene, scene.sets), options)->felt_each_rep);
  std::vector<SetRecord> few(scene.sets.begin(), scene.sets.begin() + 20);
  EXPECT_LT(sets_with_cue(log_of(scene, few)), 12);
  EXPECT_FALSE(fit(log_of(scene, few), quick())->felt_each_rep);
}

// A session taken up live, and kept, is believed as the fit believes it.
TEST(FeltEachRep, HoldsInALiveUpdateAndWhenKept) {
  const calibration::Scene scene = scene_of(Variant::feeling_anew, 9000);
  const auto whole = fit(log_of(scene, scene.sets), quick());
  std::vector<SetRecord> before, today;
  for (const SetRecord& set : scene.sets) (set.date == scene.sets.back().date ? today : before).push_back(set);
  const auto earlier = fit(log_of(scene, before), quick());
  ASSERT_TRUE(whole && earlier && whole->felt_each_rep && earlier->felt_each_rep);
  const auto kept = deserialise(serialise(*earlier));
  ASSERT_TRUE(kept && kept->felt_each_rep);
  const auto live = update(*kept, log_of(scene, today));
  ASSERT_TRUE(live && live->felt_each_rep);
  for (std::size_t l = 0; l < whole->lifts.size(); ++l) {
    const Interval a = whole->lifts[l].strength, b = live->lifts[l].strength;
    EXPECT_LT(std::fabs(a.median - b.median) / a.sd, 0.25) << l;
  }
  EXPECT_TRUE(live->draw({{scene.lifts[0].exercise}}, scene.next_day, 80, 100, 1).draws.front().judgement.each_rep);
}

}  // namespace
}  // namespace ullage::capacity
