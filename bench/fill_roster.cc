// Fills a data file with simulated lifters, to measure the page on a roster of the size it is meant for.
//
//   fill_roster FILE [LIFTERS [LONG [SEED]]]      5000 lifters, 50 of them with 5 years of log, the others 12 weeks
//
// Logs come from the simulator (engine/simulation). Only a few are made and fitted; every lifter has one of them, with
// its estimate, under another name: fitting thousands takes hours, and what is measured here is not the fit.
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "bench/scenes.h"
#include "engine/capacity/fit.h"
#include "service/coach/estimates.h"
#include "service/store/clock.h"

namespace ullage::bench {
namespace {

constexpr int kShortLogs = 4, kLongLogs = 2;

struct Model {
  std::vector<SetRecord> sets;
  capacity::Posterior posterior;
};

[[noreturn]] void end(const Error& error) {
  std::fprintf(stderr, "%s\n", error.message.c_str());
  std::exit(1);
}

SimulatedLog log_of(const library::Library& library, int weeks, std::uint64_t seed, Date last) {
  Training training;
  for (const char* id : {"bench-press", "back-squat", "deadlift", "lat-pulldown", "overhead-press", "leg-press"}) {
    if (const Exercise* e = library.find(id)) training.exercises.push_back(*e);
  }
  const int half = static_cast<int>(training.exercises.size()) / 2;
  training.sessions = {{}, {}};
  for (int i = 0; i < static_cast<int>(training.exercises.size()); ++i) training.sessions[i >= half].push_back(i);
  training.weekdays = {1, 3, 5};
  training.weeks = weeks;
  SimulatedLog log = simulate(training, seed);
  const int shift = last - log.sets.back().date;
  for (SetRecord& set : log.sets) set.date = set.date + shift;
  return log;
}

std::string name_of(int number) {
  constexpr const char* kFirst[] = {"Ada",   "Bruno", "Chiara", "Dag",   "Elif",  "Fenna", "Goran",
                                    "Hilde", "Ilya",  "Jonna",  "Kofi",  "Lene",  "Mirko", "Nadia",
                                    "Odin",  "Pia",   "Rafi",   "Signe", "Tariq", "Una"};
  constexpr const char* kLast[] = {"Abara", "Brekke", "Castell", "Dorn",  "Ekberg",
                                   "Falk",  "Grau",   "Holm",    "Ivers", "Jansa"};
  return std::string(kFirst[number % 20]) + " " + kLast[number / 20 % 10] + " " + std::to_string(number + 1);
}

int fill(const std::string& file, int lifters, int long_ones, std::uint64_t seed) {
  store::SystemClock clock;
  auto desk = coach::Desk::open(file, clock, "fill_roster");
  if (!desk) end(desk.error());
  const auto there = (*desk)->store().lifters();
  if (!there) end(there.error());
  if (!there->empty()) end({Code::conflict, file + " holds lifters already"});
  const auto library = (*desk)->library();
  if (!library) end(library.error());
  const Date today = (*desk)->today();

  std::vector<Model> models;
  for (int i = 0; i < kShortLogs + kLongLogs; ++i) {
    const bool is_long = i >= kShortLogs;
    SimulatedLog log = log_of(**library, is_long ? 260 : 12, seed + static_cast<std::uint64_t>(i), today - 1 - i);
    std::fprintf(stderr, "fitting a log of %zu sets\n", log.sets.size());
    const auto find = [&](const std::string& id) { return (*library)->find(id); };
    auto fitted = capacity::fit(capacity::prepare(log.lifter, log.sets, find, log.sets.back().date), {});
    if (!fitted) end(fitted.error());
    models.push_back({std::move(log.sets), std::move(*fitted)});
  }
  std::int64_t sets = 0;
  constexpr int kPiece = 100;
  for (int first = 0; first < lifters; first += kPiece) {
    const int last = std::min(first + kPiece, lifters);
    const auto model_of = [&](int i) -> const Model& {
      return i < long_ones ? models[static_cast<std::size_t>(kShortLogs + i % kLongLogs)]
                           : models[static_cast<std::size_t>(i % kShortLogs)];
    };
    const auto id_of = [](int i) { return "lifter-" + std::to_string(i + 1); };
    const auto change = (*desk)->store().change("filled", [&](store::Writer& writer) -> Result<void> {
      for (int i = first; i < last; ++i) {
        Lifter lifter;
        lifter.id = id_of(i);
        lifter.name = name_of(i);
        lifter.born = *make_date(1990, 1 + i % 12, 1 + i % 28);
        lifter.training_years = 2;
        lifter.body_mass = {{model_of(i).sets.front().date, {80, Unit::kilogram}}};
        if (const auto put = writer.put_lifter(lifter); !put) return put;
        if (const auto merged = writer.merge_sets(lifter.id, model_of(i).sets, {}); !merged)
          return tl::unexpected(merged.error());
        sets += static_cast<std::int64_t>(model_of(i).sets.size());
        safety::HealthRecord health;
        safety::Intake intake{today - 30, "fill_roster", {}};
        for (int q = 0; q < safety::kQuestionCount; ++q)
          intake.answers.push_back({static_cast<safety::Question>(q), safety::Answer::no, ""});
        health.intakes.push_back(std::move(intake));
        if (i % 97 == 0) health.holds.push_back({"hold-1", today - 3, "waits for a clinician's word", {}, {}, ""});
        if (i % 41 == 0) health.pains.push_back({"pain-1", today - 5, "back-squat", "", {}, ""});
        if (const auto put = writer.put_health(lifter.id, health); !put) return put;
      }
      return {};
    });
    if (!change) end(change.error());
    for (int i = first; i < last; ++i) {
      if (const auto kept = coach::keep_estimate(**desk, id_of(i), model_of(i).posterior); !kept) end(kept.error());
    }
    std::fprintf(stderr, "\r%d of %d lifters, %lld sets", last, lifters, static_cast<long long>(sets));
  }
  std::fprintf(stderr, "\n");
  return 0;
}

}  // namespace
}  // namespace ullage::bench

int main(int count, char** values) {
  if (count < 2) {
    std::fprintf(stderr, "fill_roster FILE [LIFTERS [LONG [SEED]]]\n");
    return 2;
  }
  const auto number = [&](int at, int otherwise) { return count > at ? std::atoi(values[at]) : otherwise; };
  return ullage::bench::fill(values[1], number(2, 5000), number(3, 50), static_cast<std::uint64_t>(number(4, 1)));
}
