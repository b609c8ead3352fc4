// Quantities of different kinds do not mix.
#include "engine/base/units.h"

using namespace ullage;

[[maybe_unused]] static auto use(Kilograms mass, Minutes time) {
#if MUST_NOT_COMPILE == 1
  return mass + time;
#elif MUST_NOT_COMPILE == 2
  return mass < time;
#elif MUST_NOT_COMPILE == 3
  Kilograms other = time;
  return other;
#elif MUST_NOT_COMPILE == 4
  mass = 20.0;  // a bare number has no unit
  return mass;
#elif MUST_NOT_COMPILE == 5
  return Load{20, Unit::kilogram} < Load{20, Unit::pound};  // loads are compared as kilograms
#else
  return mass < Kilograms{1} && time < Minutes{1};
#endif
}
