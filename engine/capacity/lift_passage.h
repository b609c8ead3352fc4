// The way of a lift's strength in a posterior from its last session to a later day.
#pragma once

#include "engine/capacity/latent_field.h"
#include "engine/capacity/posterior.h"

namespace ullage::capacity {

// Trend, drift and lay-off from s.last to this day, which is not before p.as_of; a lift met that day or later stays
// where it is. s: one of p.lifts.
Passage passage_to(const Posterior& p, const LiftSummary& s, Date day);

}  // namespace ullage::capacity
