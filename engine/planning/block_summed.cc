#include "engine/planning/block_summed.h"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

namespace ullage::planning {
namespace {

// The name without its second number, which is the day (block_model.h).
std::string without_day(const std::string& name) {
  const auto first = name.find('.');
  const auto second = first == std::string::npos ? first : name.find('.', first + 1);
  if (second == std::string::npos) return name;
  const auto third = name.find('.', second + 1);
  return name.substr(0, second) + (third == std::string::npos ? std::string() : name.substr(third));
}

class Summing {
 public:
  explicit Summing(const BlockModel& model) : model_(model), mip_(model.mip) {}

  SummedBlock sum() {
    find_days();
    columns();
    rows();
    recovery();
    return std::move(out_);
  }

 private:
  // Rows that are added up, one side of them: <= high, or >= low.
  struct Side {
    std::map<int, double> factors;  // by column of the block's programme
    double limit = 0;
  };

  void find_days() {
    day_.assign(mip_.columns.size(), -1);
    const auto note = [&](int column, int day) { day_[static_cast<std::size_t>(column)] = day; };
    for (const auto* of : {&model_.y, &model_.v, &model_.f, &model_.u, &model_.t, &model_.change}) {
      for (const auto& [key, column] : *of) note(column, std::get<1>(key));
    }
    for (const auto* of : {&model_.s, &model_.c}) {
      for (const auto& [key, column] : *of) note(column, std::get<1>(key));
    }
    for (const auto& [key, column] : model_.a) note(column, key.second);
  }
  int day(int column) const { return day_[static_cast<std::size_t>(column)]; }

  void columns() {
    std::map<std::string, int> by_name;
    out_.column.assign(mip_.columns.size(), -1);
    for (std::size_t c = 0; c < mip_.columns.size(); ++c) {
      const MipColumn& own = mip_.columns[c];
      const std::string name = day_[c] < 0 ? own.name : without_day(own.name);
      const auto [found, fresh] = by_name.try_emplace(name, static_cast<int>(out_.mip.columns.size()));
      out_.column[c] = found->second;
      if (fresh) {
        out_.mip.columns.push_back({name, own.low, own.high, own.worth, own.whole});
        members_.push_back({static_cast<int>(c)});
        continue;
      }
      MipColumn& sum = out_.mip.columns[static_cast<std::size_t>(found->second)];
      sum.low += own.low;
      sum.high += own.high;
      sum.worth = std::max(sum.worth, own.worth);
      members_[static_cast<std::size_t>(found->second)].push_back(static_cast<int>(c));
    }
  }

  void rows() {
    std::map<std::string, Side> high, low;
    for (const MipRow& row : mip_.rows) {
      std::vector<int> days;
      for (const MipTerm& t : row.terms) days.push_back(day(t.column));
      const bool of_one_day = !days.empty() && days.front() >= 0 &&
                              std::all_of(days.begin(), days.end(), [&](int d) { return d == days.front(); });
      const std::string name = of_one_day ? without_day(row.name) : row.name;
      const auto add = [&](std::map<std::string, Side>& to, double limit) {
        Side& side = to[name];
        side.limit += limit;
        for (const MipTerm& t : row.terms) side.factors[t.column] += t.factor;
      };
      if (row.high != kNoLimit) add(high, row.high);
      if (row.low != -kNoLimit) add(low, row.low);
    }
    // A sum over days is at least the least factor times the sum: columns are never negative.
    for (const auto& [name, side] : high) out_.mip.add_row(name + "<", -kNoLimit, side.limit, merged(side, false));
    for (const auto& [name, side] : low) out_.mip.add_row(name + ">", side.limit, kNoLimit, merged(side, true));
  }
  std::vector<MipTerm> merged(const Side& side, bool most) const {
    std::map<int, std::vector<double>> factors;
    for (const auto& [column, factor] : side.factors)
      factors[out_.column[static_cast<std::size_t>(column)]].push_back(factor);
    std::vector<MipTerm> terms;
    for (auto& [column, of] : factors) {
      if (of.size() < members_[static_cast<std::size_t>(column)].size()) of.push_back(0);
      const double factor = most ? *std::max_element(of.begin(), of.end()) : *std::min_element(of.begin(), of.end());
      if (factor != 0) terms.push_back({column, factor});
    }
    return terms;
  }

  // Windows of days in which a muscle is trained once at most say nothing of a sum; on how many days of a week they
  // leave room for it does.
  void recovery() {
    std::map<int, std::vector<int>> days_of;  // by column here: the block's
    for (const auto& [key, u] : model_.u) days_of[out_.column[static_cast<std::size_t>(u)]].push_back(u);
    std::map<int, std::vector<unsigned>> windows;  // by column here: its days that exclude each other
    for (const MipRow& row : mip_.rows) {
      if (row.high != 1) continue;
      std::map<int, unsigned> bits;
      bool plain = true;
      for (const MipTerm& t : row.terms) {
        const int sum = out_.column[static_cast<std::size_t>(t.column)];
        const auto found = days_of.find(sum);
        plain = plain && t.factor == 1 && found != days_of.end();
        if (!plain) break;
        const auto at = std::find(found->second.begin(), found->second.end(), t.column) - found->second.begin();
        bits[sum] |= 1U << static_cast<unsigned>(at);
      }
      if (!plain) continue;
      for (const auto& [sum, days] : bits) windows[sum].push_back(days);
    }
    const auto count = [](unsigned days) {
      int n = 0;
      for (; days; days &= days - 1) ++n;
      return n;
    };
    for (const auto& [sum, of] : windows) {
      const auto all = 1U << static_cast<unsigned>(days_of.at(sum).size());
      int most = 0;
      for (unsigned days = 0; days < all; ++days) {
        if (std::all_of(of.begin(), of.end(), [&](unsigned window) { return count(days & window) <= 1; }))
          most = std::max(most, count(days));
      }
      out_.mip.add_row("days." + out_.mip.columns[static_cast<std::size_t>(sum)].name, -kNoLimit, most, {{sum, 1}});
    }
  }

  const BlockModel& model_;
  const Mip& mip_;
  SummedBlock out_;
  std::vector<int> day_;                   // by column; -1: of no day
  std::vector<std::vector<int>> members_;  // by column here: the block's
};

}  // namespace

SummedBlock summed_over_days(const BlockModel& model) { return Summing(model).sum(); }

std::vector<double> SummedBlock::point(const std::vector<double>& at) const {
  std::vector<double> out(mip.columns.size(), 0);
  for (std::size_t c = 0; c < at.size(); ++c) out[static_cast<std::size_t>(column[c])] += at[c];
  return out;
}

}  // namespace ullage::planning
