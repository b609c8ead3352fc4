#include "service/interchange/write_log.h"

#include <algorithm>

#include "service/interchange/log_columns.h"
#include "service/interchange/utf8.h"

namespace ullage::interchange {
namespace {

constexpr std::string_view kEscape = "extra:";

// A note's name that would be taken for a column of the log is marked; read_log takes the mark off.
std::string header_name(const std::string& extra) {
  const bool marked = extra.empty() || parse_log_column(extra) || extra.rfind(kEscape, 0) == 0;
  return marked ? std::string(kEscape) + extra : extra;
}

std::string flag(bool value) { return value ? "1" : "0"; }
std::string whole(const std::optional<int>& value) { return value ? std::to_string(*value) : ""; }
std::string number(const std::optional<double>& value) { return value ? number_text(*value) : ""; }
std::string call(const std::optional<Call>& value) { return value ? call_text(*value) : ""; }

}  // namespace

void append_csv_field(std::string& row, std::string_view text) {
  const bool blank_end =
      !text.empty() && (text.front() == ' ' || text.front() == '\t' || text.back() == ' ' || text.back() == '\t');
  const bool quoted = blank_end || text.find_first_of(",;|\t\"\r\n") != std::string_view::npos;
  if (quoted) row += '"';
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = utf8_length(text, at);
    if (length == 0 || text[at] == '\0') {
      row += kReplacement;
      ++at;
      continue;
    }
    if (text[at] == '"') row += '"';
    row += text.substr(at, length);
    at += length;
  }
  if (quoted) row += '"';
}

std::vector<std::string> extra_columns(const std::vector<SetRecord>& sets, std::vector<std::string> names) {
  const auto count = [](const auto& list, const std::string& name, auto key) {
    return std::count_if(list.begin(), list.end(), [&](const auto& item) { return key(item) == name; });
  };
  for (const SetRecord& set : sets) {
    for (const auto& [name, value] : set.extra) {
      const auto needed = count(set.extra, name, [](const auto& item) -> const std::string& { return item.first; });
      auto had = count(names, name, [](const std::string& item) -> const std::string& { return item; });
      for (; had < needed; ++had) names.push_back(name);
    }
  }
  return names;
}

LogWriter::LogWriter(TextSink sink, std::vector<std::string> extra) : sink_(std::move(sink)), extra_(std::move(extra)) {
  for (std::size_t i = 0; i < kLogColumnCount; ++i) {
    if (i > 0) row_ += ',';
    row_ += log_column_name(static_cast<LogColumn>(i));
  }
  for (const std::string& name : extra_) {
    row_ += ',';
    append_csv_field(row_, header_name(name));
  }
  row_ += "\r\n";
  sink_(row_);
}

void LogWriter::write(std::string_view lifter, const SetRecord& set) {
  row_.clear();
  const auto field = [&](std::string_view text) {
    append_csv_field(row_, text);
    row_ += ',';
  };
  field(lifter);
  field(set.time.empty() ? date_text(set.date) : date_text(set.date) + "T" + set.time);
  field(set.exercise);
  field(number_text(set.load.amount));
  field(unit_name(set.load.unit));
  field(std::to_string(set.reps));
  field(call(set.called));
  field(flag(set.failed));
  field(number(set.rest_s));
  field(number(set.last_rep_speed));
  field(kind_name(set.kind));
  field(stop_name(set.stop));
  field(whole(set.planned_reps));
  field(call(set.cue));
  field(whole(set.called_at_rep));
  field(set.session);
  field(set.place);
  field(side_name(set.side));
  field(set.joined);
  field(set.part_of);
  field(whole(set.part));
  field(set.body_mass ? number_text(set.body_mass->amount) + " " + std::string(unit_name(set.body_mass->unit)) : "");
  field(set.tempo);
  field(whole(set.partial_reps));
  field(extra_kind_name(set.extra_kind));
  field(flag(set.pain));
  field(set.note);
  // Each column takes the set's next unused value of that name.
  std::vector<bool> used(set.extra.size());
  for (const std::string& name : extra_) {
    for (std::size_t i = 0; i < set.extra.size(); ++i) {
      if (used[i] || set.extra[i].first != name) continue;
      append_csv_field(row_, set.extra[i].second);
      used[i] = true;
      break;
    }
    row_ += ',';
  }
  row_.back() = '\r';
  row_ += '\n';
  sink_(row_);
}

void write_log(const TextSink& sink, std::string_view lifter, const std::vector<SetRecord>& sets) {
  LogWriter writer(sink, extra_columns(sets));
  for (const SetRecord& set : sets) writer.write(lifter, set);
}

}  // namespace ullage::interchange
