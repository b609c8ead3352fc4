// Solves a mixed-integer programme with the CBC program, run as a child process.
//
// A child process, because the library keeps state of its own: two solves at once in one process lose solutions
// (known, open), and a crash or a hang must not take the coach's data with it. The model goes over as an MPS file with
// a start file; the child has a deadline of its own, and is stopped from here when it overruns that by kPatience or
// when the caller says so. The best solution known is kept in every case: the child's if it wrote one, else the start.
//
//   const MipSolver solve = cbc_solver();
//   const auto answer = solve(mip, {.seconds = 5});
//   // answer->end, answer->at, answer->bound
#pragma once

#include <string>

#include "engine/planning/mip.h"

namespace ullage::solver {

inline constexpr double kPatience = 3;  // seconds beyond the deadline before the child is killed

// Where the program is: `named`, else "cbc" on the search path. unavailable: says which package holds it.
Result<std::string> find_cbc(const std::string& named = "");

// Errors of the returned function: unavailable when the program is missing or cannot be started, internal when it
// ends without a word that can be read. Answers are checked against the model: a solution that breaks a row by more
// than 1e-5 is not taken. Any number may run at the same time.
planning::MipSolver cbc_solver(const std::string& named = "");

// One line of the program's progress: best value and bound as maximised; empty where the line tells none.
struct CbcProgress {
  std::optional<double> value, bound;
};
CbcProgress read_progress(const std::string& line);
// Whether the line says that no solution exists. "No feasible solution found" does not: the program says so too when
// its time ran out.
bool says_infeasible(const std::string& line);

}  // namespace ullage::solver
