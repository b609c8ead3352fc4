// How often a lighter week is proposed on simulated lifters (science/steering.h).
//
//   steering FOLDER [LIFTERS]
//
// Writes FOLDER/lighter_week.csv: one row a fall of strength, with how many of the lifters were proposed one. 100
// lifters by default; the seed is fixed.
#include "science/steering.h"

#include <cstdio>
#include <cstdlib>
#include <fstream>

using namespace ullage::science;

int main(int argc, char** argv) {
  if (argc < 2 || argc > 3) {
    std::fprintf(stderr, "usage: steering FOLDER [LIFTERS]\n");
    return 2;
  }
  const int lifters = argc > 2 ? std::atoi(argv[2]) : 100;
  std::string text = "fall,lifters,proposed,under_mean,planned,told,missed\n";
  for (const double fall : kFalls) {
    int proposed = 0, planned = 0, missed = 0;
    double under = 0, told = 0;
    for (int number = 0; number < lifters; ++number) {
      const Steered one = steer_lifter(number, fall);
      proposed += one.proposed ? 1 : 0;
      under += one.form.against.median / lifters;
      planned += one.form.planned;
      missed += one.form.missed;
      told += one.form.told;
      if (one.proposed && number < 3) std::fprintf(stderr, "%s\n", one.proposed->why.c_str());
    }
    char row[200];
    std::snprintf(row, sizeof row, "%.2f,%d,%d,%.4f,%d,%.1f,%d\n", fall, lifters, proposed, under, planned, told,
                  missed);
    text += row;
    std::fprintf(stderr, "%s", row);
  }
  std::ofstream out(std::string(argv[1]) + "/lighter_week.csv");
  out << text;
  return out.flush() ? 0 : 1;
}
