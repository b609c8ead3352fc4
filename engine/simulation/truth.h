// What is true of a simulated lifter, and how such truths are drawn.
//
// Every quantity is one that the model (engine/capacity) estimates, so that an estimate can be held against
// it. Truths come from the model's own priors, or are set by hand field by field.
#pragma once

#include <array>
#include <cmath>
#include <vector>

#include "engine/base/random.h"
#include "engine/capacity/fatigue.h"
#include "engine/capacity/judgement.h"
#include "engine/training/exercise.h"
#include "engine/training/lifter.h"
#include "engine/training/set_record.h"

namespace ullage::simulation {

// One exercise done with one side: it has a strength of its own.
struct SimulatedLift {
  Exercise exercise;
  Side side = Side::both;
  bool new_here = false;          // never done before: the first two sessions carry the practice offset
  double kilograms_per_mark = 0;  // > 0: the machine shows marks of this many kg, and strength is in marks
};

struct LiftTruth {
  double log_strength = std::log(80.0);  // log of the one-repetition maximum as total load, on the first day
  double trend = 0;                      // log strength per day on the first day
  double trend_mean = 0;                 // what the trend returns to
  double trend_sd = 0;                   // how far it usually is from there
  double drift = 0.004;                  // q, log strength per square root of a day
  double endurance = 32;                 // k of the capacity curve, above 2
  double shape = 1;                      // p of the capacity curve
  double practice = 0;                   // log strength missing in the first two sessions of a new exercise
  double speed_at_failure = 0.25;        // m/s of the last rep with nothing left ...
  double speed_slope = 0.035;            // ... and more of it per rep left
  double speed_noise = 0.04;             // m/s
};

struct Truth {
  std::vector<LiftTruth> lifts;  // as the lifts they were drawn for
  capacity::FatigueConstants fatigue;
  double residual = 0.0165;  // A_day: margin missing right after a session, per spent margin
  capacity::Judgement judgement;
  double sigma = 0.025;         // set noise, log strength
  double day_sd = 0.012;        // readiness of the day, log strength
  double layoff_loss = 0.0008;  // log strength lost per day without training after the fourteenth
  std::array<double, 3> stopping_reserve{2.5, 2.5, 2.5};  // by class: usual reserve of a set stopped on their own
  bool answers_in_halves = false;
  bool open_answers = true;  // says "5+" rather than counting on
};

// What is known of a lifter before the first set; decides where truths are drawn from.
struct Background {
  Sex sex = Sex::unknown;
  double body_mass_kg = 75;
  double training_years = 2;
};

// A truth from the priors (engine/capacity/priors.h). Sides of one exercise share endurance and differ little in
// strength.
Truth draw_truth(const std::vector<SimulatedLift>& lifts, const Background& background, Random& random);

// First guesses of strength (total load, kg or marks) as someone would make who knows the background only:
// independent of every truth. One for each lift.
std::vector<double> first_guesses(const std::vector<SimulatedLift>& lifts, const Background& background,
                                  Random& random);

}  // namespace ullage::simulation
