#include "engine/drawing/svg.h"

#include <gmock/gmock.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include "engine/drawing/plot.h"

namespace ullage::drawing {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

// One of everything.
Picture sample() {
  Picture p(kColumn, "Two short costs little: growth at 2 in reserve is 0.97 (0.92–1.02) of growth at failure",
            "A made-up curve with its interval, to show every kind of shape.");
  const double top = p.heading("made-up numbers");
  std::vector<double> xs, means, lows, highs;
  for (int i = 0; i <= 10; ++i) {
    xs.push_back(i);
    means.push_back(1 - 0.04 * i);
    lows.push_back(means.back() - 0.05 - 0.01 * i);
    highs.push_back(means.back() + 0.05 + 0.01 * i);
  }
  Plot plot(p, {52, top + 24, 330, top + 224}, Scale::linear(0, 10), Scale::around({0.4, 1.1}));
  plot.grid_y();
  plot.axis_x("reps in reserve");
  plot.axis_y("growth against failure");
  plot.band(xs, lows, highs);
  plot.line(xs, means, {Role::median, 2, {6, 3}, 1});
  plot.rule_y(1, "as at failure");
  plot.whisker_y(2, 0.9, 1.05);
  plot.whisker_y(6, -2, 3);
  plot.whisker_x(0.5, 1, 30);
  double x = 1;
  for (const Mark mark : {Mark::dot, Mark::ring, Mark::square, Mark::diamond, Mark::triangle, Mark::cross})
    plot.point(x++, 0.7, mark, 4, Role::done, 1, mark == Mark::dot ? "one <study> & \"another\"" : "");
  plot.label_end(10, means.back(), "all studies", Role::median);
  plot.label_over(4, means[4], "middle");
  p.end_at(p.note(top + 224 + Plot::axis_height(true) + 8, "A note below: made-up numbers show nothing."));
  return p;
}

TEST(Svg, SampleIsAsDrawnBefore) {
  const std::string path = ULLAGE_SOURCE_DIR "/tests/golden/drawing-sample.svg";
  const std::string now = svg_text(sample());
  if (const char* wish = std::getenv("ULLAGE_GOLDEN"); wish && std::string(wish) == "write")
    std::ofstream(path, std::ios::binary) << now;
  std::ifstream in(path, std::ios::binary);
  std::ostringstream kept;
  kept << in.rdbuf();
  EXPECT_EQ(now, kept.str()) << "look at the picture; ULLAGE_GOLDEN=write keeps it";
}

TEST(Svg, SaysWhatItIs) {
  const std::string svg = svg_text(sample());
  EXPECT_THAT(svg, HasSubstr("role=\"img\""));
  EXPECT_THAT(svg, HasSubstr("aria-labelledby=\"title desc\""));
  EXPECT_THAT(svg, HasSubstr("<title id=\"title\">Two short costs little"));
  EXPECT_THAT(svg, HasSubstr("width=\"88mm\""));
  const std::string inside = svg_text(sample(), {Theme::dark, true, true, "a"});
  EXPECT_THAT(inside, HasSubstr("aria-labelledby=\"titlea desca\""));
  EXPECT_THAT(inside, Not(HasSubstr("<?xml")));
  EXPECT_THAT(inside, HasSubstr("#171b1e"));
}

TEST(Svg, TextCannotBreakOut) {
  EXPECT_EQ(escaped("<script>&\"'"), "&lt;script&gt;&amp;&quot;&#39;");
  EXPECT_EQ(escaped("a\x01\x7f"
                    "b\nc"),
            "ab c");
  EXPECT_EQ(escaped("\xC0\xAF\xED\xA0\x80\xEF\xBF\xBFé–\xF0\x9F\x99\x82\xE2\x82"), "é–\xF0\x9F\x99\x82");
  EXPECT_THAT(svg_text(sample()), HasSubstr("<title>one &lt;study&gt; &amp; &quot;another&quot;</title>"));
}

TEST(Words, NumbersAreTheSameEverywhere) {
  EXPECT_EQ(number_text(0.126, 2), "0.13");
  EXPECT_EQ(number_text(-0.126, 2), "\u22120.13");
  EXPECT_EQ(number_text(-0.001, 2), "0.00");
  EXPECT_EQ(number_text(12345.6, 0), "12346");
  EXPECT_EQ(number_text(NAN, 2), "\u2013");
  EXPECT_EQ(number_text(1e300, 2), "\u221E");
  EXPECT_EQ(interval_text(0.43, 0.19, 0.66, 2), "0.43 (0.19\u20130.66)");
  EXPECT_EQ(interval_text(0.43, -0.1, 0.96, 2), "0.43 (\u22120.10 to 0.96)");
}

TEST(Words, LinesKeepTheirWidth) {
  const std::string text = "Growth at two in reserve is about what it is at failure, when volume is equal";
  for (const double width : {100.0, 200.0, 388.0}) {
    std::string joined;
    for (const std::string& line : wrapped(text, kSmall, width)) {
      EXPECT_LE(text_width(line, kSmall), width);
      joined += (joined.empty() ? "" : " ") + line;
    }
    EXPECT_EQ(joined, text);
  }
  EXPECT_EQ(wrapped("", kSmall, 100).size(), 1U);
  EXPECT_LE(text_width(shortened(text, kSmall, 90), kSmall), 90);
  EXPECT_THAT(shortened(text, kSmall, 90), HasSubstr("\u2026"));
  EXPECT_EQ(shortened("short", kSmall, 90), "short");
}

TEST(Plot, LinesAndBandsAreCutWhereThereIsNoValue) {
  Picture p(kColumn, "t", "d");
  Plot plot(p, {0, 0, 100, 100}, Scale::linear(0, 4), Scale::linear(0, 1));
  plot.line({0, 1, 2, 3, 4}, {0, 0.5, NAN, 0.5, 1});
  plot.band({0, 1, 2, 3, 4}, {0, 0, NAN, 0, 0}, {1, 1, 1, 1, 1});
  plot.point(NAN, 1);
  EXPECT_EQ(p.shapes().size(), 4U);
}

}  // namespace
}  // namespace ullage::drawing
