// The layout of a sheet kept in the store: the request it was planned from, so that it can be planned again.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/capacity/session_forecast.h"
#include "engine/planning/session_plan.h"
#include "service/store/store.h"

namespace ullage::coach {

// A set that came from a client which made an id for it, so that sending it twice counts once.
struct SentSet {
  std::string client_id;
  store::SetId id = 0;
  std::string at;       // when it ended, UTC
  std::string content;  // what was sent, in one form; another content under the same id is a clash
  std::optional<capacity::SetOutcome> expected;  // before it was done
};
// How the session stands on the floor. Kept with the sheet, so that it survives whatever happens to a phone.
struct FloorRecord {
  std::string started, finished;       // UTC; empty: not yet
  std::vector<SentSet> sent;           // in the order they came
  std::vector<std::string> withdrawn;  // ids taken back; only in older files, see store/sent_ids.h
};

struct SheetContents {
  planning::SessionRequest request;
  std::string place;          // id as wished; empty: the lifter's usual
  std::optional<Date> first;  // the day it was first written for, when it was moved since
  FloorRecord floor;
  bool lighter = false;  // written inside an accepted lighter week: its sets are fewer already
  // Exercises of the request that nobody planned: a set of them was logged.
  std::vector<std::pair<std::string, Side>> by_set = {};
};
// Takes out what only a set brought in and of which no set is left among `sets`, those of that day and session.
void leave_untrained(SheetContents& contents, const std::vector<store::StoredSet>& sets, const std::string& session);
// JSON; `plan` is kept beside the request as it was shown.
std::string sheet_json(const SheetContents& contents, const planning::SessionPlan& plan);
// corrupt: not such a text.
Result<SheetContents> read_sheet(const std::string& json);

}  // namespace ullage::coach
