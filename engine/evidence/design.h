// From the columns of a study table to the columns of a regression.
//
//   const auto terms = resolve({{Shape::straight, "weeks"}, {Shape::spline, "reserve"}}, columns);
//   const Eigen::MatrixXd x = terms->matrix(columns);        // intercept first
//   const auto told = check_design(x, terms->names());       // what cannot be told apart, in words
//
// A resolved term has its knots and levels fixed, so that the same curve can be evaluated at other values.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/result.h"

namespace ullage::evidence {

// A moderator: numbers (NaN where missing) or words ("" where missing), one for each effect.
struct Column {
  std::string name;
  bool numeric = true;
  std::vector<double> numbers;
  std::vector<std::string> words;
  std::size_t size() const { return numeric ? numbers.size() : words.size(); }
  bool missing(std::size_t i) const;
};
const Column* find_column(const std::vector<Column>& columns, const std::string& name);

enum class Shape {
  straight,   // a number's slope; words become levels against the first in the order of their bytes
  quadratic,  // x and x^2
  spline,     // restricted cubic spline: straight beyond the outer knots
  levels,     // each value its own level, numbers too
  product     // interaction of two columns
};
struct Term {
  Shape shape = Shape::straight;
  std::string column;
  std::string with;           // product: the other column
  std::vector<double> knots;  // spline; empty: `knot_count` quantiles of the column
  int knot_count = 3;         // 3 to 5
};

class Terms {
 public:
  // Names of the design's columns: "intercept", "weeks", "reserve^2", "trained = yes", "weeks x volume".
  const std::vector<std::string>& names() const { return names_; }
  // The columns the terms need, each once.
  std::vector<std::string> columns() const;
  // One row an effect. The columns must be there and complete. A word that is no known level: invalid_input.
  Result<Eigen::MatrixXd> matrix(const std::vector<Column>& columns) const;
  // Knots in use for a column; empty when it is in no spline.
  std::vector<double> knots(const std::string& column) const;
  // The levels of a column of words, the reference first; empty when it is in no term.
  std::vector<std::string> levels(const std::string& column) const;

 private:
  friend Result<Terms> resolve(const std::vector<Term>& terms, const std::vector<Column>& columns);
  struct Levels {
    std::string column;
    std::vector<std::string> all;  // reference first; empty: numeric, one slope
  };
  struct Part {
    Term term;
    Levels first, second;
  };
  std::vector<Part> parts_;
  std::vector<std::string> names_;
};

// Fixes knots (at quantiles .1 .5 .9; .05 .35 .65 .95; .05 .275 .5 .725 .95: Harrell 2015, Regression Modeling
// Strategies, 2nd ed., table 2.3) and levels from the columns. Errors, invalid_input: no such column, a curve through
// words, fewer than 3 knots that differ, one level only.
Result<Terms> resolve(const std::vector<Term>& terms, const std::vector<Column>& columns);

// Rows in which every needed column has a value.
std::vector<std::size_t> complete_rows(const std::vector<std::string>& needed, const std::vector<Column>& columns,
                                       std::size_t rows);

// Restricted cubic spline of x with knots t_1 < ... < t_k, k >= 3: x and k - 2 further terms
// [(x-t_j)+^3 - (x-t_{k-1})+^3 (t_k-t_j)/(t_k-t_{k-1}) + (x-t_k)+^3 (t_{k-1}-t_j)/(t_k-t_{k-1})] / (t_k-t_1)^2.
// Harrell 2015, section 2.4.5.
std::vector<double> spline_basis(double x, const std::vector<double>& knots);

// Error (invalid_input) when there are no more effects than coefficients, or when terms cannot be told apart: says
// which term follows from which others.
Result<void> check_design(const Eigen::MatrixXd& x, const std::vector<std::string>& names);

}  // namespace ullage::evidence
