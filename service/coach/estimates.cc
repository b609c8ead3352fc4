#include "service/coach/estimates.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <condition_variable>
#include <functional>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <thread>
#include <tuple>

#include "engine/capacity/curve.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/summary.h"
#include "engine/capacity/training_log.h"
#include "service/coach/doubt.h"
#include "service/coach/estimate_cache.h"
#include "service/coach/roster_start.h"
#include "service/library/library.h"

namespace ullage::coach {
namespace {

// FNV-1a: the same on every machine.
std::uint64_t hash_of(std::string_view text) {
  std::uint64_t h = 14695981039346656037ULL;
  for (const char c : text) h = (h ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return h;
}

std::string model_version() { return std::to_string(capacity::kModelVersion); }

// Layout of what is kept; changes whenever estimates kept before must be made again.
constexpr std::string_view kLayout = "3";

// What is kept of a fit: the posterior, the newest set that went into it, how the last weeks went, where it starts from
// and what it teaches others, and the library the program shipped with.
struct Kept {
  store::SetId newest_fitted = 0;
  planning::RecentForm form;
  Start start;
  std::string posterior;
};

std::string form_text(const planning::RecentForm& f) {
  return nlohmann::json{{"from", f.from.days},
                        {"to", f.to.days},
                        {"sessions", f.sessions},
                        {"planned", f.planned},
                        {"missed", f.missed},
                        {"told", f.told},
                        {"chance", f.chance},
                        {"lifts", f.lifts},
                        {"against", {f.against.median, f.against.lo80, f.against.hi80, f.against.sd}},
                        {"p_under", f.p_under},
                        {"most_under", f.most_under},
                        {"most_under_share", f.most_under_share},
                        {"readiness", f.readiness},
                        {"p_tired", f.p_tired},
                        {"spent", f.spent}}
      .dump();
}
std::optional<planning::RecentForm> form_of(const std::string& text) {
  try {
    const auto json = nlohmann::json::parse(text);
    planning::RecentForm f;
    f.from = Date{json.at("from").get<int>()};
    f.to = Date{json.at("to").get<int>()};
    f.sessions = json.at("sessions").get<int>();
    f.planned = json.at("planned").get<int>();
    f.missed = json.at("missed").get<int>();
    f.told = json.at("told").get<double>();
    f.chance = json.at("chance").get<double>();
    f.lifts = json.at("lifts").get<int>();
    const auto& against = json.at("against");
    f.against = {against.at(0).get<double>(), against.at(1).get<double>(), against.at(2).get<double>(),
                 against.at(3).get<double>()};
    f.p_under = json.at("p_under").get<double>();
    f.most_under = json.at("most_under").get<std::string>();
    f.most_under_share = json.at("most_under_share").get<double>();
    f.readiness = json.at("readiness").get<double>();
    f.p_tired = json.at("p_tired").get<double>();
    f.spent = json.at("spent").get<double>();
    return f;
  } catch (const std::exception&) {
    return std::nullopt;
  }
}
const std::string& library_hash() {
  static const std::string hash =
      std::to_string(hash_of(std::string(embedded::exercises_toml()) + std::string(kLayout)));
  return hash;
}
std::string bytes_of(const Kept& kept) {
  return std::to_string(kept.newest_fitted) + "\n" + library_hash() + "\n" + form_text(kept.form) + "\n" +
         start_text(kept.start) + "\n" + kept.posterior;
}
std::optional<Kept> kept_of(const std::string& bytes) {
  const std::size_t first = bytes.find('\n');
  const std::size_t second = first == std::string::npos ? first : bytes.find('\n', first + 1);
  if (second == std::string::npos || bytes.substr(first + 1, second - first - 1) != library_hash()) return std::nullopt;
  const std::size_t third = bytes.find('\n', second + 1);
  const std::size_t fourth = third == std::string::npos ? third : bytes.find('\n', third + 1);
  if (fourth == std::string::npos) return std::nullopt;
  auto form = form_of(bytes.substr(second + 1, third - second - 1));
  auto start = start_of(bytes.substr(third + 1, fourth - third - 1));
  if (!form || !start) return std::nullopt;
  return Kept{std::strtoll(bytes.c_str(), nullptr, 10), std::move(*form), std::move(*start), bytes.substr(fourth + 1)};
}

std::vector<SetRecord> records_of(const std::vector<store::StoredSet>& sets) {
  std::vector<SetRecord> out;
  out.reserve(sets.size());
  for (const store::StoredSet& s : sets) out.push_back(s.set);
  return out;
}

std::function<const Exercise*(const std::string&)> finder(const library::Library& library) {
  return [&library](const std::string& id) { return library.find(id); };
}

// Everything a fit needs, read on the desk's thread.
struct Task {
  Lifter lifter;
  std::vector<store::StoredSet> sets;  // up to today
  bool storable = true;                // no sets after today
  std::string mark;
  capacity::RosterMove start;  // where a new fit starts from
};

// What everyone's kept fit teaches, in the order of `lifters` (ids); empty where there is none.
Result<std::vector<Start>> kept_starts(Desk& desk, const std::vector<Lifter>& lifters) {
  std::vector<Start> out;
  for (const Lifter& lifter : lifters) {
    const auto stored = desk.store().estimate(lifter.id);
    if (!stored) return tl::unexpected(stored.error());
    out.emplace_back();
    if (!*stored || (*stored)->model_version != model_version()) continue;
    if (auto kept = kept_of((*stored)->blob)) out.back() = std::move(kept->start);
  }
  return out;
}
capacity::RosterMoves moves_of(const std::vector<Start>& starts) {
  std::vector<capacity::Lesson> lessons;
  for (const Start& start : starts) lessons.push_back(start.lesson);
  return capacity::roster_moves(lessons);
}

// Where a fit of this lifter starts: as the last one did; of somebody new, where the others show.
Result<capacity::RosterMove> start_for(Desk& desk, const std::string& lifter) {
  const auto wanted = starts_from_roster(desk);
  if (!wanted) return tl::unexpected(wanted.error());
  if (!*wanted) return capacity::RosterMove{};
  const auto stored = desk.store().estimate(lifter);
  if (!stored) return tl::unexpected(stored.error());
  if (*stored && (*stored)->model_version == model_version()) {
    if (auto kept = kept_of((*stored)->blob)) return std::move(kept->start.move);
  }
  const auto lifters = desk.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  const auto starts = kept_starts(desk, *lifters);
  if (!starts) return tl::unexpected(starts.error());
  return moves_of(*starts).newcomer;
}

Result<Task> read_task(Desk& desk, const Lifter& lifter) {
  Task task;
  task.lifter = lifter;
  const auto read = desk.store().snapshot([&]() -> Result<void> {
    auto mark = desk.store().truth_mark(lifter.id);
    if (!mark) return tl::unexpected(mark.error());
    task.mark = std::move(*mark);
    auto sets = desk.store().sets(lifter.id);
    if (!sets) return tl::unexpected(sets.error());
    task.sets = std::move(*sets);
    return {};
  });
  if (!read) return tl::unexpected(read.error());
  const auto later = std::find_if(task.sets.begin(), task.sets.end(),
                                  [&](const store::StoredSet& s) { return s.set.date > desk.today(); });
  task.storable = later == task.sets.end();
  task.sets.erase(later, task.sets.end());
  return task;
}

struct Fit {
  capacity::Posterior posterior;
  planning::RecentForm form;
  Start start;
};
constexpr double kShareOfFit = 0.8;  // of the time; the rest goes to how the last weeks went

Result<Fit> fit_task(const Task& task, Date today, const library::Library& library, const Share& progress) {
  const Date as_of = task.sets.empty() ? today : task.sets.back().set.date;
  const std::vector<SetRecord> records = records_of(task.sets);
  capacity::FitOptions options;
  if (progress) options.progress = [&](double share) { return progress(kShareOfFit * share); };
  const capacity::TrainingLog log = capacity::prepare(task.lifter, records, finder(library), as_of);
  auto posterior = capacity::fit(log, options);
  if (!posterior) return tl::unexpected(posterior.error());
  Start start{task.start, capacity::lesson_of(*posterior, log)};
  planning::FormOptions form_options;
  if (progress) form_options.progress = [&](double share) { return progress(kShareOfFit + (1 - kShareOfFit) * share); };
  auto form = planning::recent_form(task.lifter, records, finder(library), as_of, form_options);
  if (!form) {
    if (form.error().code == Code::cancelled) return tl::unexpected(form.error());
    form = planning::RecentForm{};  // the estimate stands without it
  }
  return Fit{capacity::moved(std::move(*posterior), {}, start.move, finder(library)), std::move(*form),
             std::move(start)};
}

store::SetId newest(const std::vector<store::StoredSet>& sets) {
  store::SetId id = 0;
  for (const store::StoredSet& s : sets) id = std::max(id, s.id);
  return id;
}

Result<void> keep(Desk& desk, const Task& task, const capacity::Posterior& posterior, const planning::RecentForm& form,
                  const Start& start) {
  store::DerivedEstimate estimate;
  estimate.lifter = task.lifter.id;
  estimate.model_version = model_version();
  estimate.input_fingerprint = task.mark;
  estimate.blob = bytes_of({newest(task.sets), form, start, capacity::serialise(posterior)});
  return desk.store().put_estimate(estimate);
}

// The estimate after the last of these sets, which are of one session and of which it has seen the others.
Result<capacity::Posterior> after_last(const capacity::Posterior& posterior, const Lifter& lifter,
                                       const std::vector<SetRecord>& so_far, const library::Library& library) {
  const capacity::TrainingLog log = capacity::prepare(lifter, so_far, finder(library), so_far.back().date);
  const int last = static_cast<int>(so_far.size()) - 1;
  int known = 0;
  for (const capacity::LoggedSession& l : log.sessions) {
    known += static_cast<int>(
        std::count_if(l.sets.begin(), l.sets.end(), [&](const capacity::LoggedSet& s) { return s.record < last; }));
  }
  return capacity::update(posterior, log, known);
}

// Brings base up to date with the sets that are not in it, one after the other as when they were logged, so that what
// is read again is what was at hand; an error when only a new fit will do.
Result<Fitted> with_live_sets(Task task, capacity::Posterior base, store::SetId newest_fitted,
                              const library::Library& library) {
  Fitted fitted;
  fitted.lifter = std::move(task.lifter);
  fitted.sets = std::move(task.sets);
  fitted.base = std::move(base);
  fitted.newest_fitted = newest_fitted;
  fitted.posterior = fitted.base;
  std::vector<SetRecord> so_far;  // of the session
  bool live = false;              // a set of it is not in the fit
  for (const store::StoredSet& s : fitted.sets) {
    if (!so_far.empty() && (so_far.back().date != s.set.date || so_far.back().session != s.set.session)) {
      so_far.clear();
      live = false;
    }
    so_far.push_back(s.set);
    if (s.id <= newest_fitted) {
      if (live) return fail(Code::internal, "a set before one that is in the fit");
      continue;
    }
    live = true;
    ++fitted.live_sets;
    if (s.set.date < fitted.posterior.as_of) return fail(Code::internal, "a set before the last session");
    auto next = after_last(fitted.posterior, fitted.lifter, so_far, library);
    if (!next) return tl::unexpected(next.error());
    fitted.posterior = std::move(*next);
  }
  return fitted;
}

// Not part of what is kept: the start may be another one later.
void say_start(capacity::Posterior& posterior, const capacity::RosterMove& start, const library::Library& library) {
  if (std::string words = start_words(start, posterior, library); !words.empty())
    posterior.remarks.push_back(std::move(words));
}

// The stored fit brought up to date with the sets logged since; empty when a new fit is needed.
std::optional<Fitted> stored_fit(Desk& desk, const Task& task, const library::Library& library) {
  if (!task.storable) return std::nullopt;
  const auto stored = desk.store().estimate(task.lifter.id);
  if (!stored || !*stored || (*stored)->model_version != model_version()) return std::nullopt;
  const auto kept = kept_of((*stored)->blob);
  if (!kept || (*stored)->input_fingerprint != task.mark) return std::nullopt;
  const auto live = std::count_if(task.sets.begin(), task.sets.end(),
                                  [&](const store::StoredSet& s) { return s.id > kept->newest_fitted; });
  if (live > kMostLiveSets) return std::nullopt;
  auto base = capacity::deserialise(kept->posterior);
  if (!base) return std::nullopt;
  say_start(*base, kept->start.move, library);
  auto fitted = with_live_sets(task, std::move(*base), kept->newest_fitted, library);
  if (!fitted) return std::nullopt;
  fitted->form = kept->form;
  return std::move(*fitted);
}

Result<Fitted> fitted_from(Desk& desk, const Lifter& lifter, const Share& progress) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  auto task = read_task(desk, lifter);
  if (!task) return tl::unexpected(task.error());
  if (auto stored = stored_fit(desk, *task, **library)) return std::move(*stored);
  auto start = start_for(desk, lifter.id);
  if (!start) return tl::unexpected(start.error());
  task->start = std::move(*start);
  auto fit = fit_task(*task, desk.today(), **library, progress);
  if (!fit) return tl::unexpected(fit.error());
  if (task->storable) {
    if (const auto kept = keep(desk, *task, fit->posterior, fit->form, fit->start); !kept)
      return tl::unexpected(kept.error());
  }
  say_start(fit->posterior, fit->start.move, **library);
  Fitted fitted;
  fitted.lifter = task->lifter;
  fitted.newest_fitted = newest(task->sets);
  fitted.sets = std::move(task->sets);
  fitted.posterior = fit->posterior;
  fitted.base = std::move(fit->posterior);
  fitted.form = std::move(fit->form);
  fitted.fresh = true;
  return fitted;
}

}  // namespace

Result<Fitted> add_live(Desk& desk, const Fitted& fitted, const store::StoredSet& set) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  const auto session_of = [](const store::StoredSet& s) { return std::tie(s.set.date, s.set.session); };
  const auto at = std::find_if(fitted.sets.begin(), fitted.sets.end(),
                               [&](const store::StoredSet& s) { return session_of(set) < session_of(s); });
  if (at != fitted.sets.end()) {
    // Not the last session: everything since the fit is taken up anew.
    Task task;
    task.lifter = fitted.lifter;
    task.sets = fitted.sets;
    task.sets.insert(task.sets.begin() + (at - fitted.sets.begin()), set);
    auto out = with_live_sets(std::move(task), fitted.base, fitted.newest_fitted, **library);
    if (out) out->form = fitted.form;
    return out;
  }
  if (set.set.date < fitted.posterior.as_of) return fail(Code::internal, "a set before the last session");
  Fitted out = fitted;
  out.sets.push_back(set);
  ++out.live_sets;
  out.fresh = false;
  std::vector<SetRecord> so_far;
  for (const store::StoredSet& s : out.sets) {
    if (session_of(s) == session_of(set)) so_far.push_back(s.set);
  }
  auto next = after_last(fitted.posterior, out.lifter, so_far, **library);
  if (!next) return tl::unexpected(next.error());
  out.posterior = std::move(*next);
  return out;
}

namespace {

// What is at hand for the log as it is; empty: nothing, or no cache.
std::optional<Fitted> at_hand(Desk& desk, const Lifter& lifter) {
  if (!desk.estimates()) return std::nullopt;
  const auto mark = desk.store().truth_mark(lifter.id);
  if (!mark) return std::nullopt;
  return desk.estimates()->find(lifter.id, *mark, desk.today());
}

}  // namespace

Result<Fitted> ensure_fitted(Desk& desk, const std::string& lifter, const Share& progress) {
  const auto found = desk.lifter(lifter);
  if (!found) return tl::unexpected(found.error());
  if (auto here = at_hand(desk, *found)) return std::move(*here);
  return fitted_from(desk, *found, progress);
}

Result<std::optional<Fitted>> stored_estimate(Desk& desk, const std::string& lifter) {
  const auto found = desk.lifter(lifter);
  if (!found) return tl::unexpected(found.error());
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  if (auto here = at_hand(desk, *found)) return here;
  auto task = read_task(desk, *found);
  if (!task) return tl::unexpected(task.error());
  auto stored = stored_fit(desk, *task, **library);
  if (stored && desk.estimates()) desk.estimates()->put(task->mark, desk.today(), *stored);
  return stored;
}

Result<capacity::RosterMove> kept_start(Desk& desk, const std::string& lifter) {
  const auto stored = desk.store().estimate(lifter);
  if (!stored) return tl::unexpected(stored.error());
  const auto kept = *stored ? kept_of((*stored)->blob) : std::nullopt;
  return kept ? kept->start.move : capacity::RosterMove{};
}

Result<bool> is_fitted(Desk& desk, const Lifter& lifter) {
  const auto mark = desk.store().truth_mark(lifter.id);
  if (!mark) return tl::unexpected(mark.error());
  const auto stored = desk.store().estimate(lifter.id);
  if (!stored) return tl::unexpected(stored.error());
  if (!*stored || (*stored)->model_version != model_version()) return false;
  return kept_of((*stored)->blob) && (*stored)->input_fingerprint == *mark;
}

Result<void> keep_estimate(Desk& desk, const std::string& lifter, const capacity::Posterior& posterior) {
  const auto found = desk.lifter(lifter);
  if (!found) return tl::unexpected(found.error());
  const auto task = read_task(desk, *found);
  if (!task) return tl::unexpected(task.error());
  return keep(desk, *task, posterior, {}, {});
}

Result<void> carry_estimate(Desk& desk, const std::string& lifter, const std::string& before, store::SetId set) {
  const auto stored = desk.store().estimate(lifter);
  if (!stored) return tl::unexpected(stored.error());
  if (!*stored || (*stored)->input_fingerprint != before) return {};
  const auto kept = kept_of((*stored)->blob);
  if (!kept || set <= kept->newest_fitted) return {};
  const auto after = desk.store().truth_mark(lifter);
  if (!after) return tl::unexpected(after.error());
  store::DerivedEstimate estimate = **stored;
  estimate.input_fingerprint = *after;
  return desk.store().put_estimate(estimate);
}

namespace {

// Moves every kept estimate to where the roster, as it is now known, lets it start.
Result<void> spread_starts(Desk& desk, const library::Library& library) {
  const auto wanted = starts_from_roster(desk);
  if (!wanted) return tl::unexpected(wanted.error());
  const auto lifters = desk.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  const auto starts = kept_starts(desk, *lifters);
  if (!starts) return tl::unexpected(starts.error());
  const capacity::RosterMoves moves = moves_of(*starts);
  for (std::size_t i = 0; i < lifters->size(); ++i) {
    const capacity::RosterMove& from = (*starts)[i].move;
    const capacity::RosterMove to = *wanted ? moves.own[i] : capacity::RosterMove{};
    if (capacity::same_start(from, to)) continue;
    const auto stored = desk.store().estimate((*lifters)[i].id);
    if (!stored) return tl::unexpected(stored.error());
    auto kept = *stored ? kept_of((*stored)->blob) : std::nullopt;
    if (!kept || (*stored)->model_version != model_version()) continue;
    auto posterior = capacity::deserialise(kept->posterior);
    if (!posterior) continue;
    kept->posterior =
        capacity::serialise(capacity::moved(std::move(*posterior), kept->start.move, to, finder(library)));
    kept->start.move = to;
    store::DerivedEstimate estimate = **stored;
    estimate.fitted_at.clear();
    estimate.blob = bytes_of(*kept);
    if (const auto put = desk.store().put_estimate(estimate); !put) return put;
  }
  return {};
}

}  // namespace

Result<FitReport> fit_lifters(Desk& desk, const FitWish& wish) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  std::vector<Lifter> lifters;
  if (wish.lifters.empty()) {
    auto all = desk.store().lifters();
    if (!all) return tl::unexpected(all.error());
    lifters = std::move(*all);
  }
  for (const std::string& name : wish.lifters) {
    auto found = desk.lifter(name);
    if (!found) return tl::unexpected(found.error());
    lifters.push_back(std::move(*found));
  }
  FitReport report;
  const int total = static_cast<int>(lifters.size());
  int done = 0;
  bool go_on = true;
  const auto tell = [&](const std::string& name) {
    if (wish.progress && !wish.progress(done, total, name)) go_on = false;
  };

  // Workers take tasks from one queue and put posteriors into another; only this thread touches the store.
  struct Finished {
    Task task;
    Result<Fit> fit;
  };
  std::mutex mutex;
  std::condition_variable changed;
  std::vector<Task> waiting;
  std::vector<Finished> finished;
  bool closed = false;
  std::atomic<bool> stop = false;
  const auto work = [&] {
    for (;;) {
      std::unique_lock lock(mutex);
      changed.wait(lock, [&] { return closed || !waiting.empty(); });
      if (waiting.empty()) return;
      Task task = std::move(waiting.back());
      waiting.pop_back();
      lock.unlock();
      auto fit = fit_task(task, desk.today(), **library, [&](double) { return !stop.load(); });
      lock.lock();
      finished.push_back({std::move(task), std::move(fit)});
      changed.notify_all();
    }
  };
  const int cores = std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
  const int count = std::clamp(wish.workers > 0 ? wish.workers : cores, 1, std::max(1, total));
  std::vector<std::thread> workers;
  for (int i = 0; i < count; ++i) workers.emplace_back(work);

  std::optional<Error> broken;
  std::size_t next = 0;
  int under_way = 0;
  while (!broken && ((go_on && next < lifters.size()) || under_way > 0)) {
    // Keep each worker busy without reading the whole roster into memory.
    while (go_on && !broken && next < lifters.size() && under_way < 2 * count) {
      const Lifter& lifter = lifters[next++];
      auto task = read_task(desk, lifter);
      if (!task) {
        broken = task.error();
        break;
      }
      if (!wish.anew && stored_fit(desk, *task, **library)) {
        ++report.current;
        ++done;
        tell(lifter.name);
        continue;
      }
      if (!wish.lifters.empty()) {
        auto start = start_for(desk, lifter.id);
        if (!start) {
          broken = start.error();
          break;
        }
        task->start = std::move(*start);
      }
      const std::lock_guard lock(mutex);
      waiting.push_back(std::move(*task));
      ++under_way;
      changed.notify_all();
    }
    if (under_way == 0) continue;
    std::vector<Finished> ready;
    {
      std::unique_lock lock(mutex);
      changed.wait_for(lock, std::chrono::milliseconds(200), [&] { return !finished.empty(); });
      ready.swap(finished);
    }
    for (Finished& f : ready) {
      --under_way;
      ++done;
      if (!f.fit) {
        if (f.fit.error().code != Code::cancelled) report.failures.push_back({f.task.lifter.name, f.fit.error()});
      } else {
        if (f.task.storable) {
          const auto kept = keep(desk, f.task, f.fit->posterior, f.fit->form, f.fit->start);
          if (!kept) broken = kept.error();
        }
        ++report.fitted;
        if (!f.fit->posterior.converged) report.unsettled.push_back(f.task.lifter.name);
      }
      tell(f.task.lifter.name);
    }
    if (ready.empty()) tell("");
    if (!go_on || broken) {
      stop = true;
      const std::lock_guard lock(mutex);
      under_way -= static_cast<int>(waiting.size());
      waiting.clear();
    }
  }
  stop = true;
  {
    const std::lock_guard lock(mutex);
    waiting.clear();
    closed = true;
  }
  changed.notify_all();
  for (std::thread& worker : workers) worker.join();
  if (broken) return tl::unexpected(*broken);
  if (!go_on) {
    return fail(Code::cancelled, "stopped; " + std::to_string(report.fitted) + " of " + std::to_string(total) +
                                     " lifters were fitted and are kept");
  }
  if (wish.lifters.empty()) {
    if (const auto spread = spread_starts(desk, **library); !spread) return tl::unexpected(spread.error());
  }
  return report;
}

double body_mass_of(const Fitted& fitted, Date day) {
  Lifter lifter = fitted.lifter;
  const auto earlier = [](Date day_of, const BodyMass& mass) { return day_of < mass.date; };
  for (const store::StoredSet& s : fitted.sets) {
    if (!s.set.body_mass) continue;
    const auto at = std::upper_bound(lifter.body_mass.begin(), lifter.body_mass.end(), s.set.date, earlier);
    lifter.body_mass.insert(at, {s.set.date, *s.set.body_mass});
  }
  return body_mass_on(lifter, day).value_or(75);
}

std::uint64_t draw_seed(const std::string& lifter, Date day) {
  return hash_of(lifter) ^ (static_cast<std::uint64_t>(day.days) * 0x9E3779B97F4A7C15ULL);
}

Result<EstimateView> estimate(Desk& desk, const std::string& lifter, const Share& progress) {
  auto fitted = ensure_fitted(desk, lifter, progress);
  if (!fitted) return tl::unexpected(fitted.error());
  return view_of(desk, std::move(*fitted));
}

Result<EstimateView> view_of(Desk& desk, Fitted fitted) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  EstimateView view;
  view.lifter = fitted.lifter;
  view.as_of = desk.today();
  view.suspects = suspects_of(desk, fitted);
  view.posterior = std::move(fitted.posterior);
  if (fitted.live_sets > 0) capacity::refresh_judgement(view.posterior);
  view.last_session = fitted.sets.empty() ? desk.today() : fitted.sets.back().set.date;
  view.remarks = view.posterior.remarks;
  const double body_mass = body_mass_on(view.lifter, view.as_of).value_or(75);
  for (std::size_t i = 0; i < view.posterior.lifts.size(); ++i) {
    const capacity::LiftSummary& s = view.posterior.lifts[i];
    const Exercise* exercise = (*library)->find(s.exercise);
    if (!exercise) continue;
    LiftEstimate lift;
    lift.summary = s;
    lift.name = exercise->name;
    lift.assumed = s.learned < kMostlyAssumedBelow;
    lift.strength = s.strength;
    if (view.as_of > view.posterior.as_of) {
      lift.strength = capacity::interval_of_exp(view.posterior.rested_log_strength(i, view.as_of));
    }
    const auto at_80 = [&](double k) { return capacity::reps_to_failure(-std::log(0.8), capacity::Curve{k, s.shape}); };
    const capacity::Interval& k = s.endurance;
    lift.reps_at_80 = {at_80(k.median), at_80(k.lo80), at_80(k.hi80), at_80(k.median + k.sd) - at_80(k.median)};
    lift.multiplier = exercise->multiplier;
    lift.body_mass_part = s.marks ? 0 : exercise->body_mass_share * body_mass + exercise->offset_kg;
    view.lifts.push_back(std::move(lift));
  }
  std::sort(view.lifts.begin(), view.lifts.end(), [](const LiftEstimate& a, const LiftEstimate& b) {
    return std::tie(b.summary.sets_used, a.name, a.summary.side, a.summary.place) <
           std::tie(a.summary.sets_used, b.name, b.summary.side, b.summary.place);
  });
  return view;
}

}  // namespace ullage::coach
