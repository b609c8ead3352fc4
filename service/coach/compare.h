// Ways to train one exercise compared, for a lifter as estimated today or for one nobody has measured.
//
//   auto view = compare_ways(desk, {.lifter = "ines", .exercise = "bench press", .strategies = {"failure",
//   "reserve:2"}}); view->finding      // "2 in reserve brings 97 % of the stimulus of all to failure ..."
//
// A what-if, never a prescription: it runs also where a hold, a limit or the reserve policy stands against a way, and
// says so in `cautions`.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/comparing/compare.h"
#include "engine/drawing/picture.h"
#include "service/coach/desk.h"
#include "service/coach/estimates.h"
#include "service/coach/views.h"

namespace ullage::coach {

// A load as it is asked for: one of the three.
struct LoadAsked {
  std::optional<Load> load;     // as written in a log
  std::optional<double> share;  // of strength, 0.75
  std::optional<int> reps;      // the load that allows so many reps to failure, fresh
};

struct CompareWish {
  std::string lifter;  // id or name; empty: an average lifter
  std::string exercise;
  Side side = Side::both;
  std::vector<std::string> strategies;  // comparing::parse_way; at least one
  std::vector<LoadAsked> loads;         // none: middle of the policy's zone; one for all; or one a strategy
  std::optional<int> sets;              // else the lists' length, else the policy's
  std::optional<double> rest_s;         // else the policy's
  comparing::Basis basis = comparing::Basis::sets;
  std::optional<Date> date;
  std::string place;
};

struct CompareView {
  std::optional<Lifter> lifter;  // empty: an average one
  Exercise exercise;
  Side side = Side::both;
  Date date;
  int sets = 0;
  double rest_s = 0;
  bool marks = false;  // loads are marks of a machine
  bool known = true;   // false: never done here, from related exercises or the priors alone
  double learned_fatigability = 0;
  std::vector<Load> loads;            // one a strategy, as written; empty for an average lifter
  std::vector<double> shares;         // one a strategy: of strength, median
  std::vector<std::string> readings;  // of the stimulus, in the order of Outcome::stimulus
  comparing::Comparison comparison;
  std::string finding;                // one sentence in plain words
  std::vector<std::string> cautions;  // what stands against a way, and what this is not
};

// not_found, invalid_input: one line per fault. Cost: the fit when it is out of date, else about 20 ms a strategy.
Result<CompareView> compare_ways(Desk& desk, const CompareWish& wish, const Share& progress = {});

// A log margin lost as the share of strength that is lost (0.15 is 14 %); of a difference, what is left less than the
// other way.
capacity::Interval strength_lost(const capacity::Interval& log_margin);

Json to_json(const CompareView& view);
// Rows of vessels, one for each way, with what it brings and costs.
drawing::Picture compare_picture(const CompareView& view);

// "4.4 sets" with the part as sessions, "4 sets, and a 5th in 4 of 10 sessions".
std::string sets_words(double sets);

}  // namespace ullage::coach
