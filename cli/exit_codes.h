// The one place where error codes become exit codes.
#pragma once

#include "engine/base/result.h"

namespace ullage::cli {

// 0 done, 1 the program failed, 2 the input was wrong, 3 not allowed.
constexpr int exit_code(Code code) {
  switch (code) {
    case Code::invalid_input:
    case Code::not_found:
    case Code::conflict: return 2;
    case Code::not_allowed: return 3;
    case Code::unavailable:
    case Code::newer_version:
    case Code::corrupt:
    case Code::cancelled:
    case Code::internal: return 1;
  }
  return 1;
}

}  // namespace ullage::cli
