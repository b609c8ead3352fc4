#include "service/coach/records.h"

#include <algorithm>
#include <map>
#include <set>

#include "service/coach/demo.h"

namespace ullage::coach {

namespace {

// Neither lifted nor named by a clinician's word that has not ended by `day`.
bool stands(const safety::HealthRecord& record, const safety::Hold& hold, Date day) {
  if (hold.lifted) return false;
  return std::none_of(record.words.begin(), record.words.end(), [&](const safety::ClinicianWord& word) {
    return (!word.until || *word.until >= day) &&
           std::find(word.lifts_holds.begin(), word.lifts_holds.end(), hold.id) != word.lifts_holds.end();
  });
}

// Answers of the same day become one intake: of each question the answer given last.
void add_answers(safety::HealthRecord& record, const safety::Intake& intake) {
  const auto same_day = std::find_if(record.intakes.begin(), record.intakes.end(),
                                     [&](const safety::Intake& i) { return i.date == intake.date; });
  if (same_day == record.intakes.end()) {
    record.intakes.push_back(intake);
    std::sort(record.intakes.begin(), record.intakes.end(),
              [](const safety::Intake& a, const safety::Intake& b) { return a.date < b.date; });
    return;
  }
  if (same_day->recorded_by.find(intake.recorded_by) == std::string::npos)
    same_day->recorded_by += (same_day->recorded_by.empty() ? "" : ", ") + intake.recorded_by;
  for (const safety::IntakeAnswer& answer : intake.answers) {
    if (answer.answer == safety::Answer::not_asked) continue;
    std::erase_if(same_day->answers, [&](const safety::IntakeAnswer& a) { return a.question == answer.question; });
    same_day->answers.push_back(answer);
  }
  std::sort(same_day->answers.begin(), same_day->answers.end(),
            [](const safety::IntakeAnswer& a, const safety::IntakeAnswer& b) { return a.question < b.question; });
}

}  // namespace

Result<DemoReport> make_demo(Desk& desk, std::uint64_t seed) {
  const auto there = desk.store().lifters();
  if (!there) return tl::unexpected(there.error());
  if (!there->empty()) {
    return fail(Code::conflict, "the data file already holds " + std::to_string(there->size()) +
                                    (there->size() == 1 ? " lifter" : " lifters") +
                                    ": make the demo roster in a file of its own (--db FILE)");
  }
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  const auto roster = demo_roster(**library, desk.today(), seed);
  if (!roster) return tl::unexpected(roster.error());
  DemoReport report;
  const auto change = desk.store().change("demo roster", [&](store::Writer& writer) -> Result<void> {
    for (const Place& place : demo_places()) {
      if (const auto put = writer.put_place(place); !put) return put;
    }
    for (const DemoLifter& d : *roster) {
      if (const auto put = writer.put_lifter(d.lifter); !put) return put;
      if (const auto put = writer.put_health(d.lifter.id, d.health); !put) return put;
      if (const auto merged = writer.merge_sets(d.lifter.id, d.sets, {}); !merged)
        return tl::unexpected(merged.error());
      report.sets += static_cast<int>(d.sets.size());
      report.lifters.emplace_back(d.lifter.name, d.story);
    }
    return {};
  });
  if (!change) return tl::unexpected(change.error());
  report.change = *change;
  return report;
}

Result<Lifter> take_on(Desk& desk, Lifter lifter, store::ChangeId* made) {
  const auto all = desk.store().lifters();
  if (!all) return tl::unexpected(all.error());
  std::vector<std::string> taken;
  for (const Lifter& l : *all) taken.push_back(l.id);
  lifter.name = plain_name(lifter.name);
  lifter.id = make_name_id(lifter.name, taken);
  if (!lifter.since) lifter.since = desk.today();
  const auto change =
      desk.store().change("take on " + lifter.name, [&](store::Writer& w) { return w.put_lifter(lifter); });
  if (!change) return tl::unexpected(change.error());
  if (made) *made = *change;
  return lifter;
}

Result<store::ChangeId> put_lifter(Desk& desk, const Lifter& lifter) {
  Lifter plain = lifter;
  plain.name = plain_name(lifter.name);
  return desk.store().change("edit " + plain.name, [&](store::Writer& w) { return w.put_lifter(plain); });
}

Result<store::ChangeId> change_health(Desk& desk, const Lifter& lifter, const std::string& what,
                                      const std::function<Result<void>(safety::HealthRecord&)>& edit) {
  return desk.store().change(what + " of " + lifter.name, [&](store::Writer& writer) -> Result<void> {
    auto record = desk.store().health(lifter.id);
    if (!record) return tl::unexpected(record.error());
    if (const auto edited = edit(*record); !edited) return edited;
    return writer.put_health(lifter.id, *record);
  });
}

Result<store::ChangeId> record_intake(Desk& desk, const Lifter& lifter, const safety::Intake& intake) {
  return change_health(desk, lifter, "intake", [&](safety::HealthRecord& record) -> Result<void> {
    add_answers(record, intake);
    // Holds made by earlier answers stay.
    for (safety::Hold hold : safety::holds_from(intake)) {
      const std::string id = hold.id;
      bool open = false;
      for (int n = 2; !open; ++n) {
        const auto there = std::find_if(record.holds.begin(), record.holds.end(),
                                        [&](const safety::Hold& h) { return h.id == hold.id; });
        if (there == record.holds.end()) break;
        open = stands(record, *there, intake.date);
        if (!open) hold.id = id + "-" + std::to_string(n);
      }
      if (!open) record.holds.push_back(hold);
    }
    return {};
  });
}

namespace {

template <class Items>
std::string free_id(const Items& items, const std::string& stem) {
  for (int n = 1;; ++n) {
    const std::string id = stem + std::to_string(n);
    if (std::none_of(items.begin(), items.end(), [&](const auto& item) { return item.id == id; })) return id;
  }
}

}  // namespace

std::string add_hold(safety::HealthRecord& record, safety::Hold hold) {
  hold.id = free_id(record.holds, "hold-");
  record.holds.push_back(std::move(hold));
  return record.holds.back().id;
}

Result<std::string> add_word(safety::HealthRecord& record, safety::ClinicianWord word,
                             const std::vector<std::string>& lifts) {
  for (const std::string& id : lifts) {
    if (id == "all") {
      for (const safety::Hold& h : record.holds) {
        if (!h.lifted) word.lifts_holds.push_back(h.id);
      }
      continue;
    }
    const auto open = open_hold(record, id);
    if (!open) return tl::unexpected(open.error());
    word.lifts_holds.push_back(*open);
  }
  word.id = free_id(record.words, "word-");
  record.words.push_back(std::move(word));
  return record.words.back().id;
}

Result<void> end_word(safety::HealthRecord& record, const std::string& id, Date day) {
  for (safety::ClinicianWord& w : record.words) {
    if (w.id != id) continue;
    w.until = std::max(day - 1, w.date - 1);
    return {};
  }
  return fail(Code::not_found, "no word \"" + id + "\" is on record");
}

Result<std::string> open_hold(const safety::HealthRecord& record, const std::string& id) {
  std::vector<const safety::Hold*> open;
  std::string list;
  for (const safety::Hold& h : record.holds) {
    if (h.lifted) continue;
    open.push_back(&h);
    list += (list.empty() ? "" : ", ") + h.id + " (" + h.reason + ")";
  }
  if (id.empty()) {
    if (open.size() == 1) return open.front()->id;
    if (open.empty()) return fail(Code::not_found, "no open hold is on record");
    return fail(Code::invalid_input, "--id: several holds are open, name one: " + list);
  }
  for (const safety::Hold* h : open) {
    if (h->id == id) return id;
  }
  return fail(Code::not_found, "no open hold \"" + id + "\"" + (list.empty() ? "" : "; open are: " + list));
}

Result<safety::Hold> lift_hold(safety::HealthRecord& record, const std::string& id, Date day, const std::string& by,
                               const std::string& ground) {
  const std::string why = plain_name(ground);
  if (why.empty()) return fail(Code::invalid_input, "--ground: say on what ground the hold is lifted");
  const auto open = open_hold(record, id);
  if (!open) return tl::unexpected(open.error());
  for (safety::Hold& hold : record.holds) {
    if (hold.id != *open) continue;
    if (hold.question && *hold.question != safety::Question::pain_now) {
      return fail(Code::not_allowed, "the hold \"" + hold.reason +
                                         "\" is lifted by a clinician's word, not by a coach: ullage word add --lifter "
                                         "NAME --clinician NAME --lifts " +
                                         hold.id);
    }
    hold.lifted = day;
    hold.lifted_by = by + ": " + why;
    return hold;
  }
  return fail(Code::not_found, "no open hold \"" + *open + "\"");
}

Result<std::vector<std::string>> put_exercises(Desk& desk, const std::string& toml, store::ChangeId* made) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  const auto edited = (*library)->with(toml);
  if (!edited) return tl::unexpected(edited.error());
  std::vector<std::string> ids;
  std::vector<const Exercise*> changed;
  for (const Exercise& e : edited->all()) {
    const Exercise* before = (*library)->find(e.id);
    if (before && library::exercise_toml(*before) == library::exercise_toml(e)) continue;
    ids.push_back(e.id);
    changed.push_back(&e);
  }
  std::string what = "exercise";
  for (std::size_t i = 0; i < ids.size() && i < 5; ++i) what += (i ? ", " : " ") + ids[i];
  const auto change = desk.store().change(what, [&](store::Writer& writer) -> Result<void> {
    for (const Exercise* e : changed) {
      if (const auto put = writer.put_exercise_edit(e->id, library::exercise_toml(*e)); !put) return put;
    }
    return {};
  });
  if (!change) return tl::unexpected(change.error());
  if (made) *made = *change;
  desk.library_changed();
  return ids;
}

Result<store::ChangeId> remove_exercise(Desk& desk, const std::string& id) {
  const auto edit = desk.store().exercise_edit(id);
  if (!edit) return tl::unexpected(edit.error());
  if (!*edit) return fail(Code::not_found, "no edit of an exercise \"" + id + "\"; the library's own lifts stay");
  if (!library::builtin().find(id)) {
    const auto lifters = desk.store().lifters();
    if (!lifters) return tl::unexpected(lifters.error());
    for (const Lifter& lifter : *lifters) {
      store::SetFilter filter;
      filter.exercise = id;
      const auto sets = desk.store().sets(lifter.id, filter);
      if (!sets) return tl::unexpected(sets.error());
      if (!sets->empty()) {
        return fail(Code::conflict, lifter.name + " has " + std::to_string(sets->size()) + " sets of " + id +
                                        ": they would lose their exercise");
      }
    }
  }
  const auto change = desk.store().change("remove edit of exercise " + id,
                                          [&](store::Writer& writer) { return writer.remove_exercise_edit(id); });
  desk.library_changed();
  return change;
}

}  // namespace ullage::coach
