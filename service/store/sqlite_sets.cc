// Writing sets: one by one, and whole logs merged into what is there.
#include <algorithm>
#include <map>
#include <random>
#include <tuple>

#include "service/store/rows.h"
#include "service/store/sqlite_store_parts.h"

namespace ullage::store {
namespace {

constexpr const char* kOfSession = "WHERE lifter = ? AND date = ? AND session = ? ORDER BY position, id";

// Milliseconds since 1970 of a clock's text.
std::int64_t milliseconds_of(const std::string& time) {
  const auto number = [&](std::size_t at, std::size_t length) {
    std::int64_t value = 0;
    for (std::size_t i = at; i < at + length && i < time.size(); ++i) value = value * 10 + (time[i] - '0');
    return value;
  };
  const auto date = parse_date(std::string_view(time).substr(0, 10)).value_or(Date{});
  return ((date.days * std::int64_t{24} + number(11, 2)) * 60 + number(14, 2)) * 60000 + number(17, 2) * 1000 +
         number(20, 3);
}

const std::string& insert_set_statement() {
  static const std::string sql = [] {
    const Table& to = table("training_set");
    std::string text = "INSERT INTO training_set (" + column_list(to) + ", change) VALUES (?";
    for (std::size_t i = 1; i < to.columns.size(); ++i) text += ", ?";
    return text + ")";
  }();
  return sql;
}

// Performed order of a session as a merge leaves it.
struct Place {
  int stored = -1;  // index among the stored sets, or
  int in_log = -1;  // index among the log's rows of the session
};

// `match[i]`: the stored set that row i of the log is, or -1; `group[i]` tells the stored sets of one
// exercise and side from others. New rows go right after the furthest of the rows before them in the log;
// those that begin it go before the first known one. With `follow_log` the stored sets the log knows change
// places among themselves to stand as in the log. Sets of one group never change their order.
std::vector<Place> merged_order(const std::vector<int>& group, const std::vector<int>& match, bool follow_log) {
  std::vector<int> slots(group.size());  // stored set in each slot
  for (std::size_t i = 0; i < slots.size(); ++i) slots[i] = static_cast<int>(i);
  if (follow_log) {
    std::vector<int> known;
    for (const int each : match) {
      if (each >= 0) known.push_back(each);
    }
    std::vector<int> places = known;
    std::sort(places.begin(), places.end());
    for (std::size_t i = 0; i < known.size(); ++i) slots[static_cast<std::size_t>(places[i])] = known[i];
    std::map<int, std::vector<std::size_t>> slots_of_group;
    for (std::size_t i = 0; i < slots.size(); ++i)
      slots_of_group[group[static_cast<std::size_t>(slots[i])]].push_back(i);
    for (const auto& [one, its_slots] : slots_of_group) {
      std::vector<int> sets;
      for (const auto slot : its_slots) sets.push_back(slots[slot]);
      std::sort(sets.begin(), sets.end());
      for (std::size_t i = 0; i < sets.size(); ++i) slots[its_slots[i]] = sets[i];
    }
  }
  std::vector<int> slot_of(slots.size());
  for (std::size_t i = 0; i < slots.size(); ++i) slot_of[static_cast<std::size_t>(slots[i])] = static_cast<int>(i);

  std::vector<std::vector<int>> before(slots.size() + 1);  // new rows that go after the slot before, and at the end
  std::vector<int> first_ones;                             // new rows that begin the log, and
  std::size_t first_slot = slots.size();                   // the slot they go right before
  int furthest = -1;
  for (std::size_t i = 0; i < match.size(); ++i) {
    if (match[i] >= 0) {
      const int slot = slot_of[static_cast<std::size_t>(match[i])];
      if (furthest < 0) first_slot = static_cast<std::size_t>(slot);
      furthest = std::max(furthest, slot);
    } else if (furthest < 0) {
      first_ones.push_back(static_cast<int>(i));
    } else {
      before[static_cast<std::size_t>(furthest) + 1].push_back(static_cast<int>(i));
    }
  }

  std::vector<Place> order;
  for (std::size_t slot = 0; slot < before.size(); ++slot) {
    for (const int row : before[slot]) order.push_back({-1, row});
    if (slot == first_slot) {
      for (const int row : first_ones) order.push_back({-1, row});
    }
    if (slot < slots.size()) order.push_back({slots[slot], -1});
  }
  return order;
}

struct NewSet {
  const SetRecord* set;
  int ordinal;
  int position;
};

class SqliteMerge : public Merge {
 public:
  SqliteMerge(SqliteWriter& writer, const MergeOptions& options) : writer_(writer), options_(options) {}

  Result<void> add(const std::string& lifter, const std::vector<SetRecord>& sets) override {
    if (failed_) return fail(Code::internal, "a merge was carried on after an error");
    const auto outcome = writer_.atomically([&] { return add_piece(lifter, sets); });
    failed_ = !outcome;
    return outcome;
  }
  const MergeReport& report() const override { return report_; }

 private:
  Result<void> add_piece(const std::string& lifter, const std::vector<SetRecord>& sets) {
    ULLAGE_TRY(writer_.need_lifter(lifter));
    // Rows by session, sessions in the order in which the log begins them.
    std::map<std::pair<Date, std::string_view>, std::size_t> known;
    std::vector<std::vector<const SetRecord*>> sessions;
    std::size_t latest = 0;
    for (const auto& set : sets) {
      const bool same = !sessions.empty() && sessions[latest].back()->date == set.date &&
                        sessions[latest].back()->session == set.session;
      if (!same) {
        const auto [place, fresh] = known.try_emplace({set.date, set.session}, sessions.size());
        if (fresh) sessions.emplace_back();
        latest = place->second;
      }
      sessions[latest].push_back(&set);
    }
    new_sets_.clear();
    for (const auto& session : sessions) ULLAGE_TRY(merge_session(lifter, session));
    return insert_new(lifter);
  }

  Result<void> merge_session(const std::string& lifter, const std::vector<const SetRecord*>& log) {
    ULLAGE_TAKE(auto stored,
                writer_.store().select_sets(kOfSession, {lifter, date_text(log[0]->date), log[0]->session}));
    std::map<std::tuple<std::string_view, Side, int>, int> by_identity;
    std::map<std::pair<std::string_view, Side>, int> groups;
    std::vector<int> group(stored.size());
    for (std::size_t i = 0; i < stored.size(); ++i) {
      const auto& set = stored[i].set;
      by_identity[{set.exercise, set.side, stored[i].ordinal}] = static_cast<int>(i);
      group[i] = groups.try_emplace({set.exercise, set.side}, static_cast<int>(groups.size())).first->second;
    }
    std::vector<int> match(log.size(), -1);
    std::vector<int> ordinals(log.size());
    bool any_new = false;
    for (std::size_t i = 0; i < log.size(); ++i) {
      ordinals[i] = ++count_of(lifter, *log[i]);
      const auto found = by_identity.find({log[i]->exercise, log[i]->side, ordinals[i]});
      if (found != by_identity.end()) match[i] = found->second;
      any_new = any_new || match[i] < 0;
    }

    std::vector<bool> replaced(stored.size(), false);
    for (std::size_t i = 0; i < log.size(); ++i) {
      if (match[i] < 0) {
        ++report_.added;
        continue;
      }
      auto& old = stored[static_cast<std::size_t>(match[i])];
      if (old.set == *log[i]) {
        ++report_.unchanged;
        continue;
      }
      report_.changed.push_back({old.id, lifter, old.set, *log[i]});
      if (!options_.update) continue;
      ++report_.applied;
      old.set = *log[i];
      old.import = options_.import;
      replaced[static_cast<std::size_t>(match[i])] = true;
    }
    if (options_.dry_run) return {};

    int position = 0;
    for (const auto& place : merged_order(group, match, options_.update)) {
      if (place.stored >= 0) {
        auto& old = stored[static_cast<std::size_t>(place.stored)];
        const bool moved = (any_new || options_.update) && old.position <= position;
        if (moved) old.position = position + 1;
        position = old.position;
        if (moved || replaced[static_cast<std::size_t>(place.stored)]) ULLAGE_TRY(writer_.replace_set(old));
      } else {
        const auto row = static_cast<std::size_t>(place.in_log);
        new_sets_.push_back({log[row], ordinals[row], ++position});
      }
    }
    return {};
  }

  // How many sets of this exercise and side the log has had so far in this session.
  int& count_of(const std::string& lifter, const SetRecord& set) {
    key_.clear();
    for (const std::string_view part : {std::string_view(lifter), std::string_view(set.session),
                                        std::string_view(set.exercise), side_name(set.side)}) {
      key_.append(part).push_back('\0');
    }
    key_ += std::to_string(set.date.days);
    return counts_[key_];
  }

  // Adds the piece's new sets and writes down which they are; their images are not, for speed. The triggers of the
  // history would write none, but a table with triggers has the old state of each page kept for each row.
  Result<void> insert_new(const std::string& lifter) {
    if (new_sets_.empty()) return {};
    StoredSet stored;
    stored.lifter = lifter;
    stored.import = options_.import;
    SetId first = 0;
    {
      const TriggersOff off(writer_.store().db());
      for (const auto& each : new_sets_) {
        ULLAGE_TAKE(stored.id, writer_.store().next_set_id());
        if (first == 0) first = stored.id;
        stored.ordinal = each.ordinal;
        stored.position = each.position;
        stored.set = *each.set;
        ULLAGE_TRY(writer_.insert_set(stored));
      }
    }
    return writer_.store().db().run(
        "INSERT INTO change_range (change, lifter, first_id, last_id, after_row) VALUES "
        "(?, ?, ?, ?, (SELECT coalesce(max(id), 0) FROM change_row))",
        writer_.store().history_state().change, lifter, first, stored.id);
  }

  SqliteWriter& writer_;
  const MergeOptions options_;
  MergeReport report_;
  bool failed_ = false;
  std::unordered_map<std::string, int> counts_;
  std::string key_;
  std::vector<NewSet> new_sets_;  // of the piece; their ids are given one after the other
};

}  // namespace

Result<SetId> SqliteStore::next_set_id() {
  if (next_set_id_ == 0) {
    // Above every id ever used in this file, those of removed sets in the history included.
    ULLAGE_TAKE(const auto highest,
                db_->number("SELECT max(coalesce((SELECT max(id) FROM training_set), 0), "
                            "coalesce((SELECT max(last_id) FROM change_range), 0), "
                            "coalesce((SELECT max(row_key) FROM change_row WHERE table_name = 'training_set'), 0))"));
    std::random_device source;
    const std::int64_t made = milliseconds_of(clock_.now()) << 21 | (source() & 0x1fffff);
    next_set_id_ = std::max(highest + 1, made);
  }
  return next_set_id_++;
}

Result<void> SqliteWriter::write_set(const std::string& sql, const StoredSet& set) {
  ULLAGE_TAKE(auto use, db_.statement(sql));
  SetTexts texts;
  ULLAGE_TRY(bind_set(*use, set, store_.history_state().change, texts));
  ULLAGE_TAKE(const bool more, use->step());
  (void)more;
  return {};
}

Result<void> SqliteWriter::insert_set(const StoredSet& set) { return write_set(insert_set_statement(), set); }

Result<void> SqliteWriter::replace_set(const StoredSet& set) {
  static const std::string sql = put_statement(table("training_set"));
  return write_set(sql, set);
}

std::unique_ptr<Merge> SqliteWriter::start_merge(const MergeOptions& options) {
  return std::make_unique<SqliteMerge>(*this, options);
}

Result<MergeReport> SqliteWriter::merge_sets(const std::string& lifter, const std::vector<SetRecord>& sets,
                                             const MergeOptions& options) {
  SqliteMerge merge(*this, options);
  ULLAGE_TRY(merge.add(lifter, sets));
  return merge.report();
}

namespace {

// The places after the last set of the session, and of the exercise and side in it.
Result<void> put_last(Connection& db, StoredSet& set) {
  ULLAGE_TAKE(const auto ordinal, db.number("SELECT max(ordinal) FROM training_set WHERE lifter = ? AND date = ? AND "
                                            "session = ? AND exercise = ? AND side = ? AND id <> ?",
                                            set.lifter, date_text(set.set.date), set.set.session, set.set.exercise,
                                            side_name(set.set.side), set.id));
  ULLAGE_TAKE(const auto position, db.number("SELECT max(position) FROM training_set WHERE lifter = ? AND date = ? AND "
                                             "session = ? AND id <> ?",
                                             set.lifter, date_text(set.set.date), set.set.session, set.id));
  set.ordinal = static_cast<int>(ordinal) + 1;
  set.position = static_cast<int>(position) + 1;
  return {};
}

}  // namespace

Result<SetId> SqliteWriter::append_set(const std::string& lifter, const SetRecord& set) {
  ULLAGE_TRY(need_lifter(lifter));
  StoredSet stored;
  stored.lifter = lifter;
  stored.set = set;
  ULLAGE_TRY(put_last(db_, stored));
  ULLAGE_TAKE(stored.id, store_.next_set_id());
  ULLAGE_TRY(insert_set(stored));
  return stored.id;
}

Result<void> SqliteWriter::close_gap(const StoredSet& gone) {
  ULLAGE_TAKE(auto later,
              store_.select_sets("WHERE lifter = ? AND date = ? AND session = ? AND exercise = ? AND "
                                 "side = ? AND ordinal > ? ORDER BY ordinal",
                                 {gone.lifter, date_text(gone.set.date), gone.set.session, gone.set.exercise,
                                  std::string(side_name(gone.set.side)), std::int64_t{gone.ordinal}}));
  for (auto& set : later) {
    --set.ordinal;
    ULLAGE_TRY(replace_set(set));
  }
  return {};
}

Result<void> SqliteWriter::number_by_place(StoredSet& set) {
  ULLAGE_TAKE(auto later,
              store_.select_sets("WHERE lifter = ? AND date = ? AND session = ? AND exercise = ? AND "
                                 "side = ? AND (position, id) > (?, ?) ORDER BY ordinal DESC",
                                 {set.lifter, date_text(set.set.date), set.set.session, set.set.exercise,
                                  std::string(side_name(set.set.side)), std::int64_t{set.position}, set.id}));
  if (later.empty()) return {};
  // Out of the way while the later ones move down.
  set.ordinal = 0;
  ULLAGE_TRY(replace_set(set));
  for (auto& each : later) {
    ++each.ordinal;
    ULLAGE_TRY(replace_set(each));
  }
  set.ordinal = later.back().ordinal - 1;
  return replace_set(set);
}

Result<void> SqliteWriter::update_set(SetId id, const SetRecord& set) {
  ULLAGE_TAKE(const auto old, store_.set(id));
  StoredSet changed = old;
  changed.set = set;
  const bool moves = set.date != old.set.date || set.session != old.set.session || set.exercise != old.set.exercise ||
                     set.side != old.set.side;
  if (!moves) return replace_set(changed);
  return atomically([&]() -> Result<void> {
    ULLAGE_TRY(put_last(db_, changed));
    // In another session it becomes the last; within the session it keeps its place in performed order.
    const bool same_session = set.date == old.set.date && set.session == old.set.session;
    if (same_session) changed.position = old.position;
    ULLAGE_TRY(replace_set(changed));
    ULLAGE_TRY(close_gap(old));
    return same_session ? number_by_place(changed) : Result<void>();
  });
}

Result<void> SqliteWriter::remove_set(SetId id) {
  ULLAGE_TAKE(const auto gone, store_.set(id));
  return atomically([&]() -> Result<void> {
    ULLAGE_TRY(remove("training_set", {std::to_string(id)}));
    return close_gap(gone);
  });
}

}  // namespace ullage::store
