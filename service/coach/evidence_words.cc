// Answers to a coach's questions from a study table, in sentences that say no more than the numbers do.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
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

std::string counted_studies(int studies) { return fmt::format("{} {}", studies, studies == 1 ? "study" : "studies"); }

// Rows, by how the groups in them trained.
struct Arms {
  int failure = 0, short_of_it = 0;
  std::set<std::string> short_studies;
};
Arms arms_of(const EvidenceTable& part, const std::string& column) {
  Arms out;
  const auto* failure = words_of(part, column);
  for (std::size_t i = 0; failure && i < failure->size(); ++i) {
    out.failure += yes((*failure)[i]) ? 1 : 0;
    out.short_of_it += no((*failure)[i]) ? 1 : 0;
    if (no((*failure)[i])) out.short_studies.insert(part.study[i]);
  }
  return out;
}

// The model that every question is fitted by: effects in studies, robust errors.
ModelWish model_for(const EvidenceTable& part, const AskWish& wish) {
  ModelWish model;
  model.level = wish.level;
  model.cluster = "study";
  if (part.studies < static_cast<int>(part.y.size())) {
    model.random = {"study", "effect"};
    model.correlation = wish.correlation;
  }
  return model;
}

// What groups that trained to failure gained, where nothing stands against them.
std::string gain_at_failure(const EvidenceTable& part, const AskWish& wish) {
  std::vector<std::size_t> rows;
  const auto* failure = words_of(part, wish.failure);
  for (std::size_t i = 0; failure && i < failure->size(); ++i) {
    if (yes((*failure)[i])) rows.push_back(i);
  }
  const EvidenceTable only = part.subset(rows);
  if (only.studies < kFewestStudies) return "";
  const auto fit = fit_evidence(only, model_for(only, wish));
  if (!fit || !fit->summary.converged) return "";
  const evidence::Coefficient& c = fit->summary.coefficients[0];
  return fmt::format(
      " What it does tell: groups that trained to failure gained {} ({}), {} effects of {}, a new study {}.",
      number(c.estimate), range(c.interval), rows.size(), counted_studies(only.studies),
      range(fit->summary.prediction));
}

// Fills the answer from one coefficient, turned so that above 0 favours stopping short. spread: what a new study's own
// value differs by.
void take(Answer& a, const EvidenceFit& fit, std::size_t which, double sign, std::optional<double> spread) {
  const evidence::Coefficient& c = fit.summary.coefficients[which];
  a.answered = fit.summary.converged;
  a.estimate = sign * c.estimate;
  a.interval = sign > 0 ? c.interval : evidence::Range{-c.interval.high, -c.interval.low};
  a.p = c.p;
  a.df = c.df;
  a.i2 = fit.summary.i2;
  a.heterogeneity = fit.summary.heterogeneity;
  if (!a.answered) a.sentence = "The fit did not converge: no answer.";
  if (!spread) return;
  const double half = evidence::student_quantile(0.5 + fit.model.level / 2, c.df) * std::sqrt(c.se * c.se + *spread);
  a.prediction = {a.estimate - half, a.estimate + half};
}

// How far single studies carry it: the coefficient with each left out.
void add_checks(Answer& a, const EvidenceFit& fit, std::size_t which, double sign) {
  if (which > 0 && fit.model.random.empty()) return;
  const auto checks = check_evidence(fit, {}, static_cast<int>(which));
  if (!checks) return;
  evidence::Range reach;
  std::size_t most = checks->without.size();
  for (std::size_t i = 0; i < checks->without.size(); ++i) {
    const evidence::WithoutGroup& w = checks->without[i];
    if (!w.possible) continue;
    const double x = sign * w.estimate;
    if (most == checks->without.size() ||
        std::abs(x - a.estimate) > std::abs(sign * checks->without[most].estimate - a.estimate))
      most = i;
    reach = reach.known() ? evidence::Range{std::min(reach.low, x), std::max(reach.high, x)} : evidence::Range{x, x};
  }
  if (!reach.known()) return;
  a.without_one = reach;
  a.checks.push_back(fmt::format("Any one study left out: {} to {}; {} moves it most.", number(reach.low),
                                 number(reach.high), checks->names[most]));
  if (which == 0 && checks->egger)
    a.checks.push_back(fmt::format(
        "Small studies against large: p {:.3f}{}.", checks->egger->p,
        checks->egger->p < 0.1 ? ", they say something else (unpublished results are one reason, other people and "
                                 "programmes another)"
                               : ", no sign of a difference, which with few studies means little"));
}

// One of the parts of the table: which rows, then the fit.
Answer answer(const EvidenceTable& table, const AskWish& wish, const std::string& about,
              const std::vector<std::size_t>& rows, bool checks) {
  Answer a;
  a.about = about;
  const EvidenceTable part = table.subset(rows);
  a.studies = part.studies;
  a.effects = static_cast<int>(rows.size());
  if (rows.empty()) {
    a.sentence = "No usable study: nothing can be said.";
    return a;
  }
  const bool arms = wish.comparison == Comparison::arms;
  ModelWish model = model_for(part, wish);
  if (arms) {
    const Arms both = arms_of(part, wish.failure);
    const int studies = static_cast<int>(both.short_studies.size());
    if (both.failure == 0 || both.short_of_it == 0 || studies < 2) {
      a.sentence = fmt::format(
                       "Cannot be answered from this table: {} effects of training to failure, {} of stopping short, "
                       "from {}; two studies that stopped short are the least.",
                       both.failure, both.short_of_it, counted_studies(studies)) +
                   gain_at_failure(part, wish);
      return a;
    }
    model.terms = {{evidence::Shape::levels, wish.failure, "", {}, 3}};
  }
  if (a.studies < kFewestStudies) {
    a.sentence = counted_studies(a.studies) + ": too few to pool.";
    return a;
  }
  auto fit = fit_evidence(part, model);
  if (!fit) {
    a.sentence = "Cannot be answered: " + fit.error().message + ".";
    return a;
  }
  // By arms the coefficient of the level that is not the reference, which is the second less the first.
  const std::size_t which = arms ? 1 : 0;
  double sign = wish.short_minus_failure ? 1 : -1;
  if (arms) sign = no(fit->terms.levels(wish.failure).front()) ? -1 : 1;
  // A new study's own effect differs by all heterogeneity; between two groups of one study the study's part is gone and
  // the groups' counts twice.
  const double spread = arms && fit->sigma2.size() == 2 ? 2 * fit->sigma2[1] : fit->summary.heterogeneity;
  take(a, *fit, which, sign, spread);
  if (!a.answered) return a;
  const std::string unit = part.measure == evidence::Measure::given
                               ? ""
                               : std::string(" (") + std::string(evidence::measure_name(part.measure)) + ")";
  std::string what = fmt::format("{}, {} effects: stopping short against failure {} ({}){}.",
                                 counted_studies(a.studies), a.effects, number(a.estimate), range(a.interval), unit);
  if (evidence::is_log_ratio(part.measure))
    what += fmt::format(" As a ratio {} ({} to {}).", number(std::exp(a.estimate)), number(std::exp(a.interval.low)),
                        number(std::exp(a.interval.high)));
  std::string finding;
  if (a.interval.low > 0) {
    finding = " The pooled difference favours stopping short.";
  } else if (a.interval.high < 0) {
    finding = " The pooled difference favours failure.";
  } else {
    finding = fmt::format(
        " No clear difference: anything from {} in favour of failure to {} in favour of stopping short fits these "
        "studies.",
        number(-a.interval.low), number(std::max(a.interval.high, 0.0)));
  }
  std::string caveat;
  if (a.prediction.low < 0 && a.prediction.high > 0 && (a.interval.low > 0 || a.interval.high < 0))
    caveat += fmt::format(" In a new study it may go either way ({}).", range(a.prediction));
  if (a.df < 4) {
    caveat += fmt::format(" It rests on {:.1f} degrees of freedom: take it as a hint.", a.df);
  } else if (a.studies < kFewStudies) {
    caveat += " Few studies: the next ones may change it.";
  }
  if (arms) caveat += " Groups of different studies are compared, which is no experiment.";
  a.sentence = what + finding + caveat;
  if (checks) add_checks(a, *fit, which, sign);
  return a;
}

// Whether the difference depends on a column, or on one column differently as another is ("a,b").
Answer dependence(const EvidenceTable& table, const AskWish& wish, const std::string& by,
                  const std::vector<std::size_t>& rows) {
  Answer a;
  a.about = "by " + by;
  const bool arms = wish.comparison == Comparison::arms;
  const auto cut = by.find(',');
  const std::string first = by.substr(0, cut), second = cut == std::string::npos ? "" : by.substr(cut + 1);
  const EvidenceTable part = table.subset(rows);
  const auto refused = [&](const std::string& why) {
    a.sentence = why;
    return a;
  };
  for (const std::string& name : {first, second}) {
    if (!name.empty() && !evidence::find_column(part.columns, name))
      return refused("The study table has no column \"" + name + "\": nothing can be said.");
  }
  if (arms && !second.empty()) return refused("With rows of single groups one column at a time can be asked about.");
  ModelWish model = model_for(part, wish);
  std::string other = second;
  if (arms) {
    model.terms.push_back({evidence::Shape::levels, wish.failure, "", {}, 3});
    other = wish.failure;
  }
  model.terms.push_back({evidence::Shape::straight, first, "", {}, 3});
  if (!second.empty()) model.terms.push_back({evidence::Shape::straight, second, "", {}, 3});
  if (!other.empty()) model.terms.push_back({evidence::Shape::product, other, first, {}, 3});
  const auto fit = fit_evidence(part, model);
  if (!fit) return refused("Cannot be answered: " + fit.error().message + ".");
  a.studies = fit->data.studies;
  a.effects = static_cast<int>(fit->data.y.size());
  const auto& names = fit->terms.names();
  const std::size_t which = names.size() - 1;
  if (which != (other.empty() ? 1U : 3U))
    return refused(fmt::format("\"{}\" has more than two values that are words: ask value by value (--where).", by));
  double sign = wish.short_minus_failure ? 1 : -1;
  if (arms) sign = no(fit->terms.levels(wish.failure).front()) ? -1 : 1;
  take(a, *fit, which, sign, std::nullopt);
  if (!a.answered) return a;
  const std::vector<std::string> levels = fit->terms.levels(first);
  const std::string step = levels.empty() ? fmt::format("for 1 more in {}", first)
                                          : fmt::format("where {} is {} instead of {}", first, levels[1], levels[0]);
  std::string what = fmt::format("{}, {} effects: {} ", counted_studies(a.studies), a.effects, step);
  if (second.empty()) {
    what += fmt::format("the difference between stopping short and failure moves by {} ({}).", number(a.estimate),
                        range(a.interval));
  } else {
    const std::vector<std::string> of = fit->terms.levels(second);
    what += fmt::format("it moves otherwise {}, by {} ({}).",
                        of.empty() ? fmt::format("for 1 more in {}", second)
                                   : fmt::format("where {} is {} than where it is {}", second, of[1], of[0]),
                        number(a.estimate), range(a.interval));
  }
  if (a.interval.low > 0)
    what += " That is towards stopping short.";
  else if (a.interval.high < 0)
    what += " That is towards failure.";
  else
    what += " No clear sign that it matters, and none that it does not.";
  if (a.df < 4)
    what += fmt::format(" It rests on {:.1f} degrees of freedom: take it as a hint.", a.df);
  else if (a.studies < kFewStudies)
    what += " Fewer than 10 studies for a moderator: take it as a hint (Cochrane Handbook 6.4, 10.11.5.1).";
  what += " Studies that differ in this differ in other things too.";
  a.sentence = what;
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
    out.answers.push_back(answer(table, wish, about, column.empty() ? all : where(column, wanted), column.empty()));
  };
  add("all studies", "", true);
  add("volume equated", wish.volume, true);
  add("volume not equated", wish.volume, false);
  add("trained only", wish.trained, true);
  // Whether equating matters is a question of its own: two answers, one clear and one not, do not differ for that.
  if (out.answers[1].answered && out.answers[2].answered) {
    std::vector<std::size_t> said = where(wish.volume, true);
    const auto rest = where(wish.volume, false);
    said.insert(said.end(), rest.begin(), rest.end());
    std::sort(said.begin(), said.end());
    out.answers.push_back(dependence(table, wish, wish.volume, said));
  }
  for (const std::string& by : wish.by) out.answers.push_back(dependence(table, wish, by, all));

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
    if (given[i]->p < 1 - wish.level && worst >= 1 - wish.level)
      given[i]->sentence += fmt::format(" Counted with the other answers it is not clear (adjusted p {:.2f}).", worst);
  }
  if (given.size() > 1)
    out.multiplicity = fmt::format(
        "{} answers from the same studies: were there no difference at all, the chance of at least one p below .05 "
        "would still be up to {:.0f} %. Judge by the adjusted p.",
        given.size(), 100 * (1 - std::pow(0.95, static_cast<double>(given.size()))));
  return out;
}

}  // namespace ullage::coach
