#include "engine/evidence/pool.h"

#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "engine/evidence/design.h"
#include "engine/evidence/distributions.h"

namespace ullage::evidence {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr std::array<std::string_view, 8> kMethods = {"common", "REML", "ML", "DL", "PM", "EB", "HE", "SJ"};
constexpr int kMostIterations = 10000;
constexpr double kStep = 1e-13;  // relative step at which iterations end

// Weighted least squares in an orthonormal basis of the design, for weights w: what every estimator is made of.
// P = W - W Q (Q'WQ)^-1 Q'W is never formed.
struct Weighted {
  VectorXd b;          // in the basis
  MatrixXd c;          // (Q'WQ)^-1
  VectorXd residual;   // y - Qb
  double rss = 0;      // y'Py
  double log_det = 0;  // of Q'WQ
};

class Regression {
 public:
  Regression(const VectorXd& y, const VectorXd& v, const MatrixXd& x) : y_(y), v_(v) {
    const Eigen::HouseholderQR<MatrixXd> qr(x);
    q_ = qr.householderQ() * MatrixXd::Identity(x.rows(), x.cols());
    r_ = qr.matrixQR().topRows(x.cols()).template triangularView<Eigen::Upper>();
  }

  Eigen::Index k() const { return q_.rows(); }
  Eigen::Index p() const { return q_.cols(); }
  const VectorXd& y() const { return y_; }
  const VectorXd& v() const { return v_; }
  VectorXd weights(double tau2) const { return (v_.array() + tau2).inverse(); }

  Weighted solve(const VectorXd& w) const {
    Weighted out;
    const MatrixXd wq = w.asDiagonal() * q_;
    const Eigen::LLT<MatrixXd> llt(q_.transpose() * wq);
    out.c = llt.solve(MatrixXd::Identity(p(), p()));
    // Twice, the second time on the residual: what the first leaves is gone.
    out.b = llt.solve(wq.transpose() * y_);
    out.b += llt.solve(wq.transpose() * (y_ - q_ * out.b));
    out.residual = y_ - q_ * out.b;
    out.rss = (w.array() * out.residual.array().square()).sum();
    out.log_det = 2 * llt.matrixL().toDenseMatrix().diagonal().array().log().sum();
    return out;
  }
  // tr P, tr PP.
  double trace_p(const VectorXd& w, const Weighted& s) const {
    return w.sum() - (s.c * (q_.transpose() * w.array().square().matrix().asDiagonal() * q_)).trace();
  }
  double trace_pp(const VectorXd& w, const Weighted& s) const {
    const MatrixXd q2 = s.c * (q_.transpose() * w.array().square().matrix().asDiagonal() * q_);
    const MatrixXd q3 = s.c * (q_.transpose() * w.array().cube().matrix().asDiagonal() * q_);
    return w.array().square().sum() - 2 * q3.trace() + (q2 * q2).trace();
  }
  // y'PPy.
  static double y_pp_y(const VectorXd& w, const Weighted& s) { return (w.array() * s.residual.array()).square().sum(); }
  // diag of the unweighted hat matrix.
  VectorXd leverage() const { return q_.rowwise().squaredNorm(); }

  VectorXd original(const VectorXd& b) const { return r_.template triangularView<Eigen::Upper>().solve(b); }
  MatrixXd original_covariance(const MatrixXd& c) const {
    const MatrixXd half = r_.template triangularView<Eigen::Upper>().solve(c);
    return r_.template triangularView<Eigen::Upper>().solve(half.transpose());
  }

 private:
  VectorXd y_, v_;
  MatrixXd q_, r_;
};

struct Tau2 {
  double value = 0;
  bool converged = true;
  int iterations = 0;
};

double hedges_tau2(const Regression& m) {
  const double df = static_cast<double>(m.k() - m.p());
  const Weighted s = m.solve(VectorXd::Ones(m.k()));
  return (s.rss - (m.v().array() * (1 - m.leverage().array())).sum()) / df;
}

double log_likelihood(const Regression& m, double tau2, bool restricted) {
  const VectorXd w = m.weights(tau2);
  const Weighted s = m.solve(w);
  const double n = static_cast<double>(restricted ? m.k() - m.p() : m.k());
  return -0.5 * (n * std::log(2 * std::numbers::pi) - w.array().log().sum() + (restricted ? s.log_det : 0) + s.rss);
}

// Steps to a root of the estimating equation, never below 0; EB solves the same equation as PM.
Tau2 iterate(const Regression& m, Method method) {
  const double df = static_cast<double>(m.k() - m.p());
  const double scale = m.v().mean();
  Tau2 out{std::max(hedges_tau2(m), 0.0), false, 0};
  if (method == Method::PM || method == Method::EB) {
    // Q(tau2) = k - p falls in tau2 and is convex: Newton from below never steps over.
    const auto q = [&](double t) { return m.solve(m.weights(t)).rss; };
    out.value = 0;
    if (q(0) <= df) return {0, true, 1};
    for (; out.iterations < kMostIterations; ++out.iterations) {
      const VectorXd w = m.weights(out.value);
      const Weighted s = m.solve(w);
      const double step = (s.rss - df) / Regression::y_pp_y(w, s);
      out.value += step;
      if (std::abs(step) <= kStep * (out.value + 1e-3 * scale)) {
        out.converged = true;
        return out;
      }
    }
    return out;
  }
  const bool restricted = method == Method::REML;
  for (; out.iterations < kMostIterations; ++out.iterations) {
    const VectorXd w = m.weights(out.value);
    const Weighted s = m.solve(w);
    double step = restricted ? (Regression::y_pp_y(w, s) - m.trace_p(w, s)) / m.trace_pp(w, s)
                             : (Regression::y_pp_y(w, s) - w.sum()) / w.array().square().sum();
    const bool down_from_zero = out.value == 0 && step < 0;
    while (out.value + step < 0 && std::abs(step) > kStep * scale) step /= 2;
    if (out.value + step < 0) step = -out.value;
    out.value += step;
    if (down_from_zero || std::abs(step) <= kStep * (out.value + 1e-3 * scale)) {
      out.converged = true;
      break;
    }
  }
  // The likelihood may be higher with none at all.
  if (out.value < 1e-9 * scale || log_likelihood(m, 0, restricted) >= log_likelihood(m, out.value, restricted))
    out.value = 0;
  return out;
}

Tau2 estimate_tau2(const Regression& m, Method method) {
  const double k = static_cast<double>(m.k()), df = static_cast<double>(m.k() - m.p());
  switch (method) {
    case Method::common: return {};
    case Method::HE: return {std::max(hedges_tau2(m), 0.0), true, 1};
    case Method::DL: {
      const VectorXd w = m.weights(0);
      const Weighted s = m.solve(w);
      return {std::max((s.rss - df) / m.trace_p(w, s), 0.0), true, 1};
    }
    case Method::SJ: {
      const double first = (m.y().array() - m.y().mean()).square().sum() / k;
      if (first <= 0) return {0, true, 1};
      return {first * m.solve(m.weights(first)).rss / df, true, 1};
    }
    default: return iterate(m, method);
  }
}

// Where the generalised Q, which falls in tau2, crosses `target`; 0 when it starts below.
double q_crossing(const Regression& m, double target) {
  const auto q = [&](double t) { return m.solve(m.weights(t)).rss - target; };
  if (q(0) <= 0) return 0;
  double low = 0, high = m.v().mean();
  const double most = 1e6 * m.v().maxCoeff();
  while (q(high) > 0) {
    low = high;
    high *= 4;
    if (high > most) return std::numeric_limits<double>::infinity();
  }
  for (int i = 0; i < 200 && high - low > 1e-15 * high; ++i) {
    const double middle = (low + high) / 2;
    (q(middle) > 0 ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace

std::string_view method_name(Method method) { return kMethods[static_cast<std::size_t>(method)]; }

std::optional<Method> parse_method(std::string_view text) {
  for (std::size_t i = 0; i < kMethods.size(); ++i) {
    if (kMethods[i] == text) return static_cast<Method>(i);
  }
  return std::nullopt;
}

void describe_coefficients(Summary& s, const std::vector<std::string>& names, double df) {
  s.critical = student_quantile(0.5 + s.level / 2, df);
  s.coefficients.clear();
  for (Eigen::Index j = 0; j < s.estimate.size(); ++j) {
    Coefficient c;
    c.term = names[static_cast<std::size_t>(j)];
    c.estimate = s.estimate(j);
    c.se = std::sqrt(s.covariance(j, j));
    c.statistic = c.estimate / c.se;
    c.df = df;
    c.p = student_two_sided_p(c.statistic, df);
    c.interval = {c.estimate - s.critical * c.se, c.estimate + s.critical * c.se};
    s.coefficients.push_back(c);
  }
  const Eigen::Index from = s.estimate.size() > 1 ? 1 : 0, m = s.estimate.size() - from;
  const VectorXd b = s.estimate.tail(m);
  const double wald = b.dot(s.covariance.bottomRightCorner(m, m).ldlt().solve(b));
  s.qm_df = static_cast<double>(m);
  s.qm_df2 = df;
  s.qm = std::isinf(df) ? wald : wald / s.qm_df;
  s.qm_p = std::isinf(df) ? chi_square_upper(wald, s.qm_df) : f_upper(s.qm, s.qm_df, df);
}

Result<PoolFit> pool(const VectorXd& y, const VectorXd& v, const MatrixXd& x, const std::vector<std::string>& names,
                     const PoolOptions& options) {
  if (const auto good = check_design(x, names); !good) return tl::unexpected(good.error());
  if (!y.allFinite() || !v.allFinite() || !(v.minCoeff() > 0))
    return fail(Code::invalid_input, "every effect must be a number with a variance above 0");
  const Regression m(y, v, x);
  const double df = static_cast<double>(m.k() - m.p());

  PoolFit fit;
  fit.method = options.method;
  fit.level = options.level;
  fit.k = static_cast<int>(m.k());
  fit.p = static_cast<int>(m.p());
  const Tau2 tau2 = estimate_tau2(m, options.method);
  fit.tau2 = fit.heterogeneity = tau2.value;
  fit.converged = tau2.converged;
  fit.iterations = tau2.iterations;

  const VectorXd w0 = m.weights(0);
  const Weighted at_zero = m.solve(w0);
  fit.q = at_zero.rss;
  fit.q_df = df;
  fit.q_p = chi_square_upper(fit.q, df);
  if (options.method == Method::common) {
    fit.i2 = fit.q > df ? 100 * (fit.q - df) / fit.q : 0;
  } else {
    // Higgins, Thompson 2002, doi 10.1002/sim.1186, with the typical sampling variance (k - p) / tr P.
    const double typical = df / m.trace_p(w0, at_zero);
    fit.i2 = 100 * fit.tau2 / (fit.tau2 + typical);
  }

  const VectorXd w = m.weights(fit.tau2);
  const Weighted s = m.solve(w);
  const bool scaled = options.reference == Reference::knapp_hartung;
  fit.estimate = m.original(s.b);
  if (scaled) fit.scale = s.rss / df;
  fit.covariance = m.original_covariance(s.c) * fit.scale;
  describe_coefficients(fit, names,
                        options.reference == Reference::normal ? std::numeric_limits<double>::infinity() : df);
  if (fit.p == 1) {
    const Coefficient& c = fit.coefficients.front();
    const double half = fit.critical * std::sqrt(c.se * c.se + fit.tau2);
    fit.prediction = {c.estimate - half, c.estimate + half};
  }
  if (options.method == Method::ML || options.method == Method::common)
    fit.log_likelihood = log_likelihood(m, fit.tau2, false);
  if (options.method == Method::REML) fit.log_likelihood = log_likelihood(m, fit.tau2, true);
  if (options.method == Method::REML) fit.tau2_se = std::sqrt(2 / m.trace_pp(w, s));
  if (options.method == Method::ML) fit.tau2_se = std::sqrt(2 / w.array().square().sum());
  if (options.tau2_interval && options.method != Method::common)
    fit.tau2_interval = {q_crossing(m, chi_square_quantile(0.5 + options.level / 2, df)),
                         q_crossing(m, chi_square_quantile(0.5 - options.level / 2, df))};
  return fit;
}

Result<PoolFit> pool(const VectorXd& y, const VectorXd& v, const PoolOptions& options) {
  return pool(y, v, MatrixXd::Ones(y.size(), 1), {"intercept"}, options);
}

}  // namespace ullage::evidence
