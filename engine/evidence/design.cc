#include "engine/evidence/design.h"

#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <set>

namespace ullage::evidence {
namespace {

constexpr double kDependent = 1e-8;  // share of a column's length that is left when it follows from others

std::string plain(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

std::string cell_word(const Column& column, std::size_t i) {
  return column.numeric ? plain(column.numbers[i]) : column.words[i];
}

// Quantile by linear interpolation between order statistics: Hyndman and Fan 1996, type 7.
double quantile(const std::vector<double>& sorted, double p) {
  const double at = p * static_cast<double>(sorted.size() - 1);
  const auto low = static_cast<std::size_t>(std::floor(at));
  const std::size_t high = std::min(low + 1, sorted.size() - 1);
  return sorted[low] + (at - std::floor(at)) * (sorted[high] - sorted[low]);
}

std::vector<double> quantile_knots(const Column& column, int count) {
  static const std::vector<std::vector<double>> shares = {
      {0.1, 0.5, 0.9}, {0.05, 0.35, 0.65, 0.95}, {0.05, 0.275, 0.5, 0.725, 0.95}};
  std::vector<double> sorted;
  for (const double x : column.numbers) {
    if (std::isfinite(x)) sorted.push_back(x);
  }
  std::vector<double> knots;
  if (sorted.empty()) return knots;
  std::sort(sorted.begin(), sorted.end());
  for (const double share : shares[static_cast<std::size_t>(std::clamp(count, 3, 5) - 3)])
    knots.push_back(quantile(sorted, share));
  return knots;
}

std::string in_quotes(const std::string& word) { return std::string(1, '"').append(word).append(1, '"'); }

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) out += i + 1 == words.size() ? " and " : ", ";
    out += in_quotes(words[i]);
  }
  return out;
}

}  // namespace

bool Column::missing(std::size_t i) const { return numeric ? !std::isfinite(numbers[i]) : words[i].empty(); }

const Column* find_column(const std::vector<Column>& columns, const std::string& name) {
  for (const Column& c : columns) {
    if (c.name == name) return &c;
  }
  return nullptr;
}

std::vector<std::string> Terms::columns() const {
  std::vector<std::string> out;
  const auto add = [&](const std::string& name) {
    if (!name.empty() && std::find(out.begin(), out.end(), name) == out.end()) out.push_back(name);
  };
  for (const Part& part : parts_) {
    add(part.term.column);
    add(part.term.with);
  }
  return out;
}

std::vector<double> Terms::knots(const std::string& column) const {
  for (const Part& part : parts_) {
    if (part.term.shape == Shape::spline && part.term.column == column) return part.term.knots;
  }
  return {};
}

std::vector<std::string> Terms::levels(const std::string& column) const {
  for (const Part& part : parts_) {
    for (const Levels* l : {&part.first, &part.second}) {
      if (l->column == column) return l->all;
    }
  }
  return {};
}

std::vector<double> spline_basis(double x, const std::vector<double>& t) {
  const std::size_t k = t.size();
  const auto cube = [](double u) { return u > 0 ? u * u * u : 0.0; };
  const double last = t[k - 1] - t[k - 2], range = (t[k - 1] - t[0]) * (t[k - 1] - t[0]);
  std::vector<double> out{x};
  for (std::size_t j = 0; j + 2 < k; ++j) {
    out.push_back((cube(x - t[j]) - cube(x - t[k - 2]) * (t[k - 1] - t[j]) / last +
                   cube(x - t[k - 1]) * (t[k - 2] - t[j]) / last) /
                  range);
  }
  return out;
}

Result<Terms> resolve(const std::vector<Term>& terms, const std::vector<Column>& columns) {
  Terms out;
  out.names_ = {"intercept"};
  const auto levels_of = [&](const std::string& name, bool force) -> Result<Terms::Levels> {
    const Column* column = find_column(columns, name);
    if (!column) return fail(Code::invalid_input, "no column \"" + name + "\" in the study table");
    Terms::Levels levels{name, {}};
    if (column->numeric && !force) return levels;
    // Words in the order of their bytes, numbers in their own: both are the same in every locale.
    std::vector<std::pair<double, std::string>> found;
    for (std::size_t i = 0; i < column->size(); ++i) {
      if (!column->missing(i)) found.emplace_back(column->numeric ? column->numbers[i] : 0, cell_word(*column, i));
    }
    std::sort(found.begin(), found.end());
    found.erase(std::unique(found.begin(), found.end()), found.end());
    for (auto& [number, word] : found) levels.all.push_back(std::move(word));
    if (levels.all.size() < 2) {
      std::string problem = "column " + in_quotes(name);
      if (levels.all.empty())
        problem += " holds no value";
      else
        problem.append(" holds one value only, ").append(in_quotes(levels.all[0]));
      return fail(Code::invalid_input, problem + ": it cannot be a moderator");
    }
    return levels;
  };
  for (const Term& term : terms) {
    Terms::Part part{term, {}, {}};
    const Column* column = find_column(columns, term.column);
    const bool curve = term.shape == Shape::quadratic || term.shape == Shape::spline;
    auto first = levels_of(term.column, term.shape == Shape::levels);
    if (!first) return tl::unexpected(first.error());
    if (curve && !column->numeric)
      return fail(Code::invalid_input, "column \"" + term.column + "\" holds words: a curve needs numbers");
    part.first = *std::move(first);
    if (term.shape == Shape::product) {
      auto second = levels_of(term.with, false);
      if (!second) return tl::unexpected(second.error());
      part.second = *std::move(second);
    }
    if (term.shape == Shape::spline) {
      std::vector<double>& knots = part.term.knots;
      if (knots.empty()) knots = quantile_knots(*column, term.knot_count);
      std::sort(knots.begin(), knots.end());
      knots.erase(std::unique(knots.begin(), knots.end()), knots.end());
      if (knots.size() < 3)
        return fail(Code::invalid_input, "column \"" + term.column +
                                             "\" has too few different values for a spline: give 3 knots or more that "
                                             "differ, or take a straight line");
    }
    const auto names_of = [](const Terms::Levels& l) {
      std::vector<std::string> names;
      for (std::size_t i = 1; i < l.all.size(); ++i) names.push_back(l.column + " = " + l.all[i]);
      if (l.all.empty()) names.push_back(l.column);
      return names;
    };
    if (term.shape == Shape::product) {
      for (const std::string& a : names_of(part.first)) {
        for (const std::string& b : names_of(part.second)) out.names_.push_back(a + " x " + b);
      }
    } else if (term.shape == Shape::quadratic) {
      out.names_.push_back(term.column);
      out.names_.push_back(term.column + "^2");
    } else if (term.shape == Shape::spline) {
      out.names_.push_back(term.column);
      for (std::size_t j = 1; j + 1 < part.term.knots.size(); ++j)
        out.names_.push_back(term.column + ", bend " + std::to_string(j));
    } else {
      for (const std::string& name : names_of(part.first)) out.names_.push_back(name);
    }
    out.parts_.push_back(std::move(part));
  }
  return out;
}

Result<Eigen::MatrixXd> Terms::matrix(const std::vector<Column>& columns) const {
  // An effect's values of one side of a term: a slope's number, or 0 and 1 for each level after the reference.
  const auto values = [&](const Levels& levels, std::size_t i) -> Result<std::vector<double>> {
    const Column& column = *find_column(columns, levels.column);
    if (levels.all.empty()) return std::vector<double>{column.numbers[i]};
    const std::string word = cell_word(column, i);
    std::vector<double> out;
    bool known = word == levels.all[0];
    for (std::size_t l = 1; l < levels.all.size(); ++l) {
      out.push_back(word == levels.all[l] ? 1 : 0);
      known = known || word == levels.all[l];
    }
    if (!known)
      return fail(Code::invalid_input,
                  "\"" + word + "\" is no value that column \"" + levels.column + "\" was fitted with");
    return out;
  };
  std::size_t rows = 1;
  for (const std::string& name : this->columns()) {
    const Column* column = find_column(columns, name);
    if (!column) return fail(Code::invalid_input, "no column \"" + name + "\" in the study table");
    rows = column->size();
  }
  if (parts_.empty() && !columns.empty()) rows = columns.front().size();
  Eigen::MatrixXd x(static_cast<Eigen::Index>(rows), static_cast<Eigen::Index>(names_.size()));
  for (std::size_t i = 0; i < rows; ++i) {
    Eigen::Index at = 0;
    const auto row = static_cast<Eigen::Index>(i);
    x(row, at++) = 1;
    for (const Part& part : parts_) {
      if (part.term.shape == Shape::quadratic || part.term.shape == Shape::spline) {
        const double value = find_column(columns, part.term.column)->numbers[i];
        if (part.term.shape == Shape::quadratic) {
          x(row, at++) = value;
          x(row, at++) = value * value;
        } else {
          for (const double b : spline_basis(value, part.term.knots)) x(row, at++) = b;
        }
        continue;
      }
      const auto first = values(part.first, i);
      if (!first) return tl::unexpected(first.error());
      if (part.term.shape != Shape::product) {
        for (const double value : *first) x(row, at++) = value;
        continue;
      }
      const auto second = values(part.second, i);
      if (!second) return tl::unexpected(second.error());
      for (const double a : *first) {
        for (const double b : *second) x(row, at++) = a * b;
      }
    }
  }
  return x;
}

std::vector<std::size_t> complete_rows(const std::vector<std::string>& needed, const std::vector<Column>& columns,
                                       std::size_t rows) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < rows; ++i) {
    bool whole = true;
    for (const std::string& name : needed) {
      const Column* column = find_column(columns, name);
      whole = whole && column && !column->missing(i);
    }
    if (whole) out.push_back(i);
  }
  return out;
}

Result<void> check_design(const Eigen::MatrixXd& x, const std::vector<std::string>& names) {
  if (x.rows() <= x.cols())
    return fail(Code::invalid_input, std::to_string(x.rows()) + " effects cannot carry " + std::to_string(x.cols()) +
                                         " coefficients: leave terms out, or bring more studies");
  // Each column against those before it: the first that follows from them is the one to name.
  std::vector<Eigen::Index> kept;
  std::string faults;
  const auto add = [&](const std::string& fault) {
    if (!faults.empty()) faults += '\n';
    faults += fault;
  };
  for (Eigen::Index j = 0; j < x.cols(); ++j) {
    const double length = x.col(j).norm();
    const std::string& name = names[static_cast<std::size_t>(j)];
    if (length == 0) {
      add("term " + in_quotes(name) + " is 0 for every effect: leave it out");
      continue;
    }
    if (!kept.empty()) {
      Eigen::MatrixXd before(x.rows(), static_cast<Eigen::Index>(kept.size()));
      for (std::size_t i = 0; i < kept.size(); ++i) {
        before.col(static_cast<Eigen::Index>(i)) = x.col(kept[i]) / x.col(kept[i]).norm();
      }
      const Eigen::VectorXd share = before.colPivHouseholderQr().solve(x.col(j) / length);
      if ((x.col(j) / length - before * share).norm() < kDependent) {
        std::vector<std::string> others;
        for (std::size_t i = 0; i < kept.size(); ++i) {
          if (std::abs(share(static_cast<Eigen::Index>(i))) > 1e-6)
            others.push_back(names[static_cast<std::size_t>(kept[i])]);
        }
        add("term " + in_quotes(name) + " follows from " + joined(others) +
            ": these effects cannot tell them apart, so leave one out");
        continue;
      }
    }
    kept.push_back(j);
  }
  if (!faults.empty()) return fail(Code::invalid_input, faults);
  return {};
}

}  // namespace ullage::evidence
