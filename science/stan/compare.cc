// Prints the program's fit beside the full sampler's, log by log, and writes science/results/stan_comparison.csv, where
// tests/model/sampler_test.cc reads what holds and how far off the rest is.
//
//   stan_compare SCIENCE_DIRECTORY [--worse] [LOG...]
//
// With logs named it only prints. What was stated there before may get worse only with --worse.
#include "science/stan/compare.h"

#include <algorithm>
#include <cstdio>

int main(int argc, char** argv) {
  using namespace ullage::science;
  if (argc < 2) {
    std::fprintf(stderr, "usage: stan_compare SCIENCE_DIRECTORY [--worse] [LOG...]\n");
    return 2;
  }
  const std::string science = argv[1];
  std::vector<std::string> wanted(argv + 2, argv + argc);
  const auto flag = std::find(wanted.begin(), wanted.end(), "--worse");
  const bool may_be_worse = flag != wanted.end();
  if (may_be_worse) wanted.erase(flag);

  const auto before = stated(science);
  std::string lines =
      "log,quantity,sampler_mean,sampler_sd,engine_mean,engine_sd,off,sd_ratio,mean_bound,mean_holds,sd_holds\n";
  std::vector<std::string> worse;
  int bounds = 0, misses = 0;
  std::printf("off: (program - sampler) in the sampler's sds, chances as they are; * does not hold\n");
  for (const FixedLog& log : fixed_logs()) {
    if (!wanted.empty() && std::find(wanted.begin(), wanted.end(), log.name) == wanted.end()) continue;
    double seconds = 0;
    const std::vector<Compared> rows = compare(science, log, &seconds);
    if (rows.empty()) continue;
    std::printf("\n%s: %s (fitted in %.3f s)\n", log.name.c_str(), log.what.c_str(), seconds);
    std::printf("  %-35s %8s %7s %8s %7s %7s %6s\n", "", "sampler", "sd", "program", "sd", "off", "ratio");
    for (const Compared& c : rows) {
      std::printf("  %-35s %8.4f %7.4f %8.4f %7.4f %6.2f%s %5.2f%s\n", c.quantity.c_str(), c.sampler, c.sampler_sd,
                  c.engine, c.engine_sd, c.off(), c.mean_holds() ? " " : "*", c.ratio(), c.sd_holds() ? " " : "*");
      bounds += (c.bounded() ? 1 : 0) + (c.sd_bound ? 1 : 0);
      misses += (c.mean_holds() ? 0 : 1) + (c.sd_holds() ? 0 : 1);
      char line[300];
      std::snprintf(line, sizeof line, "%s,%s,%.5f,%.5f,%.5f,%.5f,%.4f,%.4f,%.2f,%d,%d\n", c.log.c_str(),
                    c.quantity.c_str(), c.sampler, c.sampler_sd, c.engine, c.engine_sd, c.off(), c.ratio(),
                    c.mean_bound, c.mean_holds() ? 1 : 0, c.sd_holds() ? 1 : 0);
      lines += line;
      const auto was = before.find({c.log, c.quantity});
      if (was == before.end()) continue;
      const std::string text = worse_than(was->second, c);
      if (!text.empty()) worse.push_back(text);
    }
  }
  std::printf("\n%d of %d bounds do not hold\n", misses, bounds);
  for (const std::string& text : worse) std::printf("worse than stated: %s\n", text.c_str());
  if (!wanted.empty()) return 0;
  if (!worse.empty() && !may_be_worse) {
    std::fprintf(stderr, "nothing written: say --worse when this is meant\n");
    return 1;
  }
  std::ofstream out(science + "/results/stan_comparison.csv");
  out << lines;
  return out.good() ? 0 : 1;
}
