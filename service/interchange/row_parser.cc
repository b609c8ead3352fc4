#include "service/interchange/row_parser.h"

#include <algorithm>
#include <cmath>

#include "service/interchange/cell_text.h"

namespace ullage::interchange {
namespace {

constexpr std::size_t kMostExerciseTexts = 20000;
constexpr std::size_t kMostUnknown = 1000;

bool in(double value, double low, double high) { return value >= low && value <= high; }

std::optional<bool> parse_flag(std::string_view text) {
  if (text.empty() || text == "0") return false;
  if (text == "1") return true;
  const std::string lower = lower_case(text);
  if (lower == "yes") return true;
  if (lower == "no") return false;
  return std::nullopt;
}

std::optional<Call> parse_call_cell(std::string_view text, bool decimal_comma) {
  std::string plain(text);
  if (decimal_comma) std::replace(plain.begin(), plain.end(), ',', '.');
  return parse_call(plain);
}

std::string join_names(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + printable(name);
  return text;
}

}  // namespace

RowParser::RowParser(const ReadLogOptions& options, RowForm form) : options_(options), form_(std::move(form)) {
  earliest_latest_ = "a day from " + date_text(*make_date(kEarliestYear, 1, 1)) + " to " + date_text(options.today + 1);
}

void RowParser::add_fault(LogColumn column, const Cell& cell, std::string expected) {
  const std::string_view value = trimmed(cell.shown);
  faults_->push_back({row_->line(), form_.labels[static_cast<std::size_t>(column)], printable(value),
                      std::move(expected), "", row_->place(cell.field)});
}

void RowParser::resolve(const Cell& cell, LoggedSet& out) {
  const std::string_view text = trimmed(cell.text);
  if (text.empty()) return add_fault(LogColumn::exercise, cell, "an exercise");
  if (!options_.resolve) {
    out.set.exercise = text;
    return;
  }
  ExerciseMatch fresh;
  const ExerciseMatch* match = &fresh;
  if (const auto found = known_.find(text); found != known_.end()) {
    match = &found->second;
  } else {
    fresh = options_.resolve(text);
    if (known_.size() < kMostExerciseTexts) match = &known_.emplace(text, std::move(fresh)).first->second;
  }
  if (!match->id.empty()) {
    out.set.exercise = match->id;
    return;
  }
  std::string expected = "an exercise in the library";
  if (!match->nearest.empty()) expected += "; nearest: " + join_names(match->nearest);
  add_fault(LogColumn::exercise, cell, std::move(expected));
  const auto at = unknown_at_.find(text);
  if (at != unknown_at_.end()) {
    ++unknown_[at->second].rows;
  } else if (unknown_.size() < kMostUnknown) {
    unknown_at_.emplace(text, unknown_.size());
    unknown_.push_back({std::string(text), 1, row_->line(), match->nearest, row_->place(cell.field)});
  }
}

bool RowParser::parse(const Cells& cells, const TableRow& row, LoggedSet& out, std::vector<Fault>& faults,
                      std::vector<Fault>& remarks) {
  const std::size_t faults_before = faults.size();
  faults_ = &faults;
  row_ = &row;
  const std::uint64_t line = row.line();
  SetRecord& set = out.set;
  out.line = line;
  const auto cell = [&](LogColumn column) -> const Cell& { return cells[static_cast<std::size_t>(column)]; };
  const auto text = [&](LogColumn column) { return trimmed(cell(column).text); };
  const auto comma = [&](LogColumn column) { return form_.decimal_comma && !cell(column).log_form; };

  const std::string_view lifter = text(LogColumn::lifter);
  out.lifter = lifter.empty() ? std::string_view(options_.lifter) : lifter;
  const auto control = [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; };
  if (out.lifter.empty() || std::any_of(out.lifter.begin(), out.lifter.end(), control)) {
    add_fault(LogColumn::lifter, cell(LogColumn::lifter), "a lifter's name");
  }

  // Date and time.
  const std::string_view when = text(LogColumn::date);
  const bool any_date = form_.any_date && !cell(LogColumn::date).log_form;
  std::optional<Date> date;
  bool well_formed = false;
  if (when.size() >= 10 && (date = parse_date(when.substr(0, 10)))) {
    const std::string_view rest = when.substr(10);
    if (rest.empty()) {
      well_formed = true;
    } else if (rest.front() == 'T' || rest.front() == 't' || rest.front() == ' ') {
      if (auto time = parse_time(rest.substr(1))) {
        set.time = std::move(*time);
        well_formed = true;
      }
    }
  } else if (const auto parts = split_date(when); parts && (any_date || parts->year_first)) {
    well_formed = any_date || (when.size() >= 10 && when[4] == '-' && when[7] == '-');
    date = date_in_order(*parts, form_.date_order, options_.today);
    set.time = parts->time;
  }
  if (!well_formed) {
    std::string expected = any_date ? "a date" : "a date such as 2026-03-09, or 2026-03-09T18:40";
    if (!any_date && split_date(when)) expected += " (other ways of writing one are read through a mapping)";
    if (form_.date_labels) expected = "a label that values.date knows, or a date";
    add_fault(LogColumn::date, cell(LogColumn::date), std::move(expected));
  } else if (!date) {
    std::string expected = "a day of the calendar";
    if (any_date) expected += " (date_order = \"" + std::string(date_order_name(form_.date_order)) + "\")";
    add_fault(LogColumn::date, cell(LogColumn::date), std::move(expected));
  } else if (*date > options_.today + 1 || *date < *make_date(kEarliestYear, 1, 1)) {
    add_fault(LogColumn::date, cell(LogColumn::date), earliest_latest_);
  } else {
    set.date = *date;
  }

  resolve(cell(LogColumn::exercise), out);

  // Load and its unit.
  std::optional<Unit> unit = form_.load_unit;
  const std::string_view unit_text = text(LogColumn::unit);
  bool unit_known = true;
  if (!unit_text.empty()) {
    const auto parsed = parse_unit(unit_text);
    if (parsed) {
      unit = parsed;
    } else {
      unit_known = false;
      add_fault(LogColumn::unit, cell(LogColumn::unit), "kg, lb or mark");
    }
  }
  const std::string_view load_text = text(LogColumn::load);
  if (const auto amount = parse_amount(load_text, comma(LogColumn::load)); !amount) {
    std::string expected(number_expected(load_text, comma(LogColumn::load)));
    if (load_text.empty()) expected = "a load; 0 says that none was added";
    add_fault(LogColumn::load, cell(LogColumn::load), std::move(expected));
  } else {
    if (amount->unit && !unit_text.empty() && unit_known && amount->unit != unit) {
      add_fault(LogColumn::load, cell(LogColumn::load),
                "in " + std::string(unit_name(*unit)) + ", as the row's unit says");
    } else if (!amount->unit && !unit && unit_known) {
      add_fault(LogColumn::load, cell(LogColumn::load), "a load with its unit, such as 100 kg");
    }
    set.load = {amount->value, amount->unit ? *amount->unit : unit.value_or(Unit::kilogram)};
    if (!in(kilograms(set.load).value, -kHeaviestLoadKg, kHeaviestLoadKg)) {
      add_fault(LogColumn::load, cell(LogColumn::load),
                set.load.unit == Unit::mark ? "a mark between -1500 and 1500" : "a load between -1500 and 1500 kg");
    }
  }

  // Counts.
  const auto count = [&](LogColumn column, bool needed) -> std::optional<int> {
    const std::string_view value = text(column);
    if (value.empty() && !needed) return std::nullopt;
    const auto whole = parse_whole(value, comma(column));
    if (!whole || *whole < 0) {
      add_fault(column, cell(column), "a whole number of 0 or more");
    } else if (*whole > kMostReps) {
      add_fault(column, cell(column), "a number of " + std::to_string(kMostReps) + " or less");
    }
    return whole;
  };
  set.reps = count(LogColumn::reps, true).value_or(0);
  set.planned_reps = count(LogColumn::planned_reps, false);
  set.called_at_rep = count(LogColumn::called_at_rep, false);
  set.partial_reps = count(LogColumn::partial_reps, false);
  set.part = count(LogColumn::part, false);

  // Numbers within limits.
  const auto number = [&](LogColumn column, double high, const char* range) -> std::optional<double> {
    const std::string_view value = text(column);
    if (value.empty()) return std::nullopt;
    const auto parsed = parse_number(value, comma(column));
    if (!parsed) {
      add_fault(column, cell(column), std::string(number_expected(value, comma(column))));
    } else if (!in(*parsed, 0, high)) {
      add_fault(column, cell(column), range);
    }
    return parsed;
  };
  set.rest_s = number(LogColumn::rest_s, kLongestRestS, "a rest of 0 to 86400 seconds (24 hours)");
  set.last_rep_speed = number(LogColumn::last_rep_speed, kFastestRep, "a speed of 0 to 5 m/s");

  const auto call = [&](LogColumn column) -> std::optional<Call> {
    const std::string_view value = text(column);
    if (value.empty()) return std::nullopt;
    const auto parsed = parse_call_cell(value, comma(column));
    if (!parsed) add_fault(column, cell(column), "a reserve of 0 to 10 in halves, or an open one such as 5+");
    return parsed;
  };
  set.called = call(LogColumn::called_reserve);
  set.cue = call(LogColumn::cue);

  const auto flag = [&](LogColumn column) {
    const auto parsed = parse_flag(text(column));
    if (!parsed) add_fault(column, cell(column), "0, 1, yes or no");
    return parsed.value_or(false);
  };
  set.failed = flag(LogColumn::failed);
  set.pain = flag(LogColumn::pain);

  // Words.
  const auto word = [&](LogColumn column, auto parser, auto& target, const char* expected) {
    const std::string_view value = text(column);
    if (value.empty()) return;
    auto parsed = parser(value);
    if (!parsed) parsed = parser(lower_case(value));
    if (parsed) {
      target = *parsed;
    } else {
      add_fault(column, cell(column), expected);
    }
  };
  word(LogColumn::kind, parse_kind, set.kind, "work, warmup or test");
  word(LogColumn::stop, parse_stop, set.stop, "planned, cue, failed or unknown");
  word(LogColumn::side, parse_side, set.side, "both, left or right");
  word(LogColumn::extra_kind, parse_extra_kind, set.extra_kind, "chain or band");

  if (const std::string_view value = text(LogColumn::body_mass); !value.empty()) {
    const auto amount = parse_amount(value, comma(LogColumn::body_mass));
    if (!amount) {
      add_fault(LogColumn::body_mass, cell(LogColumn::body_mass),
                std::string(number_expected(value, comma(LogColumn::body_mass))));
    } else {
      const Unit of_load = set.load.unit == Unit::pound ? Unit::pound : Unit::kilogram;
      const Load mass{amount->value, amount->unit.value_or(form_.body_unit.value_or(of_load))};
      if (mass.unit == Unit::mark || !in(kilograms(mass).value, kLightestBodyKg, kHeaviestBodyKg)) {
        add_fault(LogColumn::body_mass, cell(LogColumn::body_mass), "a body mass between 20 and 400 kg");
      }
      set.body_mass = mass;
    }
  }

  set.session = cell(LogColumn::session).text;
  set.place = cell(LogColumn::place).text;
  set.joined = cell(LogColumn::joined).text;
  set.part_of = cell(LogColumn::part_of).text;
  set.tempo = cell(LogColumn::tempo).text;
  set.note = cell(LogColumn::note).text;

  const bool failed_said = !text(LogColumn::failed).empty();
  const bool failed = set.failed || (set.stop == Stop::failed && !failed_said);
  if (failed && set.called && set.called->reserve > 0 && set.called_at_rep.value_or(set.reps) >= set.reps) {
    add_fault(LogColumn::called_reserve, cell(LogColumn::called_reserve), "0 or blank, as of a set that failed");
  }
  if (faults.size() != faults_before) return false;
  if (set.stop == Stop::failed && !set.failed) {
    if (!failed_said) {
      set.failed = true;
    } else {
      remarks.push_back({line, form_.labels[static_cast<std::size_t>(LogColumn::stop)], "", "",
                         "the set ended by failing, but no failed rep is recorded",
                         row.place(cell(LogColumn::stop).field)});
    }
  }
  if (set.reps == 0 && !set.failed) {
    remarks.push_back({line, form_.labels[static_cast<std::size_t>(LogColumn::reps)], "", "",
                       "0 reps and no failed one: kept as a set that was not attempted",
                       row.place(cell(LogColumn::reps).field)});
  }
  return true;
}

}  // namespace ullage::interchange
