// Why nothing fits: a set of rules that cannot all be kept, of which none can be spared.
#pragma once

#include <string>
#include <vector>

#include "engine/planning/block_model.h"
#include "engine/planning/mip.h"

namespace ullage::planning {

struct Contradiction {
  std::vector<std::string> rules;  // in words; drop any one and a plan exists
  bool irreducible = true;         // false: the deadline came first, and some may be spared
  bool feasible = false;           // a plan exists after all: nothing contradicts
};

// A deletion filter over the programme's named rules, halving first, with the objective taken out: each step asks the
// solver whether a part of the rules can be kept. seconds: for all of it; every question gets a share. Cost: about
// twice as many small solves as rules in the answer times log2 of the rules.
Result<Contradiction> find_contradiction(const Mip& mip, const MipSolver& solve, double seconds);

// The programme with only these rules, and nothing to gain.
Mip with_rules(const Mip& mip, const std::vector<bool>& kept);

}  // namespace ullage::planning
