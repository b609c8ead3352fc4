#include "service/interchange/log_columns.h"

namespace ullage::interchange {
namespace {

constexpr std::array<LogColumnInfo, kLogColumnCount> kColumns{{
    {"lifter", "the lifter's name"},
    {"date", "the day, with or without the time"},
    {"exercise", "the exercise"},
    {"load", "the load"},
    {"unit", "the unit of the load: kg, lb or mark"},
    {"reps", "completed reps"},
    {"called_reserve", "the called reserve (RIR)"},
    {"failed", "whether one more rep was tried and not completed"},
    {"rest_s", "rest before the set, in seconds"},
    {"last_rep_speed", "mean speed of the last rep, in m/s"},
    {"kind", "work, warmup or test"},
    {"stop", "why the set ended"},
    {"planned_reps", "planned reps"},
    {"cue", "the reserve at which the set was to stop"},
    {"called_at_rep", "the rep at which the reserve was called"},
    {"session", "which of two sessions in one day"},
    {"place", "the place"},
    {"side", "both, left or right"},
    {"joined", "the mark that alternated sets share"},
    {"part_of", "the unit a drop or rest-pause set belongs to"},
    {"part", "its number in that unit"},
    {"body_mass", "body mass"},
    {"tempo", "tempo"},
    {"partial_reps", "partial reps"},
    {"extra_kind", "chain or band"},
    {"pain", "whether it hurt"},
    {"note", "a note"},
}};

}  // namespace

const LogColumnInfo& log_column_info(LogColumn column) { return kColumns[static_cast<std::size_t>(column)]; }

std::optional<LogColumn> parse_log_column(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  const auto normal = [](char c) {
    if (c == ' ' || c == '-') return '_';
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  };
  for (std::size_t i = 0; i < kColumns.size(); ++i) {
    const std::string_view name = kColumns[i].name;
    if (name.size() != text.size()) continue;
    std::size_t same = 0;
    while (same < name.size() && normal(text[same]) == name[same]) ++same;
    if (same == name.size()) return static_cast<LogColumn>(i);
  }
  return std::nullopt;
}

}  // namespace ullage::interchange
