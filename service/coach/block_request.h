// What a coach asks of a block, as a text: templates, request files and the request kept with an accepted plan are all
// of this one form (docs/planning.md lists every key). TOML with named keys; unknown keys are errors, not ignored.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/planning/block.h"

namespace ullage::coach {

struct BlockRequest {
  std::string name, about;
  int weeks = 6;
  std::optional<Date> from;  // taken back to its Monday; empty: next Monday, or today when it is one
  struct Day {
    int weekday = 1;
    double minutes = 60;
    std::string place;  // empty: the lifter's usual
  };
  std::vector<Day> days;  // empty: as many as the lifter's profile says

  std::map<Muscle, double> goals;  // weight of a muscle's growth; empty: all main muscles alike
  struct Lift {
    std::string exercise;
    double weight = 1, least_heavy = 0;
  };
  std::vector<Lift> lifts;  // strength goals
  struct Limits {
    std::optional<double> least_week, most_week, least_session, most_session;
    std::optional<int> recovery_hours;
  };
  Limits every;  // of every muscle
  std::map<Muscle, Limits> muscles;

  struct Must {
    std::string exercise;
    int days = 1, from_week = 1, to_week = 99;
  };
  struct Ban {
    std::string exercise;          // this or
    std::optional<Muscle> muscle;  // every exercise that trains it directly
    std::optional<Date> from, until;
    std::string why;
  };
  struct Fixed {
    std::string exercise;
    int weekday = 1, from_week = 1, to_week = 99;
    std::optional<int> sets, reserve;
  };
  struct Order {
    std::string first, then;
  };
  struct BalanceRule {
    std::string name;
    std::vector<Muscle> of, against;
    double ratio = 1.5;
  };
  struct Test {
    std::string exercise;
    int week = 1;
  };
  std::vector<Must> must;
  std::vector<Ban> ban;
  std::vector<Fixed> fixed;
  std::vector<Order> order;
  std::vector<BalanceRule> balance;
  std::vector<Test> tests;

  struct Week {
    int number = 1;
    planning::WeekKind kind = planning::WeekKind::lighter;
    double share = 0.6;
    int least_reserve = 0;
    bool failure = true;
    std::string why, note;
  };
  std::vector<Week> special;  // lighter weeks and others that are no usual ones
  struct Travel {
    Date from, until;
    std::string place;      // empty: where those days are trained otherwise
    std::vector<Day> days;  // empty: the usual days
  };
  std::vector<Travel> travel;
  struct Target {
    Date date;
    std::string kind = "meet";  // or "photo"
  };
  std::optional<Target> target;
  // Back after illness or injury: from this day on, over so many weeks, from a first share of the sets to all of them.
  struct Return {
    Date from;
    int weeks = 2;
    double first_share = 0.5;
    std::string why;
  };
  std::optional<Return> coming_back;

  // A day of the plan that was missed, moved or cut short.
  struct DayChange {
    Date date;
    std::optional<Date> to;         // moved there
    std::optional<double> minutes;  // cut to; neither: missed
  };
  std::vector<DayChange> day_changes;

  std::vector<std::string> exercises;  // only these; empty: the known ones and the library's
  int most_exercises = 7;
  int least_sets = 2, most_sets = 4;
  double most_rise = 0.2;  // of a muscle's weekly sets from week to week; common practice, no source
  double price = 0.01;     // of one per cent of strength lost, in units of the effect
  bool alternate = false;
  bool exercises_stay = true;
  std::vector<std::string> readings;  // of growth short of failure (readings.h); empty: all there are
  int lifters_on_rack = 1;            // who share a rack: rest is at least the others' sets
};

// invalid_input: one line per fault with its line in the text; unknown keys are named with the nearest known one.
Result<BlockRequest> read_request(std::string_view toml);
// The same as text; reading it back gives an equal request.
std::string request_toml(const BlockRequest& request);

std::string_view week_kind_name(planning::WeekKind kind);
std::optional<planning::WeekKind> parse_week_kind(std::string_view text);
std::optional<int> parse_weekday(std::string_view text);  // "Mon", "monday", "1"

}  // namespace ullage::coach
