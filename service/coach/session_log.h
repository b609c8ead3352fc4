// A whole session logged at once, from one line of plain words (service/interchange/session_line.h): a paper sheet that
// was filled in by hand, typed afterwards.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/coach/desk.h"

namespace ullage::coach {

struct SessionLogWish {
  std::string lifter;  // id or name
  std::string text;
  std::optional<Unit> unit;  // of loads that name none; empty: the lifter's
  std::optional<Date> date;  // empty: the desk's today
  std::string session;       // label
  std::string place;
  bool dry_run = false;  // reads, stores nothing
};

struct SessionLogReport {
  Lifter lifter;
  Date date;
  std::vector<SetRecord> sets;     // as stored
  std::vector<std::string> names;  // of their exercises
  std::vector<std::string> pains;  // names of exercises that are out from now on
  std::vector<std::string> remarks;
  store::ChangeId change = 0;  // 0: a dry run
};

// One change that can be taken back. What the kept sheet of that day planned is written beside the sets (planned reps,
// cue), set by set in order. Works on hold, as all logging does. invalid_input: each fault with the line, a caret below
// the character and what was expected; nothing is stored.
Result<SessionLogReport> log_session(Desk& desk, const SessionLogWish& wish);

}  // namespace ullage::coach
