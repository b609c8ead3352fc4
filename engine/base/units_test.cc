#include "engine/base/units.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <limits>

#include "engine/base/random.h"

namespace ullage {
namespace {

TEST(Load, KeepsTheNumberItWasWrittenIn) {
  const Load written{225, Unit::pound};
  EXPECT_EQ(written.amount, 225);
  EXPECT_DOUBLE_EQ(kilograms(written).value, 102.05828325);
  EXPECT_EQ(number_text(written.amount), "225");
}

TEST(Load, PoundsToKilogramsAndBackLosesNothingThatShows) {
  Random random(1);
  for (int i = 0; i < 10000; ++i) {
    const double pounds = random.integer(0, 4000) * 0.25;
    EXPECT_NEAR(in_unit(kilograms({pounds, Unit::pound}), Unit::pound), pounds, 1e-12 * (1 + pounds));
  }
}

TEST(Load, AMarkIsABareNumber) {
  EXPECT_EQ(kilograms({7, Unit::mark}).value, 7);
  EXPECT_EQ(in_unit({7}, Unit::mark), 7);
}

TEST(Units, NamesReadBack) {
  for (const Unit unit : {Unit::kilogram, Unit::pound, Unit::mark}) EXPECT_EQ(parse_unit(unit_name(unit)), unit);
  EXPECT_EQ(parse_unit("KGs"), Unit::kilogram);
  EXPECT_EQ(parse_unit(" lbs."), Unit::pound);
  EXPECT_EQ(parse_unit("Pounds"), Unit::pound);
  EXPECT_EQ(parse_unit("kilograms"), Unit::kilogram);
  EXPECT_EQ(parse_unit("stone"), std::nullopt);
  EXPECT_EQ(parse_unit(""), std::nullopt);
}

TEST(NumberText, IsShortAndPlain) {
  EXPECT_EQ(number_text(102.5), "102.5");
  EXPECT_EQ(number_text(60), "60");
  EXPECT_EQ(number_text(-7.5), "-7.5");
  EXPECT_EQ(number_text(0.1), "0.1");
  EXPECT_EQ(number_text(0), "0");
  EXPECT_EQ(number_text(-0.0), "0");
  EXPECT_EQ(number_text(1000000), "1000000");
  EXPECT_EQ(number_text(123456789), "123456789");
  EXPECT_EQ(number_text(1.0 / 3), "0.3333333333333333");
  EXPECT_EQ(number_text(0.00001), "0.00001");
}

// Few decimals have a way of their own: it writes what the C library writes with the fewest figures.
TEST(NumberText, FewDecimalsAreWrittenAsTheShortest) {
  Random random(3);
  for (int i = 0; i < 20000; ++i) {
    const double scale = std::pow(10.0, std::floor(random.uniform(0, 5)));  // 0 to 4 decimals
    const double value = std::floor(random.uniform(-1e6, 1e6)) / scale;
    char text[64];
    for (int digits = 1; digits <= 17; ++digits) {
      std::snprintf(text, sizeof text, "%.*g", digits, value);
      if (std::strtod(text, nullptr) == value) break;
    }
    if (std::string(text).find('e') == std::string::npos && value != 0) {
      EXPECT_EQ(number_text(value), text);
    }
  }
  EXPECT_EQ(number_text(99999999999.999), "99999999999.999");
  EXPECT_EQ(number_text(-0.001), "-0.001");
  EXPECT_EQ(number_text(1e14), "100000000000000");
}

TEST(NumberText, ReadsBackToTheSameNumber) {
  Random random(2);
  for (int i = 0; i < 20000; ++i) {
    const double value = std::exp(random.uniform(-40, 40)) * (random.chance(0.5) ? 1 : -1);
    EXPECT_EQ(std::strtod(number_text(value).c_str(), nullptr), value);
  }
  for (const double value : {std::numeric_limits<double>::max(), std::numeric_limits<double>::min(),
                             std::numeric_limits<double>::denorm_min(), 1e15, 1e15 - 1, 1e-6, 9.999e-7}) {
    EXPECT_EQ(std::strtod(number_text(value).c_str(), nullptr), value);
  }
}

}  // namespace
}  // namespace ullage
