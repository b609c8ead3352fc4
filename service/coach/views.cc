#include "service/coach/views.h"

#include "service/interchange/fault.h"

namespace ullage::coach {
namespace {

Json day(const std::optional<Date>& date) { return date ? Json(date_text(*date)) : Json(); }

std::string text_of(std::string_view view) { return std::string(view); }

Json call_json(const std::optional<Call>& call) { return call ? Json(call_text(*call)) : Json(); }

Json outcome(const capacity::SetOutcome& o) {
  Json json;
  json["capacity"] = to_json(o.capacity);
  json["reserve"] = to_json(o.reserve);
  json["p_complete"] = o.p_complete;
  return json;
}

}  // namespace

Json to_json(const capacity::Interval& i) {
  Json json;
  json["median"] = i.median;
  json["lo80"] = i.lo80;
  json["hi80"] = i.hi80;
  json["sd"] = i.sd;
  return json;
}

Json to_json(const Load& load) {
  Json json;
  json["amount"] = load.amount;
  json["unit"] = text_of(unit_name(load.unit));
  return json;
}

Json to_json(const LiftEstimate& lift) {
  const capacity::LiftSummary& s = lift.summary;
  Json one;
  one["exercise"] = s.exercise;
  one["name"] = lift.name;
  one["side"] = text_of(side_name(s.side));
  one["marks"] = s.marks;
  one["strength_kg"] = to_json(lift.strength);
  one["endurance"] = to_json(s.endurance);
  one["reps_at_80"] = to_json(lift.reps_at_80);
  one["fatigability"] = to_json(s.fatigability);
  one["fatigability_set4"] = to_json(s.fatigability_set4);
  one["trend_pct_per_week"] = to_json(s.trend_pct_per_week);
  one["learned"] = s.learned;
  one["learned_fatigability"] = s.learned_fatigability;
  one["sets_used"] = s.sets_used;
  one["usual_rest_s"] = s.usual_rest_minutes * 60;
  one["first"] = date_text(s.first);
  one["last"] = date_text(s.last);
  return one;
}

Json to_json(const EstimateView& view) {
  Json json;
  json["lifter"] = view.lifter.name;
  json["as_of"] = date_text(view.as_of);
  json["last_session"] = date_text(view.last_session);
  json["model_version"] = view.posterior.model_version;
  json["exercises"] = Json::array();
  for (const LiftEstimate& lift : view.lifts) json["exercises"].push_back(to_json(lift));
  json["judgement"]["bias_reps"] = to_json(view.posterior.bias_reps);
  json["judgement"]["at_called"] = Json::array();
  for (const capacity::CalledPoint& c : view.posterior.at_called) {
    Json one;
    one["called"] = c.called;
    one["true_reserve"] = to_json(c.true_reserve);
    json["judgement"]["at_called"].push_back(std::move(one));
  }
  json["judgement"]["learned"] = view.posterior.learned_judgement;
  json["readiness"] = to_json(view.posterior.readiness);
  json["suspects"] = Json::array();
  for (const SuspectView& s : view.suspects) {
    Json one = to_json(s.set);
    one["reason"] = s.reason;
    json["suspects"].push_back(std::move(one));
  }
  json["remarks"] = view.remarks;
  return json;
}

Json to_json(const ForecastView& view) {
  Json json;
  json["lifter"] = view.lifter.name;
  json["exercise"] = view.exercise.id;
  json["side"] = text_of(side_name(view.side));
  json["date"] = date_text(view.date);
  json["load_kg"] = kilograms(view.load).value;
  json["load"] = to_json(view.load);
  json["total_kg"] = view.total_kg;
  json["rest_s"] = view.rest_s;
  json["sets"] = Json::array();
  for (std::size_t i = 0; i < view.sets.size(); ++i) {
    Json one;
    one["reps"] = view.reps[i];
    one.update(outcome(view.sets[i]));
    json["sets"].push_back(std::move(one));
  }
  json["known"] = view.known;
  json["outside_seen"] = view.outside_seen;
  return json;
}

Json to_json(const planning::PlanSet& s) {
  Json json;
  json["kind"] = text_of(kind_name(s.kind));
  json["load_kg"] = kilograms(s.load).value;
  json["load"] = to_json(s.load);
  json["plates"] = Json::array();
  for (const Load& plate : s.per_side) json["plates"].push_back(to_json(plate));
  json["reps"] = s.reps;
  json["rest_s"] = s.rest_s;
  if (s.cue) {
    json["stop_cue"]["called"] = call_text(s.cue->called);
    json["stop_cue"]["text"] = s.cue->text;
  } else {
    json["stop_cue"] = nullptr;
  }
  json["capacity"] = to_json(s.capacity);
  json["reserve"] = to_json(s.reserve);
  json["reps_done"] = to_json(s.reps_done);
  json["p_complete"] = s.p_complete;
  json["p_miss"] = s.p_miss;
  json["p_short"] = s.p_short;
  json["p_band"] = s.p_band;
  json["to_failure"] = s.to_failure;
  return json;
}

Json to_json(const planning::SessionPlan& plan) {
  Json json;
  json["lifter"] = plan.lifter;
  json["date"] = date_text(plan.date);
  json["items"] = Json::array();
  for (const planning::PlanItem& item : plan.items) {
    Json one;
    one["exercise"] = item.exercise;
    one["name"] = item.name;
    one["side"] = text_of(side_name(item.side));
    one["strategy"] = text_of(planning::strategy_name(item.strategy));
    one["band"] = {item.band_low, item.band_high};
    one["miss_limit"] = item.miss_limit;
    one["sets"] = Json::array();
    for (const planning::PlanSet& set : item.sets) one["sets"].push_back(to_json(set));
    one["why"] = item.why;
    one["remarks"] = item.remarks;
    one["minutes"] = item.minutes;
    json["items"].push_back(std::move(one));
  }
  json["left_out"] = Json::array();
  for (const planning::LeftOut& left : plan.left_out) {
    Json one;
    one["exercise"] = left.exercise;
    one["reason"] = left.reason;
    json["left_out"].push_back(std::move(one));
  }
  json["minutes"] = plan.minutes;
  json["cautions"] = plan.cautions;
  return json;
}

Json to_json(const store::StoredSet& stored) {
  const SetRecord& s = stored.set;
  Json json;
  json["id"] = std::to_string(stored.id);  // a text: readers of JSON may keep only 53 bits of a number
  json["date"] = date_text(s.date);
  json["session"] = s.session;
  json["exercise"] = s.exercise;
  json["side"] = text_of(side_name(s.side));
  json["load"] = to_json(s.load);
  json["reps"] = s.reps;
  json["failed"] = s.failed;
  json["called_reserve"] = call_json(s.called);
  json["rest_s"] = s.rest_s ? Json(*s.rest_s) : Json();
  json["kind"] = text_of(kind_name(s.kind));
  json["stop"] = text_of(stop_name(s.stop));
  json["planned_reps"] = s.planned_reps ? Json(*s.planned_reps) : Json();
  json["cue"] = call_json(s.cue);
  json["pain"] = s.pain;
  json["note"] = s.note;
  return json;
}

Json to_json(const TableSheet& sheet) {
  // By interchange::CellKind.
  constexpr const char* kKinds[] = {"empty", "text", "number", "date", "time", "yes or no", "error", "no value"};
  Json json;
  json["sheet"] = sheet.name;
  json["hidden"] = sheet.hidden;
  json["more"] = sheet.more;
  json["rows"] = Json::array();
  for (const TableLine& line : sheet.lines) {
    Json row;
    row["row"] = line.number;
    row["hidden"] = line.hidden;
    row["cells"] = Json::array();
    for (const TableCell& cell : line.cells) {
      row["cells"].push_back({{"column", interchange::column_letters(cell.column)},
                              {"text", cell.text},
                              {"kind", kKinds[static_cast<std::size_t>(cell.kind)]}});
    }
    json["rows"].push_back(std::move(row));
  }
  return json;
}

Json to_json(const planning::TestProposal& test) {
  Json json;
  json["exercise"] = test.exercise;
  json["side"] = text_of(side_name(test.side));
  json["load"] = to_json(test.load);
  json["reps"] = to_json(test.form.reps);
  json["call_at_rep"] = test.form.call_at_rep ? Json(*test.form.call_at_rep) : Json();
  json["doubt_before"] = test.form.sd_before;
  json["doubt_after"] = test.form.sd_after;
  json["minutes"] = test.form.minutes;
  json["residual_24h"] = test.form.residual;
  json["why"] = test.why;
  return json;
}

Json to_json(const LogReport& report) {
  Json json;
  json["lifter"] = report.lifter.name;
  json["change"] = report.change;
  store::StoredSet stored;
  stored.id = report.id;
  stored.set = report.set;
  json["set"] = to_json(stored);
  json["expected"] = report.expected ? outcome(*report.expected) : Json();
  json["pain_opened"] = report.pain_opened;
  json["remarks"] = report.remarks;
  json["next"] = nullptr;
  if (report.rest && !report.rest->items.empty() && !report.rest->items.front().sets.empty()) {
    json["next"]["exercise"] = report.rest->items.front().exercise;
    json["next"]["set"] = to_json(report.rest->items.front().sets.front());
  }
  json["no_next"] = report.no_next;
  json["rest"] = report.rest ? to_json(*report.rest) : Json();
  return json;
}

Json to_json(const RosterView& roster) {
  Json json;
  json["as_of"] = date_text(roster.as_of);
  json["lifters"] = Json::array();
  for (const RosterRow& row : roster.rows) {
    Json one;
    one["lifter"] = row.lifter.name;
    one["id"] = row.lifter.id;
    one["reasons"] = Json::array();
    for (const Reason& reason : row.reasons) {
      Json r;
      r["kind"] = text_of(attention_name(reason.attention));
      r["text"] = reason.text;
      one["reasons"].push_back(std::move(r));
    }
    one["last_session"] = day(row.last_session);
    one["sessions"] = row.sessions;
    one["sets"] = row.sets;
    json["lifters"].push_back(std::move(one));
  }
  return json;
}

Json to_json(const ImportReport& report) {
  Json json;
  json["change"] = report.change;
  json["refused"] = report.refused;
  json["rows"] = report.summary.rows;
  json["sets"] = report.summary.sets;
  json["bad_rows"] = report.summary.bad_rows;
  json["added"] = report.merged.added;
  json["unchanged"] = report.merged.unchanged;
  json["changed"] = report.merged.changed.size();
  json["applied"] = report.merged.applied;
  json["new_lifters"] = report.new_lifters;
  json["pains"] = Json::array();
  for (const PainRow& pain : report.pains)
    json["pains"].push_back({{"lifter", pain.lifter}, {"exercise", pain.exercise}, {"since", date_text(pain.date)}});
  const auto rows_of = [](const std::vector<interchange::Fault>& faults) {
    Json out = Json::array();
    for (const auto& fault : faults) {
      Json one;
      one["line"] = fault.line;
      one["column"] = fault.column;
      one["value"] = fault.value;
      if (!fault.place.empty()) one["place"] = fault.place;
      one["text"] = interchange::fault_text(fault);
      out.push_back(std::move(one));
    }
    return out;
  };
  json["faults"] = rows_of(report.summary.faults);
  json["doubts"] = rows_of(report.doubts);
  json["unknown_exercises"] = Json::array();
  for (const auto& unknown : report.summary.unknown_exercises) {
    Json one;
    one["text"] = unknown.text;
    one["rows"] = unknown.rows;
    one["first_line"] = unknown.first_line;
    one["nearest"] = unknown.nearest;
    json["unknown_exercises"].push_back(std::move(one));
  }
  json["remarks"] = Json::array();
  for (const auto& remark : report.summary.remarks) json["remarks"].push_back(interchange::fault_text(remark));
  json["kept_as_notes"] = report.summary.kept_as_notes;
  json["found"] = report.summary.found;
  if (!report.summary.previews.empty()) {
    json["preview"] = Json::array();
    for (const auto& preview : report.summary.previews) {
      Json set = to_json(store::StoredSet{0, "", "", 0, 0, preview.logged.set});
      set.erase("id");
      Json one;
      one["place"] = preview.place;
      one["cells"] = preview.cells;
      one["lifter"] = preview.logged.lifter;
      one["set"] = std::move(set);
      json["preview"].push_back(std::move(one));
    }
  }
  json["dropped"] = Json::array();
  for (const auto& dropped : report.summary.dropped) {
    Json one;
    one["rule"] = dropped.rule;
    one["rows"] = dropped.rows;
    json["dropped"].push_back(std::move(one));
  }
  return json;
}

Json to_json(const FitReport& report) {
  Json json;
  json["fitted"] = report.fitted;
  json["current"] = report.current;
  json["unsettled"] = report.unsettled;
  json["failures"] = Json::array();
  for (const auto& failure : report.failures) {
    Json one;
    one["lifter"] = failure.lifter;
    one["message"] = failure.error.message;
    json["failures"].push_back(std::move(one));
  }
  return json;
}

Json to_json(const Lifter& lifter) {
  Json json;
  json["lifter"] = lifter.name;
  json["id"] = lifter.id;
  json["born"] = day(lifter.born);
  json["sex"] = lifter.sex == Sex::female ? "female" : lifter.sex == Sex::male ? "male" : "unknown";
  json["training_years"] = lifter.training_years ? Json(*lifter.training_years) : Json();
  json["since"] = day(lifter.since);
  json["goal"] = lifter.goal;
  json["unit"] = text_of(unit_name(lifter.unit));
  json["days_per_week"] = lifter.days_per_week;
  json["minutes_per_session"] = lifter.minutes_per_session;
  json["place"] = lifter.place;
  json["avoid"] = lifter.avoid;
  json["answers_in_halves"] = lifter.answers_in_halves;
  json["note"] = lifter.note;
  json["body_mass"] = Json::array();
  for (const BodyMass& mass : lifter.body_mass) {
    Json one;
    one["date"] = date_text(mass.date);
    one["mass"] = to_json(mass.mass);
    json["body_mass"].push_back(std::move(one));
  }
  return json;
}

Json to_json(const Place& place) {
  Json json;
  json["place"] = place.id;
  json["name"] = place.name;
  json["unit"] = text_of(unit_name(place.unit));
  json["safety_bars"] = place.safety_bars;
  json["bars"] = Json::array();
  for (const Bar& bar : place.bars) {
    Json one;
    one["id"] = bar.id;
    one["mass"] = to_json(bar.mass);
    json["bars"].push_back(std::move(one));
  }
  json["plates"] = Json::array();
  for (const PlatePairs& plates : place.plates) {
    Json one;
    one["plate"] = to_json(plates.plate);
    one["pairs"] = plates.pairs;
    json["plates"].push_back(std::move(one));
  }
  const auto list = [](const std::vector<Load>& loads) {
    Json out = Json::array();
    for (const Load& load : loads) out.push_back(to_json(load));
    return out;
  };
  json["dumbbells"] = list(place.dumbbells);
  json["kettlebells"] = list(place.kettlebells);
  json["stacks"] = Json::array();
  for (const Stack& stack : place.stacks) {
    Json one;
    one["exercise"] = stack.exercise;
    one["steps"] = list(stack.steps);
    json["stacks"].push_back(std::move(one));
  }
  json["without"] = place.without;
  return json;
}

Json to_json(const ReservePolicy& policy) {
  Json json;
  json["classes"] = Json::array();
  for (const ExerciseClass cls :
       {ExerciseClass::barbell_compound, ExerciseClass::supported_compound, ExerciseClass::isolation}) {
    const ClassPolicy& p = policy.of(cls);
    Json one;
    one["class"] = text_of(class_name(cls));
    one["least_reserve"] = p.least_reserve;
    one["most_reserve"] = p.most_reserve;
    one["last_set_failure"] = p.last_set_failure;
    one["failure_every_days"] = p.failure_every_days;
    one["test_every_days"] = p.test_every_days;
    one["miss_limit"] = p.miss_limit;
    one["least_reps"] = p.least_reps;
    one["most_reps"] = p.most_reps;
    one["rest_s"] = p.rest_s;
    one["sets"] = p.sets;
    json["classes"].push_back(std::move(one));
  }
  json["light_share"] = policy.light_share;
  json["light_most_reserve"] = policy.light_most_reserve;
  return json;
}

Json to_json(const safety::HealthRecord& record) {
  Json json;
  json["intakes"] = Json::array();
  for (const safety::Intake& intake : record.intakes) {
    Json one;
    one["date"] = date_text(intake.date);
    one["recorded_by"] = intake.recorded_by;
    one["answers"] = Json::array();
    for (const safety::IntakeAnswer& answer : intake.answers) {
      Json a;
      a["question"] = text_of(safety::question_name(answer.question));
      a["answer"] = answer.answer == safety::Answer::yes  ? "yes"
                    : answer.answer == safety::Answer::no ? "no"
                                                          : "not asked";
      a["detail"] = answer.detail;
      one["answers"].push_back(std::move(a));
    }
    json["intakes"].push_back(std::move(one));
  }
  json["holds"] = Json::array();
  for (const safety::Hold& hold : record.holds) {
    Json one;
    one["id"] = hold.id;
    one["since"] = date_text(hold.since);
    one["reason"] = hold.reason;
    one["lifted"] = day(hold.lifted);
    one["lifted_by"] = hold.lifted_by;
    json["holds"].push_back(std::move(one));
  }
  json["words"] = Json::array();
  for (const safety::ClinicianWord& word : record.words) {
    Json one;
    one["id"] = word.id;
    one["date"] = date_text(word.date);
    one["clinician"] = word.clinician;
    one["recorded_by"] = word.recorded_by;
    one["least_reserve"] = word.least_reserve ? Json(*word.least_reserve) : Json();
    one["load_cap_share"] = word.load_cap_share ? Json(*word.load_cap_share) : Json();
    one["only_exercises"] = word.only_exercises;
    one["not_exercises"] = word.not_exercises;
    one["until"] = day(word.until);
    one["lifts_holds"] = word.lifts_holds;
    one["note"] = word.note;
    json["words"].push_back(std::move(one));
  }
  json["consent"] = nullptr;
  if (record.consent) {
    json["consent"]["date"] = date_text(record.consent->date);
    json["consent"]["guardian"] = record.consent->guardian;
    json["consent"]["recorded_by"] = record.consent->recorded_by;
  }
  json["pains"] = Json::array();
  for (const safety::Pain& pain : record.pains) {
    Json one;
    one["id"] = pain.id;
    one["since"] = date_text(pain.since);
    one["exercise"] = pain.exercise;
    one["note"] = pain.note;
    one["cleared"] = day(pain.cleared);
    one["cleared_by"] = pain.cleared_by;
    json["pains"].push_back(std::move(one));
  }
  json["extra_reserve_lifted"] = nullptr;
  if (record.extra_reserve_lifted) {
    json["extra_reserve_lifted"]["date"] = date_text(record.extra_reserve_lifted->date);
    json["extra_reserve_lifted"]["recorded_by"] = record.extra_reserve_lifted->recorded_by;
  }
  return json;
}

Json to_json(const safety::Gate& gate) {
  Json json;
  json["allowed"] = gate.allowed();
  json["holds"] = Json::array();
  for (const safety::Held& held : gate.holds) {
    Json one;
    one["id"] = held.id;
    one["reason"] = held.reason;
    one["lifts"] = held.lifts;
    json["holds"].push_back(std::move(one));
  }
  json["least_reserve"] = gate.least_reserve;
  json["extra_reserve"] = gate.extra_reserve;
  json["load_cap_share"] = gate.load_cap_share ? Json(*gate.load_cap_share) : Json();
  json["failure"] = gate.failure;
  json["no_failure"] = gate.no_failure;
  json["cautions"] = gate.cautions;
  return json;
}

Json to_json(const std::vector<store::Change>& history) {
  Json json = Json::array();
  for (const store::Change& change : history) {
    Json one;
    one["change"] = change.id;
    one["time"] = change.time;
    one["who"] = change.who;
    one["what"] = change.what;
    one["rows"] = change.rows;
    one["undoes"] = change.undoes ? Json(*change.undoes) : Json();
    one["undone_by"] = change.undone_by ? Json(*change.undone_by) : Json();
    one["final"] = change.final;
    json.push_back(std::move(one));
  }
  return json;
}

Json to_json(const std::vector<store::Finding>& findings) {
  Json json = Json::array();
  for (const store::Finding& finding : findings) {
    Json one;
    one["grade"] = finding.grade == store::Finding::Grade::fine   ? "fine"
                   : finding.grade == store::Finding::Grade::note ? "note"
                                                                  : "fault";
    one["subject"] = finding.subject;
    one["text"] = finding.text;
    json.push_back(std::move(one));
  }
  return json;
}

std::string json_text(const Json& json) { return json.dump(2, ' ', false, Json::error_handler_t::replace); }

}  // namespace ullage::coach
