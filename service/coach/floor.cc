#include "service/coach/floor.h"

#include <algorithm>
#include <set>

#include "service/coach/floor_time.h"
#include "service/coach/pains.h"
#include "service/coach/records.h"
#include "service/store/sent_ids.h"

namespace ullage::coach {
namespace {

constexpr double kLeastOverlap = 0.4;

struct Kept {
  Lifter lifter;
  Date date;
  std::optional<SheetContents> contents;
};

Result<std::vector<store::StoredSet>> sets_of_day(Desk& desk, const std::string& lifter, Date date) {
  store::SetFilter day;
  day.from = day.to = date;
  return desk.store().sets(lifter, day);
}

Result<Kept> kept_sheet(Desk& desk, const FloorOf& of) {
  Kept kept;
  auto lifter = desk.lifter(of.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  kept.lifter = std::move(*lifter);
  kept.date = of.date.value_or(desk.today());
  const auto sheet = desk.store().sheet(kept.lifter.id, kept.date, of.session);
  if (!sheet) return tl::unexpected(sheet.error());
  if (*sheet) {
    auto read = read_sheet((*sheet)->json);
    if (!read) return tl::unexpected(read.error());
    kept.contents = std::move(*read);
    if (!kept.contents->by_set.empty()) {
      const auto sets = sets_of_day(desk, kept.lifter.id, kept.date);
      if (!sets) return tl::unexpected(sets.error());
      leave_untrained(*kept.contents, *sets, of.session);
    }
  }
  return kept;
}

// `logged`: a set that was just logged, with the plan and the estimate after it.
Result<FloorView> view_with(Desk& desk, const FloorOf& of, const Kept& kept, const LogReport* logged) {
  FloorView view;
  view.lifter = kept.lifter;
  view.date = kept.date;
  view.session = of.session;
  auto where = desk.where(kept.lifter, kept.contents ? kept.contents->place : "");
  if (!where) return tl::unexpected(where.error());
  view.place = std::move(where->place);
  view.place_assumed = where->assumed;
  // The log is read once, with the estimate when there is one.
  std::shared_ptr<const Fitted> fitted = logged ? logged->after : nullptr;
  std::vector<store::StoredSet> read;
  if (!fitted) {
    auto stored = stored_estimate(desk, kept.lifter.id);
    if (!stored) return tl::unexpected(stored.error());
    if (*stored) fitted = std::make_shared<const Fitted>(std::move(**stored));
  }
  if (!fitted) {
    auto sets = sets_of_day(desk, kept.lifter.id, kept.date);
    if (!sets) return tl::unexpected(sets.error());
    read = std::move(*sets);
  }
  const std::vector<store::StoredSet>& sets = fitted ? fitted->sets : read;
  auto gate = desk.session_gate(kept.lifter, kept.date);
  if (!gate) return tl::unexpected(gate.error());
  view.gate = std::move(*gate);
  view.fitted = fitted != nullptr;

  const FloorRecord record = kept.contents ? kept.contents->floor : FloorRecord{};
  view.started = record.started;
  view.finished = record.finished;
  for (const store::StoredSet& set : sets) {
    if (set.set.date != kept.date || set.set.session != of.session) continue;
    FloorSet done;
    done.set = set;
    const auto sent =
        std::find_if(record.sent.begin(), record.sent.end(), [&](const SentSet& s) { return s.id == set.id; });
    if (sent != record.sent.end()) {
      done.client_id = sent->client_id;
      done.at = sent->at;
      done.expected = sent->expected;
      view.rest_since = sent->at;
    }
    view.done.push_back(std::move(done));
  }

  if (logged) {
    view.plan = logged->rest;
    view.no_next = logged->no_next;
  } else if (!view.gate.allowed()) {
    view.no_next = view.gate.held_text();
  } else if (!trained_now(desk, kept.date, record)) {
    view.no_next = "the session is of " + date_text(kept.date) + ": nothing is planned";
  } else if (!kept.contents || kept.contents->request.exercises.empty()) {
    view.no_next = "the session has not been started";
  } else if (!view.fitted) {
    view.no_next = "the estimates do not rest on the log as it is: nothing is planned until they are made again";
  } else {
    SessionWish wish;
    wish.lifter = kept.lifter.id;
    wish.date = kept.date;
    wish.session = of.session;
    wish.keep = false;
    auto sheet = write_session(desk, wish);
    if (sheet) {
      view.plan = std::move(sheet->plan);
      view.no_next = view.plan->items.empty() ? sheet->why_empty : "";
      if (view.plan->items.empty() && view.no_next.empty()) view.no_next = "the sheet is done";
    } else if (sheet.error().code == Code::not_allowed || sheet.error().code == Code::invalid_input) {
      view.no_next = sheet.error().message;
    } else {
      return tl::unexpected(sheet.error());
    }
  }
  return view;
}

// The session as it stands after a change.
Result<FloorChange> changed(Desk& desk, const FloorOf& of, store::ChangeId change) {
  auto view = floor_view(desk, of);
  if (!view) return tl::unexpected(view.error());
  FloorChange out;
  out.change = change;
  out.view = std::move(*view);
  return out;
}

// Changes the sheet of the session, once more as it is when nobody else can write, and shows how the session stands.
// `more` writes what belongs to the same change.
Result<FloorChange> change_floor(Desk& desk, const FloorOf& of, const std::string& what,
                                 const std::function<Result<void>(SheetContents&)>& edit,
                                 const std::function<Result<void>(store::Writer&)>& more = {}) {
  auto kept = kept_sheet(desk, of);
  if (!kept) return tl::unexpected(kept.error());
  const auto change =
      desk.store().change(what + " of " + kept->lifter.name, [&](store::Writer& writer) -> Result<void> {
        auto now = kept_sheet(desk, of);
        if (!now) return tl::unexpected(now.error());
        SheetContents contents = now->contents.value_or(SheetContents{});
        contents.request.lifter = now->lifter.name;
        contents.request.date = now->date;
        if (const auto edited = edit(contents); !edited) return edited;
        const planning::SessionPlan nothing{now->lifter.name, now->date, {}, {}, 0, {}};
        if (const auto put = writer.put_sheet({now->lifter.id, now->date, of.session, sheet_json(contents, nothing)});
            !put)
          return put;
        return more ? more(writer) : Result<void>{};
      });
  if (!change) return tl::unexpected(change.error());
  return changed(desk, of, *change);
}

// The set that was sent under this id for whatever day; empty: the id is new.
Result<std::optional<store::SentId>> seen_before(Desk& desk, const Kept& kept, const std::string& client_id) {
  const auto ids = store::sent_ids_of(desk.store());
  if (!ids) return tl::unexpected(ids.error());
  auto known = (*ids)->sent_id(kept.lifter.id, client_id);
  if (!known || *known || !kept.contents) return known;
  // Data files from before ids were kept apart have them with the sheet of the session.
  const FloorRecord& record = kept.contents->floor;
  for (const SentSet& sent : record.sent) {
    if (sent.client_id == client_id) return store::SentId{kept.lifter.id, client_id, sent.id, sent.content};
  }
  const auto& gone = record.withdrawn;
  if (std::find(gone.begin(), gone.end(), client_id) == gone.end()) return std::nullopt;
  return store::SentId{kept.lifter.id, client_id, 0, ""};
}

}  // namespace

Result<FloorView> floor_view(Desk& desk, const FloorOf& of) {
  const auto kept = kept_sheet(desk, of);
  if (!kept) return tl::unexpected(kept.error());
  return view_with(desk, of, *kept, nullptr);
}

Result<FloorChange> start_floor(Desk& desk, const SessionWish& wish) {
  const FloorOf of{wish.lifter, wish.date, wish.session};
  const auto kept = kept_sheet(desk, of);
  if (!kept) return tl::unexpected(kept.error());
  if (kept->date != desk.today()) {
    return fail(Code::invalid_input, "date: a session is started on its day, today is " + date_text(desk.today()));
  }
  const auto gate = desk.strict_gate(kept->lifter, kept->date);
  if (!gate) return tl::unexpected(gate.error());
  if (!gate->allowed()) return fail(Code::not_allowed, kept->lifter.name + " is on hold: " + gate->held_text());
  const auto fitted = stored_estimate(desk, kept->lifter.id);
  if (!fitted) return tl::unexpected(fitted.error());
  if (!*fitted) return fail(Code::unavailable, "the estimates do not rest on the log as it is: they are fitted first");
  SessionWish written = wish;
  written.keep = true;
  const auto sheet = write_session(desk, written);
  if (!sheet) return tl::unexpected(sheet.error());
  return change_floor(desk, of, "start of the session", [&](SheetContents& contents) -> Result<void> {
    if (contents.floor.started.empty()) contents.floor.started = desk.clock().now();
    contents.floor.finished.clear();
    return {};
  });
}

Result<FloorLogged> log_on_floor(Desk& desk, LogWish wish) {
  FloorLogged out;
  wish.may_fit = false;
  const std::optional<Date> date = wish.set.date == Date{} ? std::nullopt : std::optional<Date>(wish.set.date);
  FloorOf of{wish.lifter, date, wish.set.session};
  for (int attempt = 0;; ++attempt) {
    auto kept = kept_sheet(desk, of);
    if (!kept) return tl::unexpected(kept.error());
    const auto seen = seen_before(desk, *kept, wish.client_id);
    if (!seen) return tl::unexpected(seen.error());
    if (*seen) {
      out.report.lifter = kept->lifter;
      out.report.set = wish.set;
      if (out.report.set.date == Date{}) out.report.set.date = kept->date;
      if (const auto stored = desk.store().set((*seen)->set)) {
        // It may be of another day than the one now asked for.
        out.report.set = stored->set;
        out.report.id = stored->id;
        out.clash = (*seen)->content != wish.content || (date && *date != stored->set.date);
        out.duplicate = true;
        of = {kept->lifter.id, stored->set.date, stored->set.session};
        kept = kept_sheet(desk, of);
        if (!kept) return tl::unexpected(kept.error());
      } else if (stored.error().code == Code::not_found) {
        out.withdrawn = true;
      } else {
        return tl::unexpected(stored.error());
      }
      auto view = view_with(desk, of, *kept, nullptr);
      if (!view) return tl::unexpected(view.error());
      out.view = std::move(*view);
      for (const FloorSet& done : out.view.done) {
        if (done.set.id == out.report.id) out.report.expected = done.expected;
      }
      return out;
    }
    if (wish.done_at.empty()) {
      wish.done_at = desk.clock().now();
    } else if (const std::string fault = done_at_fault(desk, wish.done_at, kept->date); !fault.empty()) {
      return fail(Code::invalid_input, fault);
    }
    auto report = log_set(desk, wish);
    if (!report && report.error().code == Code::conflict && attempt == 0) continue;
    if (!report) return tl::unexpected(report.error());
    out.report = std::move(*report);
    break;
  }
  const auto kept = kept_sheet(desk, of);
  if (!kept) return tl::unexpected(kept.error());
  auto view = view_with(desk, of, *kept, &out.report);
  if (!view) return tl::unexpected(view.error());
  out.view = std::move(*view);
  return out;
}

Result<FloorChange> withdraw(Desk& desk, const FloorOf& of, const std::string& client_id) {
  for (int attempt = 0;; ++attempt) {
    const auto kept = kept_sheet(desk, of);
    if (!kept) return tl::unexpected(kept.error());
    const std::string lifter = kept->lifter.id;
    const auto ids = store::sent_ids_of(desk.store());
    if (!ids) return tl::unexpected(ids.error());
    const auto seen = seen_before(desk, *kept, client_id);
    if (!seen) return tl::unexpected(seen.error());
    if (!*seen) {
      // It may still be under way: when it comes it is not counted.
      const auto noted = desk.store().change("take back a set of " + kept->lifter.name, [&](store::Writer&) {
        return (*ids)->put_sent_id({lifter, client_id, 0, ""});
      });
      if (!noted && noted.error().code == Code::conflict && attempt == 0) continue;
      if (!noted) return tl::unexpected(noted.error());
      return changed(desk, of, *noted);
    }
    const auto stored = desk.store().set((*seen)->set);
    if (!stored && stored.error().code != Code::not_found) return tl::unexpected(stored.error());
    if (!stored) return changed(desk, of, 0);  // taken back before
    const FloorOf there{lifter, stored->set.date, stored->set.session};
    const auto before = desk.store().truth_mark(lifter);
    if (!before) return tl::unexpected(before.error());
    // The set is gone from the log before the session is planned again, and the fit stays in use.
    const auto change =
        desk.store().change("take back a set of " + kept->lifter.name, [&](store::Writer& writer) -> Result<void> {
          const auto known = (*ids)->sent_id(lifter, client_id);
          if (!known) return tl::unexpected(known.error());
          if (!*known) {
            // Of a data file from before ids were kept apart.
            if (const auto put = (*ids)->put_sent_id(**seen); !put) return put;
          }
          if (const auto removed = writer.remove_set(stored->id); !removed) return removed;
          auto now = kept_sheet(desk, there);
          if (!now) return tl::unexpected(now.error());
          if (!now->contents) return {};
          std::erase_if(now->contents->floor.sent, [&](const SentSet& s) { return s.client_id == client_id; });
          const planning::SessionPlan nothing{now->lifter.name, now->date, {}, {}, 0, {}};
          return writer.put_sheet({lifter, now->date, there.session, sheet_json(*now->contents, nothing)});
        });
    if (!change) return tl::unexpected(change.error());
    if (const auto carried = carry_estimate(desk, lifter, *before, stored->id); !carried)
      return tl::unexpected(carried.error());
    return changed(desk, there, *change);
  }
}

Result<FloorChange> swap_exercise(Desk& desk, const FloorOf& of, const std::string& exercise, Side side,
                                  const std::string& with) {
  const auto from = desk.exercise(exercise);
  if (!from) return tl::unexpected(from.error());
  const auto to = desk.exercise(with);
  if (!to) return tl::unexpected(to.error());
  const std::string old_id = (*from)->id, new_id = (*to)->id, old_name = (*from)->name, new_name = (*to)->name;
  const auto kept = kept_sheet(desk, of);
  if (!kept) return tl::unexpected(kept.error());
  const auto sets = sets_of_day(desk, kept->lifter.id, kept->date);
  if (!sets) return tl::unexpected(sets.error());
  int done = 0;
  for (const store::StoredSet& s : *sets)
    done +=
        s.set.session == of.session && s.set.exercise == old_id && s.set.side == side && s.set.kind != SetKind::warmup;
  return change_floor(desk, of, new_name + " for " + old_name, [&](SheetContents& contents) -> Result<void> {
    auto& all = contents.request.exercises;
    const auto is = [&](const std::string& id) {
      return std::find_if(all.begin(), all.end(),
                          [&](const planning::ExerciseRequest& e) { return e.exercise == id && e.side == side; });
    };
    const auto at = is(old_id);
    if (at == all.end()) return fail(Code::not_found, old_name + " is not on the sheet of this session");
    if (is(new_id) != all.end()) return fail(Code::invalid_input, "with: " + new_name + " is in this session already");
    planning::ExerciseRequest fresh;
    fresh.exercise = new_id;
    fresh.side = side;
    const int planned = at->sets.value_or(3);
    fresh.sets = std::max(1, planned - done);
    if (done == 0) {
      *at = fresh;
    } else {
      at->sets = done;
      all.insert(at + 1, fresh);
    }
    return {};
  });
}

Result<FloorChange> pain_on_floor(Desk& desk, const FloorOf& of, const std::string& exercise, const std::string& note) {
  const auto found = desk.exercise(exercise);
  if (!found) return tl::unexpected(found.error());
  const std::string id = (*found)->id;
  const auto lifter = desk.lifter(of.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  const auto change = change_health(desk, *lifter, "pain", [&](safety::HealthRecord& record) -> Result<void> {
    open_pain(record, id, desk.today(), note);
    return {};
  });
  if (!change) return tl::unexpected(change.error());
  return changed(desk, of, *change);
}

Result<FloorChange> finish_floor(Desk& desk, const FloorOf& of, bool finished) {
  return change_floor(desk, of, finished ? "end of the session" : "session opened again",
                      [&](SheetContents& contents) -> Result<void> {
                        contents.floor.finished = finished ? desk.clock().now() : "";
                        return {};
                      });
}

Result<std::vector<Alternative>> alternatives(Desk& desk, const FloorOf& of, const std::string& exercise,
                                              std::size_t most) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  const auto wanted = desk.exercise(exercise);
  if (!wanted) return tl::unexpected(wanted.error());
  const auto kept = kept_sheet(desk, of);
  if (!kept) return tl::unexpected(kept.error());
  const auto where = desk.where(kept->lifter, kept->contents ? kept->contents->place : "");
  if (!where) return tl::unexpected(where.error());
  const auto sets = desk.store().sets(kept->lifter.id);
  if (!sets) return tl::unexpected(sets.error());
  const auto gate = desk.strict_gate(kept->lifter, kept->date, session_days(*sets));
  if (!gate) return tl::unexpected(gate.error());
  std::set<std::string> before, here;
  for (const store::StoredSet& s : *sets) before.insert(s.set.exercise);
  if (kept->contents) {
    for (const auto& e : kept->contents->request.exercises) here.insert(e.exercise);
  }
  std::vector<Alternative> out;
  for (const Exercise& e : (*library)->all()) {
    if (e.id == (*wanted)->id || here.count(e.id) || gate->barred_because(e.id)) continue;
    const double alike = std::min(overlap(**wanted, e), overlap(e, **wanted));
    if (alike < kLeastOverlap) continue;
    const auto& without = where->place.without;
    if (std::find(without.begin(), without.end(), e.id) != without.end()) continue;
    if (!buildable_loads(where->place, e, kept->lifter.unit)) continue;
    out.push_back({&e, alike, before.count(e.id) > 0});
  }
  std::sort(out.begin(), out.end(), [](const Alternative& a, const Alternative& b) {
    const double x = a.overlap + 0.1 * a.done_before, y = b.overlap + 0.1 * b.done_before;
    return x != y ? x > y : a.exercise->name < b.exercise->name;
  });
  if (out.size() > most) out.resize(most);
  return out;
}

Result<std::vector<FloorSession>> floor_sessions(Desk& desk, Date date) {
  const auto sheets = desk.store().sheets_on(date);
  if (!sheets) return tl::unexpected(sheets.error());
  std::vector<FloorSession> out;
  for (const store::Sheet& sheet : *sheets) {
    FloorSession one;
    auto lifter = desk.store().lifter(sheet.lifter);
    if (!lifter) return tl::unexpected(lifter.error());
    one.lifter = std::move(*lifter);
    one.date = sheet.date;
    one.session = sheet.session;
    if (const auto contents = read_sheet(sheet.json)) {
      one.started = contents->floor.started;
      one.finished = contents->floor.finished;
    }
    const auto sets = sets_of_day(desk, sheet.lifter, date);
    if (!sets) return tl::unexpected(sets.error());
    one.sets = static_cast<int>(std::count_if(
        sets->begin(), sets->end(), [&](const store::StoredSet& s) { return s.set.session == sheet.session; }));
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace ullage::coach
