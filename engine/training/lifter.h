// A lifter as the coach took them on. Plain data; service/store keeps it.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/units.h"

namespace ullage {

enum class Sex { unknown, female, male };  // only sets the prior of strength; never printed

struct BodyMass {
  Date date;
  Load mass;
};

struct Lifter {
  std::string id;    // stable, made once
  std::string name;  // unique in the roster
  std::optional<Date> born;
  Sex sex = Sex::unknown;
  std::optional<double> training_years;  // years of regular lifting when taken on
  std::optional<Date> since;             // day taken on
  std::vector<BodyMass> body_mass;       // by date
  std::string goal;                      // in the coach's words
  Unit unit = Unit::kilogram;            // in which loads are shown
  int days_per_week = 3;
  int minutes_per_session = 60;
  std::string place;               // usual place
  std::vector<std::string> avoid;  // exercises never prescribed
  bool answers_in_halves = false;  // has ever called a reserve in halves
  std::string note;
};

// Whole years on `day`; empty when the birth date is unknown.
std::optional<int> age_on(const Lifter& lifter, Date day);
// Latest body mass on or before `day` in kg, else the earliest known, else empty.
std::optional<double> body_mass_on(const Lifter& lifter, Date day);

}  // namespace ullage
