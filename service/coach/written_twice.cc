#include "service/coach/written_twice.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <set>

namespace ullage::coach {
namespace {

std::uint64_t as_number(const std::string& text) { return std::hash<std::string>{}(text); }

std::uint64_t said_by(const SetRecord& s) {
  const auto call = [](const std::optional<Call>& c) { return c ? call_text(*c) : std::string(); };
  std::string text =
      fmt::format("{}|{}|{}|{}|{}|{} {}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}", s.time, s.session, s.exercise,
                  side_name(s.side), kind_name(s.kind), s.load.amount, unit_name(s.load.unit), s.reps, s.failed,
                  call(s.called), s.called_at_rep.value_or(-1), s.rest_s.value_or(-1), s.last_rep_speed.value_or(-1),
                  call(s.cue), s.planned_reps.value_or(-1), s.part.value_or(-1), s.note);
  for (const auto& [name, value] : s.extra) text += "|" + name + "=" + value;
  return as_number(text);
}
std::uint64_t together(const std::vector<std::uint64_t>& rows, std::size_t from, std::size_t to) {
  std::uint64_t out = 1469598103934665603ULL;  // FNV-1a over whole numbers
  for (std::size_t i = from; i < to; ++i) out = (out ^ rows[i]) * 1099511628211ULL;
  return out;
}
// Two exercises or more, one of them with sets that follow each other.
bool told_apart(const std::vector<std::uint64_t>& exercises, std::size_t rows) {
  bool follow = false;
  for (std::size_t i = 1; i < rows; ++i) follow = follow || exercises[i] == exercises[i - 1];
  return follow &&
         std::set<std::uint64_t>(exercises.begin(), exercises.begin() + static_cast<std::ptrdiff_t>(rows)).size() > 1;
}

}  // namespace

void WrittenTwice::look(const interchange::LoggedSet& row) {
  Session& now = under_way_[row.lifter];
  if (!now.rows.empty() && !(now.day == row.set.date)) {
    close(row.lifter, now);
    now = {};
  }
  now.day = row.set.date;
  now.rows.push_back(said_by(row.set));
  now.exercises.push_back(as_number(row.set.exercise));
  now.lines.push_back(row.line);
  now.places.push_back(row.place);
}

void WrittenTwice::close(const std::string& lifter, const Session& session) {
  const std::size_t rows = session.rows.size();
  const auto put = [&](std::size_t from, std::size_t to) {
    const Seen now{together(session.rows, from, to), session.lines[from], to - from, session.places[from]};
    auto& before = seen_[{lifter, session.day}];
    const auto same = std::find_if(before.begin(), before.end(),
                                   [&](const Seen& s) { return s.said == now.said && s.rows == now.rows; });
    if (same == before.end()) {
      before.push_back(now);
      return;
    }
    if (now.rows < 2) return;
    const std::string first = same->place.empty() ? fmt::format("line {}", same->line) : same->place;
    interchange::Fault fault;
    fault.line = now.line;
    fault.place = now.place;
    fault.problem = fmt::format("the {} sets of {} on {} stand in the file already ({}), and would be stored twice",
                                now.rows, lifter, date_text(session.day), first);
    found_.push_back(std::move(fault));
  };
  // The same session at once again, as often as it stands there.
  for (std::size_t part = 2; part <= rows / 2; ++part) {
    if (rows % part != 0 || !told_apart(session.exercises, part)) continue;
    bool repeats = true;
    for (std::size_t i = part; i < rows && repeats; ++i) repeats = session.rows[i] == session.rows[i - part];
    if (!repeats) continue;
    for (std::size_t from = 0; from < rows; from += part) put(from, from + part);
    return;
  }
  put(0, rows);
}

std::vector<interchange::Fault> WrittenTwice::found(std::size_t most) const {
  WrittenTwice whole = *this;  // with what is still under way
  for (const auto& [lifter, session] : under_way_) {
    if (!session.rows.empty()) whole.close(lifter, session);
  }
  std::vector<interchange::Fault> out = std::move(whole.found_);
  std::sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.line < b.line; });
  if (out.size() > most) out.resize(most);
  return out;
}

}  // namespace ullage::coach
