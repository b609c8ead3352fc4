// Folders, stores and invented records for tests.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <memory>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "service/store/sqlite_store.h"
#include "service/store/testing/fake_clock.h"

namespace ullage::store {

// An empty folder that is removed with what is in it.
class ScratchFolder {
 public:
  ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "ullage-store-XXXXXX").string();
    if (!mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
    path_ = name;
  }
  ~ScratchFolder() {
    std::error_code error;
    std::filesystem::remove_all(path_, error);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
  std::string file(const std::string& name) const { return (std::filesystem::path(path_) / name).string(); }

 private:
  std::string path_;
};

inline std::string bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream bytes;
  bytes << file.rdbuf();
  return bytes.str();
}

// The value, or a failed test and an exception that ends it.
template <class T>
T must(Result<T> result) {
  if (!result) {
    ADD_FAILURE() << result.error().message;
    throw std::runtime_error(result.error().message);
  }
  return *std::move(result);
}
inline void must(Result<void> result) {
  if (!result) {
    ADD_FAILURE() << result.error().message;
    throw std::runtime_error(result.error().message);
  }
}

inline Lifter sample_lifter(const std::string& id, const std::string& name) {
  Lifter lifter;
  lifter.id = id;
  lifter.name = name;
  return lifter;
}

inline SetRecord sample_set(Date date, const std::string& exercise, double load, int reps) {
  SetRecord set;
  set.date = date;
  set.exercise = exercise;
  set.load = {load, Unit::kilogram};
  set.reps = reps;
  return set;
}

// A set with every field filled, with numbers that are hard to write down.
inline SetRecord full_set(Date date) {
  SetRecord set = sample_set(date, "one-arm-row", 0.1 + 0.2, 11);
  set.time = "18:40+02:00";
  set.session = "evening";
  set.side = Side::left;
  set.load.unit = Unit::pound;
  set.failed = true;
  set.called = Call{2.5, true};
  set.called_at_rep = 9;
  set.rest_s = 102.05828325;
  set.last_rep_speed = 1e-300;
  set.kind = SetKind::test;
  set.stop = Stop::cue;
  set.planned_reps = 12;
  set.cue = Call{1, false};
  set.pain = true;
  set.note = "tight, \"fine\"\nafter a break \xc3\xa9\xe2\x82\xac";
  set.place = "boathouse";
  set.joined = "A";
  set.part_of = "drop 1";
  set.part = 2;
  set.body_mass = Load{181.4, Unit::pound};
  set.tempo = "3-1-1";
  set.partial_reps = 3;
  set.extra_kind = ExtraKind::chain;
  set.extra = {{"mood", "good"}, {"mood", "really"}, {"weather, sky", "\xe2\x98\x80"}};
  return set;
}

// `sessions` days of a lifter's log, 20 sets each.
inline std::vector<SetRecord> sample_log(Date first, int sessions, unsigned seed = 1) {
  static const char* const kExercises[] = {"squat", "bench-press", "row", "curl", "one-arm-row"};
  std::mt19937 random(seed);
  std::vector<SetRecord> log;
  for (int day = 0; day < sessions; ++day) {
    for (int i = 0; i < 20; ++i) {
      SetRecord set = sample_set(first + 2 * day, kExercises[i / 4], 40 + 2.5 * static_cast<double>(random() % 40),
                                 static_cast<int>(random() % 12));
      if (random() % 3 == 0) set.called = Call{static_cast<double>(random() % 9) / 2, false};
      if (random() % 2 == 0) set.rest_s = 60 + static_cast<double>(random() % 240);
      if (i / 4 == 4) set.side = i % 2 ? Side::right : Side::left;
      log.push_back(std::move(set));
    }
  }
  return log;
}

inline std::vector<SetRecord> records(const std::vector<StoredSet>& stored) {
  std::vector<SetRecord> sets;
  for (const auto& each : stored) sets.push_back(each.set);
  return sets;
}

}  // namespace ullage::store
