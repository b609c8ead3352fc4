// Colours by what they mean, never by their name. The tokens of light, dark and print.
//
// Teal is done, pale teal planned; ochre is doubt and dark ochre its median; brick is kept for harm. A difference that
// matters is never told by colour alone: give it a dash, a shape or a word as well. colour_test.cc checks the contrast
// of each pair that is drawn, and that the roles stay apart under the three common colour-vision deficiencies.
#pragma once

#include <array>
#include <string_view>

namespace ullage::drawing {

enum class Role {
  ink,      // text, walls, axes that must be seen
  quiet,    // labels of axes, notes
  rule,     // hairlines behind the data
  paper,    // the ground, also halos behind text
  done,     // what was measured or done
  planned,  // what is planned or expected
  doubt,    // an interval, laid on at kDoubtOpacity
  median,   // the middle of an interval
  harm      // only for what hurts
};
inline constexpr std::array kRoles = {Role::ink,     Role::quiet, Role::rule,   Role::paper, Role::done,
                                      Role::planned, Role::doubt, Role::median, Role::harm};

enum class Theme { light, dark, print };

inline constexpr double kDoubtOpacity = 0.4;

// "ink", "done": also the ending of the class names in SVG text (see svg.h).
std::string_view role_name(Role role);
// "#20262b".
std::string_view colour(Role role, Theme theme = Theme::light);

}  // namespace ullage::drawing
