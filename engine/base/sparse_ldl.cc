#include "engine/base/sparse_ldl.h"

#include <algorithm>
#include <cmath>

namespace ullage {

void SparseLdl::analyse(const Matrix& lower) { solver_.analyzePattern(lower); }

bool SparseLdl::factor(const Matrix& lower) {
  solver_.factorize(lower);
  return solver_.info() == Eigen::Success && solver_.vectorD().minCoeff() > 0;
}

double SparseLdl::log_determinant() const { return solver_.vectorD().array().log().sum(); }

long SparseLdl::nonzeros() const { return solver_.matrixL().nestedExpression().nonZeros(); }

void SparseLdl::invert() {
  const Matrix& factor = solver_.matrixL().nestedExpression();
  const auto n = static_cast<int>(factor.cols());
  column_.assign(static_cast<std::size_t>(n) + 1, 0);
  row_.clear();
  std::vector<double> l;
  for (int j = 0; j < n; ++j) {
    for (Matrix::InnerIterator it(factor, j); it; ++it) {
      if (it.row() <= j) continue;
      row_.push_back(static_cast<int>(it.row()));
      l.push_back(it.value());
    }
    column_[static_cast<std::size_t>(j) + 1] = static_cast<int>(row_.size());
  }
  value_.assign(l.size(), 0);
  diagonal_.assign(static_cast<std::size_t>(n), 0);
  const Eigen::VectorXd& d = solver_.vectorD();
  std::vector<int> where(static_cast<std::size_t>(n), -1);  // position of a row in the current column
  std::vector<double> sum;
  for (int j = n - 1; j >= 0; --j) {
    const int begin = column_[static_cast<std::size_t>(j)];
    const int end = column_[static_cast<std::size_t>(j) + 1];
    sum.assign(static_cast<std::size_t>(end - begin), 0);
    for (int p = begin; p < end; ++p) where[static_cast<std::size_t>(row_[static_cast<std::size_t>(p)])] = p - begin;
    for (int p = begin; p < end; ++p) {
      const auto k = static_cast<std::size_t>(row_[static_cast<std::size_t>(p)]);
      const double lk = l[static_cast<std::size_t>(p)];
      double own = diagonal_[k] * lk;
      for (int q = column_[k]; q < column_[k + 1]; ++q) {
        const int at = where[static_cast<std::size_t>(row_[static_cast<std::size_t>(q)])];
        if (at < 0) continue;
        sum[static_cast<std::size_t>(at)] += value_[static_cast<std::size_t>(q)] * lk;
        own += value_[static_cast<std::size_t>(q)] * l[static_cast<std::size_t>(begin + at)];
      }
      sum[static_cast<std::size_t>(p - begin)] += own;
    }
    double diagonal = 1 / d(j);
    for (int p = begin; p < end; ++p) {
      value_[static_cast<std::size_t>(p)] = -sum[static_cast<std::size_t>(p - begin)];
      diagonal -= l[static_cast<std::size_t>(p)] * value_[static_cast<std::size_t>(p)];
      where[static_cast<std::size_t>(row_[static_cast<std::size_t>(p)])] = -1;
    }
    diagonal_[static_cast<std::size_t>(j)] = diagonal;
  }
}

double SparseLdl::inverse(int i, int j) const {
  const auto& place = solver_.permutationP().indices();
  int a = place(i);
  int b = place(j);
  if (a == b) return diagonal_[static_cast<std::size_t>(a)];
  if (a < b) std::swap(a, b);  // row a, column b
  const auto begin = row_.begin() + column_[static_cast<std::size_t>(b)];
  const auto end = row_.begin() + column_[static_cast<std::size_t>(b) + 1];
  const auto found = std::lower_bound(begin, end, a);
  if (found == end || *found != a) return 0;
  return value_[static_cast<std::size_t>(found - row_.begin())];
}

}  // namespace ullage
