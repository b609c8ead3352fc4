// How well plans keep their rank under the whole capacity model (science/rescoring.h).
//
//   rescoring FOLDER [LIFTERS [PLANS]]
//
// Writes FOLDER/rescoring.csv: rank correlations for LIFTERS (30) simulated lifters over PLANS (200) random weeks each.
// The seed is fixed.
#include "science/rescoring.h"

#include <cstdio>
#include <cstdlib>
#include <fstream>

using namespace ullage::science;

int main(int argc, char** argv) {
  if (argc < 2 || argc > 4) {
    std::fprintf(stderr, "usage: rescoring FOLDER [LIFTERS [PLANS]]\n");
    return 2;
  }
  const int lifters = argc > 2 ? std::atoi(argv[2]) : 30, plans = argc > 3 ? std::atoi(argv[3]) : 200;
  std::string text = "lifter,plans,all,equal_sets,fatigue\n";
  for (int i = 0; i < lifters; ++i) {
    const Rescored one = rescore_lifter(i, plans);
    char row[120];
    std::snprintf(row, sizeof row, "%d,%d,%.3f,%.3f,%.3f\n", i, plans, one.all, one.equal_sets, one.fatigue);
    text += row;
    std::fprintf(stderr, "%s", row);
  }
  std::ofstream out(std::string(argv[1]) + "/rescoring.csv");
  out << text;
  return out.flush() ? 0 : 1;
}
