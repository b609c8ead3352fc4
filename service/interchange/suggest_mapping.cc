#include "service/interchange/suggest_mapping.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "service/interchange/cell_text.h"
#include "service/interchange/compact_sets.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/header_words.h"
#include "service/interchange/log_columns.h"
#include "service/interchange/table_header.h"
#include "service/interchange/workbook_shape.h"
#include "service/interchange/workbook_table.h"

namespace ullage::interchange {
namespace {

constexpr std::size_t kHeaderSearch = 20;  // rows in which the header is looked for
constexpr std::size_t kMostDistinct = 24;  // of a column of labels
constexpr std::size_t kMostExercises = 1000;
constexpr std::size_t kSampleRows = 5;

// What the cells of one column were like.
struct ColumnFacts {
  std::uint64_t filled = 0;
  std::uint64_t whole_above_one = 0;
  std::uint64_t whole = 0;
  std::uint64_t point_numbers = 0;    // read only with a decimal point
  std::uint64_t comma_numbers = 0;    // read only with a decimal comma
  std::uint64_t grouped_numbers = 0;  // 1,000: could be either
  std::uint64_t named_units = 0;
  std::uint64_t clocks = 0;
  std::uint64_t times = 0;
  std::uint64_t dates = 0;
  std::map<std::string, std::uint64_t> distinct;  // at most kMostDistinct + 1
};

void note_cell(ColumnFacts& facts, std::string_view text) {
  ++facts.filled;
  if (facts.distinct.size() <= kMostDistinct && text.size() <= 60) ++facts.distinct[std::string(text)];
  const auto whole = parse_whole(text, false);
  facts.whole += whole ? 1 : 0;
  facts.whole_above_one += whole && *whole > 1 ? 1 : 0;
  const auto point = parse_amount(text, false);
  const auto comma = parse_amount(text, true);
  if ((point && point->unit) || (comma && comma->unit)) ++facts.named_units;
  const std::size_t comma_at = text.find(',');
  const bool three_after = comma_at != std::string_view::npos && comma && text.size() - comma_at >= 4 &&
                           text.find_first_not_of("0123456789", comma_at + 1) >= comma_at + 4;
  if (point && !comma) ++facts.point_numbers;
  if (comma && !point) ++(three_after ? facts.grouped_numbers : facts.comma_numbers);
  const auto time = parse_time(text);
  facts.times += time ? 1 : 0;
  facts.clocks +=
      text.find(':') != std::string_view::npos && text.find_first_not_of("0123456789:") == std::string_view::npos;
  facts.dates += split_date(text) ? 1 : 0;
}

// How the cells of a column read as sets, when no column holds loads or reps by itself.
struct SetEvidence {
  std::uint64_t filled = 0;
  // "80x12", "80 kg x 12, 80 kg x 10", read with a decimal point and with a decimal comma.
  std::array<std::uint64_t, 2> load_reps{};
  std::array<std::uint64_t, 2> with_unit{};
  std::set<Unit> units;         // that cells name
  std::uint64_t sets_reps = 0;  // "3x10"
  bool effort = false;          // a number after @ that does not say what it is
};

struct DateEvidence {
  std::array<std::string, 3> against;  // day first, month first, year first
  std::string undecided;
};

class Suggesting {
 public:
  // `shape`: how a workbook's sheets are taken; null for a file of text.
  Suggesting(TableSource& source, const ReadLogOptions& options, const Mapping* shape)
      : source_(source), options_(options), shape_(shape) {}

  Result<Suggestion> run() {
    const auto started = source_.start(shape_, options_.progress);
    if (!started) return tl::unexpected<Error>(started.error());
    TableReader& reader = **started;
    TableRow row;
    if (shape_ != nullptr) return run_workbook(reader, row);
    std::vector<std::pair<std::uint64_t, std::vector<std::string>>> head;
    bool more = true;
    while (head.size() < kHeaderSearch) {
      const auto next = reader.next(row);
      if (!next) return tl::unexpected<Error>(next.error());
      more = *next;
      if (!more) break;
      head.emplace_back(row.line(), fields(row));
    }
    if (head.empty()) return fail(Code::invalid_input, "the file is empty");
    const std::size_t header = find_header(head);
    map_columns();
    for (std::size_t i = header; i < head.size(); ++i) use(head[i].first, head[i].second);
    while (more) {
      const auto next = reader.next(row);
      if (!next) return tl::unexpected<Error>(next.error());
      more = *next;
      if (more && row.faults().empty()) use(row.line(), fields(row));
    }
    if (reader.delimiter() != ',') out_.mapping.delimiter = reader.delimiter();
    draw_conclusions();
    return std::move(out_);
  }

 private:
  // The names come first, already found.
  Result<Suggestion> run_workbook(TableReader& reader, TableRow& row) {
    out_.mapping = *shape_;
    out_.mapping.columns.clear();
    auto more = reader.next(row);
    if (!more) return tl::unexpected<Error>(more.error());
    out_.headers = fields(row);
    facts_.resize(out_.headers.size());
    map_columns();
    for (;;) {
      more = reader.next(row);
      if (!more) return tl::unexpected<Error>(more.error());
      if (!*more) break;
      place_ = row.place();
      if (row.faults().empty()) use(row.line(), fields(row));
    }
    // Columns that make the sets stand as the shape has them.
    for (const auto& [column, source] : shape_->columns) {
      const std::string& from = source.columns[0];
      if (!has_star(from) && !is_bracketed(from)) continue;
      if (fields_.count(column) == 0 || has_star(from)) {
        fields_.erase(column);
        out_.mapping.columns[column] = source;
        std::string line = (has_star(from) ? "columns " : "") + printable(from) + (has_star(from) ? " are" : " is") +
                           " read as " + std::string(log_column_name(column));
        if (source.unit) line += ", in " + std::string(unit_name(*source.unit));
        if (source.form == CellForm::rpe) line += ", reserve = 10 - RPE";
        out_.found.push_back(std::move(line));
      }
    }
    if (shape_->sets) {
      std::string names;
      for (const std::string& each : shape_->sets->columns) names += (names.empty() ? "" : ", ") + printable(each);
      out_.found.push_back("each cell of " + names + " holds sets, written as " +
                           set_order_text(shape_->sets->form.order));
    }
    draw_conclusions();
    for (std::string& line : reader.found()) out_.found.push_back(std::move(line));
    return std::move(out_);
  }
  bool makes_sets(const std::string& header) const {
    if (shape_ == nullptr) return false;
    const auto in = [&](const std::string& pattern) {
      return pattern == "(dates)" ? split_date(header).has_value() : fits(pattern, header);
    };
    for (const auto& [column, source] : shape_->columns) {
      if (has_star(source.columns[0]) && in(source.columns[0])) return true;
    }
    return shape_->sets && std::any_of(shape_->sets->columns.begin(), shape_->sets->columns.end(), in);
  }
  static std::vector<std::string> fields(const TableRow& row) {
    std::vector<std::string> list;
    for (std::size_t i = 0; i < row.size(); ++i) list.emplace_back(trimmed(row.field(i)));
    return list;
  }

  // A header with a * in it ("Reps*", a mark for a note below) would be read as a run of columns.
  std::string name(std::size_t field) const {
    const std::string& header = out_.headers[field];
    const bool unique = std::count(out_.headers.begin(), out_.headers.end(), header) == 1;
    return header.empty() || !unique || has_star(header) ? place_name(field) : header;
  }
  std::string shown(std::size_t field) const { return printable(name(field)); }

  void ask(std::string key, std::string text, std::vector<std::string> choices = {}, bool required = true) {
    out_.questions.push_back({std::move(key), std::move(text), std::move(choices), required});
  }

  // The row with the most headers that mean something; what lies above it is passed over. Returns the
  // place of the first row below.
  std::size_t find_header(const std::vector<std::pair<std::uint64_t, std::vector<std::string>>>& head) {
    std::size_t best = 0;
    std::size_t most = 0;
    for (std::size_t i = 0; i < head.size(); ++i) {
      std::set<LogColumn> meant;
      for (const std::string& cell : head[i].second) {
        if (const auto what = meaning(cell)) meant.insert(what->column);
      }
      if (meant.size() > most) {
        most = meant.size();
        best = i;
      }
    }
    if (most < 2) {
      std::size_t widest = 0;
      for (const auto& [line, cells] : head) widest = std::max(widest, cells.size());
      out_.headers.resize(std::min(widest, kMostColumns));
      out_.mapping.header_row = 0;
      ask("file.header_row",
          "No row names its columns in words known here. Which row holds the names? 0: none does, and "
          "columns are called #1, #2 and so on");
      facts_.resize(out_.headers.size());
      return 0;
    }
    out_.headers = head[best].second;
    while (!out_.headers.empty() && out_.headers.back().empty()) out_.headers.pop_back();
    out_.mapping.header_row = static_cast<int>(best) + 1;
    if (best > 0) {
      out_.found.push_back("the column names stand on line " + std::to_string(head[best].first) +
                           "; what is above is passed over");
    }
    facts_.resize(out_.headers.size());
    return best + 1;
  }

  void map_columns() {
    for (std::size_t i = 0; i < out_.headers.size(); ++i) {
      if (makes_sets(out_.headers[i]) || (shape_ != nullptr && is_bracketed(out_.headers[i]))) {
        used_.insert(i);
        continue;
      }
      const auto what = meaning(out_.headers[i]);
      if (!what) continue;
      if (what->part == Part::time_of_day) {
        if (!time_field_) time_field_ = i;
      } else if (what->part == Part::set_number) {
        set_number_ = i;
      } else if (what->part == Part::set_count) {
        if (!set_count_) set_count_ = i;
      } else if (fields_.count(what->column) > 0) {
        // RIR wins over RPE: it is the reserve itself.
        const std::size_t other = fields_[what->column];
        const bool better = meanings_[what->column].form == CellForm::rpe && what->form != CellForm::rpe;
        ask("columns." + std::string(log_column_name(what->column)),
            "Columns " + shown(other) + " and " + shown(i) + " both look like " +
                std::string(log_column_info(what->column).holds) + "; " + shown(better ? i : other) + " is taken",
            {name(other), name(i)}, false);
        if (better) {
          fields_[what->column] = i;
          meanings_[what->column] = *what;
        }
      } else {
        fields_[what->column] = i;
        meanings_[what->column] = *what;
      }
    }
  }

  void use(std::uint64_t line, const std::vector<std::string>& cells) {
    if (cells.size() < out_.headers.size() && out_.mapping.header_row != 0) return;
    bool blank = true;
    for (const std::string& cell : cells) blank = blank && cell.empty();
    if (blank) return;
    ++rows_;
    if (rows_ == 1) {
      for (const auto& [column, field] : fields_) first_filled_[column] = !cells[field].empty();
    }
    if (out_.sample.size() < kSampleRows) out_.sample.push_back(cells);
    for (std::size_t i = 0; i < out_.headers.size() && i < cells.size(); ++i) {
      if (!cells[i].empty()) note_cell(facts_[i], cells[i]);
      if (!cells[i].empty() && shape_ == nullptr && fields_.count(LogColumn::reps) == 0 && !is_field(i))
        use_sets(i, cells[i]);
    }
    if (const auto field = fields_.find(LogColumn::date); field != fields_.end()) use_date(line, cells[field->second]);
    if (const auto field = fields_.find(LogColumn::exercise); field != fields_.end()) {
      use_exercise(line, cells[field->second]);
    }
  }

  bool is_field(std::size_t i) const {
    return std::any_of(fields_.begin(), fields_.end(), [&](const auto& f) { return f.second == i; });
  }
  // Does the cell read as sets?
  void use_sets(std::size_t field, const std::string& text) {
    SetEvidence& seen = sets_[field];
    ++seen.filled;
    CompactForm form;
    form.effort = CompactForm::Effort::rpe;
    std::vector<CompactSet> sets;
    const auto loads = [&] {
      return !sets.empty() &&
             std::all_of(sets.begin(), sets.end(), [](const CompactSet& s) { return !s.load.empty(); });
    };
    const auto unit = [&](const CompactSet& s) {
      const auto at = s.load.find(' ');
      const auto named = at == std::string::npos ? std::nullopt : parse_unit(std::string_view(s.load).substr(at + 1));
      if (named) seen.units.insert(*named);
      return named.has_value();
    };
    for (const std::size_t comma : {0U, 1U}) {
      sets.clear();
      if (parse_compact(text, form, comma == 1, sets) || !loads()) continue;
      ++seen.load_reps[comma];
      if (std::all_of(sets.begin(), sets.end(), unit)) ++seen.with_unit[comma];
    }
    sets.clear();
    form.order = {SetPart::sets, SetPart::reps};
    if (!parse_compact(text, form, false, sets) && !sets.empty() && !loads() && text.find_first_of("xX*") != text.npos)
      ++seen.sets_reps;
    seen.effort = seen.effort || text.find('@') != std::string::npos;
  }

  // Columns whose every cell is sets: taken when no column holds loads or reps by itself.
  void conclude_sets() {
    const bool load = out_.mapping.columns.count(LogColumn::load) > 0;
    if (out_.mapping.columns.count(LogColumn::reps) > 0) return;
    SetCells cells;
    std::string read;
    bool with_unit = true, effort = false;
    std::set<Unit> units;
    const auto all_sets = [&](const SetEvidence& seen, std::size_t comma) {
      return (load ? seen.sets_reps : seen.load_reps[comma]) == seen.filled;
    };
    // With a decimal comma where that alone makes sets of every cell: "62,5 kg x 8".
    std::size_t comma = 0;
    for (const auto& [field, seen] : sets_) {
      if (used_.count(field) == 0 && !all_sets(seen, 0) && all_sets(seen, 1)) comma = 1;
    }
    for (const auto& [field, seen] : sets_) {
      if (used_.count(field) > 0 || !all_sets(seen, comma)) continue;
      cells.columns.push_back(name(field));
      used_.insert(field);
      with_unit = with_unit && seen.with_unit[comma] == seen.filled;
      units.insert(seen.units.begin(), seen.units.end());
      effort = effort || seen.effort;
      out_.found.push_back("column " + shown(field) + " is read as " + std::string("sets"));
    }
    if (cells.columns.empty()) return;
    if (comma == 1) {
      out_.mapping.decimal_comma = true;
      out_.found.push_back("numbers have a decimal comma (column " + cells.columns.front() + ")");
    }
    if (load) {
      cells.form.order = {SetPart::sets, SetPart::reps};
      ask("columns.sets.order",
          "Are the numbers of a cell sets x reps? It is taken so; the load then comes from its own column",
          {"sets x reps", "load x reps", "reps x load"}, false);
    } else if (with_unit && units.size() == 1) {
      cells.unit = *units.begin();
    } else if (out_.mapping.columns.count(LogColumn::unit) == 0) {
      ask("constants.unit", "In which unit are the loads of the sets?", {"kg", "lb", "mark"});
    }
    if (effort) ask("columns.sets.effort", "What is the number after @, RPE or reps in reserve?", {"rpe", "reserve"});
    out_.mapping.sets = std::move(cells);
  }

  void use_date(std::uint64_t line, const std::string& text) {
    const auto parts = split_date(text);
    if (!parts || !needs_order(*parts)) return;
    std::array<bool, 3> possible{};
    for (std::size_t i = 0; i < kOrders.size(); ++i) {
      possible[i] = date_in_order(*parts, kOrders[i], options_.today).has_value();
    }
    if (std::find(possible.begin(), possible.end(), true) == possible.end()) return;
    const std::string where =
        (place_.empty() ? "line " + std::to_string(line) : printable(place_, 100)) + ": \"" + printable(text) + "\"";
    if (dates_.undecided.empty()) dates_.undecided = where;
    for (std::size_t i = 0; i < kOrders.size(); ++i) {
      if (!possible[i] && dates_.against[i].empty()) dates_.against[i] = where;
    }
  }

  void use_exercise(std::uint64_t line, const std::string& text) {
    if (text.empty() || !options_.resolve) return;
    const auto known = exercises_.find(text);
    if (known != exercises_.end()) {
      if (known->second) ++out_.unknown_exercises[*known->second].rows;
      return;
    }
    if (exercises_.size() >= kMostExercises) return;
    ExerciseMatch match = options_.resolve(text);
    auto& place = exercises_[text];
    if (!match.id.empty()) return;
    place = out_.unknown_exercises.size();
    out_.unknown_exercises.push_back({text, 1, line, std::move(match.nearest)});
  }

  void draw_conclusions() {
    for (const auto& [column, field] : fields_) take_column(column, field);
    if (const auto date = out_.mapping.columns.find(LogColumn::date); date != out_.mapping.columns.end()) {
      if (time_field_ && facts_[*time_field_].times == facts_[*time_field_].filled && facts_[*time_field_].filled > 0) {
        date->second.columns.push_back(name(*time_field_));
        out_.found.push_back("column " + shown(*time_field_) + " is read as the time of day");
        used_.insert(*time_field_);
      }
    }
    if (set_number_) {
      out_.found.push_back("column " + shown(*set_number_) +
                           " only counts the sets: rows are taken in the order they stand");
    }
    if (set_count_) {
      const ColumnFacts& facts = facts_[*set_count_];
      if (facts.filled > 0 && facts.whole == facts.filled && facts.whole_above_one > 0) {
        out_.mapping.repeat = name(*set_count_);
        used_.insert(*set_count_);
        ask("file.repeat",
            "Does column " + shown(*set_count_) + " say how many like sets a row stands for? It is taken so",
            {name(*set_count_), ""}, false);
      }
    }
    conclude_sets();
    conclude_gaps();
    conclude_numbers();
    conclude_units();
    conclude_dates();
    for (const LogColumn needed : {LogColumn::date, LogColumn::exercise, LogColumn::load, LogColumn::reps}) {
      if (out_.mapping.columns.count(needed) > 0) continue;
      if (out_.mapping.sets && (needed == LogColumn::load || needed == LogColumn::reps)) continue;
      ask("columns." + std::string(log_column_name(needed)),
          "Which column holds " + std::string(log_column_info(needed).holds) + "? If none, give it under [constants]",
          choices());
    }
    if (out_.mapping.columns.count(LogColumn::lifter) == 0 && options_.lifter.empty()) {
      ask("columns.lifter", "Whose sets are these? Name the column, or the lifter under [constants]", choices());
    }
    for (std::size_t i = 0; i < out_.headers.size(); ++i) {
      if (used_.count(i) == 0 && !out_.headers[i].empty()) out_.not_mapped.push_back(out_.headers[i]);
    }
  }

  std::vector<std::string> choices() const {
    std::vector<std::string> list;
    for (std::size_t i = 0; i < out_.headers.size(); ++i) list.push_back(name(i));
    return list;
  }

  // Takes a column over if its cells bear out what its header says.
  void take_column(LogColumn column, std::size_t field) {
    const ColumnFacts& facts = facts_[field];
    const HeaderMeaning& what = meanings_[column];
    ColumnSource source;
    source.columns = {name(field)};
    source.form = what.form;
    std::map<std::string, std::string> values;
    const std::string log_name(log_column_name(column));
    const bool words = column == LogColumn::side || column == LogColumn::kind || column == LogColumn::failed ||
                       column == LogColumn::pain || column == LogColumn::stop || column == LogColumn::extra_kind;
    if (words) {
      bool all = facts.distinct.size() <= kMostDistinct;
      for (const auto& [text, count] : facts.distinct) {
        const auto word = log_word(column, text);
        if (!word) all = false;
        if (word && *word != text) values[text] = *word;
      }
      if (!all) {
        std::string seen;
        for (const auto& [text, count] : facts.distinct) {
          if (seen.size() < 80) seen += (seen.empty() ? "\"" : ", \"") + printable(text, 20) + "\"";
        }
        ask("values." + log_name,
            "Column " + shown(field) + " holds " + seen + ": what do they say of " +
                std::string(log_column_info(column).holds) + "? Until [values." + log_name +
                "] says so the column is kept as a note",
            {}, false);
        return;
      }
    }
    if (column == LogColumn::rest_s && facts.filled > 0 && facts.clocks == facts.filled && facts.whole == 0) {
      source.form = CellForm::clock;
    }
    if (column == LogColumn::load || column == LogColumn::body_mass) source.unit = what.unit;
    used_.insert(field);
    std::string line = "column " + shown(field) + " is read as " + log_name;
    if (source.unit) line += ", in " + std::string(unit_name(*source.unit));
    if (source.form == CellForm::rpe) line += ", reserve = 10 - RPE";
    if (source.form == CellForm::minutes) line += ", from minutes";
    if (source.form == CellForm::clock) line += ", from minutes:seconds";
    out_.found.push_back(std::move(line));
    if (!values.empty()) out_.mapping.values[column] = std::move(values);
    out_.mapping.columns[column] = std::move(source);
  }

  // What a word in the table says in the log's words.
  static std::optional<std::string> log_word(LogColumn column, const std::string& text) {
    const std::string lower = lower_case(text);
    const auto any = [&](std::initializer_list<std::string_view> words) {
      return std::find(words.begin(), words.end(), lower) != words.end();
    };
    switch (column) {
      case LogColumn::side:
        if (any({"l", "left"})) return "left";
        if (any({"r", "right"})) return "right";
        if (any({"b", "both"})) return "both";
        return std::nullopt;
      case LogColumn::kind:
        if (any({"work", "working", "w"})) return "work";
        if (any({"warmup", "warm-up", "warm up", "warm"})) return "warmup";
        if (any({"test", "max"})) return "test";
        return std::nullopt;
      case LogColumn::stop:
        if (parse_stop(lower)) return lower;
        return std::nullopt;
      case LogColumn::extra_kind:
        if (any({"chain", "chains"})) return "chain";
        if (any({"band", "bands"})) return "band";
        return std::nullopt;
      default:
        if (any({"1", "yes", "y", "true", "x"})) return "1";
        if (any({"0", "no", "n", "false"})) return "0";
        return std::nullopt;
    }
  }

  // Columns in which a text stands once for the rows below it.
  void conclude_gaps() {
    if (shape_ == nullptr) return;
    for (const LogColumn column : {LogColumn::date, LogColumn::exercise, LogColumn::lifter}) {
      if (out_.mapping.columns.count(column) == 0 || fields_.count(column) == 0) continue;
      const std::size_t field = fields_[column];
      if (facts_[field].filled == 0 || facts_[field].filled == rows_ || !first_filled_[column]) continue;
      out_.mapping.fill_down.push_back(name(field));
      out_.found.push_back("blank cells of column " + shown(field) + " take the text above them");
    }
  }

  void conclude_numbers() {
    std::uint64_t point = 0;
    std::uint64_t comma = 0;
    std::uint64_t grouped = 0;
    std::string where;
    for (const LogColumn column :
         {LogColumn::load, LogColumn::body_mass, LogColumn::last_rep_speed, LogColumn::rest_s}) {
      if (out_.mapping.columns.count(column) == 0 || fields_.count(column) == 0) continue;
      const ColumnFacts& facts = facts_[fields_[column]];
      point += facts.point_numbers;
      comma += facts.comma_numbers;
      grouped += facts.grouped_numbers;
      if (where.empty() && facts.comma_numbers + facts.grouped_numbers > 0) where = shown(fields_[column]);
    }
    if (comma > 0 && point == 0) {
      out_.mapping.decimal_comma = true;
      out_.found.push_back("numbers have a decimal comma (column " + where + ")");
    } else if (comma > 0) {
      ask("file.decimal_comma",
          "Some numbers have a comma, others a point (column " + where +
              "). Is the comma the decimal sign? Numbers of the other kind will be faults",
          {"true", "false"});
    } else if (grouped > 0) {
      ask("file.decimal_comma",
          "Numbers such as 1,000 stand in column " + where +
              ". Is the comma a decimal sign? If it parts thousands, take it out of the file first",
          {"true", "false"});
    }
  }

  void conclude_units() {
    if (shape_ != nullptr && shape_->sets && !shape_->sets->unit && out_.mapping.columns.count(LogColumn::unit) == 0 &&
        out_.mapping.columns.count(LogColumn::load) == 0) {
      ask("constants.unit", "In which unit are the loads of the sets?", {"kg", "lb", "mark"});
      return;
    }
    const auto load = out_.mapping.columns.find(LogColumn::load);
    if (load == out_.mapping.columns.end() || load->second.unit || out_.mapping.columns.count(LogColumn::unit) > 0)
      return;
    if (fields_.count(LogColumn::load) == 0) {
      ask("constants.unit", "In which unit are the loads of the sets?", {"kg", "lb", "mark"});
      return;
    }
    const ColumnFacts& facts = facts_[fields_[LogColumn::load]];
    if (facts.filled > 0 && facts.named_units == facts.filled) {
      load->second.unit_in_cell = true;
      out_.found.push_back("each load names its own unit");
      return;
    }
    ask("constants.unit", "In which unit are the loads of column " + shown(fields_[LogColumn::load]) + "?",
        {"kg", "lb", "mark"});
  }

  void conclude_dates() {
    constexpr std::array<std::string_view, 3> kWords{"day first", "month first", "year first"};
    const auto date = out_.mapping.columns.find(LogColumn::date);
    if (date == out_.mapping.columns.end() || fields_.count(LogColumn::date) == 0) return;
    const ColumnFacts& facts = facts_[fields_[LogColumn::date]];
    if (facts.filled > 0 && facts.dates == 0) {
      ask("values.date", "Column " + shown(fields_[LogColumn::date]) +
                             " holds no dates. Say which day each label stands for under [values.date]");
      return;
    }
    if (dates_.undecided.empty()) return;
    std::vector<std::size_t> left;
    for (std::size_t i = 0; i < kOrders.size(); ++i) {
      if (dates_.against[i].empty()) left.push_back(i);
    }
    if (left.size() == 1) {
      out_.mapping.date_order = kOrders[left[0]];
      out_.found.push_back("dates are read " + std::string(kWords[left[0]]) + ", because of " +
                           dates_.against[left[0] == 0 ? 1 : 0]);
      return;
    }
    std::string text;
    std::vector<std::string> answers;
    if (left.empty()) {
      text = "The dates do not agree on one order: " + dates_.against[0] + " cannot be day first, " +
             dates_.against[1] + " cannot be month first. Which is it?";
      left = {0, 1};
    } else {
      text = "Is " + dates_.undecided + " to be read ";
      for (std::size_t i = 0; i < left.size(); ++i) text += (i > 0 ? " or " : "") + std::string(kWords[left[i]]);
      text += "? No date in the file decides it";
    }
    for (const std::size_t i : left) answers.emplace_back(date_order_name(kOrders[i]));
    ask("file.date_order", std::move(text), std::move(answers));
  }

  static constexpr std::array<DateOrder, 3> kOrders{DateOrder::dmy, DateOrder::mdy, DateOrder::ymd};

  TableSource& source_;
  const ReadLogOptions& options_;
  const Mapping* shape_;
  std::string place_;  // of the row, in a workbook
  std::map<LogColumn, bool> first_filled_;
  Suggestion out_;
  std::vector<ColumnFacts> facts_;
  std::map<LogColumn, std::size_t> fields_;
  std::map<LogColumn, HeaderMeaning> meanings_;
  std::optional<std::size_t> time_field_;
  std::optional<std::size_t> set_number_;
  std::optional<std::size_t> set_count_;
  std::set<std::size_t> used_;
  std::map<std::string, std::optional<std::size_t>> exercises_;
  std::map<std::size_t, SetEvidence> sets_;  // by column
  DateEvidence dates_;
  std::uint64_t rows_ = 0;
};

}  // namespace

Result<Suggestion> suggest_mapping(ByteSource& source, const ReadLogOptions& options) {
  CsvTable table(source);
  return Suggesting(table, options, nullptr).run();
}

Result<Suggestion> suggest_mapping(Workbook& book, const ReadLogOptions& options) {
  auto shape = find_shape(book, options);
  if (!shape) return tl::unexpected<Error>(shape.error());
  WorkbookTable table(book);
  auto suggestion = Suggesting(table, options, &shape->mapping).run();
  if (!suggestion) return suggestion;
  if (shape->comments) {
    ColumnSource& note = suggestion->mapping.columns[LogColumn::note];
    note.columns.emplace_back("(comments)");
    if (note.columns.size() > 1) note.join = "; ";
    suggestion->found.emplace_back("remarks attached to cells are read as notes");
  }
  suggestion->found.insert(suggestion->found.begin(), shape->found.begin(), shape->found.end());
  for (Question& question : shape->questions) {
    std::erase_if(suggestion->questions, [&](const Question& q) { return q.key == question.key; });
    suggestion->questions.push_back(std::move(question));
  }
  return suggestion;
}

}  // namespace ullage::interchange
