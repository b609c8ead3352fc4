#include "engine/training/set_record.h"

#include <array>
#include <cmath>
#include <cstdlib>

namespace ullage {
namespace {

constexpr std::array<std::string_view, 3> kSides{"both", "left", "right"};
constexpr std::array<std::string_view, 3> kKinds{"work", "warmup", "test"};
constexpr std::array<std::string_view, 4> kStops{"unknown", "planned", "cue", "failed"};
constexpr std::array<std::string_view, 3> kExtraKinds{"", "chain", "band"};

template <class Enum, std::size_t N>
std::optional<Enum> find(const std::array<std::string_view, N>& names, std::string_view text) {
  for (std::size_t i = 0; i < N; ++i) {
    if (names[i] == text) return static_cast<Enum>(i);
  }
  return std::nullopt;
}

}  // namespace

std::string_view side_name(Side side) { return kSides[static_cast<std::size_t>(side)]; }
std::string_view kind_name(SetKind kind) { return kKinds[static_cast<std::size_t>(kind)]; }
std::string_view stop_name(Stop stop) { return kStops[static_cast<std::size_t>(stop)]; }
std::string_view extra_kind_name(ExtraKind kind) { return kExtraKinds[static_cast<std::size_t>(kind)]; }
std::optional<Side> parse_side(std::string_view text) { return find<Side>(kSides, text); }
std::optional<SetKind> parse_kind(std::string_view text) { return find<SetKind>(kKinds, text); }
std::optional<Stop> parse_stop(std::string_view text) { return find<Stop>(kStops, text); }
std::optional<ExtraKind> parse_extra_kind(std::string_view text) { return find<ExtraKind>(kExtraKinds, text); }

std::optional<Call> parse_call(std::string_view text) {
  Call call;
  if (!text.empty() && text.back() == '+') {
    call.open = true;
    text.remove_suffix(1);
  }
  if (text.empty() || text.size() > 4) return std::nullopt;
  int whole = 0;
  std::size_t i = 0;
  while (i < text.size() && text[i] >= '0' && text[i] <= '9') whole = whole * 10 + (text[i++] - '0');
  if (i == 0) return std::nullopt;
  double fraction = 0;
  if (i < text.size()) {
    const std::string_view rest = text.substr(i);
    if (rest == ".5" || rest == ".50")
      fraction = 0.5;
    else if (rest != ".0" && rest != ".00" && rest != ".")
      return std::nullopt;
  }
  call.reserve = whole + fraction;
  if (call.reserve > 10) return std::nullopt;
  return call;
}

std::string call_text(const Call& call) { return number_text(call.reserve) + (call.open ? "+" : ""); }

}  // namespace ullage
