#include "engine/capacity/posterior.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <cstring>

#include "engine/base/lanes.h"
#include "engine/base/normal.h"
#include "engine/base/quadrature.h"
#include "engine/base/random.h"
#include "engine/capacity/lift_passage.h"
#include "engine/capacity/priors.h"

namespace ullage::capacity {
namespace {

// Root of a covariance that may be a rounding error away from positive definite.
Eigen::MatrixXd root_of(Eigen::MatrixXd covariance) {
  double jitter = 1e-14;
  for (int attempt = 0; attempt < 12; ++attempt, jitter *= 10) {
    const Eigen::LLT<Eigen::MatrixXd> llt(covariance);
    if (llt.info() == Eigen::Success) return llt.matrixL();
    covariance.diagonal().array() += jitter;
  }
  return covariance.diagonal().cwiseMax(0).cwiseSqrt().asDiagonal();
}

// How many of n draws each component gets: largest remainders.
std::vector<int> shares(const std::vector<Component>& components, int n) {
  std::vector<int> count;
  std::vector<std::pair<double, std::size_t>> rest;
  int given = 0;
  double total = 0;
  for (const Component& c : components) total += c.weight;
  for (std::size_t i = 0; i < components.size(); ++i) {
    const double exact = n * components[i].weight / total;
    count.push_back(static_cast<int>(exact));
    given += count.back();
    rest.emplace_back(exact - count.back(), i);
  }
  std::sort(rest.begin(), rest.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  for (int i = 0; given < n; ++i, ++given) ++count[rest[static_cast<std::size_t>(i) % rest.size()].second];
  return count;
}

}  // namespace

Passage passage_to(const Posterior& p, const LiftSummary& s, Date day) {
  if (day <= s.last) return {};
  const TimeOff off = TimeOff{s.lay_off_excess, s.lay_off_absent} + time_off(day - p.as_of);
  return passage(day - s.last, off, p.trend_mean, p.trend_sd,
                 {s.untrained_log_mean, s.prior_log_sd, p.general_prior_sd});
}

int Posterior::find_lift(const std::string& exercise, Side side) const {
  int best = -1;
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    if (lifts[i].exercise != exercise || lifts[i].side != side) continue;
    if (best < 0 || lifts[i].last > lifts[static_cast<std::size_t>(best)].last) best = static_cast<int>(i);
  }
  return best;
}

SkewedMixture Posterior::rested_log_strength(std::size_t lift, Date day) const {
  const LiftSummary& s = lifts[lift];
  const int theta = index.strength[lift], v = index.trend[lift], u = index.log_layoff;
  day = std::max(day, as_of);
  const Passage p = passage_to(*this, s, day);
  SkewedMixture skewed;
  NormalMixture& out = skewed.stand_in;
  for (const Component& c : components) {
    // hold theta + reach v, and the lay-off loss, which goes with it.
    const auto with = [&](int variable) {
      return p.hold * c.covariance(theta, variable) + p.reach * c.covariance(v, variable);
    };
    const double mean = p.hold * c.mean(theta) + (p.progress + (c.mean(v) - p.trend_mean) * p.reach) + p.towards;
    const double noise = day > s.last ? p.noise(c.drift)(0, 0) : 0;
    const double variance = p.hold * with(theta) + p.reach * with(v) + noise;
    const double loss_variance = c.covariance(u, u);
    if (p.loss_days == 0 || !(loss_variance > 0)) {
      out.push_back({c.weight, mean - std::exp(c.mean(u)) * p.loss_days, std::sqrt(std::max(0.0, variance))});
      continue;
    }
    // Given the log of the loss it is normal.
    static const QuadratureRule kRule = gauss_legendre(12);
    constexpr double kReach = 4.5;
    const double loss_sd = std::sqrt(loss_variance), lean = with(u) / loss_sd;
    const double rest = std::sqrt(std::max(0.0, variance - lean * lean));
    const double within = 2 * normal_cdf(kReach) - 1;
    for (std::size_t i = 0; i < kRule.node.size(); ++i) {
      const double z = kReach * kRule.node[i];
      out.push_back({c.weight * kReach * kRule.weight[i] * normal_density(z) / within,
                     mean + lean * z - std::exp(c.mean(u) + loss_sd * z) * p.loss_days, rest});
    }
  }
  // Bent about a place that goes the way of the middle component.
  const Component& middle = components.front();
  const auto parts_of_middle = static_cast<std::ptrdiff_t>(out.size() / components.size());
  const MixtureMoments now = moments(NormalMixture(out.begin(), out.begin() + parts_of_middle));
  skewed.skew = brought_forward(skews[static_cast<std::size_t>(theta)],
                                {middle.mean(theta), std::sqrt(middle.covariance(theta, theta))}, now, p.hold);
  return skewed;
}

NormalMixture Posterior::log_endurance_of(std::size_t lift) const {
  const int k = index.log_endurance[static_cast<std::size_t>(lifts[lift].endurance_index)];
  NormalMixture out;
  for (const Component& c : components)
    out.push_back({c.weight, c.mean(k), std::sqrt(std::max(0.0, c.covariance(k, k)))});
  return out;
}

LifterDraws Posterior::draw(const std::vector<Wanted>& wanted, Date day, double body_mass_kg, int n,
                            std::uint64_t seed) const {
  return draw_on(wanted, day, body_mass_kg, n, seed, true);
}

LifterDraws Posterior::draw_rested(const std::vector<Wanted>& wanted, Date day, int n, std::uint64_t seed) const {
  return draw_on(wanted, day, 0, n, seed, false);
}

LifterDraws Posterior::draw_on(const std::vector<Wanted>& wanted, Date day, double body_mass_kg, int n,
                               std::uint64_t seed, bool with_day) const {
  LifterDraws out;
  out.day = std::max(day, as_of);
  const int ahead = out.day - as_of;
  std::vector<int> lift_of;
  std::vector<int> used{index.general,    index.log_a_fast,      index.log_a_slow, index.log_tau_fast,
                        index.logit_lam,  index.log_a_day,       index.bias,       index.log_gain,
                        index.log_spread, index.log_spread_rise, index.cue_shift,  index.log_layoff};
  const auto use = [&](int variable) {
    if (variable >= 0) used.push_back(variable);
  };
  use(index.readiness);
  for (const Wanted& w : wanted) {
    LiftInfo info;
    info.exercise = w.exercise.id;
    info.side = w.side;
    info.cls = w.exercise.cls;
    info.shape = curve_shape(w.exercise.cls);
    info.body_mass_kg = body_mass_kg;
    const int lift = find_lift(w.exercise.id, w.side);
    lift_of.push_back(lift);
    info.known = lift >= 0;
    if (lift >= 0) {
      const LiftSummary& s = lifts[static_cast<std::size_t>(lift)];
      info.seen_margin_low = s.seen_margin_low;
      info.seen_margin_high = s.seen_margin_high;
      use(index.strength[static_cast<std::size_t>(lift)]);
      use(index.trend[static_cast<std::size_t>(lift)]);
      use(index.log_endurance[static_cast<std::size_t>(s.endurance_index)]);
      use(index.practice[static_cast<std::size_t>(lift)]);
    }
    out.info.push_back(info);
  }
  std::sort(used.begin(), used.end());
  used.erase(std::unique(used.begin(), used.end()), used.end());
  std::vector<int> place(static_cast<std::size_t>(index.size), -1);
  for (std::size_t i = 0; i < used.size(); ++i) place[static_cast<std::size_t>(used[i])] = static_cast<int>(i);

  out.overlap.assign(wanted.size(), std::vector<double>(wanted.size(), 1));
  for (std::size_t a = 0; a < wanted.size(); ++a) {
    for (std::size_t b = 0; b < wanted.size(); ++b) {
      if (a != b) {
        out.overlap[a][b] = lift_overlap(wanted[a].exercise, wanted[a].side, wanted[b].exercise, wanted[b].side);
      }
    }
  }

  // The general level of exercises never done is that of the log's first session.
  const Fading unseen =
      fading(absent_days + time_off(ahead).absent, {untrained_mean, general_prior_sd, general_prior_sd});

  // How many standard normals each draw takes after those of the component: its day, general level and lifts.
  const bool day_drawn = with_day && !(ahead == 0 && index.readiness >= 0);
  std::size_t own_normals = (day_drawn ? 1U : 0U) + (unseen.variance > 0 ? 1U : 0U);
  for (const int lift : lift_of) {
    if (lift < 0) {
      own_normals += with_day ? 3 : 2;
    } else if (out.day > lifts[static_cast<std::size_t>(lift)].last) {
      ++own_normals;
    }
  }
  // What brings each known lift forward is the same in every draw of a component.
  std::vector<Passage> passages(wanted.size());
  std::vector<double> share(wanted.size(), 0), theta_sd(wanted.size(), 0);
  std::vector<double> spent_before(wanted.size(), 0);  // still felt, per unit of A_day
  std::vector<Prior> ratio(wanted.size(), Prior{0, 1}), endurance_prior(wanted.size(), Prior{0, 1});
  for (std::size_t w = 0; w < wanted.size(); ++w) {
    if (lift_of[w] < 0) {
      ratio[w] = log_strength_ratio(wanted[w].exercise);
      endurance_prior[w] = log_endurance(wanted[w].exercise);
      continue;
    }
    const LiftSummary& s = lifts[static_cast<std::size_t>(lift_of[w])];
    const int days = out.day - s.last;
    passages[w] = passage_to(*this, s, out.day);
    for (int age = ahead == 0 ? 1 : 0; age < 4; ++age) {
      const double spent = residual_by_age[static_cast<std::size_t>(lift_of[w])][static_cast<std::size_t>(age)];
      spent_before[w] += residual_after(age + ahead, spent, 1);
    }
    share[w] = s.new_here ? practice_share(s.sessions + (days > 0 ? 1 : 0)) : 0;
  }
  const double unseen_sd = std::sqrt(unseen.variance);

  std::vector<std::pair<Eigen::Index, Skewing>> skewed;
  for (std::size_t i = 0; i < used.size(); ++i) {
    if (skews[static_cast<std::size_t>(used[i])].skewness != 0)
      skewed.emplace_back(static_cast<Eigen::Index>(i), skewing(used[i]));
  }
  Random random(seed, 17);
  const std::vector<int> count = shares(components, n);
  const auto size = static_cast<Eigen::Index>(used.size());
  out.draws.reserve(static_cast<std::size_t>(n));
  std::vector<double> normals;
  for (std::size_t c = 0; c < components.size(); ++c) {
    const Component& component = components[c];
    if (count[c] == 0) continue;
    Eigen::VectorXd mean(size);
    Eigen::MatrixXd covariance(size, size);
    for (Eigen::Index i = 0; i < size; ++i) {
      mean(i) = component.mean(used[static_cast<std::size_t>(i)]);
      for (Eigen::Index j = 0; j < size; ++j) {
        covariance(i, j) = component.covariance(used[static_cast<std::size_t>(i)], used[static_cast<std::size_t>(j)]);
      }
    }
    for (std::size_t w = 0; w < wanted.size(); ++w) {
      if (lift_of[w] < 0 || out.day <= lifts[static_cast<std::size_t>(lift_of[w])].last) continue;
      theta_sd[w] = std::sqrt(passages[w].noise(component.drift)(0, 0));
    }
    // All normals of the component at once, in the order in which the draws take them: antithetic pairs share theirs,
    // so that the mean of the draws is the mean of the component.
    const auto pairs = static_cast<std::size_t>((count[c] + 1) / 2);
    normals.resize(pairs * static_cast<std::size_t>(size) + static_cast<std::size_t>(count[c]) * own_normals);
    for (double& u : normals) u = random.uniform();
    normal_quantiles(normals.data(), normals.size());
    Eigen::MatrixXd offsets(size, static_cast<Eigen::Index>(pairs));
    for (std::size_t pair = 0, at = 0; pair < pairs; ++pair) {
      offsets.col(static_cast<Eigen::Index>(pair)) = Eigen::Map<const Eigen::VectorXd>(&normals[at], size);
      at += static_cast<std::size_t>(size) + 2 * own_normals;
    }
    offsets = (root_of(covariance).triangularView<Eigen::Lower>() * offsets).eval();
    Eigen::VectorXd z(size);
    const auto value = [&](int variable) { return z(place[static_cast<std::size_t>(variable)]); };
    for (int i = 0; i < count[c]; ++i) {
      const auto pair = static_cast<std::size_t>(i / 2);
      const double* next =
          normals.data() + (pair + 1) * static_cast<std::size_t>(size) + static_cast<std::size_t>(i) * own_normals;
      const auto normal = [&](double middle, double sd) { return middle + sd * *next++; };
      if (i % 2 == 0) {
        z = mean + offsets.col(static_cast<Eigen::Index>(pair));
      } else {
        z = mean - offsets.col(static_cast<Eigen::Index>(pair));
      }
      for (const auto& [at, leaning] : skewed) z(at) = leaning(z(at));
      Draw draw;
      draw.lifts.reserve(wanted.size());
      draw.sigma = component.sigma;
      const Lanes fatigue = exp(
          Lanes{value(index.log_a_fast), value(index.log_a_slow), value(index.log_tau_fast), -value(index.logit_lam)});
      const Lanes judged = exp(
          Lanes{value(index.log_gain), value(index.log_spread), value(index.log_spread_rise), value(index.log_a_day)});
      draw.fatigue.a_fast = fatigue[0];
      draw.fatigue.a_slow = fatigue[1];
      draw.fatigue.tau_fast = fatigue[2];
      draw.fatigue.lam = 1 / (1 + fatigue[3]);
      draw.fatigue.rho_f = kRhoF;
      draw.fatigue.tau_slow = kTauSlow;
      draw.a_day = judged[3];
      draw.judgement = {value(index.bias), judged[0], judged[1], judged[2], value(index.cue_shift), felt_each_rep};
      double day_offset = 0;
      if (with_day) day_offset = day_drawn ? normal(0, component.day_sd) : value(index.readiness);
      const double loss = std::exp(value(index.log_layoff));
      double general = value(index.general);
      if (unseen.variance > 0) general = unseen.hold * general + unseen.towards + normal(0, unseen_sd);
      for (std::size_t w = 0; w < wanted.size(); ++w) {
        LiftDraw lift;
        if (lift_of[w] < 0) {
          lift.log_strength = general + normal(ratio[w].mean, ratio[w].sd) + day_offset;
          if (with_day) lift.log_strength -= normal(practice_mean, practice_sd);
          lift.endurance = std::max(kLeastEndurance, std::exp(normal(endurance_prior[w].mean, endurance_prior[w].sd)));
        } else {
          const auto l = static_cast<std::size_t>(lift_of[w]);
          const LiftSummary& s = lifts[l];
          double theta = value(index.strength[l]);
          if (out.day > s.last) {
            const Passage& p = passages[w];
            const double v = value(index.trend[l]);
            theta = p.hold * theta + (p.progress + (v - p.trend_mean) * p.reach - loss * p.loss_days) + p.towards;
            theta += normal(0, theta_sd[w]);
          }
          if (with_day && share[w] > 0 && index.practice[l] >= 0) theta -= share[w] * value(index.practice[l]);
          lift.log_strength = theta + day_offset;
          lift.endurance = std::max(kLeastEndurance,
                                    std::exp(value(index.log_endurance[static_cast<std::size_t>(s.endurance_index)])));
          if (with_day) lift.residual = draw.a_day * spent_before[w];
        }
        draw.lifts.push_back(lift);
      }
      out.draws.push_back(std::move(draw));
    }
  }
  return out;
}

// ---- Storage -------------------------------------------------------------------------------------

namespace {

constexpr char kMagic[] = "ULLAGE-POSTERIOR";

class Writer {
 public:
  std::string bytes;
  template <class T>
  void raw(const T& v) {
    bytes.append(reinterpret_cast<const char*>(&v), sizeof v);
  }
  void text(const std::string& s) {
    raw(static_cast<std::uint64_t>(s.size()));
    bytes += s;
  }
  template <class T, class F>
  void list(const std::vector<T>& v, F&& each) {
    raw(static_cast<std::uint64_t>(v.size()));
    for (const T& x : v) each(x);
  }
};

class Reader {
 public:
  explicit Reader(std::string_view bytes) : bytes_(bytes) {}
  bool good = true;
  template <class T>
  void raw(T& v) {
    if (!take(sizeof v)) return;
    std::memcpy(&v, bytes_.data() + at_ - sizeof v, sizeof v);
  }
  void text(std::string& s) {
    const std::uint64_t n = count(1);
    if (take(n)) s.assign(bytes_.data() + at_ - n, n);
  }
  void raw(bool& v) {
    std::uint8_t byte = 0;
    raw(byte);
    good = good && byte <= 1;
    v = byte == 1;
  }
  // Grows with what is read, so that a false length asks for no more memory than the bytes there are.
  template <class T, class F>
  void list(std::vector<T>& v, F&& each) {
    const std::uint64_t n = count(1);
    v.clear();
    for (std::uint64_t i = 0; i < n && good; ++i) {
      v.emplace_back();
      each(v.back());
    }
  }
  // A length that cannot be larger than what is left.
  std::uint64_t count(std::size_t least_size) {
    std::uint64_t n = 0;
    raw(n);
    if (n > (bytes_.size() - at_) / least_size) {
      good = false;
      n = 0;
    }
    return n;
  }
  std::size_t left() const { return bytes_.size() - at_; }
  bool at_end() const { return left() == 0; }

 private:
  bool take(std::uint64_t n) {
    if (!good || n > bytes_.size() - at_) return good = false;
    at_ += n;
    return true;
  }
  std::string_view bytes_;
  std::size_t at_ = 0;
};

// One walk over all fields serves both directions.
template <class Archive, class P>
void fields(Archive& a, P& p) {
  a.raw(p.as_of);
  a.text(p.lifter);
  a.list(p.lifts, [&](auto& l) {
    a.text(l.exercise);
    a.raw(l.side);
    a.raw(l.cls);
    a.raw(l.marks);
    a.raw(l.strength);
    a.raw(l.endurance);
    a.raw(l.fatigability);
    a.raw(l.fatigability_set4);
    a.raw(l.trend_pct_per_week);
    a.raw(l.learned);
    a.raw(l.learned_fatigability);
    a.raw(l.sets_used);
    a.raw(l.first);
    a.raw(l.last);
    a.raw(l.usual_rest_minutes);
    a.raw(l.shape);
    a.raw(l.lay_off_excess);
    a.raw(l.lay_off_absent);
    a.raw(l.untrained_log_mean);
    a.raw(l.prior_log_sd);
    a.raw(l.new_here);
    a.raw(l.sessions);
    a.raw(l.endurance_index);
    a.raw(l.seen_margin_low);
    a.raw(l.seen_margin_high);
    a.text(l.place);
    a.list(l.history, [&](auto& h) {
      a.raw(h.date);
      a.raw(h.median);
      a.raw(h.lo80);
      a.raw(h.hi80);
    });
  });
  a.list(p.components, [&](auto& c) {
    a.raw(c.weight);
    a.raw(c.sigma);
    a.raw(c.drift);
    a.raw(c.day_sd);
    matrix(a, c.mean);
    matrix(a, c.covariance);
  });
  a.list(p.skews, [&](auto& x) { a.raw(x); });
  a.raw(p.scale_skewness);
  a.raw(p.learned_judgement);
  a.raw(p.bias_reps);
  a.list(p.at_called, [&](auto& c) { a.raw(c); });
  a.raw(p.readiness);
  a.list(p.residual_by_age, [&](auto& r) { a.raw(r); });
  a.list(p.suspects, [&](auto& s) {
    a.raw(s.record);
    a.text(s.reason);
  });
  a.list(p.remarks, [&](auto& r) { a.text(r); });
  a.raw(p.general_prior_mean);
  a.raw(p.general_prior_sd);
  a.raw(p.untrained_mean);
  a.raw(p.absent_days);
  a.raw(p.practice_mean);
  a.raw(p.practice_sd);
  a.raw(p.trend_mean);
  a.raw(p.trend_sd);
  a.raw(p.set_count);
  a.raw(p.session_count);
  a.raw(p.converged);
  a.raw(p.reps_planned);
  a.raw(p.felt_each_rep);
  auto& i = p.index;
  for (auto* v : {&i.general, &i.log_a_fast, &i.log_a_slow, &i.log_tau_fast, &i.logit_lam, &i.log_a_day, &i.bias,
                  &i.log_gain, &i.log_spread, &i.log_spread_rise, &i.cue_shift, &i.log_layoff, &i.readiness, &i.size}) {
    a.raw(*v);
  }
  for (auto* v : {&i.strength, &i.trend, &i.log_endurance, &i.practice}) {
    a.list(*v, [&](auto& x) { a.raw(x); });
  }
}

template <class M>
void matrix(Writer& w, const M& m) {
  w.raw(static_cast<std::int64_t>(m.rows()));
  w.raw(static_cast<std::int64_t>(m.cols()));
  for (Eigen::Index i = 0; i < m.size(); ++i) w.raw(m.data()[i]);
}
template <class M>
void matrix(Reader& r, M& m) {
  const std::uint64_t rows = r.count(sizeof(double));
  const std::uint64_t columns = r.count(sizeof(double));
  constexpr bool kVector = M::ColsAtCompileTime == 1;
  if (!r.good || (kVector && columns != 1) || (columns > 0 && rows > r.left() / sizeof(double) / columns)) {
    r.good = false;
    return;
  }
  m.resize(static_cast<Eigen::Index>(rows), static_cast<Eigen::Index>(columns));
  for (Eigen::Index i = 0; i < m.size() && r.good; ++i) r.raw(m.data()[i]);
}

// Whether everything that the rest of the code takes for granted holds: indices that exist, finite numbers, days of
// this era.
bool sound(const Posterior& p) {
  constexpr int kFarthestDay = 1000000;
  const auto day = [](Date date) { return date.days > -kFarthestDay && date.days < kFarthestDay; };
  const auto& i = p.index;
  const auto there = [&](int variable) { return variable >= 0 && variable < i.size; };
  const auto perhaps = [&](int variable) { return variable == -1 || there(variable); };
  const std::size_t lifts = p.lifts.size();
  bool good = day(p.as_of) && i.strength.size() == lifts && i.trend.size() == lifts && i.practice.size() == lifts &&
              p.residual_by_age.size() == lifts && !p.components.empty() && perhaps(i.readiness);
  for (const int v : {i.general, i.log_a_fast, i.log_a_slow, i.log_tau_fast, i.logit_lam, i.log_a_day, i.bias,
                      i.log_gain, i.log_spread, i.log_spread_rise, i.cue_shift, i.log_layoff}) {
    good = good && there(v);
  }
  for (const auto* list : {&i.strength, &i.trend, &i.log_endurance}) {
    good = good && std::all_of(list->begin(), list->end(), there);
  }
  good = good && std::all_of(i.practice.begin(), i.practice.end(), perhaps);
  for (const LiftSummary& l : p.lifts) {
    good = good && l.side >= Side::both && l.side <= Side::right && l.cls >= ExerciseClass::barbell_compound &&
           l.cls <= ExerciseClass::isolation && day(l.first) && day(l.last) && l.sessions >= 0 &&
           l.sessions < kFarthestDay && l.endurance_index >= 0 &&
           static_cast<std::size_t>(l.endurance_index) < i.log_endurance.size();
    for (const StrengthPoint& h : l.history) good = good && day(h.date);
  }
  for (const SuspectSet& s : p.suspects) good = good && s.record >= 0;
  good = good && p.skews.size() == static_cast<std::size_t>(i.size);
  for (const Skew& skew : p.skews) {
    good = good && std::fabs(skew.skewness) <= kMostSkewness && std::isfinite(skew.middle) && skew.sd > 0 &&
           std::isfinite(skew.sd);
  }
  for (const double skewness : p.scale_skewness) good = good && std::fabs(skewness) <= kMostSkewness;
  double weight = 0;
  for (const Component& c : p.components) {
    weight += c.weight;
    good = good && c.weight >= 0 && std::isfinite(c.sigma + c.drift + c.day_sd) && c.mean.size() == i.size &&
           c.covariance.rows() == i.size && c.covariance.cols() == i.size && c.mean.allFinite() &&
           c.covariance.allFinite();
  }
  return good && weight > 0 && std::isfinite(weight);
}

}  // namespace

std::string serialise(const Posterior& posterior) {
  Writer w;
  w.bytes.append(kMagic, sizeof kMagic);
  w.raw(static_cast<std::int32_t>(posterior.model_version));
  fields(w, posterior);
  return std::move(w.bytes);
}

Result<Posterior> deserialise(std::string_view bytes) {
  if (bytes.size() < sizeof kMagic || std::memcmp(bytes.data(), kMagic, sizeof kMagic) != 0) {
    return fail(Code::corrupt, "a stored estimate is not readable; fit again");
  }
  Reader r(bytes.substr(sizeof kMagic));
  std::int32_t version = 0;
  r.raw(version);
  if (version != kModelVersion) {
    return fail(Code::newer_version, "a stored estimate was made by model version " + std::to_string(version) +
                                         ", this program has version " + std::to_string(kModelVersion) + "; fit again");
  }
  Posterior p;
  fields(r, p);
  if (!r.good || !r.at_end() || !sound(p)) {
    return fail(Code::corrupt, "a stored estimate is cut short or damaged; fit again");
  }
  return p;
}

}  // namespace ullage::capacity
