// Prints a few results of the engine with 12 digits. The same text must come out of every compiler and of WebAssembly.
#include <cstdio>

#include "engine/base/dates.h"
#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/base/units.h"

int main() {
  using namespace ullage;
  for (double p : {1e-12, 0.025, 0.5, 0.8, 1 - 1e-9}) std::printf("normal_quantile %g %.12g\n", p, normal_quantile(p));
  for (double z : {-1e4, -31.0, -3.0, 0.0, 2.0}) std::printf("normal_log_cdf %g %.12g\n", z, normal_log_cdf(z));
  Random random(20260309);
  for (int i = 0; i < 3; ++i) {
    const double normal = random.normal();
    const int integer = random.integer(1, 6);
    const double gamma = random.gamma(3, 2);
    std::printf("random %.12g %d %.12g\n", normal, integer, gamma);
  }
  for (const char* text : {"2024-02-29", "2023-02-29", "1969-12-31"}) {
    const auto date = parse_date(text);
    std::printf("date %s %s\n", text, date ? date_text(*date + 366).c_str() : "no such day");
  }
  std::printf("pounds %s\n", number_text(kilograms(Load{225, Unit::pound}).value).c_str());
}
