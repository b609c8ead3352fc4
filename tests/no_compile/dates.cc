// A day and a number of days are different things.
#include "engine/base/dates.h"

using namespace ullage;

[[maybe_unused]] static auto use(Date day, int days) {
#if MUST_NOT_COMPILE == 1
  return day + day;
#elif MUST_NOT_COMPILE == 2
  return day * days;
#elif MUST_NOT_COMPILE == 3
  int number = day;
  return number;
#elif MUST_NOT_COMPILE == 4
  return day < days;
#else
  return (day + days) - day;
#endif
}
