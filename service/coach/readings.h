// Readings of growth short of failure that plans and comparisons are held against: the two that ship (plateau, linear:
// engine/planning/stimulus.h) and those the coach keeps from a dose-response of their own evidence.
//
//   keep_reading(desk, *evidence::growth_reading(...));        // a change like any other: in history, can be undone
//   auto readings = readings_for(desk, {}, 200, 1);            // plateau, linear and every kept one
//
// A kept reading is a setting "reading NAME" of the data file, in the layout of reading_text.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "engine/evidence/reading.h"
#include "engine/planning/stimulus.h"
#include "service/coach/desk.h"
#include "service/store/store.h"

namespace ullage::coach {

inline constexpr std::size_t kMostKeptReadings = 3;  // each costs a plan its share of the time

// By name.
Result<std::vector<evidence::GrowthReading>> kept_readings(Desk& desk);
// One of the same name is replaced; 0: it was there exactly so. invalid_input: a name that is no plain text of 1 to 40
// characters or that of a shipped reading, draws that make no reading; conflict: kMostKeptReadings are kept.
Result<store::ChangeId> keep_reading(Desk& desk, const evidence::GrowthReading& reading);
// not_found: none of that name, with those there are.
Result<store::ChangeId> remove_reading(Desk& desk, const std::string& name);

// By name, in that order; no names: the shipped two, then every kept one. n draws each. not_found: a reading that
// neither ships nor is kept, with those there are.
Result<std::vector<planning::Reading>> readings_for(Desk& desk, const std::vector<std::string>& names, int n,
                                                    std::uint64_t seed);

}  // namespace ullage::coach
