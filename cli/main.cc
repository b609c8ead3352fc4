#include <unistd.h>

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <exception>
#include <iostream>

#include "cli/app.h"
#include "service/store/clock.h"

namespace {

std::atomic<bool> stop = false;

// The first Ctrl-C asks the work to stop at the next safe point; a second one ends the program at once, which is safe
// too: what was not finished is not in the file.
void on_interrupt(int) {
  if (stop.exchange(true)) std::_Exit(1);
}

}  // namespace

int main(int count, char** values) {
  std::signal(SIGINT, on_interrupt);
  std::signal(SIGTERM, on_interrupt);
  std::ios::sync_with_stdio(false);
  ullage::store::SystemClock clock;
  ullage::cli::Environment environment;
  environment.in = &std::cin;
  environment.out = &std::cout;
  environment.err = &std::cerr;
  environment.clock = &clock;
  environment.out_is_terminal = isatty(STDOUT_FILENO) != 0;
  environment.err_is_terminal = isatty(STDERR_FILENO) != 0;
  environment.stop = &stop;
  for (const char* name : {"HOME", "XDG_DATA_HOME", "NO_COLOR", "LC_ALL", "LC_CTYPE", "LANG", "USER"}) {
    if (const char* value = std::getenv(name)) environment.variables[name] = value;
  }
  try {
    return ullage::cli::run({values + 1, values + count}, environment);
  } catch (const std::exception& problem) {
    std::cerr << "ullage: a fault in the program: " << problem.what() << '\n';
    return 1;
  }
}
