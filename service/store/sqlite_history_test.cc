// Changes and their undoing, driven by random operations against naive twins that are obviously right.
#include <gmock/gmock.h>

#include <algorithm>
#include <map>
#include <random>

#include "service/store/schema.h"
#include "service/store/sqlite.h"
#include "service/store/testing/samples.h"

namespace ullage::store {
namespace {

// Every truth row, by table and key, as exact text.
using Rows = std::map<std::string, std::string>;

Rows dump(const std::string& path) {
  Rows rows;
  auto db = must(Connection::open(path, OpenAs::read_only, 10000));
  for (const auto& each : tables()) {
    if (each.kind != TableKind::truth) continue;
    for (const auto& row : must(db->rows("SELECT " + column_list(each) + " FROM " + each.name))) {
      std::string key = each.name;
      std::string text;
      for (std::size_t i = 0; i < row.size(); ++i) {
        char value[64];
        std::string written = "null";
        if (const auto* real = std::get_if<double>(&row[i])) {
          std::snprintf(value, sizeof value, "%a", *real);
          written = value;
        } else if (const auto* whole = std::get_if<std::int64_t>(&row[i])) {
          written = std::to_string(*whole);
        } else if (const auto* held = std::get_if<std::string>(&row[i])) {
          written = "'" + *held + "'";
        }
        text += each.columns[i].name + "=" + written + " ";
        if (std::find(each.keys.begin(), each.keys.end(), each.columns[i].name) != each.keys.end())
          key += " " + written;
      }
      rows[key] = text;
    }
  }
  return rows;
}

// What a change did to the rows.
struct Difference {
  std::map<std::string, std::pair<std::string, std::string>> rows;  // key -> before, after; empty: none
};

Difference difference(const Rows& before, const Rows& after) {
  Difference found;
  for (const auto& [key, text] : before) {
    const auto now = after.find(key);
    if (now == after.end()) {
      found.rows[key] = {text, ""};
    } else if (now->second != text) {
      found.rows[key] = {text, now->second};
    }
  }
  for (const auto& [key, text] : after) {
    if (!before.count(key)) found.rows[key] = {"", text};
  }
  return found;
}

// Sets of sessions as plain lists.
using SetTwin = std::map<std::tuple<std::string, Date, std::string>, std::vector<SetRecord>>;

std::vector<SetRecord> all_of(const SetTwin& twin, const std::string& lifter) {
  std::vector<SetRecord> sets;
  for (const auto& [key, session] : twin) {
    if (std::get<0>(key) == lifter) sets.insert(sets.end(), session.begin(), session.end());
  }
  return sets;
}

// New rows go right after the furthest of the rows before them in the log, else before the next one that is
// known, else last. An update puts the known ones in the log's order, but those of one exercise stay in theirs.
void merge_into(SetTwin& twin, const std::string& lifter, const std::vector<SetRecord>& log, bool update) {
  SetTwin by_session;
  for (const auto& row : log) by_session[{lifter, row.date, row.session}].push_back(row);
  for (const auto& [key, rows] : by_session) {
    auto& session = twin[key];
    // Which set of the session each row is, by counting.
    const auto stored = session;
    const auto known_as = [&](std::size_t i) {
      const auto same = [&](const SetRecord& other) {
        return other.exercise == rows[i].exercise && other.side == rows[i].side;
      };
      auto left = std::count_if(rows.begin(), rows.begin() + static_cast<std::ptrdiff_t>(i) + 1, same);
      for (std::size_t at = 0; at < stored.size(); ++at) {
        if (same(stored[at]) && --left == 0) return static_cast<int>(at);
      }
      return -1;
    };
    std::vector<std::pair<int, SetRecord>> merged;  // place in the log or -1, set
    for (const auto& set : stored) merged.emplace_back(-1, set);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const int at = known_as(i);
      if (at < 0) continue;
      merged[static_cast<std::size_t>(at)].first = static_cast<int>(i);
      if (update) merged[static_cast<std::size_t>(at)].second = rows[i];
    }
    if (update) {
      const auto reorder = [&](const auto& takes_part, const auto& less) {
        std::vector<std::size_t> places;
        std::vector<std::pair<int, SetRecord>> sets;
        for (std::size_t at = 0; at < merged.size(); ++at) {
          if (!takes_part(merged[at])) continue;
          places.push_back(at);
          sets.push_back(merged[at]);
        }
        std::sort(sets.begin(), sets.end(), less);
        for (std::size_t i = 0; i < places.size(); ++i) merged[places[i]] = sets[i];
      };
      // Remember who stood where, since sets may be alike.
      const auto before = merged;
      for (std::size_t at = 0; at < merged.size(); ++at) {
        merged[at].second.extra = {{std::to_string(at + 1000), ""}};
      }
      const auto old_place = [](const auto& each) { return std::stoi(each.second.extra[0].first); };
      reorder([](const auto& each) { return each.first >= 0; },
              [](const auto& a, const auto& b) { return a.first < b.first; });
      for (const char* exercise : {"squat", "curl"}) {
        reorder([&](const auto& each) { return each.second.exercise == exercise; },
                [&](const auto& a, const auto& b) { return old_place(a) < old_place(b); });
      }
      for (auto& each : merged) each.second = before[static_cast<std::size_t>(old_place(each) - 1000)].second;
    }
    const auto place_of = [&](int in_log) {
      return std::find_if(merged.begin(), merged.end(), [&](const auto& each) { return each.first == in_log; });
    };
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const int number = static_cast<int>(i);
      if (place_of(number) != merged.end()) continue;
      auto at = merged.end();
      if (i > 0) {
        at = place_of(0);
        for (int earlier = 1; earlier < number; ++earlier) at = std::max(at, place_of(earlier));
        ++at;
      } else {
        for (std::size_t next = 1; next < rows.size() && at == merged.end(); ++next) {
          at = place_of(static_cast<int>(next));
        }
      }
      merged.insert(at, {number, rows[i]});
    }
    session.clear();
    for (const auto& each : merged) session.push_back(each.second);
  }
}

std::string brief(const std::vector<SetRecord>& sets) {
  std::string text;
  for (const auto& set : sets) {
    text += date_text(set.date) + " " + set.exercise + " " + number_text(set.load.amount) + " x " +
            std::to_string(set.reps) + " " + set.note + "\n";
  }
  return text;
}

void expect_no_fault(Store& store) {
  for (const auto& finding : must(store.doctor())) {
    EXPECT_NE(finding.grade, Finding::Grade::fault) << finding.subject << ": " << finding.text;
  }
}

class RandomHistory : public testing::TestWithParam<unsigned> {};

TEST_P(RandomHistory, AgreesWithTheTwins) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  FakeClock clock;
  auto store = must(open_sqlite(path, clock, "tester"));
  std::mt19937 random(GetParam());
  const auto pick = [&](int below) { return static_cast<int>(random() % static_cast<unsigned>(below)); };
  const Date first = clock.today();
  const std::vector<std::string> lifters{"ines", "bo"};
  must(store->change("take on", [&](Writer& writer) -> Result<void> {
    for (const auto& id : lifters) must(writer.put_lifter(sample_lifter(id, "name of " + id)));
    return {};
  }));

  const auto random_set = [&] {
    static const double kLoads[] = {0.1 + 0.2, 1e-300, 102.05828325, 100, -7.5};
    SetRecord set = sample_set(first + pick(3), pick(2) ? "squat" : "curl", kLoads[pick(5)], pick(12));
    if (pick(3) == 0) set.rest_s = 60.0 + pick(100) / 7.0;
    if (pick(4) == 0) set.note = "note " + std::to_string(pick(100));
    if (pick(5) == 0) set.extra = {{"mood", std::to_string(pick(5))}};
    return set;
  };

  SetTwin twin;
  std::map<ChangeId, SetTwin> twin_before;
  std::map<ChangeId, Difference> differences;
  Rows rows = dump(path);
  int undone = 0;
  int refused = 0;

  for (int step = 0; step < 120; ++step) {
    const std::string lifter = lifters[static_cast<std::size_t>(pick(2))];
    const int what = pick(10);
    if (what >= 7) {
      // Take back any change at all.
      const auto history = must(store->history(1000));
      const ChangeId target =
          history[static_cast<std::size_t>(pick(static_cast<int>(std::min<std::size_t>(history.size() - 1, 12)) + 1))]
              .id;
      if (target == 1) continue;
      const auto outcome = store->undo(target);
      const Rows now = dump(path);
      const auto& taken = differences[target];
      if (!outcome) {
        ++refused;
        ASSERT_EQ(outcome.error().code, Code::conflict) << outcome.error().message;
        ASSERT_EQ(now, rows) << "a refused undo changed something";
        continue;
      }
      ++undone;
      Rows expected = rows;
      for (const auto& [key, change] : taken.rows) {
        const auto there = expected.find(key);
        ASSERT_EQ(there == expected.end() ? "" : there->second, change.second) << "step " << step;
        if (change.first.empty()) {
          expected.erase(key);
        } else {
          expected[key] = change.first;
        }
      }
      ASSERT_EQ(now, expected) << "step " << step;
      expect_no_fault(*store);
      differences[*outcome] = difference(rows, now);
      rows = now;
      // The twin of sets is read back; the rows were checked above.
      twin.clear();
      for (const auto& each : lifters) {
        for (const auto& set : records(must(store->sets(each)))) twin[{each, set.date, set.session}].push_back(set);
      }
      if (pick(4) == 0) store = must(open_sqlite(path, clock, "tester"));
      continue;
    }

    const auto stored = must(store->sets(lifter));
    SetTwin expected = twin;
    std::vector<SetRecord> tried;
    const auto id = must(store->change("step " + std::to_string(step), [&](Writer& writer) -> Result<void> {
      switch (what) {
        case 0:
        case 1: {
          const SetRecord set = random_set();
          must(writer.append_set(lifter, set));
          expected[{lifter, set.date, set.session}].push_back(set);
          break;
        }
        case 2:
        case 3: {
          // The log as it is, a little changed, with some rows missing at the end and new ones.
          std::vector<SetRecord> log = records(stored);
          for (auto& set : log) {
            if (pick(6) == 0) set.reps = pick(12);
          }
          if (!log.empty() && pick(2)) log.resize(log.size() - static_cast<std::size_t>(pick(3)) % log.size());
          std::vector<SetRecord> added;
          for (int i = pick(6); i > 0; --i) added.push_back(random_set());
          MergeOptions options;
          options.update = what == 3;
          merge_into(expected, lifter, log, options.update);
          must(writer.merge_sets(lifter, log, options));
          const auto merge = writer.start_merge(options);
          auto both = log;
          both.insert(both.end(), added.begin(), added.end());
          merge_into(expected, lifter, both, options.update);
          tried = both;
          must(merge->add(lifter, both));
          break;
        }
        case 4:
          if (!stored.empty()) {
            const auto& gone = stored[static_cast<std::size_t>(pick(static_cast<int>(stored.size())))];
            auto& session = expected[{lifter, gone.set.date, gone.set.session}];
            std::size_t at = 0;
            for (const auto& each : stored) {
              if (each.id == gone.id) break;
              at += each.set.date == gone.set.date && each.set.session == gone.set.session;
            }
            session.erase(session.begin() + static_cast<std::ptrdiff_t>(at));
            must(writer.remove_set(gone.id));
          }
          break;
        case 5:
          if (!stored.empty()) {
            const auto& old = stored[static_cast<std::size_t>(pick(static_cast<int>(stored.size())))];
            SetRecord set = random_set();
            set.date = old.set.date;
            auto& session = expected[{lifter, set.date, set.session}];
            std::size_t at = 0;
            for (const auto& each : stored) {
              if (each.id == old.id) break;
              at += each.set.date == set.date && each.set.session == set.session;
            }
            session[at] = set;
            must(writer.update_set(old.id, set));
          }
          break;
        default:
          must(writer.put_body_mass(lifter, {first + pick(2), {60 + pick(50) / 3.0, Unit::kilogram}}));
          must(writer.put_setting("key " + std::to_string(pick(3)), std::to_string(pick(100))));
          if (pick(2)) must(writer.put_policy(lifter, ReservePolicy{}));
          break;
      }
      return {};
    }));
    for (const auto& each : lifters) {
      const auto found = records(must(store->sets(each)));
      ASSERT_TRUE(found == all_of(expected, each)) << "step " << step << ", kind " << what << "\n"
                                                   << "before:\n"
                                                   << brief(all_of(twin, each)) << "log:\n"
                                                   << brief(tried) << "found:\n"
                                                   << brief(found) << "but by the twin\n"
                                                   << brief(all_of(expected, each));
    }
    twin = expected;
    const Rows now = dump(path);
    if (id == 0) {
      ASSERT_EQ(now, rows);
    } else {
      differences[id] = difference(rows, now);
    }
    rows = now;
    expect_no_fault(*store);
    if (HasFailure()) return;
  }
  EXPECT_GT(undone, 5);
  EXPECT_GT(refused, 0);

  // Back to the beginning, one undo after the other.
  while (true) {
    const auto outcome = store->undo();
    if (!outcome) {
      ASSERT_EQ(outcome.error().code, Code::not_found) << outcome.error().message;
      break;
    }
  }
  EXPECT_TRUE(dump(path).empty());
}

INSTANTIATE_TEST_SUITE_P(Seeds, RandomHistory, testing::Range(1u, 7u));

TEST(History, NoWriteEscapesIt) {
  const ScratchFolder folder;
  FakeClock clock;
  const std::string path = folder.file("data.ullage");
  {
    const auto store = must(open_sqlite(path, clock, "tester"));
  }
  const auto other = must(Connection::open(path, OpenAs::read_write, 1000));
  for (const auto& each : tables()) {
    if (each.kind != TableKind::truth) continue;
    const auto count =
        must(other->number("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?", each.name));
    EXPECT_EQ(count, 3) << each.name;
  }
  EXPECT_FALSE(other->run("INSERT INTO setting (key, value, change) VALUES ('a', 'b', 1)"))
      << "a program without the history functions cannot write";
}

}  // namespace
}  // namespace ullage::store
