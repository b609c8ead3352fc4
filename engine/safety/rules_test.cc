#include "engine/safety/rules.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace ullage::safety {
namespace {

const Date kToday = *parse_date("2026-03-09");

Lifter grown_up() {
  Lifter lifter;
  lifter.born = parse_date("1990-05-01");
  lifter.training_years = 4;
  return lifter;
}

Lifter born(const char* date) {
  Lifter lifter = grown_up();
  lifter.born = parse_date(date);
  return lifter;
}

// All questions answered no, but for those given.
Intake intake_on(Date date, std::vector<Question> yes = {}) {
  Intake intake;
  intake.date = date;
  for (int q = 0; q < kQuestionCount; ++q) {
    const auto question = static_cast<Question>(q);
    const bool is_yes = std::find(yes.begin(), yes.end(), question) != yes.end();
    intake.answers.push_back({question, is_yes ? Answer::yes : Answer::no, ""});
  }
  return intake;
}

HealthRecord healthy() {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 100));
  return record;
}

ClinicianWord word_lifting(std::vector<std::string> holds, Date date, std::optional<Date> until = {}) {
  ClinicianWord word;
  word.id = "w";
  word.date = date;
  word.clinician = "Dr Example";
  word.recorded_by = "coach";
  word.until = until;
  word.lifts_holds = std::move(holds);
  return word;
}

bool mentions(const std::vector<std::string>& lines, const std::string& part) {
  return std::any_of(lines.begin(), lines.end(),
                     [&](const std::string& line) { return line.find(part) != std::string::npos; });
}

TEST(Rules, HealthyGrownUpMayBePrescribedEverything) {
  const Gate gate = evaluate(healthy(), grown_up(), kToday, 50);
  EXPECT_TRUE(gate.allowed());
  EXPECT_EQ(gate.held_text(), "");
  EXPECT_EQ(gate.least_reserve, 0);
  EXPECT_EQ(gate.extra_reserve, 0);
  EXPECT_FALSE(gate.load_cap_share);
  EXPECT_TRUE(gate.failure) << gate.no_failure;
  EXPECT_TRUE(gate.cautions.empty());
}

TEST(Rules, EveryYesHoldsAndSaysWhatLiftsIt) {
  for (int q = 0; q < kQuestionCount; ++q) {
    const auto question = static_cast<Question>(q);
    HealthRecord record;
    record.intakes.push_back(intake_on(kToday - 1, {question}));
    const Gate gate = evaluate(record, grown_up(), kToday, 50);
    ASSERT_EQ(gate.holds.size(), 1U) << question_text(question);
    EXPECT_FALSE(gate.holds[0].lifts.empty());
    EXPECT_NE(gate.held_text().find(std::string(question_name(question))), std::string::npos);
    EXPECT_NE(gate.held_text().find("What lifts it: "), std::string::npos);
    EXPECT_FALSE(gate.failure);
    EXPECT_FALSE(question_text(question).empty());
  }
}

TEST(Rules, TheHoldOfAnIntakeIsNotCountedTwiceOnceOnRecord) {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 1, {Question::kidney_disease}));
  record.holds = holds_from(record.intakes[0]);
  ASSERT_EQ(record.holds.size(), 1U);
  EXPECT_EQ(record.holds[0].id, "intake-2026-03-08-2");
  EXPECT_EQ(evaluate(record, grown_up(), kToday, 50).holds.size(), 1U);
  record.holds[0].lifted = kToday;
  EXPECT_TRUE(evaluate(record, grown_up(), kToday, 50).allowed());
  EXPECT_FALSE(evaluate(record, grown_up(), kToday - 1, 50).allowed()) << "not lifted yet on the day before";
}

TEST(Rules, ANewYesHoldsAgainThoughAnEarlierHoldWasLifted) {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 300, {Question::symptoms}));
  record.holds = holds_from(record.intakes[0]);
  record.holds[0].lifted = kToday - 200;
  record.intakes.push_back(intake_on(kToday - 2, {Question::symptoms}));
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).allowed());
}

TEST(Rules, AnIntakeThatLeavesAQuestionOutKeepsItsAnswer) {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 30, {Question::pregnancy}));
  Intake partly;
  partly.date = kToday - 1;
  partly.answers.push_back({Question::recent_surgery, Answer::no, ""});
  partly.answers.push_back({Question::pregnancy, Answer::not_asked, ""});
  record.intakes.push_back(partly);
  const Gate held = evaluate(record, grown_up(), kToday, 50);
  EXPECT_FALSE(held.allowed());
  EXPECT_TRUE(mentions(held.cautions, "Pregnancy")) << "the caution stays too";
  EXPECT_FALSE(mentions(held.cautions, "questions are open"));
  record.intakes.back().answers.back().answer = Answer::no;
  EXPECT_TRUE(evaluate(record, grown_up(), kToday, 50).allowed());
}

// Nothing is recorded ahead: a record of tomorrow means that the clock went back, or a flight to the west.
TEST(Rules, WhatHoldsBackCountsThoughItsDayIsNotYetHere) {
  HealthRecord record = healthy();
  record.intakes.push_back(intake_on(kToday + 1, {Question::symptoms}));
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).allowed());
  record = healthy();
  record.holds.push_back({});
  record.holds.back().id = "h";
  record.holds.back().since = kToday + 1;
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).allowed());
  record.words.push_back(word_lifting({"h"}, kToday + 1));
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).allowed()) << "a word that allows waits for its day";
  EXPECT_TRUE(evaluate(record, grown_up(), kToday + 1, 50).allowed());
  record = healthy();
  record.words.push_back(word_lifting({}, kToday + 1));
  record.words.back().load_cap_share = 0.7;
  EXPECT_EQ(evaluate(record, grown_up(), kToday, 50).load_cap_share, 0.7);
  record = healthy();
  Pain pain;
  pain.id = "p";
  pain.since = kToday + 1;
  pain.exercise = "bench_press";
  record.pains.push_back(pain);
  EXPECT_TRUE(evaluate(record, grown_up(), kToday, 50).barred_because("bench_press"));
}

TEST(Rules, AnswersOfADayNotYetHereTakeNoYesBack) {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 3, {Question::symptoms}));
  record.intakes.push_back(intake_on(kToday + 1));
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).allowed());
}

TEST(Rules, WordLiftsWithinItsLimitsAndItsEndBringsTheHoldBack) {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 30, {Question::heart_disease}));
  record.holds = holds_from(record.intakes[0]);
  ClinicianWord word = word_lifting({record.holds[0].id}, kToday - 20, kToday + 3);
  word.least_reserve = 4;
  word.load_cap_share = 0.7;
  word.only_exercises = {"leg-press", "row"};
  word.not_exercises = {"row"};
  record.words.push_back(word);

  const Gate gate = evaluate(record, grown_up(), kToday, 50);
  EXPECT_TRUE(gate.allowed());
  EXPECT_EQ(gate.least_reserve, 4);
  EXPECT_NE(gate.least_reserve_from.find("Dr Example"), std::string::npos);
  EXPECT_EQ(gate.load_cap_share, 0.7);
  EXPECT_FALSE(gate.barred_because("leg-press"));
  EXPECT_TRUE(gate.barred_because("row"));
  EXPECT_TRUE(gate.barred_because("squat"));
  EXPECT_EQ(gate.until, kToday + 3);
  EXPECT_TRUE(mentions(gate.cautions, "ends on 2026-03-12"));
  EXPECT_FALSE(gate.failure);

  EXPECT_TRUE(evaluate(record, grown_up(), kToday + 3, 50).allowed()) << "the last day still counts";
  const Gate after = evaluate(record, grown_up(), kToday + 4, 50);
  EXPECT_FALSE(after.allowed());
  EXPECT_NE(after.held_text().find("ended on 2026-03-12"), std::string::npos);
  EXPECT_FALSE(evaluate(record, grown_up(), kToday - 21, 50).allowed()) << "before the word";
}

TEST(Rules, AWordThatNamesAnotherHoldLiftsNothing) {
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 30, {Question::heart_disease, Question::kidney_disease}));
  record.holds = holds_from(record.intakes[0]);
  record.words.push_back(word_lifting({record.holds[0].id}, kToday - 20));
  const Gate gate = evaluate(record, grown_up(), kToday, 50);
  ASSERT_EQ(gate.holds.size(), 1U);
  EXPECT_EQ(gate.holds[0].id, record.holds[1].id);
}

TEST(Rules, TwoWordsGiveTheStricterLimits) {
  HealthRecord record = healthy();
  ClinicianWord a = word_lifting({}, kToday - 20, kToday + 60), b = word_lifting({}, kToday - 10, kToday + 50);
  a.least_reserve = 2;
  b.least_reserve = 4;
  a.load_cap_share = 0.6;
  b.load_cap_share = 0.8;
  a.only_exercises = {"row", "curl"};
  b.only_exercises = {"curl", "squat"};
  record.words = {a, b};
  const Gate gate = evaluate(record, grown_up(), kToday, 50);
  EXPECT_EQ(gate.least_reserve, 4);
  EXPECT_EQ(gate.load_cap_share, 0.6);
  EXPECT_EQ(gate.until, kToday + 50);
  EXPECT_FALSE(gate.barred_because("curl"));
  EXPECT_TRUE(gate.barred_because("row"));
  EXPECT_TRUE(gate.barred_because("squat"));
  EXPECT_TRUE(gate.cautions.empty()) << "far from their end, nothing is announced";
}

TEST(Rules, MinorsNeedConsentAndKeepThreeInReserve) {
  const Lifter minor = born("2010-03-10");  // 15, 16 tomorrow
  HealthRecord record = healthy();
  const Gate held = evaluate(record, minor, kToday, 50);
  ASSERT_EQ(held.holds.size(), 1U);
  EXPECT_NE(held.held_text().find("guardian's consent"), std::string::npos);

  record.consent = GuardianConsent{kToday, "A. Guardian", "coach"};
  EXPECT_FALSE(evaluate(record, minor, kToday - 1, 50).allowed()) << "consent is dated later";
  const Gate gate = evaluate(record, minor, kToday, 50);
  EXPECT_TRUE(gate.allowed());
  EXPECT_EQ(gate.least_reserve, 3);
  EXPECT_FALSE(gate.failure);
  record.extra_reserve_lifted = ExtraReserveLifted{kToday - 5, "coach"};
  EXPECT_FALSE(evaluate(record, minor, kToday, 50).failure) << "the coach cannot lift it for a minor";
  EXPECT_EQ(evaluate(record, minor, kToday, 50).least_reserve, 3);

  // On the eighteenth birthday the rules for minors end.
  const Lifter eighteen = born("2008-03-09");
  EXPECT_EQ(evaluate(healthy(), eighteen, kToday, 50).least_reserve, 0);
  EXPECT_FALSE(evaluate(healthy(), eighteen, kToday - 1, 50).allowed());
}

TEST(Rules, AWordCannotGoUnderTheReserveOfAMinor) {
  HealthRecord record = healthy();
  record.consent = GuardianConsent{kToday - 9, "A. Guardian", "coach"};
  ClinicianWord word = word_lifting({}, kToday - 5);
  word.least_reserve = 1;
  record.words.push_back(word);
  EXPECT_EQ(evaluate(record, born("2010-01-01"), kToday, 50).least_reserve, 3);
}

TEST(Rules, BeginnersKeepOneMoreUntilTwelveSessions) {
  Lifter beginner = grown_up();
  beginner.training_years.reset();
  EXPECT_EQ(evaluate(healthy(), beginner, kToday, 11).extra_reserve, 1);
  EXPECT_FALSE(evaluate(healthy(), beginner, kToday, 11).failure);
  EXPECT_EQ(evaluate(healthy(), beginner, kToday, 12).extra_reserve, 0);
  EXPECT_TRUE(evaluate(healthy(), beginner, kToday, 12).failure);
  beginner.training_years = 0.4;
  EXPECT_EQ(evaluate(healthy(), beginner, kToday, 0).extra_reserve, 1);
  beginner.training_years = 0.5;
  EXPECT_EQ(evaluate(healthy(), beginner, kToday, 0).extra_reserve, 0);
  beginner.training_years = 0;
  HealthRecord lifted = healthy();
  lifted.extra_reserve_lifted = ExtraReserveLifted{kToday, "coach"};
  EXPECT_EQ(evaluate(lifted, beginner, kToday, 0).extra_reserve, 0);
  EXPECT_EQ(evaluate(lifted, beginner, kToday - 1, 0).extra_reserve, 1);
}

TEST(Rules, FromSixtyFiveOneMoreAndNoFailureUntilTheCoachLiftsIt) {
  const Lifter older = born("1961-03-09");
  EXPECT_EQ(evaluate(healthy(), older, kToday, 3).extra_reserve, 1);
  EXPECT_EQ(evaluate(healthy(), older, kToday - 1, 3).extra_reserve, 0) << "64 the day before";
  EXPECT_EQ(evaluate(healthy(), older, kToday, 12).extra_reserve, 0);
  EXPECT_FALSE(evaluate(healthy(), older, kToday, 500).failure);
  HealthRecord lifted = healthy();
  lifted.extra_reserve_lifted = ExtraReserveLifted{kToday - 1, "coach"};
  EXPECT_TRUE(evaluate(lifted, older, kToday, 500).failure);
  // Never asked about their health: one more in reserve, however many sessions and whatever the coach says.
  HealthRecord unasked;
  unasked.extra_reserve_lifted = ExtraReserveLifted{kToday - 1, "coach"};
  EXPECT_EQ(evaluate(unasked, older, kToday, 500).extra_reserve, 1);
  EXPECT_EQ(evaluate(unasked, born("1990-03-09"), kToday, 500).extra_reserve, 0);
}

TEST(Rules, UnaskedQuestionsHoldNothingButAreSaidAndBarFailure) {
  const Gate gate = evaluate({}, grown_up(), kToday, 50);
  EXPECT_TRUE(gate.allowed());
  EXPECT_FALSE(gate.failure);
  EXPECT_TRUE(mentions(gate.cautions, "have not been asked"));
  HealthRecord record;
  record.intakes.push_back(intake_on(kToday - 3));
  record.intakes[0].answers.pop_back();
  EXPECT_TRUE(mentions(evaluate(record, grown_up(), kToday, 50).cautions, "1 of 8 health questions"));
}

TEST(Rules, UnknownAgeBarsFailureAndIsSaid) {
  Lifter lifter = grown_up();
  lifter.born.reset();
  const Gate gate = evaluate(healthy(), lifter, kToday, 50);
  EXPECT_TRUE(gate.allowed());
  EXPECT_FALSE(gate.failure);
  EXPECT_TRUE(mentions(gate.cautions, "Date of birth not known"));
}

TEST(Rules, PainTakesAnExerciseOutUntilCleared) {
  HealthRecord record = healthy();
  record.pains.push_back({"p", kToday - 5, "bench", "", {}, ""});
  EXPECT_TRUE(evaluate(record, grown_up(), kToday, 50).allowed());
  EXPECT_TRUE(evaluate(record, grown_up(), kToday, 50).barred_because("bench"));
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).barred_because("squat"));
  record.pains[0].cleared = kToday;
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).barred_because("bench"));
  record.pains.push_back({"q", kToday, "", "back", {}, ""});
  EXPECT_FALSE(evaluate(record, grown_up(), kToday, 50).allowed()) << "pain on no one exercise holds all";
}

TEST(Rules, ExercisesToAvoidAreBarred) {
  Lifter lifter = grown_up();
  lifter.avoid = {"dip"};
  EXPECT_TRUE(evaluate(healthy(), lifter, kToday, 50).barred_because("dip"));
}

TEST(FailureGate, KeepsPolicySpacingAndSpotters) {
  const ReservePolicy policy;
  const Gate gate = evaluate(healthy(), grown_up(), kToday, 50);
  FailureWish wish;
  wish.today = kToday;
  wish.last_set = true;
  const ClassPolicy& isolation = policy.of(ExerciseClass::isolation);
  EXPECT_TRUE(failure_allowed(gate, isolation, wish).allowed);
  wish.last_failure = kToday - 6;
  EXPECT_FALSE(failure_allowed(gate, isolation, wish).allowed);
  EXPECT_NE(failure_allowed(gate, isolation, wish).because.find("from 2026-03-10"), std::string::npos);
  wish.last_failure = kToday - 7;
  EXPECT_TRUE(failure_allowed(gate, isolation, wish).allowed);
  wish.last_set = false;
  EXPECT_FALSE(failure_allowed(gate, isolation, wish).allowed);

  const ClassPolicy& barbell = policy.of(ExerciseClass::barbell_compound);
  FailureWish heavy;
  heavy.today = kToday;
  heavy.cls = ExerciseClass::barbell_compound;
  heavy.last_set = true;
  heavy.safety_bars = true;
  EXPECT_FALSE(failure_allowed(gate, barbell, heavy).allowed) << "never as an ordinary set";
  ClassPolicy loose = barbell;
  loose.last_set_failure = true;
  loose.failure_every_days = 1;
  EXPECT_FALSE(failure_allowed(gate, loose, heavy).allowed) << "not even when the coach's policy would";
  heavy.test = true;
  EXPECT_TRUE(failure_allowed(gate, barbell, heavy).allowed);
  heavy.safety_bars = false;
  EXPECT_FALSE(failure_allowed(gate, barbell, heavy).allowed);
  heavy.safety_bars = true;
  heavy.last_test = kToday - 55;
  EXPECT_FALSE(failure_allowed(gate, barbell, heavy).allowed);
  heavy.last_test = kToday - 56;
  EXPECT_TRUE(failure_allowed(gate, barbell, heavy).allowed);

  FailureWish dumbbells;
  dumbbells.today = kToday;
  dumbbells.cls = ExerciseClass::supported_compound;
  dumbbells.last_set = dumbbells.needs_spotter = true;
  EXPECT_FALSE(failure_allowed(gate, policy.of(ExerciseClass::supported_compound), dumbbells).allowed);
}

TEST(FailureGate, NeverForThoseItIsNotFor) {
  const ClassPolicy policy = ReservePolicy{}.of(ExerciseClass::isolation);
  FailureWish wish;
  wish.today = kToday;
  wish.last_set = wish.safety_bars = true;
  Lifter beginner = grown_up();
  beginner.training_years = 0;
  HealthRecord consent = healthy();
  consent.consent = GuardianConsent{kToday - 1, "A. Guardian", "coach"};
  HealthRecord pregnant;
  pregnant.intakes.push_back(intake_on(kToday - 10, {Question::pregnancy}));
  pregnant.holds = holds_from(pregnant.intakes[0]);
  pregnant.words.push_back(word_lifting({pregnant.holds[0].id}, kToday - 5));
  ASSERT_TRUE(evaluate(pregnant, grown_up(), kToday, 50).allowed());
  for (bool test : {false, true}) {
    wish.test = test;
    for (const Gate& gate :
         {evaluate(healthy(), beginner, kToday, 3), evaluate(consent, born("2010-01-01"), kToday, 90),
          evaluate(healthy(), born("1950-01-01"), kToday, 90), evaluate(pregnant, grown_up(), kToday, 90),
          evaluate({}, grown_up(), kToday, 90)}) {
      const Permission permission = failure_allowed(gate, policy, wish);
      EXPECT_FALSE(permission.allowed);
      EXPECT_FALSE(permission.because.empty());
    }
  }
  EXPECT_TRUE(mentions(evaluate(pregnant, grown_up(), kToday, 90).cautions, "Pregnancy"));
}

TEST(Cautions, AlwaysSayWhenToSeekHelp) {
  const Gate gate;
  const auto plain = sheet_cautions(gate, {});
  for (const char* sign : {"chest pain", "fainting", "severe headache", "dark urine"})
    EXPECT_TRUE(mentions(plain, sign));
  EXPECT_FALSE(mentions(plain, "blood pressure"));
  EXPECT_TRUE(mentions(sheet_cautions(gate, {true, false, false}), "blood pressure"));
  EXPECT_TRUE(mentions(sheet_cautions(gate, {false, true, false}), "never squat or bench alone"));
  EXPECT_TRUE(mentions(sheet_cautions(gate, {false, true, true}), "Set the safety bars"));
}

}  // namespace
}  // namespace ullage::safety
