// What scripts read: the JSON of every result. Names are fixed (docs/commands.md); fields may be added.
// An interval is {"median", "lo80", "hi80", "sd"}.
#pragma once

#include <nlohmann/json.hpp>

#include "engine/planning/session_plan.h"
#include "service/coach/estimates.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/roster.h"
#include "service/coach/sessions.h"

namespace ullage::coach {

using Json = nlohmann::ordered_json;

Json to_json(const capacity::Interval& interval);
Json to_json(const Load& load);
Json to_json(const LiftEstimate& lift);
Json to_json(const EstimateView& view);
Json to_json(const ForecastView& view);
Json to_json(const planning::PlanSet& set);
Json to_json(const planning::SessionPlan& plan);
Json to_json(const planning::TestProposal& test);
Json to_json(const LogReport& report);
Json to_json(const RosterView& roster);
Json to_json(const ImportReport& report);
Json to_json(const TableSheet& sheet);
Json to_json(const FitReport& report);
Json to_json(const Lifter& lifter);
Json to_json(const Place& place);
Json to_json(const ReservePolicy& policy);
Json to_json(const safety::HealthRecord& record);
Json to_json(const safety::Gate& gate);
Json to_json(const std::vector<store::Change>& history);
Json to_json(const std::vector<store::Finding>& findings);
Json to_json(const store::StoredSet& set);

// The text of a Json, indented, without invalid UTF-8.
std::string json_text(const Json& json);

}  // namespace ullage::coach
