// What happens to the file when things go wrong: killed programs, two at once, damage, other versions.
#include <gmock/gmock.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstring>
#include <random>
#include <set>

#include "service/store/schema.h"
#include "service/store/sqlite.h"
#include "service/store/testing/samples.h"

namespace ullage::store {
namespace {

using testing::HasSubstr;

// Runs `work` in a child process of its own, which ends with its result.
pid_t in_child(const std::function<int()>& work) {
  const pid_t child = fork();
  if (child == 0) {
    int code = 99;
    try {
      code = work();
    } catch (...) {
    }
    _exit(code);
  }
  return child;
}

int exit_code_of(pid_t child) {
  int status = 0;
  waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

void make_store(const std::string& path) {
  FakeClock clock;
  const auto store = must(open_sqlite(path, clock, "tester"));
  must(store->change("take on", [](Writer& writer) -> Result<void> {
    must(writer.put_lifter(sample_lifter("ines", "Ines Maro")));
    return writer.put_setting("count", "0");
  }));
}

// One more set and the count of them, in one change.
Result<ChangeId> add_one(Store& store, Date day, int reps) {
  return store.change("log", [&](Writer& writer) -> Result<void> {
    const auto count = store.setting("count");
    if (!count) return tl::unexpected<Error>(count.error());
    const auto id = writer.append_set("ines", sample_set(day, "squat", 0.1 * reps, reps));
    if (!id) return tl::unexpected<Error>(id.error());
    return writer.put_setting("count", std::to_string(std::stoi(count->value()) + 1));
  });
}

TEST(Killed, NothingAcknowledgedIsLostAndNothingIsHalfWritten) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  std::mt19937 random(20260309);
  const Date day = *parse_date("2026-03-09");
  int acknowledged = 0;
  for (int round = 0; round < 20; ++round) {
    int pipe_ends[2];
    ASSERT_EQ(pipe(pipe_ends), 0);
    const pid_t child = in_child([&] {
      close(pipe_ends[0]);
      FakeClock clock;
      auto store = must(open_sqlite(path, clock, "child"));
      for (int i = acknowledged + 1;; ++i) {
        if (!add_one(*store, day, i)) return 1;
        if (write(pipe_ends[1], &i, sizeof i) != sizeof i) return 2;
      }
    });
    close(pipe_ends[1]);
    // After some acknowledged sets and a random while of spinning, whatever the child is doing then.
    int last = acknowledged;
    for (unsigned left = random() % 12; left > 0; --left)
      ASSERT_EQ(read(pipe_ends[0], &last, sizeof last), ssize_t{sizeof last});
    for (volatile unsigned spin = random() % 4000000; spin > 0;) spin = spin - 1;
    kill(child, SIGKILL);
    int status = 0;
    waitpid(child, &status, 0);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the child ended by itself: " << status;
    while (read(pipe_ends[0], &last, sizeof last) == sizeof last) {
    }
    close(pipe_ends[0]);
    acknowledged = last;

    FakeClock clock;
    auto store = must(open_sqlite(path, clock, "tester"));
    for (const auto& finding : must(store->doctor())) {
      EXPECT_NE(finding.grade, Finding::Grade::fault) << finding.subject << ": " << finding.text;
    }
    const auto sets = must(store->sets("ines"));
    const int found = static_cast<int>(sets.size());
    EXPECT_GE(found, acknowledged) << "an acknowledged set is lost";
    EXPECT_LE(found, acknowledged + 1);
    for (int i = 0; i < found; ++i) {
      EXPECT_EQ(sets[static_cast<std::size_t>(i)].set.reps, i + 1);
      EXPECT_EQ(sets[static_cast<std::size_t>(i)].set.load.amount, 0.1 * (i + 1));
    }
    EXPECT_EQ(must(store->setting("count")), std::to_string(found)) << "half a change was written";
    EXPECT_EQ(must(store->history(100000)).size(), static_cast<std::size_t>(found) + 1);
    acknowledged = found;
  }
  EXPECT_GT(acknowledged, 20);
}

// A server with several connections, and a command line that opens the file and closes it while they live: it must not
// take itself for the last one and remove the log of what was written.
TEST(TwoPrograms, WhatOneWritesAfterTheOtherHasLeftIsKept) {
  for (const bool killed : {true, false}) {
    const ScratchFolder folder;
    const std::string path = folder.file("data.ullage");
    make_store(path);
    const Date day = *parse_date("2026-03-09");
    int to_server[2], from_server[2];
    ASSERT_EQ(pipe(to_server), 0);
    ASSERT_EQ(pipe(from_server), 0);
    const auto tell = [](int end) { return write(end, "x", 1) == 1; };
    const auto hear = [](int end) {
      char heard = 0;
      return read(end, &heard, 1) == 1;
    };
    constexpr int kRounds = 3;
    const pid_t server = in_child([&] {
      close(to_server[1]);
      close(from_server[0]);
      FakeClock clock;
      const auto first = must(open_sqlite(path, clock, "server"));
      const auto second = must(open_sqlite(path, clock, "server"));
      for (int i = 1; i <= kRounds; ++i) {
        if (!hear(to_server[0])) return 1;
        const auto passing = must(open_sqlite(path, clock, "server"));
        if (!add_one(i % 2 ? *first : *second, day, i)) return 2;
        if (!tell(from_server[1])) return 3;
      }
      if (!hear(to_server[0])) return 4;
      if (killed) raise(SIGKILL);
      return 0;
    });
    close(to_server[0]);
    close(from_server[1]);
    for (int i = 1; i <= kRounds; ++i) {
      const pid_t command = in_child([&] {
        FakeClock clock;
        const auto store = must(open_sqlite(path, clock, "command"));
        return static_cast<int>(must(store->sets("ines")).size());
      });
      EXPECT_EQ(exit_code_of(command), i - 1) << "what the server has written is seen";
      ASSERT_TRUE(tell(to_server[1]));
      ASSERT_TRUE(hear(from_server[0]));
    }
    ASSERT_TRUE(tell(to_server[1]));
    EXPECT_EQ(exit_code_of(server), killed ? -1 : 0);
    close(to_server[1]);
    close(from_server[0]);

    FakeClock clock;
    const auto store = must(open_sqlite(path, clock, "tester"));
    EXPECT_EQ(must(store->sets("ines")).size(), std::size_t{kRounds});
    for (const auto& finding : must(store->doctor())) {
      EXPECT_NE(finding.grade, Finding::Grade::fault) << finding.subject << ": " << finding.text;
    }
  }
}

TEST(Killed, AnImportIsThereWholeOrNotAtAll) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  std::mt19937 random(7);
  const auto log = sample_log(*parse_date("2020-01-01"), 300);
  int whole = 0;
  for (int round = 0; round < 12; ++round) {
    int pipe_ends[2];
    ASSERT_EQ(pipe(pipe_ends), 0);
    const pid_t child = in_child([&] {
      FakeClock clock;
      auto store = must(open_sqlite(path, clock, "child"));
      if (write(pipe_ends[1], "s", 1) != 1) return 1;
      must(store->change("import", [&](Writer& writer) -> Result<void> {
        must(writer.merge_sets("ines", log, {}));
        return {};
      }));
      return write(pipe_ends[1], "d", 1) == 1 ? 0 : 1;
    });
    close(pipe_ends[1]);
    char word = 0;
    ASSERT_EQ(read(pipe_ends[0], &word, 1), 1);
    for (volatile unsigned spin = random() % 90000000; spin > 0;) spin = spin - 1;
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    const bool acknowledged = read(pipe_ends[0], &word, 1) == 1;
    close(pipe_ends[0]);
    FakeClock clock;
    auto store = must(open_sqlite(path, clock, "tester"));
    const auto count = must(store->set_count("ines"));
    EXPECT_TRUE(count == 6000 || (count == 0 && !acknowledged)) << count;
    whole += count == 6000;
    if (count) must(store->undo());
  }
  RecordProperty("imports_finished", whole);
}

TEST(TwoAtOnce, WritersLoseNothingAndAReaderSeesWholeChanges) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  const Date day = *parse_date("2026-03-09");
  constexpr int kEach = 150;
  std::vector<pid_t> writers;
  for (int i = 0; i < 2; ++i) {
    writers.push_back(in_child([&, i] {
      FakeClock clock;
      auto store = must(open_sqlite(path, clock, "writer " + std::to_string(i)));
      for (int n = 0; n < kEach; ++n) {
        if (!add_one(*store, day + i, n + 1)) return 1;
      }
      return 0;
    }));
  }
  const pid_t reader = in_child([&] {
    FakeClock clock;
    auto store = must(open_sqlite(path, clock, "reader"));
    std::int64_t before = 0;
    while (before < 2 * kEach) {
      std::int64_t sets = 0;
      std::string count;
      const auto seen = store->snapshot([&]() -> Result<void> {
        sets = must(store->set_count("ines"));
        count = must(store->setting("count")).value();
        return {};
      });
      if (!seen) return 1;
      if (count != std::to_string(sets)) return 2;
      if (sets < before) return 3;
      before = sets;
    }
    return 0;
  });
  for (const pid_t writer : writers) EXPECT_EQ(exit_code_of(writer), 0);
  EXPECT_EQ(exit_code_of(reader), 0);
  FakeClock clock;
  auto store = must(open_sqlite(path, clock, "tester"));
  EXPECT_EQ(must(store->set_count("ines")), 2 * kEach);
  EXPECT_EQ(must(store->setting("count")), std::to_string(2 * kEach));
  std::set<std::string> who;
  for (const auto& change : must(store->history(10000))) who.insert(change.who);
  EXPECT_EQ(who, (std::set<std::string>{"tester", "writer 0", "writer 1"}));
}

TEST(TwoAtOnce, ManyMayMakeTheFile) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  std::vector<pid_t> makers;
  for (int i = 0; i < 6; ++i) {
    makers.push_back(in_child([&, i] {
      FakeClock clock;
      auto store = open_sqlite(path, clock, "maker");
      if (!store) return 1;
      return (*store)->change("set", [&](Writer& writer) { return writer.put_setting(std::to_string(i), "x"); }) ? 0
                                                                                                                 : 2;
    }));
  }
  for (const pid_t maker : makers) EXPECT_EQ(exit_code_of(maker), 0);
  FakeClock clock;
  EXPECT_EQ(must(must(open_sqlite(path, clock, "tester"))->settings()).size(), 6u);
}

TEST(TwoAtOnce, ABusyFileIsUnavailableNotLost) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  FakeClock clock;
  auto store = must(open_sqlite(path, clock, "tester", {.busy_timeout_ms = 10, .migrations = {}}));
  auto other = must(open_sqlite(path, clock, "other"));
  must(other->change("long", [&](Writer& writer) -> Result<void> {
    must(writer.put_setting("a", "b"));
    const auto refused = store->change("short", [](Writer& inner) { return inner.put_setting("a", "c"); });
    EXPECT_EQ(refused.error().code, Code::unavailable);
    EXPECT_EQ(must(store->setting("a")), std::nullopt) << "readers go on";
    return {};
  }));
  EXPECT_EQ(must(store->setting("a")), "b");
}

TEST(Versions, AnEmptyFileBecomesANewDataFile) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  std::ofstream(path).flush();
  FakeClock clock;
  EXPECT_TRUE(must(must(open_sqlite(path, clock, "tester"))->lifters()).empty());
  const auto raw = must(Connection::open(path, OpenAs::read_only, 1000));
  EXPECT_EQ(must(raw->number("PRAGMA user_version")), static_cast<std::int64_t>(migrations().size()));
  EXPECT_EQ(must(raw->number("PRAGMA application_id")), kApplicationId);
}

TEST(Versions, AnOlderFileIsBroughtUpToDate) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  auto steps = migrations();
  steps.push_back(
      "CREATE TABLE test_only (id TEXT PRIMARY KEY) STRICT;"
      "INSERT INTO test_only SELECT id FROM lifter;");
  FakeClock clock;
  {
    const auto store = must(open_sqlite(path, clock, "tester", {.busy_timeout_ms = 1000, .migrations = steps}));
    EXPECT_EQ(must(store->lifters()).size(), 1u);
    must(store->undo());
    EXPECT_EQ(must(store->lifters()).size(), 0u) << "history goes on across versions";
  }
  {
    const auto raw = must(Connection::open(path, OpenAs::read_only, 1000));
    EXPECT_EQ(must(raw->number("PRAGMA user_version")), static_cast<std::int64_t>(migrations().size()) + 1);
    EXPECT_EQ(must(raw->number("SELECT count(*) FROM test_only")), 1);
  }
  // A step that fails leaves the file as it was.
  steps.push_back("CREATE TABLE more (id TEXT) STRICT; INSERT INTO nowhere VALUES (1);");
  EXPECT_FALSE(open_sqlite(path, clock, "tester", {.busy_timeout_ms = 1000, .migrations = steps}));
  const auto raw = must(Connection::open(path, OpenAs::read_only, 1000));
  EXPECT_EQ(must(raw->number("PRAGMA user_version")), static_cast<std::int64_t>(migrations().size()) + 1);
  EXPECT_EQ(must(raw->number("SELECT count(*) FROM sqlite_master WHERE name = 'more'")), 0);
}

std::set<std::string> names_in(const std::string& path) {
  std::set<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator(std::filesystem::path(path).parent_path())) {
    names.insert(entry.path().filename().string());
  }
  return names;
}

TEST(Versions, ANewerFileIsRefusedAndLeftAsItIs) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  must(must(Connection::open(path, OpenAs::read_write, 1000))->execute("PRAGMA user_version = 7"));
  const auto before = bytes_of(path);
  const auto files = names_in(path);
  FakeClock clock;
  const auto refused = open_sqlite(path, clock, "tester");
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::newer_version);
  EXPECT_THAT(refused.error().message, HasSubstr("please update the program"));
  EXPECT_THAT(refused.error().message, HasSubstr("version 7"));
  EXPECT_EQ(bytes_of(path), before);
  EXPECT_EQ(names_in(path), files);
}

TEST(Versions, FilesOfOtherKindsAreRefusedAndLeftAsTheyAre) {
  const ScratchFolder folder;
  FakeClock clock;
  const std::string text = folder.file("log.csv");
  std::ofstream(text) << "lifter,date,exercise,load,reps\n";
  const auto text_before = bytes_of(text);
  EXPECT_EQ(open_sqlite(text, clock, "tester").error().code, Code::invalid_input);
  EXPECT_EQ(bytes_of(text), text_before);

  const std::string other = folder.file("other.db");
  must(must(Connection::open(other, OpenAs::make, 1000))->execute("CREATE TABLE theirs (a)"));
  const auto other_before = bytes_of(other);
  EXPECT_EQ(open_sqlite(other, clock, "tester").error().code, Code::invalid_input);
  must(must(Connection::open(other, OpenAs::make, 1000))->execute("PRAGMA application_id = 12345"));
  EXPECT_EQ(open_sqlite(other, clock, "tester").error().code, Code::invalid_input);
  EXPECT_EQ(bytes_of(other).size(), other_before.size());
  EXPECT_EQ(open_sqlite(folder.file(""), clock, "tester").error().code, Code::invalid_input) << "a folder";
  EXPECT_EQ(open_sqlite(folder.file("none/data"), clock, "tester").error().code, Code::unavailable);
}

TEST(Damage, IsCalledSo) {
  const ScratchFolder folder;
  FakeClock clock;
  const std::string path = folder.file("data.ullage");
  make_store(path);
  {
    const auto store = must(open_sqlite(path, clock, "tester"));
    must(store->change("import", [](Writer& writer) -> Result<void> {
      must(writer.merge_sets("ines", sample_log(*parse_date("2020-01-01"), 400), {}));
      return {};
    }));
  }
  const auto whole = bytes_of(path);
  const auto write_file = [&](const std::string& bytes) { std::ofstream(path, std::ios::binary) << bytes; };

  write_file(whole.substr(0, 50));
  EXPECT_EQ(open_sqlite(path, clock, "tester").error().code, Code::corrupt);
  write_file(whole.substr(0, 9000));
  EXPECT_EQ(open_sqlite(path, clock, "tester").error().code, Code::corrupt);

  std::string garbled = whole;
  for (std::size_t at = garbled.size() / 3; at < garbled.size() / 2; ++at) garbled[at] = static_cast<char>(at * 7);
  write_file(garbled);
  const auto store = must(open_sqlite(path, clock, "tester"));
  bool told = false;
  for (const auto& finding : must(store->doctor())) told = told || finding.grade == Finding::Grade::fault;
  EXPECT_TRUE(told);
  const auto sets = store->sets("ines");
  EXPECT_TRUE(!sets && sets.error().code == Code::corrupt);
}

class BackupTest : public testing::Test {
 protected:
  void SetUp() override {
    make_store(path_);
    store_ = must(open_sqlite(path_, clock_, "tester"));
    must(add_one(*store_, clock_.today(), 1));
  }
  const ScratchFolder folder_;
  FakeClock clock_;
  const std::string path_ = folder_.file("data.ullage");
  const std::string backup_ = folder_.file("backup of march.ullage");
  std::unique_ptr<Store> store_;
};

TEST_F(BackupTest, BringsEverythingBackAndKeepsWhatWasThere) {
  must(store_->backup(backup_));
  EXPECT_EQ(store_->backup(backup_).error().code, Code::conflict);
  EXPECT_EQ(names_in(path_).count("backup of march.ullage-wal"), 0u);
  must(add_one(*store_, clock_.today(), 2));
  const auto backup_before = bytes_of(backup_);

  // Another program may have the file open; it sees the new state from then on.
  const auto report = must(restore_sqlite(backup_, path_, clock_));
  EXPECT_EQ(must(store_->set_count("ines")), 1);
  EXPECT_EQ(bytes_of(backup_), backup_before);
  EXPECT_EQ(must(must(open_sqlite(path_, clock_, "tester"))->set_count("ines")), 1);
  EXPECT_EQ(must(must(open_sqlite(report.kept, clock_, "tester"))->set_count("ines")), 2);
  must(add_one(*store_, clock_.today(), 5));

  const auto again = must(restore_sqlite(backup_, path_, clock_));
  EXPECT_NE(again.kept, report.kept);
  const std::string fresh = folder_.file("laptop.ullage");
  EXPECT_EQ(must(restore_sqlite(backup_, fresh, clock_)).kept, "");
  EXPECT_EQ(must(must(open_sqlite(fresh, clock_, "tester"))->set_count("ines")), 1);
}

TEST_F(BackupTest, RestoreRefusesWhatIsNoGoodBackup) {
  must(store_->backup(backup_));
  const auto refused_as = [&](Code code, const std::string& bytes) {
    const std::string bad = folder_.file("bad.ullage");
    std::ofstream(bad, std::ios::binary) << bytes;
    const auto outcome = restore_sqlite(bad, path_, clock_);
    ASSERT_FALSE(outcome);
    EXPECT_EQ(outcome.error().code, code) << outcome.error().message;
    EXPECT_EQ(must(store_->set_count("ines")), 1);
  };
  const auto good = bytes_of(backup_);
  refused_as(Code::invalid_input, "");
  refused_as(Code::invalid_input, "lifter,date\n");
  refused_as(Code::corrupt, good.substr(0, good.size() - 5000));
  auto newer = good;
  newer[63] = 9;
  refused_as(Code::newer_version, newer);
  auto garbled = good;
  for (std::size_t at = 4096; at < garbled.size(); at += 97) garbled[at] = static_cast<char>(~garbled[at]);
  refused_as(Code::corrupt, garbled);
  EXPECT_EQ(restore_sqlite(folder_.file("none"), path_, clock_).error().code, Code::not_found);
  EXPECT_EQ(restore_sqlite(path_, path_, clock_).error().code, Code::invalid_input);
  const std::string theirs = folder_.file("theirs.txt");
  std::ofstream(theirs) << "not ours";
  EXPECT_EQ(restore_sqlite(backup_, theirs, clock_).error().code, Code::invalid_input);
  EXPECT_EQ(bytes_of(theirs), "not ours");
  for (const auto& name : names_in(path_)) EXPECT_EQ(name.find("before-restore"), std::string::npos) << name;
}

TEST_F(BackupTest, ADamagedDataFileIsMovedAside) {
  must(store_->backup(backup_));
  store_.reset();
  const auto damaged = bytes_of(path_).substr(0, 9000);
  std::ofstream(path_, std::ios::binary) << damaged;
  const auto report = must(restore_sqlite(backup_, path_, clock_));
  EXPECT_EQ(bytes_of(report.kept), damaged);
  EXPECT_EQ(must(must(open_sqlite(path_, clock_, "tester"))->set_count("ines")), 1);
}

class EraseTest : public BackupTest {
 protected:
  // Whether the bytes of the data file or its companions hold the text.
  bool held(const std::string& text) const {
    for (const char* companion : {"", "-wal", "-shm", "-journal"}) {
      if (bytes_of(path_ + companion).find(text) != std::string::npos) return true;
    }
    return false;
  }
  void fill() {
    const Date day = clock_.today();
    must(store_->change("take on Zephyrine Quill", [&](Writer& writer) -> Result<void> {
      Lifter lifter = sample_lifter("zq-4711", "Zephyrine Quill");
      lifter.note = "secretnoteone";
      lifter.body_mass = {{day, {54.321, Unit::kilogram}}};
      must(writer.put_lifter(lifter));
      lifter.name = "Zephyrine Hollow";
      must(writer.put_lifter(lifter));
      return {};
    }));
    must(store_->change("read zephyrine.csv", [&](Writer& writer) -> Result<void> {
      MergeOptions options;
      options.import = "importonlyhers";
      ImportRecord import;
      import.id = options.import;
      import.file_name = "private folder/log.csv";
      must(writer.put_import(import));
      auto log = sample_log(day, 40, 3);
      for (auto& set : log) set.note = "secretnotetwo";
      must(writer.merge_sets("zq-4711", log, options));
      return {};
    }));
    must(store_->change("import of the whole club", [&](Writer& writer) -> Result<void> {
      MergeOptions options;
      options.import = "importofboth";
      ImportRecord import;
      import.id = options.import;
      import.file_name = "Zephyrine Quill and Ines.csv";
      must(writer.put_import(import));
      must(writer.merge_sets("zq-4711", {sample_set(day + 90, "secretlift", 50, 5)}, options));
      must(writer.merge_sets("ines", sample_log(day + 1, 2), options));
      return {};
    }));
    must(store_->change("her things", [&](Writer& writer) -> Result<void> {
      must(writer.put_policy("zq-4711", ReservePolicy{}));
      must(writer.put_sheet({"zq-4711", day, "", R"({"for":"secretsheet"})"}));
      must(writer.put_setting("current-lifter", "zq-4711"));
      safety::HealthRecord record;
      record.holds.push_back({"h", day, "secretreason", std::nullopt, std::nullopt, ""});
      must(writer.put_health("zq-4711", record));
      must(writer.put_mapping("old", "names = 'Zephyrine Hollow'"));
      return {};
    }));
    const auto sets = must(store_->sets("zq-4711"));
    must(store_->change("edit", [&](Writer& writer) -> Result<void> {
      auto set = sets[3].set;
      set.note = "secretnotethree";
      must(writer.update_set(sets[3].id, set));
      must(writer.remove_set(sets[4].id));
      return {};
    }));
    must(store_->undo());
    must(store_->put_estimate({"zq-4711", "1", "", "x", "secretblob"}));
  }
};

TEST_F(EraseTest, LeavesNoTraceInTheBytes) {
  fill();
  const std::vector<std::string> traces{"Zephyrine Quill", "zq-4711",        "secretnoteone",  "secretnotetwo",
                                        "secretlift",      "secretsheet",    "secretreason",   "secretnotethree",
                                        "secretblob",      "importonlyhers", "private folder", "zephyrine.csv"};
  for (const auto& trace : traces) EXPECT_TRUE(held(trace)) << trace << ": the test would prove nothing";
  const auto sets_of_ines = records(must(store_->sets("ines")));

  const auto report = must(store_->erase_lifter("zq-4711"));
  for (const auto& trace : traces) EXPECT_FALSE(held(trace)) << trace;
  EXPECT_TRUE(must(store_->what_is_held("zq-4711")).empty());
  EXPECT_FALSE(report.removed.empty());
  EXPECT_THAT(report.mentions, testing::Contains(HasSubstr("mappings"))) << "a coach's text is named, not altered";
  EXPECT_TRUE(held("Zephyrine Hollow"));
  EXPECT_EQ(records(must(store_->sets("ines"))), sets_of_ines);
  EXPECT_EQ(must(store_->imports()).size(), 1u);
  EXPECT_EQ(must(store_->imports())[0].file_name, "erased");
  for (const auto& finding : must(store_->doctor())) EXPECT_NE(finding.grade, Finding::Grade::fault) << finding.text;

  // Undo without a number takes back the last change or nothing: never what stands before a change that is for good.
  const auto plain = store_->undo();
  ASSERT_FALSE(plain);
  EXPECT_EQ(plain.error().code, Code::not_allowed);
  EXPECT_THAT(plain.error().message, HasSubstr("erased a lifter"));
  EXPECT_EQ(records(must(store_->sets("ines"))), sets_of_ines);

  // What was hers cannot be taken back; the others' part of a shared import can.
  ChangeId shared = 0;
  for (const auto& change : must(store_->history(100))) {
    if (change.what == "erased a lifter") {
      EXPECT_EQ(store_->undo(change.id).error().code, Code::not_allowed);
    }
    if (change.what == "import of the whole club") shared = change.id;
  }
  ASSERT_NE(shared, 0);
  must(store_->undo(shared));
  EXPECT_EQ(must(store_->set_count("ines")), 1);
  EXPECT_EQ(store_->erase_lifter("zq-4711").error().code, Code::not_found);
}

TEST_F(EraseTest, AlsoWorksForALifterRemovedBefore) {
  fill();
  must(store_->change("remove", [](Writer& writer) { return writer.remove_lifter("zq-4711"); }));
  EXPECT_TRUE(held("secretnotetwo"));
  must(store_->erase_lifter("zq-4711"));
  for (const char* trace : {"Zephyrine Quill", "zq-4711", "secretnoteone", "secretnotetwo"})
    EXPECT_FALSE(held(trace)) << trace;
}

TEST_F(EraseTest, SaysWhenAnotherProgramKeepsOldPagesAlive) {
  fill();
  store_ = must(open_sqlite(path_, clock_, "tester", {.busy_timeout_ms = 50, .migrations = {}}));
  auto reader = must(open_sqlite(path_, clock_, "reader"));
  must(reader->snapshot([&]() -> Result<void> {
    const auto erased = store_->erase_lifter("zq-4711");
    EXPECT_EQ(erased.error().code, Code::unavailable);
    EXPECT_THAT(erased.error().message, HasSubstr("was erased"));
    return {};
  }));
  reader.reset();
  must(store_->compact());
  EXPECT_FALSE(held("secretnotetwo"));
}

}  // namespace
}  // namespace ullage::store
