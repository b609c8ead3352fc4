// A property that must hold for every input; the fuzzer keeps the input for which it does not.
#pragma once

#include <cstdio>
#include <cstdlib>

#define REQUIRE(what)                                                         \
  do {                                                                        \
    if (!(what)) {                                                            \
      std::fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #what); \
      std::abort();                                                           \
    }                                                                         \
  } while (false)
