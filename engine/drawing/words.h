// Numbers and lines of text as pictures need them: the same on every machine, no locale asked.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace ullage::drawing {

// The typefaces of a picture: serif for names and sentences, sans for figures and labels.
enum class Face { sans, serif };

// "0.43"; a minus is U+2212, what rounds to nothing has none. decimals 0 to 9; not finite: "-" (en dash).
std::string number_text(double value, int decimals);
// "0.43 (0.19-0.66)", with an en dash; "0.43 (−0.10 to 0.96)" when an end is below 0.
std::string interval_text(double value, double low, double high, int decimals);

// About how wide a line of text is, in units of its size: a table of usual widths, good to some 5 %, so that layout
// does not depend on which fonts are installed. UTF-8.
double text_width(std::string_view text, double size, Face face = Face::sans);
// Broken at blanks into lines at most `width` wide; a single word may stick out. Never empty.
std::vector<std::string> wrapped(std::string_view text, double size, double width, Face face = Face::sans);
// Cut to `width`, with an ellipsis when something is lost.
std::string shortened(std::string_view text, double size, double width, Face face = Face::sans);

}  // namespace ullage::drawing
