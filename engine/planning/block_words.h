// The rules of a block in words: the same words name a rule when it is broken and when nothing fits. And the numbers
// behind the weekly limits, which the model and the checker share.
#pragma once

#include <string>
#include <vector>

#include "engine/planning/block.h"

namespace ullage::planning {

// Most and least sets of a muscle in this week: the lower of the rule's share and the week's own cap; the least is
// taken down with the week's share and is 0 in weeks that are no usual ones.
double most_sets(const BlockProblem& problem, int week, int muscle);
double least_week_sets(const BlockProblem& problem, int week, int muscle);

// A special week has its share of the plan's own ordinary weeks: of every muscle that a goal counts, at most that share
// of the mean of what it has in them. Parts whose sets the coach fixed in the special week are counted on neither side.
// Ordinary: a usual week with all of its days, or with what lies behind known. Their indices; empty: the share is of
// the most sets instead.
std::vector<int> ordinary_weeks(const BlockProblem& problem);
bool of_ordinary(const BlockWeek& week);                        // has such a share, where there are ordinary weeks
bool share_counts(const BlockProblem& problem, Muscle muscle);  // for the muscle
bool sets_fixed(const BlockProblem& problem, int week, int exercise, int weekday);  // by the coach, in number

namespace words {

std::string barred(const BlockProblem& problem, int exercise, int week, int day);
std::string most_days(const BlockExercise& exercise);
std::string most_exercises(int most);
std::string recovery(const BlockProblem& problem, Muscle muscle);
std::string minutes(const BlockProblem& problem, int week, int day);
std::string most_session(const BlockProblem& problem, Muscle muscle);
std::string least_session(const BlockProblem& problem, Muscle muscle);
std::string most_week(const BlockProblem& problem, int week, Muscle muscle);
std::string week_share(const BlockProblem& problem, int week, Muscle muscle);
std::string least_week(const BlockProblem& problem, Muscle muscle);
std::string least_heavy(const BlockProblem& problem, int lift);
std::string balance(const Balance& balance);
std::string must(const BlockProblem& problem, const MustHave& must);
std::string test(const BlockProblem& problem, const BlockTest& test);
std::string fixed(const BlockProblem& problem, const FixedPart& part);

// "12", "2.5".
std::string short_number(double value);

}  // namespace words
}  // namespace ullage::planning
