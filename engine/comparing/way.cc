#include "engine/comparing/way.h"

#include <algorithm>
#include <cctype>

namespace ullage::comparing {
namespace {

// Whole number of the whole text, -1 when it is none.
int whole(std::string_view text) {
  if (text.empty() || text.size() > 2) return -1;
  int value = 0;
  for (const char c : text) {
    if (!std::isdigit(static_cast<unsigned char>(c))) return -1;
    value = value * 10 + (c - '0');
  }
  return value;
}

tl::unexpected<Error> refused(std::string_view text, const std::string& expected) {
  return fail(Code::invalid_input, "strategy \"" + std::string(text) + "\": " + expected + " was expected");
}

}  // namespace

std::optional<int> Way::end_of(int index, int count) const {
  if (last_to_failure && index + 1 >= count) return std::nullopt;
  return ends[std::min(static_cast<std::size_t>(std::max(0, index)), ends.size() - 1)];
}

bool Way::fails(int count) const {
  for (int i = 0; i < count; ++i) {
    if (!end_of(i, count)) return true;
  }
  return false;
}

std::optional<int> Way::own_count() const {
  return ends.size() > 1 ? std::optional(static_cast<int>(ends.size())) : std::nullopt;
}

Result<Way> parse_way(std::string_view text) {
  Way way;
  way.key = std::string(text);
  if (text == "failure") {
    way.name = "all to failure";
    way.ends = {std::nullopt};
    return way;
  }
  if (text == "last-failure") {
    way.name = "last set to failure";
    way.ends = {kOthersOfLastFailure};
    way.last_to_failure = true;
    return way;
  }
  if (text.starts_with("reserve:")) {
    const int reserve = whole(text.substr(8));
    if (reserve < 1 || reserve > kMostReserve) {
      return refused(text, "reserve: and 1 to 10 reps (for none, failure)");
    }
    way.name = std::to_string(reserve) + " in reserve";
    way.ends = {reserve};
    return way;
  }
  if (text.starts_with("list:")) {
    std::string_view rest = text.substr(5);
    while (true) {
      const std::size_t comma = rest.find(',');
      const int reserve = whole(rest.substr(0, comma));
      if (reserve < 0 || reserve > kMostReserve)
        return refused(text, "list: and 0 to 10 reps for each set, such as list:3,2,1,0");
      way.ends.push_back(reserve == 0 ? std::nullopt : std::optional(reserve));
      way.name += (way.name.empty() ? "" : ", ") + (reserve == 0 ? std::string("failure") : std::to_string(reserve));
      if (comma == std::string_view::npos) break;
      rest.remove_prefix(comma + 1);
    }
    if (way.ends.size() > static_cast<std::size_t>(kMostSetsOfWay)) return refused(text, "a list of at most 20 sets");
    if (way.ends.back()) way.name += " in reserve";
    return way;
  }
  return refused(text, "failure, reserve:2, last-failure or list:3,2,1,0");
}

}  // namespace ullage::comparing
