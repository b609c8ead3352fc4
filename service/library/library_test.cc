#include "service/library/library.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/base/random.h"
#include "service/library/names.h"

namespace ullage::library {
namespace {

using testing::HasSubstr;

constexpr std::string_view kTwo = R"(
[[exercise]]
id = "bench-press"
name = "bench press"
aliases = ["bench", "bp"]
class = "barbell compound"
implement = "barbell"
muscles = { chest = 1, front_shoulder = 0.5, triceps = 0.5 }
needs_spotter = true
strength_ratio = 1

[[exercise]]
id = "leg-curl"
name = "leg curl"
class = "isolation"
implement = "stack"
muscles = { hamstrings = 1 }
usual_step = "10 lb"
)";

std::string with_line(std::string_view line) {
  return R"([[exercise]]
id = "lift"
name = "lift"
class = "isolation"
implement = "stack"
)" + std::string(line) +
         "\n" + (line.starts_with("muscles") ? "" : "muscles = { neck = 1 }\n");
}

std::string fault_of(std::string_view toml) {
  const auto read = Library::parse(toml);
  if (read) return "no fault";
  EXPECT_EQ(read.error().code, Code::invalid_input);
  return read.error().message;
}

bool same(const Exercise& a, const Exercise& b) {
  return a.id == b.id && a.name == b.name && a.aliases == b.aliases && a.cls == b.cls && a.implement == b.implement &&
         a.involvement == b.involvement && a.multiplier == b.multiplier && a.offset_kg == b.offset_kg &&
         a.body_mass_share == b.body_mass_share && a.usual_step == b.usual_step && a.one_sided == b.one_sided &&
         a.needs_spotter == b.needs_spotter && a.bar == b.bar && a.strength_ratio == b.strength_ratio &&
         a.strength_log_sd == b.strength_log_sd && a.endurance == b.endurance;
}

TEST(Parse, ReadsEveryField) {
  const auto library = Library::parse(kTwo);
  ASSERT_TRUE(library) << library.error().message;
  ASSERT_EQ(library->all().size(), 2u);
  const Exercise& bench = library->all()[0];
  EXPECT_EQ(bench.name, "bench press");
  EXPECT_EQ(bench.aliases, (std::vector<std::string>{"bench", "bp"}));
  EXPECT_EQ(bench.cls, ExerciseClass::barbell_compound);
  EXPECT_EQ(bench.involvement[static_cast<std::size_t>(Muscle::front_shoulder)], 0.5);
  EXPECT_TRUE(bench.needs_spotter);
  EXPECT_FALSE(bench.one_sided);
  EXPECT_EQ(bench.strength_log_sd, 0.25);
  EXPECT_EQ(library->find("leg-curl")->usual_step, (Load{10, Unit::pound}));
  EXPECT_EQ(library->find("leg curl"), nullptr);  // ids exactly
  EXPECT_EQ(library->find("squat"), nullptr);
}

TEST(Parse, AnEmptyTextIsAnEmptyLibrary) {
  ASSERT_TRUE(Library::parse("# nothing yet\n"));
  EXPECT_TRUE(Library::parse("")->all().empty());
  EXPECT_FALSE(Library().resolve("bench"));
}

TEST(Parse, EveryFaultSaysLineAndWhatWasExpected) {
  EXPECT_THAT(fault_of(with_line("colour = 3")), HasSubstr("line 6: lift: unknown key \"colour\""));
  EXPECT_THAT(fault_of(with_line("body_mass_share = 1.2")),
              HasSubstr("line 6: lift: body_mass_share: a number from 0 to 1 was expected, got 1.2"));
  EXPECT_THAT(fault_of(with_line("strength_ratio = -1")), HasSubstr("strength_ratio: a number from 0 to 20"));
  EXPECT_THAT(fault_of(with_line("strength_ratio = nan")), HasSubstr("strength_ratio: a number from 0 to 20"));
  EXPECT_THAT(fault_of(with_line("strength_ratio = \"much\"")), HasSubstr("strength_ratio: a number from 0 to 20"));
  EXPECT_THAT(fault_of(with_line("strength_log_sd = 0")), HasSubstr("strength_log_sd: a number from 0.01 to 3"));
  EXPECT_THAT(fault_of(with_line("endurance = 1.5")), HasSubstr("endurance: a number above 2 was expected"));
  EXPECT_THAT(fault_of(with_line("multiplier = 0")), HasSubstr("multiplier: a number from 0.01 to 10"));
  EXPECT_THAT(fault_of(with_line("one_sided = 1")), HasSubstr("one_sided: true or false was expected"));
  EXPECT_THAT(fault_of(with_line("usual_step = 2.5")), HasSubstr("usual_step: a number above 0 and"));
  EXPECT_THAT(fault_of(with_line("usual_step = \"2.5 stone\"")), HasSubstr("usual_step"));
  EXPECT_THAT(fault_of(with_line("usual_step = \"0 kg\"")), HasSubstr("usual_step"));
  EXPECT_THAT(fault_of(with_line("aliases = \"one\"")), HasSubstr("aliases: a list of texts was expected"));
  EXPECT_THAT(fault_of(with_line("aliases = [1]")), HasSubstr("aliases: a text in quotes was expected"));
  EXPECT_THAT(fault_of(with_line("aliases = [\"--\"]")), HasSubstr("\"--\" has no letter or digit"));
  EXPECT_THAT(fault_of(with_line("muscles = { wing = 1 }")), HasSubstr("unknown muscle \"wing\""));
  EXPECT_THAT(fault_of(with_line("muscles = { neck = 2 }")), HasSubstr("muscles: neck: a number from 0 to 1"));
  EXPECT_THAT(fault_of(with_line("muscles = { neck = 0 }")), HasSubstr("at least one number above 0"));
  EXPECT_THAT(fault_of(with_line("muscles = { front_shoulder = 1, front-shoulder = 1 }")), HasSubstr("is there twice"));
  EXPECT_THAT(fault_of(with_line("bar = 7")), HasSubstr("bar: a text in quotes was expected"));
  EXPECT_THAT(fault_of("[[exercise]]\nname = \"x\"\n"), HasSubstr("line 1: a key id was expected"));
  EXPECT_THAT(fault_of("exercise = 3\n"), HasSubstr("line 1: exercise: tables headed [[exercise]] were expected"));
  EXPECT_THAT(fault_of("lifts = 3\n"), HasSubstr("unknown key \"lifts\""));
  EXPECT_THAT(fault_of("[[exercise]\n"), HasSubstr("line 1"));
}

// Texts that the TOML library by itself takes badly (service/toml/read_toml.h).
TEST(Parse, FaultyTextIsAFault) {
  using namespace std::string_view_literals;
  for (const auto text : {"\nÜbung = 1"sv, "\n[?]"sv, "\n[\t\0"sv, "\nname = ]"sv, "\n\xC2\xA1"sv}) {
    const auto read = Library::parse(text);
    ASSERT_FALSE(read) << text;
    EXPECT_EQ(read.error().message.substr(0, 8), "line 2: ") << text;
  }
}

TEST(Parse, BadIdsAndClassesAreNamed) {
  for (const char* id : {"Bench", "bench press", "-bench", "bench-", "bench--press", "", "b\u00e9nch"}) {
    EXPECT_THAT(fault_of("[[exercise]]\nid = \"" + std::string(id) + "\"\n"),
                HasSubstr("line 2: id: lower case letters"))
        << id;
  }
  EXPECT_THAT(fault_of("[[exercise]]\nid = \"x\"\nclass = \"heavy\"\n"),
              HasSubstr("line 3: x: class: \"barbell compound\", \"supported compound\" or \"isolation\" was expected, "
                        "got \"heavy\""));
}

TEST(Parse, AllFaultsAreToldAtOnce) {
  const std::string message = fault_of("[[exercise]]\nid = \"x\"\nclass = \"heavy\"\ncolour = 1\n");
  EXPECT_THAT(message, HasSubstr("class"));
  EXPECT_THAT(message, HasSubstr("unknown key \"colour\""));
  EXPECT_THAT(message, HasSubstr("needs the key \"name\""));
  EXPECT_THAT(message, HasSubstr("needs the key \"muscles\""));
  EXPECT_EQ(std::count(message.begin(), message.end(), '\n'), 4);  // five faults, the implement among them
}

TEST(Parse, ASpellingBelongsToOneExerciseOnly) {
  const std::string twice = std::string(kTwo) + R"([[exercise]]
id = "floor-press"
name = "floor press"
aliases = ["BENCH-presses"]
class = "barbell compound"
implement = "barbell"
muscles = { chest = 1 }
)";
  EXPECT_THAT(fault_of(twice),
              HasSubstr("line 19: floor-press: \"BENCH-presses\" already belongs to bench-press (line 2)"));
  EXPECT_THAT(fault_of(std::string(kTwo) + std::string(kTwo)),
              HasSubstr("bench-press: is there twice, first in line 2"));
}

TEST(With, ChangesOnlyTheKeysGiven) {
  const Library library = *Library::parse(kTwo);
  const auto edited =
      library.with("[[exercise]]\nid = \"bench-press\"\nstrength_ratio = 0.9\naliases = [\"flat bench\"]\n");
  ASSERT_TRUE(edited) << edited.error().message;
  EXPECT_EQ(edited->find("bench-press")->strength_ratio, 0.9);
  EXPECT_TRUE(edited->find("bench-press")->needs_spotter);
  EXPECT_EQ(edited->resolve("Flat Bench").exercise, edited->find("bench-press"));
  EXPECT_FALSE(edited->resolve("bp"));
  EXPECT_EQ(library.find("bench-press")->strength_ratio, 1);  // the old one stands
}

TEST(With, AddsAndRefusesAsParseDoes) {
  const Library library = *Library::parse(kTwo);
  const auto added = library.with(with_line("aliases = [\"lifting\"]"));
  ASSERT_TRUE(added);
  EXPECT_EQ(added->all().size(), 3u);
  EXPECT_EQ(added->all().back().id, "lift");
  const auto clash = library.with(with_line("aliases = [\"BP\"]"));
  ASSERT_FALSE(clash);
  EXPECT_EQ(clash.error().message, "line 1: lift: \"BP\" already belongs to bench-press");
}

TEST(Library, MovesAndCopiesKeepTheirPointersRight) {
  Library library = *Library::parse(kTwo);
  const Exercise* bench = library.find("bench-press");
  const Library moved = std::move(library);
  EXPECT_EQ(moved.find("bench-press"), bench);
  const Library copy = moved;
  EXPECT_NE(copy.find("bench-press"), bench);
  EXPECT_EQ(copy.resolve("bench").exercise, copy.find("bench-press"));
}

TEST(Names, PlainWordsDropWhatDoesNotMatter) {
  const auto plain = [](std::string_view text) { return sorted_words(plain_words(text)); };
  EXPECT_EQ(plain("Bench-Presses"), "bench press");
  EXPECT_EQ(plain("  pull_UPS "), "pullup");
  EXPECT_EQ(plain("pull up"), plain("Pull-Up"));
  EXPECT_EQ(plain("DB flyes"), "dumbbell fly");
  EXPECT_EQ(plain("flies"), "fly");
  EXPECT_EQ(plain("crunches"), "crunch");
  EXPECT_EQ(plain("Squat (with pause)"), "pause squat");
  EXPECT_EQ(plain("captain's chair"), "captain chair");
  EXPECT_EQ(plain("press"), "press");
  EXPECT_EQ(plain(""), "");
  EXPECT_EQ(plain("\u00dcberz\u00fcge"), plain("\u00dcberz\u00fcge"));
}

TEST(Names, LetterLikenessCountsEdits) {
  EXPECT_DOUBLE_EQ(letter_likeness("squat", "squat"), 1);
  EXPECT_DOUBLE_EQ(letter_likeness("squat", "sqaut"), 0.8);  // one swap
  EXPECT_DOUBLE_EQ(letter_likeness("squat", "squa"), 0.8);
  EXPECT_DOUBLE_EQ(letter_likeness("squat", "squxt"), 0.8);
  EXPECT_DOUBLE_EQ(letter_likeness("abc", "xyz"), 0);
  EXPECT_DOUBLE_EQ(letter_likeness("", "xyz"), 0);
  EXPECT_DOUBLE_EQ(letter_likeness(std::string(500, 'a'), std::string(500, 'a')), 1);
}

TEST(Resolve, IgnoresCaseHyphensBlanksPluralsAndWordOrder) {
  const Library& library = builtin();
  for (const char* text :
       {"bench-press", "Bench Press", "BENCH PRESSES", "  bench   press ", "press, bench", "bp", "Bench"}) {
    ASSERT_TRUE(library.resolve(text)) << text;
    EXPECT_EQ(library.resolve(text).exercise->id, "bench-press") << text;
    EXPECT_TRUE(library.resolve(text).nearest.empty());
  }
  const std::pair<const char*, const char*> names[] = {{"RDL", "romanian-deadlift"},
                                                       {"Pullups", "pull-up"},
                                                       {"pull ups", "pull-up"},
                                                       {"DB Bench", "dumbbell-bench-press"},
                                                       {"Curl (Barbell)", "barbell-curl"},
                                                       {"OHP", "overhead-press"},
                                                       {"Lat Pull-Downs", "lat-pulldown"},
                                                       {"skull crushers", "lying-triceps-extension"},
                                                       {"push-ups", "press-up"},
                                                       {"Squats", "back-squat"},
                                                       {"tricep pushdowns", "triceps-pushdown"},
                                                       {"Leg Extensions", "leg-extension"},
                                                       {"cable flyes", "cable-fly"}};
  for (const auto& [text, id] : names) {
    ASSERT_TRUE(library.resolve(text)) << text;
    EXPECT_EQ(library.resolve(text).exercise->id, id) << text;
  }
}

TEST(Resolve, EverySpellingOfTheLibraryFindsItsOwnExercise) {
  const Library& library = builtin();
  for (const Exercise& exercise : library.all()) {
    EXPECT_EQ(library.resolve(exercise.id).exercise, &exercise);
    EXPECT_EQ(library.resolve(exercise.name).exercise, &exercise);
    for (const std::string& alias : exercise.aliases) EXPECT_EQ(library.resolve(alias).exercise, &exercise) << alias;
  }
}

TEST(Resolve, OffersButNeverGuesses) {
  const Library& library = builtin();
  for (const char* text : {"bensh press", "bech pres", "benchpres"}) {
    const Resolution answer = library.resolve(text);
    EXPECT_EQ(answer.exercise, nullptr) << text;
    ASSERT_FALSE(answer.nearest.empty()) << text;
    EXPECT_EQ(answer.nearest.front().exercise->id, "bench-press") << text;
    EXPECT_LE(answer.nearest.size(), 5u);
  }
  EXPECT_FALSE(library.resolve("row"));
  EXPECT_FALSE(library.resolve("row").nearest.empty());
  EXPECT_FALSE(library.resolve("qqqqqq"));
  EXPECT_TRUE(library.resolve("qqqqqq").nearest.empty());
  EXPECT_TRUE(library.resolve("").nearest.empty());
  EXPECT_TRUE(library.resolve("---").nearest.empty());
}

// Assistance is written as a negative load, so a name that says "assisted" must be asked about.
TEST(Resolve, AnAssistedLiftIsAskedAbout) {
  EXPECT_FALSE(builtin().resolve("assisted pull up"));
  EXPECT_FALSE(builtin().resolve("assisted dip"));
}

TEST(Resolve, OffersAreBestFirstOnePerExercise) {
  const Library& library = builtin();
  for (const char* text : {"dumbell incline pres", "machine leg", "curl cable bar", "one leg deadlifts"}) {
    const Resolution answer = library.resolve(text);
    std::set<const Exercise*> seen;
    for (std::size_t i = 0; i < answer.nearest.size(); ++i) {
      const Near& near = answer.nearest[i];
      EXPECT_TRUE(seen.insert(near.exercise).second);
      EXPECT_GT(near.score, 0);
      EXPECT_LE(near.score, 1);
      EXPECT_EQ(library.resolve(near.matched).exercise, near.exercise);
      if (i > 0) {
        EXPECT_LE(near.score, answer.nearest[i - 1].score);
      }
    }
  }
}

// One wrong letter, one left out, or two swapped in a name of the library: the right exercise is among the offers.
TEST(ResolveSlow, FindsSlipsOfThePen) {
  const Library& library = builtin();
  Random random(21);
  int slips = 0;
  int offered = 0;
  for (const Exercise& exercise : library.all()) {
    if (exercise.name.size() < 8) continue;
    std::string text = exercise.name;
    const int at = random.integer(1, static_cast<int>(text.size()) - 2);
    const auto i = static_cast<std::size_t>(at);
    switch (random.integer(0, 2)) {
      case 0: text[i] = 'q'; break;
      case 1: text.erase(i, 1); break;
      default: std::swap(text[i], text[i + 1]);
    }
    const Resolution answer = library.resolve(text);
    if (answer.exercise) continue;  // the slip made another spelling of the same
    ++slips;
    for (const Near& near : answer.nearest) offered += near.exercise == &exercise ? 1 : 0;
  }
  EXPECT_GT(slips, 150);
  EXPECT_GE(offered, slips * 98 / 100) << offered << " of " << slips;
}

TEST(ExerciseToml, ReadsBackEqual) {
  for (const Exercise& exercise : builtin().all()) {
    const auto read = Library::parse(exercise_toml(exercise));
    ASSERT_TRUE(read) << read.error().message;
    EXPECT_TRUE(same(read->all().front(), exercise)) << exercise_toml(exercise);
  }
}

TEST(ExerciseToml, ReadsBackEqualWhateverIsInIt) {
  Random random(22);
  for (int i = 0; i < 500; ++i) {
    Exercise e;
    e.id = "lift-" + std::to_string(i);
    e.name = "a \"quoted\"\\ name\twith\x01 odd \u00e9 " + std::to_string(i);
    for (int a = random.integer(0, 3); a > 0; --a) e.aliases.push_back("alias " + std::to_string(a) + "'\n");
    e.cls = static_cast<ExerciseClass>(random.integer(0, 2));
    e.implement = static_cast<Implement>(random.integer(0, 7));
    for (double& share : e.involvement) share = random.chance(0.3) ? random.uniform() : 0;
    e.involvement[0] = 1;
    e.multiplier = random.uniform(0.01, 10);
    e.offset_kg = random.uniform(-500, 500);
    e.body_mass_share = random.uniform();
    e.usual_step = {random.uniform(1e-4, 1000), static_cast<Unit>(random.integer(0, 2))};
    e.one_sided = random.chance(0.5);
    e.needs_spotter = random.chance(0.5);
    if (random.chance(0.5)) e.bar = "trap \"bar\"";
    e.strength_ratio = random.chance(0.3) ? 0 : random.uniform(1e-9, 20);
    e.strength_log_sd = random.uniform(0.01, 3);
    e.endurance = random.chance(0.3) ? 0 : random.uniform(2.001, 1000);
    const auto read = Library::parse(exercise_toml(e));
    ASSERT_TRUE(read) << read.error().message << "\n" << exercise_toml(e);
    ASSERT_TRUE(same(read->all().front(), e)) << exercise_toml(e);
    const auto over = Library::parse(exercise_toml(e))->with(exercise_toml(e));
    ASSERT_TRUE(over);
    ASSERT_TRUE(same(over->all().front(), e));
  }
}

TEST(ExerciseToml, TheWholeLibraryReadsBack) {
  const auto read = Library::parse(library_toml(builtin().all()));
  ASSERT_TRUE(read) << read.error().message;
  ASSERT_EQ(read->all().size(), builtin().all().size());
  for (std::size_t i = 0; i < read->all().size(); ++i) EXPECT_TRUE(same(read->all()[i], builtin().all()[i]));
}

// Facts of the trade about the shipped library (common practice, no source).
TEST(Builtin, HoldsTheCommonLifts) {
  const Library& library = builtin();
  EXPECT_GE(library.all().size(), 170u);
  for (const char* id : {"back-squat",
                         "front-squat",
                         "bench-press",
                         "incline-bench-press",
                         "overhead-press",
                         "deadlift",
                         "romanian-deadlift",
                         "barbell-row",
                         "pull-up",
                         "chin-up",
                         "dip",
                         "lat-pulldown",
                         "seated-cable-row",
                         "leg-press",
                         "leg-extension",
                         "leg-curl",
                         "calf-raise",
                         "dumbbell-bench-press",
                         "dumbbell-shoulder-press",
                         "lateral-raise",
                         "biceps-curl",
                         "triceps-pushdown",
                         "face-pull",
                         "hip-thrust",
                         "press-up",
                         "split-squat",
                         "chest-press",
                         "cable-fly"}) {
    EXPECT_TRUE(library.find(id)) << id;
  }
  EXPECT_EQ(library.find("bench-press")->strength_ratio, 1);
  EXPECT_EQ(library.find("pull-up")->body_mass_share, 1);
  EXPECT_EQ(library.find("dip")->body_mass_share, 1);
  EXPECT_DOUBLE_EQ(library.find("press-up")->body_mass_share, 0.64);
  EXPECT_EQ(library.find("back-squat")->body_mass_share, 0);
  EXPECT_EQ(library.find("dumbbell-bench-press")->multiplier, 2);
}

TEST(Builtin, EveryExerciseMakesSense) {
  std::set<Muscle> direct;
  std::set<Implement> implements;
  for (const Exercise& e : builtin().all()) {
    EXPECT_GE(e.strength_log_sd, 0.15) << e.id;
    EXPECT_LE(e.strength_log_sd, 0.5) << e.id;
    if (e.cls == ExerciseClass::barbell_compound) {
      EXPECT_EQ(e.implement, Implement::barbell) << e.id;
    }
    if (e.implement == Implement::barbell) {
      EXPECT_EQ(e.body_mass_share, 0) << e.id;
      EXPECT_EQ(e.multiplier, 1) << e.id;
    }
    if (e.implement == Implement::bodyweight) {
      EXPECT_GT(e.body_mass_share, 0) << e.id;
    }
    if (e.needs_spotter) {
      EXPECT_EQ(e.implement, Implement::barbell) << e.id;
    }
    implements.insert(e.implement);
    for (int m = 0; m < kMuscleCount; ++m) {
      if (e.involvement[static_cast<std::size_t>(m)] == 1) direct.insert(static_cast<Muscle>(m));
    }
  }
  EXPECT_EQ(direct.size(), static_cast<std::size_t>(kMuscleCount)) << "every muscle has a lift of its own";
  EXPECT_EQ(implements.size(), 8u);
}

// A log kept in German names the lifts that the library ships with; a coach's own spelling comes first.
TEST(Library, ShippedExercisesAreKnownByTheirGermanNames) {
  const Library& shipped = builtin();
  EXPECT_EQ(shipped
                .resolve("Bankdr\xC3\xBC"
                         "cken")
                .exercise,
            shipped.find("bench-press"));
  EXPECT_EQ(shipped.resolve("kniebeuge").exercise, shipped.find("back-squat"));
  const auto own = shipped.with("[[exercise]]\nid = \"front-squat\"\naliases = [\"Kniebeuge\"]\n");
  ASSERT_TRUE(own) << own.error().message;
  EXPECT_EQ(own->resolve("Kniebeuge").exercise, own->find("front-squat"));
}

}  // namespace
}  // namespace ullage::library
