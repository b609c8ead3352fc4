// A session while it is trained: started, set by set, exercises exchanged, pain, finished; and how it stands, from
// the data file alone, so that it survives a phone that is locked, reloaded or offline.
//
//   auto begun = start_floor(desk, {.lifter = "ines"});
//   auto logged = log_on_floor(desk, {.wish = {.lifter = "ines", .set = set, .client_id = "4f1c..."}});
//   // sent again it counts once: logged->duplicate
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/coach/sessions.h"
#include "service/coach/sheet_text.h"

namespace ullage::coach {

// Which session of whom.
struct FloorOf {
  std::string lifter;  // id or name
  std::optional<Date> date;
  std::string session;
};

struct FloorSet {
  std::string client_id;  // empty: logged elsewhere
  std::string at;         // UTC; empty: not known
  store::StoredSet set;
  std::optional<capacity::SetOutcome> expected;
};

struct FloorView {
  Lifter lifter;
  Date date;
  std::string session;
  std::string started, finished;  // UTC; empty: not yet
  Place place;
  bool place_assumed = false;
  safety::Gate gate;
  bool fitted = false;
  std::optional<planning::SessionPlan> plan;  // what is left; empty: no_next says why
  std::string no_next;
  std::vector<FloorSet> done;  // in performed order
  std::string rest_since;      // UTC end of the last set; empty: not known
};

// How the session stands, the rest of it planned again. Nothing is written or fitted.
Result<FloorView> floor_view(Desk& desk, const FloorOf& of);

struct FloorChange {
  FloorView view;
  store::ChangeId change = 0;  // 0: nothing was changed in the log or the sheet
};
// Writes the session's sheet unless there is one (or exercises are named), and notes the time. Only for today.
// not_allowed as write_session; unavailable: no estimate is up to date (see is_fitted), a fit comes first.
Result<FloorChange> start_floor(Desk& desk, const SessionWish& wish);

struct FloorLogged {
  LogReport report;
  FloorView view;          // of the session the set is in
  bool duplicate = false;  // was stored already, with the same content: nothing was changed
  // Was taken back, by withdraw, an undo or otherwise, perhaps before it came: nothing was changed.
  bool withdrawn = false;
  // Stored with another content or, where a date is named, for another day: nothing was changed, report.set is what is
  // stored.
  bool clash = false;
};
// Logs a set under the client's id (wish.client_id, wish.content in one form without the date). An id counts once for
// the lifter, whatever the day, and stays used up when its set is taken back. Without an estimate up to date the set
// is logged all the same. wish.done_at empty: now. invalid_input also when it cannot be (coach/floor_time.h).
Result<FloorLogged> log_on_floor(Desk& desk, LogWish wish);

// Takes a set back and plans the rest again; its id is used up. Of a set that has not come yet the id is kept, so that
// it is not counted when it comes (store::kMostTakenBackUnseen of a lifter). Taken back again: nothing changes.
Result<FloorChange> withdraw(Desk& desk, const FloorOf& of, const std::string& client_id);

// Puts another exercise in the place of one, with what is left of its sets. not_found: the sheet has no such exercise;
// invalid_input: the other one is in the session already.
Result<FloorChange> swap_exercise(Desk& desk, const FloorOf& of, const std::string& exercise, Side side,
                                  const std::string& with);
// The exercise is out from today on.
Result<FloorChange> pain_on_floor(Desk& desk, const FloorOf& of, const std::string& exercise, const std::string& note);
// Ends the session, or opens it again.
Result<FloorChange> finish_floor(Desk& desk, const FloorOf& of, bool finished);

struct Alternative {
  const Exercise* exercise = nullptr;
  double overlap = 0;  // 0..1: how alike the muscles are worked
  bool done_before = false;
};
// What can be done there instead: works the same muscles, has loads at the place, is not out. The nearest first, those
// done before ahead of equals; at most `most`.
Result<std::vector<Alternative>> alternatives(Desk& desk, const FloorOf& of, const std::string& exercise,
                                              std::size_t most = 12);

struct FloorSession {
  Lifter lifter;
  Date date;
  std::string session, started, finished;
  int sets = 0;
};
// Everyone's sessions of a day that have a sheet.
Result<std::vector<FloorSession>> floor_sessions(Desk& desk, Date date);

}  // namespace ullage::coach
