#include "service/interchange/session_line.h"

#include <gtest/gtest.h>

namespace ullage::interchange {
namespace {

std::string plain(const SessionLine& line) {
  EXPECT_TRUE(line.faults.empty()) << line.faults.at(0).expected;
  return session_line_text(line.sets);
}

std::string first_fault(const std::string& text) {
  const SessionLine line = parse_session_line(text, Unit::kilogram);
  if (line.faults.empty()) return "no fault";
  return fault_picture(text, line.faults[0]);
}

TEST(SessionLine, TheLastLoadCarriesOnAndARestHoldsForTheExercise) {
  const SessionLine line =
      parse_session_line("bench press: 100 kg x 8 left 2; x 8 left 1; x 7 failed; rest 180 s", Unit::pound);
  ASSERT_EQ(line.sets.size(), 3u);
  EXPECT_EQ(line.sets[1].set.load, (Load{100, Unit::kilogram}));
  EXPECT_EQ(line.sets[1].set.called, (Call{1, false}));
  EXPECT_FALSE(line.sets[0].set.rest_s);
  EXPECT_EQ(line.sets[1].set.rest_s, 180);
  EXPECT_TRUE(line.sets[2].set.failed);
  EXPECT_EQ(line.sets[2].exercise, "bench press");
  EXPECT_EQ(plain(line), "bench press: 100 kg x 8 left 2; 100 kg x 8 left 1 rest 180 s; 100 kg x 7 failed rest 180 s");
}

TEST(SessionLine, SeveralExercisesSidesAndWords) {
  EXPECT_EQ(plain(parse_session_line(
                "warm up squat: warmup 60 x 5; 102,5 x 5 left 1.5 rest 3:00; x 5, left 5+, pain, note \"knee; left\"\n"
                "leg extension, left side: 20 mark x 12 left 2; x 11 right side rest 1.5 min; dip: -10 lb X 8 test",
                Unit::kilogram)),
            "warm up squat: warmup 60 kg x 5; 102.5 kg x 5 left 1.5 rest 180 s; 102.5 kg x 5 left 5+ pain note \"knee; "
            "left\"; "
            "leg extension: 20 mark x 12 left side left 2; 20 mark x 11 right side rest 90 s; dip: test -10 lb x 8");
}

// As it is typed in a gym: blanks too many or none, the sign for times, capitals, a decimal comma, a thin blank before
// the unit, no unit at all.
TEST(SessionLine, MessyTypingIsRead) {
  const char* const meant = "bench press: 102.5 kg x 8 left 2; 102.5 kg x 8 left 1";
  for (const char* typed :
       {"bench press:  102,5 kg  x  8   left  2;x8 left 1", "bench press: 102,5kg\u00d78 left 2; \u00d7 8 left 1",
        "bench press:102.5x8 left 2 ;  102.5*8 left 1;", "\tbench press :\t102,50 KG X 8 LEFT 2;\n\n X 8 Left 1 ;;",
        "bench press: 102,5\u00a0kg \u00d7 8 left 2\r\n\u00d7\u00a08 left 1\r\n"})
    EXPECT_EQ(plain(parse_session_line(typed, Unit::kilogram)), meant) << typed;
  EXPECT_EQ(plain(parse_session_line("pull-up: +10 x 8; 0 x 5; -7,5 x 6; \u22127,5 x 6", Unit::pound)),
            "pull-up: 10 lb x 8; 0 lb x 5; -7.5 lb x 6; -7.5 lb x 6");
  // What could be meant in two ways is asked for, at the character.
  EXPECT_EQ(
      first_fault("bench press: 100 x 8 x 3"),
      "bench press: 100 x 8 x 3\n                     ^ left, failed, rest, pain, left side, right side, warmup, test, "
      "note, or a semicolon");
  EXPECT_EQ(first_fault("bench press: 1.000,5 kg x 8"),
            "bench press: 1.000,5 kg x 8\n                   ^ x between load and reps");
  EXPECT_EQ(
      first_fault("bench press: 100 kg x 8, 8, 7"),
      "bench press: 100 kg x 8, 8, 7\n                         ^ left, failed, rest, pain, left side, right side, "
      "warmup, test, note, or a semicolon");
  EXPECT_EQ(first_fault("bench press: 100 kg \u00d7 8 left \u22121"),
            "bench press: 100 kg \u00d7 8 left \u22121\n                             ^ how many were left: 0 to 10 in "
            "halves, or 5+ (or \"left side\")");
}

// docs/log-format.md shows the second of these.
TEST(SessionLine, ErrorsPointAtTheCharacter) {
  EXPECT_EQ(first_fault("100 x 8"), "100 x 8\n^ the name of an exercise and a colon before the first set");
  EXPECT_EQ(first_fault("bench press: 100 kg x 8 left two"),
            "bench press: 100 kg x 8 left two\n                             ^ how many were left: 0 to 10 in halves, "
            "or 5+ (or \"left side\")");
  EXPECT_EQ(first_fault("squat: x 8"),
            "squat: x 8\n       ^ a load before x: there is no set of this exercise before it");
  EXPECT_EQ(first_fault("squat: 100 st x 8"), "squat: 100 st x 8\n           ^ kg, lb or mark, and then x");
  EXPECT_EQ(first_fault("squat: 100 kg 8"), "squat: 100 kg 8\n              ^ x between load and reps");
  EXPECT_EQ(first_fault("squat: 100 x 8.5"),
            "squat: 100 x 8.5\n             ^ a whole number of reps after x, up to 500");
  EXPECT_EQ(first_fault("squat: 100 x 8 @9"),
            "squat: 100 x 8 @9\n               ^ left, failed, rest, pain, left side, right side, warmup, test, note, "
            "or a semicolon");
  EXPECT_EQ(first_fault("squat: 100 x 8 rest 90"),
            "squat: 100 x 8 rest 90\n                      ^ s or min after the rest");
  EXPECT_EQ(first_fault("squat: 100 x 8 note ouch"),
            "squat: 100 x 8 note ouch\n                    ^ a text in double quotes after \"note\"");
  EXPECT_EQ(first_fault("squat: 100 x 8 left 2 failed"),
            "squat: 100 x 8 left 2 failed\n       ^ either \"failed\" or some left, not both");
  EXPECT_EQ(first_fault("Übung: 100 x"), "Übung: 100 x\n            ^ a whole number of reps after x, up to 500");
  EXPECT_EQ(first_fault(""), "\n^ a set such as: bench press: 100 kg x 8 left 2");
  // Each piece has its own, and a load is carried on from one that cannot be read.
  EXPECT_EQ(parse_session_line("squat: 1 x; 2 x; 3 x 3", Unit::kilogram).faults.size(), 2u);
  EXPECT_EQ(parse_session_line("squat: 100 x 8 left two; x 8", Unit::kilogram).faults.size(), 1u);
  // A long line is shown around the fault.
  const std::string longer = "squat: 100 x 8 note \"" + std::string(200, 'a') + "\" oops; x 8";
  const std::string shown = first_fault(longer);
  EXPECT_LE(shown.find('\n'), 80u);
  EXPECT_NE(shown.find("oops"), std::string::npos);
}

}  // namespace
}  // namespace ullage::interchange
