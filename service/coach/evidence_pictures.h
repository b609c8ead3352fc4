// Pictures of pooled evidence, one journal column wide.
#pragma once

#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/drawing/picture.h"
#include "engine/evidence/reading.h"
#include "service/coach/evidence.h"

namespace ullage::coach {

inline constexpr int kMostForestRows = 60;  // more effects are drawn by study

// What the lines of a forest are: an effect each, or, when there are many, a study each (its effects' mean weighted by
// precision).
struct ForestRow {
  std::string name;
  double y = 0, se = 0;
};
std::vector<ForestRow> forest_rows(const EvidenceFit& fit);

// Each effect (or, when there are many, each study: its effects' mean weighted by precision) with its interval; below,
// the pooled effect as a diamond and where a new study may lie. Only without moderators are the last two drawn.
drawing::Picture forest_picture(const EvidenceFit& fit);
// Effects against their standard errors, with the cone in which 95 % lie if nothing but sampling spreads them.
drawing::Picture funnel_picture(const EvidenceFit& fit);
// The first coefficient with each study left out.
drawing::Picture influence_picture(const EvidenceFit& fit, const EvidenceChecks& checks);
// The fitted mean along a column, its interval and where new studies may lie, over the effects (larger is more
// precise).
drawing::Picture curve_picture(const EvidenceFit& fit, const std::string& along,
                               const std::vector<evidence::CurvePoint>& curve);

}  // namespace ullage::coach
