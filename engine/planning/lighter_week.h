// When the data ask for a lighter week. Never the calendar alone, and never an order: a proposal with the numbers that
// caused it, which the coach accepts or rejects.
#pragma once

#include <optional>
#include <string>

#include "engine/planning/recent_form.h"

namespace ullage::planning {

// Limits (assumption, but for the share of sets, which is common practice without a source). What they do on simulated
// lifters stands in docs/comparing.md.
inline constexpr int kLighterLeastSessions = 3;      // in the two weeks
inline constexpr double kLighterUnder = -0.015;      // strength against forecast: this much less, or more ...
inline constexpr double kLighterSure = 0.90;         // ... and under it with this probability
inline constexpr double kLighterAloneUnder = -0.03;  // so far under that it speaks alone ...
inline constexpr double kLighterAloneSure = 0.975;   // ... with this probability
inline constexpr int kLighterLeastMisses = 3;        // fewer misses say nothing
inline constexpr double kLighterMissChance = 0.05;   // chance of so many misses under which they count
inline constexpr double kLighterAloneMissChance = 0.005;
inline constexpr double kLighterTired = -0.005;    // mean readiness this low counts beside strength ...
inline constexpr double kLighterTiredSure = 0.9;   // ... with this probability
inline constexpr double kLighterLeastSpent = 0.7;  // who did less than this share of the usual is not tired of it
inline constexpr double kLighterShare = 0.6;       // of the usual sets
inline constexpr double kLighterExtraReserve = 1;  // reps more in reserve; nothing to failure

struct LighterWeek {
  double probability = 0;  // that strength is under what was forecast
  std::string why;         // one sentence with the numbers
  std::string brief;       // its main number, in a few words
};

// Empty: the data do not ask for one. name_of: exercise id to name, for the sentence.
std::optional<LighterWeek> propose_lighter_week(const RecentForm& form,
                                                const std::function<std::string(const std::string&)>& name_of);

}  // namespace ullage::planning
