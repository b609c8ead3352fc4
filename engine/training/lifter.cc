#include "engine/training/lifter.h"

namespace ullage {

std::optional<int> age_on(const Lifter& lifter, Date day) {
  if (!lifter.born) return std::nullopt;
  const std::string born = date_text(*lifter.born);
  const std::string now = date_text(day);
  const int years = std::stoi(now.substr(0, 4)) - std::stoi(born.substr(0, 4));
  return now.substr(5) < born.substr(5) ? years - 1 : years;
}

std::optional<double> body_mass_on(const Lifter& lifter, Date day) {
  const BodyMass* best = nullptr;
  const BodyMass* earliest = nullptr;
  for (const BodyMass& m : lifter.body_mass) {
    if (!earliest || m.date < earliest->date) earliest = &m;
    if (m.date <= day && (!best || m.date >= best->date)) best = &m;
  }
  if (!best) best = earliest;
  if (!best) return std::nullopt;
  return kilograms(best->mass).value;
}

}  // namespace ullage
