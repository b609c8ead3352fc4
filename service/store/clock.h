// The time of day, as an interface, so that what is stored can be tested without waiting.
#pragma once

#include <string>

#include "engine/base/dates.h"

namespace ullage::store {

class Clock {
 public:
  virtual ~Clock() = default;
  // The instant in UTC, to the millisecond: "2026-03-09T17:40:05.123Z".
  virtual std::string now() = 0;
  // The calendar day here, on the wall where the program runs.
  virtual Date today() = 0;
};

// The computer's own clock and time zone. Safe to use from several threads.
class SystemClock : public Clock {
 public:
  std::string now() override;
  Date today() override;
};

}  // namespace ullage::store
