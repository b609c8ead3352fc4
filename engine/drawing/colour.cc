#include "engine/drawing/colour.h"

#include <cstddef>

namespace ullage::drawing {
namespace {

struct Token {
  std::string_view name, light, dark, print;
};
// In the order of Role.
constexpr std::array<Token, kRoles.size()> kTokens = {{{"ink", "#20262b", "#ece8dd", "#000000"},
                                                       {"quiet", "#5b6268", "#a4abaf", "#4a4f53"},
                                                       {"rule", "#dcd8cd", "#343b3f", "#c8c8c8"},
                                                       {"paper", "#fbfaf6", "#171b1e", "#ffffff"},
                                                       {"done", "#1f5a63", "#6fb3bb", "#164a52"},
                                                       {"planned", "#a9c6c4", "#3f6467", "#a9c6c4"},
                                                       {"doubt", "#e3a94a", "#b9842f", "#e3a94a"},
                                                       {"median", "#9a6410", "#edbb66", "#7d4f08"},
                                                       {"harm", "#a63a22", "#e8836b", "#8e2d17"}}};

const Token& token(Role role) { return kTokens[static_cast<std::size_t>(role)]; }

}  // namespace

std::string_view role_name(Role role) { return token(role).name; }

std::string_view colour(Role role, Theme theme) {
  switch (theme) {
    case Theme::light: return token(role).light;
    case Theme::dark: return token(role).dark;
    case Theme::print: return token(role).print;
  }
  return token(role).light;
}

}  // namespace ullage::drawing
