// A way to train an exercise: how close to failure each of its sets ends, in words and as data.
//
//   Result<Way> way = parse_way("last-failure");
//   way->name == "last set to failure"; way->end_of(2, 3) == std::nullopt
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"

namespace ullage::comparing {

inline constexpr int kMostReserve = 10;         // reps, of a way
inline constexpr int kMostSetsOfWay = 20;       // sets, also where sets are added
inline constexpr int kOthersOfLastFailure = 2;  // reserve of the sets before the last (common practice, no source)

struct Way {
  std::string key;   // as it is asked for: "reserve:2"
  std::string name;  // in words: "2 in reserve"
  std::vector<std::optional<int>>
      ends;                      // reserve of each set, whole reps; empty: to failure. Further sets end as the last
  bool last_to_failure = false;  // the last set, however many there are, goes to failure

  // Reserve of set `index` (from 0) of `count`; empty: to failure.
  std::optional<int> end_of(int index, int count) const;
  // A set of `count` goes to failure.
  bool fails(int count) const;
  // Sets the way itself asks for: the length of a list; empty: any number.
  std::optional<int> own_count() const;
};

// "failure", "reserve:R" (R whole, 1 to 10), "last-failure" (the others 2 in reserve), "list:3,2,1,0" (one a set, 0 to
// 10; 0 goes to failure). invalid_input: says what was expected.
Result<Way> parse_way(std::string_view text);

}  // namespace ullage::comparing
