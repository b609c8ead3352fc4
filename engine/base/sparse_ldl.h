// Sparse symmetric positive definite systems: factor, log-determinant, solve, and the entries of the
// inverse on the pattern of the factor (Takahashi, Fagan, Chen 1973).
//
// Eigen's SimplicialLDLT reports success on an indefinite matrix, so the pivots are checked here.
#pragma once

#include <Eigen/Sparse>
#include <Eigen/SparseCholesky>
#include <vector>

namespace ullage {

class SparseLdl {
 public:
  using Matrix = Eigen::SparseMatrix<double>;  // lower triangle, compressed

  // Fill-reducing order and symbolic factor; the pattern must stay the same for every `factor` after it.
  void analyse(const Matrix& lower);
  // False when the matrix is not positive definite (some pivot not above 0).
  bool factor(const Matrix& lower);
  double log_determinant() const;  // of the matrix, after a successful factor
  Eigen::VectorXd solve(const Eigen::VectorXd& b) const { return solver_.solve(b); }
  Eigen::MatrixXd solve(const Eigen::MatrixXd& b) const { return solver_.solve(b); }
  long nonzeros() const;

  // Computes the inverse on the pattern of L; cost like a few factorisations.
  void invert();
  // Entry (i, j) of the inverse after invert(); both indices must meet in the pattern of the matrix
  // (or of its factor), else 0 is returned.
  double inverse(int i, int j) const;

 private:
  Eigen::SimplicialLDLT<Matrix, Eigen::Lower, Eigen::AMDOrdering<int>> solver_;
  std::vector<int> column_;    // start of each column of L (strictly lower)
  std::vector<int> row_;       // row indices, rising within a column
  std::vector<double> value_;  // of the inverse, same pattern
  std::vector<double> diagonal_;
};

}  // namespace ullage
