#include "engine/safety/rules.h"

#include <algorithm>

namespace ullage::safety {
namespace {

// What is on record from a day that is not yet here stands all the same where it holds back: nothing is recorded ahead,
// so the clock went back or another time zone was travelled to. What allows more waits for its day.
bool in_force(const ClinicianWord& word, Date today) { return !word.until || today <= *word.until; }
bool allows(const ClinicianWord& word, Date today) { return word.date <= today && in_force(word, today); }

bool contains(const std::vector<std::string>& all, const std::string& one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

std::string word_text(const ClinicianWord& word) {
  return "word of " + (word.clinician.empty() ? std::string("a clinician") : word.clinician) + " of " +
         date_text(word.date);
}

Answer answer_to(const Intake& intake, Question question) {
  Answer answer = Answer::not_asked;
  for (const IntakeAnswer& a : intake.answers) {
    if (a.question == question && a.answer != Answer::not_asked && answer != Answer::yes) answer = a.answer;
  }
  return answer;
}

// The intake in which this question was last answered; empty when it never was. A later intake that leaves the question
// out does not take its answer back. One from a day that is not yet here counts when it says yes.
const Intake* last_answered(const HealthRecord& record, Question question, Date today) {
  const Intake* last = nullptr;
  for (const Intake& intake : record.intakes) {
    const Answer answer = answer_to(intake, question);
    if (answer == Answer::not_asked || (intake.date > today && answer != Answer::yes)) continue;
    if (!last || last->date <= intake.date) last = &intake;
  }
  return last;
}

std::string lifts_text(const Hold& hold) {
  if (hold.question == Question::pain_now) {
    return "the pain is gone or a clinician's word is on record, and the hold is lifted with a name";
  }
  if (hold.question) return "a clinician's word on training, recorded with its date and naming this hold";
  return "the coach lifts it with a name and the ground for it, or a clinician's word names it";
}

std::string hold_id(const Intake& intake, Question question) {
  return "intake-" + date_text(intake.date) + "-" + std::to_string(static_cast<int>(question));
}

// The holds on record, and those that a yes makes without a record.
std::vector<Hold> holds_on(const HealthRecord& record, Date today) {
  std::vector<Hold> all = record.holds;
  for (int q = 0; q < kQuestionCount; ++q) {
    const auto question = static_cast<Question>(q);
    const Intake* intake = last_answered(record, question, today);
    if (!intake) continue;
    for (Hold& made : holds_from(*intake)) {
      if (made.question != question) continue;
      const bool covered = std::any_of(all.begin(), all.end(), [&](const Hold& hold) {
        if (hold.id == made.id) return true;
        // A hold lifted before these answers were given says nothing about them.
        return hold.question == made.question && (!hold.lifted || *hold.lifted >= intake->date);
      });
      if (!covered) all.push_back(std::move(made));
    }
  }
  return all;
}

void bar(Gate& gate, const std::string& exercise, std::string reason) {
  gate.barred.push_back({exercise, std::move(reason)});
}

void no_failure(Gate& gate, std::string because) {
  if (gate.failure) gate.no_failure = std::move(because);
  gate.failure = false;
}

void apply_holds(Gate& gate, const HealthRecord& record, Date today) {
  for (const Hold& hold : holds_on(record, today)) {
    if (hold.lifted && *hold.lifted <= today) continue;
    const ClinicianWord* ended = nullptr;
    bool lifted = false;
    for (const ClinicianWord& word : record.words) {
      if (!contains(word.lifts_holds, hold.id)) continue;
      if (allows(word, today)) lifted = true;
      if (word.until && *word.until < today) ended = &word;
    }
    if (lifted) continue;
    std::string reason = hold.reason.empty() ? "on hold since " + date_text(hold.since) : hold.reason;
    if (ended) reason += " (the " + word_text(*ended) + " ended on " + date_text(*ended->until) + ")";
    gate.holds.push_back({hold.id, std::move(reason), lifts_text(hold)});
  }
}

void apply_words(Gate& gate, const HealthRecord& record, Date today) {
  for (const ClinicianWord& word : record.words) {
    if (!in_force(word, today)) continue;
    const std::string from = word_text(word);
    if (word.least_reserve && *word.least_reserve > gate.least_reserve) {
      gate.least_reserve = *word.least_reserve;
      gate.least_reserve_from = from;
    }
    if (word.load_cap_share && (!gate.load_cap_share || *word.load_cap_share < *gate.load_cap_share)) {
      gate.load_cap_share = std::max(0.0, *word.load_cap_share);
      gate.load_cap_from = from;
    }
    if (!word.only_exercises.empty()) {
      if (!gate.only_some) {
        gate.only_exercises = word.only_exercises;
      } else {
        std::erase_if(gate.only_exercises,
                      [&](const std::string& exercise) { return !contains(word.only_exercises, exercise); });
      }
      gate.only_some = true;
    }
    for (const std::string& exercise : word.not_exercises) bar(gate, exercise, "excluded by the " + from);
    if (word.until) {
      gate.until = gate.until ? std::min(*gate.until, *word.until) : *word.until;
      const int left = *word.until - today;
      if (left <= kWordEndsSoonDays) {
        gate.cautions.push_back("The " + from + " ends on " + date_text(*word.until) +
                                (word.lifts_holds.empty() ? "; its limits end with it."
                                                          : "; then nothing is prescribed until there is a new one."));
      }
    }
    no_failure(gate, "a clinician's word is in force (" + from + ")");
  }
}

void apply_age(Gate& gate, const HealthRecord& record, const Lifter& lifter, Date today, int logged_sessions) {
  const std::optional<int> age = age_on(lifter, today);
  const bool coach_lifted = record.extra_reserve_lifted && record.extra_reserve_lifted->date <= today;
  if (age && *age < kAdultAge) {
    if (!record.consent || today < record.consent->date) {
      gate.holds.push_back({"", "under 18 and no guardian's consent on record",
                            "a guardian's consent, recorded with the guardian's name and the date"});
    }
    if (gate.least_reserve < kMinorLeastReserve) {
      gate.least_reserve = kMinorLeastReserve;
      gate.least_reserve_from = "under 18";
    }
    no_failure(gate, "under 18");
    gate.cautions.push_back("Under 18: a grown-up who knows the lifts is there, technique before load.");
  }
  const bool older = age && *age >= kOlderAge;
  const bool beginner =
      logged_sessions < kSettledSessions && (!lifter.training_years || *lifter.training_years < kBeginnerYears);
  if (!coach_lifted && (beginner || (older && logged_sessions < kSettledSessions))) {
    gate.extra_reserve = kExtraReserve;
    gate.extra_reserve_from = (older ? "65 or older" : "new to lifting") + std::string(", fewer than ") +
                              std::to_string(kSettledSessions) + " logged sessions";
  }
  if (!coach_lifted && beginner) no_failure(gate, "new to lifting, until 12 sessions are logged or the coach lifts it");
  if (!coach_lifted && older) no_failure(gate, "65 or older, until the coach lifts it");
  if (!age) {
    no_failure(gate, "the date of birth is not known, so it cannot be ruled out that the lifter is under 18");
    gate.cautions.push_back("Date of birth not known: the rules for under 18 and from 65 on could not be applied.");
  }
}

void apply_intake(Gate& gate, const HealthRecord& record, const Lifter& lifter, Date today) {
  int open = 0;
  for (int q = 0; q < kQuestionCount; ++q) {
    const auto question = static_cast<Question>(q);
    const Intake* intake = last_answered(record, question, today);
    const Answer answer = intake ? answer_to(*intake, question) : Answer::not_asked;
    if (answer == Answer::yes) {
      no_failure(gate, "a yes to " + std::string(question_name(question)) + " among the health questions");
    }
    // T08-035 (from memory: ACOG Committee Opinion 804, 2020).
    if (answer == Answer::yes && question == Question::pregnancy) {
      gate.cautions.push_back(
          "Pregnancy: stop and call a clinician for bleeding, loss of fluid, regular painful contractions, dizziness, "
          "headache, chest pain, breathlessness before effort, or calf pain or swelling.");
    }
    if (answer == Answer::not_asked) ++open;
  }
  if (open > 0) {
    no_failure(gate, "the health questions have not all been asked");
    const auto age = age_on(lifter, today);
    if (age && *age >= kOlderAge && gate.extra_reserve < kExtraReserve) {
      gate.extra_reserve = kExtraReserve;
      gate.extra_reserve_from = "the health questions have not all been asked";
    }
    gate.cautions.push_back(open == kQuestionCount
                                ? "The health questions have not been asked: ask them before the first set."
                                : std::to_string(open) + " of " + std::to_string(kQuestionCount) +
                                      " health questions are open: ask them before the first set.");
  }
}

}  // namespace

std::string Gate::held_text() const {
  std::string out;
  for (const Held& held : holds) {
    if (!out.empty()) out += '\n';
    out += held.reason + ". What lifts it: " + held.lifts;
  }
  return out;
}

std::optional<std::string> Gate::barred_because(const std::string& exercise) const {
  for (const Barred& one : barred) {
    if (one.exercise == exercise) return one.reason;
  }
  if (only_some && !contains(only_exercises, exercise)) {
    return "not among the exercises a clinician's word allows";
  }
  return std::nullopt;
}

Gate evaluate(const HealthRecord& record, const Lifter& lifter, Date today, int logged_sessions) {
  Gate gate;
  apply_holds(gate, record, today);
  apply_age(gate, record, lifter, today, logged_sessions);
  apply_words(gate, record, today);
  apply_intake(gate, record, lifter, today);
  for (const Pain& pain : record.pains) {
    if (pain.cleared && *pain.cleared <= today) continue;
    const std::string since = "pain since " + date_text(pain.since);
    if (pain.exercise.empty()) {
      gate.holds.push_back({pain.id, since + " on no one exercise", "the pain is cleared, with a name"});
    } else {
      bar(gate, pain.exercise, since + "; out until it is cleared");
    }
  }
  for (const std::string& exercise : lifter.avoid) bar(gate, exercise, "on the lifter's list of exercises to avoid");
  return gate;
}

void apply_time_off(Gate& gate, Date day, const std::vector<Date>& sessions) {
  Date next = day;
  int back = 0;  // sessions since the gap
  for (auto s = sessions.rbegin(); s != sessions.rend() && back < kSessionsBack; ++s) {
    if (*s >= day) continue;
    if (const int days = next - *s; days >= kTimeOffDays) {
      const std::string from = "back after " + std::to_string(days) + " days";
      if (gate.extra_reserve < kExtraReserve) {
        gate.extra_reserve = kExtraReserve;
        gate.extra_reserve_from = from;
      }
      no_failure(gate, from);
      gate.cautions.push_back("Back after " + std::to_string(days) + " days: one more in reserve for " +
                              std::to_string(kSessionsBack) + " sessions.");
      return;
    }
    ++back;
    next = *s;
  }
}

std::vector<Hold> holds_from(const Intake& intake) {
  std::vector<Hold> holds;
  for (int q = 0; q < kQuestionCount; ++q) {
    const auto question = static_cast<Question>(q);
    if (answer_to(intake, question) != Answer::yes) continue;
    Hold hold;
    hold.id = hold_id(intake, question);
    hold.since = intake.date;
    hold.question = question;
    hold.reason = std::string(question_name(question)) + ": yes on " + date_text(intake.date);
    for (const IntakeAnswer& a : intake.answers) {
      if (a.question == question && a.answer == Answer::yes && !a.detail.empty()) hold.reason += ", " + a.detail;
    }
    holds.push_back(std::move(hold));
  }
  return holds;
}

Permission failure_allowed(const Gate& gate, const ClassPolicy& policy, const FailureWish& wish) {
  if (!gate.allowed()) return {false, "prescriptions are on hold"};
  if (!gate.failure) return {false, gate.no_failure};
  if (gate.least_reserve > 0) {
    return {false, "at least " + number_text(gate.least_reserve) + " in reserve (" + gate.least_reserve_from + ")"};
  }
  if (gate.extra_reserve > 0) return {false, gate.extra_reserve_from};
  if (!wish.last_set) return {false, "only the last set of an exercise may go to failure"};
  const bool barbell_compound = wish.cls == ExerciseClass::barbell_compound;
  if (barbell_compound && !wish.test) {
    return {false, "free-bar squats, pulls and presses go to failure only as a rep-max test"};
  }
  if ((barbell_compound || wish.needs_spotter) && !wish.safety_bars) {
    return {false, "no spotters or safety bars are confirmed for this place"};
  }
  const int spacing = wish.test ? policy.test_every_days : policy.failure_every_days;
  if (!wish.test && (!policy.last_set_failure || spacing <= 0)) {
    return {false, "the reserve policy allows no sets to failure for this kind of exercise"};
  }
  if (wish.test && spacing <= 0) return {false, "the reserve policy allows no rep-max tests for this kind of exercise"};
  const auto too_soon = [&](std::optional<Date> last) { return last && wish.today - *last < spacing; };
  const std::optional<Date> last = wish.test ? wish.last_test : wish.last_failure;
  if (too_soon(last)) {
    return {false, std::string(wish.test ? "the last test" : "the last set to failure") + " was on " +
                       date_text(*last) + "; at most one in " + std::to_string(spacing) + " days, so from " +
                       date_text(*last + spacing)};
  }
  return {true, ""};
}

std::vector<std::string> sheet_cautions(const Gate& gate, const SheetContent& content) {
  std::vector<std::string> out = gate.cautions;
  if (gate.least_reserve > 0) {
    out.push_back("Keep at least " + number_text(gate.least_reserve) + " in reserve on every set (" +
                  gate.least_reserve_from + ").");
  }
  if (content.spotter_lifts) {
    out.push_back(
        content.safety_bars
            ? "Set the safety bars or have the spotters in place before the first work set."
            : "No spotters or safety bars are confirmed: never squat or bench alone under a bar you might not "
              "get up.");
  }
  // Sets to failure at 80-100 % with held breath: mean peaks of 320/250 mmHg in double leg press, 255/190 in one-arm
  // curls, mouth pressure 30-50 Torr; T08-005..012, MacDougall et al. 1985, doi 10.1152/jappl.1985.58.3.785.
  if (content.near_failure) {
    out.push_back(
        "Close to failure blood pressure rises very high, the more so with held breath: breathe out on the "
        "way up.");
  }
  // Signs: T08-035 (from memory), T08-037 (exertional rhabdomyolysis, concordant public descriptions); the rest is
  // common practice, no source.
  out.push_back("Pain that is new or sharp: stop the exercise and tell the coach.");
  out.push_back(
      "Stop and seek help at once: chest pain, fainting, sudden severe headache, breathlessness that does not "
      "pass; in the days after, dark urine with muscle swelling or weakness.");
  return out;
}

std::string_view question_text(Question question) {
  switch (question) {
    case Question::heart_disease:
      return "Has a clinician ever told you that you have a disease of the heart or blood vessels, or high blood "
             "pressure?";
    case Question::metabolic_disease: return "Do you have diabetes or another disease of the metabolism?";
    case Question::kidney_disease: return "Do you have a disease of the kidneys?";
    case Question::symptoms:
      return "At rest or when you exert yourself, do you get chest pain, faint or feel faint, run out of breath more "
             "than "
             "the effort explains, or feel your heart beat irregularly?";
    case Question::pregnancy: return "Are you pregnant, or have you given birth within the last weeks?";
    case Question::recent_surgery: return "Have you had an operation within the last months?";
    case Question::pain_now: return "Do you have pain in a muscle, bone or joint that training makes worse?";
    case Question::clinician_said_no: return "Has a clinician told you not to train, or only under certain conditions?";
  }
  return "";
}

std::string_view question_name(Question question) {
  switch (question) {
    case Question::heart_disease: return "heart or blood vessels";
    case Question::metabolic_disease: return "diabetes or metabolism";
    case Question::kidney_disease: return "kidneys";
    case Question::symptoms: return "chest pain, fainting, breathlessness or irregular heartbeat";
    case Question::pregnancy: return "pregnancy or recent birth";
    case Question::recent_surgery: return "recent operation";
    case Question::pain_now: return "pain that training makes worse";
    case Question::clinician_said_no: return "a clinician's advice against training";
  }
  return "";
}

}  // namespace ullage::safety
