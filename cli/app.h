// The program as a function: reads a command line, runs the command, gives the exit code.
#pragma once

#include <string>
#include <vector>

#include "cli/environment.h"

namespace ullage::cli {

inline constexpr const char* kProgram = "ullage";
inline constexpr const char* kVersion = "0.1.0";

// arguments: without the program's name. 0 done, 1 the program failed, 2 the input was wrong, 3 not allowed.
int run(const std::vector<std::string>& arguments, const Environment& environment);

// The help of the program, or of one command or family ("lifter", "lifter add").
std::string help_text(const std::string& of);

}  // namespace ullage::cli
