// A result is not its value: it must be looked at first.
#include "engine/base/result.h"

using namespace ullage;

[[maybe_unused]] static int use(Result<int> result) {
#if MUST_NOT_COMPILE == 1
  return result;
#elif MUST_NOT_COMPILE == 2
  return result + 1;
#elif MUST_NOT_COMPILE == 3
  Result<int> failed = Code::not_found;  // a code without a message
  return failed.has_value();
#else
  return result ? *result : 0;
#endif
}
