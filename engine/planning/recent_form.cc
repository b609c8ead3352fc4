#include "engine/planning/recent_form.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/base/normal.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/training_log.h"

namespace ullage::planning {
namespace {

using capacity::LoggedSession;
using capacity::LoggedSet;
using capacity::Posterior;
using capacity::TrainingLog;

constexpr int kLiftSessionsBefore = 4, kLiftSessionsNow = 2;  // of a lift, to be compared

std::vector<Posterior::Wanted> wanted_of(const TrainingLog& log) {
  std::vector<Posterior::Wanted> out;
  for (const capacity::Lift& lift : log.lifts)
    out.push_back({log.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise, lift.side});
  return out;
}

// The planned sets of a session: what was told of each, from draws of that morning.
void tell_misses(const Posterior& posterior, const TrainingLog& log, const std::vector<SetRecord>& records,
                 const FormOptions& options, std::vector<double>& chances, int& missed) {
  const LoggedSession& session = log.sessions.front();
  const std::uint64_t seed = options.seed + 7919ULL * static_cast<std::uint64_t>(session.date.days);
  const capacity::LifterDraws draws =
      posterior.draw(wanted_of(log), session.date, log.body_mass_kg, options.draws, seed);
  capacity::SessionForecast forecast(draws, seed);
  for (std::size_t i = 0; i < session.sets.size(); ++i) {
    const LoggedSet& set = session.sets[i];
    const SetRecord& record = records[static_cast<std::size_t>(set.record)];
    if (i > 0) forecast.rest(Minutes{set.rest_minutes});
    const bool planned = record.kind == SetKind::work && record.planned_reps && *record.planned_reps > 0 &&
                         set.informs_strength && log.lifts[static_cast<std::size_t>(set.lift)].marks == false;
    if (planned) {
      chances.push_back(forecast.look(set.lift, set.log_load, {*record.planned_reps, record.cue, false}).p_miss);
      missed += set.failed && set.reps < *record.planned_reps ? 1 : 0;
    }
    forecast.happened(set.lift, set.log_load, set.reps, set.failed);
  }
}

// Margin spent in a log from one day up to before another, for a lifter in the middle of the draws.
double spent_in(const TrainingLog& log, const capacity::LifterDraws& draws, Date from, Date to) {
  double strength = 0, total = 0;
  const auto n = static_cast<double>(draws.draws.size());
  for (const LoggedSession& session : log.sessions) {
    if (session.date < from || session.date >= to) continue;
    std::vector<capacity::FatigueStores> stores(log.lifts.size());
    const capacity::Draw& d = draws.draws.front();
    for (std::size_t i = 0; i < session.sets.size(); ++i) {
      const LoggedSet& set = session.sets[i];
      const auto l = static_cast<std::size_t>(set.lift);
      for (auto& store : stores) store.rest(i > 0 ? set.rest_minutes : 0, d.fatigue);
      strength = 0;
      for (const capacity::Draw& draw : draws.draws) strength += draw.lifts[l].log_strength / n;
      const auto spent =
          capacity::spend<double>(strength - stores[l].total() - set.log_load, d.lifts[l].endurance,
                                  draws.info[l].shape, set.reps, set.failed, d.fatigue.lam, d.fatigue.rho_f);
      stores[l].add(spent, d.fatigue);
      total += spent.depletion;
      for (auto& store : stores) store.rest(set.reps * capacity::kSecondsPerRep / 60, d.fatigue);
    }
  }
  return total;
}

}  // namespace

double at_least_so_many(int k, const std::vector<double>& chances) {
  if (k <= 0) return 1;
  std::vector<double> exactly(static_cast<std::size_t>(k), 0);  // of 0 .. k-1
  exactly[0] = 1;
  double more = 0;
  for (const double p : chances) {
    more += p * exactly.back();
    for (std::size_t i = exactly.size(); i-- > 1;) exactly[i] = exactly[i] * (1 - p) + exactly[i - 1] * p;
    exactly[0] *= 1 - p;
  }
  return more;
}

Result<RecentForm> recent_form(const Lifter& lifter, const std::vector<SetRecord>& records,
                               const std::function<const Exercise*(const std::string&)>& find, Date today,
                               const FormOptions& options) {
  RecentForm form;
  form.from = today - (kFormDays - 1);
  form.to = today;
  std::vector<SetRecord> before, window;
  std::vector<std::vector<SetRecord>> recent;  // by session
  std::set<Date> days_before;
  for (const SetRecord& record : records) {
    if (record.date > today || record.date < form.from - kFormBeforeDays) continue;
    window.push_back(record);
    if (record.date < form.from) {
      before.push_back(record);
      days_before.insert(record.date);
      continue;
    }
    if (recent.empty() || recent.back().front().date != record.date) recent.emplace_back();
    recent.back().push_back(record);
  }
  if (static_cast<int>(days_before.size()) < kFormLeastBefore || recent.empty()) return form;

  capacity::FitOptions fit;
  fit.history = false;
  fit.integrate = false;  // a third of the cost; the noise is known well enough for this
  fit.progress = options.progress;
  auto then = capacity::fit(capacity::prepare(lifter, before, find, before.back().date), fit);
  if (!then) return tl::unexpected(then.error());
  Posterior now = *then;
  std::vector<double> chances, readiness, readiness_sd;
  for (const std::vector<SetRecord>& session : recent) {
    const TrainingLog log = capacity::prepare(lifter, session, find, session.front().date);
    if (log.sessions.empty()) continue;
    ++form.sessions;
    tell_misses(now, log, session, options, chances, form.missed);
    auto next = capacity::update(now, log);
    if (!next) return tl::unexpected(next.error());
    now = std::move(*next);
    readiness.push_back(now.readiness.median);
    readiness_sd.push_back(now.readiness.sd);
    if (options.progress && !options.progress(1)) return fail(Code::cancelled, "stopped");
  }
  if (form.sessions == 0) return form;
  form.planned = static_cast<int>(chances.size());
  for (const double p : chances) form.told += p;
  form.chance = at_least_so_many(form.missed, chances);
  double variance = 0;
  for (std::size_t i = 0; i < readiness.size(); ++i) {
    form.readiness += readiness[i];
    variance += readiness_sd[i] * readiness_sd[i];
  }
  form.readiness /= static_cast<double>(readiness.size());
  const double sd = std::sqrt(variance) / static_cast<double>(readiness.size());
  form.p_tired = sd > 0 ? normal_cdf(-form.readiness / sd) : 0;
  form.readiness = std::expm1(form.readiness);

  // Strength against forecast, over lifts with enough of both.
  const TrainingLog all = capacity::prepare(lifter, window, find, today);
  std::vector<Posterior::Wanted> compared;
  for (std::size_t i = 0; i < all.lifts.size(); ++i) {
    int earlier = 0, later = 0;
    for (const LoggedSession& session : all.sessions) {
      const bool done = std::any_of(session.sets.begin(), session.sets.end(), [&](const LoggedSet& set) {
        return set.lift == static_cast<int>(i) && set.informs_strength;
      });
      if (done) ++(session.date < form.from ? earlier : later);
    }
    if (earlier >= kLiftSessionsBefore && later >= kLiftSessionsNow && !all.lifts[i].marks)
      compared.push_back(
          {all.exercises[static_cast<std::size_t>(all.lifts[i].endurance_index)].exercise, all.lifts[i].side});
  }
  if (!compared.empty()) {
    const capacity::LifterDraws forecast = then->draw_rested(compared, today, options.draws, options.seed);
    const capacity::LifterDraws known = now.draw_rested(compared, today, options.draws, options.seed + 1);
    std::vector<double> differences(known.draws.size(), 0);
    for (std::size_t l = 0; l < compared.size(); ++l) {
      double expected = 0, mean = 0;
      for (const auto& draw : forecast.draws)
        expected += draw.lifts[l].log_strength / static_cast<double>(forecast.draws.size());
      for (std::size_t i = 0; i < differences.size(); ++i) {
        const double difference = known.draws[i].lifts[l].log_strength - expected;
        mean += difference / static_cast<double>(differences.size());
        differences[i] += difference / static_cast<double>(compared.size());
      }
      if (form.most_under.empty() || std::expm1(mean) < form.most_under_share) {
        form.most_under = compared[l].exercise.id;
        form.most_under_share = std::expm1(mean);
      }
    }
    form.lifts = static_cast<int>(compared.size());
    for (double& difference : differences) {
      form.p_under += difference < 0 ? 1 : 0;
      difference = std::expm1(difference);
    }
    // So many draws never make it certain.
    form.p_under = (form.p_under + 0.5) / (static_cast<double>(differences.size()) + 1);
    form.against = capacity::interval_of(std::move(differences));
  }
  // How much was done: margin spent a week, against the four weeks before.
  const capacity::LifterDraws usual = then->draw_rested(wanted_of(all), form.from, 100, options.seed + 2);
  const double spent_before = spent_in(all, usual, form.from - 28, form.from) / 4;
  if (spent_before > 0) form.spent = spent_in(all, usual, form.from, today + 1) / (kFormDays / 7.0) / spent_before;
  return form;
}

}  // namespace ullage::planning
