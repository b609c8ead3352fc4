#include "service/interchange/mapping_pick.h"

#include <gtest/gtest.h>

namespace ullage::interchange {
namespace {

// What was picked is what is read again from the text.
Mapping picked(const std::string& toml, const std::vector<MappingPick>& picks) {
  auto mapping = parse_mapping(toml);
  EXPECT_TRUE(mapping);
  for (const MappingPick& p : picks) {
    const auto done = pick(*mapping, p);
    EXPECT_TRUE(done) << done.error().message;
  }
  const auto again = parse_mapping(mapping_text(*mapping));
  EXPECT_TRUE(again) << again.error().message << mapping_text(*mapping);
  EXPECT_EQ(*again, *mapping);
  return *mapping;
}

TEST(MappingPicked, FieldByField) {
  const Mapping m = picked("", {{.field = "date", .columns = {"Day"}},
                                {.field = "exercise", .columns = {"Lift", "Variant"}, .join = ", "},
                                {.field = "load", .columns = {"#D"}, .unit = "lb"},
                                {.field = "reps", .columns = {"Reps"}},
                                {.field = "called_reserve", .columns = {"RPE"}, .as = "rpe"},
                                {.field = "lifter", .columns = {"(B1)"}},
                                {.field = "kind", .constant = "work"}});
  EXPECT_EQ(m.columns.at(LogColumn::load).unit, Unit::pound);
  EXPECT_EQ(m.columns.at(LogColumn::exercise).join, ", ");
  EXPECT_EQ(m.columns.at(LogColumn::called_reserve).form, CellForm::rpe);
  EXPECT_EQ(m.constants.at(LogColumn::kind), "work");
}

TEST(MappingPicked, AChoiceRulesOutWhatItContradicts) {
  // Cells of sets hold the reps; a column of reps makes each row a set again.
  Mapping m = picked("[columns]\nreps = \"Set * reps\"\nload = { column = \"Set * kg\", unit = \"kg\" }\n",
                     {{.field = "sets", .columns = {"Work"}, .unit = "kg", .as = "rpe"}});
  EXPECT_TRUE(m.sets);
  EXPECT_TRUE(m.columns.empty());
  m = picked(mapping_text(m), {{.field = "reps", .columns = {"Reps"}}});
  EXPECT_FALSE(m.sets);
  // A constant gives way to a column, and the other way round, with what hung on it.
  m = picked("[columns]\nside = \"Arm\"\n[values.side]\nL = \"left\"\n[blanks]\nside = \"both\"\n",
             {{.field = "side", .constant = "left"}});
  EXPECT_TRUE(m.columns.empty());
  EXPECT_TRUE(m.values.empty());
  EXPECT_TRUE(m.blanks.empty());
  m = picked(mapping_text(m), {{.field = "side", .columns = {"Arm"}}});
  EXPECT_TRUE(m.constants.empty());
  m = picked(mapping_text(m), {{.field = "side"}});
  EXPECT_EQ(m, Mapping{});
  m = picked("[columns]\nunit = \"U\"\nload = \"W\"\n", {{.field = "load", .columns = {"W"}, .unit = "kg"}});
  EXPECT_EQ(m.columns.count(LogColumn::unit), 0u);
}

TEST(MappingPicked, WhatAFieldCannotHaveIsSaid) {
  Mapping m;
  for (const MappingPick& p : {MappingPick{.field = "colour", .columns = {"A"}},
                               MappingPick{.field = "load", .columns = {"A"}, .unit = "stone"},
                               MappingPick{.field = "reps", .columns = {"A"}, .unit = "kg"},
                               MappingPick{.field = "body_mass", .columns = {"A"}, .unit = "mark"},
                               MappingPick{.field = "reps", .columns = {"A"}, .as = "rpe"},
                               MappingPick{.field = "sets", .columns = {"A"}, .order = "reps"}}) {
    const auto done = pick(m, p);
    ASSERT_FALSE(done) << p.field;
    EXPECT_EQ(done.error().code, Code::invalid_input);
  }
  EXPECT_EQ(m, Mapping{});
}

}  // namespace
}  // namespace ullage::interchange
