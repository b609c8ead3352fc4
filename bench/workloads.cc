// Small named workloads whose instruction counts are watched (bench/budgets.csv).
//
//   workloads NAME    prepares and runs one of them; only ullage_measured() is counted
//   workloads         lists the names
#include <cstdio>
#include <cstring>
#include <functional>

#include "engine/base/normal.h"

using namespace ullage;

namespace {

// Keeps a result from being optimised away.
volatile double sink;

struct Workload {
  const char* name;
  // Prepares, uncounted, and gives the work to be counted.
  std::function<std::function<void()>()> prepare;
};

const Workload kWorkloads[] = {
    {"normal_quantile_1e5",
     [] {
       return [] {
         double sum = 0;
         for (int i = 1; i <= 100000; ++i) sum += normal_quantile(i / 100001.0);
         sink = sum;
       };
     }},
};

}  // namespace

// Named for callgrind's --toggle-collect.
extern "C" __attribute__((noinline)) void ullage_measured(const std::function<void()>& work);
extern "C" void ullage_measured(const std::function<void()>& work) { work(); }

int main(int count, char** arguments) {
  for (const Workload& workload : kWorkloads) {
    if (count < 2) {
      std::puts(workload.name);
    } else if (std::strcmp(arguments[1], workload.name) == 0) {
      ullage_measured(workload.prepare());
      return 0;
    }
  }
  if (count < 2) return 0;
  std::fprintf(stderr, "no workload is named %s\n", arguments[1]);
  return 2;
}
