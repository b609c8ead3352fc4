// compare.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/context.h"
#include "cli/vessel.h"
#include "service/coach/compare.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

using comparing::Measure;
using comparing::WayResult;
using comparing::WaySet;

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

// "100", "225lb" or "75%".
Result<coach::LoadAsked> read_load(const std::string& text, Unit unit) {
  coach::LoadAsked asked;
  if (!text.empty() && text.back() == '%') {
    const auto percent = parse_number(std::string_view(text).substr(0, text.size() - 1));
    if (percent && *percent >= 1 && *percent <= 150) {
      asked.share = *percent / 100;
      return asked;
    }
  } else if (const auto load = parse_load(text, unit)) {
    asked.load = load;
    return asked;
  }
  return fail(Code::invalid_input,
              fmt::format("--load: \"{}\" is not a load such as 100, 225lb or 75% (of strength, 1 to 150)", text));
}

// Differences carry their sign: "+2 (1 to 4)", "-0.3 (-0.5 to -0.1)".
std::string change_text(const Measure& m, int decimals, double factor = 1) {
  const auto number = [&](double value, bool sign) {
    const std::string text = fmt::format("{:.{}f}", factor * value, decimals);
    const bool nothing = std::all_of(text.begin(), text.end(), [](char c) { return c == '-' || c == '0' || c == '.'; });
    if (nothing) return fmt::format("{:.{}f}", 0.0, decimals);
    return (sign && value > 0 ? "+" : "") + text;
  };
  return fmt::format("{} ({} to {})", number(m.interval.median, true), number(m.interval.lo80, false),
                     number(m.interval.hi80, false));
}

std::string how_text(const WaySet& s) {
  if (!s.reserve) return "until a rep fails";
  if (s.cue) return "stop when you would call " + call_text(*s.cue);
  return fmt::format("do {} reps", s.fixed_reps);
}

void show_way(Terminal& term, const coach::CompareView& view, std::size_t w, int per_cell) {
  const comparing::Comparison& c = view.comparison;
  const WayResult& way = c.ways[w];
  std::string head = fmt::format("{}, {}", capital(way.name), coach::sets_words(way.sets));
  if (!view.loads.empty()) head += " at " + load_text(view.loads[w]);
  head += fmt::format(" ({:.0f} % of strength)", 100 * view.shares[w]);
  term.heading(head);
  for (std::size_t k = 0; k < way.each.size(); ++k) {
    const WaySet& s = way.each[k];
    Vessel v;
    v.reps = static_cast<int>(std::floor(s.reps.median));
    v.capacity = s.capacity;
    const std::string number =
        s.share < 1 ? fmt::format("{} in {:.0f} %", k + 1, 100 * s.share) : std::to_string(k + 1);
    const std::string leaves = s.reserve ? "leaves " + whole_reps_text(s.true_reserve) : "to failure";
    const std::string miss = s.reserve ? "miss " + percent_text(s.p_miss) : "";
    term.raw(padded("  " + number, 11) + padded(interval_text(s.reps, 0, ""), 12) +
             padded(draw(v, term.utf8(), per_cell), 27) + padded(leaves, 15) + miss);
  }
  std::string how;
  for (std::size_t k = 0; k < way.each.size(); ++k) {
    const std::string now = how_text(way.each[k]);
    if (k > 0 && now == how_text(way.each[k - 1])) continue;
    how += (how.empty() ? "" : fmt::format("; from set {}: ", k + 1)) + now;
  }
  term.line(how, 2);
  const comparing::Outcome& o = way.outcome;
  const char* unit = view.marks ? "marks" : "kg";
  std::string brings = fmt::format("{} in all", interval_text(o.total_reps.interval, 0, "reps"));
  if (view.lifter) brings += fmt::format(", {:.0f} {} moved", o.tonnage_kg.interval.median, unit);
  term.line(brings + fmt::format(", {:.1f} hard sets, {:.1f} minutes", o.hard_sets.mean, o.minutes.mean), 2);
  std::string stimulus =
      fmt::format("stimulus, in sets to failure: {} on a plateau, {} if every rep counts",
                  interval_text(o.stimulus[0].interval, 1, ""), interval_text(o.stimulus[1].interval, 1, ""));
  for (std::size_t r = 2; r < o.stimulus.size(); ++r)
    stimulus += fmt::format(", {} by \"{}\"", interval_text(o.stimulus[r].interval, 1, ""), view.readings[r]);
  term.line(stimulus, 2);
  term.line(fmt::format("strength lost: {} at the end, {} a day later{}",
                        interval_text(coach::strength_lost(o.margin_lost_end.interval), 1, "%", 100),
                        interval_text(coach::strength_lost(o.residual_24h.interval), 1, "%", 100),
                        way.p_miss > 0 ? fmt::format("; a miss in {} of sessions", percent_text(way.p_miss)) : ""),
            2);
  if (w > 0) {
    const comparing::Outcome& d = c.against_first[w];
    std::string stimuli;
    for (const comparing::Measure& m : d.stimulus) stimuli += (stimuli.empty() ? "" : " or ") + change_text(m, 1);
    term.line(fmt::format("against {}: reps {}, stimulus {}, strength lost {} %", c.ways.front().name,
                          change_text(d.total_reps, 0), stimuli,
                          change_text({coach::strength_lost(d.margin_lost_end.interval), 0}, 1, 100)),
              2);
  }
  term.line();
}

void show_comparison(Terminal& term, const coach::CompareView& view) {
  const comparing::Comparison& c = view.comparison;
  term.heading(view.finding);
  std::string scene = (view.lifter ? view.lifter->name : std::string("An average lifter")) + ", " + view.exercise.name;
  if (view.side != Side::both) scene += fmt::format(", {}", side_name(view.side));
  scene += fmt::format("; {}, rest {}; intervals are 80 %",
                       c.by_tonnage ? std::string("equal tonnage") : std::string(comparing::basis_name(c.basis)),
                       rest_text(view.rest_s));
  term.quiet(scene);
  term.line();
  double highest = 1;
  bool part = false;
  for (const WayResult& way : c.ways) {
    for (const WaySet& s : way.each) {
      highest = std::max({highest, s.capacity.hi80, s.reps.median});
      part = part || s.share < 1;
    }
  }
  const int per_cell = reps_per_cell(highest);
  for (std::size_t w = 0; w < c.ways.size(); ++w) show_way(term, view, w, per_cell);
  term.quiet(vessel_key(term.utf8()));
  if (per_cell > 1) term.quiet(fmt::format("one cell of the drawing is {} reps", per_cell));
  if (part) term.quiet("\"5 in 40 %\": the fifth set is done in 40 % of sessions and counts for so much.");
  for (const std::string& caution : view.cautions) term.caution(caution);
}

}  // namespace

Result<void> run_compare(Context& c) {
  coach::CompareWish wish;
  if (c.args.flag("--average") == c.args.has("--lifter")) {
    return fail(Code::invalid_input, "--lifter: a lifter's name, or --average, was expected (one of them)");
  }
  Unit unit = Unit::kilogram;
  if (c.args.has("--lifter")) {
    const auto lifter = c.lifter();
    if (!lifter) return tl::unexpected(lifter.error());
    wish.lifter = lifter->id;
    unit = lifter->unit;
  }
  wish.exercise = c.args.text("--exercise");
  wish.side = parse_side(c.args.text("--side", "both")).value_or(Side::both);
  wish.strategies = c.args.all("--strategy");
  if (c.args.has("--load") && c.args.has("--reps")) {
    return fail(Code::invalid_input, "--reps: chooses the load, so not together with --load");
  }
  for (const std::string& text : c.args.all("--load")) {
    const auto asked = read_load(text, unit);
    if (!asked) return tl::unexpected(asked.error());
    wish.loads.push_back(*asked);
  }
  if (const auto reps = c.args.whole("--reps")) {
    wish.loads.emplace_back();
    wish.loads.back().reps = reps;
  }
  wish.sets = c.args.whole("--sets");
  wish.rest_s = c.args.number("--rest");
  wish.basis = *comparing::parse_basis(c.args.text("--equal", "sets"));
  wish.date = c.args.date("--date");
  wish.place = c.args.text("--place");
  if (c.args.has("--plot")) {
    if (const auto format = pictures::format_of(c.args.text("--plot")); !format) return tl::unexpected(format.error());
  }
  const auto view = coach::compare_ways(c.desk(), wish, c.share("fitting " + wish.lifter));
  if (!view) return tl::unexpected(view.error());
  c.progress.clear();
  if (c.args.has("--plot")) {
    const auto written = pictures::write_picture(coach::compare_picture(*view), c.args.text("--plot"));
    if (!written) return written;
  }
  if (c.json) {
    c.print(coach::to_json(*view));
  } else {
    show_comparison(c.term, *view);
    if (c.args.has("--plot")) c.term.quiet("drawn to " + c.args.text("--plot"));
  }
  return {};
}

}  // namespace ullage::cli
