#include "service/coach/demo.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <optional>
#include <utility>

#include "engine/base/random.h"
#include "engine/capacity/priors.h"
#include "engine/simulation/training_months.h"

namespace ullage::coach {
namespace {

using simulation::Ending;
using simulation::LiftHabit;
using simulation::Scheme;
using simulation::Truth;

constexpr const char* kCoach = "the coach";

std::vector<Load> stack_steps(double first, double step, int count, Unit unit) {
  std::vector<Load> out;
  for (int i = 0; i < count; ++i) out.push_back({first + step * i, unit});
  return out;
}

// One exercise in a lifter's habit.
struct Part {
  std::string exercise;
  Scheme scheme = Scheme::straight;
  int sets = 3;
  int least_reps = 6;
  int most_reps = 10;
  double target_call = 2;
  double rest_minutes = 2;
  int warmups = 1;
  double step = 2.5;  // loads of bars, plates and added mass used: multiples of this in their own unit
  Ending ending = Ending::planned;
  int test_every = 0;
  bool last_set_failure = false;
  Side side = Side::both;
  bool new_here = false;
  double call_chance = 1;
  bool measure_speed = false;
};

// Weeks in which the same sessions go round.
struct Stretch {
  int from_days_ago;
  int to_days_ago;
  std::vector<int> weekdays;
  std::vector<std::vector<std::vector<int>>> sessions;  // session, group, part
  double missed = 0.07;
};

struct Recipe {
  Lifter lifter;
  safety::HealthRecord health;
  std::string story;
  std::vector<Part> parts;
  std::vector<Stretch> stretches;
  simulation::LogManner manner;
  double level = 60;                  // bench press 1RM on the first day, kg; the other lifts by the library's ratios
  std::function<void(Truth&)> truth;  // what is set by hand
  std::function<void(DemoLifter&, Random&)> after;  // what happens to the log
};

// Kilograms behind one mark, for the machines of a place that show marks.
double kilograms_per_mark(const Place& place, const Exercise& exercise) {
  if (exercise.implement != Implement::stack) return 0;
  for (const Stack& stack : place.stacks) {
    if (stack.exercise == exercise.id && !stack.steps.empty() && stack.steps.front().unit == Unit::mark) return 3.5;
  }
  return 0;
}

Result<std::vector<Load>> usable_loads(const Place& place, const Exercise& exercise, const Part& part) {
  Result<std::vector<Buildable>> all = buildable_loads(place, exercise, place.unit);
  if (!all) return tl::unexpected<Error>(all.error());
  std::vector<Load> out;
  const bool of_plates = exercise.implement == Implement::barbell || exercise.implement == Implement::plates ||
                         exercise.implement == Implement::added_mass;
  for (const Buildable& one : *all) {
    const double steps = one.load.amount / part.step;
    if (!of_plates || std::abs(steps - std::round(steps)) < 1e-9) out.push_back(one.load);
  }
  if (out.empty())
    return fail(Code::not_found, exercise.name + ": no load at " + place.name + " is a multiple of the step");
  return out;
}

Result<DemoLifter> make(const Recipe& recipe, const library::Library& exercises, const std::vector<Place>& places,
                        Date today, std::uint64_t seed) {
  DemoLifter out{recipe.lifter, recipe.health, recipe.story, {}, {}};
  const auto place =
      std::find_if(places.begin(), places.end(), [&](const Place& p) { return p.id == out.lifter.place; });
  if (place == places.end()) return fail(Code::not_found, "no place \"" + out.lifter.place + "\"");

  std::vector<simulation::SimulatedLift> lifts;
  std::vector<LiftHabit> habits;
  for (const Part& part : recipe.parts) {
    const Exercise* exercise = exercises.find(part.exercise);
    if (!exercise) return fail(Code::not_found, "the library has no exercise \"" + part.exercise + "\"");
    Result<std::vector<Load>> loads = usable_loads(*place, *exercise, part);
    if (!loads) return tl::unexpected<Error>(loads.error());
    lifts.push_back({*exercise, part.side, part.new_here, kilograms_per_mark(*place, *exercise)});
    LiftHabit habit;
    habit.exercise = *exercise;
    habit.side = part.side;
    habit.loads = std::move(*loads);
    habit.scheme = part.scheme;
    habit.sets = part.sets;
    habit.least_reps = part.least_reps;
    habit.most_reps = part.most_reps;
    habit.target_call = part.target_call;
    habit.ending = part.ending;
    habit.last_set_failure = part.last_set_failure;
    habit.rest_minutes = part.rest_minutes;
    habit.warmups = part.warmups;
    habit.call_chance = part.call_chance;
    habit.measure_speed = part.measure_speed;
    habit.test_every = part.test_every;
    habits.push_back(std::move(habit));
  }

  const Date first = today - recipe.stretches.front().from_days_ago;
  const simulation::Background background{out.lifter.sex, body_mass_on(out.lifter, first).value_or(75),
                                          out.lifter.training_years.value_or(2)};
  Random truths(seed, 1), guesses(seed, 2), course(seed, 3), pen(seed, 4);
  Truth truth = simulation::draw_truth(lifts, background, truths);
  // Everyday values where the priors are wide, so that no lifter is a stranger case than the story says.
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    simulation::LiftTruth& lift = truth.lifts[i];
    const double ratio = capacity::log_strength_ratio(lifts[i].exercise).mean;
    const double scale = lifts[i].kilograms_per_mark > 0 ? std::log(lifts[i].kilograms_per_mark) : 0;
    lift.log_strength = std::log(recipe.level) + ratio - scale + truths.normal(0, 0.08);
    lift.drift = 0.002;
  }
  truth.judgement.bias = std::clamp(truth.judgement.bias, 0.2, 1.6);
  truth.judgement.gain = std::clamp(truth.judgement.gain, 0.75, 1.05);
  const capacity::FatigueConstants usual_fatigue;
  truth.fatigue.a_fast = std::sqrt(truth.fatigue.a_fast * usual_fatigue.a_fast);
  truth.fatigue.a_slow = std::sqrt(truth.fatigue.a_slow * usual_fatigue.a_slow);
  truth.fatigue.tau_fast = std::sqrt(truth.fatigue.tau_fast * usual_fatigue.tau_fast);
  truth.fatigue.lam = 0.5 * (truth.fatigue.lam + usual_fatigue.lam);
  truth.answers_in_halves = out.lifter.answers_in_halves;
  if (recipe.truth) recipe.truth(truth);
  // A guess from sex, body mass and years of training alone.
  const double usual =
      capacity::log_general_level(background.sex, background.body_mass_kg, background.training_years).mean;
  for (std::size_t i = 0; i < habits.size(); ++i) {
    const double guess =
        std::exp(usual + capacity::log_strength_ratio(lifts[i].exercise).mean + guesses.normal(0, 0.15));
    habits[i].first_guess = guess / (lifts[i].kilograms_per_mark > 0 ? lifts[i].kilograms_per_mark : 1);
  }

  std::vector<simulation::TrainingDay> days;
  for (const Stretch& s : recipe.stretches) {
    const auto more =
        simulation::calendar(today - s.from_days_ago, today - s.to_days_ago, s.weekdays, s.sessions, s.missed, course);
    days.insert(days.end(), more.begin(), more.end());
  }
  simulation::LogManner manner = recipe.manner;
  manner.place = place->id;
  manner.body_mass = [&](Date day) { return body_mass_on(out.lifter, day).value_or(75); };
  simulation::SimulatedLifter lifter(lifts, truth, seed);
  simulation::LoggingCoach coach(habits);
  simulation::TrainedLog log = simulation::train(lifter, coach, days, manner, course);
  out.sets = std::move(log.sets);
  for (const simulation::SetResult& behind : log.behind) out.true_reserve.push_back(behind.reserve);

  static constexpr const char* kNotes[] = {"bar speed looked good",        "slept badly",
                                           "grip slipped on the last rep", "felt quick today",
                                           "rushed between sets",          "left hip a little stiff"};
  for (SetRecord& set : out.sets) {
    if (set.kind == SetKind::work && pen.chance(0.006)) set.note = kNotes[pen.integer(0, 5)];
  }
  if (recipe.after) recipe.after(out, pen);
  return out;
}

safety::Intake clear_intake(Date day) {
  safety::Intake intake{day, kCoach, {}};
  for (int q = 0; q < safety::kQuestionCount; ++q) {
    intake.answers.push_back({static_cast<safety::Question>(q), safety::Answer::no, ""});
  }
  return intake;
}

safety::Intake intake_with(Date day, safety::Question question, const std::string& detail) {
  safety::Intake intake = clear_intake(day);
  safety::IntakeAnswer& answer = intake.answers[static_cast<std::size_t>(question)];
  answer.answer = safety::Answer::yes;
  answer.detail = detail;
  return intake;
}

Lifter person(const std::string& id, const std::string& name, Sex sex, int age_days, Date today, double body_mass,
              double years, const std::string& place, const std::string& goal) {
  Lifter out;
  out.id = id;
  out.name = name;
  out.sex = sex;
  out.born = today - age_days;
  out.training_years = years;
  out.place = place;
  out.goal = goal;
  out.body_mass.push_back({today, {body_mass, Unit::kilogram}});
  return out;
}

// Age in days, for a birthday some weeks back.
int years_old(int years, int extra_days) { return years * 365 + years / 4 + extra_days; }

void taken_on(Recipe& r, Date today) {
  const Date first = today - r.stretches.front().from_days_ago;
  r.lifter.since = first;
  if (r.lifter.body_mass.front().date > first) r.lifter.body_mass.front().date = first;
  if (r.health.intakes.empty()) r.health.intakes.push_back(clear_intake(first));
}

void set_trend(Truth& truth, double per_day, double sd) {
  for (simulation::LiftTruth& lift : truth.lifts) {
    lift.trend = lift.trend_mean = per_day;
    lift.trend_sd = sd;
  }
}

void note_pain(DemoLifter& demo, Random& random, const std::string& exercise, const std::string& note, int times) {
  std::vector<std::size_t> fit;
  for (std::size_t i = 0; i < demo.sets.size(); ++i) {
    if (demo.sets[i].exercise == exercise && demo.sets[i].kind == SetKind::work) fit.push_back(i);
  }
  for (int n = 0; n < times && !fit.empty(); ++n) {
    SetRecord& set = demo.sets[fit[static_cast<std::size_t>(random.integer(0, static_cast<int>(fit.size()) - 1))]];
    set.pain = true;
    set.note = note;
  }
}

// ---- The twelve ----------------------------------------------------------------------------------------------------

Recipe plain_case(Date today) {
  Recipe r;
  r.lifter = person("maren", "Maren Tolvik", Sex::female, years_old(34, 60), today, 67, 3, "boathouse",
                    "stronger in the squat, bench press and deadlift");
  r.level = 54;
  r.story = "a clear case: three days a week, every set called, a rep-max test about every eight weeks";
  r.parts = {{"back-squat", Scheme::wave, 4, 4, 8, 2, 3, 2},     {"bench-press", Scheme::wave, 4, 5, 9, 2, 3, 2},
             {"deadlift", Scheme::top_set, 3, 4, 7, 2, 3.5, 2},  {"overhead-press", Scheme::wave, 3, 5, 9, 2, 2.5},
             {"barbell-row", Scheme::straight, 3, 7, 10, 2, 2},  {"lat-pulldown", Scheme::straight, 3, 8, 12, 1, 2, 0},
             {"leg-curl", Scheme::straight, 2, 8, 14, 1, 1.5, 0}};
  for (std::size_t i = 0; i < 4; ++i) r.parts[i].test_every = i == 2 ? 9 : 17;
  r.stretches = {{548, 1, {1, 3, 5}, {{{0}, {1}, {5}, {6}}, {{2}, {3}, {4}}, {{1}, {0}, {4}}}}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.00028, 0.00015);
    const double strength[] = {78, 53, 95, 35, 50, 46, 34};
    for (std::size_t i = 0; i < t.lifts.size(); ++i) t.lifts[i].log_strength = std::log(strength[i]);
    t.judgement = {1.1, 0.85, 0.5, 0.12, 0.1};
    t.sigma = 0.023;
    t.day_sd = 0.011;
    t.fatigue.a_fast = 0.44;
    t.fatigue.a_slow = 0.27;
  };
  r.after = [](DemoLifter& d, Random& random) {
    note_pain(d, random, "overhead-press", "right shoulder pinched, gone next day", 1);
  };
  return r;
}

Recipe under_caller(Date today) {
  Recipe r;
  r.lifter = person("osric", "Osric Banerji", Sex::male, years_old(41, 200), today, 84, 5, "boathouse",
                    "more muscle, chest and back first");
  r.lifter.days_per_week = 4;
  r.level = 104;
  r.story = "always has two or three more than he says";
  r.parts = {{"bench-press", Scheme::straight, 4, 6, 10, 2, 2.5, 2},
             {"barbell-row", Scheme::straight, 4, 8, 12, 2, 2},
             {"leg-press", Scheme::straight, 3, 8, 12, 2, 2.5, 1, 10},
             {"incline-bench-press", Scheme::top_set, 3, 7, 10, 2, 2},
             {"lat-pulldown", Scheme::straight, 3, 8, 12, 1, 2, 0},
             {"lateral-raise", Scheme::straight, 3, 10, 16, 1, 1.5, 0},
             {"romanian-deadlift", Scheme::straight, 3, 6, 10, 2, 2.5, 1, 5},
             {"biceps-curl", Scheme::straight, 2, 8, 14, 1, 1.5, 0}};
  r.parts[0].test_every = 17;
  r.parts[5].last_set_failure = true;
  r.parts[7].last_set_failure = true;
  r.stretches = {{425, 1, {1, 2, 4, 6}, {{{0}, {4}, {5}}, {{2}, {6}}, {{3}, {1}, {7}}}}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.0002, 0.0002);
    t.judgement = {3.0, 1.0, 0.5, 0.08, 0.1};
  };
  return r;
}

Recipe over_caller(Date today) {
  Recipe r;
  r.lifter = person("dunja", "Dunja Petrakis-Ray", Sex::female, years_old(27, 20), today, 61, 2, "studio",
                    "legs and shoulders, general fitness");
  r.lifter.minutes_per_session = 50;
  r.level = 42;
  r.story = "says two are left when there is one; misses reps she thought she had";
  r.parts = {{"chest-press", Scheme::straight, 3, 7, 11, 1, 1.5, 1},
             {"seated-cable-row", Scheme::straight, 3, 8, 12, 1, 1.5, 1},
             {"leg-extension", Scheme::straight, 3, 9, 14, 1, 1.25, 1},
             {"dumbbell-shoulder-press", Scheme::straight, 3, 7, 11, 1, 1.75, 1},
             {"hip-thrust", Scheme::straight, 3, 8, 12, 1, 2, 1, 5},
             {"triceps-pushdown", Scheme::straight, 2, 9, 14, 0, 1.25, 0}};
  r.stretches = {{370, 1, {2, 4, 6}, {{{0}, {1}, {2}}, {{4}, {3}, {5}}}}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.0003, 0.0003);
    t.judgement = {-1.0, 0.95, 0.5, 0.1, 0.1};
  };
  return r;
}

Recipe in_pounds(Date today) {
  Recipe r;
  r.lifter = person("wendell", "Wendell Okoro-Haig", Sex::male, years_old(52, 110), today, 92, 12, "garage",
                    "stay strong, squat and pull");
  r.lifter.body_mass.front().mass = {203, Unit::pound};
  r.lifter.unit = Unit::pound;
  r.level = 104;
  r.story = "trains in a garage and writes pounds; one squat was logged at ten times its load";
  r.parts = {{"back-squat", Scheme::top_set, 3, 5, 8, 2, 3, 2, 5},
             {"bench-press", Scheme::wave, 3, 5, 9, 2, 2.5, 2, 5},
             {"deadlift", Scheme::top_set, 3, 4, 7, 2, 3.5, 2, 10},
             {"overhead-press", Scheme::straight, 3, 5, 8, 2, 2.5, 1, 5},
             {"dumbbell-bench-press", Scheme::straight, 3, 8, 12, 1, 2, 1},
             {"pull-up", Scheme::straight, 3, 3, 8, 1, 2.5, 0, 5}};
  r.parts[1].test_every = 17;
  r.stretches = {{670, 1, {1, 3, 6}, {{{0}, {1}}, {{2}, {3}, {5}}, {{0}, {4}, {5}}}, 0.12}};
  r.manner.rest_known = 0.6;
  r.manner.round_rest_s = 15;
  r.truth = [](Truth& t) { set_trend(t, 0.00008, 0.0002); };
  r.after = [today](DemoLifter& d, Random&) {
    for (SetRecord& set : d.sets) {
      if (set.exercise == "back-squat" && set.kind == SetKind::work && set.date >= today - 66) {
        set.load.amount *= 10;
        break;
      }
    }
  };
  return r;
}

Recipe stalled(Date today) {
  Recipe r;
  r.lifter = person("sunniva", "Sunniva Adeyemi-Roos", Sex::female, years_old(31, 300), today, 70, 1.5, "boathouse",
                    "a bench press of her own body mass");
  r.level = 47;
  r.story = "grew for a year, then nothing moved for five months; bench press with a speed meter";
  r.parts = {{"bench-press", Scheme::straight, 4, 5, 8, 2, 2.5, 2},
             {"front-squat", Scheme::straight, 3, 5, 8, 2, 3, 2},
             {"romanian-deadlift", Scheme::straight, 3, 6, 10, 2, 2.5, 1, 5},
             {"dumbbell-shoulder-press", Scheme::straight, 3, 7, 11, 1, 2, 1},
             {"seated-cable-row", Scheme::straight, 3, 8, 12, 1, 2, 0}};
  r.parts[0].measure_speed = true;
  r.parts[0].test_every = 24;
  r.stretches = {{610, 1, {1, 3, 5}, {{{0}, {1}, {4}}, {{2}, {0}, {3}}}}};
  r.truth = [](Truth& t) {
    for (simulation::LiftTruth& lift : t.lifts) {
      lift.trend = 0.0016;  // halves every 60 days: all but over after a year
      lift.trend_mean = lift.trend_sd = 0;
      lift.drift = 0.0009;
    }
  };
  return r;
}

Recipe back_from_a_break(Date today) {
  Recipe r;
  r.lifter = person("kwabena", "Kwabena Ferreira-Lunt", Sex::male, years_old(38, 5), today, 79, 4, "boathouse",
                    "all-round strength, plays in a weekend league");
  r.level = 88;
  r.story = "ten weeks without training, back for five weeks";
  r.parts = {{"back-squat", Scheme::straight, 3, 5, 8, 2, 3, 2, 2.5, Ending::cue},
             {"bench-press", Scheme::straight, 3, 6, 10, 2, 2.5, 2, 2.5, Ending::cue},
             {"chin-up", Scheme::straight, 3, 5, 9, 1, 2.5, 0, 2.5, Ending::cue},
             {"overhead-press", Scheme::straight, 3, 5, 9, 2, 2.5, 1, 2.5, Ending::cue},
             {"leg-curl", Scheme::straight, 2, 8, 14, 1, 1.5, 0, 2.5, Ending::cue}};
  r.stretches = {{730, 105, {2, 4, 7}, {{{0}, {1}, {4}}, {{0}, {3}, {2}}}, 0.1},
                 {35, 1, {2, 4, 7}, {{{0}, {1}, {4}}, {{0}, {3}, {2}}}, 0}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.00015, 0.0001);
    for (simulation::LiftTruth& lift : t.lifts) lift.drift = 0.001;
    t.layoff_loss = 0.0016;
  };
  return r;
}

Recipe left_and_right(Date today) {
  Recipe r;
  r.lifter = person("tamsin", "Tamsin Quillfeather", Sex::female, years_old(29, 150), today, 58, 2, "boathouse",
                    "even legs after a knee injury");
  r.lifter.answers_in_halves = true;
  r.level = 44;
  r.story = "left leg weaker than the right; answers in halves";
  r.parts = {{"split-squat", Scheme::straight, 3, 7, 11, 1.5, 1.75, 1, 2.5, Ending::planned, 0, false, Side::left},
             {"split-squat", Scheme::straight, 3, 7, 11, 1.5, 1.75, 1, 2.5, Ending::planned, 0, false, Side::right},
             {"single-leg-press", Scheme::straight, 3, 8, 12, 1.5, 1.75, 1, 5, Ending::planned, 0, false, Side::left},
             {"single-leg-press", Scheme::straight, 3, 8, 12, 1.5, 1.75, 1, 5, Ending::planned, 0, false, Side::right},
             {"bench-press", Scheme::wave, 3, 6, 10, 1.5, 2.5, 1},
             {"lat-pulldown", Scheme::straight, 3, 8, 12, 1, 2, 0},
             {"lateral-raise", Scheme::straight, 2, 10, 16, 1, 1.5, 0}};
  r.stretches = {{290, 1, {1, 4, 6}, {{{0, 1}, {4}, {6}}, {{2, 3}, {5}}}}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.0004, 0.0003);
    t.lifts[0].log_strength = t.lifts[1].log_strength - 0.16;
    t.lifts[2].log_strength = t.lifts[3].log_strength - 0.13;
    t.lifts[0].trend = t.lifts[0].trend_mean = 0.0005;
  };
  r.health.pains.push_back({"pain-tamsin-1", today - 75, "split-squat", "left knee sore on the way down", today - 61,
                            "the coach, after a week without pain on stairs"});
  r.after = [today](DemoLifter& d, Random&) {
    // Two weeks without split squats, after a set with pain.
    std::vector<SetRecord> sets;
    std::vector<double> reserve;
    std::optional<std::size_t> last_before;
    for (std::size_t i = 0; i < d.sets.size(); ++i) {
      const bool split = d.sets[i].exercise == "split-squat";
      if (split && d.sets[i].date > today - 75 && d.sets[i].date <= today - 61) continue;
      if (split && d.sets[i].side == Side::left && d.sets[i].date <= today - 75) last_before = sets.size();
      sets.push_back(d.sets[i]);
      reserve.push_back(d.true_reserve[i]);
    }
    if (last_before) {
      sets[*last_before].pain = true;
      sets[*last_before].note = "left knee sore on the way down";
    }
    d.sets = std::move(sets);
    d.true_reserve = std::move(reserve);
  };
  return r;
}

Recipe never_calls(Date today) {
  Recipe r;
  r.lifter = person("casimir", "Casimir Doyle-Nakata", Sex::male, years_old(46, 80), today, 88, 8, "boathouse",
                    "keep what he has, arms if there is time");
  r.level = 96;
  r.story = "never says how many were left, few rests written down; on hold since he reported chest tightness";
  r.parts = {{"bench-press", Scheme::straight, 3, 6, 10, 2, 2.5, 1},
             {"leg-press", Scheme::straight, 3, 8, 12, 2, 2.5, 1, 10},
             {"lat-pulldown", Scheme::straight, 3, 8, 12, 2, 2, 1},
             {"triceps-pushdown", Scheme::straight, 3, 9, 14, 2, 1.5, 0},
             {"biceps-curl", Scheme::straight, 3, 8, 13, 2, 1.5, 0},
             {"calf-raise", Scheme::straight, 3, 10, 16, 2, 1.5, 0}};
  for (Part& part : r.parts) {
    part.call_chance = 0;
    part.ending = Ending::own_feeling;
  }
  r.stretches = {{912, 10, {2, 5}, {{{0}, {2}, {3}}, {{1}, {4}, {5}}}, 0.15}};
  r.manner.rest_known = 0.15;
  r.manner.stop_known = false;
  r.manner.round_rest_s = 30;
  r.truth = [](Truth& t) {
    set_trend(t, 0.00008, 0.0002);
    t.stopping_reserve = {2.2, 1.8, 1.2};
  };
  r.health.intakes = {clear_intake(today - 912), intake_with(today - 9, safety::Question::symptoms,
                                                             "tightness in the chest on the stairs, twice this week")};
  r.health.holds.push_back({"hold-casimir-1", today - 9,
                            "tightness in the chest on the stairs: to be seen by a clinician first",
                            safety::Question::symptoms, std::nullopt, ""});
  return r;
}

Recipe body_mass_lifts(Date today) {
  Recipe r;
  r.lifter = person("petra", "Petra Mbeki-Solberg", Sex::female, years_old(44, 250), today, 71.5, 4, "boathouse",
                    "ten clean pull-ups");
  r.level = 52;
  r.story = "pull-ups, chin-ups, dips and press-ups while losing eight kilograms";
  r.parts = {{"pull-up", Scheme::straight, 4, 4, 8, 1, 2.5, 0, 2.5},
             {"dip", Scheme::straight, 3, 5, 9, 2, 2.5, 0, 2.5},
             {"chin-up", Scheme::straight, 3, 4, 8, 1, 2.5, 0, 2.5},
             {"press-up", Scheme::straight, 3, 8, 16, 2, 2, 0, 5},
             {"hip-thrust", Scheme::straight, 3, 7, 11, 2, 2.5, 1, 5}};
  r.parts[0].test_every = 16;
  r.stretches = {{490, 1, {1, 3, 5}, {{{0}, {1}, {4}}, {{2}, {3}}}}};
  r.lifter.body_mass.clear();
  for (int days_ago = 490; days_ago >= 0; days_ago -= 14) {
    const double share = std::clamp((490 - days_ago) / 400.0, 0.0, 1.0);
    r.lifter.body_mass.push_back({today - days_ago, {std::round((71.5 - 8.2 * share) * 10) / 10, Unit::kilogram}});
  }
  r.manner.write_body_mass = true;
  r.truth = [](Truth& t) {
    set_trend(t, 0.0001, 0.0002);
    const double strength[] = {80, 92, 84, 66};  // total load: body mass counts in all four
    for (std::size_t i = 0; i < 4; ++i) t.lifts[i].log_strength = std::log(strength[i]);
  };
  return r;
}

Recipe minor(Date today) {
  Recipe r;
  r.lifter = person("rune", "Rune Achterberg", Sex::male, years_old(16, 130), today, 63, 0.6, "boathouse",
                    "rowing: strong legs and back");
  r.level = 56;
  r.story = "16, with a guardian's consent: three in reserve, no tests, nothing to failure";
  r.parts = {{"front-squat", Scheme::straight, 3, 6, 10, 3, 2.5, 1},
             {"dumbbell-bench-press", Scheme::straight, 3, 8, 12, 3, 2, 1},
             {"barbell-row", Scheme::straight, 3, 8, 12, 3, 2, 1},
             {"press-up", Scheme::straight, 2, 8, 15, 3, 1.5, 0, 5},
             {"seated-cable-row", Scheme::straight, 2, 10, 14, 3, 1.5, 0}};
  r.stretches = {{200, 1, {2, 6}, {{{0}, {1}, {4}}, {{0}, {2}, {3}}}, 0.1}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.0009, 0.0003);
    t.judgement = {1.4, 0.8, 0.7, 0.15, 0.2};
  };
  r.health.consent = safety::GuardianConsent{today - 203, "Liv Achterberg (mother)", kCoach};
  return r;
}

Recipe clinicians_word(Date today) {
  Recipe r;
  r.lifter = person("halvard", "Halvard Nwosu-Bright", Sex::male, years_old(68, 40), today, 81, 6, "studio",
                    "carry the canoe without help, steady on the stairs");
  r.lifter.days_per_week = 2;
  r.level = 66;
  r.story = "68, treated blood pressure: trains inside the limits his physician set";
  r.parts = {{"chest-press", Scheme::straight, 3, 9, 13, 3, 2, 1},
             {"seated-cable-row", Scheme::straight, 3, 9, 13, 3, 2, 1},
             {"leg-extension", Scheme::straight, 3, 10, 14, 3, 1.5, 1},
             {"leg-curl", Scheme::straight, 2, 10, 14, 3, 1.5, 0},
             {"lat-pulldown", Scheme::straight, 3, 9, 13, 3, 2, 1},
             {"calf-raise", Scheme::straight, 2, 10, 16, 3, 1.5, 0}};
  r.stretches = {{395, 1, {2, 5}, {{{0}, {2}, {5}}, {{4}, {1}, {3}}}, 0.08}};
  r.truth = [](Truth& t) {
    set_trend(t, 0.0001, 0.00015);
    t.judgement = {1.2, 0.85, 0.6, 0.12, 0.2};
  };
  r.health.intakes = {
      intake_with(today - 395, safety::Question::heart_disease, "high blood pressure, treated for six years")};
  r.health.holds.push_back({"hold-halvard-1", today - 395, "high blood pressure: a clinician's word is needed",
                            safety::Question::heart_disease, std::nullopt, ""});
  safety::ClinicianWord word;
  word.id = "word-halvard-1";
  word.date = today - 393;
  word.clinician = "Dr Amadi-Frost";
  word.recorded_by = kCoach;
  word.least_reserve = 3;
  word.load_cap_share = 0.75;
  word.not_exercises = {"deadlift", "back-squat", "leg-press"};
  word.until = today + 85;
  word.lifts_holds = {"hold-halvard-1"};
  word.note = "no held breath; stop at dizziness; blood pressure taken before each session";
  r.health.words.push_back(word);
  return r;
}

Recipe beginner(Date today) {
  Recipe r;
  r.lifter = person("idris", "Idris Vanterpool-Kim", Sex::male, years_old(23, 90), today, 74, 0, "boathouse",
                    "learn the lifts, gain some size");
  r.level = 58;
  r.story = "a beginner in his third week";
  r.parts = {{"back-squat", Scheme::straight, 3, 6, 10, 3, 2.5, 1},
             {"bench-press", Scheme::straight, 3, 6, 10, 3, 2.5, 1},
             {"seated-cable-row", Scheme::straight, 3, 8, 12, 3, 2, 0},
             {"romanian-deadlift", Scheme::straight, 3, 8, 10, 3, 2.5, 1, 5},
             {"overhead-press", Scheme::straight, 3, 6, 10, 3, 2.5, 0}};
  for (Part& part : r.parts) part.new_here = true;
  r.stretches = {{17, 1, {1, 3, 5}, {{{0}, {1}, {2}}, {{3}, {4}, {2}}}, 0}};
  r.truth = [](Truth& t) { t.judgement = {2.0, 0.75, 0.9, 0.2, 0.2}; };
  return r;
}

}  // namespace

std::vector<Place> demo_places() {
  const auto kg = [](double amount) { return Load{amount, Unit::kilogram}; };
  const auto lb = [](double amount) { return Load{amount, Unit::pound}; };

  Place boathouse;
  boathouse.id = "boathouse";
  boathouse.name = "Lantern Quay boathouse";
  boathouse.bars = {{"olympic", kg(20)}, {"short", kg(15)}, {"trap", kg(25)}};
  boathouse.plates = {{kg(25), 3},  {kg(20), 4},   {kg(15), 2},  {kg(10), 3},  {kg(5), 2},
                      {kg(2.5), 2}, {kg(1.25), 2}, {kg(0.5), 2}, {kg(0.25), 1}};
  for (int i = 1; i <= 10; ++i) boathouse.dumbbells.push_back(kg(i));
  for (double mass = 12; mass <= 20; mass += 2) boathouse.dumbbells.push_back(kg(mass));
  for (double mass = 22.5; mass <= 45; mass += 2.5) boathouse.dumbbells.push_back(kg(mass));
  for (const double mass : {8, 12, 16, 20, 24, 32}) boathouse.kettlebells.push_back(kg(mass));
  boathouse.stacks = {{"", stack_steps(5, 5, 24, Unit::kilogram)},
                      {"triceps-pushdown", stack_steps(2.5, 2.5, 24, Unit::kilogram)},
                      {"calf-raise", stack_steps(10, 10, 24, Unit::kilogram)}};
  boathouse.safety_bars = true;

  Place garage;
  garage.id = "garage";
  garage.name = "the garage on Pilot Street";
  garage.unit = Unit::pound;
  garage.bars = {{"olympic", lb(45)}};
  garage.plates = {{lb(45), 5}, {lb(35), 1}, {lb(25), 1}, {lb(10), 2}, {lb(5), 2}, {lb(2.5), 1}};
  for (double mass = 10; mass <= 90; mass += 5) garage.dumbbells.push_back(lb(mass));
  garage.without = {"leg-press", "single-leg-press", "hack-squat"};
  garage.safety_bars = true;

  Place studio;
  studio.id = "studio";
  studio.name = "Saltmarsh studio";
  studio.bars = {{"short", kg(15)}};
  studio.plates = {{kg(20), 2}, {kg(10), 2}, {kg(5), 2}, {kg(2.5), 2}, {kg(1.25), 1}};
  for (int i = 1; i <= 10; ++i) studio.dumbbells.push_back(kg(i));
  for (double mass = 12.5; mass <= 30; mass += 2.5) studio.dumbbells.push_back(kg(mass));
  studio.stacks = {{"", {}},
                   {"chest-press", stack_steps(1, 1, 20, Unit::mark)},
                   {"leg-extension", stack_steps(1, 1, 18, Unit::mark)},
                   {"leg-curl", stack_steps(1, 0.5, 29, Unit::mark)},
                   {"triceps-pushdown", stack_steps(3.5, 3.4, 18, Unit::kilogram)}};
  // The first plate is lighter than the others.
  studio.stacks.front().steps.push_back(kg(4.5));
  for (int i = 0; i < 17; ++i) studio.stacks.front().steps.push_back(kg(std::round((11.3 + 6.8 * i) * 10) / 10));
  studio.without = {"back-squat", "deadlift"};
  return {boathouse, garage, studio};
}

Result<std::vector<DemoLifter>> demo_roster(const library::Library& exercises, Date today, std::uint64_t seed) {
  std::vector<Recipe> recipes = {plain_case(today),     under_caller(today),    over_caller(today),
                                 in_pounds(today),      stalled(today),         back_from_a_break(today),
                                 left_and_right(today), never_calls(today),     body_mass_lifts(today),
                                 minor(today),          clinicians_word(today), beginner(today)};
  const std::vector<Place> places = demo_places();
  std::vector<DemoLifter> out;
  for (Recipe& recipe : recipes) {
    taken_on(recipe, today);
    // Streams apart for each lifter, whatever the seed.
    Result<DemoLifter> one = make(recipe, exercises, places, today, seed * 1000 + out.size());
    if (!one) return tl::unexpected<Error>(one.error());
    out.push_back(std::move(*one));
  }
  return out;
}

}  // namespace ullage::coach
