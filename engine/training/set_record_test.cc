#include "engine/training/set_record.h"

#include <gtest/gtest.h>

namespace ullage {
namespace {

TEST(SetWords, ReadBack) {
  for (const Side side : {Side::both, Side::left, Side::right}) EXPECT_EQ(parse_side(side_name(side)), side);
  for (const SetKind kind : {SetKind::work, SetKind::warmup, SetKind::test})
    EXPECT_EQ(parse_kind(kind_name(kind)), kind);
  for (const Stop stop : {Stop::unknown, Stop::planned, Stop::cue, Stop::failed}) {
    EXPECT_EQ(parse_stop(stop_name(stop)), stop);
  }
  for (const ExtraKind kind : {ExtraKind::none, ExtraKind::chain, ExtraKind::band}) {
    EXPECT_EQ(parse_extra_kind(extra_kind_name(kind)), kind);
  }
  EXPECT_EQ(parse_side("middle"), std::nullopt);
  EXPECT_EQ(parse_kind(""), std::nullopt);
  EXPECT_EQ(parse_stop("cues"), std::nullopt);
}

TEST(Calls, AreReadInHalvesUpToTen) {
  EXPECT_EQ(parse_call("2"), (Call{2, false}));
  EXPECT_EQ(parse_call("1.5"), (Call{1.5, false}));
  EXPECT_EQ(parse_call("0"), (Call{0, false}));
  EXPECT_EQ(parse_call("2.0"), (Call{2, false}));
  EXPECT_EQ(parse_call("5+"), (Call{5, true}));
  EXPECT_EQ(parse_call("10"), (Call{10, false}));
  for (const char* text : {"", "+", "-1", "1.25", "11", "10.5", "two", "5++", " 2", "2 ", ".5", "1,5"}) {
    EXPECT_EQ(parse_call(text), std::nullopt) << text;
  }
}

TEST(Calls, EveryCallReadsBack) {
  for (int halves = 0; halves <= 20; ++halves) {
    for (const bool open : {false, true}) {
      const Call call{halves / 2.0, open};
      EXPECT_EQ(parse_call(call_text(call)), call) << call_text(call);
    }
  }
  EXPECT_EQ(call_text({1.5, false}), "1.5");
  EXPECT_EQ(call_text({5, true}), "5+");
}

TEST(SetRecord, ASetNotSaidOtherwiseIsAWorkSetStoppedForReasonsUnknown) {
  const SetRecord set;
  EXPECT_EQ(set.kind, SetKind::work);
  EXPECT_EQ(set.stop, Stop::unknown);
  EXPECT_EQ(set.side, Side::both);
  EXPECT_EQ(set.load.unit, Unit::kilogram);
  SetRecord other = set;
  EXPECT_EQ(other, set);
  other.called = Call{2, false};
  EXPECT_NE(other, set);
}

}  // namespace
}  // namespace ullage
