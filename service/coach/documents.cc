#include "service/coach/documents.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "engine/planning/session_plan.h"
#include "service/coach/block.h"
#include "service/coach/sheet_text.h"

namespace ullage::coach {
namespace {

using capacity::Interval;

constexpr int kHabitDays = 28;
constexpr int kHabitSessions = 2;  // in those days, for a weekday to be a training day

std::string with_side(const std::string& name, Side side) {
  return side == Side::both ? name : name + ", " + std::string(side_name(side)) + " side";
}

// Where the set is likely to end: at its cap, or before it on the cue.
int expected_reps(const planning::PlanSet& s) {
  if (!s.cue || s.to_failure) return s.reps;
  return std::min(s.reps, static_cast<int>(std::lround(s.reps_done.median)));
}

std::string cue_text(const planning::PlanSet& s) {
  if (s.to_failure) return "until a rep fails";
  if (!s.cue) return fmt::format("do {} reps", s.reps);
  const int likely = expected_reps(s);
  return s.cue->text + (likely < s.reps ? fmt::format(", about rep {}; at most {}", likely, s.reps)
                                        : fmt::format("; at most {}", s.reps));
}

std::string band_text(const planning::PlanItem& item) {
  const int most = static_cast<int>(std::ceil(item.band_high)) - 1;
  return item.band_low == most || item.band_high > 50 ? fmt::format("{:g}", item.band_low)
                                                      : fmt::format("{:g} to {}", item.band_low, most);
}

documents::Vessel vessel_of(const planning::PlanSet& s, int number) {
  documents::Vessel v;
  v.reps = expected_reps(s);
  v.low = s.capacity.lo80;
  v.median = s.capacity.median;
  v.high = s.capacity.hi80;
  v.label = std::to_string(number);
  return v;
}

std::string counted(std::int64_t n, const char* one) { return fmt::format("{} {}{}", n, one, n == 1 ? "" : "s"); }

// "44.5 kg x 8, 7, 7, 42 kg x 8": a load is named once for the sets that follow each other at it.
std::string loads_text(const std::vector<const planning::PlanSet*>& work, const char* times) {
  std::string text;
  for (std::size_t i = 0; i < work.size(); ++i) {
    text += i == 0 ? "" : ", ";
    if (i == 0 || !(work[i]->load == work[i - 1]->load)) text += paper_load(work[i]->load) + ' ' + times + ' ';
    text += std::to_string(work[i]->reps);
  }
  return text;
}

// "44.5 kg x 8, 7, 7; leave 2 to 4", with the sign for times.
std::string item_brief(const planning::PlanItem& item) {
  std::vector<const planning::PlanSet*> work;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind != SetKind::warmup) work.push_back(&s);
  }
  if (work.empty()) return "no work sets";
  const bool to_failure = std::any_of(work.begin(), work.end(), [](const auto* s) { return s->to_failure; });
  return loads_text(work, "\u00d7") + "; leave " + band_text(item) + (to_failure ? ", one to failure" : "");
}

// "3 sets of up to 8 at 47.5 kg, end with 2 to 4 in reserve".
std::string item_text(const planning::PlanItem& item) {
  std::vector<const planning::PlanSet*> work;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind != SetKind::warmup) work.push_back(&s);
  }
  if (work.empty()) return "no work sets";
  const auto same = [&](auto&& what) {
    return std::all_of(work.begin(), work.end(), [&](const auto* s) { return what(*s) == what(*work[0]); });
  };
  const bool one_load = same([](const planning::PlanSet& s) { return s.load; });
  const bool one_reps = same([](const planning::PlanSet& s) { return s.reps; });
  const std::string text =
      one_load && one_reps ? fmt::format("{} of up to {} at {}", counted(static_cast<std::int64_t>(work.size()), "set"),
                                         work[0]->reps, paper_load(work[0]->load))
                           : loads_text(work, "x");
  return text + ", end with " + band_text(item) + " in reserve";
}

documents::SheetExercise exercise_of(const planning::PlanItem& item, Unit unit) {
  documents::SheetExercise out;
  out.name = capital(with_side(item.name, item.side));
  out.aim = "end with " + band_text(item) + " in reserve";
  double rest = -1;
  bool same_rest = true, first = true;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind == SetKind::warmup) {
      out.warm_up += (out.warm_up.empty() ? "Warm up: " : ", ") + fmt::format("{} x {}", paper_load(s.load), s.reps);
      if (!s.per_side.empty()) out.warm_up += " (" + plates_text(s.per_side, unit) + ")";
      continue;
    }
    if (!first) {
      if (rest >= 0 && std::fabs(rest - s.rest_s) > 0.5) same_rest = false;
      rest = s.rest_s;
    }
    first = false;
  }
  int number = 0;
  for (const planning::PlanSet& s : item.sets) {
    if (s.kind == SetKind::warmup) continue;
    documents::SheetSet set;
    set.number = ++number;
    set.load = paper_load(s.load);
    set.reps = s.reps;
    set.to_failure = s.to_failure;
    set.cue = cue_text(s);
    if (!same_rest && number > 1) set.rest_before = paper_rest(s.rest_s);
    set.vessel = vessel_of(s, number);
    set.leaves = s.to_failure ? "to failure" : "leaves " + paper_reps(s.reserve);
    out.sets.push_back(std::move(set));
    const bool drawn =
        std::any_of(out.bars.begin(), out.bars.end(), [&](const auto& b) { return b.load == paper_load(s.load); });
    if (s.per_side.empty() || drawn) continue;
    documents::SheetBar bar;
    bar.load = paper_load(s.load);
    bar.words = plates_text(s.per_side, unit) + " a side";
    for (const Load& plate : s.per_side) bar.plates.push_back({kilograms(plate).value, number_text(plate.amount)});
    out.bars.push_back(std::move(bar));
  }
  out.rest = rest >= 0 && same_rest
                 ? fmt::format("Rest {} between sets; {:.0f} minutes in all.", paper_rest(rest), item.minutes)
                 : fmt::format("{:.0f} minutes in all.", item.minutes);
  if (!item.why.empty()) out.why = "Why: " + item.why;
  out.remarks = item.remarks;
  return out;
}

struct Habit {
  std::set<int> weekdays;
};
Habit habit_of(const std::vector<store::StoredSet>& sets, Date before, int days_per_week) {
  std::array<std::set<int>, 8> days;
  for (const store::StoredSet& s : sets) {
    if (s.set.date >= before || s.set.date < before - kHabitDays) continue;
    days[static_cast<std::size_t>(weekday(s.set.date))].insert(s.set.date.days);
  }
  std::vector<std::pair<std::size_t, int>> ranked;  // how often, weekday
  for (int day = 1; day <= 7; ++day) ranked.emplace_back(days[static_cast<std::size_t>(day)].size(), day);
  std::sort(ranked.begin(), ranked.end(),
            [](const auto& a, const auto& b) { return a.first != b.first ? a.first > b.first : a.second < b.second; });
  Habit habit;
  for (const auto& [count, day] : ranked) {
    if (static_cast<int>(habit.weekdays.size()) >= days_per_week) break;
    if (count >= static_cast<std::size_t>(kHabitSessions) || (count > 0 && habit.weekdays.empty()))
      habit.weekdays.insert(day);
  }
  return habit;
}

std::string id_of(const std::string& lifter, Date first, const std::string& session) {
  std::string label;
  for (const char c : session) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    label += plain ? std::string(1, c) : fmt::format("-{:02x}", static_cast<unsigned char>(c));
  }
  return lifter + "." + date_text(first) + (label.empty() ? label : '.' + label);
}

// Where the days of the accepted block were first planned, for those that moved: today's place to the first.
std::map<Date, Date> moves_of(const BlockRequest& request) {
  std::map<Date, Date> first;
  for (const BlockRequest::DayChange& change : request.day_changes) {
    const auto earlier = first.find(change.date);
    const Date origin = earlier == first.end() ? change.date : earlier->second;
    if (earlier != first.end()) first.erase(earlier);
    if (change.to && *change.to != origin) first[*change.to] = origin;
  }
  return first;
}

// What stands written ahead, and the identities that are taken by sessions that moved.
struct Written {
  std::vector<SessionWish> wishes;                     // by date
  std::map<std::pair<Date, std::string>, Date> moved;  // day and label now: day at first
  std::set<std::pair<Date, std::string>> taken;        // day at first and label, of sessions that left it
  int sheets = 0, block_days = 0;
};

Result<Written> written_ahead(Desk& desk, const Lifter& lifter, Date from, int days,
                              const std::vector<store::StoredSet>& sets) {
  Written out;
  const auto kept = desk.store().sheets(lifter.id);
  if (!kept) return tl::unexpected(kept.error());
  const auto blocks = kept_blocks(desk, lifter.id);
  if (!blocks) return tl::unexpected(blocks.error());
  std::set<Date> left;  // days that the block moved away
  for (const KeptBlock& block : *blocks) {
    if (block.state != "accepted") continue;
    for (const auto& [now, first] : moves_of(block.sheet.request)) {
      out.moved[{now, ""}] = first;
      out.taken.insert({first, ""});
    }
    for (const BlockRequest::DayChange& change : block.sheet.request.day_changes) {
      if (change.to) left.insert(change.date);
    }
    for (const auto& [now, first] : moves_of(block.sheet.request)) left.erase(now);
  }
  for (const store::Sheet& sheet : *kept) {
    const auto contents = read_sheet(sheet.json);
    if (!contents) return tl::unexpected(contents.error());
    if (contents->first) {
      out.moved[{sheet.date, sheet.session}] = *contents->first;
      out.taken.insert({*contents->first, sheet.session});
    }
    if (sheet.date < from || sheet.date >= from + days) continue;
    if (sheet.session.empty() && left.count(sheet.date) != 0) continue;
    SessionWish& one = out.wishes.emplace_back();
    one.date = sheet.date;
    one.session = sheet.session;
    ++out.sheets;
  }
  for (int day = 0; day < days; ++day) {
    const Date date = from + day;
    const bool there =
        std::any_of(out.wishes.begin(), out.wishes.end(), [&](const auto& w) { return *w.date == date; }) ||
        std::any_of(sets.begin(), sets.end(), [&](const auto& s) { return s.set.date == date; });
    if (there) continue;
    const auto planned = day_from_block(desk, lifter.id, date);
    if (!planned) return tl::unexpected(planned.error());
    if (!*planned) continue;
    out.wishes.emplace_back().date = date;
    ++out.block_days;
  }
  std::sort(out.wishes.begin(), out.wishes.end(),
            [](const auto& a, const auto& b) { return std::tie(*a.date, a.session) < std::tie(*b.date, b.session); });
  return out;
}

}  // namespace

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string paper_number(double value, int decimals) {
  const double step = std::pow(10.0, -decimals);
  const double rounded = std::round(value / step) * step;
  return fmt::format("{:.{}f}", rounded == 0 ? 0.0 : rounded, decimals);
}

std::string paper_reps(const Interval& reps) {
  const auto whole = [](double value) { return static_cast<int>(std::floor(std::max(value, 0.0))); };
  const int low = whole(reps.lo80), high = whole(reps.hi80);
  return low == high ? std::to_string(whole(reps.median)) : fmt::format("{} ({}-{})", whole(reps.median), low, high);
}

std::string paper_day(Date date) {
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::string iso = date_text(date);
  return fmt::format("{} {} {} {}", weekday_name(date), std::stoi(iso.substr(8, 2)),
                     kMonths[std::stoi(iso.substr(5, 2)) - 1], iso.substr(0, 4));
}

std::string paper_rest(double seconds) {
  const int whole = static_cast<int>(std::lround(seconds));
  return whole < 60 ? fmt::format("{} s", whole) : fmt::format("{}:{:02}", whole / 60, whole % 60);
}

std::string paper_load(const Load& load) {
  return load.unit == Unit::mark ? "mark " + number_text(load.amount)
                                 : number_text(load.amount) + " " + std::string(unit_name(load.unit));
}

std::string paper_mass(const Interval& total_kg, Unit unit, bool marks) {
  const double factor = !marks && unit == Unit::pound ? 1 / kKilogramsPerPound : 1;
  const int decimals = marks || total_kg.median * factor < 50 ? 1 : 0;
  const std::string name = marks ? "marks" : std::string(unit_name(unit));
  return fmt::format("{} {} ({}-{})", paper_number(total_kg.median * factor, decimals), name,
                     paper_number(total_kg.lo80 * factor, decimals), paper_number(total_kg.hi80 * factor, decimals));
}

documents::SessionSheetPage sheet_page(const SessionSheet& sheet) {
  documents::SessionSheetPage page;
  page.lifter = sheet.lifter.name;
  page.when = fmt::format("{}{}, {}, about {:.0f} minutes", paper_day(sheet.plan.date),
                          sheet.session.empty() ? "" : ", " + sheet.session,
                          sheet.place.name.empty() ? "a plain gym" : sheet.place.name, sheet.plan.minutes);
  if (sheet.place_assumed)
    page.notes.emplace_back("No place is described yet: a plain gym's bar and plates are assumed.");
  if (!sheet.done.empty())
    page.notes.push_back(counted(static_cast<std::int64_t>(sheet.done.size()), "set") +
                         " done already; this is the rest.");
  for (const planning::PlanItem& item : sheet.plan.items) page.exercises.push_back(exercise_of(item, sheet.place.unit));
  for (const planning::LeftOut& left : sheet.plan.left_out) {
    page.notes.push_back("Left out: " + (left.name.empty() ? left.exercise : left.name) + ": " + left.reason);
  }
  page.cautions = sheet.plan.cautions;
  return page;
}

documents::PlannedSession planned_session(const SessionSheet& sheet) {
  documents::PlannedSession out;
  out.id = id_of(sheet.lifter.id, sheet.first.value_or(sheet.plan.date), sheet.session) + "@ullage";
  out.date = sheet.plan.date;
  out.label = sheet.session;
  out.place = sheet.place_assumed ? "" : sheet.place.name;
  out.minutes = sheet.plan.minutes;
  for (const planning::PlanItem& item : sheet.plan.items) {
    documents::PlannedExercise e;
    e.name = capital(with_side(item.name, item.side));
    e.text = item_text(item);
    e.brief = item_brief(item);
    int number = 0;
    for (const planning::PlanSet& s : item.sets) {
      if (s.kind != SetKind::warmup) e.vessels.push_back(vessel_of(s, ++number));
    }
    out.exercises.push_back(std::move(e));
  }
  return out;
}

Result<Ahead> planned_sessions(Desk& desk, const AheadWish& wish, const Share& progress) {
  Ahead out;
  auto lifter = desk.lifter(wish.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  out.lifter = *lifter;
  const Date from = wish.from.value_or(desk.today());
  if (from < desk.today()) {
    return fail(Code::invalid_input,
                "--from " + date_text(from) + ": sessions lie ahead of today (" + date_text(desk.today()) + ")");
  }
  const auto sets = desk.store().sets(lifter->id);
  if (!sets) return tl::unexpected(sets.error());
  const auto gate = desk.strict_gate(*lifter, from, session_days(*sets));
  if (!gate) return tl::unexpected(gate.error());
  if (!gate->allowed()) return fail(Code::not_allowed, lifter->name + " is on hold: " + gate->held_text());

  auto written = written_ahead(desk, *lifter, from, wish.days, *sets);
  if (!written) return tl::unexpected(written.error());
  std::vector<SessionWish>& wishes = written->wishes;
  if (!wishes.empty()) {
    std::string what;
    if (written->sheets > 0) what = counted(written->sheets, "session") + " written so far";
    if (written->block_days > 0)
      what += (what.empty() ? "" : " and ") + counted(written->block_days, "day") + " of the accepted plan";
    out.notes.push_back(what + ", with loads and reps from the log up to " + paper_day(desk.today()) + ".");
  } else {
    const auto rotation = session_rotation(*sets, desk.today() + 1);
    if (rotation.empty())
      return fail(
          Code::invalid_input,
          lifter->name + " has no sets in the log yet: write a session with its exercises first (session --exercise)");
    const Habit habit = habit_of(*sets, desk.today() + 1, lifter->days_per_week);
    std::size_t turn = 0;
    for (int day = 0; day < wish.days; ++day) {
      const Date date = from + day;
      if (habit.weekdays.count(weekday(date)) == 0) continue;
      const bool done_today =
          std::any_of(sets->begin(), sets->end(), [&](const auto& s) { return s.set.date == date; });
      if (done_today) continue;
      SessionWish& one = wishes.emplace_back();
      one.date = date;
      one.exercises = rotation[turn++ % rotation.size()].exercises;
    }
    out.notes.push_back(
        "No sessions are written ahead: these repeat the last four weeks' sessions in turn, on the usual days, with "
        "loads and reps "
        "from the log up to " +
        paper_day(desk.today()) + ".");
  }
  std::size_t done = 0;
  for (SessionWish& one : wishes) {
    one.lifter = lifter->id;
    one.keep = false;
    auto sheet = write_session(desk, one, done == 0 ? progress : Share{});
    ++done;
    if (!sheet) {
      if (sheet.error().code == Code::cancelled) return tl::unexpected(sheet.error());
      if (sheet.error().code == Code::not_allowed && wishes.size() == 1) return tl::unexpected(sheet.error());
      out.notes.push_back(paper_day(*one.date) + ": " + sheet.error().message);
      continue;
    }
    if (sheet->plan.items.empty()) {
      out.notes.push_back(paper_day(*one.date) + ": " +
                          (sheet->why_empty.empty() ? "nothing is left to do" : sheet->why_empty));
      continue;
    }
    const std::pair<Date, std::string> place{*one.date, one.session};
    if (const auto moved = written->moved.find(place); moved != written->moved.end()) sheet->first = moved->second;
    documents::PlannedSession& session = out.sessions.emplace_back(planned_session(*sheet));
    if (!sheet->first && written->taken.count(place) != 0)
      session.id = id_of(lifter->id, *one.date, one.session) + ".again@ullage";
    out.sheets.push_back(std::move(*sheet));
  }
  return out;
}

}  // namespace ullage::coach
