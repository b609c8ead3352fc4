// The columns of the open log format in one table: names, order of writing, what they hold.
// docs/log-format.md explains each.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>

namespace ullage::interchange {

enum class LogColumn {
  lifter,
  date,
  exercise,
  load,
  unit,
  reps,
  called_reserve,
  failed,
  rest_s,
  last_rep_speed,
  kind,
  stop,
  planned_reps,
  cue,
  called_at_rep,
  session,
  place,
  side,
  joined,
  part_of,
  part,
  body_mass,
  tempo,
  partial_reps,
  extra_kind,
  pain,
  note
};
inline constexpr std::size_t kLogColumnCount = 27;

struct LogColumnInfo {
  std::string_view name;
  std::string_view holds;  // for questions and messages: "completed reps"
};

const LogColumnInfo& log_column_info(LogColumn column);
inline std::string_view log_column_name(LogColumn column) { return log_column_info(column).name; }
// Capitals, blanks and hyphens do not matter: "Body mass" is body_mass.
std::optional<LogColumn> parse_log_column(std::string_view text);

}  // namespace ullage::interchange
