// Prints the program's fit beside the full sampler's, log by log, and writes science/results/stan_comparison.csv.
//
//   stan_compare science [LOG...]      with logs named: prints only
#include "science/stan/compare.h"

#include <algorithm>
#include <chrono>
#include <cstdio>

int main(int argc, char** argv) {
  using namespace ullage::science;
  if (argc < 2) {
    std::fprintf(stderr, "usage: stan_compare SCIENCE_DIRECTORY [LOG...]\n");
    return 2;
  }
  const std::string science = argv[1];
  const std::vector<std::string> wanted(argv + 2, argv + argc);
  std::string lines =
      "log,quantity,sampler_mean,sampler_sd,engine_mean,engine_sd,off,sd_ratio,mean_bound,mean_holds,sd_holds\n";
  std::printf("off: (program - sampler) in the sampler's sds, chances as they are; * does not hold\n");
  int bounds = 0, misses = 0;
  for (const FixedLog& log : fixed_logs()) {
    if (!wanted.empty() && std::find(wanted.begin(), wanted.end(), log.name) == wanted.end()) continue;
    const auto begin = std::chrono::steady_clock::now();
    const std::vector<Compared> rows = compare(science, log);
    const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    if (rows.empty()) continue;
    std::printf("\n%s: %s (%.2f s with forecasts)\n", log.name.c_str(), log.what.c_str(), seconds);
    std::printf("  %-36s %9s %8s %9s %8s %8s %7s\n", "", "sampler", "sd", "program", "sd", "off", "ratio");
    for (const Compared& c : rows) {
      std::printf("  %-36s %9.4f %8.4f %9.4f %8.4f %7.2f%s %6.2f%s\n", c.quantity.c_str(), c.sampler, c.sampler_sd,
                  c.engine, c.engine_sd, c.off(), c.mean_holds() ? " " : "*", c.ratio(), c.sd_holds() ? " " : "*");
      bounds += (c.bounded() ? 1 : 0) + (c.sd_bound ? 1 : 0);
      misses += (c.mean_holds() ? 0 : 1) + (c.sd_holds() ? 0 : 1);
      char line[300];
      std::snprintf(line, sizeof line, "%s,%s,%.5f,%.5f,%.5f,%.5f,%.4f,%.4f,%.2f,%d,%d\n", c.log.c_str(),
                    c.quantity.c_str(), c.sampler, c.sampler_sd, c.engine, c.engine_sd, c.off(), c.ratio(),
                    c.mean_bound, c.mean_holds() ? 1 : 0, c.sd_holds() ? 1 : 0);
      lines += line;
    }
  }
  std::printf("\n%d of %d bounds do not hold\n", misses, bounds);
  if (!wanted.empty()) return 0;
  std::ofstream out(science + "/results/stan_comparison.csv");
  out << lines;
  return out.good() ? 0 : 1;
}
