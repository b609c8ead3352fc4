#include "engine/training/equipment.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "engine/base/random.h"

namespace ullage {
namespace {

Exercise with_implement(Implement implement, std::string id = "lift") {
  Exercise exercise;
  exercise.id = std::move(id);
  exercise.name = exercise.id;
  exercise.implement = implement;
  return exercise;
}

Load kg(double amount) { return {amount, Unit::kilogram}; }
Load lb(double amount) { return {amount, Unit::pound}; }

std::vector<double> amounts(const std::vector<Buildable>& loads) {
  std::vector<double> out;
  for (const Buildable& b : loads) out.push_back(b.load.amount);
  return out;
}

const Buildable* find(const std::vector<Buildable>& loads, double amount) {
  for (const Buildable& b : loads) {
    if (b.load.amount == amount) return &b;
  }
  return nullptr;
}

// What every list must satisfy: rising, more than 1 g apart, each load its bar and plates to the gram, no
// more plates of a kind on a side than there are pairs.
void expect_sound(const Place& place, const std::vector<Buildable>& loads, double bar_kg) {
  for (std::size_t i = 0; i < loads.size(); ++i) {
    const double mass = kilograms(loads[i].load).value;
    if (i > 0) {
      ASSERT_GT(mass, kilograms(loads[i - 1].load).value + 0.001);
    }
    double built = bar_kg;
    std::map<std::pair<double, Unit>, int> used;
    for (std::size_t p = 0; p < loads[i].per_side.size(); ++p) {
      const Load& plate = loads[i].per_side[p];
      built += 2 * kilograms(plate).value;
      ++used[{plate.amount, plate.unit}];
      if (p > 0) {
        ASSERT_GE(kilograms(loads[i].per_side[p - 1]).value, kilograms(plate).value);
      }
    }
    ASSERT_NEAR(mass, built, 1e-9);
    for (const auto& [plate, count] : used) {
      int pairs = 0;
      for (const PlatePairs& p : place.plates) {
        if (p.plate == Load{plate.first, plate.second}) pairs += p.pairs;
      }
      ASSERT_LE(count, pairs);
    }
  }
}

// The obvious way: every choice of counts. Gives mass in grams -> fewest plates on a side.
std::map<long, int> every_choice(const Place& place, double bar_kg) {
  std::map<long, int> best;
  std::vector<int> count(place.plates.size(), 0);
  for (;;) {
    double mass = bar_kg;
    int plates = 0;
    for (std::size_t i = 0; i < count.size(); ++i) {
      mass += 2 * count[i] * kilograms(place.plates[i].plate).value;
      plates += count[i];
    }
    const auto [at, fresh] = best.emplace(std::lround(mass * 1000), plates);
    if (!fresh) at->second = std::min(at->second, plates);
    std::size_t i = 0;
    while (i < count.size() && ++count[i] > place.plates[i].pairs) count[i++] = 0;
    if (i == count.size()) return best;
  }
}

TEST(Barbell, EqualsEveryChoiceOfPlatesOnSmallSets) {
  Random random(11);
  const double masses[] = {0.25, 0.5, 1.25, 1.5, 2, 2.5, 5, 10, 15, 20, 25};
  for (int round = 0; round < 300; ++round) {
    Place place;
    place.bars = {{"olympic", kg(20)}};
    const int kinds = random.integer(0, 5);
    std::set<double> chosen;
    for (int k = 0; k < kinds; ++k) chosen.insert(masses[random.integer(0, 10)]);
    for (const double mass : chosen) place.plates.push_back({kg(mass), random.integer(0, 4)});
    const auto loads = buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram);
    ASSERT_TRUE(loads);
    expect_sound(place, *loads, 20);
    const std::map<long, int> expected = every_choice(place, 20);
    ASSERT_EQ(loads->size(), expected.size());
    auto at = expected.begin();
    for (const Buildable& b : *loads) {
      ASSERT_EQ(std::lround(b.load.amount * 1000), at->first);
      ASSERT_EQ(static_cast<int>(b.per_side.size()), at->second);
      ASSERT_EQ(b.load.unit, Unit::kilogram);
      ++at;
    }
  }
}

TEST(Barbell, EqualsEveryChoiceWithPlatesInTwoUnits) {
  Random random(12);
  for (int round = 0; round < 100; ++round) {
    Place place;
    place.bars = {{"olympic", random.chance(0.5) ? kg(20) : lb(45)}};
    for (const Load& plate : {kg(20), lb(45), kg(2.5), lb(5), lb(2.5)}) {
      place.plates.push_back({plate, random.integer(0, 2)});
    }
    const double bar = kilograms(place.bars[0].mass).value;
    const auto loads = buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram);
    ASSERT_TRUE(loads);
    expect_sound(place, *loads, bar);
    for (const auto& [grams, plates] : every_choice(place, bar)) {
      const auto near = std::find_if(loads->begin(), loads->end(), [g = grams](const Buildable& b) {
        return std::fabs(kilograms(b.load).value * 1000 - static_cast<double>(g)) <= 1.5;
      });
      ASSERT_NE(near, loads->end()) << grams;
      ASSERT_LE(static_cast<int>(near->per_side.size()), plates);
    }
  }
}

TEST(Barbell, KeepsPoundsAsPounds) {
  Place place;
  place.bars = {{"olympic", lb(45)}};
  place.plates = {{lb(45), 4}, {lb(35), 1}, {lb(25), 1}, {lb(10), 2}, {lb(5), 1}, {lb(2.5), 1}};
  const auto loads = buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram);
  ASSERT_TRUE(loads);
  const Buildable* two_plates = find(*loads, 225);
  ASSERT_TRUE(two_plates);
  EXPECT_EQ(two_plates->load, lb(225));
  EXPECT_EQ(two_plates->per_side, (std::vector<Load>{lb(45), lb(45)}));
  for (const Buildable& b : *loads) EXPECT_EQ(b.load.amount * 2, std::round(b.load.amount * 2));
  EXPECT_EQ(loads->front().load, lb(45));
}

TEST(Barbell, APlateOfTheOtherUnitGivesTheUnitAskedFor) {
  Place place;
  place.bars = {{"olympic", kg(20)}};
  place.plates = {{lb(45), 1}};
  const auto in_kg = buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram);
  const auto in_lb = buildable_loads(place, with_implement(Implement::barbell), Unit::pound);
  EXPECT_EQ((*in_kg)[0].load, kg(20));  // the bar alone is in its own unit
  EXPECT_EQ((*in_kg)[1].load.unit, Unit::kilogram);
  EXPECT_NEAR((*in_kg)[1].load.amount, 60.8233133, 1e-9);
  EXPECT_EQ((*in_lb)[1].load.unit, Unit::pound);
  EXPECT_NEAR((*in_lb)[1].load.amount, 60.8233133 / kKilogramsPerPound, 1e-9);
}

TEST(Barbell, MicroPlatesMakeSmallStepsWithoutDrift) {
  Place place;
  place.bars = {{"olympic", kg(20)}};
  place.plates = {{kg(0.05), 1}, {kg(0.1), 2}, {kg(0.25), 1}, {kg(0.5), 1}, {kg(1.25), 1}, {kg(20), 3}};
  const auto loads = buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram);
  ASSERT_TRUE(loads);
  expect_sound(place, *loads, 20);
  for (const Buildable& b : *loads) EXPECT_EQ(b.load.amount, std::round(b.load.amount * 1000) / 1000);
  EXPECT_TRUE(find(*loads, 20.1));
  EXPECT_TRUE(find(*loads, 140.1));
}

TEST(Barbell, PrefersFewPlatesThenHeavyOnes) {
  Place place;
  place.bars = {{"olympic", kg(20)}};
  place.plates = {{kg(15), 2}, {kg(20), 1}, {kg(10), 2}, {kg(5), 4}};
  const auto loads = buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram);
  ASSERT_TRUE(find(*loads, 80));
  EXPECT_EQ(find(*loads, 80)->per_side, (std::vector<Load>{kg(20), kg(10)}));  // not 15 + 15
  EXPECT_EQ(find(*loads, 60)->per_side, (std::vector<Load>{kg(20)}));
}

TEST(Barbell, TakesTheKindOfBarAskedFor) {
  Place place;
  place.name = "boathouse";
  place.bars = {{"olympic", kg(20)}, {"trap", kg(28)}};
  Exercise trap = with_implement(Implement::barbell, "trap-bar-deadlift");
  trap.bar = "trap";
  EXPECT_EQ(amounts(*buildable_loads(place, trap, Unit::kilogram)), (std::vector<double>{28}));
  trap.bar = "safety";
  const auto none = buildable_loads(place, trap, Unit::kilogram);
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, Code::not_found);
  EXPECT_EQ(none.error().message, "trap-bar-deadlift needs a safety bar, which boathouse does not have");
}

TEST(Barbell, PlatesThatAreNoneAreLeftOut) {
  Place place;
  place.bars = {{"olympic", kg(20)}};
  place.plates = {{kg(0), 3}, {kg(-5), 1}, {kg(10), 0}, {kg(10), -2}, {{3, Unit::mark}, 2}};
  EXPECT_EQ(amounts(*buildable_loads(place, with_implement(Implement::barbell), Unit::kilogram)),
            (std::vector<double>{20}));
}

TEST(Dumbbells, AreTheOnesThereRisingWithoutDoubles) {
  Place place;
  place.dumbbells = {kg(10), kg(5), kg(7.5), kg(10), lb(25)};
  const auto loads = buildable_loads(place, with_implement(Implement::dumbbell), Unit::kilogram);
  ASSERT_EQ(loads->size(), 4u);
  EXPECT_EQ((*loads)[0].load, kg(5));
  EXPECT_EQ((*loads)[2].load, kg(10));
  EXPECT_EQ((*loads)[3].load, lb(25));
  place.dumbbells.clear();
  EXPECT_EQ(buildable_loads(place, with_implement(Implement::dumbbell), Unit::kilogram).error().code, Code::not_found);
  place.kettlebells = {kg(24), kg(16)};
  EXPECT_EQ(amounts(*buildable_loads(place, with_implement(Implement::kettlebell), Unit::kilogram)),
            (std::vector<double>{16, 24}));
}

TEST(Stacks, OwnStackComesFirstWithOddStepsAndMarks) {
  Place place;
  place.stacks = {{"", {kg(5), kg(10)}}, {"leg-curl", {kg(7), kg(11.5), kg(18.2)}}, {"chest-press", {}}};
  place.stacks[2].steps = {{1, Unit::mark}, {2, Unit::mark}, {3, Unit::mark}};
  const auto own = buildable_loads(place, with_implement(Implement::stack, "leg-curl"), Unit::pound);
  EXPECT_EQ(amounts(*own), (std::vector<double>{7, 11.5, 18.2}));
  EXPECT_EQ(own->front().load.unit, Unit::kilogram);
  const auto marks = buildable_loads(place, with_implement(Implement::stack, "chest-press"), Unit::kilogram);
  EXPECT_EQ((*marks)[2].load, (Load{3, Unit::mark}));
  EXPECT_EQ(amounts(*buildable_loads(place, with_implement(Implement::stack, "face-pull"), Unit::kilogram)),
            (std::vector<double>{5, 10}));
  place.stacks.erase(place.stacks.begin());
  EXPECT_FALSE(buildable_loads(place, with_implement(Implement::stack, "face-pull"), Unit::kilogram));
}

TEST(PlateMachine, TakesPairsAndIsEmptyOnlyWhenTheSledgeWeighs) {
  Place place;
  place.plates = {{kg(20), 2}, {kg(10), 1}};
  Exercise leg_press = with_implement(Implement::plates, "leg-press");
  EXPECT_EQ(amounts(*buildable_loads(place, leg_press, Unit::kilogram)), (std::vector<double>{20, 40, 60, 80, 100}));
  leg_press.offset_kg = 45;
  EXPECT_EQ(amounts(*buildable_loads(place, leg_press, Unit::kilogram)), (std::vector<double>{0, 20, 40, 60, 80, 100}));
  place.plates.clear();
  leg_press.offset_kg = 0;
  EXPECT_FALSE(buildable_loads(place, leg_press, Unit::kilogram));
}

TEST(AddedMass, GoesUpBySinglePlatesAndDownByAssistance) {
  Place place;
  place.plates = {{kg(1.25), 1}, {kg(2.5), 1}, {kg(5), 1}};
  Exercise pull_up = with_implement(Implement::added_mass, "pull-up");
  pull_up.body_mass_share = 1;
  const auto up = buildable_loads(place, pull_up, Unit::kilogram);
  ASSERT_EQ(up->size(), 15u);  // 0 to 17.5 in 1.25
  for (std::size_t i = 0; i < 15; ++i) EXPECT_EQ((*up)[i].load, kg(1.25 * static_cast<double>(i)));
  place.stacks = {{"pull-up", {kg(7), kg(14)}}, {"", {kg(5)}}};
  const auto both = amounts(*buildable_loads(place, pull_up, Unit::kilogram));
  EXPECT_EQ(std::vector<double>(both.begin(), both.begin() + 4), (std::vector<double>{-14, -7, 0, 1.25}));
  Exercise neck = with_implement(Implement::added_mass, "neck-curl");  // no body mass: nothing to assist
  EXPECT_EQ(amounts(*buildable_loads(place, neck, Unit::kilogram)).front(), 1.25);
}

TEST(BodyWeight, HasOneLoad) {
  for (const Implement implement : {Implement::band, Implement::bodyweight}) {
    const auto loads = buildable_loads(Place{}, with_implement(implement), Unit::pound);
    ASSERT_EQ(loads->size(), 1u);
    EXPECT_EQ(loads->front().load, lb(0));
  }
}

TEST(Place, SaysWhatCannotBeDoneThere) {
  Place place = plain_gym();
  place.without = {"squat"};
  const auto loads = buildable_loads(place, with_implement(Implement::barbell, "squat"), Unit::kilogram);
  ASSERT_FALSE(loads);
  EXPECT_EQ(loads.error().message, "squat cannot be done at plain gym");
}

TEST(PlainGym, ServesEveryUsualImplement) {
  const Place gym = plain_gym();
  const auto bar = buildable_loads(gym, with_implement(Implement::barbell), Unit::kilogram);
  expect_sound(gym, *bar, 20);
  EXPECT_EQ(bar->front().load, kg(20));
  for (double load = 20; load <= 300; load += 2.5) EXPECT_TRUE(find(*bar, load)) << load;
  EXPECT_EQ(buildable_loads(gym, with_implement(Implement::dumbbell), Unit::kilogram)->back().load, kg(50));
  EXPECT_EQ(buildable_loads(gym, with_implement(Implement::stack), Unit::kilogram)->size(), 20u);
}

TEST(PlatesText, IsReadAloudFromTheCollar) {
  EXPECT_EQ(plates_text({kg(20), kg(15), kg(5)}, Unit::kilogram), "20 + 15 + 5");
  EXPECT_EQ(plates_text({}, Unit::kilogram), "empty bar");
  EXPECT_EQ(plates_text({lb(45), kg(1.25)}, Unit::kilogram), "45 lb + 1.25 kg");
  EXPECT_EQ(plates_text({lb(45)}, Unit::kilogram), "45 lb");
  EXPECT_EQ(plates_text({lb(45), lb(2.5)}, Unit::pound), "45 + 2.5");
}

Place large_gym() {
  Place gym = plain_gym();
  gym.plates.clear();
  for (const double mass : {25.0, 20.0, 15.0, 10.0, 5.0, 2.5, 2.0, 1.5, 1.25, 1.0, 0.5, 0.25}) {
    gym.plates.push_back({kg(mass), mass >= 20 ? 8 : 4});
  }
  return gym;
}

// Plates in two units, and plates each weighed on its own, make far more sums; they are thinned, not endless.
TEST(Cost, StaysBoundedWhenNothingIsOnAGrid) {
  Place gym = large_gym();
  for (const double mass : {55.0, 45.0, 35.0, 25.0, 10.0, 5.0, 2.5, 1.25}) gym.plates.push_back({lb(mass), 4});
  Random random(13);
  for (int i = 0; i < 10; ++i) gym.plates.push_back({kg(20 + random.uniform(-0.2, 0.2)), 2});
  const auto loads = buildable_loads(gym, with_implement(Implement::barbell), Unit::kilogram);
  ASSERT_TRUE(loads);
  expect_sound(gym, *loads, 20);
  EXPECT_LT(loads->size(), 60000u);
  for (double load = 20; load < 400; load += 0.5) {  // from plates of whole quarters alone: never lost
    const auto at = std::lower_bound(loads->begin(), loads->end(), load - 0.0011,
                                     [](const Buildable& b, double mass) { return kilograms(b.load).value < mass; });
    ASSERT_NE(at, loads->end());
    ASSERT_LT(kilograms(at->load).value, load + 0.0011) << load;
  }
  RecordProperty("loads", std::to_string(loads->size()));
}

}  // namespace
}  // namespace ullage
