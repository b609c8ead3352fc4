// How results look in the terminal: plain words, every number with its unit and interval.
#pragma once

#include <string>
#include <vector>

#include "cli/terminal.h"
#include "service/coach/read_in.h"
#include "service/coach/roster.h"
#include "service/coach/sessions.h"

namespace ullage::cli {

void show_estimate(Terminal& term, const coach::EstimateView& view);
void show_forecast(Terminal& term, const coach::ForecastView& view);
void show_session(Terminal& term, const coach::SessionSheet& sheet);
// What the data ask for, with how to decide.
void show_proposals(Terminal& term, const std::string& lifter, const std::vector<coach::SteeringProposal>& proposals);
void show_logged(Terminal& term, const coach::LogReport& report);
void show_sets(Terminal& term, const std::vector<store::StoredSet>& sets);
void show_roster(Terminal& term, const coach::RosterView& view);
void show_import(Terminal& term, const coach::ImportReport& report, bool dry_run);

// "back-squat 100 kg x 5, called 2".
std::string set_text(const SetRecord& set);
// "Mon 9 Mar 2026".
std::string day_text(Date date);

}  // namespace ullage::cli
