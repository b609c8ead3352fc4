// How well the model would have forecast a lifter's log, set by set, against the published formulas: what is scored and
// how stands in engine/calibration/backtest.h.
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/calibration/backtest.h"
#include "engine/drawing/picture.h"
#include "service/coach/desk.h"

namespace ullage::coach {

struct BacktestWish {
  std::vector<std::string> lifters;  // ids or names; empty: everyone
  int least_sessions = 4;            // gone by before anything is scored
  int sessions_a_fit = 8;            // sessions between fits
  int workers = 0;                   // threads; 0: as many as the machine has
  // Told the share done, 0..1; false stops (Code::cancelled).
  std::function<bool(double)> progress;
};

struct BacktestView {
  std::vector<std::string> lifters;   // names, of those with sets that could be scored
  std::vector<std::string> left_out;  // names and why
  calibration::Backtest result;       // over all of them
};

// Reads logs up to the desk's today; writes nothing. not_found: no such lifter.
Result<BacktestView> backtest(Desk& desk, const BacktestWish& wish);

nlohmann::ordered_json to_json(const BacktestView& view);

// The histogram of the probability integral transform over the errors of model and formulas.
drawing::Picture backtest_picture(const BacktestView& view);

}  // namespace ullage::coach
