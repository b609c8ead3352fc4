#include "engine/evidence/robust.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/QR>
#include <cmath>
#include <map>

#include "engine/evidence/design.h"
#include "engine/evidence/distributions.h"

namespace ullage::evidence {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double kNoShare = 1e-12;  // eigenvalues below this share of 1 count as 0 in the symmetric root

MatrixXd covariance_of(const WorkingCovariance& w, const std::vector<Index>& rows) {
  const auto n = static_cast<Index>(rows.size());
  MatrixXd f = MatrixXd::Zero(n, n);
  for (Index a = 0; a < n; ++a) {
    const auto i = static_cast<std::size_t>(rows[static_cast<std::size_t>(a)]);
    for (Index b = 0; b <= a; ++b) {
      const auto j = static_cast<std::size_t>(rows[static_cast<std::size_t>(b)]);
      double sum = 0;
      bool same = true;
      for (std::size_t l = 0; l < w.levels.size() && same; ++l) {
        same = w.levels[l][i] == w.levels[l][j];
        if (!same) break;
        sum += w.sigma2[l];
        if (l == 0 && a != b) sum += w.correlation * std::sqrt(w.v(static_cast<Index>(i)) * w.v(static_cast<Index>(j)));
      }
      if (a == b) sum += w.v(static_cast<Index>(i)) + w.tau2;
      f(a, b) = f(b, a) = sum;
    }
  }
  return f;
}

// lines: one a row, each a weighted sum of the coefficients; told by these names.
Result<RobustFit> robust_lines(const VectorXd& y, const MatrixXd& x, const std::vector<std::string>& names,
                               const WorkingCovariance& working, const std::vector<int>& cluster, double level,
                               const MatrixXd& lines, const std::vector<std::string>& line_names) {
  if (const auto good = check_design(x, names); !good) return tl::unexpected(good.error());
  std::map<int, std::vector<Index>> rows;
  for (Index i = 0; i < y.size(); ++i) rows[cluster[static_cast<std::size_t>(i)]].push_back(i);
  if (rows.size() < 2) return fail(Code::invalid_input, "robust errors need two clusters or more");
  if (!working.levels.empty()) {
    std::map<int, int> home;
    for (std::size_t i = 0; i < cluster.size(); ++i) {
      if (const auto [at, fresh] = home.emplace(working.levels[0][i], cluster[i]); !fresh && at->second != cluster[i])
        return fail(Code::invalid_input,
                    "clusters must hold whole studies: the model ties effects of one study that lie in "
                    "several clusters");
    }
  }
  const Eigen::HouseholderQR<MatrixXd> qr(x);
  const MatrixXd q = qr.householderQ() * MatrixXd::Identity(x.rows(), x.cols());
  const MatrixXd r_inverse =
      qr.matrixQR().topRows(x.cols()).triangularView<Eigen::Upper>().solve(MatrixXd::Identity(x.cols(), x.cols()));
  const Index p = x.cols();

  struct Block {
    std::vector<Index> rows;
    MatrixXd f, x, wx;
  };
  std::vector<Block> blocks;
  MatrixXd information = MatrixXd::Zero(p, p);
  VectorXd right = VectorXd::Zero(p);
  for (auto& [id, list] : rows) {
    Block b;
    b.rows = std::move(list);
    b.f = covariance_of(working, b.rows);
    b.x = q(b.rows, Eigen::all);
    const Eigen::LLT<MatrixXd> llt(b.f);
    if (llt.info() != Eigen::Success) return fail(Code::internal, "a cluster's covariance is not positive");
    b.wx = llt.solve(b.x);
    information += b.x.transpose() * b.wx;
    right += b.wx.transpose() * VectorXd(y(b.rows));
    blocks.push_back(std::move(b));
  }
  const Eigen::LLT<MatrixXd> solver(information);
  const MatrixXd m = solver.solve(MatrixXd::Identity(p, p));
  VectorXd beta = solver.solve(right);
  VectorXd again = VectorXd::Zero(p);
  for (const Block& b : blocks) again += b.wx.transpose() * (VectorXd(y(b.rows)) - b.x * beta);
  beta += solver.solve(again);

  // Coefficients in x are r^-1 times those in the basis.
  const Index count = lines.rows();
  const MatrixXd contrasts = m * r_inverse.transpose() * lines.transpose();  // M c, one column a line
  MatrixXd meat = MatrixXd::Zero(count, count);                              // of V, already between the lines
  std::vector<MatrixXd> u(static_cast<std::size_t>(count), MatrixXd(p, static_cast<Index>(blocks.size())));
  std::vector<VectorXd> gfg(static_cast<std::size_t>(count), VectorXd(static_cast<Index>(blocks.size())));
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    const Block& b = blocks[i];
    const MatrixXd d = b.f.llt().matrixU();
    const MatrixXd inner = d * (b.f - b.x * m * b.x.transpose()) * d.transpose();
    const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(inner);
    VectorXd power = eigen.eigenvalues();
    const double floor = kNoShare * std::max(1.0, power.cwiseAbs().maxCoeff());
    for (double& value : power) value = value > floor ? 1 / std::sqrt(value) : 0;
    const MatrixXd a =
        d.transpose() * (eigen.eigenvectors() * power.asDiagonal() * eigen.eigenvectors().transpose()) * d;
    const MatrixXd g = a * b.wx * contrasts;
    const VectorXd score = g.transpose() * (VectorXd(y(b.rows)) - b.x * beta);
    meat += score * score.transpose();
    const auto at = static_cast<Index>(i);
    for (Index c = 0; c < count; ++c) {
      u[static_cast<std::size_t>(c)].col(at) = b.x.transpose() * g.col(c);
      gfg[static_cast<std::size_t>(c)](at) = g.col(c).dot(b.f * g.col(c));
    }
  }

  RobustFit fit;
  fit.clusters = static_cast<int>(blocks.size());
  fit.covariance = meat;
  const VectorXd estimate = lines * (r_inverse * beta);
  for (Index c = 0; c < count; ++c) {
    // P = diag(gfg) - U'MU: its trace, and its squared norm through the p x p product.
    const MatrixXd& uc = u[static_cast<std::size_t>(c)];
    const VectorXd& diagonal = gfg[static_cast<std::size_t>(c)];
    const VectorXd crossed = (uc.array() * (m * uc).array()).colwise().sum();
    const MatrixXd product = m * (uc * uc.transpose());
    const double trace = (diagonal - crossed).sum();
    const double norm2 = diagonal.squaredNorm() - 2 * diagonal.dot(crossed) + (product * product).trace();
    Coefficient out;
    out.term = line_names[static_cast<std::size_t>(c)];
    out.estimate = estimate(c);
    out.se = std::sqrt(meat(c, c));
    out.statistic = out.estimate / out.se;
    out.df = trace * trace / norm2;
    out.p = student_two_sided_p(out.statistic, out.df);
    const double critical = student_quantile(0.5 + level / 2, out.df);
    out.interval = {out.estimate - critical * out.se, out.estimate + critical * out.se};
    fit.coefficients.push_back(out);
  }
  return fit;
}

}  // namespace

Result<RobustFit> cluster_robust(const VectorXd& y, const MatrixXd& x, const std::vector<std::string>& names,
                                 const WorkingCovariance& working, const std::vector<int>& cluster, double level) {
  return robust_lines(y, x, names, working, cluster, level, MatrixXd::Identity(x.cols(), x.cols()), names);
}

Result<std::vector<Coefficient>> robust_contrasts(const VectorXd& y, const MatrixXd& x,
                                                  const std::vector<std::string>& names,
                                                  const WorkingCovariance& working, const std::vector<int>& cluster,
                                                  const MatrixXd& lines, double level) {
  if (lines.cols() != x.cols()) return fail(Code::invalid_input, "a line needs as many weights as coefficients");
  std::vector<std::string> line_names;
  for (Index i = 0; i < lines.rows(); ++i) line_names.push_back("line " + std::to_string(i + 1));
  auto fit = robust_lines(y, x, names, working, cluster, level, lines, line_names);
  if (!fit) return tl::unexpected(fit.error());
  return fit->coefficients;
}

}  // namespace ullage::evidence
