#include "engine/training/exercise.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"

namespace ullage {
namespace {

Exercise working(std::initializer_list<std::pair<Muscle, double>> muscles, std::string id) {
  Exercise exercise;
  exercise.id = std::move(id);
  for (const auto& [muscle, share] : muscles) exercise.involvement[static_cast<std::size_t>(muscle)] = share;
  return exercise;
}

TEST(Names, ReadBackWhateverTheSeparatorAndCase) {
  for (int i = 0; i < kMuscleCount; ++i) {
    const auto muscle = static_cast<Muscle>(i);
    EXPECT_EQ(parse_muscle(muscle_name(muscle)), muscle);
  }
  for (int i = 0; i < 8; ++i) {
    const auto implement = static_cast<Implement>(i);
    EXPECT_EQ(parse_implement(implement_name(implement)), implement);
  }
  for (int i = 0; i < 3; ++i) {
    const auto cls = static_cast<ExerciseClass>(i);
    EXPECT_EQ(parse_class(class_name(cls)), cls);
  }
  EXPECT_EQ(parse_muscle("front_shoulder"), Muscle::front_shoulder);
  EXPECT_EQ(parse_muscle("Front-Shoulder"), Muscle::front_shoulder);
  EXPECT_EQ(parse_class("BARBELL COMPOUND"), ExerciseClass::barbell_compound);
  EXPECT_EQ(parse_muscle("shoulder"), std::nullopt);
  EXPECT_EQ(parse_class(""), std::nullopt);
  EXPECT_EQ(muscle_name(Muscle::neck), "neck");
}

TEST(TotalLoad, CountsWhatIsReallyMoved) {
  const Exercise bench = working({}, "bench-press");
  EXPECT_EQ(total_load(bench, {100, Unit::kilogram}, 80), 100);
  EXPECT_DOUBLE_EQ(total_load(bench, {225, Unit::pound}, 80), 102.05828325);

  Exercise dumbbells;
  dumbbells.multiplier = 2;
  EXPECT_EQ(total_load(dumbbells, {30, Unit::kilogram}, 80), 60);

  Exercise pull_up;
  pull_up.body_mass_share = 1;
  EXPECT_EQ(total_load(pull_up, {10, Unit::kilogram}, 80), 90);
  EXPECT_EQ(total_load(pull_up, {-25, Unit::kilogram}, 80), 55);
  EXPECT_LE(total_load(pull_up, {-90, Unit::kilogram}, 80), 0);

  Exercise sledge;
  sledge.offset_kg = 45;
  EXPECT_EQ(total_load(sledge, {100, Unit::kilogram}, 80), 145);
}

TEST(TotalLoad, AMarkStaysOnItsOwnScale) {
  Exercise exercise;
  exercise.multiplier = 2;
  exercise.offset_kg = 10;
  exercise.body_mass_share = 1;
  EXPECT_EQ(total_load(exercise, {7, Unit::mark}, 80), 7);
  EXPECT_EQ(written_load(exercise, 7, 80, Unit::mark), (Load{7, Unit::mark}));
}

TEST(WrittenLoad, IsTheInverseOfTotalLoad) {
  Random random(1);
  for (int i = 0; i < 2000; ++i) {
    Exercise exercise;
    exercise.multiplier = random.chance(0.5) ? 1 : 2;
    exercise.offset_kg = random.uniform(0, 60);
    exercise.body_mass_share = random.uniform();
    const double body_mass = random.uniform(45, 130);
    const Unit unit = random.chance(0.5) ? Unit::kilogram : Unit::pound;
    const Load load{random.uniform(-40, 200), unit};
    const Load back = written_load(exercise, total_load(exercise, load, body_mass), body_mass, unit);
    EXPECT_EQ(back.unit, unit);
    EXPECT_NEAR(back.amount, load.amount, 1e-11);
  }
}

TEST(Overlap, SaysHowMuchOneLiftTiresAnother) {
  const Exercise press = working({{Muscle::chest, 1}, {Muscle::front_shoulder, 0.5}, {Muscle::triceps, 0.5}}, "press");
  const Exercise triceps = working({{Muscle::triceps, 1}}, "triceps");
  const Exercise squat = working({{Muscle::quadriceps, 1}}, "squat");
  const Exercise nothing = working({}, "nothing");
  EXPECT_EQ(overlap(press, press), 1);
  EXPECT_DOUBLE_EQ(overlap(press, triceps), 0.5);        // half of the triceps' work
  EXPECT_DOUBLE_EQ(overlap(triceps, press), 0.5 / 1.5);  // a third of the press
  EXPECT_EQ(overlap(press, squat), 0);
  EXPECT_EQ(overlap(press, nothing), 0);
  EXPECT_EQ(overlap(nothing, nothing), 1);  // the same exercise
  const Exercise light = working({{Muscle::chest, 0.25}}, "light");
  EXPECT_EQ(overlap(press, light), 1);  // never above 1
}

}  // namespace
}  // namespace ullage
