// Writes the fixed logs and, from them, the data of model.stan.
//
//   stan_export simulate science   makes science/stan/logs/*.csv again (only when a log is to change: every result that
//                                  rests on them must then be made again too)
//   stan_export data science       reads them and writes science/stan/data/*.R
#include <cmath>
#include <cstdio>
#include <fstream>
#include <string>

#include "engine/capacity/fatigue.h"
#include "engine/capacity/latent_field.h"
#include "engine/capacity/priors.h"
#include "science/stan/fixed_logs.h"
#include "service/interchange/write_log.h"

namespace ullage::science {
namespace {

using capacity::Prior;

// R's text form of named numbers and arrays.
class Dump {
 public:
  explicit Dump(const std::string& path) : out_(path) {}
  bool good() const { return out_.good(); }
  void number(const std::string& name, double value) { out_ << name << " <- " << text(value) << "\n"; }
  void words(const std::string& name, const std::vector<std::string>& values) {
    out_ << name << " <- c(";
    for (std::size_t i = 0; i < values.size(); ++i) out_ << (i > 0 ? ", \"" : "\"") << values[i] << '"';
    out_ << ")\n";
  }
  template <class T>
  void list(const std::string& name, const std::vector<T>& values) {
    array(name, values, std::to_string(values.size()));
  }
  // rows of equal length; column by column, as R has it
  template <class T>
  void table(const std::string& name, const std::vector<std::vector<T>>& rows, std::size_t columns) {
    std::vector<T> flat;
    for (std::size_t c = 0; c < columns; ++c) {
      for (const auto& row : rows) flat.push_back(row[c]);
    }
    array(name, flat, std::to_string(rows.size()) + "L, " + std::to_string(columns));
  }

 private:
  static std::string text(double value) {
    char buffer[40];
    std::snprintf(buffer, sizeof buffer, "%.17g", value);
    return buffer;
  }
  static std::string text(int value) { return std::to_string(value) + "L"; }
  template <class T>
  void array(const std::string& name, const std::vector<T>& values, const std::string& sizes) {
    out_ << name << " <- structure(c(";
    std::size_t width = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      const std::string item = (i > 0 ? ", " : "") + text(values[i]);
      width += item.size();
      out_ << item;
      if (width > 100) {
        out_ << "\n";
        width = 0;
      }
    }
    out_ << "), .Dim = c(" << sizes << "L))\n";
  }
  std::ofstream out_;
};

void add_end(std::vector<double>& row, const capacity::FeelingEnd& end) {
  const bool given = std::isfinite(end.bound);
  row.insert(row.end(), {given ? 1.0 : 0.0, given ? end.bound : 0.0, end.shift, end.on_cue ? 1.0 : 0.0});
}

void write_priors(Dump& out, const capacity::TrainingLog& log) {
  using namespace capacity;
  const auto pair = [&](const std::string& name, const std::vector<Prior>& priors) {
    std::vector<double> mean, sd;
    for (const Prior& p : priors) {
      mean.push_back(p.mean);
      sd.push_back(p.sd);
    }
    out.list(name + "_mean", mean);
    out.list(name + "_sd", sd);
  };
  pair("shared", {log_general_level(log.lifter, log.as_of), kLogAFast, kLogASlow, kLogTauFast, kLogitLam, log_a_day(),
                  kBias, kLogGain, kLogSpread, kLogSpreadRise, kCueShift, log_lay_off_loss()});
  pair("stopping",
       {log_stopping_reserve(ExerciseClass::barbell_compound), log_stopping_reserve(ExerciseClass::supported_compound),
        log_stopping_reserve(ExerciseClass::isolation)});
  std::vector<Prior> endurance, ratio;
  std::vector<std::vector<double>> speed_mean, speed_sd;
  for (const ExerciseInLog& e : log.exercises) {
    endurance.push_back(log_endurance(e.exercise));
    const SpeedPrior s = speed(e.exercise.id);
    speed_mean.push_back({s.at_failure.mean, s.log_slope.mean, s.log_noise.mean});
    speed_sd.push_back({s.at_failure.sd, s.log_slope.sd, s.log_noise.sd});
  }
  for (const Lift& lift : log.lifts) {
    ratio.push_back(log_strength_ratio(log.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise));
  }
  pair("endurance", endurance);
  pair("ratio", ratio);
  const Prior untrained = log_untrained_level(log.lifter, log.as_of);
  std::vector<Prior> alike;
  for (const Prior& r : ratio) alike.push_back({untrained.mean + r.mean, std::hypot(untrained.sd, r.sd)});
  pair("alike", alike);
  out.number("general_alike_mean", untrained.mean);
  out.number("general_alike_sd", untrained.sd);
  pair("scale", {kLogSigma, kLogDrift, kLogDaySd});
  out.table("speed_mean", speed_mean, 3);
  out.table("speed_sd", speed_sd, 3);
  const Prior learned = practice(log.lifter.training_years);
  out.number("practice_mean", learned.mean);
  out.number("practice_sd", learned.sd);
  const Prior moves = trend(log.lifter.training_years);
  out.number("trend_mean", moves.mean);
  out.number("trend_sd", moves.sd);
  out.number("trend_half_life", kTrendHalfLifeDays);
  out.number("tau_slow", kTauSlow);
  out.number("rho_f", kRhoF);
  out.number("minutes_per_rep", kSecondsPerRep / 60);
  out.number("residual_decay", kResidualDecayDays);
  out.number("residual_gone", kResidualGoneDays);
  out.number("lay_off_drift_factor", kLayOffDriftFactor);
  out.number("absence_loss_days", kAbsenceLossDays);
  out.number("absence_memory", kAbsenceMemory);
  out.number("absence_memory_days", kAbsenceMemoryDays);
  out.number("log_rest_sd", kLogRestSd);
  out.number("sigma_outside_range", kSigmaOutsideRange);
  out.number("outlier", kOutlier);
}

void write_data(Dump& out, const capacity::TrainingLog& log) {
  const int lift_count = static_cast<int>(log.lifts.size());
  std::vector<int> day, exercise_of, class_of;
  std::vector<double> shape_of_exercise;
  std::vector<std::vector<int>> in_session;
  for (const auto& session : log.sessions) {
    day.push_back(session.date - log.sessions.front().date);
    std::vector<int> in(log.lifts.size(), 0);
    for (const auto& set : session.sets) in[static_cast<std::size_t>(set.lift)] = 1;
    in_session.push_back(in);
  }
  for (const auto& lift : log.lifts) exercise_of.push_back(lift.endurance_index + 1);
  for (const auto& e : log.exercises) {
    class_of.push_back(static_cast<int>(e.exercise.cls) + 1);
    shape_of_exercise.push_back(capacity::curve_shape(e.exercise.cls));
  }

  // Visits, lift by lift.
  std::vector<int> visit_lift, visit_session, visit_number, practice_of;
  std::vector<double> visit_days, visit_excess, visit_absent, practice_share;
  std::vector<double> first_absent(log.lifts.size(), 0);
  std::vector<std::vector<int>> visit_at(log.lifts.size(), std::vector<int>(log.sessions.size(), 0));
  int new_lifts = 0;
  for (int l = 0; l < lift_count; ++l) {
    const auto lift = static_cast<std::size_t>(l);
    if (log.lifts[lift].new_here) ++new_lifts;
    int number = 0, before = 0;
    for (std::size_t s = 0; s < log.sessions.size(); ++s) {
      if (!in_session[s][lift]) continue;
      ++number;
      visit_lift.push_back(l + 1);
      visit_session.push_back(static_cast<int>(s) + 1);
      visit_number.push_back(number);
      visit_at[lift][s] = static_cast<int>(visit_lift.size());
      double excess = 0, absent = 0;
      for (std::size_t t = static_cast<std::size_t>(before) + 1; t <= s; ++t) {
        excess += std::max(0.0, day[t] - day[t - 1] - capacity::kLayOffFreeDays);
        absent += std::max(0.0, day[t] - day[t - 1] - capacity::kAbsenceAfterDays);
      }
      if (number == 1) {
        first_absent[lift] = absent;
        excess = absent = 0;
      }
      visit_days.push_back(number > 1 ? day[s] - day[static_cast<std::size_t>(before)] : 0);
      visit_excess.push_back(excess);
      visit_absent.push_back(absent);
      before = static_cast<int>(s);
      const double share = log.lifts[lift].new_here ? capacity::practice_share(number) : 0;
      practice_of.push_back(share > 0 ? new_lifts : 0);
      practice_share.push_back(share);
    }
  }

  std::vector<int> session_of, lift_of, visit, reps, failed, unknown, informs, rest_known, has_feeling, has_speed;
  std::vector<double> log_load, rest, speed;
  std::vector<std::vector<double>> feeling;
  for (std::size_t s = 0; s < log.sessions.size(); ++s) {
    for (const auto& set : log.sessions[s].sets) {
      const bool any = set.reps > 0 || set.failed;
      const bool felt = set.feeling && !(set.failed && set.reps <= 0);
      session_of.push_back(static_cast<int>(s) + 1);
      lift_of.push_back(set.lift + 1);
      visit.push_back(visit_at[static_cast<std::size_t>(set.lift)][s]);
      log_load.push_back(set.log_load);
      reps.push_back(set.reps);
      failed.push_back(set.failed);
      unknown.push_back(set.stop == Stop::unknown);
      informs.push_back(set.informs_strength && any);
      rest.push_back(set.rest_minutes);
      rest_known.push_back(set.rest_known);
      has_feeling.push_back(felt);
      std::vector<double> row;
      if (felt) {
        add_end(row, set.feeling->low);
        add_end(row, set.feeling->before);
        add_end(row, set.feeling->high);
      }
      row.resize(12, 0);
      feeling.push_back(row);
      has_speed.push_back(set.speed.has_value());
      speed.push_back(set.speed.value_or(0));
    }
  }

  std::vector<std::string> names;
  for (const auto& lift : log.lifts) names.push_back(lift.exercise);
  out.words("lift_name", names);
  out.number("N", static_cast<double>(reps.size()));
  out.number("S", static_cast<double>(day.size()));
  out.number("L", lift_count);
  out.number("E", static_cast<double>(log.exercises.size()));
  out.number("V", static_cast<double>(visit_lift.size()));
  out.number("P", new_lifts);
  out.list("day", day);
  out.table("in_session", in_session, log.lifts.size());
  out.list("exercise_of", exercise_of);
  out.list("class_of", class_of);
  out.list("shape_of_exercise", shape_of_exercise);
  out.table("overlap", log.overlap, log.lifts.size());
  out.list("visit_lift", visit_lift);
  out.list("visit_session", visit_session);
  out.list("visit_number", visit_number);
  out.list("visit_days", visit_days);
  out.list("visit_excess", visit_excess);
  out.list("visit_absent", visit_absent);
  out.list("first_absent", first_absent);
  out.list("practice_of", practice_of);
  out.list("practice_share", practice_share);
  out.list("session", session_of);
  out.list("lift", lift_of);
  out.list("visit", visit);
  out.list("log_load", log_load);
  out.list("reps", reps);
  out.list("failed", failed);
  out.list("unknown", unknown);
  out.list("informs", informs);
  out.list("rest", rest);
  out.list("rest_known", rest_known);
  out.list("has_feeling", has_feeling);
  out.table("feeling", feeling, 12);
  out.list("has_speed", has_speed);
  out.list("speed", speed);
  const capacity::LatentField field(log);
  const Eigen::VectorXd start = field.start();
  std::vector<double> first_start;
  for (const auto& strengths : field.layout().strength) first_start.push_back(start(strengths.front()));
  out.list("first_start", first_start);

  // The usual set of each lift: means over the sets with a call or a stop on a cue, else over the failures, else over
  // all.
  std::vector<double> usual_reps, usual_heard;
  std::vector<int> usual_on_cue, usual_unknown;
  for (int l = 0; l < lift_count; ++l) {
    double reps_sum = 0, heard_sum = 0;
    int count = 0, on_cue = 0, failures = 0, told_sets = 0;
    for (const auto& session : log.sessions) {
      for (const auto& set : session.sets) {
        if (set.lift != l || set.reps <= 0) continue;
        failures += set.failed ? 1 : 0;
        told_sets += set.stop != Stop::unknown ? 1 : 0;
        if (!set.feeling || !std::isfinite(set.feeling->high.bound)) continue;
        const auto& low = set.feeling->low;
        ++count;
        reps_sum += set.reps - set.feeling->high.shift;
        on_cue += set.feeling->high.on_cue ? 1 : 0;
        heard_sum += set.feeling->high.on_cue   ? set.feeling->high.bound
                     : std::isfinite(low.bound) ? 0.5 * (low.bound + set.feeling->high.bound)
                                                : set.feeling->high.bound;
      }
    }
    if (count == 0) {
      for (const auto& session : log.sessions) {
        for (const auto& set : session.sets) {
          const bool tells = failures > 0 ? set.failed : told_sets == 0;
          if (set.lift != l || set.reps <= 0 || !tells) continue;
          reps_sum += set.reps;
          ++count;
        }
      }
      usual_heard.push_back(-1);
    } else {
      usual_heard.push_back(heard_sum / count);
    }
    usual_reps.push_back(count > 0 ? reps_sum / count : 8);
    usual_on_cue.push_back(usual_heard.back() >= 0 && 2 * on_cue > count ? 1 : 0);
    usual_unknown.push_back(usual_heard.back() < 0 && failures == 0 ? 1 : 0);
  }
  out.list("usual_reps", usual_reps);
  out.list("usual_heard", usual_heard);
  out.list("usual_on_cue", usual_on_cue);
  out.list("usual_unknown", usual_unknown);
  write_priors(out, log);
}

int run(const std::string& what, const std::string& science) {
  for (const FixedLog& log : fixed_logs()) {
    if (what == "simulate") {
      std::ofstream out(science + "/stan/logs/" + log.name + ".csv");
      interchange::write_log([&](std::string_view text) { out << text; }, log.name, simulate(log));
      if (!out.good()) return 1;
      continue;
    }
    const std::vector<SetRecord> sets = read_fixed_log(science, log);
    if (sets.empty()) {
      std::fprintf(stderr, "%s/stan/logs/%s.csv: cannot be read whole\n", science.c_str(), log.name.c_str());
      return 2;
    }
    const capacity::TrainingLog ready = prepared(log, sets);
    Dump out(science + "/stan/data/" + log.name + ".R");
    write_data(out, ready);
    if (!out.good()) return 1;
    std::printf("%-9s %3d sets in %2zu sessions\n", log.name.c_str(), ready.set_count, ready.sessions.size());
  }
  return 0;
}

}  // namespace
}  // namespace ullage::science

int main(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  if (argc != 3 || (what != "simulate" && what != "data")) {
    std::fprintf(stderr, "usage: stan_export simulate|data SCIENCE_DIRECTORY\n");
    return 2;
  }
  return ullage::science::run(what, argv[2]);
}
