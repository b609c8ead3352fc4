#include "engine/evidence/multilevel.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/QR>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <numeric>
#include <set>
#include <utility>

#include "engine/base/dual.h"
#include "engine/evidence/design.h"
#include "engine/evidence/distributions.h"

namespace ullage::evidence {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kMostIterations = 500;

using std::log;
using std::sqrt;
template <int N>
Dual<N> sqrt(const Dual<N>& a) {
  const double root = std::sqrt(a.value);
  return a.chain(root, 0.5 / root);
}

// A run of effects that share a group.
struct Run {
  std::size_t begin = 0, end = 0;
};

// The data in tree order, with the design in an orthonormal basis and y as what least squares leaves of it: restricted
// and full likelihoods do not see the difference, and nothing large cancels.
struct Tree {
  std::size_t n = 0;
  int p = 0, q = 0;       // columns of the basis; of A = [basis, y, 1, sqrt v]
  int one = 0, root = 0;  // where 1 and sqrt v stand in A; root < 0: no correlation
  double correlation = 0;
  int grouping = 0;                    // levels with groups of several effects
  int effect_level = -1;               // the level on which every effect is its own group
  std::vector<double> a;               // row by row
  std::vector<double> own;             // (1 - rho) v
  std::vector<std::vector<Run>> runs;  // of each grouping level, in order; each lies within one run of the level above
  MatrixXd r;                          // x = basis r
  VectorXd b0;                         // least squares, in x
  double mean_v = 0, spread = 0;       // mean v; rough tau^2
};

struct Likelihood {
  double value = 0;
  std::array<double, kMostLevels> gradient{};
};

// Inner products of one group, lower triangle, and the log-determinant of its covariance.
template <class T>
struct Products {
  std::vector<T> g;
  T log_det{0.0};
};

inline std::size_t at(int i, int j) {
  return static_cast<std::size_t>(i) * (static_cast<std::size_t>(i) + 1) / 2 + static_cast<std::size_t>(j);
}
inline std::size_t cell(int i, int j) { return i >= j ? at(i, j) : at(j, i); }

template <class T>
class Pass {
 public:
  Pass(const Tree& tree, const std::vector<T>& sigma2) : tree_(tree), sigma2_(sigma2) {
    const std::size_t size = at(tree.q, 0);
    for (auto& level : level_) level.g.assign(size, T(0.0));
    next_.assign(static_cast<std::size_t>(tree.grouping), 0);
    column_.assign(static_cast<std::size_t>(tree.q), T(0.0));
  }

  // All effects together.
  const Products<T>& run() {
    Products<T>& all = level_[0];
    for (T& x : all.g) x = T(0.0);
    all.log_det = T(0.0);
    if (tree_.grouping == 0) {
      leaves({0, tree_.n}, all);
      return all;
    }
    for (const Run& study : tree_.runs[0]) add(group(0, study), all);
    return all;
  }

 private:
  static void add(const Products<T>& from, Products<T>& to) {
    for (std::size_t i = 0; i < from.g.size(); ++i) to.g[i] = to.g[i] + from.g[i];
    to.log_det = to.log_det + from.log_det;
  }

  void leaves(const Run& run, Products<T>& out) {
    for (std::size_t i = run.begin; i < run.end; ++i) {
      T d(tree_.own[i]);
      if (tree_.effect_level >= 0) d = d + sigma2_[static_cast<std::size_t>(tree_.effect_level)];
      const T w = T(1.0) / d;
      out.log_det = out.log_det + log(d);
      const double* a = &tree_.a[i * static_cast<std::size_t>(tree_.q)];
      std::size_t c = 0;
      for (int row = 0; row < tree_.q; ++row) {
        for (int col = 0; col <= row; ++col, ++c) out.g[c] = out.g[c] + w * (a[row] * a[col]);
      }
    }
  }

  void rank_one(const T& f, int column, Products<T>& out) {
    const T grown = T(1.0) + f * out.g[at(column, column)];
    const T share = f / grown;
    for (int i = 0; i < tree_.q; ++i) column_[static_cast<std::size_t>(i)] = out.g[cell(i, column)];
    std::size_t c = 0;
    for (int row = 0; row < tree_.q; ++row) {
      const T scaled = share * column_[static_cast<std::size_t>(row)];
      for (int col = 0; col <= row; ++col, ++c) out.g[c] = out.g[c] - scaled * column_[static_cast<std::size_t>(col)];
    }
    out.log_det = out.log_det + log(grown);
  }

  const Products<T>& group(int depth, const Run& run) {
    Products<T>& out = level_[static_cast<std::size_t>(depth) + 1];
    for (T& x : out.g) x = T(0.0);
    out.log_det = T(0.0);
    if (depth + 1 < tree_.grouping) {
      const auto& inner = tree_.runs[static_cast<std::size_t>(depth) + 1];
      std::size_t& next = next_[static_cast<std::size_t>(depth) + 1];
      if (run.begin == 0) next = 0;
      for (; next < inner.size() && inner[next].end <= run.end; ++next) add(group(depth + 1, inner[next]), out);
    } else {
      leaves(run, out);
    }
    // rho joins all effects of a study and is laid on there, by its root of the variances.
    if (depth == 0 && tree_.root >= 0) rank_one(T(tree_.correlation), tree_.root, out);
    rank_one(sigma2_[static_cast<std::size_t>(depth)], tree_.one, out);
    return out;
  }

  const Tree& tree_;
  const std::vector<T>& sigma2_;
  std::array<Products<T>, kMostLevels + 1> level_;
  std::vector<std::size_t> next_;
  std::vector<T> column_;
};

// Cholesky of X'WX, the coefficients and what they leave.
template <class T>
struct Solved {
  std::vector<T> l, b;
  T log_det{0.0}, rss{0.0};
  bool good = true;
};
template <class T>
Solved<T> solve(const Tree& tree, const Products<T>& all) {
  const int p = tree.p;
  Solved<T> s;
  s.l.assign(at(p, 0), T(0.0));
  s.b.assign(static_cast<std::size_t>(p), T(0.0));
  for (int i = 0; i < p; ++i) {
    for (int j = 0; j <= i; ++j) {
      T sum = all.g[at(i, j)];
      for (int k = 0; k < j; ++k) sum = sum - s.l[at(i, k)] * s.l[at(j, k)];
      if (i == j) {
        if (!(value_of(sum) > 0)) {
          s.good = false;
          return s;
        }
        s.l[at(i, i)] = sqrt(sum);
        s.log_det = s.log_det + log(sum);
      } else {
        s.l[at(i, j)] = sum / s.l[at(j, j)];
      }
    }
  }
  // z = L^-1 X'Wy; rss = y'Wy - z'z.
  std::vector<T> z(static_cast<std::size_t>(p), T(0.0));
  s.rss = all.g[at(p, p)];
  for (int i = 0; i < p; ++i) {
    T sum = all.g[at(p, i)];
    for (int k = 0; k < i; ++k) sum = sum - s.l[at(i, k)] * z[static_cast<std::size_t>(k)];
    z[static_cast<std::size_t>(i)] = sum / s.l[at(i, i)];
    s.rss = s.rss - z[static_cast<std::size_t>(i)] * z[static_cast<std::size_t>(i)];
  }
  for (int i = p - 1; i >= 0; --i) {
    T sum = z[static_cast<std::size_t>(i)];
    for (int k = i + 1; k < p; ++k) sum = sum - s.l[at(k, i)] * s.b[static_cast<std::size_t>(k)];
    s.b[static_cast<std::size_t>(i)] = sum / s.l[at(i, i)];
  }
  return s;
}

template <class T>
T log_likelihood(const Tree& tree, const std::vector<T>& sigma2, bool restricted) {
  Pass<T> pass(tree, sigma2);
  const Products<T>& all = pass.run();
  const Solved<T> s = solve(tree, all);
  if (!s.good) return T(-std::numeric_limits<double>::infinity());
  const double n = static_cast<double>(tree.n) - (restricted ? tree.p : 0);
  T sum = all.log_det + s.rss + T(n * std::log(2 * std::numbers::pi));
  if (restricted) sum = sum + s.log_det;
  return sum * -0.5;
}

template <int M>
Likelihood with_gradient(const Tree& tree, const std::vector<double>& sigma2, bool restricted) {
  std::vector<Dual<M>> x;
  for (int j = 0; j < M; ++j) x.push_back(Dual<M>::variable(sigma2[static_cast<std::size_t>(j)], j));
  const Dual<M> value = log_likelihood(tree, x, restricted);
  Likelihood out{value.value, {}};
  std::copy(value.gradient.begin(), value.gradient.end(), out.gradient.begin());
  return out;
}

Likelihood evaluate(const Tree& tree, const std::vector<double>& sigma2, bool restricted) {
  switch (sigma2.size()) {
    case 1: return with_gradient<1>(tree, sigma2, restricted);
    case 2: return with_gradient<2>(tree, sigma2, restricted);
    case 3: return with_gradient<3>(tree, sigma2, restricted);
    default: return with_gradient<4>(tree, sigma2, restricted);
  }
}

struct Maximum {
  std::vector<double> sigma2;
  double value = 0;
  bool converged = false;
  int iterations = 0;
};

// Newton on the gradient, second derivatives by differences of it; sigma2 stay at 0 or above. fixed: not moved.
Maximum maximise(const Tree& tree, std::vector<double> sigma2, bool restricted, int fixed = -1) {
  const std::size_t m = sigma2.size();
  const double scale = tree.mean_v;
  Likelihood here = evaluate(tree, sigma2, restricted);
  Maximum out;
  for (; out.iterations < kMostIterations; ++out.iterations) {
    std::vector<std::size_t> free;
    for (std::size_t j = 0; j < m; ++j) {
      if (static_cast<int>(j) != fixed && (sigma2[j] > 0 || here.gradient[j] > 0)) free.push_back(j);
    }
    if (free.empty()) {
      out.converged = true;
      break;
    }
    const auto size = static_cast<Index>(free.size());
    VectorXd gradient(size);
    MatrixXd curvature(size, size);  // minus the second derivatives
    for (Index a = 0; a < size; ++a) {
      const std::size_t j = free[static_cast<std::size_t>(a)];
      gradient(a) = here.gradient[j];
      std::vector<double> beside = sigma2;
      const double h = 1e-6 * (sigma2[j] + scale * 1e-2);
      beside[j] += h;
      const Likelihood there = evaluate(tree, beside, restricted);
      for (Index b = 0; b < size; ++b)
        curvature(a, b) =
            -(there.gradient[free[static_cast<std::size_t>(b)]] - here.gradient[free[static_cast<std::size_t>(b)]]) / h;
    }
    const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen((curvature + curvature.transpose()) / 2);
    const double most = eigen.eigenvalues().cwiseAbs().maxCoeff();
    VectorXd lambda = eigen.eigenvalues().cwiseAbs().cwiseMax(1e-10 * most);
    const VectorXd step = eigen.eigenvectors() * (eigen.eigenvectors().transpose() * gradient).cwiseQuotient(lambda);
    // Shortened until the likelihood does not fall by more than rounding can make it.
    const double slack = 1e-12 * (1 + std::abs(here.value));
    double share = 1, moved = 0;
    bool better = false;
    for (int tries = 0; tries < 40 && !better; ++tries, share /= 2) {
      std::vector<double> there = sigma2;
      moved = 0;
      for (Index a = 0; a < size; ++a) {
        const std::size_t j = free[static_cast<std::size_t>(a)];
        there[j] = std::max(sigma2[j] + share * step(a), 0.0);
        moved = std::max(moved, std::abs(there[j] - sigma2[j]) / (sigma2[j] + 1e-3 * scale));
      }
      const Likelihood value = evaluate(tree, there, restricted);
      if (value.value >= here.value - slack) {
        sigma2 = there;
        here = value;
        better = true;
      }
    }
    if (!better || moved < 1e-10) {
      out.converged = better || moved < 1e-6;
      ++out.iterations;
      break;
    }
  }
  out.sigma2 = std::move(sigma2);
  out.value = here.value;
  return out;
}

Result<Tree> grow(const MultilevelData& data, const MultilevelOptions& options, std::vector<int>& groups) {
  const std::size_t n = static_cast<std::size_t>(data.y.size()), m = data.levels.size();
  if (m < 1 || m > static_cast<std::size_t>(kMostLevels))
    return fail(Code::invalid_input, "1 to 4 random levels were expected, got " + std::to_string(m));
  if (!(options.correlation >= 0 && options.correlation < 1))
    return fail(Code::invalid_input, "the correlation of sampling errors must be 0 or more and below 1");
  if (!data.y.allFinite() || !data.v.allFinite() || n == 0 || !(data.v.minCoeff() > 0))
    return fail(Code::invalid_input, "every effect must be a number with a variance above 0");
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    for (const auto& level : data.levels) {
      if (level[a] != level[b]) return level[a] < level[b];
    }
    return a < b;
  });
  Tree t;
  t.n = n;
  for (std::size_t l = 0; l < m; ++l) {
    std::vector<Run> runs;
    for (std::size_t i = 0; i < n; ++i) {
      bool fresh = i == 0;
      for (std::size_t u = 0; u <= l && !fresh; ++u) fresh = data.levels[u][order[i]] != data.levels[u][order[i - 1]];
      if (fresh) runs.push_back({i, i});
      runs.back().end = i + 1;
    }
    groups.push_back(static_cast<int>(runs.size()));
    if (runs.size() == n && l + 1 == m) {
      t.effect_level = static_cast<int>(l);
    } else if (runs.size() == n) {
      return fail(Code::invalid_input, "random level " + std::to_string(l + 1) +
                                           " already sets every effect apart: levels below it cannot be told from it");
    } else {
      t.runs.push_back(std::move(runs));
    }
    if (l > 0 && groups[l] == groups[l - 1])
      return fail(Code::invalid_input, "random levels " + std::to_string(l) + " and " + std::to_string(l + 1) +
                                           " have the same groups: they cannot be told apart, so leave one out");
  }
  t.grouping = static_cast<int>(t.runs.size());
  if (groups[0] < 2) return fail(Code::invalid_input, "all effects are from one study: there is nothing to pool");

  const Eigen::HouseholderQR<MatrixXd> qr(data.x);
  const MatrixXd basis = qr.householderQ() * MatrixXd::Identity(data.x.rows(), data.x.cols());
  t.p = static_cast<int>(data.x.cols());
  t.r = qr.matrixQR().topRows(t.p).triangularView<Eigen::Upper>();
  const VectorXd in_basis = basis.transpose() * data.y;
  t.b0 = t.r.triangularView<Eigen::Upper>().solve(in_basis);
  const VectorXd left = data.y - basis * in_basis;
  t.one = t.p + 1;
  t.correlation = t.grouping > 0 ? options.correlation : 0;
  t.root = t.correlation > 0 ? t.p + 2 : -1;
  t.q = t.p + (t.root > 0 ? 3 : 2);
  t.a.resize(n * static_cast<std::size_t>(t.q));
  t.own.resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    const auto from = static_cast<Index>(order[i]);
    double* a = &t.a[i * static_cast<std::size_t>(t.q)];
    for (int j = 0; j < t.p; ++j) a[j] = basis(from, j);
    a[t.p] = left(from);
    a[t.one] = 1;
    if (t.root > 0) a[t.root] = std::sqrt(data.v(from));
    t.own[i] = (1 - t.correlation) * data.v(from);
  }
  t.mean_v = data.v.mean();
  t.spread =
      std::max(left.squaredNorm() / static_cast<double>(n - static_cast<std::size_t>(t.p)) - t.mean_v, 0.05 * t.mean_v);
  return t;
}

// tr of V^-1 - V^-1 X (X'V^-1X)^-1 X'V^-1 for sampling errors alone (sigma2 all 0).
double sampling_trace(const Tree& t, const Products<double>& all) {
  const Solved<double> s = solve(t, all);
  MatrixXd l = MatrixXd::Zero(t.p, t.p);
  for (int i = 0; i < t.p; ++i) {
    for (int j = 0; j <= i; ++j) l(i, j) = s.l[at(i, j)];
  }
  double trace = 0;
  MatrixXd squared = MatrixXd::Zero(t.p, t.p);  // X'V^-2X
  const std::vector<Run> whole{{0, t.n}};
  for (const Run& run : t.grouping > 0 ? t.runs[0] : whole) {
    const auto size = static_cast<Index>(run.end - run.begin);
    MatrixXd x(size, t.p);
    VectorXd w(size), root = VectorXd::Zero(size);
    for (Index i = 0; i < size; ++i) {
      const double* a = &t.a[(run.begin + static_cast<std::size_t>(i)) * static_cast<std::size_t>(t.q)];
      for (int j = 0; j < t.p; ++j) x(i, j) = a[j];
      w(i) = 1 / t.own[run.begin + static_cast<std::size_t>(i)];
      if (t.root > 0) root(i) = a[t.root];
    }
    const VectorXd wr = w.cwiseProduct(root);
    const double share = t.correlation / (1 + t.correlation * root.dot(wr));
    const MatrixXd wx = w.asDiagonal() * x - share * wr * (wr.transpose() * x);
    trace += w.sum() - share * wr.squaredNorm();
    squared += wx.transpose() * wx;
  }
  const MatrixXd half = l.triangularView<Eigen::Lower>().solve(squared);
  return trace - l.triangularView<Eigen::Lower>().solve(half.transpose()).trace();
}

// Where the profile of one sigma2 has fallen by half of the chi-square's quantile.
Range profile(const Tree& tree, const Maximum& best, int j, bool restricted, double level) {
  const double drop = chi_square_quantile(level, 1) / 2;
  const double middle = best.sigma2[static_cast<std::size_t>(j)];
  std::vector<double> last = best.sigma2;
  const auto above = [&](double x) {  // what is left of the drop; falls away from the maximum
    last[static_cast<std::size_t>(j)] = x;
    const Maximum m = maximise(tree, last, restricted, j);
    last = m.sigma2;
    return m.value - best.value + drop;
  };
  Range out{0, std::numeric_limits<double>::infinity()};
  const auto cross = [&](double inside, double outside) {
    double fi = above(inside), fo = above(outside);
    for (int i = 0; i < 100 && std::abs(outside - inside) > 1e-10 * (std::abs(outside) + 1e-6 * tree.mean_v); ++i) {
      // False position, every third time a halving, so that it cannot stall.
      double x = (inside + outside) / 2;
      if (i % 3 != 2 && fi > fo) {
        const double guess = inside + (outside - inside) * fi / (fi - fo);
        if ((guess - inside) * (guess - outside) < 0) x = guess;
      }
      const double f = above(x);
      if (std::abs(f) < 1e-12) return x;
      if (f > 0) {
        inside = x;
        fi = f;
      } else {
        outside = x;
        fo = f;
      }
    }
    return (inside + outside) / 2;
  };
  if (middle > 0 && above(0) < 0) {
    last = best.sigma2;
    out.low = cross(middle, 0);
  }
  last = best.sigma2;
  double high = 2 * middle + tree.mean_v, inside = middle;
  for (int i = 0; i < 60; ++i, inside = high, high *= 2) {
    if (above(high) < 0) {
      out.high = cross(inside, high);
      break;
    }
  }
  return out;
}

}  // namespace

Result<double> multilevel_log_likelihood(const MultilevelData& data, const std::vector<double>& sigma2,
                                         const MultilevelOptions& options) {
  std::vector<int> groups;
  const auto tree = grow(data, options, groups);
  if (!tree) return tl::unexpected(tree.error());
  return log_likelihood(*tree, sigma2, options.restricted);
}

MultilevelData without(const MultilevelData& data, const std::vector<bool>& leave_out) {
  std::vector<Index> keep;
  for (std::size_t i = 0; i < leave_out.size(); ++i) {
    if (!leave_out[i]) keep.push_back(static_cast<Index>(i));
  }
  MultilevelData out;
  out.y = data.y(keep);
  out.v = data.v(keep);
  out.x = data.x(keep, Eigen::all);
  out.names = data.names;
  for (const auto& level : data.levels) {
    std::vector<int> kept;
    for (const Index i : keep) kept.push_back(level[static_cast<std::size_t>(i)]);
    out.levels.push_back(std::move(kept));
  }
  return out;
}

Result<MultilevelFit> fit_multilevel(const MultilevelData& data, const MultilevelOptions& options) {
  if (const auto good = check_design(data.x, data.names); !good) return tl::unexpected(good.error());
  MultilevelFit fit;
  const auto grown = grow(data, options, fit.groups);
  if (!grown) return tl::unexpected(grown.error());
  const Tree& tree = *grown;
  const std::size_t m = data.levels.size();

  std::vector<double> start = options.start;
  if (start.size() != m) start.assign(m, tree.spread / static_cast<double>(m));
  // A start at 0 could stay there only because of where another start would lead: begin a little above.
  for (double& s : start) s = std::max(s, 1e-3 * tree.mean_v);
  const Maximum best = maximise(tree, start, options.restricted);

  fit.restricted = options.restricted;
  fit.correlation = options.correlation;
  fit.level = options.level;
  fit.k = static_cast<int>(tree.n);
  fit.p = tree.p;
  fit.sigma2 = best.sigma2;
  fit.heterogeneity = std::accumulate(best.sigma2.begin(), best.sigma2.end(), 0.0);
  fit.log_likelihood = best.value;
  fit.converged = best.converged;
  fit.iterations = best.iterations;

  Pass<double> pass(tree, fit.sigma2);
  const Solved<double> s = solve(tree, pass.run());
  if (!s.good) return fail(Code::internal, "the weighted design could not be solved");
  MatrixXd l = MatrixXd::Zero(tree.p, tree.p);
  VectorXd b(tree.p);
  for (int i = 0; i < tree.p; ++i) {
    b(i) = s.b[static_cast<std::size_t>(i)];
    for (int j = 0; j <= i; ++j) l(i, j) = s.l[at(i, j)];
  }
  const auto upper = tree.r.triangularView<Eigen::Upper>();
  fit.estimate = tree.b0 + VectorXd(upper.solve(b));
  const MatrixXd half = l.triangularView<Eigen::Lower>().solve(MatrixXd::Identity(tree.p, tree.p));
  const MatrixXd back = upper.solve(half.transpose());
  fit.covariance = back * back.transpose();
  const double df = static_cast<double>(fit.k - fit.p);
  describe_coefficients(fit, data.names,
                        options.reference == Reference::normal ? std::numeric_limits<double>::infinity() : df);

  const std::vector<double> none(m, 0.0);
  Pass<double> sampling(tree, none);
  const Products<double>& plain = sampling.run();
  fit.q = solve(tree, plain).rss;
  fit.q_df = df;
  fit.q_p = chi_square_upper(fit.q, df);
  // As for single effects, with the typical sampling variance (k - p) / tr P: Nakagawa, Santos 2012, doi
  // 10.1007/s10682-012-9555-5, generalised to any P.
  fit.i2 = 100 * fit.heterogeneity / (fit.heterogeneity + df / sampling_trace(tree, plain));
  if (fit.p == 1) {
    const Coefficient& c = fit.coefficients.front();
    const double width = fit.critical * std::sqrt(c.se * c.se + fit.heterogeneity);
    fit.prediction = {c.estimate - width, c.estimate + width};
  }
  if (options.profile_intervals) {
    for (std::size_t j = 0; j < m; ++j)
      fit.sigma2_intervals.push_back(profile(tree, best, static_cast<int>(j), options.restricted, options.level));
  }
  for (std::size_t j = 0; j < m; ++j) {
    if (fit.sigma2[j] == 0)
      fit.level_notes.push_back("random level " + std::to_string(j + 1) +
                                ": no spread was found beyond that of the others");
  }
  return fit;
}

}  // namespace ullage::evidence
