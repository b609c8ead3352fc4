#include "service/coach/read_in.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <unordered_map>

#include "service/coach/doubt.h"
#include "service/coach/pains.h"
#include "service/coach/written_twice.h"
#include "service/interchange/mapping.h"
#include "service/interchange/open_table.h"
#include "service/interchange/read_ahead.h"
#include "service/library/names.h"

namespace ullage::coach {
namespace {

constexpr std::size_t kRowsHeld = 25000;  // sets kept at most between two pieces of a merge

interchange::ExerciseResolver resolver(const library::Library& library) {
  return [&library](std::string_view text) {
    const library::Resolution resolved = library.resolve(text);
    interchange::ExerciseMatch match;
    if (resolved) {
      match.id = resolved.exercise->id;
    } else {
      for (const library::Near& near : resolved.nearest) match.nearest.push_back(near.exercise->name);
    }
    return match;
  };
}

// Sets on their way into a merge, given on in pieces that end where a session ends.
class Pieces {
 public:
  Pieces(Desk& desk, store::Writer& writer, store::Merge& merge, Date today, std::vector<std::string>& new_lifters)
      : desk_(desk), writer_(writer), merge_(merge), today_(today), new_lifters_(new_lifters) {}

  // Errors are kept and end the work at the next step: a sink cannot fail.
  void take(interchange::LoggedSet&& row) {
    if (error_) return;
    const std::string* id = id_of(row.lifter);
    if (!id) return;
    const int age = today_ - row.set.date;
    if (row.set.pain && age <= kPainRowDays) {
      const Date day = std::min(row.set.date, today_);
      const auto [at, fresh] = pains_.try_emplace({*id, row.set.exercise}, day);
      if (!fresh) at->second = std::max(at->second, day);
    }
    held_[*id].push_back(std::move(row.set));
    if (++count_ >= kRowsHeld) give_on(false);
  }
  Result<void> finish() {
    if (!error_) give_on(true);
    if (error_) return tl::unexpected(*error_);
    return {};
  }
  bool failed() const { return error_.has_value(); }
  // The latest day of pain of each lifter and exercise, of the last kPainRowDays.
  const std::map<std::pair<std::string, std::string>, Date>& pains() const { return pains_; }

 private:
  // Null: the error is kept.
  const std::string* id_of(const std::string& name) {
    const auto known = ids_.find(name);
    if (known != ids_.end()) return &known->second;
    const auto found = lifter_called(desk_.store(), name);
    if (!found) return stop(found.error());
    if (*found) return &ids_.emplace(name, (*found)->id).first->second;
    const auto all = desk_.store().lifters();
    if (!all) return stop(all.error());
    std::vector<std::string> taken;
    for (const Lifter& l : *all) taken.push_back(l.id);
    Lifter fresh;
    fresh.id = make_name_id(name, taken);
    fresh.name = plain_name(name);
    fresh.since = today_;
    if (const auto put = writer_.put_lifter(fresh); !put) return stop(put.error());
    new_lifters_.push_back(fresh.name);
    return &ids_.emplace(name, fresh.id).first->second;
  }
  const std::string* stop(const Error& error) {
    error_ = error;
    return nullptr;
  }
  void give_on(bool all) {
    count_ = 0;
    for (auto& [id, sets] : held_) {
      std::size_t end = sets.size();
      if (!all && !sets.empty()) {  // the last session may go on
        const Date last = sets.back().date;
        while (end > 0 && sets[end - 1].date == last) --end;
        if (end == 0 && sets.size() >= kRowsHeld) end = sets.size();
      }
      if (end == 0) continue;
      const std::vector<SetRecord> piece(std::make_move_iterator(sets.begin()),
                                         std::make_move_iterator(sets.begin() + static_cast<std::ptrdiff_t>(end)));
      sets.erase(sets.begin(), sets.begin() + static_cast<std::ptrdiff_t>(end));
      count_ += sets.size();
      if (const auto added = merge_.add(id, piece); !added) {
        error_ = added.error();
        return;
      }
    }
  }

  Desk& desk_;
  store::Writer& writer_;
  store::Merge& merge_;
  Date today_;
  std::vector<std::string>& new_lifters_;
  std::unordered_map<std::string, std::string> ids_;  // name in the file -> id
  std::map<std::string, std::vector<SetRecord>> held_;
  std::map<std::pair<std::string, std::string>, Date> pains_;
  std::size_t count_ = 0;
  std::optional<Error> error_;
};

// New names that may be slips of the pen for another lifter, whose holds and log they would not have.
Result<std::vector<interchange::Fault>> near_lifters(Desk& desk, const std::vector<std::string>& fresh) {
  constexpr double kNear = 0.85;            // of letters alike (assumption)
  constexpr std::size_t kLeastLetters = 6;  // of shorter names one letter tells people apart
  std::vector<interchange::Fault> out;
  const auto lifters = desk.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  std::vector<std::string> names;
  for (const Lifter& lifter : *lifters) {
    if (std::find(fresh.begin(), fresh.end(), lifter.name) == fresh.end()) names.push_back(lifter.name);
  }
  const auto letters = [](const std::string& name) { return library::joined(library::plain_words(name)); };
  const auto digits = [](const std::string& name) {
    std::string only;
    for (const char c : name) {
      if (c >= '0' && c <= '9') only += c;
    }
    return only;
  };
  for (const std::string& name : fresh) {
    const std::string written = letters(name);
    std::string nearest;
    double most = kNear;
    for (const std::string& other : names) {
      if (std::min(written.size(), letters(other).size()) < kLeastLetters || digits(name) != digits(other)) continue;
      const double alike = library::letter_likeness(written, letters(other));
      if (alike < most) continue;
      most = alike;
      nearest = other;
    }
    names.push_back(name);
    if (nearest.empty()) continue;
    interchange::Fault fault;
    fault.problem = fmt::format("{} would be a new lifter beside {}: the same one, written otherwise?",
                                interchange::in_quotes(name), interchange::in_quotes(nearest));
    out.push_back(std::move(fault));
  }
  return out;
}

// Takes out the exercises that hurt; those newly out are told.
Result<void> take_out(Desk& desk, store::Writer& writer, const library::Library& library, const Pieces& pieces,
                      std::vector<PainRow>& told) {
  for (const auto& [key, day] : pieces.pains()) {
    const auto& [lifter_id, exercise_id] = key;
    const auto lifter = desk.store().lifter(lifter_id);
    if (!lifter) return tl::unexpected(lifter.error());
    auto record = desk.store().health(lifter_id);
    if (!record) return tl::unexpected(record.error());
    if (!open_pain_of_row(*record, exercise_id, day, "noted in an imported log")) continue;
    if (const auto put = writer.put_health(lifter_id, *record); !put) return put;
    const Exercise* exercise = library.find(exercise_id);
    told.push_back({lifter->name, exercise ? exercise->name : exercise_id, day});
  }
  return {};
}

}  // namespace

Result<ImportReport> read_in(Desk& desk, const ImportWish& wish) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  std::optional<interchange::Mapping> mapping;
  if (!wish.mapping.empty()) {
    const auto text = desk.store().mapping(wish.mapping);
    if (!text) return tl::unexpected(text.error());
    if (!*text) {
      const auto all = desk.store().mappings();
      if (!all) return tl::unexpected(all.error());
      std::vector<std::string> names;
      for (const auto& m : *all) names.push_back(m.name);
      return fail(Code::not_found,
                  "no mapping \"" + wish.mapping + "\"" + did_you_mean(near_names(wish.mapping, names, 3)));
    }
    auto parsed = interchange::parse_mapping(**text);
    if (!parsed) return tl::unexpected(parsed.error());
    mapping = std::move(*parsed);
  }
  if (!mapping && !wish.mapping_text.empty()) {
    auto parsed = interchange::parse_mapping(wish.mapping_text);
    if (!parsed) return tl::unexpected(parsed.error());
    mapping = std::move(*parsed);
  }
  const auto source = interchange::open_table(wish.file);
  if (!source) return tl::unexpected(source.error());

  interchange::ReadLogOptions options;
  options.today = desk.today();
  options.lifter = wish.lifter;
  options.mapping = mapping ? &*mapping : nullptr;
  options.resolve = resolver(**library);
  options.progress = wish.progress;
  if ((wish.dry_run || wish.ask) && mapping) options.most_previews = kMostPreviews;

  ImportReport report;
  DoubtfulRows doubtful(desk, **library);
  WrittenTwice twice;
  // Others who write wait while a change is made. Where that counts the table is looked through before, which takes as
  // long as reading it.
  if (wish.before_storing) {
    interchange::SetSink look;
    if (wish.ask)
      look = [&](interchange::LoggedSet&& row) {
        doubtful.look(row);
        twice.look(row);
      };
    auto looked = interchange::read_log(*source->table, options, look);
    if (!looked) return tl::unexpected(looked.error());
    report.summary = std::move(*looked);
    auto found = doubtful.found();
    if (!found) return tl::unexpected(found.error());
    report.doubts = std::move(*found);
    report.refused = report.summary.fault_count > 0 && !wish.skip_bad;
    if (report.refused || report.summary.sets == 0) return report;
    wish.before_storing();
  }
  // Everything is done in a change. A file with faults and a dry run give it up, so that the one stores nothing and the
  // other counts exactly what would happen.
  constexpr const char* kGivenUp = "given up";
  const std::string name = wish.name.empty() ? std::filesystem::path(wish.file).filename().string() : wish.name;
  const auto change = desk.store().change("import " + name, [&](store::Writer& writer) -> Result<void> {
    store::ImportRecord import;
    import.id = store::make_id();
    import.file_name = name;
    import.mapping = wish.mapping;
    if (const auto put = writer.put_import(import); !put) return put;
    store::MergeOptions merging;
    merging.update = wish.update;
    merging.import = import.id;
    const auto merge = writer.start_merge(merging);
    Pieces pieces(desk, writer, *merge, desk.today(), report.new_lifters);
    const auto progress = options.progress;
    options.progress = [&](std::uint64_t done, std::uint64_t total) {
      return !pieces.failed() && (!progress || progress(done, total));
    };
    const bool look = wish.ask && !wish.before_storing;
    auto read = interchange::read_log_ahead(*source->table, options, [&](interchange::LoggedSet&& row) {
      if (look) {
        doubtful.look(row);
        twice.look(row);
      }
      pieces.take(std::move(row));
    });
    if (!read && !pieces.failed()) return tl::unexpected(read.error());
    if (read) report.summary = std::move(*read);
    if (look) {
      auto found = doubtful.found();
      if (!found) return tl::unexpected(found.error());
      report.doubts = std::move(*found);
    }
    report.refused = report.summary.fault_count > 0 && !wish.skip_bad;
    if (report.refused || (read && report.summary.sets == 0)) {
      report.new_lifters.clear();
      return fail(Code::cancelled, kGivenUp);
    }
    if (const auto done = pieces.finish(); !done) return done;
    report.merged = merge->report();
    if (report.merged.added > 0) {  // else all of it is stored already
      for (interchange::Fault& fault : twice.found()) report.doubts.push_back(std::move(fault));
    }
    if (wish.ask && !report.new_lifters.empty()) {
      auto near = near_lifters(desk, report.new_lifters);
      if (!near) return tl::unexpected(near.error());
      for (interchange::Fault& fault : *near) report.doubts.push_back(std::move(fault));
    }
    if (const auto out = take_out(desk, writer, **library, pieces, report.pains); !out) return out;
    const bool nothing =
        report.merged.added == 0 && report.merged.applied == 0 && report.new_lifters.empty() && report.pains.empty();
    report.refused = !wish.dry_run && !report.doubts.empty();
    if (wish.dry_run || report.refused || nothing) return fail(Code::cancelled, kGivenUp);
    import.rows_read = static_cast<int>(report.summary.rows);
    import.added = report.merged.added;
    import.unchanged = report.merged.unchanged;
    import.changed = static_cast<int>(report.merged.changed.size());
    import.applied = report.merged.applied;
    import.skipped = static_cast<int>(report.summary.bad_rows);
    return writer.put_import(import);
  });
  if (!change) {
    if (change.error().code != Code::cancelled || change.error().message != kGivenUp)
      return tl::unexpected(change.error());
    return report;
  }
  report.change = *change;
  report.summary.previews.clear();  // they show what would be read
  return report;
}

namespace {

// The first `rows` rows of a reader into the sheet; fill: what a row puts into its line.
template <class Row, class Reader, class Fill>
Result<void> first_rows(const Reader& reader, std::size_t rows, TableSheet& sheet, const Fill& fill) {
  if (!reader) return tl::unexpected(reader.error());
  for (Row row;;) {
    const auto more = (*reader)->next(row);
    if (!more) return tl::unexpected(more.error());
    if (!*more) return {};
    sheet.more = sheet.lines.size() == rows;
    if (sheet.more) return {};
    fill(row, sheet.lines.emplace_back());
  }
}

}  // namespace

Result<std::vector<TableSheet>> cells_of(const std::string& file, const std::string& wanted, std::size_t rows) {
  const auto source = interchange::open_table(file);
  if (!source) return tl::unexpected(source.error());
  std::vector<TableSheet> out;
  if (!source->book) {
    if (!wanted.empty()) return fail(Code::not_found, "--sheet: " + file + " is no workbook");
    const auto read = first_rows<interchange::TableRow>(
        source->table->start(nullptr, {}), rows, out.emplace_back(), [](const auto& row, TableLine& line) {
          line.number = static_cast<std::int64_t>(row.line());
          for (std::size_t i = 0; i < row.size(); ++i) {
            if (!row.field(i).empty())
              line.cells.push_back({static_cast<int>(i), std::string(row.field(i)), row.kind(i)});
          }
        });
    if (!read) return tl::unexpected(read.error());
    return out;
  }
  std::vector<std::string> names;
  for (std::size_t i = 0; i < source->book->sheets().size(); ++i) {
    const interchange::SheetInfo& info = source->book->sheets()[i];
    names.push_back(info.name);
    if (!wanted.empty() && info.name != wanted) continue;
    TableSheet& sheet = out.emplace_back();
    sheet.name = info.name;
    sheet.hidden = info.hidden;
    const auto read = first_rows<interchange::SheetRow>(
        source->book->open_sheet(i), rows, sheet, [](const auto& row, TableLine& line) {
          line.number = row.number;
          line.hidden = row.hidden;
          for (const interchange::SheetCell& cell : row.cells) {
            if (cell.kind != interchange::CellKind::empty)
              line.cells.push_back({cell.column, std::string(row.text(cell)), cell.kind});
          }
        });
    if (!read) return tl::unexpected(read.error());
  }
  if (out.empty())
    return fail(Code::not_found, "--sheet: no sheet \"" + wanted + "\"" + did_you_mean(near_names(wanted, names, 3)));
  return out;
}

bool reads_as_log(Desk& desk, const std::string& file) {
  const auto library = desk.library();
  const auto source = interchange::open_table(file);
  if (!library || !source) return false;
  interchange::ReadLogOptions options;
  options.today = desk.today();
  options.lifter = "-";
  options.resolve = resolver(**library);
  return interchange::read_log(*source->table, options, {}).has_value();
}

Result<interchange::Suggestion> look_at_table(Desk& desk, const std::string& file) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  const auto source = interchange::open_table(file);
  if (!source) return tl::unexpected(source.error());
  interchange::ReadLogOptions options;
  options.today = desk.today();
  options.resolve = resolver(**library);
  if (source->book) return interchange::suggest_mapping(*source->book, options);
  return interchange::suggest_mapping(*source->text, options);
}

Result<store::ChangeId> save_mapping(Desk& desk, const std::string& name, const std::string& toml) {
  if (const auto parsed = interchange::parse_mapping(toml); !parsed) return tl::unexpected(parsed.error());
  return desk.store().change("mapping " + name, [&](store::Writer& writer) { return writer.put_mapping(name, toml); });
}

}  // namespace ullage::coach
