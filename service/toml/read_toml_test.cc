#include "service/toml/read_toml.h"

#include <gtest/gtest.h>

namespace ullage {
namespace {

TEST(ReadToml, LettersOfOtherAlphabetsStandInQuotesAndComments) {
  const auto table =
      read_toml("\xEF\xBB\xBFname = \"Übung\"  # dé\n'Größe' = '''é\n\"é\"'''\n\"ÿ\" = \"\"\"\\\"é\"\"\"\"\"\n");
  ASSERT_TRUE(table) << table.error().problem;
  EXPECT_EQ((*table)["name"].value_or(std::string()), "Übung");
  EXPECT_EQ((*table)["Größe"].value_or(std::string()), "é\n\"é\"");
  EXPECT_EQ((*table)["ÿ"].value_or(std::string()), "\"é\"\"");
}

TEST(ReadToml, LettersOutsideQuotesAreNamedByLine) {
  for (const char* text : {"a = 1\nÜbung = 1\n", "a = 1\n\xC2\xA1", "a = 1\nb = \xD2\x99", "a = 'x'\n[é]\n",
                           "a = \"\"\"x\"\"\"\né = 1", "a = 1 # é\né = 1\n"}) {
    const auto table = read_toml(text);
    ASSERT_FALSE(table) << text;
    EXPECT_EQ(table.error().line, 2) << text;
    EXPECT_FALSE(table.error().problem.empty()) << text;
  }
}

// Where the library is within a faulty value, letters in quotes count as outside; found by fuzzing.
TEST(ReadToml, LettersAfterAFaultyValue) {
  const auto table = read_toml("n=02\"1\"\"EEEE\xC3\xBA" + std::string(40, 'E') + "\n");
  ASSERT_FALSE(table);
  EXPECT_EQ(table.error().line, 1);
}

TEST(ReadToml, FaultyTextIsReportedNotAsserted) {
  using namespace std::string_view_literals;
  for (const auto text : {"[?]"sv, "[\t\0"sv, "name = ]"sv, "name ="sv, "[["sv, "a.\0"sv, "a = {"sv, "a = '"sv,
                          "\xFF"sv, "a = \"\xFF\""sv, "[a]\n[a]"sv}) {
    const auto table = read_toml(text);
    ASSERT_FALSE(table) << text;
    EXPECT_GT(table.error().line, 0) << text;
    EXPECT_FALSE(table.error().problem.empty()) << text;
  }
}

TEST(ReadToml, DeepNestingIsRefused) {
  EXPECT_FALSE(read_toml("a = " + std::string(100000, '[')));
  EXPECT_FALSE(read_toml("a = " + std::string(100000, '{')));
}

}  // namespace
}  // namespace ullage
