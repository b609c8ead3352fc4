// A roster of invented lifters with months of log each, to try everything on. Nobody in it is real.
//
// The lifters belong to the invented Lantern Quay strength club. Their sets come from the simulator
// (engine/simulation), with loads chosen from the log alone; each has a trait that the estimates should find.
// They show what the program does; they are no check of it against the outside.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/safety/records.h"
#include "engine/training/equipment.h"
#include "engine/training/lifter.h"
#include "engine/training/set_record.h"
#include "service/library/library.h"

namespace ullage::coach {

struct DemoLifter {
  Lifter lifter;
  safety::HealthRecord health;
  std::string story;            // one line
  std::vector<SetRecord> sets;  // in performed order
  // Reps really left at the end of each set, known because the lifter is made up; same order as sets. For
  // checks only: nothing that estimates or plans may read it.
  std::vector<double> true_reserve;
};

// "boathouse" (kg, with small plates), "garage" (lb), "studio" (stacks with odd steps and marks).
std::vector<Place> demo_places();

// Twelve lifters; the first is a plain case. Dates run back from `today`; the same arguments give the same
// roster. Fails with not_found when the library lacks an exercise they do. Cost: about 0.2 s.
Result<std::vector<DemoLifter>> demo_roster(const library::Library& exercises, Date today, std::uint64_t seed);

}  // namespace ullage::coach
