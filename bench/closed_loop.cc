// The closed loop of science/closed_loop.h as a program.
//
//   closed_loop FOLDER [--lifters 50] [--weeks 52] [--history 4] [--block 4] [--first 0]
//
// Writes FOLDER/closed_loop.csv (one row a lifter and fixed plan), FOLDER/closed_loop_told.csv (chances of a miss as
// told against what happened, one row a lifter and bin), FOLDER/miss_calibration.csv (the same over all lifters) and
// FOLDER/closed_loop_run.csv (the sizes of the run). A lifter is written when the whole of their year is done; a run
// that was stopped goes on where it ended, and one with other sizes than those in the folder is refused. Progress on
// stderr. The seed is fixed, and a lifter's goes by their number: lifters may be run in any order and in pieces.
#include "science/closed_loop.h"

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <set>
#include <sstream>
#include <string>

using namespace ullage;
using namespace ullage::science;

namespace {

constexpr const char* kRowsHead =
    "lifter,flaw,plan,fixed_plateau,fixed_linear,fixed_spent,fixed_lost,fixed_minutes,fixed_sets,fixed_planned,"
    "fixed_missed,plateau,linear,spent,lost,minutes,sets,planned,missed";
constexpr const char* kToldHead = "lifter,flaw,what,from,to,sets,told,missed";
constexpr const char* kWhat[] = {"planned", "what-if set 1", "what-if set 2", "what-if set 3"};
// Bins of the chance told.
constexpr int kBins = 6;
constexpr double kEdges[kBins + 1] = {0, 0.02, 0.05, 0.10, 0.15, 0.25, 1.01};
struct Bin {
  int n = 0, missed = 0;
  double told = 0;
};
using Bins = std::array<std::array<Bin, kBins>, 4>;  // [a set of the plan, or of a what-if][bin]

std::vector<std::string> fields(const std::string& line) {
  std::vector<std::string> out;
  std::istringstream in(line);
  for (std::string field; std::getline(in, field, ',');) out.push_back(field);
  return out;
}
std::vector<std::string> lines_of(const std::string& path) {
  std::ifstream in(path);
  std::vector<std::string> out;
  for (std::string line; std::getline(in, line);) out.push_back(line);
  return out;
}
// Written beside and moved into place, so that a run that is stopped leaves whole files.
bool write_whole(const std::string& path, const std::string& text) {
  {
    std::ofstream out(path + ".part");
    out << text;
    if (!out.flush()) return false;
  }
  return std::rename((path + ".part").c_str(), path.c_str()) == 0;
}

std::string balance_text(const Balance& b) {
  char text[256];
  std::snprintf(text, sizeof text, "%.2f,%.2f,%.4f,%.4f,%.1f,%d,%d,%d", b.plateau, b.linear, b.spent, b.lost, b.minutes,
                b.sets, b.planned, b.missed);
  return text;
}

}  // namespace

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
  const std::string sizes = std::to_string(wish.weeks) + "," + std::to_string(wish.history_weeks) + "," +
                            std::to_string(wish.block_weeks) + "," + std::to_string(wish.seed);
  // What an earlier run left: whole lifters.
  std::vector<std::string> rows, told;
  std::set<int> done;
  if (const auto before = lines_of(folder + "/closed_loop_run.csv"); before.size() >= 2) {
    const auto f = fields(before[1]);
    if (f.size() != 6 || f[2] + "," + f[3] + "," + f[4] + "," + f[5] != sizes) {
      std::fprintf(stderr, "%s holds a run of other sizes (%s): choose another folder\n", folder.c_str(),
                   before[1].c_str());
      return 2;
    }
    for (const auto& [name, head, into] :
         {std::tuple{"/closed_loop.csv", kRowsHead, &rows}, std::tuple{"/closed_loop_told.csv", kToldHead, &told}}) {
      auto lines = lines_of(folder + name);
      if (lines.empty() || lines[0] != head) continue;
      into->assign(lines.begin() + 1, lines.end());
    }
    std::map<int, int> plans;
    for (const std::string& row : rows) ++plans[std::atoi(row.c_str())];
    for (const auto& [lifter, n] : plans) {
      if (n == static_cast<int>(kFixedPlans.size())) done.insert(lifter);
    }
    const auto half = [&](const std::string& line) { return done.count(std::atoi(line.c_str())) == 0; };
    std::erase_if(rows, half);
    std::erase_if(told, half);
  }
  for (int number = wish.first; number < wish.first + wish.lifters; ++number) {
    if (done.count(number) > 0) continue;
    Bins bins{};
    std::string flaw;
    for (const Pair& pair : run_lifter(wish, number)) {
      flaw = kFlaws[static_cast<std::size_t>(pair.flaw)];
      rows.push_back(std::to_string(pair.lifter) + "," + flaw + "," + kFixedPlans[static_cast<std::size_t>(pair.plan)] +
                     "," + balance_text(pair.fixed) + "," + balance_text(pair.planned));
      for (const Told& one : pair.told) {
        std::size_t b = 0;
        while (one.p_miss >= kEdges[b + 1]) ++b;
        Bin& bin = bins[static_cast<std::size_t>(one.what_if)][b];
        ++bin.n;
        bin.missed += one.missed ? 1 : 0;
        bin.told += one.p_miss;
      }
    }
    for (std::size_t what = 0; what < bins.size(); ++what) {
      for (std::size_t b = 0; b < kBins; ++b) {
        const Bin& bin = bins[what][b];
        if (bin.n == 0) continue;
        char text[160];
        std::snprintf(text, sizeof text, "%d,%s,%s,%.2f,%.2f,%d,%.4f,%d", number, flaw.c_str(), kWhat[what], kEdges[b],
                      std::min(1.0, kEdges[b + 1]), bin.n, bin.told / bin.n, bin.missed);
        told.push_back(text);
      }
    }
    done.insert(number);

    std::string rows_text = std::string(kRowsHead) + "\n", told_text = std::string(kToldHead) + "\n";
    for (const std::string& row : rows) rows_text += row + "\n";
    for (const std::string& row : told) told_text += row + "\n";
    std::map<std::string, Bin> sums;  // by everything that names a bin
    for (const std::string& row : told) {
      const auto f = fields(row);
      Bin& bin = sums[(f[1] == "none" ? "of the model," : "that break it,") + f[2] + "," + f[3] + "," + f[4]];
      bin.n += std::atoi(f[5].c_str());
      bin.told += std::atoi(f[5].c_str()) * std::atof(f[6].c_str());
      bin.missed += std::atoi(f[7].c_str());
    }
    std::string misses = "lifters,what,from,to,sets,told,missed\n";
    for (const auto& [name, bin] : sums) {
      char text[200];
      std::snprintf(text, sizeof text, "%s,%d,%.4f,%d\n", name.c_str(), bin.n, bin.told / bin.n, bin.missed);
      misses += text;
    }
    const std::string run = "lifters,first,weeks,history_weeks,block_weeks,seed\n" + std::to_string(done.size()) + "," +
                            std::to_string(*done.begin()) + "," + sizes + "\n";
    // The sizes first: rows without them would be taken for another run's.
    if (!write_whole(folder + "/closed_loop_run.csv", run) ||
        !write_whole(folder + "/closed_loop_told.csv", told_text) ||
        !write_whole(folder + "/closed_loop.csv", rows_text) ||
        !write_whole(folder + "/miss_calibration.csv", misses)) {
      std::fprintf(stderr, "%s: cannot be written\n", folder.c_str());
      return 1;
    }
    std::fprintf(stderr, "lifter %d done, %zu in all\n", number, done.size());
  }
  return 0;
}
