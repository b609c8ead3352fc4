// One set as it was done and written down: the truth everything else rests on.
// Field by field the open log format (docs/log-format.md).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/units.h"

namespace ullage {

enum class Side { both, left, right };
enum class SetKind { work, warmup, test };
// How the set ended; see model section 2 for what each tells about capacity.
enum class Stop { unknown, planned, cue, failed };
enum class ExtraKind { none, chain, band };

// A called reserve: the lifter's answer to "how many more?". 0..10 in halves; `open` for "5+".
struct Call {
  double reserve = 0;
  bool open = false;
  bool operator==(const Call&) const = default;
};

struct SetRecord {
  Date date;
  std::string time;      // "18:40" or "18:40+02:00" when the log gave one, else empty
  std::string session;   // label that tells two sessions of one day apart, usually empty
  std::string exercise;  // id in the exercise library
  Side side = Side::both;

  Load load;
  int reps = 0;         // completed
  bool failed = false;  // one more rep was tried and not completed
  std::optional<Call> called;
  std::optional<int> called_at_rep;      // default: the last
  std::optional<double> rest_s;          // seconds of rest before this set
  std::optional<double> last_rep_speed;  // m/s, mean concentric
  SetKind kind = SetKind::work;
  Stop stop = Stop::unknown;
  std::optional<int> planned_reps;
  std::optional<Call> cue;  // what was prescribed
  bool pain = false;
  std::string note;
  std::string place;
  std::string joined;   // sets with one mark are alternated (superset, circuit)
  std::string part_of;  // drop and rest-pause sets: the unit they belong to
  std::optional<int> part;
  std::optional<Load> body_mass;
  std::string tempo;
  std::optional<int> partial_reps;
  ExtraKind extra_kind = ExtraKind::none;
  std::vector<std::pair<std::string, std::string>> extra;  // unknown columns, kept as notes

  bool operator==(const SetRecord&) const = default;
};

std::string_view side_name(Side side);             // "both", "left", "right"
std::string_view kind_name(SetKind kind);          // "work", "warmup", "test"
std::string_view stop_name(Stop stop);             // "unknown", "planned", "cue", "failed"
std::string_view extra_kind_name(ExtraKind kind);  // "", "chain", "band"
std::optional<Side> parse_side(std::string_view text);
std::optional<SetKind> parse_kind(std::string_view text);
std::optional<Stop> parse_stop(std::string_view text);
std::optional<ExtraKind> parse_extra_kind(std::string_view text);
// "2", "1.5", "5+"; empty optional when it is none of those or outside 0..10 in halves.
std::optional<Call> parse_call(std::string_view text);
std::string call_text(const Call& call);

}  // namespace ullage
