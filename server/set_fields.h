// A set as it is sent.
#pragma once

#include "server/reading.h"

namespace ullage::server {

struct SetFields {
  SetRecord set;
  bool stop_given = false;
};
// Fields of a set that the body has, over `base`; exercise (text as sent), load and reps are needed when `whole`.
// Faults are left with `fields`.
SetFields read_set(Fields& fields, const SetRecord& base, bool whole);

}  // namespace ullage::server
