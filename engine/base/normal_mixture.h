// A mixture of normals in one dimension: its moments and quantiles, without drawing from it.
#pragma once

#include <vector>

namespace ullage {

struct NormalPart {
  double weight = 1;  // not negative; of a sum that need not be 1
  double mean = 0, sd = 1;
};
using NormalMixture = std::vector<NormalPart>;

struct MixtureMoments {
  double mean = 0, sd = 0;
};
MixtureMoments moments(const NormalMixture& mixture);
// Of exp(X), where that is above `least`, else of `least`.
MixtureMoments exp_moments(const NormalMixture& mixture, double least = 0);
// x with P(X <= x) = p, 0 < p < 1, to 1e-10 of the mixture's sd: Newton's steps, halved into the bracket of the parts'
// own quantiles where they leave it. Parts without weight play no part; one of the others must be there. Cost: some
// five times an error function for each part.
double quantile(const NormalMixture& mixture, double p);

}  // namespace ullage
