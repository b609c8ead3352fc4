// The data as a workbook that import reads back.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <memory>

#include "service/coach/block.h"
#include "service/coach/documents.h"
#include "service/coach/views.h"
#include "service/documents/workbook_file.h"
#include "service/interchange/log_columns.h"
#include "service/interchange/write_log.h"

namespace ullage::coach {
namespace {

using documents::CellValue;
using interchange::LogColumn;

std::vector<CellValue> row_of(std::size_t columns) { return std::vector<CellValue>(columns); }

// A number when a spreadsheet keeps it exactly (15 figures), else as text.
CellValue number(double value) {
  char figures[40];
  std::snprintf(figures, sizeof figures, "%.15g", value);
  if (std::strtod(figures, nullptr) == value) return value;
  return number_text(value);
}

CellValue text(const std::string& value) { return value.empty() ? CellValue() : CellValue(value); }

// A day, typed where that says exactly the same.
CellValue moment(const SetRecord& s) {
  if (s.time.empty()) return s.date;
  const auto figure = [&](std::size_t i) { return s.time[i] >= '0' && s.time[i] <= '9' ? s.time[i] - '0' : -100; };
  const bool minutes = s.time.size() == 5, seconds = s.time.size() == 8;
  if (minutes || (seconds && s.time[5] == ':')) {
    int all = (figure(0) * 10 + figure(1)) * 3600 + (figure(3) * 10 + figure(4)) * 60;
    if (seconds) all += figure(6) * 10 + figure(7);
    const bool plain_seconds = seconds && all % 60 != 0;
    if (s.time[2] == ':' && all > 0 && all < 86400 && (minutes || plain_seconds))
      return documents::DayAndTime{s.date, all, seconds};
  }
  return date_text(s.date) + "T" + s.time;
}

CellValue call(const std::optional<Call>& c) {
  if (!c) return {};
  if (c->open) return call_text(*c);
  return c->reserve;
}

void fill(std::vector<CellValue>& row, const std::string& lifter, const SetRecord& s,
          const std::vector<std::string>& extra) {
  const auto at = [&](LogColumn column) -> CellValue& { return row[static_cast<std::size_t>(column)]; };
  const auto whole = [](const std::optional<int>& n) { return n ? CellValue(static_cast<double>(*n)) : CellValue(); };
  at(LogColumn::lifter) = lifter;
  at(LogColumn::date) = moment(s);
  at(LogColumn::exercise) = s.exercise;
  at(LogColumn::load) = number(s.load.amount);
  at(LogColumn::unit) = std::string(unit_name(s.load.unit));
  at(LogColumn::reps) = static_cast<double>(s.reps);
  at(LogColumn::called_reserve) = call(s.called);
  at(LogColumn::failed) = s.failed;
  if (s.rest_s) at(LogColumn::rest_s) = number(*s.rest_s);
  if (s.last_rep_speed) at(LogColumn::last_rep_speed) = number(*s.last_rep_speed);
  at(LogColumn::kind) = std::string(kind_name(s.kind));
  at(LogColumn::stop) = std::string(stop_name(s.stop));
  at(LogColumn::planned_reps) = whole(s.planned_reps);
  at(LogColumn::cue) = call(s.cue);
  at(LogColumn::called_at_rep) = whole(s.called_at_rep);
  at(LogColumn::session) = text(s.session);
  at(LogColumn::place) = text(s.place);
  at(LogColumn::side) = std::string(side_name(s.side));
  at(LogColumn::joined) = text(s.joined);
  at(LogColumn::part_of) = text(s.part_of);
  at(LogColumn::part) = whole(s.part);
  if (s.body_mass)
    at(LogColumn::body_mass) = number_text(s.body_mass->amount) + " " + std::string(unit_name(s.body_mass->unit));
  at(LogColumn::tempo) = text(s.tempo);
  at(LogColumn::partial_reps) = whole(s.partial_reps);
  at(LogColumn::extra_kind) = text(std::string(extra_kind_name(s.extra_kind)));
  at(LogColumn::pain) = s.pain;
  at(LogColumn::note) = text(s.note);
  std::vector<bool> used(extra.size());
  for (const auto& [name, value] : s.extra) {
    for (std::size_t i = 0; i < extra.size(); ++i) {
      if (used[i] || extra[i] != name) continue;
      used[i] = true;
      row[interchange::kLogColumnCount + i] = text(value);
      break;
    }
  }
}

double width_of(LogColumn column) {
  switch (column) {
    case LogColumn::lifter: return 22;
    case LogColumn::date: return 16;
    case LogColumn::exercise: return 22;
    case LogColumn::note: return 40;
    default: return 9;
  }
}

Result<std::vector<EstimateView>> estimates_of(Desk& desk, const std::vector<Lifter>& lifters, const Share& progress) {
  std::vector<EstimateView> out;
  for (std::size_t i = 0; i < lifters.size(); ++i) {
    const auto count = desk.store().set_count(lifters[i].id);
    if (!count) return tl::unexpected(count.error());
    if (*count > 0) {
      auto view = estimate(desk, lifters[i].id);
      if (!view) return tl::unexpected(view.error());
      out.push_back(std::move(*view));
    }
    if (progress && !progress(static_cast<double>(i + 1) / static_cast<double>(lifters.size())))
      return fail(Code::cancelled, "stopped");
  }
  return out;
}

Result<std::vector<Lifter>> lifters_of(Desk& desk, const std::string& who) {
  if (who.empty()) return desk.store().lifters();
  auto one = desk.lifter(who);
  if (!one) return tl::unexpected(one.error());
  return std::vector<Lifter>{std::move(*one)};
}

const std::vector<documents::SheetColumn>& estimate_columns() {
  static const std::vector<documents::SheetColumn> all{{"lifter", 22, {}},
                                                       {"as of", 11, {}},
                                                       {"exercise", 22, {}},
                                                       {"side", 7, {}},
                                                       {"strength (total kg)", 12, 1},
                                                       {"low, 80 %", 10, 1},
                                                       {"high, 80 %", 10, 1},
                                                       {"trend (% a week)", 12, 2},
                                                       {"trend low", 10, 2},
                                                       {"trend high", 10, 2},
                                                       {"reps at 80 %", 10, 1},
                                                       {"set 2 loses (reps)", 12, 1},
                                                       {"set 4 loses (reps)", 12, 1},
                                                       {"learned (0 to 1)", 10, 2},
                                                       {"sets", 8, 0},
                                                       {"last", 11, {}},
                                                       {"scale", 8, {}}};
  return all;
}

std::vector<CellValue> estimate_row(const EstimateView& view, const LiftEstimate& lift) {
  const capacity::LiftSummary& s = lift.summary;
  return {view.lifter.name,
          view.as_of,
          lift.name,
          std::string(side_name(s.side)),
          lift.strength.median,
          lift.strength.lo80,
          lift.strength.hi80,
          s.trend_pct_per_week.median,
          s.trend_pct_per_week.lo80,
          s.trend_pct_per_week.hi80,
          lift.reps_at_80.median,
          s.fatigability.median,
          s.fatigability_set4.median,
          s.learned,
          static_cast<double>(s.sets_used),
          s.last,
          std::string(s.marks ? "marks" : "kg")};
}

using Rows = std::vector<std::vector<CellValue>>;

const std::vector<documents::SheetColumn>& plan_columns() {
  static const std::vector<documents::SheetColumn> all{
      {"lifter", 22, {}}, {"plan", 6, 0},           {"week", 6, 0},          {"kind of week", 10, {}},
      {"day", 11, {}},    {"place", 14, {}},        {"day's minutes", 9, 0}, {"exercise", 22, {}},
      {"sets", 6, 0},     {"reserve (reps)", 9, 0}, {"least reps", 7, 0},    {"most reps", 7, 0},
      {"heavy", 8, {}},   {"rep-max test", 8, {}},  {"why", 60, {}}};
  return all;
}

// The accepted blocks, newest first.
Result<Rows> plan_rows(Desk& desk, const std::vector<Lifter>& lifters) {
  Rows rows;
  for (const Lifter& lifter : lifters) {
    const auto blocks = kept_blocks(desk, lifter.id);
    if (!blocks) return tl::unexpected(blocks.error());
    for (const KeptBlock& block : *blocks) {
      if (block.state != "accepted") continue;
      int week_number = 0;
      for (const BlockWeekPlan& week : block.sheet.weeks) {
        ++week_number;
        for (const BlockDayPlan& day : week.days) {
          for (const BlockItem& item : day.items) {
            for (const BlockSets& sets : item.sets) {
              rows.push_back({lifter.name, static_cast<double>(block.number), static_cast<double>(week_number),
                              std::string(week_kind_name(week.kind)), day.date, text(day.place), day.minutes, item.name,
                              static_cast<double>(sets.sets), static_cast<double>(sets.reserve),
                              static_cast<double>(sets.least_reps), static_cast<double>(sets.most_reps), sets.heavy,
                              item.test, text(item.why)});
            }
          }
        }
      }
    }
  }
  return rows;
}

const std::vector<documents::SheetColumn>& session_columns() {
  static const std::vector<documents::SheetColumn> all{
      {"lifter", 22, {}}, {"day", 11, {}},      {"session", 9, {}},      {"exercise", 22, {}}, {"side", 7, {}},
      {"set", 6, 0},      {"kind", 8, {}},      {"load", 9, {}},         {"unit", 6, {}},      {"reps at most", 7, 0},
      {"rest (s)", 8, 0}, {"stop cue", 30, {}}, {"leaves (reps)", 9, 1}, {"low, 80 %", 9, 1},  {"high, 80 %", 9, 1}};
  return all;
}

// The sheets written for today and later, as they were shown.
Result<Rows> session_rows(Desk& desk, const std::vector<Lifter>& lifters) {
  Rows rows;
  for (const Lifter& lifter : lifters) {
    const auto sheets = desk.store().sheets(lifter.id);
    if (!sheets) return tl::unexpected(sheets.error());
    for (const store::Sheet& sheet : *sheets) {
      if (sheet.date < desk.today()) continue;
      try {
        const Json json = Json::parse(sheet.json);
        for (const Json& item : json.at("plan").at("items")) {
          double number_of_set = 0;
          for (const Json& set : item.at("sets")) {
            const Json& cue = set.at("stop_cue");
            const Json& leaves = set.at("reserve");
            rows.push_back(
                {lifter.name, sheet.date, text(sheet.session), item.at("name").get<std::string>(),
                 item.at("side").get<std::string>(), ++number_of_set, set.at("kind").get<std::string>(),
                 number(set.at("load").at("amount").get<double>()), set.at("load").at("unit").get<std::string>(),
                 set.at("reps").get<double>(), set.at("rest_s").get<double>(),
                 cue.is_object() ? text(cue.at("text").get<std::string>()) : CellValue(),
                 leaves.at("median").get<double>(), leaves.at("lo80").get<double>(), leaves.at("hi80").get<double>()});
          }
        }
      } catch (const Json::exception& problem) {
        return fail(Code::corrupt, std::string("a session sheet in the data file cannot be read: ") + problem.what());
      }
    }
  }
  return rows;
}

Rows estimate_rows(const std::vector<EstimateView>& views) {
  Rows rows;
  for (const EstimateView& view : views) {
    for (const LiftEstimate& lift : view.lifts) rows.push_back(estimate_row(view, lift));
  }
  return rows;
}

// Gives the rows of a list one after the other.
std::function<Result<bool>(std::vector<CellValue>&)> from_rows(Rows rows) {
  auto held = std::make_shared<Rows>(std::move(rows));
  auto at = std::make_shared<std::size_t>(0);
  return [held, at](std::vector<CellValue>& row) -> Result<bool> {
    if (*at == held->size()) return false;
    row = (*held)[(*at)++];
    return true;
  };
}

}  // namespace

Result<std::int64_t> write_data_workbook(Desk& desk, const std::string& path, const std::string& who,
                                         const Share& progress) {
  const auto lifters = lifters_of(desk, who);
  if (!lifters) return tl::unexpected(lifters.error());
  const auto views = estimates_of(desk, *lifters, progress);
  if (!views) return tl::unexpected(views.error());
  std::int64_t count = 0;
  const auto written = desk.store().snapshot([&]() -> Result<void> {
    std::vector<std::string> extra;
    for (const Lifter& lifter : *lifters) {
      const auto sets = desk.store().sets(lifter.id);
      if (!sets) return tl::unexpected(sets.error());
      std::vector<SetRecord> records;
      for (const store::StoredSet& s : *sets) {
        if (!s.set.extra.empty()) records.push_back(s.set);
      }
      extra = interchange::extra_columns(records, std::move(extra));
    }
    documents::WorkbookSheet log;
    log.name = "log";
    for (std::size_t i = 0; i < interchange::kLogColumnCount; ++i) {
      const auto column = static_cast<LogColumn>(i);
      log.columns.push_back({std::string(interchange::log_column_name(column)), width_of(column), {}});
    }
    for (const std::string& name : extra) {
      log.columns.push_back(
          {interchange::parse_log_column(name) || name.rfind("extra:", 0) == 0 ? "extra:" + name : name, 12, {}});
    }
    std::size_t at_lifter = 0, at_set = 0;
    std::vector<store::StoredSet> sets;
    bool loaded = false;
    log.next = [&](std::vector<CellValue>& row) -> Result<bool> {
      for (;;) {
        if (at_lifter == lifters->size()) return false;
        if (!loaded) {
          auto read = desk.store().sets((*lifters)[at_lifter].id);
          if (!read) return tl::unexpected(read.error());
          sets = std::move(*read);
          at_set = 0;
          loaded = true;
        }
        if (at_set == sets.size()) {
          ++at_lifter;
          loaded = false;
          continue;
        }
        row = row_of(log.columns.size());
        fill(row, (*lifters)[at_lifter].name, sets[at_set++].set, extra);
        ++count;
        return true;
      }
    };
    auto planned = plan_rows(desk, *lifters);
    if (!planned) return tl::unexpected(planned.error());
    auto ahead = session_rows(desk, *lifters);
    if (!ahead) return tl::unexpected(ahead.error());
    documents::WorkbookSheet plan, sessions, estimates, judgement, strength;
    plan.name = "plan";
    plan.columns = plan_columns();
    plan.next = from_rows(std::move(*planned));
    sessions.name = "sessions";
    sessions.columns = session_columns();
    sessions.next = from_rows(std::move(*ahead));
    estimates.name = "estimates";
    estimates.columns = estimate_columns();
    judgement.name = "judgement";
    judgement.columns = {{"lifter", 22, {}},   {"says (reps left)", 10, {}}, {"has", 8, 1},
                         {"low, 80 %", 10, 1}, {"high, 80 %", 10, 1},        {"learned (0 to 1)", 10, 2}};
    strength.name = "strength";
    strength.columns = {{"lifter", 22, {}},   {"exercise", 22, {}},           {"side", 7, {}},
                        {"day", 11, {}},      {"strength (total kg)", 12, 1}, {"low, 80 %", 10, 1},
                        {"high, 80 %", 10, 1}};
    Rows judgement_rows, strength_rows;
    for (const EstimateView& view : *views) {
      for (const LiftEstimate& lift : view.lifts) {
        const std::size_t first = strength_rows.size() + 1;
        for (const auto& point : lift.summary.history) {
          strength_rows.push_back({view.lifter.name, lift.name, std::string(side_name(lift.summary.side)), point.date,
                                   point.median, point.lo80, point.hi80});
        }
        if (strength.charts.size() < 6 && strength_rows.size() >= first + 1) {
          strength.charts.push_back({view.lifter.name + ": " + lift.name,
                                     3,
                                     {4, 5, 6},
                                     first,
                                     strength_rows.size(),
                                     lift.summary.marks ? "marks" : "total kg"});
        }
      }
      for (const auto& c : view.posterior.at_called) {
        judgement_rows.push_back({view.lifter.name, c.called, c.true_reserve.median, c.true_reserve.lo80,
                                  c.true_reserve.hi80, view.posterior.learned_judgement});
      }
    }
    estimates.next = from_rows(estimate_rows(*views));
    judgement.next = from_rows(std::move(judgement_rows));
    strength.next = from_rows(std::move(strength_rows));
    return documents::write_workbook(path, {log, plan, sessions, estimates, judgement, strength});
  });
  if (!written) return tl::unexpected(written.error());
  return count;
}

namespace {

std::string csv_of(const std::vector<documents::SheetColumn>& columns, const Rows& rows) {
  std::string out;
  const auto put = [&](const std::vector<std::string>& cells) {
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (i > 0) out += ',';
      interchange::append_csv_field(out, cells[i]);
    }
    out += "\r\n";
  };
  std::vector<std::string> cells;
  for (const documents::SheetColumn& column : columns) cells.push_back(column.name);
  put(cells);
  for (const std::vector<CellValue>& row : rows) {
    cells.clear();
    for (const CellValue& value : row) {
      std::string& cell = cells.emplace_back();
      if (const auto* words = std::get_if<std::string>(&value)) cell = *words;
      if (const auto* amount = std::get_if<double>(&value)) cell = number_text(*amount);
      if (const auto* day = std::get_if<Date>(&value)) cell = date_text(*day);
      if (const auto* yes = std::get_if<bool>(&value)) cell = *yes ? "yes" : "no";
    }
    put(cells);
  }
  return out;
}

}  // namespace

Result<std::vector<CsvFile>> data_csv(Desk& desk, const std::string& who) {
  const auto lifters = lifters_of(desk, who);
  if (!lifters) return tl::unexpected(lifters.error());
  const auto views = estimates_of(desk, *lifters, {});
  if (!views) return tl::unexpected(views.error());
  const auto planned = plan_rows(desk, *lifters);
  if (!planned) return tl::unexpected(planned.error());
  const auto ahead = session_rows(desk, *lifters);
  if (!ahead) return tl::unexpected(ahead.error());
  return std::vector<CsvFile>{{"estimates.csv", csv_of(estimate_columns(), estimate_rows(*views))},
                              {"plan.csv", csv_of(plan_columns(), *planned)},
                              {"sessions.csv", csv_of(session_columns(), *ahead)}};
}

}  // namespace ullage::coach
