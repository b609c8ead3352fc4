// What is kept about a lifter's health, as plain data: intake answers, holds, clinician's words,
// guardian's consent, pain. Nothing here is medical advice; it records what people said and decided.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/units.h"

namespace ullage::safety {

// The usual pre-exercise questions. A yes is a hold. Stored by number: never renumber.
enum class Question {
  heart_disease = 0,
  metabolic_disease = 1,
  kidney_disease = 2,
  symptoms = 3,   // chest pain, fainting, breathlessness out of proportion, irregular beat
  pregnancy = 4,  // or birth within the last weeks
  recent_surgery = 5,
  pain_now = 6,  // pain that training makes worse
  clinician_said_no = 7
};
inline constexpr int kQuestionCount = 8;

enum class Answer { not_asked = 0, no = 1, yes = 2 };

struct IntakeAnswer {
  Question question = Question::heart_disease;
  Answer answer = Answer::not_asked;
  std::string detail;
};

struct Intake {
  Date date;
  std::string recorded_by;
  std::vector<IntakeAnswer> answers;
};

// Prescribe nothing until lifted. Made from an intake yes or by the coach.
struct Hold {
  std::string id;
  Date since;
  std::string reason;                // in words, shown with what lifts it
  std::optional<Question> question;  // the intake answer it came from
  std::optional<Date> lifted;
  std::string lifted_by;  // who, and on what ground
};

// A clinician's word: prescriptions stay inside its limits while it is valid. Lifts the holds it names.
struct ClinicianWord {
  std::string id;
  Date date;
  std::string clinician;
  std::string recorded_by;
  std::optional<double> least_reserve;
  std::optional<double> load_cap_share;     // of the lifter's strength, e.g. 0.7
  std::vector<std::string> only_exercises;  // empty: any
  std::vector<std::string> not_exercises;
  std::optional<Date> until;             // last valid day; then the holds come back
  std::vector<std::string> lifts_holds;  // hold ids
  std::string note;
};

struct GuardianConsent {
  Date date;
  std::string guardian;
  std::string recorded_by;
};

// Pain on an exercise takes it out of the plan until cleared.
struct Pain {
  std::string id;
  Date since;
  std::string exercise;  // id, or "" for all
  std::string note;
  std::optional<Date> cleared;
  std::string cleared_by;
};

// The coach's word that a beginner or a lifter of 65+ no longer needs the extra rep in reserve.
struct ExtraReserveLifted {
  Date date;
  std::string recorded_by;
};

struct HealthRecord {
  std::vector<Intake> intakes;  // by date; of each question the last answer counts
  std::vector<Hold> holds;
  std::vector<ClinicianWord> words;
  std::optional<GuardianConsent> consent;
  std::vector<Pain> pains;
  std::optional<ExtraReserveLifted> extra_reserve_lifted;
};

}  // namespace ullage::safety
