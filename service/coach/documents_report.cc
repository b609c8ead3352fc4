// The lifter's report, in words for the lifter.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/drawing/plot.h"
#include "engine/drawing/svg.h"
#include "service/coach/documents.h"

namespace ullage::coach {
namespace {

using capacity::Interval;
using drawing::Picture;
using drawing::Plot;
using drawing::Role;
using drawing::Scale;

constexpr int kLookBack = 28;  // days of done against planned
constexpr std::size_t kLifts = 4;

int whole_reps(double reps) { return static_cast<int>(std::floor(std::max(reps, 0.0))); }
std::string counted(std::int64_t n, const char* one) { return fmt::format("{} {}{}", n, one, n == 1 ? "" : "s"); }

// For a place 104 mm wide.
documents::Drawing drawing_of(const Picture& picture, const std::string& id) {
  drawing::SvgOptions options;
  options.theme = drawing::Theme::print;
  options.ground = false;
  options.in_a_page = true;
  options.id = id;
  std::string svg = drawing::svg_text(picture, options);
  // The fonts of the page, so that what was measured is what is drawn.
  constexpr std::string_view kFamily = "font-family=\"";
  for (std::size_t at = svg.find(kFamily); at != std::string::npos; at = svg.find(kFamily, at + 1)) {
    const std::size_t begin = at + kFamily.size(), end = svg.find('"', begin);
    const bool serif = svg.compare(begin, 5, "Inter") != 0;
    svg.replace(begin, end - begin, serif ? "Liberation Serif, serif" : "Liberation Sans, sans-serif");
  }
  constexpr double kWide = 104;
  return {std::move(svg), picture.title() + ". " + picture.description(), kWide,
          kWide * picture.height() / picture.width()};
}

documents::Finding judgement(const EstimateView& view) {
  documents::Finding out;
  const capacity::Posterior& p = view.posterior;
  const auto at_one = std::find_if(p.at_called.begin(), p.at_called.end(), [](const auto& c) { return c.called == 1; });
  if (p.at_called.empty()) {
    out.heading = "How well you judge what is left is not known yet";
    out.paragraphs.emplace_back(
        "After a set, say how many more reps you could have done: a number for every set, also when it is a guess.");
    return out;
  }
  const auto& shown = at_one == p.at_called.end() ? p.at_called.front() : *at_one;
  const int has = whole_reps(shown.true_reserve.median);
  out.heading = fmt::format("You say {:g} and have about {}", shown.called, has);
  const bool assumed = p.learned_judgement < kMostlyAssumedBelow;
  // In the direction that is said, so that the interval lies around the number before it.
  const double bias = p.bias_reps.median, way = bias < 0 ? -1 : 1;
  const std::string by = fmt::format("{} ({} to {})", paper_number(way * bias, 1),
                                     paper_number(way > 0 ? p.bias_reps.lo80 : -p.bias_reps.hi80, 1),
                                     paper_number(way > 0 ? p.bias_reps.hi80 : -p.bias_reps.lo80, 1));
  const char* more = way > 0 ? "more" : "fewer";
  if (std::fabs(bias) < 0.5) {
    out.paragraphs.push_back(
        fmt::format("Your calls are close: on average you have {} reps {} left than you call.", by, more));
  } else {
    out.paragraphs.push_back(fmt::format(
        "You have {} left than you call, by {} reps on average. Your stop cues allow for it: they are written in your "
        "own calls.",
        more, by));
  }
  if (assumed)
    out.paragraphs.emplace_back(
        "Most of this is assumed from people in general so far: the more calls you make, the more it becomes yours.");
  Picture picture(drawing::kColumn, "What you say and what you have",
                  "For each called reserve the true one, with its 80 % interval.");
  std::vector<double> values{0};
  for (const auto& c : p.at_called) values.push_back(std::max(c.true_reserve.hi80, 0.0));
  Plot plot(picture, {52, 36, 270, 166}, Scale::linear(-0.4, p.at_called.back().called + 0.4), Scale::around(values));
  plot.grid_y(4);
  std::vector<double> line_x, line_y;
  for (const auto& c : p.at_called) {
    line_x.push_back(c.called);
    line_y.push_back(c.called);
  }
  plot.line(line_x, line_y, {Role::quiet, 1, {3, 3}, 1});
  for (const auto& c : p.at_called) {
    plot.whisker_y(c.called, std::max(c.true_reserve.lo80, 0.0), std::max(c.true_reserve.hi80, 0.0),
                   {Role::doubt, 5, {}, 1});
    plot.point(c.called, std::max(c.true_reserve.median, 0.0), drawing::Mark::dot, 4, Role::median);
  }
  plot.label_end(line_x.back(), line_y.back(), "if calls were exact", Role::quiet);
  plot.axis_y("reps you have", 4);
  plot.axis_x("reps you say");
  picture.end_at(166 + 46);
  out.figure = drawing_of(picture, "judgement");
  return out;
}

documents::Finding strength(const EstimateView& view, const LiftEstimate& lift, std::size_t number) {
  documents::Finding out;
  const capacity::LiftSummary& s = lift.summary;
  const Interval& trend = s.trend_pct_per_week;
  std::string way = "no clear trend";
  if (trend.lo80 > 0) way = fmt::format("up {:.1f} % a week", trend.median);
  if (trend.hi80 < 0) way = fmt::format("down {:.1f} % a week", -trend.median);
  out.heading =
      fmt::format("{}{}: strength {}, {}", capital(lift.name),
                  s.side == Side::both ? "" : ", " + std::string(side_name(s.side)) + " side",
                  paper_mass(lift.strength, view.lifter.unit, s.marks), lift.assumed ? "mostly assumed so far" : way);
  out.paragraphs.push_back(
      fmt::format("Strength is the load you could lift once today, all counted. At 80 % of it you have {} reps; a "
                  "second set straight on has {:.1f} fewer, a "
                  "fourth {:.1f}. This rests on {}, the last on {}.",
                  paper_reps(lift.reps_at_80), s.fatigability.median, s.fatigability_set4.median,
                  counted(s.sets_used, "set"), paper_day(s.last)));
  if (s.history.size() >= 2)
    out.figure = drawing_of(strength_picture(lift, view.lifter.unit), "strength" + std::to_string(number));
  return out;
}

documents::Finding done_against_planned(const std::vector<store::StoredSet>& sets, Date today,
                                        const library::Library& library) {
  struct Count {
    int sets = 0, planned = 0, reached = 0, cue = 0, failed = 0;
  };
  std::map<std::string, Count> by;
  Count all;
  std::map<int, bool> days;
  for (const store::StoredSet& s : sets) {
    if (s.set.date > today || s.set.date <= today - kLookBack || s.set.kind == SetKind::warmup) continue;
    days[s.set.date.days] = true;
    Count& one = by[s.set.exercise];
    for (Count* count : {&one, &all}) {
      ++count->sets;
      if (s.set.failed) ++count->failed;
      if (!s.set.planned_reps) continue;
      ++count->planned;
      if (s.set.reps >= *s.set.planned_reps) {
        ++count->reached;
      } else if (!s.set.failed && s.set.stop != Stop::failed) {
        ++count->cue;
      }
    }
  }
  documents::Finding out;
  const std::string period =
      fmt::format("in the last four weeks: {}, {}", counted(static_cast<std::int64_t>(days.size()), "session"),
                  counted(all.sets, "set"));
  if (all.sets == 0) {
    out.heading = "Nothing was logged in the last four weeks";
    return out;
  }
  if (all.planned == 0) {
    out.heading = "Done " + period;
    out.paragraphs.emplace_back(
        "None of these sets had a plan written beside it, so done and planned cannot be set against each other.");
  } else {
    out.heading = fmt::format("{} of {} planned sets reached their reps", all.reached, all.planned);
    out.paragraphs.push_back("Done " + period + ".");
    std::string words = fmt::format("{} stopped before the planned reps, as the cue asks when it comes first; ",
                                    counted(all.cue, "set"));
    words += all.failed == 0 ? "no rep was tried and missed."
                             : fmt::format("in {} a rep was tried and missed.", counted(all.failed, "set"));
    out.paragraphs.push_back(words);
  }
  out.columns = {"exercise", "sets done", "with a plan", "reached it", "stopped before", "missed a rep"};
  for (const auto& [id, count] : by) {
    const Exercise* exercise = library.find(id);
    out.rows.push_back({capital(exercise ? exercise->name : id), std::to_string(count.sets),
                        std::to_string(count.planned), std::to_string(count.reached), std::to_string(count.cue),
                        std::to_string(count.failed)});
  }
  return out;
}

// The heaviest work set of the exercise on the last day it was done.
std::string last_time(const std::vector<store::StoredSet>& sets, const planning::PlanItem& item, Date before) {
  const SetRecord* best = nullptr;
  for (const store::StoredSet& s : sets) {
    if (s.set.exercise != item.exercise || s.set.side != item.side || s.set.kind == SetKind::warmup ||
        s.set.date >= before)
      continue;
    if (best == nullptr || s.set.date > best->date ||
        (s.set.date == best->date && s.set.load.amount > best->load.amount))
      best = &s.set;
  }
  if (best == nullptr) return "not done before";
  return fmt::format("{} x {} on {}", paper_load(best->load), best->reps, paper_day(best->date));
}

documents::Finding next_session(Desk& desk, const Lifter& lifter, const std::vector<store::StoredSet>& sets) {
  documents::Finding out;
  SessionWish wish;
  wish.lifter = lifter.id;
  wish.keep = false;
  const auto sheet = write_session(desk, wish);
  if (!sheet) {
    const bool held = sheet.error().code == Code::not_allowed;
    out.heading = held ? "Nothing is prescribed at present" : "The next session could not be written";
    out.paragraphs.push_back(capital(sheet.error().message) + ".");
    return out;
  }
  if (sheet->plan.items.empty()) {
    out.heading = "Nothing is left to do today";
    if (!sheet->why_empty.empty()) out.paragraphs.push_back(capital(sheet->why_empty) + ".");
    return out;
  }
  out.heading = "What comes next, and why";
  const documents::PlannedSession planned = planned_session(*sheet);
  out.columns = {"exercise", "last time", "next", "why"};
  for (std::size_t i = 0; i < sheet->plan.items.size(); ++i) {
    out.rows.push_back({planned.exercises[i].name, last_time(sets, sheet->plan.items[i], sheet->plan.date),
                        planned.exercises[i].text, sheet->plan.items[i].why});
  }
  for (const planning::LeftOut& left : sheet->plan.left_out) {
    out.paragraphs.push_back("Left out: " + (left.name.empty() ? left.exercise : left.name) + ": " + left.reason + ".");
  }
  return out;
}

}  // namespace

Result<documents::FindingsPage> lifter_report(Desk& desk, const std::string& who, const Share& progress) {
  const auto view = estimate(desk, who, progress);
  if (!view) return tl::unexpected(view.error());
  const auto sets = desk.store().sets(view->lifter.id);
  if (!sets) return tl::unexpected(sets.error());
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  documents::FindingsPage page;
  page.lifter = view->lifter.name;
  page.when = "Report of " + paper_day(view->as_of);
  if (view->lifts.empty()) {
    page.notes.emplace_back("There are no sets in the log yet, so there is nothing to report.");
    return page;
  }
  page.findings.push_back(judgement(*view));
  for (std::size_t i = 0; i < view->lifts.size() && i < kLifts; ++i)
    page.findings.push_back(strength(*view, view->lifts[i], i + 1));
  page.findings.push_back(done_against_planned(*sets, desk.today(), **library));
  page.findings.push_back(next_session(desk, view->lifter, *sets));
  page.notes.emplace_back(
      "The numbers in brackets are intervals that hold with 80 %: in one case of five the truth lies outside. Reserve "
      "is how many more reps "
      "you could have done.");
  page.notes.emplace_back(
      "This is no medical advice. New or sharp pain: stop the exercise and tell your coach. Chest pain, fainting, "
      "sudden severe headache, "
      "breathlessness that does not pass, dark urine with muscle swelling: stop and seek help at once.");
  return page;
}

}  // namespace ullage::coach
