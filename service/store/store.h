// The data store: everything a coach has written down, kept safely, with a history of every change.
//
// Defines Store (reading, history, care of the data), Writer (writing, only inside a named change) and
// the plain records that are kept beside those of engine/training and engine/safety.
//
//   SystemClock clock;
//   auto store = open_sqlite("studio.ullage", clock, "coach");            // service/store/sqlite_store.h
//   auto id = (*store)->change("take on Ines", [&](Writer& writer) { return writer.put_lifter(ines); });
//   auto sets = (*store)->sets("ines");
//   auto undone = (*store)->undo();                                        // takes the last change back
//
// Truth is what people wrote down; derived entries can be computed again and are no part of history.
// The tables and columns of the file are described in docs/data-file.md.
// Threads: a Store is used by one thread at a time; each thread or process opens its own, and several
// may have the same file open.
// Errors common to all functions: unavailable (locked by another program for longer than the busy
// timeout, disk full, no permission), corrupt (damaged file), internal.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/safety/records.h"
#include "engine/training/equipment.h"
#include "engine/training/lifter.h"
#include "engine/training/policy.h"
#include "engine/training/set_record.h"
#include "service/store/clock.h"

namespace ullage::store {

using ChangeId = std::int64_t;  // 1, 2, 3, ... in the order of writing; 0: nothing was changed
using SetId = std::int64_t;     // positive, up to 2^63 - 1: made by the client, rising within a file

// A new id for things that have no natural one (imports, holds, ...): 20 characters a-z and 0-9.
std::string make_id();

// One set with what the store knows about it.
struct StoredSet {
  SetId id = 0;
  std::string lifter;
  std::string import;  // id of the import that wrote it last; empty when logged by hand
  int ordinal = 0;     // 1, 2, ... among the sets of the same exercise and side in the session
  int position = 0;    // rises in performed order within the session; gaps are possible
  SetRecord set;
};

struct SetFilter {
  std::optional<Date> from;  // first day
  std::optional<Date> to;    // last day
  std::string exercise;      // id; empty: all
  // A part of them only, counted in the order in which they are given.
  bool newest_first = false;
  std::size_t skip = 0;
  std::optional<std::size_t> most{};
};

// A log file that was read in.
struct ImportRecord {
  std::string id;         // from make_id()
  std::string file_name;  // as given by the user
  std::string time;       // UTC; put_import fills it in when empty
  std::string mapping;    // name of the mapping used; empty: the open log format
  int rows_read = 0;
  int added = 0;
  int unchanged = 0;
  int changed = 0;
  int applied = 0;
  int skipped = 0;  // bad rows left out at the user's wish
};

// A text kept under a name: mappings, exercise edits (id -> TOML of the one exercise), templates,
// settings, policies' scopes.
struct NamedText {
  std::string name;
  std::string text;
  bool operator==(const NamedText&) const = default;
};

// A session as it was prescribed, so that logging can re-plan from it.
struct Sheet {
  std::string lifter;
  Date date;
  std::string session;  // label, usually empty
  std::string json;     // the session as planned; its layout belongs to service/coach
  bool operator==(const Sheet&) const = default;
};

// A block planned for a lifter, at any stage between proposed and replaced.
struct StoredPlan {
  std::string lifter;
  std::int64_t number = 0;  // 1, 2, ... for the lifter
  std::string state;        // proposed, accepted, rejected, replaced
  std::string said;         // the coach's word on it
  Date start;               // first Monday
  std::string json;         // the block; its layout belongs to service/coach
  bool operator==(const StoredPlan&) const = default;
};

// What a coach said to something the data asked for: a lighter week, another way out of a stall.
struct StoredAdvice {
  std::string lifter;
  std::int64_t number = 0;  // 1, 2, ... for the lifter
  std::string kind;         // "lighter week", "stall"
  std::string state;        // accepted or rejected
  std::string said;         // the coach's word
  Date date;                // the day it was decided
  std::string json;         // what was proposed, with its reason; its layout belongs to service/coach
  bool operator==(const StoredAdvice&) const = default;
};

// Of one lifter: changes whenever anything kept about them was written, their estimate included.
struct LifterMark {
  std::string lifter;
  std::string mark;
};

// A fitted estimate. Derived: may be dropped and computed again at any time.
struct DerivedEstimate {
  std::string lifter;
  std::string model_version;
  std::string fitted_at;          // UTC; put_estimate fills it in when empty
  std::string input_fingerprint;  // Store::truth_mark() when the sets were read
  std::string blob;               // bytes; layout belongs to the writer
};

struct MergeOptions {
  bool update = false;   // apply changed rows and the log's order; otherwise they are only listed
  bool dry_run = false;  // count and list, write nothing
  std::string import;    // id of the import these rows come from, already put; empty: none
};

// A set that is stored otherwise than the log has it.
struct ChangedSet {
  SetId id = 0;
  std::string lifter;
  SetRecord before;  // as stored
  SetRecord after;   // as in the log
};

struct MergeReport {
  int added = 0;
  int unchanged = 0;
  std::vector<ChangedSet> changed;
  int applied = 0;  // of `changed`; 0 without MergeOptions::update
};

// A merge in pieces, for logs too large to hold: the count of an exercise's sets goes on from piece to
// piece. Pieces should end where a session ends. Must not outlive the change it was started in.
class Merge {
 public:
  virtual ~Merge() = default;
  // The next rows of the log for this lifter, in the log's order. not_found: no such lifter.
  virtual Result<void> add(const std::string& lifter, const std::vector<SetRecord>& sets) = 0;
  // What the pieces so far did.
  virtual const MergeReport& report() const = 0;
};

// Writes of one change. A failed call has written nothing; return its error from the change's function
// to take the whole change back. Texts must be UTF-8 without zero bytes and numbers finite, or the call
// fails with invalid_input. Putting what is already there exactly so is no change.
class Writer {
 public:
  virtual ~Writer() = default;

  // Adds the lifter or replaces what is kept under this id, body masses included (those missing from
  // `lifter` are removed). conflict: the name is taken by another lifter.
  virtual Result<void> put_lifter(const Lifter& lifter) = 0;
  // Adds or replaces the body mass of one day.
  virtual Result<void> put_body_mass(const std::string& lifter, const BodyMass& mass) = 0;
  // Removes the lifter with everything kept about them. Can be undone, so nothing is really gone:
  // for that see Store::erase_lifter.
  virtual Result<void> remove_lifter(const std::string& lifter) = 0;

  // Merges a log. A set's identity is lifter, date and session label, exercise, side and its place
  // among the log's sets of that exercise and side in that session. Known sets are compared, new ones
  // added, and a row missing from the log removes nothing. Cost: about 5 microseconds for each new row.
  virtual Result<MergeReport> merge_sets(const std::string& lifter, const std::vector<SetRecord>& sets,
                                         const MergeOptions& options) = 0;
  virtual std::unique_ptr<Merge> start_merge(const MergeOptions& options) = 0;
  // Logs one set after the last of its session.
  virtual Result<SetId> append_set(const std::string& lifter, const SetRecord& set) = 0;
  // Replaces a set. Moved to another session it becomes the last one there; with another exercise or side it
  // keeps its place in performed order, and the sets of both groups are numbered anew.
  virtual Result<void> update_set(SetId id, const SetRecord& set) = 0;
  // Removes a set; later sets of that exercise in the session move up one place.
  virtual Result<void> remove_set(SetId id) = 0;

  virtual Result<void> put_import(const ImportRecord& import) = 0;

  virtual Result<void> put_mapping(const std::string& name, const std::string& text) = 0;
  virtual Result<void> remove_mapping(const std::string& name) = 0;
  virtual Result<void> put_exercise_edit(const std::string& id, const std::string& toml) = 0;
  virtual Result<void> remove_exercise_edit(const std::string& id) = 0;
  virtual Result<void> put_template(const std::string& name, const std::string& text) = 0;
  virtual Result<void> remove_template(const std::string& name) = 0;
  virtual Result<void> put_setting(const std::string& key, const std::string& value) = 0;
  virtual Result<void> remove_setting(const std::string& key) = 0;

  virtual Result<void> put_place(const Place& place) = 0;
  virtual Result<void> remove_place(const std::string& id) = 0;

  // Scope "" is everyone, otherwise a lifter id. not_found: no such lifter.
  virtual Result<void> put_policy(const std::string& scope, const ReservePolicy& policy) = 0;
  virtual Result<void> remove_policy(const std::string& scope) = 0;

  // Replaces the whole health record of a lifter.
  virtual Result<void> put_health(const std::string& lifter, const safety::HealthRecord& record) = 0;

  virtual Result<void> put_sheet(const Sheet& sheet) = 0;
  virtual Result<void> remove_sheet(const std::string& lifter, Date date, const std::string& session) = 0;

  virtual Result<void> put_plan(const StoredPlan& plan) = 0;
  virtual Result<void> put_advice(const StoredAdvice& advice) = 0;
};

// An entry of the history.
struct Change {
  ChangeId id = 0;
  std::string time;  // UTC
  std::string who;
  std::string what;
  std::int64_t rows = 0;              // rows written
  std::optional<ChangeId> undoes;     // this change took that one back
  std::optional<ChangeId> undone_by;  // and that one took this one back
  bool final = false;                 // cannot be taken back: an erasure, or a change that one emptied
};

// One row of a change: JSON of its columns before (empty: it was added) and after (empty: removed).
// Sets added by a merge are told by key alone.
struct ChangeRow {
  std::string table;
  std::string key;
  std::string before;
  std::string after;
};

struct TableCount {
  std::string table;
  std::int64_t rows = 0;
};

struct EraseReport {
  std::vector<TableCount> removed;    // per table, history included
  std::vector<std::string> mentions;  // other texts that still hold the name, in words; left as they are
};

struct Finding {
  enum class Grade { fine, note, fault };
  Grade grade = Grade::fine;
  std::string subject;  // "integrity", "version", ...
  std::string text;     // one line, plain words
};

class Store {
 public:
  virtual ~Store() = default;

  // ---- Writing and history.

  // Runs `work` as one change: all of it is kept, or nothing when `work` fails or throws. When the call
  // returns, the change is on the disk. Reads inside `work` see what it has written so far. 0 when
  // nothing was written. Changes cannot be nested (internal).
  virtual Result<ChangeId> change(const std::string& what, const std::function<Result<void>(Writer&)>& work) = 0;

  // Takes a change back by a new change, which can be undone in turn. Without an id: the last change
  // that stands and is not itself an undo, so repeated calls go further back. not_found: no such change
  // or none left; conflict: already undone, or a later change that stands touched the same rows, rests on
  // them or counts sets on from them (the message names it); not_allowed: final.
  virtual Result<ChangeId> undo(std::optional<ChangeId> change = std::nullopt) = 0;

  // The latest changes, newest first.
  virtual Result<std::vector<Change>> history(int limit) = 0;
  virtual Result<std::vector<ChangeRow>> change_rows(ChangeId change) = 0;

  // Runs several reads on one state of the data, whatever others write meanwhile.
  virtual Result<void> snapshot(const std::function<Result<void>()>& reads) = 0;

  // ---- Reading. Single things: not_found when there is none, unless an optional is returned.

  virtual Result<std::vector<Lifter>> lifters() = 0;  // by name
  virtual Result<Lifter> lifter(const std::string& id) = 0;
  // By id or by name, letters' case ignored for ASCII.
  virtual Result<Lifter> find_lifter(const std::string& id_or_name) = 0;

  // In performed order: date, session label, position.
  virtual Result<std::vector<StoredSet>> sets(const std::string& lifter, const SetFilter& filter = {}) = 0;
  virtual Result<StoredSet> set(SetId id) = 0;
  virtual Result<std::int64_t> set_count(const std::string& lifter, const SetFilter& filter = {}) = 0;
  // The day of each session, rising; a day with two sessions is there twice. Costs far less than reading the sets.
  virtual Result<std::vector<Date>> session_days(const std::string& lifter) = 0;

  virtual Result<std::vector<ImportRecord>> imports() = 0;  // oldest first

  virtual Result<std::vector<NamedText>> mappings() = 0;  // these by name
  virtual Result<std::optional<std::string>> mapping(const std::string& name) = 0;
  virtual Result<std::vector<NamedText>> exercise_edits() = 0;
  virtual Result<std::optional<std::string>> exercise_edit(const std::string& id) = 0;
  virtual Result<std::vector<NamedText>> templates() = 0;
  virtual Result<std::optional<std::string>> template_text(const std::string& name) = 0;
  virtual Result<std::vector<NamedText>> settings() = 0;
  virtual Result<std::optional<std::string>> setting(const std::string& key) = 0;

  virtual Result<std::vector<Place>> places() = 0;
  virtual Result<std::optional<Place>> place(const std::string& id) = 0;

  // The policy kept for exactly this scope; no falling back.
  virtual Result<std::optional<ReservePolicy>> policy(const std::string& scope) = 0;

  virtual Result<safety::HealthRecord> health(const std::string& lifter) = 0;  // empty record when none

  virtual Result<std::optional<Sheet>> sheet(const std::string& lifter, Date date, const std::string& session) = 0;
  virtual Result<std::vector<Sheet>> sheets(const std::string& lifter) = 0;  // by date
  virtual Result<std::vector<Sheet>> sheets_on(Date date) = 0;               // of everyone, by lifter and session

  virtual Result<std::vector<StoredPlan>> plans(const std::string& lifter) = 0;     // newest first
  virtual Result<std::vector<StoredAdvice>> advice(const std::string& lifter) = 0;  // newest first

  // ---- Derived entries.

  // Mark that changes whenever something an estimate of this lifter rests on was changed: their sets,
  // profile, body masses, or the exercise library edits. Cheap.
  virtual Result<std::string> truth_mark(const std::string& lifter) = 0;
  // Marks of every lifter, by id. Cost: about 4 microseconds a lifter.
  virtual Result<std::vector<LifterMark>> lifter_marks() = 0;
  // Number of the latest change; 0: none. Cheap.
  virtual Result<ChangeId> newest_change() = 0;
  // Differs from what it was whenever another connection or program has written to the file since. Cheap.
  virtual Result<std::int64_t> outside_mark() = 0;
  virtual Result<void> put_estimate(const DerivedEstimate& estimate) = 0;
  virtual Result<std::optional<DerivedEstimate>> estimate(const std::string& lifter) = 0;
  // Drops all derived entries of a lifter; of everyone when empty.
  virtual Result<void> drop_derived(const std::string& lifter) = 0;

  // ---- Care of the data.

  // Copies the data, as it is now, into a new file and checks the copy. Others may go on writing.
  // conflict: the file exists already.
  virtual Result<void> backup(const std::string& path) = 0;

  // How many rows of each table are about this lifter, history included; tables with none are left out.
  virtual Result<std::vector<TableCount>> what_is_held(const std::string& lifter) = 0;

  // Removes a lifter for good, from every table and from the history, then rewrites the file so that
  // nothing is left in free pages or the write-ahead log. Backups made before still hold them.
  // unavailable after removal: another program holds the file, so the free pages could not be cleared
  // yet; call compact() once it has closed it.
  virtual Result<EraseReport> erase_lifter(const std::string& lifter) = 0;
  // Rewrites the file without free pages. Cost: as reading and writing the whole file.
  virtual Result<void> compact() = 0;

  // Checks the file; changes nothing. The first findings are about the file, then about the data.
  virtual Result<std::vector<Finding>> doctor() = 0;
};

}  // namespace ullage::store
