// plan and its family, template.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <set>
#include <sstream>

#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/block.h"
#include "service/coach/block_picture.h"
#include "service/coach/block_views.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

using coach::BlockDayPlan;
using coach::BlockItem;
using coach::BlockRequest;
using coach::BlockSheet;
using coach::BlockWeekPlan;

tl::unexpected<Error> wrong(const std::string& option, const std::string& value, const std::string& wanted) {
  return fail(Code::invalid_input, option + " " + value + ": expected " + wanted);
}

Result<std::string> file_text(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) return fail(Code::not_found, path + ": no such file");
  std::ostringstream all;
  all << in.rdbuf();
  return all.str();
}

std::optional<int> whole(const std::string& text) {
  const auto number = parse_number(text);
  if (!number || *number != std::floor(*number) || std::abs(*number) > 1e6) return std::nullopt;
  return static_cast<int>(*number);
}

// The request: template or file first, then what the options add or change. Faults are gathered.
Result<BlockRequest> request_of(Context& c, bool& given) {
  BlockRequest q;
  given = c.args.flag("--new");
  if (c.args.has("--template") && c.args.has("--request"))
    return fail(Code::invalid_input, "--template and --request: only one of them");
  if (c.args.has("--template")) {
    auto found = coach::block_template(c.desk(), c.args.text("--template"));
    if (!found) return found;
    q = std::move(*found);
    given = true;
  }
  if (c.args.has("--request")) {
    const auto text = file_text(c.args.text("--request"));
    if (!text) return tl::unexpected(text.error());
    auto read = coach::read_request(*text);
    if (!read) return read;
    q = std::move(*read);
    given = true;
  }
  for (const char* name : {"--weeks", "--from", "--on", "--goal", "--strength", "--must", "--fix", "--test",
                           "--lighter", "--target", "--alternate", "--price"})
    given = given || c.args.has(name);
  if (const auto weeks = c.args.whole("--weeks")) q.weeks = *weeks;
  if (const auto from = c.args.date("--from")) q.from = from;
  if (c.args.has("--on")) q.days.clear();
  for (const std::string& text : c.args.all("--on")) {
    const auto parts = split(text, ':');
    const auto day = parts.empty() ? std::nullopt : coach::parse_weekday(parts[0]);
    const auto minutes = parts.size() > 1 ? parse_number(parts[1]) : std::optional<double>(60);
    if (!day || !minutes || *minutes < 0 || *minutes > 300 || parts.size() > 3)
      return wrong("--on", text, "a day and its minutes, such as Mon:60 or Mon:60:garage");
    if (std::any_of(q.days.begin(), q.days.end(), [&](const auto& d) { return d.weekday == *day; }))
      return wrong("--on", text, "each day once");
    q.days.push_back({*day, *minutes, parts.size() > 2 ? parts[2] : ""});
  }
  std::sort(q.days.begin(), q.days.end(), [](const auto& a, const auto& b) { return a.weekday < b.weekday; });
  for (const std::string& text : c.args.all("--goal")) {
    const auto parts = split(text, '=');
    const auto muscle = parts.empty() ? std::nullopt : parse_muscle(parts[0]);
    const auto weight = parts.size() == 2 ? parse_number(parts[1]) : std::optional<double>(1);
    if (!muscle || !weight || *weight < 0 || *weight > 10)
      return wrong("--goal", text, "a muscle and a weight from 0 to 10, such as chest=2");
    q.goals[*muscle] = *weight;
  }
  for (const std::string& text : c.args.all("--strength")) q.lifts.push_back({text, 2, 0});
  for (const std::string& text : c.args.all("--must")) {
    const auto parts = split(text, ':');
    const auto days = parts.size() > 1 ? whole(parts[1]) : std::optional<int>(1);
    if (parts.empty() || !days || *days < 1 || *days > 7)
      return wrong("--must", text, "an exercise, and days a week after a colon");
    q.must.push_back({parts[0], *days, 1, 99});
  }
  for (const std::string& text : c.args.all("--fix")) {
    const auto parts = split(text, ':');
    const auto day = parts.size() > 1 ? coach::parse_weekday(parts[1]) : std::nullopt;
    BlockRequest::Fixed fixed;
    if (parts.size() > 2) fixed.sets = whole(parts[2]);
    if (parts.size() > 3) fixed.reserve = whole(parts[3]);
    if (!day || parts.size() > 4 || (parts.size() > 2 && (!fixed.sets || *fixed.sets < 1 || *fixed.sets > 10)) ||
        (parts.size() > 3 && (!fixed.reserve || *fixed.reserve < 0 || *fixed.reserve > 10)))
      return wrong("--fix", text, "exercise:day[:sets[:reserve]], such as back squat:Mon:3:2");
    fixed.exercise = parts[0];
    fixed.weekday = *day;
    q.fixed.push_back(fixed);
  }
  for (const std::string& text : c.args.all("--test")) {
    const auto parts = split(text, ':');
    const auto week = parts.size() == 2 ? whole(parts[1]) : std::nullopt;
    if (!week || *week < 1) return wrong("--test", text, "exercise:week, such as back squat:6");
    q.tests.push_back({parts[0], *week});
  }
  for (const std::string& text : c.args.all("--lighter")) {
    const auto week = whole(text);
    if (!week || *week < 1) return wrong("--lighter", text, "the number of a week");
    BlockRequest::Week lighter;
    lighter.number = *week;
    lighter.why = "lighter week, you asked for it";
    lighter.failure = false;
    q.special.push_back(lighter);
  }
  if (const auto target = c.args.date("--target"))
    q.target = BlockRequest::Target{*target, c.args.text("--target-kind", "meet")};
  if (c.args.flag("--alternate")) q.alternate = true;
  if (const auto price = c.args.number("--price")) q.price = *price;
  return q;
}

Result<void> changes_of(Context& c, coach::BlockWish& wish) {
  for (const std::string& text : c.args.all("--missed")) {
    const auto date = parse_date(text);
    if (!date) return wrong("--missed", text, "a date such as 2026-03-09");
    wish.day_changes.push_back({*date, {}, {}});
  }
  for (const std::string& text : c.args.all("--move")) {
    const auto parts = split(text, ':');
    const auto from = parts.size() == 2 ? parse_date(parts[0]) : std::nullopt;
    const auto to = parts.size() == 2 ? parse_date(parts[1]) : std::nullopt;
    if (!from || !to) return wrong("--move", text, "two dates, such as 2026-03-09:2026-03-10");
    wish.day_changes.push_back({*from, *to, {}});
  }
  for (const std::string& text : c.args.all("--cut")) {
    const auto parts = split(text, ':');
    const auto date = parts.size() == 2 ? parse_date(parts[0]) : std::nullopt;
    const auto minutes = parts.size() == 2 ? parse_number(parts[1]) : std::nullopt;
    if (!date || !minutes || *minutes < 5 || *minutes > 300)
      return wrong("--cut", text, "a date and minutes from 5 to 300, such as 2026-03-09:25");
    wish.day_changes.push_back({*date, {}, *minutes});
  }
  if (c.args.has("--travel")) {
    const auto parts = split(c.args.text("--travel"), ':');
    const auto from = parts.size() >= 3 ? parse_date(parts[0]) : std::nullopt;
    const auto until = parts.size() >= 3 ? parse_date(parts[1]) : std::nullopt;
    if (!from || !until || *until < *from)
      return wrong("--travel", c.args.text("--travel"),
                   "first day:last day:place, such as 2026-03-09:2026-03-15:hotel");
    wish.travel = BlockRequest::Travel{*from, *until, parts[2], {}};
  }
  if (const auto back = c.args.date("--back")) {
    BlockRequest::Return coming;
    coming.from = *back;
    coming.weeks = c.args.whole("--back-weeks").value_or(2);
    coming.why = c.args.text("--why");
    wish.coming_back = coming;
  }
  if (c.args.has("--ban")) {
    BlockRequest::Ban ban;
    ban.why = c.args.text("--why");
    const std::string what = c.args.text("--ban");
    if (const auto muscle = parse_muscle(what))
      ban.muscle = muscle;
    else
      ban.exercise = what;
    ban.from = c.args.date("--ban-from");
    ban.until = c.args.date("--ban-until");
    wish.ban = ban;
  }
  return {};
}

// ---- How a block is printed.

// Adds a text to a list in words.
void add(std::string& list, std::string_view between, std::string_view text) {
  if (!list.empty()) list.append(between);
  list.append(text);
}

std::string cell_text(const BlockItem& item) {
  std::string out;
  if (item.test) out = "T";
  for (const coach::BlockSets& s : item.sets)
    add(out, " ", fmt::format("{}/{}{}", s.sets, s.reserve, s.heavy ? "h" : ""));
  return out;
}
std::string reps_range(const BlockItem& item) {
  int low = 99, high = 0;
  for (const coach::BlockSets& s : item.sets) low = std::min(low, s.least_reps), high = std::max(high, s.most_reps);
  return fmt::format("{}-{}", low, high);
}
const BlockItem* find_item(const BlockDayPlan& day, const std::string& id) {
  for (const BlockItem& i : day.items) {
    if (i.exercise == id) return &i;
  }
  return nullptr;
}
std::string weeks_label(std::size_t from, std::size_t to) {
  return from == to ? fmt::format("{}", from + 1) : fmt::format("{}-{}", from + 1, to + 1);
}

// Weeks with the same days and places hang together; inside, successive weeks planned alike share a column.
void show_weeks(Terminal& term, const BlockSheet& b, bool reasons) {
  const auto shape = [](const BlockWeekPlan& w) {
    std::string key;
    for (const BlockDayPlan& d : w.days) key += fmt::format("{}{};", weekday(d.date), d.place);
    return key;
  };
  const auto content = [](const BlockWeekPlan& w) {
    std::string key(coach::week_kind_name(w.kind));
    for (const BlockDayPlan& d : w.days) {
      key += "|" + d.closed;
      for (const BlockItem& i : d.items) key += i.exercise + cell_text(i) + ";";
    }
    return key;
  };
  for (std::size_t from = 0; from < b.weeks.size();) {
    std::size_t to = from;
    while (to + 1 < b.weeks.size() && shape(b.weeks[to + 1]) == shape(b.weeks[from])) ++to;
    struct Column {
      std::size_t from, to;
    };
    std::vector<Column> columns;
    for (std::size_t w = from; w <= to; ++w) {
      if (!columns.empty() && content(b.weeks[w]) == content(b.weeks[columns.back().from]))
        columns.back().to = w;
      else
        columns.push_back({w, w});
    }
    std::size_t width = 5;
    for (std::size_t w = from; w <= to; ++w) {
      for (const BlockDayPlan& d : b.weeks[w].days) {
        for (const BlockItem& i : d.items) width = std::max(width, cell_text(i).size() + 1);
      }
    }
    const std::size_t room = 80 - 2 - 6;
    std::size_t name_width = 26;
    while (name_width > 18 && name_width + columns.size() * width > room) --name_width;
    const std::size_t at_once = std::max<std::size_t>(1, (room - name_width) / width);
    for (std::size_t first = 0; first < columns.size(); first += at_once) {
      const std::size_t last = std::min(columns.size(), first + at_once);
      const bool tell = reasons && first == 0;
      for (std::size_t d = 0; d < b.weeks[from].days.size(); ++d) {
        const BlockDayPlan& shown = b.weeks[columns[first].from].days[d];
        double most = 0;
        for (std::size_t w = from; w <= to; ++w) most = std::max(most, b.weeks[w].days[d].minutes);
        const std::string head =
            fmt::format("{}, {}, {:.0f} of {:.0f} min", weekday_name(shown.date), shown.place, most, shown.limit);
        std::string line = padded(cut(head, 2 + name_width + 5), 2 + name_width + 6);
        for (std::size_t c = first; c < last; ++c)
          line += padded("wk" + weeks_label(columns[c].from, columns[c].to), width, true);
        term.line();
        term.raw(line);
        std::vector<std::string> ids;
        for (std::size_t w = from; w <= to; ++w) {
          for (const BlockItem& i : b.weeks[w].days[d].items) {
            if (std::find(ids.begin(), ids.end(), i.exercise) == ids.end()) ids.push_back(i.exercise);
          }
        }
        if (ids.empty()) term.quiet("nothing", 2);
        for (const std::string& id : ids) {
          const BlockItem* any = nullptr;
          for (std::size_t w = from; w <= to && !any; ++w) any = find_item(b.weeks[w].days[d], id);
          std::string row = "  " + padded(cut(any->name, name_width), name_width) + padded(reps_range(*any), 6, true);
          for (std::size_t c = first; c < last; ++c) {
            const BlockDayPlan& day = b.weeks[columns[c].from].days[d];
            const BlockItem* item = find_item(day, id);
            row += padded(item ? cell_text(*item) : "-", width, true);
          }
          term.raw(row);
          if (tell && !any->why.empty()) term.quiet(any->why, 4, 0);
        }
        std::string closed;
        for (std::size_t c = first; c < last; ++c) {
          const BlockDayPlan& day = b.weeks[columns[c].from].days[d];
          if (!day.closed.empty())
            add(closed, "; ", fmt::format("week {}: {}", weeks_label(columns[c].from, columns[c].to), day.closed));
        }
        if (!closed.empty()) term.quiet(closed, 2);
      }
    }
    from = to + 1;
  }
}

// Which readings the plan was held against, and what each alone would ask for.
void show_readings(Terminal& term, const BlockSheet& b) {
  if (b.figures.sets <= 0) return;
  const auto shape = [](const planning::PlanFigures& f) {
    std::string out = fmt::format("{:.0f} sets a week, {:.1f} short of failure on average", f.sets, f.reserve);
    if (f.failure_sets > 0) out += fmt::format(", {:.1f} to failure", f.failure_sets);
    return out;
  };
  term.line(fmt::format("Planned under {}: {}.",
                        b.verdicts.size() == 1
                            ? "one reading of growth short of failure"
                            : fmt::format("{} readings of growth short of failure, counted alike", b.verdicts.size()),
                        shape(b.figures)));
  for (std::size_t r = 0; r < b.verdicts.size(); ++r) {
    const planning::Verdict& v = b.verdicts[r];
    if (r < b.rests_on.size()) term.quiet(v.reading + ": " + b.rests_on[r], 2, 2);
    if (b.verdicts.size() == 1) continue;
    if (v.same_plan) {
      term.quiet("alone it would ask for this plan too", 4, 0);
    } else {
      term.quiet(fmt::format("alone it would ask for {}: {} otherwise, strength lost {:+.0f} %, and be worth {:.1f} % "
                             "of what planning can gain more",
                             shape(v.alone), counted(v.days_different, "day"),
                             b.figures.fatigue > 0 ? 100 * (v.alone.fatigue / b.figures.fatigue - 1) : 0.0,
                             100 * v.regret_found),
                 4, 0);
    }
  }
}

// Rules that a block changed by hand breaks.
void show_faults(Terminal& term, const BlockSheet& b) {
  for (const coach::BlockFault& f : b.faults) {
    const std::string where = f.date       ? std::string(weekday_name(*f.date)) + " " + date_text(*f.date)
                              : f.week > 0 ? fmt::format("week {}", f.week)
                                           : std::string("block");
    term.line(fmt::format("Breaks a rule, {}: {}; it is {}.", where, f.rule, f.found), 0, 2);
  }
}

void show_block(Terminal& term, const std::string& name, const BlockSheet& b, bool reasons) {
  if (b.weeks.empty()) return;
  const Date first = b.weeks.front().monday, last = b.weeks.back().monday + 6;
  term.heading(fmt::format("{}: {} from {} to {}", name, counted(static_cast<std::int64_t>(b.weeks.size()), "week"),
                           day_text(first), day_text(last)));
  if (!b.request.name.empty()) term.line(b.request.name);
  term.quiet(
      b.gap < planning::kUnknownGap
          ? fmt::format("No plan can be more than {:.1f} % better (worked out in {:.0f} s).", 100 * b.gap, b.seconds)
          : fmt::format("How much better a plan could be is not known (worked out in {:.0f} s).", b.seconds));
  bool heavy = false, test = false;
  for (const BlockWeekPlan& w : b.weeks) {
    for (const BlockDayPlan& d : w.days) {
      for (const BlockItem& i : d.items) {
        test = test || i.test;
        for (const coach::BlockSets& s : i.sets) heavy = heavy || s.heavy;
      }
    }
  }
  term.quiet(std::string("3/2: three sets, each ended with 2 reps in reserve.") +
             (heavy ? " h: in the heavy half of the rep zone." : "") +
             (test ? " T: a rep-max test in its last set." : ""));
  for (const std::string& change : b.changes) term.line(change);
  for (std::size_t w = 0; w < b.weeks.size(); ++w) {
    if (!b.weeks[w].why.empty()) term.line(fmt::format("Week {}: {}", w + 1, b.weeks[w].why));
    if (!b.weeks[w].note.empty()) term.line(fmt::format("Week {}, your note: {}", w + 1, b.weeks[w].note));
  }
  show_weeks(term, b, reasons);
  // The fullest week's sets, muscle by muscle.
  std::size_t full = 0;
  for (std::size_t w = 0; w < b.weeks.size(); ++w) {
    if (b.weeks[w].effect > b.weeks[full].effect) full = w;
  }
  std::string sets;
  for (const auto& [muscle, n] : b.weeks[full].sets) add(sets, ", ", fmt::format("{} {:.1f}", muscle_name(muscle), n));
  term.line();
  term.line(fmt::format("Sets in week {}, an indirect one counted as half: {}", full + 1, sets));
  const auto beside_the_plan = [&](const std::vector<double>& effect) {
    std::string effects;
    for (std::size_t r = 0; r < effect.size() && r < b.effect.size(); ++r) {
      add(effects, ", ", fmt::format("{:+.1f} % if growth is {}", 100 * (effect[r] / b.effect[r] - 1), b.readings[r]));
    }
    return effects;
  };
  for (const planning::Corner& corner : b.corners) {
    term.line(fmt::format("The same sets {}: effect {}; strength lost {:+.0f} %.",
                          corner.name == "very easy" ? "stopped 6 short" : corner.name, beside_the_plan(corner.effect),
                          100 * (corner.fatigue / b.fatigue - 1)));
  }
  if (const auto& played = b.played; !played.effect.empty() && b.fatigue > 0) {
    term.line(
        fmt::format("Played set by set, each on what those before it left: effect {}; strength lost {:+.0f} %; "
                    "{:.1f} % of the sets end in a miss.",
                    beside_the_plan(played.effect), 100 * (played.fatigue / b.fatigue - 1), 100 * played.missed));
  }
  if (b.verdicts.size() > 1) {
    std::string text;
    double certain = 0;
    for (const planning::Verdict& v : b.verdicts) {
      add(text, ", ", fmt::format("{} {:.1f} to {:.1f} %", v.reading, 100 * v.regret_found, 100 * v.regret));
      certain = std::max(certain, v.regret_found);
    }
    term.line(
        fmt::format("Whichever reading of growth short of failure is true, this plan gives away {:.1f} to {:.1f} % of "
                    "what planning can gain ({}): the first against the best plans found, the second against the "
                    "solver's bound{}.",
                    100 * certain, 100 * b.worst_regret, text, b.tie ? "; other plans were within half the gap" : ""));
  }
  show_readings(term, b);
  for (const std::string& r : b.remarks) term.quiet(r);
  for (const std::string& caution : b.cautions) term.caution(caution);
}

void show_curve(Terminal& term, const planning::Frontier& f) {
  term.line();
  term.line("Effect against strength lost, a week, for rising prices of fatigue:");
  const std::size_t room = 80 - 18 - 15, width = std::min<std::size_t>(18, room / f.readings.size());
  std::string head = padded("effect if growth is", 18 + 15);
  for (const std::string& r : f.readings) head += padded(cut(r, width - 1), width, true);
  term.raw(head);
  head = padded("", 18) + padded("strength lost", 15, true);
  term.raw(head);
  const auto row = [&](const std::string& name, double fatigue, const std::vector<double>& effect) {
    std::string line = padded(name, 18) + padded(fmt::format("{:.0f} %", fatigue), 15, true);
    for (double e : effect) line += padded(fmt::format("{:.2f}", e), width, true);
    term.raw(line);
  };
  for (const auto& p : f.points) row(fmt::format("price {:g}", p.price), p.fatigue, p.effect);
  row("this plan", f.plan.fatigue, f.plan.effect);
  for (const auto& c : f.corners) row(c.name, c.fatigue, c.effect);
  term.quiet(
      "Effect: square roots of weekly sets, weighted; one set to failure in a week of one muscle is 1. Strength lost: "
      "what sets take off the strength of later work, summed over sets and the muscles that feel it.");
}

Result<void> write_text(const std::string& path, const std::string& text) {
  std::ofstream out(path, std::ios::binary);
  out << text;
  out.close();
  if (!out) return fail(Code::unavailable, path + " could not be written");
  return {};
}

void show_state(Context& c, const coach::KeptBlock& kept) {
  c.term.line(fmt::format("Block {}, {}{}", kept.number, kept.state, kept.said.empty() ? "" : ": " + kept.said));
}

}  // namespace

Result<void> run_plan(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (c.args.has("--plot")) {
    if (const auto format = pictures::format_of(c.args.text("--plot")); !format) return tl::unexpected(format.error());
  }
  coach::BlockWish wish;
  wish.lifter = lifter->id;
  auto request = request_of(c, wish.own_request);
  if (!request) return tl::unexpected(request.error());
  wish.request = std::move(*request);
  if (const auto fine = changes_of(c, wish); !fine) return fine;
  wish.readings = c.args.all("--reading");
  wish.place = c.args.text("--place");
  wish.seconds = c.args.number("--seconds").value_or(10);
  wish.keep = !c.args.flag("--dry-run");
  wish.progress = [&](const std::string& what, double share, std::optional<double> gap) {
    return c.progress.tell(share, what + (gap && *gap < 1 ? fmt::format(", within {:.1f} %", 100 * *gap) : ""));
  };
  const auto made = coach::plan_block(c.desk(), wish);
  c.progress.clear();
  if (!made) return tl::unexpected(made.error());
  if (made->none) {
    std::string text = made->none->irreducible ? "no plan can keep all of these rules; drop or change any one of them:"
                                               : "no plan can keep all of these rules (some may be spared):";
    for (const std::string& rule : made->none->rules) text += "\n  " + rule;
    return fail(Code::invalid_input, text);
  }
  if (c.args.has("--mps")) {
    if (const auto written = write_text(c.args.text("--mps"), coach::block_mps(*made)); !written) return written;
  }
  std::optional<planning::Frontier> curve;
  if (c.args.flag("--curve") || c.args.has("--plot")) {
    curve = coach::frontier_of(*made, [&](double share) { return c.progress.tell(share, "trade-off"); });
    c.progress.clear();
  }
  if (c.args.has("--plot")) {
    const auto written = pictures::write_picture(coach::frontier_picture(*curve, lifter->name), c.args.text("--plot"));
    if (!written) return written;
  }
  if (c.json) {
    coach::Json json = coach::to_json(made->sheet);
    json["lifter"] = lifter->name;
    json["state"] = wish.keep ? "proposed" : "not kept";
    json["resolved"] = made->resolved;
    if (curve) json["curve"] = coach::to_json(*curve);
    json["proposals"] = coach::Json::array();
    for (const coach::SteeringProposal& p : made->proposals) json["proposals"].push_back(coach::to_json(p));
    c.print(json);
    return {};
  }
  show_block(c.term, lifter->name, made->sheet, !c.args.flag("--brief"));
  show_proposals(c.term, lifter->name, made->proposals);
  if (curve) show_curve(c.term, *curve);
  c.term.line();
  if (wish.keep) c.say_change(made->change, "proposed; \"plan accept\" makes it the plan");
  return {};
}

Result<void> run_plan_show(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto all = coach::kept_blocks(c.desk(), lifter->id);
  if (!all) return tl::unexpected(all.error());
  const auto number = c.args.whole("--number");
  const coach::KeptBlock* shown = nullptr;
  for (const coach::KeptBlock& kept : *all) {
    if (number ? kept.number == *number : kept.state == "accepted" || kept.state == "proposed") {
      shown = &kept;
      break;
    }
  }
  if (!shown) return fail(Code::not_found, "no such block is kept for " + lifter->name);
  if (c.json) {
    c.print(coach::to_json(*shown));
    return {};
  }
  show_state(c, *shown);
  show_block(c.term, lifter->name, shown->sheet, !c.args.flag("--brief"));
  return {};
}

Result<void> run_plan_list(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto all = coach::kept_blocks(c.desk(), lifter->id);
  if (!all) return tl::unexpected(all.error());
  if (c.json) {
    coach::Json json = coach::Json::array();
    for (const auto& kept : *all)
      json.push_back({{"number", kept.number},
                      {"state", kept.state},
                      {"said", kept.said},
                      {"made", date_text(kept.sheet.made)},
                      {"from", kept.sheet.weeks.empty() ? "" : date_text(kept.sheet.weeks.front().monday)},
                      {"weeks", kept.sheet.weeks.size()}});
    c.print(json);
    return {};
  }
  if (all->empty()) c.term.line("no blocks are kept for " + lifter->name);
  for (const auto& kept : *all) {
    c.term.line(fmt::format("{}  {}  {} from {}, made {}{}", kept.number, padded(kept.state, 9),
                            counted(static_cast<std::int64_t>(kept.sheet.weeks.size()), "week"),
                            kept.sheet.weeks.empty() ? "-" : date_text(kept.sheet.weeks.front().monday),
                            date_text(kept.sheet.made), kept.said.empty() ? "" : ": " + kept.said));
  }
  return {};
}

Result<void> run_plan_accept(Context& c) {
  store::ChangeId change = 0;
  const auto kept = coach::accept_block(c.desk(), c.args.text("--lifter"), c.args.text("--why"), &change);
  if (!kept) return tl::unexpected(kept.error());
  if (c.json) {
    c.print({{"number", kept->number}, {"state", kept->state}, {"change", change}});
    return {};
  }
  c.say_change(change,
               fmt::format("block {} is the plan from {}", kept->number, date_text(kept->sheet.weeks.front().monday)));
  return {};
}

Result<void> run_plan_reject(Context& c) {
  store::ChangeId change = 0;
  const auto kept = coach::reject_block(c.desk(), c.args.text("--lifter"), c.args.text("--why"), &change);
  if (!kept) return tl::unexpected(kept.error());
  if (c.json) {
    c.print({{"number", kept->number}, {"state", kept->state}, {"change", change}});
    return {};
  }
  c.say_change(change, fmt::format("block {} rejected", kept->number));
  return {};
}

Result<void> run_plan_edit(Context& c) {
  coach::BlockEdit edit;
  const auto day = coach::parse_weekday(c.args.text("--day"));
  if (!day) return wrong("--day", c.args.text("--day"), "a day of the week such as Mon");
  edit.weekday = *day;
  edit.exercise = c.args.text("--exercise");
  edit.sets = c.args.whole("--sets");
  edit.reserve = c.args.whole("--reserve");
  if (c.args.flag("--remove")) edit.sets = 0;
  if (!edit.sets && !edit.reserve) return fail(Code::invalid_input, "say what changes: --sets, --reserve or --remove");
  if (c.args.has("--week")) {
    const auto range = parse_range(c.args.text("--week"));
    if (!range) return wrong("--week", c.args.text("--week"), "a week or a range such as 2-4");
    edit.from_week = static_cast<int>(range->first);
    edit.to_week = static_cast<int>(range->second);
  }
  store::ChangeId change = 0;
  const auto kept = coach::edit_block(c.desk(), c.args.text("--lifter"), edit, &change);
  if (!kept) return tl::unexpected(kept.error());
  if (c.json) {
    c.print(coach::to_json(*kept));
    return {};
  }
  c.say_change(change, fmt::format("block {} ({}) edited", kept->number, kept->state));
  show_faults(c.term, kept->sheet);
  return {};
}

Result<void> run_plan_note(Context& c) {
  store::ChangeId change = 0;
  const auto kept =
      coach::note_week(c.desk(), c.args.text("--lifter"), *c.args.whole("--week"), c.args.text("TEXT"), &change);
  if (!kept) return tl::unexpected(kept.error());
  if (c.json) {
    c.print({{"number", kept->number}, {"state", kept->state}, {"change", change}});
    return {};
  }
  c.say_change(change, fmt::format("note kept with week {} of block {}", *c.args.whole("--week"), kept->number));
  return {};
}

Result<void> run_template_list(Context& c) {
  const auto all = coach::block_templates(c.desk());
  if (!all) return tl::unexpected(all.error());
  if (c.json) {
    coach::Json json = coach::Json::array();
    for (const auto& t : *all)
      json.push_back({{"name", t.name},
                      {"title", t.request.name},
                      {"about", t.request.about},
                      {"own", t.own},
                      {"weeks", t.request.weeks},
                      {"days", t.request.days.size()}});
    c.print(json);
    return {};
  }
  for (const auto& t : *all) {
    c.term.line(padded(t.name, 24) + t.request.name + (t.own ? " (your own)" : ""));
    c.term.quiet(t.request.about, 4, 0);
  }
  return {};
}

Result<void> run_template_show(Context& c) {
  const auto found = coach::block_template(c.desk(), c.args.text("NAME"));
  if (!found) return tl::unexpected(found.error());
  if (c.json)
    c.print({{"name", c.args.text("NAME")}, {"toml", coach::request_toml(*found)}});
  else
    c.term.raw(coach::request_toml(*found));
  return {};
}

Result<void> run_template_add(Context& c) {
  const auto text = file_text(c.args.text("FILE"));
  if (!text) return tl::unexpected(text.error());
  const auto read = coach::read_request(*text);
  if (!read) {
    std::string lines;
    for (const std::string& line : split(read.error().message, '\n'))
      lines += (lines.empty() ? "" : "\n") + c.args.text("FILE") + ": " + line;
    return fail(read.error().code, lines);
  }
  const std::string name = c.args.text("--name");
  const auto change =
      c.store().change("template " + name, [&](store::Writer& w) { return w.put_template(name, *text); });
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print({{"name", name}, {"change", *change}});
  else
    c.say_change(*change, "template " + name + " kept");
  return {};
}

Result<void> run_template_remove(Context& c) {
  const std::string name = c.args.text("NAME");
  const auto there = c.store().template_text(name);
  if (!there) return tl::unexpected(there.error());
  if (!*there) return fail(Code::not_found, "no template of your own is called \"" + name + "\"");
  const auto change =
      c.store().change("template " + name + " removed", [&](store::Writer& w) { return w.remove_template(name); });
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print({{"name", name}, {"change", *change}});
  else
    c.say_change(*change, "template " + name + " removed");
  return {};
}

}  // namespace ullage::cli
