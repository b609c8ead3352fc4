#include "service/coach/session_log.h"

#include <algorithm>
#include <map>

#include "service/coach/pains.h"
#include "service/coach/sessions.h"
#include "service/coach/sheet_text.h"
#include "service/coach/views.h"
#include "service/interchange/session_line.h"

namespace ullage::coach {
namespace {

// What a kept sheet asked of the work sets of one exercise and side, in order.
struct Asked {
  Load load;
  int reps = 0;
  std::optional<Call> cue;
  bool to_failure = false;
};
using AskedSets = std::map<std::pair<std::string, Side>, std::vector<Asked>>;

AskedSets asked_by(const std::string& sheet_json) {
  AskedSets out;
  try {
    const Json plan = Json::parse(sheet_json).at("plan");
    for (const Json& item : plan.at("items")) {
      const Side side = parse_side(item.at("side").get<std::string>()).value_or(Side::both);
      auto& sets = out[{item.at("exercise").get<std::string>(), side}];
      for (const Json& set : item.at("sets")) {
        if (set.at("kind") == "warmup") continue;
        Asked one;
        one.load = {set.at("load").at("amount").get<double>(),
                    parse_unit(set.at("load").at("unit").get<std::string>()).value_or(Unit::kilogram)};
        one.reps = set.at("reps").get<int>();
        one.to_failure = set.at("to_failure").get<bool>();
        if (set.contains("stop_cue") && set.at("stop_cue").is_object()) {
          const Json& called = set.at("stop_cue").at("called");
          one.cue = called.is_string() ? parse_call(called.get<std::string>())
                                       : parse_call(number_text(called.get<double>()));
        }
        sets.push_back(one);
      }
    }
  } catch (const Json::exception&) {
    out.clear();  // an older layout: the sets are logged without it
  }
  return out;
}

}  // namespace

Result<SessionLogReport> log_session(Desk& desk, const SessionLogWish& wish) {
  SessionLogReport report;
  auto lifter = desk.lifter(wish.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  report.lifter = *lifter;
  report.date = wish.date.value_or(desk.today());
  const auto line = interchange::parse_session_line(wish.text, wish.unit.value_or(lifter->unit));
  std::string faults;
  const auto fault = [&](const interchange::LineFault& f) {
    if (!faults.empty()) faults += '\n';
    faults += interchange::fault_picture(wish.text, f, 70);
  };
  for (const auto& f : line.faults) fault(f);

  std::map<std::string, const Exercise*> known;
  std::map<std::string, bool> told;
  for (const auto& typed : line.sets) {
    if (known.count(typed.exercise) > 0 || told[typed.exercise]) continue;
    const auto exercise = desk.exercise(typed.exercise);
    if (exercise) {
      known[typed.exercise] = *exercise;
    } else {
      told[typed.exercise] = true;
      fault({typed.exercise_at, "an exercise of the library (" + exercise.error().message + ")"});
    }
  }
  AskedSets asked;
  const auto kept = desk.store().sheet(lifter->id, report.date, wish.session);
  if (!kept) return tl::unexpected(kept.error());
  SheetContents sheet;
  if (*kept) {
    asked = asked_by((*kept)->json);
    if (auto read = read_sheet((*kept)->json)) sheet = std::move(*read);
  }
  std::map<std::pair<std::string, Side>, std::size_t> place_in_plan;
  {
    // Sets of that session logged before count on.
    store::SetFilter filter;
    filter.from = report.date;
    filter.to = report.date;
    const auto before = desk.store().sets(lifter->id, filter);
    if (!before) return tl::unexpected(before.error());
    // What only a set brought in, and which was taken back, is not asked.
    const auto by_set = sheet.by_set;
    leave_untrained(sheet, *before, wish.session);
    for (const auto& own : by_set) {
      if (std::find(sheet.by_set.begin(), sheet.by_set.end(), own) == sheet.by_set.end()) asked.erase(own);
    }
    for (const store::StoredSet& s : *before) {
      if (s.set.session == wish.session && s.set.kind != SetKind::warmup) ++place_in_plan[{s.set.exercise, s.set.side}];
    }
  }
  for (const auto& typed : line.sets) {
    const auto exercise = known.find(typed.exercise);
    if (exercise == known.end()) continue;
    SetRecord set = typed.set;
    set.exercise = exercise->second->id;
    set.date = report.date;
    set.session = wish.session;
    set.place = wish.place;
    if (set.kind != SetKind::warmup) {
      const auto& plan = asked[{set.exercise, set.side}];
      const std::size_t at = place_in_plan[{set.exercise, set.side}]++;
      if (set.kind == SetKind::work && at < plan.size() && plan[at].load == set.load && !plan[at].to_failure) {
        set.planned_reps = plan[at].reps;
        set.cue = plan[at].cue;
      }
    }
    if (set.failed) {
      set.stop = Stop::failed;
    } else if (set.planned_reps && *set.planned_reps == set.reps) {
      set.stop = Stop::planned;
    } else if (set.cue && set.planned_reps && set.reps < *set.planned_reps) {
      set.stop = Stop::cue;
    }
    for (const std::string& wrong : faults_of(set, desk.today())) fault({typed.at, wrong});
    report.sets.push_back(std::move(set));
    report.names.push_back(exercise->second->name);
  }
  if (!faults.empty()) return fail(Code::invalid_input, faults);
  if (wish.dry_run) return report;

  const auto change =
      desk.store().change("log " + lifter->name + ": session of " + date_text(report.date) + ", " +
                              std::to_string(report.sets.size()) + (report.sets.size() == 1 ? " set" : " sets"),
                          [&](store::Writer& writer) -> Result<void> {
                            std::optional<safety::HealthRecord> record;
                            for (std::size_t i = 0; i < report.sets.size(); ++i) {
                              const SetRecord& set = report.sets[i];
                              if (const auto id = writer.append_set(lifter->id, set); !id)
                                return tl::unexpected(id.error());
                              if (!set.pain) continue;
                              if (!record) {
                                auto health = desk.store().health(lifter->id);
                                if (!health) return tl::unexpected(health.error());
                                record = std::move(*health);
                              }
                              if (open_pain(*record, set.exercise, std::min(set.date, desk.today()),
                                            "noted with a set of " + date_text(set.date))) {
                                report.pains.push_back(report.names[i]);
                              }
                            }
                            return record ? writer.put_health(lifter->id, *record) : Result<void>{};
                          });
  if (!change) return tl::unexpected(change.error());
  report.change = *change;
  return report;
}

}  // namespace ullage::coach
