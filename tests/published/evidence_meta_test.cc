// The evidence engine against metafor 3.8-1 (Viechtbauer 2010, J Stat Softw 36(3):1-48, doi 10.18637/jss.v036.i03) and,
// for CR2, clubSandwich 0.5.8 (Pustejovsky), both of Debian 12, on 24 sets of r-cran-metadat 1.2-0.
//
// Reference results: science/evidence/results/reference.csv, one number a line, made by science/evidence/reference.R.
// Sets: written by science/evidence/sets.R from the Debian package when this test runs; none is kept in the tree.
// Tolerances: estimates, standard errors and variances of random effects 1e-6 relative; statistics, p, intervals and
// the rest 1e-5. Where a number is near 0 it is held against the size of what it was made from, said beside it.
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "engine/evidence/design.h"
#include "engine/evidence/effect_size.h"
#include "engine/evidence/influence.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"
#include "engine/evidence/robust.h"
#include "engine/evidence/small_study.h"
#include "tests/published/published_values.h"

namespace ullage::evidence {
namespace {

using published::detail::fields;

// A folder of this process: the tests of this file run side by side, each in its own process.
const std::string kSets = ULLAGE_BINARY_DIR "/metadat-" + std::to_string(::getpid());

std::vector<std::string> parts(const std::string& text, char by) {
  std::vector<std::string> out(1);
  for (const char c : text) {
    if (c == by)
      out.emplace_back();
    else
      out.back() += c;
  }
  return out;
}

// ---- The sets.

std::vector<Column> read_set(const std::string& name) {
  std::ifstream in(kSets + "/" + name + ".csv");
  if (!in) throw std::runtime_error("no set " + name);
  std::string line;
  std::getline(in, line);
  std::vector<Column> columns;
  for (const std::string& header : fields(line)) columns.push_back({header, true, {}, {}});
  while (std::getline(in, line)) {
    const auto cells = fields(line);
    for (std::size_t i = 0; i < columns.size(); ++i) columns[i].words.push_back(cells.at(i));
  }
  for (Column& c : columns) {
    for (const std::string& word : c.words) {
      const auto number = published::detail::number(word);
      c.numeric = c.numeric && (word.empty() || number);
      c.numbers.push_back(number.value_or(NAN));
    }
  }
  return columns;
}

// ---- One fit of the reference, and what it gave.

struct Fit {
  std::string set, measure, method, test, moderators, random, cluster, correlation;
  auto operator<=>(const Fit&) const = default;
  std::string name() const {
    return set + " " + measure + " " + method + " " + test + " ~ " + moderators + " | " + random + " " + cluster + " " +
           correlation;
  }
};
using Numbers = std::map<std::string, std::map<int, double>>;  // quantity -> term or study -> value

const std::map<Fit, Numbers>& reference() {
  static const std::map<Fit, Numbers> all = [] {
    std::map<Fit, Numbers> read;
    std::ifstream in(ULLAGE_SOURCE_DIR "/science/evidence/results/reference.csv");
    std::string line;
    std::getline(in, line);
    while (std::getline(in, line)) {
      const auto f = parts(line, ',');
      if (f.size() != 11) throw std::runtime_error("reference.csv: 11 columns were expected in: " + line);
      read[{f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7]}][f[8]][std::stoi(f[9])] = std::stod(f[10]);
    }
    return read;
  }();
  return all;
}

std::vector<Term> terms_of(const std::string& moderators) {
  std::vector<Term> terms;
  if (moderators.empty()) return terms;
  for (const std::string& m : parts(moderators, '+')) {
    Term t;
    if (const auto cut = m.find('&'); cut != std::string::npos) {
      t = {Shape::product, m.substr(0, cut), m.substr(cut + 1), {}, 3};
    } else {
      t.column = m.substr(0, m.find(':'));
      if (m.find(":quadratic") != std::string::npos) t.shape = Shape::quadratic;
      if (const auto at = m.find(":spline("); at != std::string::npos) {
        t.shape = Shape::spline;
        for (const std::string& knot : parts(m.substr(at + 8, m.size() - at - 9), ';'))
          t.knots.push_back(std::stod(knot));
      }
    }
    terms.push_back(t);
  }
  return terms;
}

struct Problem {
  Eigen::VectorXd y, v;
  Eigen::MatrixXd x;
  std::vector<std::string> names, study, group;
};

Result<EffectSize> effect_of(const std::vector<Column>& c, std::size_t i, const std::string& measure) {
  const auto at = [&](const char* name) { return find_column(c, name)->numbers[i]; };
  if (measure.empty()) return EffectSize{at("effect"), at("variance")};
  if (measure == "OR" || measure == "RR") {
    const Counts counts{at("events1"), at("n1"), at("events2"), at("n2")};
    return measure == "OR" ? log_odds_ratio(counts) : log_risk_ratio(counts);
  }
  const TwoGroups groups{at("n1"), at("mean1"), at("sd1"), at("n2"), at("mean2"), at("sd2")};
  if (measure == "MD") return mean_difference(groups);
  return measure == "SMD" ? standardised_mean_difference(groups) : log_ratio_of_means(groups);
}

Problem problem_of(const Fit& fit) {
  std::vector<Column> columns = read_set(fit.set);
  const std::vector<Term> terms = terms_of(fit.moderators);
  std::vector<std::string> needed;
  for (const Term& t : terms) {
    needed.push_back(t.column);
    if (!t.with.empty()) needed.push_back(t.with);
  }
  std::vector<std::size_t> keep;
  std::vector<EffectSize> effects;
  for (const std::size_t i : complete_rows(needed, columns, columns.front().size())) {
    const auto effect = effect_of(columns, i, fit.measure);
    if (!effect || !std::isfinite(effect->effect) || !std::isfinite(effect->variance)) continue;
    keep.push_back(i);
    effects.push_back(*effect);
  }
  for (Column& c : columns) {
    Column kept{c.name, c.numeric, {}, {}};
    for (const std::size_t i : keep) {
      kept.numbers.push_back(c.numbers[i]);
      kept.words.push_back(c.words[i]);
    }
    c = kept;
  }
  Problem p;
  const auto n = static_cast<Eigen::Index>(effects.size());
  p.y.resize(n);
  p.v.resize(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    p.y(i) = effects[static_cast<std::size_t>(i)].effect;
    p.v(i) = effects[static_cast<std::size_t>(i)].variance;
  }
  const auto resolved = resolve(terms, columns);
  if (!resolved) throw std::runtime_error(resolved.error().message);
  p.names = resolved->names();
  p.x = terms.empty() ? Eigen::MatrixXd::Ones(n, 1) : *resolved->matrix(columns);
  p.study = find_column(columns, "study")->words;
  if (const Column* group = find_column(columns, "group")) p.group = group->words;
  return p;
}

std::vector<int> numbered(const std::vector<std::string>& words) {
  std::map<std::string, int> seen;
  std::vector<int> out;
  for (const std::string& w : words) out.push_back(seen.emplace(w, static_cast<int>(seen.size())).first->second);
  return out;
}

// ---- Holding ours against theirs.

int compared = 0;

constexpr double kExact = 1e-6, kOther = 1e-5;

// |ours - theirs| <= tolerance * max(|theirs|, least): least is the size below which a number counts as 0.
void hold(const Fit& fit, const Numbers& numbers, const std::string& quantity, int term, double ours, double tolerance,
          double least = 1e-10) {
  const auto found = numbers.find(quantity);
  if (found == numbers.end()) return;
  const auto value = found->second.find(term);
  if (value == found->second.end()) return;
  ++compared;
  const double theirs = value->second;
  if (std::isinf(theirs) && std::isinf(ours)) return;
  EXPECT_LE(std::abs(ours - theirs), tolerance * std::max(std::abs(theirs), least))
      << fit.name() << ": " << quantity << " " << term << ", ours " << ours << ", theirs " << theirs;
}

void hold_summary(const Fit& fit, const Numbers& n, const Summary& s) {
  for (std::size_t j = 0; j < s.coefficients.size(); ++j) {
    const Coefficient& c = s.coefficients[j];
    const int t = static_cast<int>(j) + 1;
    // An estimate, a statistic or an interval's end near 0 is held against the standard error.
    hold(fit, n, "estimate", t, c.estimate, kExact, c.se);
    hold(fit, n, "se", t, c.se, kExact);
    hold(fit, n, "statistic", t, c.statistic, kOther, 1);
    hold(fit, n, "p", t, c.p, kOther);
    hold(fit, n, "ci_lo", t, c.interval.low, kOther, c.se);
    hold(fit, n, "ci_hi", t, c.interval.high, kOther, c.se);
  }
  hold(fit, n, "q", 1, s.q, kOther);
  hold(fit, n, "q_p", 1, s.q_p, kOther);
  if (s.p > 1) {
    hold(fit, n, "qm", 1, s.qm, kOther);
    hold(fit, n, "qm_p", 1, s.qm_p, kOther);
  }
  if (s.log_likelihood) hold(fit, n, "loglik", 1, *s.log_likelihood, kOther);
  hold(fit, n, "prediction_lo", 1, s.prediction.low, kOther, s.coefficients[0].se);
  hold(fit, n, "prediction_hi", 1, s.prediction.high, kOther, s.coefficients[0].se);
}

void hold_robust(const Fit& fit, const Numbers& n, const RobustFit& r) {
  for (std::size_t j = 0; j < r.coefficients.size(); ++j) {
    const Coefficient& c = r.coefficients[j];
    const int t = static_cast<int>(j) + 1;
    hold(fit, n, "cr2_se", t, c.se, kExact);
    hold(fit, n, "cr2_statistic", t, c.statistic, kOther, 1);
    hold(fit, n, "cr2_df", t, c.df, kOther);
    hold(fit, n, "cr2_p", t, c.p, kOther);
  }
}

void check_single(const Fit& fit, const Numbers& n) {
  const Problem p = problem_of(fit);
  PoolOptions options;
  options.method = *parse_method(fit.method);
  options.reference = fit.test == "knha" ? Reference::knapp_hartung : Reference::normal;
  const auto ours = pool(p.y, p.v, p.x, p.names, options);
  ASSERT_TRUE(ours) << fit.name() << ": " << ours.error().message;
  EXPECT_TRUE(ours->converged) << fit.name();
  hold_summary(fit, n, *ours);
  const double typical = p.v.mean();
  hold(fit, n, "tau2", 1, ours->tau2, kExact, 1e-3 * typical);
  if (ours->tau2_se) hold(fit, n, "tau2_se", 1, *ours->tau2_se, kExact);
  hold(fit, n, "tau2_lo", 1, ours->tau2_interval.low, kOther, 1e-3 * typical);
  hold(fit, n, "tau2_hi", 1, ours->tau2_interval.high, kOther, 1e-3 * typical);
  hold(fit, n, "i2", 1, ours->i2, kOther, 0.1);
  if (!fit.cluster.empty()) {
    WorkingCovariance w;
    w.v = p.v;
    w.tau2 = ours->tau2;
    const auto robust = cluster_robust(p.y, p.x, p.names, w, numbered(p.study));
    ASSERT_TRUE(robust) << robust.error().message;
    hold_robust(fit, n, *robust);
  }
  if (n.contains("rstudent")) {
    const auto all = influence(p.y, p.v, p.x, p.names, options);
    ASSERT_TRUE(all) << all.error().message;
    for (std::size_t i = 0; i < all->size(); ++i) {
      const Influence& one = (*all)[i];
      const int t = static_cast<int>(i) + 1;
      hold(fit, n, "rstudent", t, one.rstudent, kOther, 1);
      hold(fit, n, "dffits", t, one.dffits, kOther, 0.1);
      hold(fit, n, "cook.d", t, one.cook, kOther, 1e-2);
      hold(fit, n, "cov.r", t, one.cov_ratio, kOther);
      hold(fit, n, "tau2.del", t, one.tau2, kExact, 1e-3 * typical);
      hold(fit, n, "QE.del", t, one.q, kOther);
      hold(fit, n, "hat", t, one.hat, kOther);
      hold(fit, n, "without_estimate", t, one.estimate, kExact, one.se);
      hold(fit, n, "without_se", t, one.se, kExact);
      hold(fit, n, "without_tau2", t, one.tau2, kExact, 1e-3 * typical);
    }
  }
  if (n.contains("egger_t")) {
    const auto e = egger(p.y, p.v);
    ASSERT_TRUE(e);
    hold(fit, n, "egger_t", 1, e->statistic, kOther, 1);
    hold(fit, n, "egger_p", 1, e->p, kOther);
    hold(fit, n, "egger_slope", 1, e->slope, kExact);
    hold(fit, n, "egger_limit", 1, e->limit, kExact, (e->limit_interval.high - e->limit_interval.low) / 4);
    hold(fit, n, "egger_limit_lo", 1, e->limit_interval.low, kOther,
         (e->limit_interval.high - e->limit_interval.low) / 4);
    hold(fit, n, "egger_limit_hi", 1, e->limit_interval.high, kOther,
         (e->limit_interval.high - e->limit_interval.low) / 4);
    const auto m = egger_mixed(p.y, p.v, options.method);
    ASSERT_TRUE(m);
    hold(fit, n, "egger_mixed_z", 1, m->statistic, kOther, 1);
    hold(fit, n, "egger_mixed_p", 1, m->p, kOther);
    const auto r = rank_test(p.y, p.v);
    ASSERT_TRUE(r);
    hold(fit, n, "rank_tau", 1, r->tau, kOther, 0.1);
    hold(fit, n, "rank_p", 1, r->p, kOther);
  }
}

void check_multilevel(const Fit& fit, const Numbers& n) {
  const Problem p = problem_of(fit);
  MultilevelData data{p.y, p.v, p.x, p.names, {}};
  for (const std::string& level : parts(fit.random, '/')) {
    if (level == "study") data.levels.push_back(numbered(p.study));
    if (level == "group") data.levels.push_back(numbered(p.group));
    if (level == "effect") {
      data.levels.emplace_back();
      for (Eigen::Index i = 0; i < p.y.size(); ++i) data.levels.back().push_back(static_cast<int>(i));
    }
  }
  MultilevelOptions options;
  options.restricted = fit.method == "REML";
  options.reference = fit.test == "t" ? Reference::student : Reference::normal;
  options.correlation = fit.correlation.empty() ? 0 : std::stod(fit.correlation);
  options.profile_intervals = n.contains("sigma2_lo");
  const auto ours = fit_multilevel(data, options);
  ASSERT_TRUE(ours) << fit.name() << ": " << ours.error().message;
  EXPECT_TRUE(ours->converged) << fit.name();
  hold_summary(fit, n, *ours);
  const double typical = p.v.mean();
  for (std::size_t l = 0; l < ours->sigma2.size(); ++l) {
    const int t = static_cast<int>(l) + 1;
    hold(fit, n, "sigma2", t, ours->sigma2[l], kExact, 1e-2 * typical);
    if (!ours->sigma2_intervals.empty()) {
      hold(fit, n, "sigma2_lo", t, ours->sigma2_intervals[l].low, kOther, 1e-2 * typical);
      hold(fit, n, "sigma2_hi", t, ours->sigma2_intervals[l].high, kOther, 1e-2 * typical);
    }
  }
  if (!fit.cluster.empty()) {
    const WorkingCovariance w{p.v, 0, data.levels, ours->sigma2, options.correlation};
    const auto robust = cluster_robust(p.y, p.x, p.names, w, numbered(p.study));
    ASSERT_TRUE(robust) << robust.error().message;
    hold_robust(fit, n, *robust);
  }
  if (n.contains("without_estimate")) {
    const auto all = leave_one_group_out(data, *ours, options);
    ASSERT_TRUE(all) << all.error().message;
    for (std::size_t i = 0; i < all->size(); ++i) {
      hold(fit, n, "without_estimate", static_cast<int>(i) + 1, (*all)[i].estimate, kExact, (*all)[i].se);
      hold(fit, n, "without_se", static_cast<int>(i) + 1, (*all)[i].se, kExact);
    }
  }
}

class EvidenceMeta : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    const std::string command =
        std::string("Rscript '") + ULLAGE_SOURCE_DIR + "/science/evidence/sets.R' '" + kSets + "' >/dev/null 2>&1";
    made_ = std::system(command.c_str()) == 0;
  }
  static void TearDownTestSuite() { std::filesystem::remove_all(kSets); }
  void SetUp() override {
    ASSERT_TRUE(made_) << "the sets are read from Debian's r-cran-metadat and r-cran-metafor by Rscript: is it there?";
  }
  static bool made_;
};
bool EvidenceMeta::made_ = false;

TEST_F(EvidenceMeta, SinglesAreThoseOfTheReference) {
  compared = 0;
  int fits = 0;
  for (const auto& [fit, numbers] : reference()) {
    if (!fit.random.empty()) continue;
    check_single(fit, numbers);
    ++fits;
  }
  RecordProperty("fits", fits);
  RecordProperty("numbers", compared);
  EXPECT_GE(fits, 80);
  EXPECT_GE(compared, 2000);
}

TEST_F(EvidenceMeta, MultilevelsAreThoseOfTheReference) {
  compared = 0;
  int fits = 0;
  for (const auto& [fit, numbers] : reference()) {
    if (fit.random.empty()) continue;
    check_multilevel(fit, numbers);
    ++fits;
  }
  RecordProperty("fits", fits);
  RecordProperty("numbers", compared);
  EXPECT_GE(fits, 20);
  EXPECT_GE(compared, 500);
}

// Points of curves with CR2 errors: science/evidence/lines.R (clubSandwich's linear_contrast), results/lines.csv.
TEST_F(EvidenceMeta, CurvesWithRobustErrorsAreThoseOfTheReference) {
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/evidence/results/lines.csv");
  std::string line;
  std::getline(in, line);
  int points = 0;
  while (std::getline(in, line)) {
    const auto f = parts(line, ',');
    ASSERT_EQ(f.size(), 9U) << line;
    const bool quadratic = f[2] == "quadratic";
    const Problem p = problem_of({f[0], "", "REML", "z", quadratic ? f[1] + ":quadratic" : f[1], "", "", ""});
    const auto fit = pool(p.y, p.v, p.x, p.names);
    ASSERT_TRUE(fit) << line;
    const double x = std::stod(f[3]);
    Eigen::MatrixXd at(1, p.x.cols());
    if (quadratic)
      at << 1, x, x * x;
    else
      at << 1, x;
    WorkingCovariance w;
    w.v = p.v;
    w.tau2 = fit->tau2;
    const auto told = robust_contrasts(p.y, p.x, p.names, w, numbered(p.study), at);
    ASSERT_TRUE(told) << line;
    const Coefficient& c = told->front();
    const auto near = [&](std::size_t column, double ours, double tolerance, double least) {
      const double theirs = std::stod(f[column]);
      EXPECT_LE(std::abs(ours - theirs), tolerance * std::max(std::abs(theirs), least))
          << line << ": column " << column;
    };
    near(4, c.estimate, kExact, c.se);
    near(5, c.se, kExact, 0);
    near(6, c.df, kOther, 0);
    near(7, c.interval.low, kOther, c.se);
    near(8, c.interval.high, kOther, c.se);
    ++points;
  }
  EXPECT_GE(points, 19);
}

TEST_F(EvidenceMeta, EightSetsAndTenMoreAreCompared) {
  std::set<std::string> sets;
  for (const auto& [fit, numbers] : reference()) sets.insert(fit.set);
  for (const char* one : {"bcg", "konstantopoulos2011", "assink2016", "bangertdrowns2004", "raudenbush1985",
                          "normand1999", "berkey1998", "craft2003"})
    EXPECT_TRUE(sets.contains(one)) << one;
  EXPECT_GE(sets.size(), 18U);
}

// 33 trials of progressive resistance training against control in older adults: set dat.lcj of the R package
// altmeta 4.2 (GPL-2 or later; not in Debian and not kept here), from Liu, Latham 2009, Cochrane Database Syst Rev
// 3:CD002759, doi 10.1002/14651858.CD002759.pub2. Reference: metafor 3.8-1, science/evidence/results/lcj.csv. The table
// is the file that ULLAGE_LCJ names (columns y, s2), or that of the package where R has it; without either there is
// nothing to compare.
TEST(EvidenceLcj, StrengthTrainingInOlderAdultsIsThatOfTheReference) {
  const char* given = std::getenv("ULLAGE_LCJ");
  std::string path = given ? given : ULLAGE_BINARY_DIR "/dat.lcj.csv";
  if (!given) {
    const std::string command =
        "Rscript -e 'write.csv(altmeta::dat.lcj, \"" + path + "\", row.names = FALSE)' >/dev/null 2>&1";
    if (std::system(command.c_str()) != 0)
      GTEST_SKIP() << "the set is neither named by ULLAGE_LCJ nor in R's altmeta: docs/evidence.md says how to get it";
  }
  std::ifstream in(path);
  ASSERT_TRUE(in) << path;
  std::string line;
  std::getline(in, line);
  std::vector<double> effects, variances;
  while (std::getline(in, line)) {
    const auto cells = fields(line);
    ASSERT_EQ(cells.size(), 2U) << line;
    effects.push_back(std::stod(cells[0]));
    variances.push_back(std::stod(cells[1]));
  }
  ASSERT_EQ(effects.size(), 33U);
  const Eigen::VectorXd y = Eigen::Map<Eigen::VectorXd>(effects.data(), 33),
                        v = Eigen::Map<Eigen::VectorXd>(variances.data(), 33);
  std::map<std::string, std::map<std::string, double>> ours;
  for (const char* name : {"common", "REML", "ML", "DL", "PM", "EB", "HE", "SJ", "REML+KH"}) {
    PoolOptions options;
    options.method = std::string(name) == "REML+KH" ? Method::REML : *parse_method(name);
    if (std::string(name) == "REML+KH") options.reference = Reference::knapp_hartung;
    const auto fit = pool(y, v, options);
    ASSERT_TRUE(fit) << name;
    const Coefficient& c = fit->coefficients[0];
    ours[name] = {{"estimate", c.estimate},
                  {"se", c.se},
                  {"p", c.p},
                  {"ci_lo", c.interval.low},
                  {"ci_hi", c.interval.high},
                  {"i2", fit->i2},
                  {"q", fit->q},
                  {"q_p", fit->q_p},
                  {"prediction_lo", fit->prediction.low},
                  {"prediction_hi", fit->prediction.high},
                  {"tau2", fit->tau2},
                  {"tau2_lo", fit->tau2_interval.low},
                  {"tau2_hi", fit->tau2_interval.high}};
  }
  std::ifstream reference(ULLAGE_SOURCE_DIR "/science/evidence/results/lcj.csv");
  std::getline(reference, line);
  int held = 0;
  while (std::getline(reference, line)) {
    const auto f = parts(line, ',');
    ASSERT_EQ(f.size(), 4U) << line;
    ASSERT_TRUE(ours[f[0]].contains(f[1])) << line;
    const double theirs = std::stod(f[2]);
    const bool exact = f[1] == "estimate" || f[1] == "se" || f[1] == "tau2";
    EXPECT_LE(std::abs(ours[f[0]][f[1]] - theirs), (exact ? kExact : kOther) * std::max(std::abs(theirs), 1e-6))
        << line;
    ++held;
  }
  EXPECT_EQ(held, 112);
}

}  // namespace
}  // namespace ullage::evidence
