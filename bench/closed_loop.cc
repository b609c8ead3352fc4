// The closed loop of science/closed_loop.h as a program.
//
//   closed_loop FOLDER [--lifters 50] [--weeks 52] [--history 4] [--block 4] [--first 0]
//
// Writes FOLDER/closed_loop.csv (one row a lifter and fixed plan), FOLDER/miss_calibration.csv (chances of a miss as
// told, against what happened) and FOLDER/closed_loop_run.csv (the sizes of the run). Progress on stderr. The seed is
// fixed.
#include "science/closed_loop.h"

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <string>

using namespace ullage;
using namespace ullage::science;

int main(int argc, char** argv) {
  if (argc < 2 || argc % 2 != 0) {
    std::fprintf(stderr, "usage: closed_loop FOLDER [--lifters N] [--weeks N] [--history N] [--block N] [--first N]\n");
    return 2;
  }
  LoopWish wish;
  for (int i = 2; i + 1 < argc; i += 2) {
    const std::string name = argv[i];
    const int value = std::atoi(argv[i + 1]);
    if (name == "--lifters" && value > 0) {
      wish.lifters = value;
    } else if (name == "--weeks" && value > 0) {
      wish.weeks = value;
    } else if (name == "--history" && value > 0) {
      wish.history_weeks = value;
    } else if (name == "--block" && value > 0) {
      wish.block_weeks = value;
    } else if (name == "--first" && value >= 0) {
      wish.first = value;
    } else {
      std::fprintf(stderr, "%s %s: not an option of closed_loop\n", name.c_str(), argv[i + 1]);
      return 2;
    }
  }
  const std::string folder = argv[1];
  std::ofstream rows(folder + "/closed_loop.csv");
  rows << "lifter,flaw,plan,fixed_plateau,fixed_linear,fixed_spent,fixed_lost,fixed_minutes,fixed_sets,fixed_planned,"
          "fixed_missed,plateau,linear,spent,lost,minutes,sets,planned,missed\n";
  const auto balance = [](const Balance& b) {
    char text[256];
    std::snprintf(text, sizeof text, "%.2f,%.2f,%.4f,%.4f,%.1f,%d,%d,%d", b.plateau, b.linear, b.spent, b.lost,
                  b.minutes, b.sets, b.planned, b.missed);
    return std::string(text);
  };
  // Bins of the chance told, apart for lifters of the model and those that break it.
  constexpr double kEdges[] = {0, 0.02, 0.05, 0.10, 0.15, 0.25, 1.01};
  struct Bin {
    int n = 0, missed = 0;
    double told = 0;
  };
  Bin bins[2][4][6];  // [lifters][a set of the plan, or of a what-if][bin]
  for (int number = wish.first; number < wish.first + wish.lifters; ++number) {
    for (const Pair& pair : run_lifter(wish, number)) {
      rows << pair.lifter << ',' << kFlaws[static_cast<std::size_t>(pair.flaw)] << ','
           << kFixedPlans[static_cast<std::size_t>(pair.plan)] << ',' << balance(pair.fixed) << ','
           << balance(pair.planned) << '\n';
      for (const Told& told : pair.told) {
        int b = 0;
        while (told.p_miss >= kEdges[b + 1]) ++b;
        Bin& bin = bins[pair.flaw == 0 ? 0 : 1][told.what_if][b];
        ++bin.n;
        bin.missed += told.missed ? 1 : 0;
        bin.told += told.p_miss;
      }
    }
    rows.flush();
    // Both small files anew after each lifter, so that a run that is stopped leaves a whole result.
    std::ofstream misses(folder + "/miss_calibration.csv"), run(folder + "/closed_loop_run.csv");
    misses << "lifters,what,from,to,sets,told,missed\n";
    constexpr const char* kWhat[] = {"planned", "what-if set 1", "what-if set 2", "what-if set 3"};
    for (int kind = 0; kind < 2; ++kind) {
      for (int what = 0; what < 4; ++what) {
        for (int b = 0; b < 6; ++b) {
          char text[160];
          const Bin& bin = bins[kind][what][b];
          std::snprintf(text, sizeof text, "%s,%s,%.2f,%.2f,%d,%.4f,%d\n", kind == 0 ? "of the model" : "that break it",
                        kWhat[what], kEdges[b], std::min(1.0, kEdges[b + 1]), bin.n, bin.n ? bin.told / bin.n : 0,
                        bin.missed);
          misses << text;
        }
      }
    }
    run << "lifters,first,weeks,history_weeks,block_weeks,seed\n"
        << number - wish.first + 1 << ',' << wish.first << ',' << wish.weeks << ',' << wish.history_weeks << ','
        << wish.block_weeks << ',' << wish.seed << '\n';
    if (!rows || !misses || !run) {
      std::fprintf(stderr, "%s: cannot be written\n", folder.c_str());
      return 1;
    }
    std::fprintf(stderr, "lifter %d of %d\n", number - wish.first + 1, wish.lifters);
  }
  return 0;
}
