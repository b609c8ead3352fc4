// Chances of a miss as the set planner tells them, against what happens (science/miss_calibration.h).
//
//   miss_calibration FOLDER [LIFTERS [COPIES]]
//
// Writes FOLDER/miss_planned.csv: LIFTERS (200) of the model and as many that break it, each with a log of eight weeks
// and COPIES (50) of the session planned from it. `error` is the standard error of happened less told, over lifters.
// The seed is fixed.
#include "science/miss_calibration.h"

#include <cstdio>
#include <cstdlib>
#include <fstream>

using namespace ullage::science;

int main(int argc, char** argv) {
  if (argc < 2 || argc > 4) {
    std::fprintf(stderr, "usage: miss_calibration FOLDER [LIFTERS [COPIES]]\n");
    return 2;
  }
  const int lifters = argc > 2 ? std::atoi(argv[2]) : 200, copies = argc > 3 ? std::atoi(argv[3]) : 50;
  struct Sum {
    double sets = 0, told = 0, missed = 0;
    std::vector<std::pair<double, double>> by_lifter;  // sets, missed less told
    void add(const std::vector<const ToldSets*>& all) {
      double n = 0, difference = 0;
      for (const ToldSets* one : all) {
        n += one->sets;
        told += one->told;
        missed += one->missed;
        difference += one->missed - one->told;
      }
      sets += n;
      if (n > 0) by_lifter.emplace_back(n, difference);
    }
    // Of a ratio of sums.
    double error() const {
      const double ratio = (missed - told) / sets;
      double square = 0;
      for (const auto& [n, difference] : by_lifter) square += (difference - ratio * n) * (difference - ratio * n);
      const auto k = static_cast<double>(by_lifter.size());
      return k > 1 ? std::sqrt(square * k / (k - 1)) / sets : 0;
    }
  };
  std::string text = "lifters,end,set,n,sets,told,happened,error\n";
  for (const bool breaking : {false, true}) {
    std::map<std::pair<std::string, std::string>, Sum> sums;
    for (int i = 0; i < lifters; ++i) {
      const auto told = told_of_lifter(i, breaking ? 1 + i % 5 : 0, 8, copies);
      std::map<std::pair<std::string, std::string>, std::vector<const ToldSets*>> parts;
      for (const ToldSets& one : told) {
        const std::string end = one.cue ? "cue" : "fixed reps", place = std::to_string(one.place);
        for (const auto& e : {end, std::string("all")}) {
          for (const auto& p : {place, std::string("all")}) parts[{e, p}].push_back(&one);
        }
      }
      for (const auto& [name, all] : parts) sums[name].add(all);
      if (i % 20 == 19) std::fprintf(stderr, "%d of %d\n", i + 1 + (breaking ? lifters : 0), 2 * lifters);
    }
    for (const auto& [name, sum] : sums) {
      char row[200];
      std::snprintf(row, sizeof row, "%s,%s,%s,%zu,%.0f,%.4f,%.4f,%.4f\n", breaking ? "that break it" : "of the model",
                    name.first.c_str(), name.second.c_str(), sum.by_lifter.size(), sum.sets, sum.told / sum.sets,
                    sum.missed / sum.sets, sum.error());
      text += row;
    }
  }
  std::ofstream out(std::string(argv[1]) + "/miss_planned.csv");
  out << text;
  return out.flush() ? 0 : 1;
}
