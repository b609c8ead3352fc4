#include "engine/planning/why.h"

#include <cmath>

#include "engine/base/units.h"

namespace ullage::planning {

std::string percent_text(double probability) {
  const long percent = std::lround(probability * 100);
  if (percent <= 0 && probability > 0) return "under 1 %";
  if (percent >= 100 && probability < 1) return "over 99 %";
  return std::to_string(percent) + " %";
}

std::string reps_text(int reps) { return std::to_string(reps) + (reps == 1 ? " rep" : " reps"); }

std::string why_line(const WhyFacts& facts) {
  const std::string have = std::to_string(static_cast<int>(std::floor(facts.have + 1e-9)));
  std::string line;
  if (facts.called) {
    const std::string called = number_text(*facts.called);
    line = "You say " + called + " and have about " + have + ": stop at 'would call " + called + "'; ";
  } else {
    line = "When you say 0 you still have about " + have + ", too early to stop on: the reps are fixed; ";
  }
  switch (facts.decided) {
    case WhyFacts::Decided::band:
      line += reps_text(facts.more) + " more would be ";
      if (facts.p_more >= 0.35 && facts.p_more <= 0.65) {
        line += "a coin toss (" + percent_text(facts.p_more) + ").";
      } else {
        line += "reached in " + percent_text(facts.p_more) + " of cases.";
      }
      break;
    case WhyFacts::Decided::limit:
      line += std::string(facts.next_is_load ? "the next load" : "one rep more") +
              " would take the chance of a miss from " + percent_text(facts.miss_now) + " to " +
              percent_text(facts.miss_next) + ", over the limit of " + percent_text(facts.miss_limit) + ".";
      break;
    case WhyFacts::Decided::floor:
      line += "at least " + number_text(facts.floor) + " must stay in reserve (" + facts.floor_from +
              "), and the chance of less is " + percent_text(facts.under_floor) + ".";
      break;
    case WhyFacts::Decided::load_cap:
      line += "the load is held down (" + facts.cap_from + ") to " + percent_text(facts.cap_share) + " of strength.";
      break;
  }
  return line;
}

}  // namespace ullage::planning
