#include "service/words/patterns.h"

#include <gtest/gtest.h>

#include <ctime>
#include <fstream>
#include <nlohmann/json.hpp>

namespace ullage::words {
namespace {

Patterns made(const std::vector<Patterns::Pair>& pairs) {
  Writing writing;
  writing.decimal = ',';
  writing.day = [](std::string_view iso) { return "am " + std::string(iso); };
  writing.paper_day = [](std::string_view day) { return std::string(day); };
  writing.weekdays = {{"Mon", "Mo"}};
  writing.muscles = {{"chest", "Brust"}};
  writing.words = {{"under", "unter"}, {"mark", "Marke"}};
  return {pairs, writing};
}
std::string said(const Patterns& patterns, std::string_view text) { return patterns.say(text).value_or("?"); }

TEST(Patterns, NumbersTakeTheDecimalSignAndChooseTheWord) {
  const Patterns p = made({{"{n} set(s) at {q}", "{n} {n:Satz|Sätze} mit {q}"}});
  EXPECT_EQ(said(p, "1 set at 42.5 kg"), "1 Satz mit 42,5 kg");
  EXPECT_EQ(said(p, "3 sets at mark 12"), "3 Sätze mit Marke 12");
  EXPECT_EQ(said(p, "-1.5 sets at -2.5 kg"), "\u22121,5 Sätze mit \u22122,5 kg");
  EXPECT_EQ(said(p, "some sets at 42.5 kg"), "?");
}

TEST(Patterns, ThePatternWithMoreWordsGoesFirst) {
  const Patterns p = made({{"{x} is out", "{x} entfällt"}, {"{x} is out: {y}", "{x} entfällt: {y}"}});
  EXPECT_EQ(said(p, "bench press is out: pain"), "bench press entfällt: pain");
  EXPECT_EQ(said(p, "bench press is out"), "bench press entfällt");
}

TEST(Patterns, ATextWithinIsSaidOrThePatternDoesNotFit) {
  const Patterns p = made({{"Why: {t}", "Warum: {t}"}, {"Note: {y}", "Notiz: {y}"}, {"too heavy", "zu schwer"}});
  EXPECT_EQ(said(p, "Why: too heavy"), "Warum: zu schwer");
  EXPECT_EQ(said(p, "Why: my own words"), "?");
  EXPECT_EQ(said(p, "Note: my own words"), "Notiz: my own words");
}

TEST(Patterns, SentencesLinesAndPartsAreSaidOneByOne) {
  const Patterns p =
      made({{"Stop.", "Halt."}, {"Go on.", "Weiter."}, {"stop", "halt"}, {"go", "los"}, {"Eat {x}.", "Iss {x}."}});
  EXPECT_EQ(said(p, "Stop. Go on."), "Halt. Weiter.");
  EXPECT_EQ(said(p, "stop; go\nstop"), "halt; los\nhalt");
  EXPECT_EQ(said(p, "Eat 2.5 apples. Go on."), "Iss 2.5 apples. Weiter.");  // a place swallows no sentence
}

TEST(Patterns, APlaceThatStandsTwiceHoldsTheSameTwice) {
  const Patterns p = made({{"{n} of {n}", "alle {n}"}, {"{d}, {w}: {m}", "{d}, {w}: {m}"}});
  EXPECT_EQ(said(p, "3 of 3"), "alle 3");
  EXPECT_EQ(said(p, "3 of 4"), "?");
  EXPECT_EQ(said(p, "2026-03-09, Mon: chest"), "am 2026-03-09, Mo: Brust");
  EXPECT_EQ(said(p, "2026-03-09, Mon: elbow"), "?");
}

TEST(Patterns, EndsWhateverItIsGiven) {
  const Patterns p = made({{"{x}a{y}a{c}a{q}a{k}", "{x}"}, {"{t}; {t1}", "{t}; {t1}"}});
  EXPECT_FALSE(p.say(""));
  EXPECT_FALSE(p.say("\n \n"));
  EXPECT_FALSE(p.say(std::string(4001, 'a')));
  p.say(std::string(3000, 'a') + ":");
  p.say(std::string(1000, ';') + " " + std::string(1000, ' '));
}

TEST(German, WordsOfPeopleCostLittle) {
  std::string colons, points, both;
  for (int i = 0; i < 400; ++i) {
    colons += "ab: ";
    points += "ab; ";
    both += "is: 2 sets (1 to 3); Out. ";
  }
  for (const std::string& text : {colons, points, both}) {
    const auto begin = std::clock();
    german().say(text.substr(0, 4000));
    EXPECT_LT(static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC, 10) << text.substr(0, 20);
  }
}

TEST(German, DaysOfPapersAndLists) {
  EXPECT_EQ(said(german(), "Report of Mon 9 Mar 2026"), "Bericht vom Mo 9. März 2026");
  EXPECT_EQ(said(german(), "1. Bench press, left side"), "1. Bench press, linke Seite");
}

// The sentences of web/tests/unit/heard.txt were said by the running program; the page says them in German as said.json
// has it.
TEST(German, SaysWhatThePageSays) {
  std::ifstream in(std::string(ULLAGE_SOURCE_DIR) + "/web/tests/unit/said.json");
  const auto pairs = nlohmann::json::parse(in);
  ASSERT_GT(pairs.size(), 300U);
  for (const auto& [english, other] : pairs.items()) {
    EXPECT_EQ(said(german(), english), other.get<std::string>());
  }
}

}  // namespace
}  // namespace ullage::words
