// Feelings that start afresh at each repetition.
//
// The model takes one z for all that is felt in a set (set_likelihood.h). Some lifters' feeling jumps about from rep to
// rep instead: then a stop on a cue is the first rep that happens to feel hard,
//
//   P(stop at n) = P(heard(C - n) <= c) * product over j < n of P(heard(C - j) > c),   each with its own z,
//
// which comes earlier and scatters more. Who is taken for one kind and is of the other gets a wrong judgement (the cue
// shift off by two sds, b by one) and intervals that hold far too seldom. Which of both a log's stops on cues speak for
// is weighed in fit.cc.
#pragma once

#include "engine/base/quadrature.h"
#include "engine/capacity/set_integral.h"
#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// One panel of the integral over z of M, from low to high, of a set felt so. order, calls: how many derivatives, and by
// how many of the call's parameters. terms: of the normal tail's series. Cost: one normal probability more for each
// node and rep at which the cue could have been felt.
void integrate_each_rep(const Integrand& f, double low, double high, const QuadratureRule& nodes, std::size_t terms,
                        int order, int calls, Sums& sums);

// The first rep n >= 1 up to which the chance of going on has come down to P(Z > z); one more than can be done where
// failure comes first. Cost: some 20 normal probabilities.
double first_felt(const Judgement& judgement, double capacity, const Cell& cue, double z);

// Sets that were waited on for a cue, whether it stopped them or not.
int sets_with_cue(const TrainingLog& log);
// All of them are taken as felt anew at each rep, or as felt once.
void feel_each_rep(TrainingLog& log, bool each_rep);

}  // namespace ullage::capacity
