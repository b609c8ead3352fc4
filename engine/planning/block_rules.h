// Does a plan keep the rules? Reads problem and plan alone and shares nothing with the programme or the search but the
// words of the rules, so that it can judge both.
#pragma once

#include <string>
#include <vector>

#include "engine/planning/block.h"

namespace ullage::planning {

struct Breach {
  int week = -1, day = -1;  // -1: of the whole block, of the whole week
  std::string rule;         // in words
  std::string found;        // what the plan does instead
};

// Every rule that is broken, week by week; empty: none. Also such rules as hold by construction in the programme: an
// exercise stays for its phase, failure only on the last set and as seldom as its spacing says by date, no failure of
// the same muscles before a test.
std::vector<Breach> breaches_of(const BlockProblem& problem, const BlockPlan& plan);

}  // namespace ullage::planning
