// Pooling over a roster on simulated rosters (science/pooling.h).
//
//   pooling FOLDER [ROSTERS [FIRST]]
//
// Writes FOLDER/pooling.csv, two rows for each case and roster (20 of each, from number FIRST); rosters that are there
// already are not done again, so a run that was stopped goes on.
#include "science/pooling.h"

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <set>
#include <string>

using namespace ullage::science;

int main(int argc, char** argv) {
  if (argc < 2 || argc > 4) {
    std::fprintf(stderr, "usage: pooling FOLDER [ROSTERS [FIRST]]\n");
    return 2;
  }
  const std::string path = std::string(argv[1]) + "/pooling.csv";
  const int rosters = argc > 2 ? std::atoi(argv[2]) : 20, first = argc > 3 ? std::atoi(argv[3]) : 0;
  std::set<std::string> there;
  {
    std::ifstream in(path);
    std::string line;
    while (std::getline(in, line)) {
      const std::size_t name = line.find(',');
      if (name == std::string::npos) continue;
      there.insert(line.substr(0, line.find(',', name + 1)));
    }
  }
  std::ofstream out(path, std::ios::app);
  if (there.empty()) out << pooling::kColumns << "\n" << std::flush;
  for (int roster = first; roster < first + rosters; ++roster) {
    for (const RosterCase& which : kRosterCases) {
      const std::string key = std::string(which.name) + "," + std::to_string(roster);
      if (there.count(key)) continue;
      const PooledRoster done = pool_roster(which, roster);
      for (const PoolingTally* tally : {&done.short_logs, &done.long_logs}) {
        out << key << ","
            << pooling::row_of(*tally, tally == &done.short_logs ? kShortWeeks : kLongWeeks, done.largest_move) << "\n";
      }
      if (!out.flush()) return 1;
    }
    std::fprintf(stderr, "%d of %d\n", roster + 1 - first, rosters);
  }
  return 0;
}
