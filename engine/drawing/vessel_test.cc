#include "engine/drawing/vessel.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "engine/drawing/svg.h"

namespace ullage::drawing {
namespace {

template <class T>
std::vector<T> of(const Picture& picture) {
  std::vector<T> out;
  for (const Shape& shape : picture.shapes()) {
    if (const T* one = std::get_if<T>(&shape)) out.push_back(*one);
  }
  return out;
}

Picture drawn(const VesselSet& set, At floor = {100, 200}) {
  Picture picture(kColumn, "A set", "One set.");
  draw_vessel(picture, floor, set);
  picture.end_at(240);
  return picture;
}

const VesselSet kSet{8, false, false, false, 9, 10, 12, {}, "8", "set 1"};

TEST(Vessel, FillEndsAtTheRepsAndTheRimIsOpen) {
  const Picture picture = drawn(kSet);
  const auto areas = of<Area>(picture);
  ASSERT_EQ(areas.size(), 1U);
  double top = 1e9;
  for (const At& at : areas[0].points) top = std::min(top, at.y);
  EXPECT_DOUBLE_EQ(top, 200 - 8 * 8);
  // The wall starts and ends at the median: both ends up there, nothing joins them but the median's own line.
  const auto lines = of<Line>(picture);
  const auto wall = std::max_element(lines.begin(), lines.end(),
                                     [](const Line& a, const Line& b) { return a.points.size() < b.points.size(); });
  EXPECT_DOUBLE_EQ(wall->points.front().y, 200 - 10 * 8);
  EXPECT_DOUBLE_EQ(wall->points.back().y, 200 - 10 * 8);
  EXPECT_LT(wall->points.front().x, wall->points.back().x);
  // The haze fades out: its ends are fainter than its middle.
  const auto haze = of<Box>(picture);
  ASSERT_GT(haze.size(), 3U);
  EXPECT_LT(haze.front().fill.opacity, haze[haze.size() / 3].fill.opacity);
  EXPECT_LT(haze.back().fill.opacity, haze[haze.size() / 3].fill.opacity);
  EXPECT_NEAR(haze.back().y, 200 - 12 * 8, 1e-9);
}

TEST(Vessel, AMissBreaksTheRimAndACallPoints) {
  VesselSet set = kSet;
  set.done = true;
  const auto rims = [](const Picture& p) {
    const auto lines = of<Line>(p);
    return std::count_if(lines.begin(), lines.end(), [](const Line& l) { return l.stroke.role == Role::harm; });
  };
  EXPECT_EQ(rims(drawn(set)), 0);
  set.missed = true;
  EXPECT_EQ(rims(drawn(set)), 2);
  const auto areas = of<Area>(drawn(set)).size();
  set.called = 2;
  EXPECT_EQ(of<Area>(drawn(set)).size(), areas + 1);
  EXPECT_GE(vessel_height(set), (8 + 2) * 8);
}

TEST(Vessel, APartIsDashedAndEmptyOnesAreDrawn) {
  VesselSet set = kSet;
  set.part = true;
  const auto lines = of<Line>(drawn(set));
  EXPECT_TRUE(std::any_of(lines.begin(), lines.end(), [](const Line& l) { return !l.stroke.dash.empty(); }));
  const Picture nothing = drawn({});
  EXPECT_TRUE(of<Area>(nothing).empty());
  EXPECT_EQ(svg_text(nothing), svg_text(drawn({})));
}

}  // namespace
}  // namespace ullage::drawing
