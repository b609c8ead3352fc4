#include "service/coach/demo.h"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <map>
#include <set>

namespace ullage::coach {
namespace {

const Date kToday{20500};

const std::vector<DemoLifter>& roster() {
  static const std::vector<DemoLifter> kRoster = *demo_roster(library::builtin(), kToday, 1);
  return kRoster;
}

const DemoLifter& lifter(const std::string& id) {
  for (const DemoLifter& d : roster()) {
    if (d.lifter.id == id) return d;
  }
  throw std::out_of_range(id);
}

// Mean of true reserve less called, over sets called in numbers.
double called_too_low(const DemoLifter& d, int* count = nullptr) {
  double sum = 0;
  int n = 0;
  for (std::size_t i = 0; i < d.sets.size(); ++i) {
    const SetRecord& set = d.sets[i];
    if (set.kind != SetKind::work || !set.called || set.called->open || set.called_at_rep) continue;
    sum += d.true_reserve[i] - set.called->reserve;
    ++n;
  }
  if (count) *count = n;
  return n ? sum / n : 0;
}

int sessions(const DemoLifter& d) {
  std::set<Date> days;
  for (const SetRecord& set : d.sets) days.insert(set.date);
  return static_cast<int>(days.size());
}

// Load (1 + reps to failure/30) with the reps really left, mean of the work sets with up to 15 in them.
double true_level(const DemoLifter& d, const std::string& exercise, Date from, Date to, Side side = Side::both) {
  const Exercise& e = *library::builtin().find(exercise);
  double sum = 0;
  int n = 0;
  for (std::size_t i = 0; i < d.sets.size(); ++i) {
    const SetRecord& set = d.sets[i];
    if (set.exercise != exercise || set.side != side || set.kind != SetKind::work ||
        set.reps + d.true_reserve[i] > 15 || set.date < from || set.date > to)
      continue;
    const double total = total_load(e, set.load, body_mass_on(d.lifter, set.date).value());
    sum += total * (1 + (set.reps + d.true_reserve[i]) / 30);
    ++n;
  }
  return n ? sum / n : 0;
}

TEST(Demo, SameSeedSameRoster) {
  const auto again = *demo_roster(library::builtin(), kToday, 1);
  const auto other = *demo_roster(library::builtin(), kToday, 2);
  ASSERT_EQ(again.size(), roster().size());
  for (std::size_t i = 0; i < again.size(); ++i) {
    EXPECT_EQ(again[i].sets, roster()[i].sets);
    EXPECT_NE(other[i].sets, roster()[i].sets);
  }
}

TEST(Demo, TwelveLiftersWithMonthsOfLog) {
  ASSERT_EQ(roster().size(), 12U);
  std::set<std::string> names, ids;
  std::size_t total = 0;
  for (const DemoLifter& d : roster()) {
    SCOPED_TRACE(d.lifter.name);
    names.insert(d.lifter.name);
    ids.insert(d.lifter.id);
    total += d.sets.size();
    EXPECT_FALSE(d.story.empty());
    ASSERT_FALSE(d.sets.empty());
    EXPECT_EQ(d.sets.size(), d.true_reserve.size());
    const int days = d.sets.back().date - d.sets.front().date;
    const int since_last = kToday - d.sets.back().date;
    EXPECT_GE(since_last, 1);
    if (d.lifter.id == "casimir") {
      EXPECT_GE(since_last, 9);  // nothing since the hold
    } else {
      EXPECT_LE(since_last, 4);
    }
    if (d.lifter.id == "idris") {
      EXPECT_LE(sessions(d), 9);
    } else {
      EXPECT_GE(days, 180);
      EXPECT_LE(days, 915);
    }
    EXPECT_LE(*d.lifter.since, d.sets.front().date);
    EXPECT_FALSE(d.health.intakes.empty());
  }
  EXPECT_EQ(names.size(), 12U);
  EXPECT_EQ(ids.size(), 12U);
  EXPECT_GT(total, 15000U);
  EXPECT_LT(total, 60000U);
}

TEST(Demo, RecentOnAnyWeekday) {
  // Whatever the weekday, the active lifters have trained in the last four days.
  for (int day = 0; day < 7; ++day) {
    const auto shifted = *demo_roster(library::builtin(), kToday + day, 1);
    for (const DemoLifter& d : shifted) {
      const int since_last = kToday + day - d.sets.back().date;
      EXPECT_GE(since_last, 1) << d.lifter.name;
      if (d.lifter.id != "casimir") {
        EXPECT_LE(since_last, 4) << d.lifter.name;
      }
    }
  }
}

TEST(Demo, EverySetIsOneThatCanBeDone) {
  const std::vector<Place> places = demo_places();
  std::map<std::string, std::vector<Buildable>> known;
  int ten_times = 0;
  for (const DemoLifter& d : roster()) {
    Date before{0};
    for (const SetRecord& set : d.sets) {
      ASSERT_GE(set.date, before);
      before = set.date;
      const Exercise* exercise = library::builtin().find(set.exercise);
      ASSERT_NE(exercise, nullptr) << set.exercise;
      EXPECT_GT(total_load(*exercise, set.load, body_mass_on(d.lifter, set.date).value()), 0);
      EXPECT_GE(set.reps, 0);
      EXPECT_LE(set.reps, 100);
      EXPECT_TRUE(set.reps > 0 || set.failed);
      if (set.rest_s) {
        EXPECT_GT(*set.rest_s, 0);
      }
      if (set.failed) {
        EXPECT_EQ(set.stop, Stop::failed);
      }
      if (set.stop == Stop::planned) {
        EXPECT_EQ(set.reps, set.planned_reps);
      }
      auto& loads = known[set.place + "/" + set.exercise];
      if (loads.empty()) {
        for (const Place& place : places) {
          if (place.id == set.place) loads = *buildable_loads(place, *exercise, place.unit);
        }
      }
      const auto is_it = [&](const Buildable& b) {
        return b.load.unit == set.load.unit && std::abs(b.load.amount - set.load.amount) < 1e-9;
      };
      if (std::none_of(loads.begin(), loads.end(), is_it)) ++ten_times;
    }
  }
  EXPECT_LE(ten_times, 1);  // the typing error
}

TEST(Demo, PlainCase) {
  const DemoLifter& d = roster().front();
  int tests = 0, failed = 0, called = 0, work = 0;
  std::set<std::string> exercises;
  for (const SetRecord& set : d.sets) {
    exercises.insert(set.exercise);
    tests += set.kind == SetKind::test ? 1 : 0;
    if (set.kind != SetKind::work) continue;
    ++work;
    failed += set.failed ? 1 : 0;
    called += set.called ? 1 : 0;
  }
  EXPECT_GE(exercises.size(), 5U);
  EXPECT_GE(tests, 8);
  EXPECT_GE(failed, 5);
  EXPECT_LT(failed, work / 10);
  EXPECT_GT(called, work * 0.85);
  EXPECT_TRUE(d.health.holds.empty());
}

TEST(Demo, UnderAndOverCallers) {
  int n = 0;
  const double under = called_too_low(lifter("osric"), &n);
  EXPECT_GT(n, 500);
  EXPECT_GT(under, 2.0);
  EXPECT_LT(under, 4.5);
  EXPECT_LT(called_too_low(lifter("dunja"), &n), -0.4);
  EXPECT_GT(n, 300);
  EXPECT_LT(std::abs(called_too_low(roster().front())), 1.8);
}

TEST(Demo, Pounds) {
  const DemoLifter& d = lifter("wendell");
  EXPECT_EQ(d.lifter.unit, Unit::pound);
  for (const SetRecord& set : d.sets) EXPECT_EQ(set.load.unit, Unit::pound);
  // Exactly one load is far out of line: ten times what was there.
  double wrong = 0;
  for (const SetRecord& set : d.sets) {
    if (set.exercise != "back-squat") continue;
    if (set.load.amount > wrong) wrong = set.load.amount;
  }
  int far = 0;
  double usual = 0;
  for (const SetRecord& set : d.sets) {
    if (set.exercise != "back-squat") continue;
    if (set.load.amount > 0.5 * wrong) {
      ++far;
    } else {
      usual = std::max(usual, set.load.amount);
    }
  }
  EXPECT_EQ(far, 1);
  EXPECT_GT(wrong, 6 * usual);
}

TEST(Demo, Stalled) {
  const DemoLifter& d = lifter("sunniva");
  const double start = true_level(d, "bench-press", kToday - 610, kToday - 560);
  const double year = true_level(d, "bench-press", kToday - 180, kToday - 140);
  const double now = true_level(d, "bench-press", kToday - 40, kToday);
  EXPECT_GT(year / start, 1.07);
  EXPECT_NEAR(now / year, 1, 0.035);
}

TEST(Demo, LayOff) {
  const DemoLifter& d = lifter("kwabena");
  int longest = 0;
  Date back{0};
  for (std::size_t i = 1; i < d.sets.size(); ++i) {
    const int gap = d.sets[i].date - d.sets[i - 1].date;
    if (gap > longest) {
      longest = gap;
      back = d.sets[i].date;
    }
  }
  EXPECT_GE(longest, 68);
  EXPECT_LE(longest, 76);
  EXPECT_LT(true_level(d, "back-squat", back, back + 14),
            0.97 * true_level(d, "back-squat", back - longest - 28, back - longest));
}

TEST(Demo, LeftAndRightInHalves) {
  const DemoLifter& d = lifter("tamsin");
  EXPECT_TRUE(d.lifter.answers_in_halves);
  int halves = 0;
  for (const SetRecord& set : d.sets) halves += set.called && std::fmod(set.called->reserve, 1.0) == 0.5 ? 1 : 0;
  EXPECT_GT(halves, 100);
  const double left = true_level(d, "split-squat", kToday - 290, kToday, Side::left);
  const double right = true_level(d, "split-squat", kToday - 290, kToday, Side::right);
  EXPECT_GT(left, 0);
  EXPECT_LT(left, 0.95 * right);
  ASSERT_EQ(d.health.pains.size(), 1U);
  EXPECT_TRUE(d.health.pains.front().cleared);
  for (const SetRecord& set : d.sets) {
    if (set.date > d.health.pains.front().since && set.date <= *d.health.pains.front().cleared) {
      EXPECT_NE(set.exercise, "split-squat");
    }
  }
}

TEST(Demo, NeverCallsAndIsOnHold) {
  const DemoLifter& d = lifter("casimir");
  int rests = 0;
  for (const SetRecord& set : d.sets) {
    EXPECT_FALSE(set.called);
    EXPECT_TRUE(set.stop == Stop::unknown || set.stop == Stop::failed);
    rests += set.rest_s ? 1 : 0;
  }
  EXPECT_LT(rests, 0.25 * static_cast<double>(d.sets.size()));
  ASSERT_EQ(d.health.holds.size(), 1U);
  EXPECT_FALSE(d.health.holds.front().lifted);
  EXPECT_GE(d.health.holds.front().since, d.sets.back().date);
}

TEST(Demo, BodyMassLifts) {
  const DemoLifter& d = lifter("petra");
  double high = 0, low = 1e9;
  int counted = 0;
  for (const SetRecord& set : d.sets) {
    if (!set.body_mass) continue;
    ++counted;
    high = std::max(high, kilograms(*set.body_mass).value);
    low = std::min(low, kilograms(*set.body_mass).value);
  }
  EXPECT_GT(counted, 500);
  EXPECT_GT(high - low, 7);
}

TEST(Demo, MinorAndElder) {
  const DemoLifter& young = lifter("rune");
  EXPECT_EQ(age_on(young.lifter, kToday), 16);
  EXPECT_TRUE(young.health.consent);
  for (const SetRecord& set : young.sets) EXPECT_NE(set.kind, SetKind::test);
  const DemoLifter& elder = lifter("halvard");
  EXPECT_EQ(age_on(elder.lifter, kToday), 68);
  ASSERT_EQ(elder.health.words.size(), 1U);
  EXPECT_EQ(elder.health.words.front().lifts_holds, std::vector<std::string>{elder.health.holds.front().id});
  EXPECT_GT(*elder.health.words.front().until, kToday);
  for (const SetRecord& set : elder.sets) {
    for (const std::string& no : elder.health.words.front().not_exercises) EXPECT_NE(set.exercise, no);
  }
  int marks = 0;
  for (const SetRecord& set : elder.sets) marks += set.load.unit == Unit::mark ? 1 : 0;
  EXPECT_GT(marks, 100);
}

TEST(Demo, FewSetsFailWhereFailureIsNotAllowed) {
  for (const char* id : {"rune", "halvard", "idris"}) {
    int failed = 0;
    for (const SetRecord& set : lifter(id).sets) failed += set.failed ? 1 : 0;
    EXPECT_LT(failed, 0.02 * static_cast<double>(lifter(id).sets.size())) << id;
  }
}

TEST(Demo, MadeQuickly) {
  const auto start = std::chrono::steady_clock::now();
  ASSERT_TRUE(demo_roster(library::builtin(), kToday, 3));
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
  EXPECT_LT(took.count(), 2.0);
}

TEST(Demo, AnExerciseMissingFromTheLibraryIsSaid) {
  const auto made = demo_roster(library::Library(), kToday, 1);
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, Code::not_found);
}

}  // namespace
}  // namespace ullage::coach
