// The world outside the program, handed in so that tests can stand in for it.
#pragma once

#include <atomic>
#include <istream>
#include <map>
#include <ostream>
#include <string>

#include "service/store/clock.h"

namespace ullage::cli {

struct Environment {
  std::istream* in = nullptr;
  std::ostream* out = nullptr;
  std::ostream* err = nullptr;
  store::Clock* clock = nullptr;
  bool out_is_terminal = false;
  bool err_is_terminal = false;
  std::map<std::string, std::string> variables;  // HOME, XDG_DATA_HOME, NO_COLOR, LC_ALL, LC_CTYPE, LANG, USER
  const std::atomic<bool>* stop = nullptr;       // set by Ctrl-C

  std::string variable(const std::string& name) const {
    const auto found = variables.find(name);
    return found == variables.end() ? "" : found->second;
  }
};

}  // namespace ullage::cli
