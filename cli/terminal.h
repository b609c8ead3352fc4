// What is printed, and how: at most 80 columns, colour only where wanted, plain ASCII where the locale is not UTF-8.
#pragma once

#include <cstdint>
#include <ostream>
#include <string>
#include <string_view>

#include "engine/base/units.h"
#include "engine/capacity/session_forecast.h"

namespace ullage::cli {

inline constexpr std::size_t kColumns = 80;

// Letters shown, not bytes: UTF-8 code points.
std::size_t shown_width(std::string_view text);
// Padded with blanks to `width` letters; never cut.
std::string padded(std::string_view text, std::size_t width, bool right = false);
// Cut to `width` letters, "..." at the end when something is lost.
std::string cut(std::string_view text, std::size_t width);

class Terminal {
 public:
  // only_raw: nothing but raw() prints, for JSON.
  Terminal(std::ostream& out, bool colour, bool utf8, bool only_raw = false)
      : out_(out), colour_(colour), utf8_(utf8), only_raw_(only_raw) {}
  bool utf8() const { return utf8_; }

  // One line; longer ones are broken at blanks, further lines indented by `hang` more than the first.
  void line(std::string_view text = "", std::size_t indent = 0, std::size_t hang = 2);
  // The same, set off: a finding.
  void heading(std::string_view text);
  // The same, quieter.
  void quiet(std::string_view text, std::size_t indent = 0, std::size_t hang = 2);
  // A warning or a caution: marked with "!" so that it does not rest on colour.
  void caution(std::string_view text);
  // As it stands, no breaking; for JSON and drawings.
  void raw(std::string_view text) { out_ << text << '\n'; }
  std::ostream& stream() { return out_; }
  bool colour() const { return colour_; }

 private:
  void lines(std::string_view text, std::size_t indent, std::size_t hang, std::string_view on);
  std::ostream& out_;
  bool colour_;
  bool utf8_;
  bool only_raw_;
};

// ---- Numbers with their unit and interval.

// "121 kg (118-124)"; "-0.2 (-0.5 to 0.1)" when an end is below 0. factor: multiplies all; `unit` may be empty.
std::string interval_text(const capacity::Interval& interval, int decimals, std::string_view unit, double factor = 1);
// "102.5 kg".
std::string load_text(const Load& load);
// "2:30", "45 s" below a minute.
std::string rest_text(double seconds);
// "1 set", "4 sets".
std::string counted(std::int64_t n, std::string_view one);
// "3 %", "<1 %".
std::string percent_text(double share);
// Whole reps as people count them: the floor, never below 0, "2 (1-4)".
std::string whole_reps_text(const capacity::Interval& interval);

}  // namespace ullage::cli
