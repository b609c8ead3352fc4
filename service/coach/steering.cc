#include "service/coach/steering.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>
#include <tuple>

#include "service/coach/lift_view.h"

namespace ullage::coach {
namespace {

constexpr int kStallLastDone = 28;    // still done
constexpr int kStallLookDays = 56;    // how it was trained lately
constexpr double kNarrowZone = 3;     // reps between the 10 and 90 % points: one zone all the time
constexpr int kMostSetsASession = 6;  // more sets are not added

using Json = nlohmann::ordered_json;

std::string proposal_json(const SteeringProposal& p) {
  return Json{{"exercise", p.exercise},
              {"name", p.name},
              {"side", side_name(p.side)},
              {"step", stall_step_name(p.step)},
              {"from", date_text(p.from)},
              {"until", date_text(p.until)},
              {"probability", p.probability},
              {"why", p.why},
              {"what", p.what}}
      .dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<SteeringDecision> decision_of(const store::StoredAdvice& stored) {
  SteeringDecision out;
  const auto kind = parse_steering(stored.kind);
  const auto bad = [] { return fail(Code::corrupt, "a decision kept in the data file cannot be read"); };
  if (!kind) return bad();
  out.number = stored.number;
  out.accepted = stored.state == "accepted";
  out.said = stored.said;
  out.date = stored.date;
  SteeringProposal& p = out.proposal;
  p.kind = *kind;
  try {
    const Json json = Json::parse(stored.json);
    p.exercise = json.at("exercise").get<std::string>();
    p.name = json.at("name").get<std::string>();
    p.side = parse_side(json.at("side").get<std::string>()).value_or(Side::both);
    for (int s = 0; s <= static_cast<int>(StallStep::other_exercise); ++s) {
      if (json.at("step") == stall_step_name(static_cast<StallStep>(s))) p.step = static_cast<StallStep>(s);
    }
    const auto from = parse_date(json.at("from").get<std::string>());
    const auto until = parse_date(json.at("until").get<std::string>());
    if (!from || !until) return bad();
    p.from = *from;
    p.until = *until;
    p.probability = json.at("probability").get<double>();
    p.why = json.at("why").get<std::string>();
    p.what = json.at("what").get<std::string>();
  } catch (const std::exception&) {
    return bad();
  }
  return out;
}

Result<std::vector<SteeringDecision>> decisions(Desk& desk, const std::string& lifter) {
  const auto stored = desk.store().advice(lifter);
  if (!stored) return tl::unexpected(stored.error());
  std::vector<SteeringDecision> out;
  for (const store::StoredAdvice& a : *stored) {
    auto one = decision_of(a);
    if (!one) return tl::unexpected(one.error());
    out.push_back(std::move(*one));
  }
  return out;
}

// The week a lighter week would be: this one until Wednesday, then the next.
void set_week(SteeringProposal& p, Date day) {
  const Date monday = day - (weekday(day) - 1);
  p.from = weekday(day) <= 3 ? monday : monday + 7;
  p.until = p.from + 6;
  p.what = fmt::format("{} {} to {} {}: {:.0f} % of the sets, {:g} more in reserve, none to failure",
                       weekday_name(p.from), date_text(p.from), weekday_name(p.until), date_text(p.until),
                       100 * planning::kLighterShare, planning::kLighterExtraReserve);
}

double share_of(std::vector<double> values, double p) {
  if (values.empty()) return 0;
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(p * static_cast<double>(values.size() - 1) + 0.5)];
}

// How the stalled lift was trained lately, and the first step that was not tried or refused lately.
std::optional<SteeringProposal> way_out(Desk& desk, const Fitted& fitted, const Stall& stall,
                                        const std::vector<SteeringDecision>& decided) {
  const Date today = desk.today();
  const auto library = desk.library();
  const auto policy = desk.policy(fitted.lifter);
  if (!library || !policy) return std::nullopt;
  const Exercise* exercise = (*library)->find(stall.exercise);
  if (!exercise) return std::nullopt;
  const ClassPolicy& usual = policy->of(exercise->cls);
  std::vector<double> left, reps;
  std::set<Date> sessions;
  int sets = 0, failed = 0;
  for (const store::StoredSet& s : fitted.sets) {
    if (s.set.exercise != stall.exercise || s.set.side != stall.side || s.set.kind == SetKind::warmup) continue;
    if (today - s.set.date > kStallLookDays || s.set.date > today) continue;
    ++sets;
    sessions.insert(s.set.date);
    reps.push_back(s.set.reps);
    if (s.set.failed) {
      ++failed;
      left.push_back(0);
    } else if (s.set.called) {
      left.push_back(std::max(0.0, left_at_call(fitted.posterior, s.set.called->reserve)));
    }
  }
  if (sets == 0) return std::nullopt;
  const double weeks = kStallLookDays / 7.0;
  const double a_week = sets / weeks;
  const bool told = 2 * left.size() >= static_cast<std::size_t>(sets);  // how they end is mostly known
  const double middle = share_of(left, 0.5);
  const double low = share_of(reps, 0.1), high = share_of(reps, 0.9), usual_reps = share_of(reps, 0.5);
  const auto fresh = [&](StallStep step) {
    return std::none_of(decided.begin(), decided.end(), [&](const SteeringDecision& d) {
      return d.proposal.kind == SteeringKind::stall && d.proposal.exercise == stall.exercise &&
             d.proposal.step == step && today - d.date <= 2 * kStallStepDays;
    });
  };
  SteeringProposal p;
  p.kind = SteeringKind::stall;
  p.exercise = stall.exercise;
  p.name = stall.name;
  p.side = stall.side;
  p.from = today;
  p.until = today + (kStallStepDays - 1);
  const double per_session = static_cast<double>(sets) / static_cast<double>(sessions.size());
  const double failed_share = static_cast<double>(failed) / sets;
  if (told && middle > usual.most_reserve + 1 && fresh(StallStep::closer)) {
    p.step = StallStep::closer;
    p.what = fmt::format("end its sets with {:g}-{:g} in reserve", usual.least_reserve, usual.most_reserve);
  } else if (told && failed_share > 0.25 && fresh(StallStep::farther)) {
    p.step = StallStep::farther;
    p.what = fmt::format("end its sets with {:g}-{:g} in reserve and miss fewer", usual.least_reserve + 1,
                         usual.most_reserve + 1);
  } else if (a_week < kStallWeeklySets && per_session < kMostSetsASession - 0.5 && fresh(StallStep::more_sets)) {
    p.step = StallStep::more_sets;
    p.what = "one set more of it a session";
  } else if (high - low <= kNarrowZone && usual_reps >= 7 && fresh(StallStep::lower_reps)) {
    p.step = StallStep::lower_reps;
    p.what = "heavier, 4-6 reps";
  } else if (high - low <= kNarrowZone && fresh(StallStep::higher_reps)) {
    p.step = StallStep::higher_reps;
    p.what = "lighter, 8-12 reps";
  } else if (fresh(StallStep::other_exercise)) {
    p.step = StallStep::other_exercise;
    p.what = "another exercise for the same muscles for six weeks";
  } else {
    return std::nullopt;
  }
  std::string how = fmt::format("{:.1f} sets a week of {:.0f}-{:.0f} reps", a_week, low, high);
  if (told) how += fmt::format(" end with {:.1f} left in the middle", middle);
  if (failed > 0) how += fmt::format(", {:.0f} % in a miss", 100 * failed_share);
  std::string name = stall.name;
  if (!name.empty()) name[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(name[0])));
  p.why = fmt::format("{}: {:+.1f} % in {} weeks; {}.", name, 100 * stall.gained, stall.weeks, how);
  return p;
}

}  // namespace

std::string_view steering_name(SteeringKind kind) {
  return kind == SteeringKind::lighter_week ? "lighter week" : "stall";
}
std::optional<SteeringKind> parse_steering(std::string_view text) {
  for (const SteeringKind kind : {SteeringKind::lighter_week, SteeringKind::stall}) {
    if (text == steering_name(kind)) return kind;
  }
  return std::nullopt;
}
std::string_view stall_step_name(StallStep step) {
  constexpr std::string_view kNames[] = {"closer",     "farther",     "more sets",
                                         "lower reps", "higher reps", "other exercise"};
  return kNames[static_cast<std::size_t>(step)];
}

std::optional<Stall> find_stall(const capacity::Posterior& p, const library::Library& library, Date today,
                                int* lifts_looked, int* assumed) {
  struct Lift {
    const capacity::LiftSummary* summary;
    std::string name;
  };
  std::vector<Lift> lifts;
  for (const capacity::LiftSummary& s : p.lifts) {
    if (const Exercise* exercise = library.find(s.exercise)) lifts.push_back({&s, exercise->name});
  }
  std::sort(lifts.begin(), lifts.end(), [](const Lift& a, const Lift& b) {
    return std::tie(b.summary->sets_used, a.name, a.summary->side, a.summary->place) <
           std::tie(a.summary->sets_used, b.name, b.summary->side, b.summary->place);
  });
  std::optional<Stall> out;
  int looked = 0, not_known = 0;
  for (const Lift& lift : lifts) {
    const capacity::LiftSummary& s = *lift.summary;
    if (today - s.last > kStallLastDone) continue;
    if (looked == 4) break;
    ++looked;
    not_known += s.learned < kMostlyAssumedBelow;
    const auto& trend = s.trend_pct_per_week;
    if (out || looked > kStallLifts || s.sets_used < kStallSets || s.history.empty() ||
        s.strength.sd > kStallMostSd * s.strength.median) {
      continue;
    }
    // The estimate of kStallDays ago against the last one.
    const auto then = std::find_if(s.history.rbegin(), s.history.rend(), [&](const capacity::StrengthPoint& point) {
      return s.last - point.date >= kStallDays;
    });
    if (then == s.history.rend()) continue;
    const double gained = s.strength.median / then->median - 1;
    if (gained <= kStallGain && trend.lo80 <= 0 && trend.median <= kStallPctPerWeek)
      out = Stall{s.exercise, lift.name, s.side, gained, (s.last - then->date) / 7};
  }
  if (lifts_looked) *lifts_looked = looked;
  if (assumed) *assumed = not_known;
  return out;
}

Result<SteeringView> steering(Desk& desk, const Fitted& fitted) {
  SteeringView view;
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  auto decided = decisions(desk, fitted.lifter.id);
  if (!decided) return tl::unexpected(decided.error());
  view.decided = std::move(*decided);
  view.form = fitted.form;
  const Date today = desk.today();
  const auto gate = desk.strict_gate(fitted.lifter, today, session_days(fitted.sets));
  if (!gate) return tl::unexpected(gate.error());
  if (!gate->allowed()) return view;  // on hold nothing is proposed
  const auto name_of = [&](const std::string& id) {
    const Exercise* exercise = (*library)->find(id);
    return exercise ? exercise->name : id;
  };
  const bool rested = std::any_of(view.decided.begin(), view.decided.end(), [&](const SteeringDecision& d) {
    if (d.proposal.kind != SteeringKind::lighter_week) return false;
    return d.accepted ? today - d.proposal.until <= kLighterPauseDays : today - d.date < kLighterRejectedDays;
  });
  // What was two weeks ago says nothing of today.
  if (!rested && today - view.form.to <= 7) {
    if (auto lighter = planning::propose_lighter_week(view.form, name_of)) {
      SteeringProposal p;
      p.kind = SteeringKind::lighter_week;
      p.probability = lighter->probability;
      p.why = std::move(lighter->why);
      p.brief = std::move(lighter->brief);
      set_week(p, today);
      view.open.push_back(std::move(p));
    }
  }
  const auto stall = find_stall(fitted.posterior, **library, today);
  const bool under_way = stall && std::any_of(view.decided.begin(), view.decided.end(), [&](const auto& d) {
                           return d.proposal.kind == SteeringKind::stall && d.proposal.exercise == stall->exercise &&
                                  d.accepted && today <= d.proposal.until;
                         });
  if (stall && !under_way && !gate->barred_because(stall->exercise)) {
    if (auto p = way_out(desk, fitted, *stall, view.decided)) {
      // No way out of a stall goes nearer to failure than a hold, a limit or a beginner's extra rep allow.
      const bool nearer = p->step == StallStep::closer || p->step == StallStep::lower_reps;
      const bool limited = gate->least_reserve > 0 || gate->extra_reserve > 0 || gate->load_cap_share;
      if (!(nearer && limited)) view.open.push_back(std::move(*p));
    }
  }
  return view;
}

Result<SteeringDecision> decide(Desk& desk, const std::string& name, const DecisionWish& wish, store::ChangeId* change,
                                const Share& progress) {
  auto fitted = ensure_fitted(desk, name, progress);
  if (!fitted) return tl::unexpected(fitted.error());
  const Lifter& lifter = fitted->lifter;
  const auto gate = desk.strict_gate(lifter, desk.today(), session_days(fitted->sets));
  if (!gate) return tl::unexpected(gate.error());
  if (!gate->allowed()) return fail(Code::not_allowed, lifter.name + " is on hold: " + gate->held_text());
  auto view = steering(desk, *fitted);
  if (!view) return tl::unexpected(view.error());
  const auto found = std::find_if(view->open.begin(), view->open.end(),
                                  [&](const SteeringProposal& p) { return p.kind == wish.kind; });
  SteeringDecision out;
  if (found != view->open.end()) {
    if (!wish.shown.empty() && wish.shown != found->what)
      return fail(Code::conflict,
                  fmt::format("another {} is proposed for {} now", steering_name(wish.kind), lifter.name));
    out.proposal = *found;
  } else if (wish.unasked && wish.accepted && wish.kind == SteeringKind::lighter_week) {
    out.proposal.kind = wish.kind;
    out.proposal.why = "You asked for it; the data did not.";
    set_week(out.proposal, desk.today());
  } else {
    return fail(Code::conflict, fmt::format("no {} is proposed for {}", steering_name(wish.kind), lifter.name));
  }
  if (wish.week && wish.kind == SteeringKind::lighter_week) {
    const Date monday = *wish.week - (weekday(*wish.week) - 1);
    if (monday + 6 < desk.today())
      return fail(Code::invalid_input, "--week " + date_text(*wish.week) + ": that week is over");
    set_week(out.proposal, monday);
  }
  out.accepted = wish.accepted;
  out.said = wish.said;
  out.date = desk.today();
  out.number = view->decided.empty() ? 1 : view->decided.front().number + 1;
  const store::StoredAdvice stored{lifter.id,
                                   out.number,
                                   std::string(steering_name(wish.kind)),
                                   wish.accepted ? "accepted" : "rejected",
                                   wish.said,
                                   out.date,
                                   proposal_json(out.proposal)};
  const auto done = desk.store().change(
      fmt::format("{} {} for {}", steering_name(wish.kind), wish.accepted ? "accepted" : "rejected", lifter.name),
      [&](store::Writer& writer) { return writer.put_advice(stored); });
  if (!done) return tl::unexpected(done.error());
  if (change) *change = *done;
  return out;
}

Result<std::vector<SteeringDecision>> lighter_weeks_from(Desk& desk, const std::string& lifter, Date day) {
  auto all = decisions(desk, lifter);
  if (!all) return all;
  std::erase_if(*all, [&](const SteeringDecision& d) {
    return d.proposal.kind != SteeringKind::lighter_week || !d.accepted || d.proposal.until < day;
  });
  return all;
}

Result<std::optional<SteeringDecision>> lighter_week_on(Desk& desk, const std::string& lifter, Date day) {
  auto all = lighter_weeks_from(desk, lifter, day);
  if (!all) return tl::unexpected(all.error());
  for (SteeringDecision& d : *all) {
    if (day >= d.proposal.from) return std::move(d);
  }
  return std::nullopt;
}

void make_lighter(planning::ExerciseRequest& e, const ClassPolicy& policy, bool own) {
  if (!own || !e.sets) {
    const int sets = e.sets.value_or(policy.sets);
    e.sets = std::max(1, static_cast<int>(std::lround(planning::kLighterShare * sets)));
  }
  if (!own || (!e.least_reserve && !e.most_reserve)) {
    const double least = e.least_reserve.value_or(policy.least_reserve);
    const double most = std::max(e.most_reserve.value_or(policy.most_reserve), least);
    e.least_reserve = std::min(10.0, least + planning::kLighterExtraReserve);
    e.most_reserve = std::min(10.0, most + planning::kLighterExtraReserve);
  }
  e.finish = planning::Finish::as_usual;
}

Result<std::vector<std::string>> take_steps(Desk& desk, const Lifter& lifter, Date day,
                                            std::vector<planning::ExerciseRequest>& exercises) {
  const auto all = decisions(desk, lifter.id);
  if (!all) return tl::unexpected(all.error());
  const auto policy = desk.policy(lifter);
  if (!policy) return tl::unexpected(policy.error());
  std::vector<std::string> said;
  for (const SteeringDecision& d : *all) {
    const SteeringProposal& p = d.proposal;
    if (p.kind != SteeringKind::stall || !d.accepted || day < p.from || day > p.until) continue;
    for (planning::ExerciseRequest& e : exercises) {
      if (e.exercise != p.exercise || e.side != p.side) continue;
      const auto exercise = desk.exercise(e.exercise);
      if (!exercise) return tl::unexpected(exercise.error());
      const ClassPolicy& usual = policy->of((*exercise)->cls);
      switch (p.step) {
        case StallStep::closer: break;  // the policy's own band, which a session aims at anyway
        case StallStep::farther:
          if (!e.least_reserve) e.least_reserve = usual.least_reserve + 1;
          if (!e.most_reserve) e.most_reserve = usual.most_reserve + 1;
          break;
        case StallStep::more_sets: e.sets = std::min(kMostSetsASession, e.sets.value_or(usual.sets) + 1); break;
        case StallStep::lower_reps:
          if (!e.least_reps && !e.most_reps) e.least_reps = 4, e.most_reps = 6;
          break;
        case StallStep::higher_reps:
          if (!e.least_reps && !e.most_reps) e.least_reps = 8, e.most_reps = 12;
          break;
        case StallStep::other_exercise: continue;
      }
      said.push_back(fmt::format("{}: {} until {}, as you accepted on {}.", p.name, p.what, date_text(p.until),
                                 date_text(d.date)));
    }
  }
  return said;
}

nlohmann::ordered_json to_json(const SteeringProposal& p) {
  Json json;
  json["kind"] = steering_name(p.kind);
  if (p.kind == SteeringKind::stall) {
    json["exercise"] = p.exercise;
    json["name"] = p.name;
    json["side"] = side_name(p.side);
    json["step"] = stall_step_name(p.step);
  } else {
    json["probability"] = p.probability;
  }
  json["from"] = date_text(p.from);
  json["until"] = date_text(p.until);
  json["why"] = p.why;
  json["what"] = p.what;
  return json;
}

nlohmann::ordered_json to_json(const SteeringDecision& d) {
  Json json;
  json["number"] = d.number;
  json["state"] = d.accepted ? "accepted" : "rejected";
  json["said"] = d.said;
  json["date"] = date_text(d.date);
  json["proposal"] = to_json(d.proposal);
  return json;
}

nlohmann::ordered_json to_json(const SteeringView& view) {
  Json json;
  const planning::RecentForm& f = view.form;
  json["form"] = Json();
  if (f.sessions > 0) {
    json["form"] = {
        {"from", date_text(f.from)},
        {"to", date_text(f.to)},
        {"sessions", f.sessions},
        {"planned", f.planned},
        {"missed", f.missed},
        {"told", f.told},
        {"chance", f.chance},
        {"lifts", f.lifts},
        {"against_forecast",
         {{"median", f.against.median}, {"lo80", f.against.lo80}, {"hi80", f.against.hi80}, {"sd", f.against.sd}}},
        {"p_under", f.p_under},
        {"readiness", f.readiness},
        {"spent_against_before", f.spent}};
  }
  json["proposals"] = Json::array();
  for (const SteeringProposal& p : view.open) json["proposals"].push_back(to_json(p));
  json["decided"] = Json::array();
  for (const SteeringDecision& d : view.decided) json["decided"].push_back(to_json(d));
  return json;
}

}  // namespace ullage::coach
