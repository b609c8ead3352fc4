#include "service/coach/pains.h"

#include <algorithm>
#include <utility>

namespace ullage::coach {

void add_pain(safety::HealthRecord& record, safety::Pain pain) {
  const auto taken = [&](const std::string& id) {
    return std::any_of(record.pains.begin(), record.pains.end(), [&](const safety::Pain& p) { return p.id == id; });
  };
  pain.id.clear();
  for (int n = 1; pain.id.empty(); ++n) {
    const std::string id = "pain-" + std::to_string(n);
    if (!taken(id)) pain.id = id;
  }
  record.pains.push_back(std::move(pain));
}

bool open_pain(safety::HealthRecord& record, const std::string& exercise, Date since, const std::string& note) {
  for (safety::Pain& p : record.pains) {
    if (p.cleared || (p.exercise != exercise && !p.exercise.empty())) continue;
    if (p.since > since) p.since = since;  // it is out from the earlier day on
    return false;
  }
  safety::Pain pain;
  pain.since = since;
  pain.exercise = exercise;
  pain.note = note;
  add_pain(record, std::move(pain));
  return true;
}

bool open_pain_of_row(safety::HealthRecord& record, const std::string& exercise, Date day, const std::string& note) {
  for (const safety::Pain& p : record.pains) {
    if (p.exercise != exercise && !p.exercise.empty()) continue;
    if (!p.cleared || p.since >= day || *p.cleared > day) return false;
  }
  return open_pain(record, exercise, day, note);
}

std::vector<std::string> related_cautions(const safety::HealthRecord& record, const library::Library& library,
                                          const std::vector<Exercise>& planned, Date day) {
  const auto open_on = [&](const safety::Pain& p) {
    return !p.exercise.empty() && p.since <= day && (!p.cleared || *p.cleared > day);
  };
  std::vector<std::string> out;
  for (const safety::Pain& pain : record.pains) {
    const Exercise* hurts = open_on(pain) ? library.find(pain.exercise) : nullptr;
    if (!hurts) continue;
    for (const Exercise& e : planned) {
      const bool is_out = std::any_of(record.pains.begin(), record.pains.end(),
                                      [&](const safety::Pain& p) { return open_on(p) && p.exercise == e.id; });
      if (is_out || overlap(*hurts, e) < kCloselyRelated) continue;
      std::string text = "Pain on " + hurts->name + " since " + date_text(pain.since) + ": " + e.name +
                         " works the same muscles; leave it out if it hurts too.";
      if (std::find(out.begin(), out.end(), text) == out.end()) out.push_back(std::move(text));
    }
  }
  return out;
}

}  // namespace ullage::coach
