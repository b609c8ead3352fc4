// Answers to a coach's questions from a study table, in sentences that say no more than the numbers do.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "engine/evidence/distributions.h"
#include "service/coach/evidence.h"
#include "service/interchange/cell_text.h"

namespace ullage::coach {
namespace {

using evidence::Column;

constexpr int kFewestStudies = 3;  // below: no answer (assumption)
constexpr int kFewStudies = 10;    // below: said in the sentence

bool yes(const std::string& text) {
  const std::string w = interchange::lower_case(text);
  return w == "yes" || w == "y" || w == "1" || w == "true";
}
bool no(const std::string& text) {
  const std::string w = interchange::lower_case(text);
  return w == "no" || w == "n" || w == "0" || w == "false";
}

const std::vector<std::string>* words_of(const EvidenceTable& t, const std::string& name) {
  const Column* c = evidence::find_column(t.columns, name);
  return c ? &c->words : nullptr;
}

std::string number(double x) { return fmt::format("{:.2f}", std::abs(x) < 0.005 ? 0.0 : x); }
std::string range(const evidence::Range& r) { return number(r.low) + " to " + number(r.high); }

// One of the questions: which rows, then the fit.
Answer answer(const EvidenceTable& table, const AskWish& wish, const std::string& about,
              const std::vector<std::size_t>& rows) {
  Answer a;
  a.about = about;
  const EvidenceTable part = table.subset(rows);
  a.studies = part.studies;
  a.effects = static_cast<int>(rows.size());
  if (rows.empty()) {
    a.sentence = "No usable study: nothing can be said.";
    return a;
  }
  ModelWish model;
  model.level = wish.level;
  model.cluster = "study";
  if (wish.comparison == Comparison::arms) {
    const auto* failure = words_of(part, wish.failure);
    int with = 0, without = 0;
    std::set<std::string> short_studies;
    for (std::size_t i = 0; failure && i < failure->size(); ++i) {
      with += yes((*failure)[i]) ? 1 : 0;
      without += no((*failure)[i]) ? 1 : 0;
      if (no((*failure)[i])) short_studies.insert(part.study[i]);
    }
    if (with == 0 || without == 0 || static_cast<int>(short_studies.size()) < 2) {
      a.sentence = fmt::format(
          "Cannot be answered from this table: {} effects of training to failure, {} of stopping short, from {} "
          "{}; two studies that stopped short are the least.",
          with, without, short_studies.size(), short_studies.size() == 1 ? "study" : "studies");
      return a;
    }
    model.terms = {{evidence::Shape::levels, wish.failure, "", {}, 3}};
  }
  if (a.studies < kFewestStudies) {
    a.sentence = fmt::format("{} {}: too few to pool.", a.studies, a.studies == 1 ? "study" : "studies");
    return a;
  }
  if (part.studies < a.effects) {
    model.random = {"study", "effect"};
    model.correlation = wish.correlation;
  }
  auto fit = fit_evidence(part, model);
  if (!fit) {
    a.sentence = "Cannot be answered: " + fit.error().message + ".";
    return a;
  }
  // With robust errors; by arms the coefficient of the level that is not the reference.
  const std::size_t which = wish.comparison == Comparison::arms ? 1 : 0;
  const evidence::Coefficient& c = fit->summary.coefficients[which];
  double sign = wish.short_minus_failure ? 1 : -1;
  if (wish.comparison == Comparison::arms)
    sign = no(fit->terms.levels(wish.failure).front()) ? -1 : 1;  // second less first
  a.answered = fit->summary.converged;
  a.estimate = sign * c.estimate;
  a.interval = sign > 0 ? c.interval : evidence::Range{-c.interval.high, -c.interval.low};
  a.p = c.p;
  a.i2 = fit->summary.i2;
  a.heterogeneity = fit->summary.heterogeneity;
  // A new study: its own effect differs by all heterogeneity; between two groups of one study the study's part is gone
  // and the groups' counts twice. Degrees of freedom: those of the robust interval.
  double spread = a.heterogeneity;
  if (wish.comparison == Comparison::arms && fit->sigma2.size() == 2) spread = 2 * fit->sigma2[1];
  const double half = evidence::student_quantile(0.5 + wish.level / 2, c.df) * std::sqrt(c.se * c.se + spread);
  a.prediction = {a.estimate - half, a.estimate + half};

  const std::string unit = part.measure == evidence::Measure::given
                               ? ""
                               : std::string(" (") + std::string(evidence::measure_name(part.measure)) + ")";
  const std::string what =
      fmt::format("{} {}, {} effects: stopping short against failure {} ({}){}.", a.studies,
                  a.studies == 1 ? "study" : "studies", a.effects, number(a.estimate), range(a.interval), unit);
  std::string finding;
  if (a.interval.low > 0) {
    finding = " The pooled difference favours stopping short.";
  } else if (a.interval.high < 0) {
    finding = " The pooled difference favours failure.";
  } else {
    finding = fmt::format(
        " No clear difference: anything from {} in favour of {} to {} in favour of stopping short fits these studies.",
        number(-a.interval.low), "failure", number(std::max(a.interval.high, 0.0)));
  }
  std::string caveat;
  if (a.prediction.low < 0 && a.prediction.high > 0 && (a.interval.low > 0 || a.interval.high < 0))
    caveat += fmt::format(" In a new study it may go either way ({}).", range(a.prediction));
  if (c.df < 4) {
    caveat += fmt::format(" It rests on {:.1f} degrees of freedom: take it as a hint.", c.df);
  } else if (a.studies < kFewStudies) {
    caveat += " Few studies: the next ones may change it.";
  }
  if (wish.comparison == Comparison::arms)
    caveat += " Groups of different studies are compared, which is no experiment.";
  a.sentence = what + finding + caveat;
  return a;
}

}  // namespace

Result<Answers> ask_evidence(const EvidenceTable& table, const AskWish& wish) {
  if (!table.turned && wish.comparison == Comparison::arms)
    return fail(Code::invalid_input,
                "--better: is more of the outcome better, or less? Say more or less, or give a column \"better\"");
  std::vector<std::size_t> all;
  const auto* outcome = words_of(table, "outcome");
  if (!wish.outcome.empty() && !outcome)
    return fail(Code::invalid_input, "--about: the study table has no column \"outcome\"");
  for (std::size_t i = 0; i < table.study.size(); ++i) {
    if (wish.outcome.empty() || interchange::lower_case((*outcome)[i]) == interchange::lower_case(wish.outcome))
      all.push_back(i);
  }
  if (all.empty()) return fail(Code::invalid_input, "--about: no usable row has the outcome \"" + wish.outcome + "\"");
  if (wish.comparison == Comparison::arms) {
    const auto* failure = words_of(table, wish.failure);
    if (!failure) return fail(Code::invalid_input, "--failure: the study table has no column \"" + wish.failure + "\"");
    all.erase(std::remove_if(all.begin(), all.end(),
                             [&](std::size_t i) { return !yes((*failure)[i]) && !no((*failure)[i]); }),
              all.end());
  }
  Answers out;
  out.question = "Does stopping short cost " +
                 (wish.outcome.empty()            ? std::string("anything")
                  : wish.outcome == "hypertrophy" ? "growth"
                                                  : wish.outcome) +
                 "?";
  const auto where = [&](const std::string& column, bool wanted) {
    std::vector<std::size_t> rows;
    const auto* words = words_of(table, column);
    for (const std::size_t i : all) {
      if (words && (wanted ? yes((*words)[i]) : no((*words)[i]))) rows.push_back(i);
    }
    return rows;
  };
  const auto add = [&](const std::string& about, const std::string& column, bool wanted) {
    if (!column.empty() && !words_of(table, column)) {
      Answer a;
      a.about = about;
      a.sentence = "The study table has no column \"" + column + "\": nothing can be said.";
      out.answers.push_back(a);
      return;
    }
    out.answers.push_back(answer(table, wish, about, column.empty() ? all : where(column, wanted)));
  };
  add("all studies", "", true);
  add("volume equated", wish.volume, true);
  add("volume not equated", wish.volume, false);
  add("trained only", wish.trained, true);

  // Holm 1979, Scand J Stat 6(2):65-70.
  std::vector<Answer*> given;
  for (Answer& a : out.answers) {
    if (a.answered) given.push_back(&a);
  }
  std::sort(given.begin(), given.end(), [](const Answer* a, const Answer* b) { return a->p < b->p; });
  double worst = 0;
  for (std::size_t i = 0; i < given.size(); ++i) {
    worst = std::max(worst, std::min(1.0, given[i]->p * static_cast<double>(given.size() - i)));
    given[i]->p_adjusted = worst;
  }
  if (given.size() > 1)
    out.multiplicity = fmt::format(
        "{} answers from the same studies: were there no difference at all, the chance of at least one p below .05 "
        "would still be up to {:.0f} %. Judge by the adjusted p; parts were not compared with each other.",
        given.size(), 100 * (1 - std::pow(0.95, static_cast<double>(given.size()))));
  return out;
}

}  // namespace ullage::coach
