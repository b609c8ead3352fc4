// The model put to the test on simulated lifters: simulation-based calibration and lifters whom the model does not
// describe (engine/calibration/scenario.h), on all cores, with results that are kept as they come so that a stopped run
// goes on.
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/calibration/scenario.h"
#include "engine/drawing/picture.h"

namespace ullage::coach {

struct SimulateWish {
  int lifters = 1000;         // of each kind
  int variant_lifters = 250;  // of each variant the model does not describe; 0: none
  std::vector<calibration::Kind> kinds{calibration::Kind::planned, calibration::Kind::cue, calibration::Kind::unknown,
                                       calibration::Kind::mixed};
  int weeks = 10;
  int workers = 0;      // threads; 0: as many as the machine has
  std::string results;  // folder; empty: nothing is written
  // Told lifters done of all; false stops (Code::cancelled; what is done is kept in the folder).
  std::function<bool(int done, int total)> progress;
};

// One scenario's outcome.
struct SimulatedKind {
  calibration::Scenario scenario;
  std::vector<calibration::ParameterTally> parameters;
  int lifters = 0, failed = 0, unsettled = 0;
  bool coverage_holds = true;  // every parameter within its bounds
  bool uniform = true;         // every Holm-adjusted p above 0.01; not asked of variants
  std::vector<std::string> faults;
};
struct SimulateView {
  std::vector<SimulatedKind> kinds;
  int weeks = 0;
  bool holds() const;
};

// With a folder: `calibration_lifters.csv` (one row a lifter, added as they come; rows of earlier runs of the same
// length are taken over) and `calibration.csv` (one row a parameter, what tests read). invalid_input: the file there is
// not one of these.
Result<SimulateView> simulate(const SimulateWish& wish);

// The rule of docs/model.md for one scenario's tallies: what does not hold, in words.
std::vector<std::string> calibration_faults(const calibration::Scenario& scenario,
                                            const std::vector<calibration::ParameterTally>& parameters);

nlohmann::ordered_json to_json(const SimulateView& view);
// Coverage of every parameter of every kind.
drawing::Picture simulate_picture(const SimulateView& view);

}  // namespace ullage::coach
