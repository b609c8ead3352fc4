#include "engine/planning/block_infeasible.h"

#include <algorithm>

namespace ullage::planning {

Mip with_rules(const Mip& mip, const std::vector<bool>& kept) {
  Mip out;
  out.columns = mip.columns;
  for (MipColumn& column : out.columns) column.worth = 0;
  out.rules = mip.rules;
  for (const MipRow& row : mip.rows) {
    if (row.rule < 0 || kept[static_cast<std::size_t>(row.rule)]) out.rows.push_back(row);
  }
  return out;
}

Result<Contradiction> find_contradiction(const Mip& mip, const MipSolver& solve, double seconds) {
  const std::size_t n = mip.rules.size();
  Contradiction out;
  double spent = 0;
  bool sure = true;
  // Whether these rules together can be kept. Not known within the time counts as "yes", and the answer is marked.
  const auto possible = [&](const std::vector<bool>& kept) -> Result<bool> {
    if (spent > seconds) {
      sure = false;
      return true;
    }
    const auto answer = solve(with_rules(mip, kept), {std::max(1.0, (seconds - spent) / 3), 0.5, {}, {}});
    if (!answer) return tl::unexpected(answer.error());
    spent += answer->seconds;
    if (answer->end == MipEnd::infeasible) return false;
    if (answer->at.empty()) sure = false;
    return true;
  };
  std::vector<bool> kept(n, true);
  auto all = possible(kept);
  if (!all) return tl::unexpected(all.error());
  if (*all) {
    out.feasible = true;
    out.irreducible = sure;
    return out;
  }
  // Blocks of rules are left out as long as what stays still contradicts itself; then smaller blocks, down to one.
  for (std::size_t size = std::max<std::size_t>(1, n / 2);; size = (size + 1) / 2) {
    for (std::size_t from = 0; from < n; from += size) {
      std::vector<bool> fewer = kept;
      bool any = false;
      for (std::size_t i = from; i < std::min(n, from + size); ++i) {
        any = any || fewer[i];
        fewer[i] = false;
      }
      if (!any) continue;
      const auto still = possible(fewer);
      if (!still) return tl::unexpected(still.error());
      if (!*still) kept = std::move(fewer);
    }
    if (size == 1) break;
  }
  for (std::size_t i = 0; i < n; ++i) {
    if (kept[i]) out.rules.push_back(mip.rules[i]);
  }
  out.irreducible = sure;
  return out;
}

}  // namespace ullage::planning
