// A clock that stands still until it is moved by hand.
#pragma once

#include <cstdio>
#include <string>

#include "service/store/clock.h"

namespace ullage::store {

class FakeClock : public Clock {
 public:
  explicit FakeClock(Date today = *parse_date("2026-03-09")) : date_(today) {}

  std::string now() override {
    char text[64];
    std::snprintf(text, sizeof text, "T%02d:%02d:%02d.%03d", milliseconds_ / 3600000, milliseconds_ / 60000 % 60,
                  milliseconds_ / 1000 % 60, milliseconds_ % 1000);
    return date_text(date_) + text + "Z";
  }
  Date today() override { return date_; }

  void set(Date date, int milliseconds = 0) {
    date_ = date;
    milliseconds_ = milliseconds;
  }
  void move_milliseconds(int milliseconds) {
    milliseconds_ += milliseconds;
    date_ = date_ + milliseconds_ / 86400000;
    milliseconds_ %= 86400000;
  }

 private:
  Date date_;
  int milliseconds_ = 12 * 3600000;
};

}  // namespace ullage::store
