// Everything unknown about one lifter, with its log posterior.
//
//   per session of a lift   theta (log strength), v (trend per day)
//   per session             readiness of the day
//   per exercise            log k; speed at failure, its slope and noise when the log has speeds
//   per new lift            practice offset of the first sessions
//   per lifter              general level, log A_fast, log A_slow, log tau_fast, logit lam, log A_day,
//                           b, log g, log s0, log s1, cue shift, lay-off loss, stopping reserve by class
//
// Between two sessions of a lift, dt days apart (docs/model.md section 4), with a = log 2 / 60:
//
//   v'     = vbar + exp(-a dt) (v - vbar) + noise           (stationary sd s_v)
//   theta' = theta + vbar dt + (v - vbar)(1 - exp(-a dt))/a - u excess + noise
//
// noise: exact covariance of the integrated process plus q^2 dt on theta; excess: days of lay-off beyond
// 14 in between, during which q is doubled. Days beyond 56 of a gap without any training (absent) move theta otherwise:
// no trend, no walk, a loss that settles, and a return towards people alike who do not train (mean m, all of the
// prior's variance S^2, of which g^2 is of the general level), with r(absent) from 1 to 1/2 (priors.h):
//
//   theta'' = m + h (theta' - m) + N(0, (1 - h^2) S^2),   h = 1 - (1 - r) g^2/S^2
//
// so that theta'' of somebody of whom nothing is known has the prior's variance again. Frozen data (residual fatigue of
// earlier sessions, variance of unknown rests, widening outside the tested range) are computed at a point by `freeze`
// and then held, so that the objective and its derivatives agree.
#pragma once

#include <Eigen/Core>
#include <Eigen/Sparse>
#include <vector>

#include "engine/base/sparse_ldl.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/session_walk.h"
#include "engine/capacity/set_site.h"
#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// The few scale parameters, held while the latent field is solved.
struct Scales {
  double sigma = 0.025;   // set noise
  double drift = 0.004;   // q per sqrt(day)
  double day_sd = 0.012;  // readiness
};
// The scales whose logs lie so many prior sds from the prior means.
Scales scales_at(const Eigen::Vector3d& prior_sds);

// Where the unknowns stand in the field.
struct FieldLayout {
  int general = 0, log_a_fast = 0, log_a_slow = 0, log_tau_fast = 0, logit_lam = 0, log_a_day = 0;
  int bias = 0, log_gain = 0, log_spread = 0, log_spread_rise = 0, cue_shift = 0, log_layoff = 0;
  std::vector<int> log_stopping;                  // per class
  std::vector<int> log_endurance;                 // per exercise
  std::vector<int> speed;                         // per exercise, first of three; -1 without speeds
  std::vector<int> practice;                      // per lift, -1 when not new
  std::vector<int> readiness;                     // per session
  std::vector<std::vector<int>> met;              // per lift: the sessions it was done in, rising
  std::vector<std::vector<int>> strength, trend;  // per lift, one per session met
  int size = 0;
};

// Days without any training, summed over gaps between sessions of any kind.
struct TimeOff {
  double excess = 0;  // beyond the free 14 of each gap
  double absent = 0;  // of these, beyond the 56 of each gap
};
TimeOff time_off(double gap_days);
inline TimeOff operator+(const TimeOff& a, const TimeOff& b) { return {a.excess + b.excess, a.absent + b.absent}; }
inline TimeOff operator-(const TimeOff& a, const TimeOff& b) { return {a.excess - b.excess, a.absent - b.absent}; }

// Log strength in a lift among people alike who do not train.
struct PeopleAlike {
  double mean = 0;
  double sd = 1;          // all that is not known before the first set
  double general_sd = 1;  // of it, the general level: what changes in years without training
};
// untrained: the general level of people who do not train. marks: of one machine's stack, whose scale is not known.
PeopleAlike people_alike(bool marks, const Prior& ratio, const Prior& untrained);
// A level after so many days of absence: its own share, and what comes in place of the rest.
struct Fading {
  double hold = 1;      // share of the level before
  double towards = 0;   // added mean
  double variance = 0;  // added
};
Fading fading(double absent_days, const PeopleAlike& people);

// Movement of (theta, v) over a gap:
//   mean of theta' = hold theta + progress + (v - trend_mean) reach - u loss_days + towards
//   mean of v'     = trend_mean + keep (v - trend_mean)
struct Passage {
  double hold = 1;
  double progress = 0;  // of the mean trend
  double reach = 0;
  double loss_days = 0;
  double towards = 0;
  double trend_mean = 0;  // vbar
  double keep = 1;        // exp(-a dt)
  // Covariance of the noise of (theta, v) for a drift q.
  Eigen::Matrix2d noise(double drift) const;

 private:
  friend Passage passage(double days, const TimeOff& off, double trend_mean, double trend_sd, const PeopleAlike&);
  double days_ = 0, trained_days_ = 0, walk_days_ = 0;
  double trained_keep_ = 1, absent_keep_ = 1;
  double trend_sd_ = 0, variance_ = 0;
};
// off: the time off within these days. Without absence `people` plays no part, to the bit.
Passage passage(double days, const TimeOff& off, double trend_mean, double trend_sd, const PeopleAlike& people);

class LatentField {
 public:
  explicit LatentField(const TrainingLog& log);

  const FieldLayout& layout() const { return layout_; }
  int size() const { return layout_.size; }
  Eigen::VectorXd start() const;  // a plausible first point, from the data

  // Recomputes the frozen data at this point.
  void freeze(const Eigen::VectorXd& at, const Scales& scales);

  struct Terms {
    double value = 0;  // log posterior with every constant that depends on the scales
    Eigen::VectorXd gradient;
    SparseLdl::Matrix precision;  // minus the Hessian, lower triangle
  };
  // order 0: value; 1: gradient; 2: curvature, with each x taken as linear in what it depends on through fatigue (the
  // bend of x makes sds of fatigue several times too large where it counts: docs/model.md).
  // Free::own: the unknowns that all sessions share (is_shared) are held: no slope, no coupling, 1 on the diagonal. The
  // pattern of that precision is another one, without their full rows.
  void evaluate(const Eigen::VectorXd& at, const Scales& scales, int order, Terms& out, Free free = Free::all) const;
  // Where the precision of order 2 may have entries; its values mean nothing.
  const SparseLdl::Matrix& pattern(Free free) const { return free == Free::own ? own_pattern_ : pattern_; }
  // Fatigue, judgement, usual stopping reserves: held by Free::own.
  bool is_shared(int variable) const { return shared_[static_cast<std::size_t>(variable)]; }

  // How the log determinant of the precision of order 2 (everything free) changes with each unknown, exactly. spread:
  // that precision at this point after invert(), with which the change of each set's curvature is weighed.
  // Cost: as many Hessians of each set's likelihood as it has parameters, and one, whatever the number of unknowns.
  Eigen::VectorXd determinant_slope(const Eigen::VectorXd& at, const Scales& scales, const SparseLdl& spread) const;

  // Gradient and curvature with each set's likelihood as a Gaussian site (set_site.h). Without `spread` the sites are
  // made from gradient and curvature at this point; with it (after invert(), of the curvature given out before) they
  // are matched once more first. The largest move of a set's mean in its sds.
  using Sites = std::vector<std::vector<SetSite>>;  // by session and set
  double match(const Eigen::VectorXd& at, const Scales& scales, Sites& sites, Terms& out,
               const SparseLdl* spread = nullptr) const;

  // How finely the likelihoods of sets are integrated from now on.
  void set_precision(Precision precision) { precision_ = precision; }

  // Weight that the model left to each set (1 fully believed, 0 mis-typed), by session and set.
  std::vector<std::vector<double>> set_weights(const Eigen::VectorXd& at, const Scales& scales) const;
  // Margin of each set at this point.
  std::vector<std::vector<double>> margins(const Eigen::VectorXd& at) const;
  // Sum of spent margin per lift, decayed to `day` and with overlap, from sessions within three days before;
  // index by whole days since.
  std::vector<std::array<double, 4>> residual_by_age(const Eigen::VectorXd& at, Date day) const;

  // Of the Gaussian prior on one of the shared unknowns.
  double prior_precision(int variable) const;
  double prior_trend_mean() const { return trend_mean_; }
  double prior_trend_sd() const { return trend_sd_; }
  // Of each lift, and of the general level.
  const std::vector<PeopleAlike>& people() const { return people_; }
  const PeopleAlike& general_people() const { return general_people_; }

 private:
  struct Local {  // one session's place in the field
    SessionLayout layout;
    std::vector<int> variable;      // local index -> field index
    std::vector<int> position;      // packed lower triangle -> index into the values of the precision
    std::vector<int> own;           // local indices of those that are not shared
    std::vector<int> own_place;     // the reverse; -1: shared
    std::vector<int> own_position;  // of their packed lower triangle, in own_pattern_
  };
  struct Step {  // one transition of one lift
    Passage passage;
    std::array<int, 5> variable;  // theta, v, theta', v', log lay-off loss
    std::array<int, 15> position, own_position;
  };
  struct Normal {  // a Gaussian prior on one unknown
    int variable;
    double mean, precision;
  };
  struct First {            // theta of a lift's first session given the general level
    int strength, general;  // general -1: none (marks)
    double ratio, precision;
    double hold;  // of the general level, which is that of the log's first session
    std::array<int, 3> position, own_position;
  };

  Eigen::VectorXd gather(const Local& local, const Eigen::VectorXd& at) const;
  Eigen::MatrixXd spread_of(const Local& local, const SparseLdl& spread) const;
  void session_terms(std::size_t session, const Eigen::VectorXd& at, const Scales& scales, int order, Free free,
                     Terms& out, const SparseLdl* spread = nullptr, std::vector<SetSite>* sites = nullptr,
                     double* moved = nullptr) const;
  void prior_terms(const Eigen::VectorXd& at, const Scales& scales, int order, Free free, Terms& out) const;
  std::vector<SpentByLift> spent(const Eigen::VectorXd& at) const;

  const TrainingLog* log_;
  Precision precision_ = Precision::fine;
  FieldLayout layout_;
  std::vector<Local> locals_;
  std::vector<Step> steps_;
  std::vector<Normal> normals_;
  std::vector<First> firsts_;
  double trend_mean_ = 0, trend_sd_ = 0;
  std::vector<PeopleAlike> people_;
  PeopleAlike general_people_;
  SparseLdl::Matrix pattern_, own_pattern_;
  std::vector<int> diagonal_, own_diagonal_;  // position of each diagonal entry
  std::vector<bool> shared_;
};

}  // namespace ullage::capacity
