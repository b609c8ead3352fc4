// What a coach writes down about lifters, places and exercises. Each call is one change that can be taken back.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/safety/rules.h"
#include "service/coach/desk.h"

namespace ullage::coach {

struct DemoReport {
  store::ChangeId change = 0;
  std::vector<std::pair<std::string, std::string>> lifters;  // name, story
  int sets = 0;
};
// The invented roster, dated back from the desk's today. conflict: the data file already holds lifters.
Result<DemoReport> make_demo(Desk& desk, std::uint64_t seed);

// Adds a lifter; the id is made from the name. conflict: the name is taken.
Result<Lifter> take_on(Desk& desk, Lifter lifter, store::ChangeId* change = nullptr);
// Replaces the lifter's profile.
Result<store::ChangeId> put_lifter(Desk& desk, const Lifter& lifter);

// Reads the health record, lets `edit` change it, writes it back: one change.
Result<store::ChangeId> change_health(Desk& desk, const Lifter& lifter, const std::string& what,
                                      const std::function<Result<void>(safety::HealthRecord&)>& edit);
// Puts the answers on record, with the holds that follow from them. Answers of one day are one intake: what is answered
// again replaces, the rest stays. Every yes leaves an open hold of its own day: one that was lifted is not used again.
Result<store::ChangeId> record_intake(Desk& desk, const Lifter& lifter, const safety::Intake& intake);
// Puts it on record under a new id, which is returned.
std::string add_hold(safety::HealthRecord& record, safety::Hold hold);
// Puts the word on record under a new id, which is returned. lifts: ids of open holds, or "all" of them. Errors as
// open_hold; nothing is changed then.
Result<std::string> add_word(safety::HealthRecord& record, safety::ClinicianWord word,
                             const std::vector<std::string>& lifts);
// `day` is the first day without the word. not_found: no word with this id.
Result<void> end_word(safety::HealthRecord& record, const std::string& id, Date day);
// The open hold with this id, or the only open one when `id` is empty. not_found, or invalid_input when several are
// open.
Result<std::string> open_hold(const safety::HealthRecord& record, const std::string& id);
// Lifts the hold `open_hold` finds. invalid_input: no ground. not_allowed: the hold came from a health question that
// only a clinician's word answers: all but pain_now.
Result<safety::Hold> lift_hold(safety::HealthRecord& record, const std::string& id, Date day, const std::string& by,
                               const std::string& ground);

// Adds exercises or changes them; toml: [[exercise]] tables. The ids written.
Result<std::vector<std::string>> put_exercises(Desk& desk, const std::string& toml, store::ChangeId* change = nullptr);
// Takes the coach's edits of an exercise back; a lift of the coach's own goes. conflict: logged sets would lose their
// exercise. not_found: no such edit.
Result<store::ChangeId> remove_exercise(Desk& desk, const std::string& id);

}  // namespace ullage::coach
