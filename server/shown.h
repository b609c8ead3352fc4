// The JSON of what the interface shows beyond what scripts read from the command line (service/coach/views.h).
#pragma once

#include <string>

#include "server/problem.h"
#include "service/coach/floor.h"
#include "service/coach/lift_view.h"
#include "service/coach/roster_index.h"
#include "service/coach/views.h"

namespace ullage::server {

Json text_or_null(const std::string& text);
Json day_or_null(const std::optional<Date>& date);

// A set with every field, and the name of its exercise.
Json set_json(const store::StoredSet& set, const library::Library& library);
Json gate_json(const safety::Gate& gate, const library::Library& library);
Json holds_json(const safety::Gate& gate);
Json place_json(const Place& place, bool assumed);
Json outcome_json(const std::optional<capacity::SetOutcome>& outcome);
Json lift_json(const coach::LiftEstimate& lift);
Json estimate_json(const coach::EstimateView& view, const std::vector<store::StoredSet>& sets,
                   const library::Library& library);
Json report_json(const coach::LogReport& report, const library::Library& library);
Json floor_json(const coach::FloorView& view, const library::Library& library);
Json sheet_json(const coach::SessionSheet& sheet, coach::Desk& desk, const library::Library& library);
Json exercise_json(const Exercise& exercise, bool edited, bool own);

}  // namespace ullage::server
