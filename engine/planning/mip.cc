#include "engine/planning/mip.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

namespace ullage::planning {
namespace {

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.15g", value);
  return text;
}

}  // namespace

int Mip::add_column(std::string name, double low, double high, double column_worth, bool whole) {
  columns.push_back({std::move(name), low, high, column_worth, whole});
  return static_cast<int>(columns.size()) - 1;
}

void Mip::add_row(std::string name, double low, double high, std::vector<MipTerm> terms, int rule) {
  if (low == -kNoLimit && high == kNoLimit) return;
  std::map<int, double> sums;
  for (const MipTerm& t : terms) sums[t.column] += t.factor;
  std::vector<MipTerm> clean;
  for (const auto& [column, factor] : sums) {
    if (factor != 0) clean.push_back({column, factor});
  }
  rows.push_back({std::move(name), low, high, std::move(clean), rule});
}

int Mip::add_rule(std::string words) {
  const auto found = std::find(rules.begin(), rules.end(), words);
  if (found != rules.end()) return static_cast<int>(found - rules.begin());
  rules.push_back(std::move(words));
  return static_cast<int>(rules.size()) - 1;
}

std::string to_mps(const Mip& mip) {
  std::string out = "NAME block FREE\nROWS\n N worth\n";
  std::vector<std::vector<std::pair<int, double>>> by_column(mip.columns.size());
  for (std::size_t r = 0; r < mip.rows.size(); ++r) {
    const MipRow& row = mip.rows[r];
    const char sense = row.low == row.high ? 'E' : row.high == kNoLimit ? 'G' : 'L';
    out += std::string(" ") + sense + " " + row.name + "\n";
    for (const MipTerm& t : row.terms) by_column[static_cast<std::size_t>(t.column)].emplace_back(r, t.factor);
  }
  out += "COLUMNS\n";
  bool whole = false;
  int markers = 0;
  const auto mark = [&](bool start) {
    out += " M" + std::to_string(markers++) + " 'MARKER' " + (start ? "'INTORG'" : "'INTEND'") + "\n";
  };
  for (std::size_t c = 0; c < mip.columns.size(); ++c) {
    const MipColumn& column = mip.columns[c];
    if (column.whole != whole) {
      mark(column.whole);
      whole = column.whole;
    }
    // Written even when 0, so that a column without rows is known.
    out += " " + column.name + " worth " + number(column.worth == 0 ? 0.0 : -column.worth) + "\n";
    for (const auto& [r, factor] : by_column[c]) {
      out += " " + column.name + " " + mip.rows[static_cast<std::size_t>(r)].name + " " + number(factor) + "\n";
    }
  }
  if (whole) mark(false);
  out += "RHS\n";
  std::string ranges;
  for (const MipRow& row : mip.rows) {
    const double side = row.high == kNoLimit ? row.low : row.high;
    if (side != 0) out += " RHS " + row.name + " " + number(side) + "\n";
    if (row.low != row.high && row.low != -kNoLimit && row.high != kNoLimit) {
      ranges += " RNG " + row.name + " " + number(row.high - row.low) + "\n";
    }
  }
  if (!ranges.empty()) out += "RANGES\n" + ranges;
  out += "BOUNDS\n";
  for (const MipColumn& column : mip.columns) {
    if (column.low == column.high) {
      out += " FX BND " + column.name + " " + number(column.low) + "\n";
      continue;
    }
    if (column.low == -kNoLimit) {
      out += " MI BND " + column.name + "\n";
    } else if (column.low != 0) {
      out += " LO BND " + column.name + " " + number(column.low) + "\n";
    }
    if (column.high == kNoLimit) {
      if (column.whole) out += " PL BND " + column.name + "\n";
    } else {
      out += " UP BND " + column.name + " " + number(column.high) + "\n";
    }
  }
  return out + "ENDATA\n";
}

double worth(const Mip& mip, const std::vector<double>& at) {
  double sum = 0;
  for (std::size_t c = 0; c < mip.columns.size(); ++c) sum += mip.columns[c].worth * at[c];
  return sum;
}

double worst_breach(const Mip& mip, const std::vector<double>& at) {
  double worst = 0;
  for (std::size_t c = 0; c < mip.columns.size(); ++c) {
    const MipColumn& column = mip.columns[c];
    worst = std::max({worst, column.low - at[c], at[c] - column.high});
    if (column.whole) worst = std::max(worst, std::abs(at[c] - std::round(at[c])));
  }
  for (const MipRow& row : mip.rows) {
    double sum = 0;
    for (const MipTerm& t : row.terms) sum += t.factor * at[static_cast<std::size_t>(t.column)];
    worst = std::max({worst, row.low - sum, sum - row.high});
  }
  return worst;
}

double MipAnswer::gap() const {
  if (at.empty()) return kNoLimit;
  const double room = std::max(0.0, bound - value);
  if (room == 0) return 0;
  return value == 0 ? kNoLimit : room / std::abs(value);
}

}  // namespace ullage::planning
