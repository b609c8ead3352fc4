// A mixed-integer programme as plain data: columns, rows, and the named rules that rows belong to. No solver in sight.
//
//   Mip mip;
//   const int x = mip.add_column("x", 0, 10, 3.0, true);          // 0 <= x <= 10 whole, worth 3 each
//   mip.add_row("room", -kNoLimit, 20, {{x, 4}}, mip.add_rule("20 minutes on Mon"));
//   const std::string mps = to_mps(mip);                           // for any solver that reads MPS
//
// The objective is always maximised.
#pragma once

#include <functional>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/result.h"

namespace ullage::planning {

inline constexpr double kNoLimit = std::numeric_limits<double>::infinity();

struct MipColumn {
  std::string name;  // no blanks
  double low = 0, high = kNoLimit;
  double worth = 0;  // in the objective
  bool whole = false;
};
struct MipTerm {
  int column = 0;
  double factor = 1;
};
struct MipRow {
  std::string name;
  double low = -kNoLimit, high = kNoLimit;
  std::vector<MipTerm> terms;
  int rule = -1;  // index into Mip::rules; -1: part of the structure, never dropped
};

struct Mip {
  std::vector<MipColumn> columns;
  std::vector<MipRow> rows;
  std::vector<std::string> rules;  // in words

  int add_column(std::string name, double low, double high, double worth, bool whole);
  // Terms of one column are added up. Rows that bind nothing (both sides unlimited) are left out.
  void add_row(std::string name, double low, double high, std::vector<MipTerm> terms, int rule = -1);
  int add_rule(std::string words);
};

// Free-format MPS, said on its first line (without that word CBC reads fixed columns); the objective is written
// negated, to be minimised, since not every reader knows a sense.
std::string to_mps(const Mip& mip);

// Value of the objective, and the largest breach of a row, bound or wholeness at this point.
double worth(const Mip& mip, const std::vector<double>& at);
double worst_breach(const Mip& mip, const std::vector<double>& at);

struct MipWish {
  double seconds = 10;        // deadline
  double gap = 0.005;         // good enough: this share of the value under the bound
  std::vector<double> start;  // a solution to start from; empty: none
  // Told the seconds gone, the best value so far and the bound (empty while unknown); false stops.
  std::function<bool(double seconds, std::optional<double> value, std::optional<double> bound)> progress;
  bool hard_cuts = false;  // pays in small programmes: slower at first, and a bound that is much nearer
};
enum class MipEnd { optimal, good_enough, deadline, cancelled, infeasible };
struct MipAnswer {
  MipEnd end = MipEnd::deadline;
  std::vector<double> at;   // empty: no solution known
  double value = 0;         // of `at`
  double bound = kNoLimit;  // no solution is worth more
  double seconds = 0;
  double gap() const;  // (bound - value) / |value|; 0 when proven
};
// Whoever solves: service/solver runs a program. An error is about the solver (missing, crashed), never the model.
using MipSolver = std::function<Result<MipAnswer>(const Mip&, const MipWish&)>;

}  // namespace ullage::planning
