// The evidence bench: pooling studies, questions in plain words, dose-response, published results.
#include <fmt/core.h>

#include <cmath>
#include <fstream>
#include <sstream>

#include "cli/context.h"
#include "cli/words.h"
#include "service/coach/evidence.h"
#include "service/coach/evidence_pictures.h"
#include "service/coach/readings.h"
#include "service/interchange/fault.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

constexpr std::size_t kMostFaultsShown = 40;

tl::unexpected<Error> not_a(const std::string& option, const std::string& value, const std::string& expected) {
  return fail(Code::invalid_input, option + ": " + expected + " was expected, got \"" + value + "\"");
}

std::string number(double x, int decimals = 3) {
  const std::string text = fmt::format("{:.{}f}", x, decimals);
  return text.find_first_not_of("-0.") == std::string::npos ? fmt::format("{:.{}f}", 0.0, decimals) : text;
}

std::string p_text(double p) { return p < 0.001 ? "<0.001" : fmt::format("{:.3f}", p); }

Result<coach::EvidenceWish> read_wish(Context& c, coach::EvidenceWish wish) {
  wish.file = c.args.text("FILE");
  wish.mapping = c.args.text("--mapping");
  wish.skip_bad = c.args.flag("--skip-bad");
  if (c.args.has("--measure")) wish.measure = evidence::parse_measure(c.args.text("--measure"));
  if (c.args.has("--better")) wish.more_is_better = c.args.text("--better") == "more";
  wish.assumed_r = c.args.number("--assumed-r");
  wish.sd_from_tests = c.args.flag("--sd-from-tests");
  for (const std::string& rule : c.args.all("--where")) {
    const auto cut = rule.find('=');
    if (cut == std::string::npos || cut == 0) return not_a("--where", rule, "COLUMN=VALUE");
    wish.where.emplace_back(rule.substr(0, cut), rule.substr(cut + 1));
  }
  wish.levels = c.args.all("--levels");
  return wish;
}

void show_report(Context& c, const coach::EvidenceTable& t) {
  Terminal& term = c.term;
  term.quiet(fmt::format("{} rows read, {} effects of {} used{}", t.rows_read, t.y.size(),
                         counted(t.studies, "study") == "1 study" ? "1 study" : fmt::format("{} studies", t.studies),
                         t.turned ? "; above 0 is better" : "; signs as in the table"));
  for (const auto& d : t.dropped) {
    if (d.rows > 0)
      term.quiet(fmt::format("passed over, {}: {}", d.rule, counted(static_cast<std::int64_t>(d.rows), "row")), 2);
  }
  for (const auto& r : t.left_out)
    term.quiet(fmt::format("left out, {}: {} (first: line {})", r.reason, counted(r.rows, "row"), r.first_line), 2);
  for (const auto& r : t.worked_out) term.quiet(fmt::format("worked out, {}: {}", r.reason, counted(r.rows, "row")), 2);
  if (!t.remarks.empty())
    term.quiet(fmt::format("worth a look: {}; first: {}", counted(static_cast<std::int64_t>(t.remarks.size()), "value"),
                           interchange::fault_text(t.remarks.front())),
               2);
}

// Reads the table; what cannot be used stops it unless --skip-bad.
Result<coach::EvidenceTable> read_table(Context& c, const coach::EvidenceWish& also = {}) {
  const auto wish = read_wish(c, also);
  if (!wish) return tl::unexpected(wish.error());
  auto table = coach::gather(*wish);
  if (!table) return table;
  std::string faults;
  const auto add = [&](const std::string& line) {
    if (!faults.empty()) faults += '\n';
    faults += line;
  };
  for (std::size_t i = 0; i < table->faults.size() && i < kMostFaultsShown; ++i)
    add(interchange::fault_text(table->faults[i]));
  if (table->faults.size() > kMostFaultsShown) add(fmt::format("and {} more", table->faults.size() - kMostFaultsShown));
  if (table->refused) {
    for (const auto& r : table->left_out)
      add(fmt::format("{}: {}, first on line {}", r.reason, counted(r.rows, "row"), r.first_line));
    int rows = 0;
    for (const auto& r : table->left_out) rows += r.rows;
    add(fmt::format("nothing is pooled: {} cannot be used; --skip-bad leaves them out", counted(rows, "row")));
    return fail(Code::invalid_input, faults);
  }
  if (!faults.empty()) *c.environment.err << faults << '\n';
  return table;
}

Result<coach::ModelWish> read_model(Context& c) {
  coach::ModelWish m;
  if (c.args.has("--method")) m.method = *evidence::parse_method(c.args.text("--method"));
  m.knapp_hartung = c.args.flag("--knapp-hartung");
  m.cluster = c.args.text("--cluster");
  m.correlation = c.args.number("--correlation").value_or(0);
  m.level = c.args.number("--level").value_or(95) / 100;
  const auto knots_of = [&](const std::string& column, evidence::Term& t) -> Result<void> {
    for (const std::string& given : c.args.all("--knots")) {
      const auto cut = given.find('=');
      if (cut == std::string::npos) return not_a("--knots", given, "COLUMN=3, or COLUMN=0,3,8");
      if (given.substr(0, cut) != column) continue;
      const auto places = split(given.substr(cut + 1), ',');
      for (const std::string& place : places) {
        const auto x = parse_number(place);
        if (!x) return not_a("--knots", given, "COLUMN=3, or COLUMN=0,3,8");
        t.knots.push_back(*x);
      }
      if (places.size() == 1) {
        t.knot_count = static_cast<int>(t.knots[0]);
        t.knots.clear();
        if (t.knot_count < 3 || t.knot_count > 5) return not_a("--knots", given, "3 to 5 knots");
      }
    }
    return {};
  };
  for (const std::string& column : c.args.all("--moderator"))
    m.terms.push_back({evidence::Shape::straight, column, "", {}, 3});
  for (const std::string& column : c.args.all("--quadratic"))
    m.terms.push_back({evidence::Shape::quadratic, column, "", {}, 3});
  for (const std::string& column : c.args.all("--spline")) {
    evidence::Term t{evidence::Shape::spline, column, "", {}, 3};
    if (const auto good = knots_of(column, t); !good) return tl::unexpected(good.error());
    m.terms.push_back(t);
  }
  for (const std::string& pair : c.args.all("--interaction")) {
    const auto cut = pair.find(',');
    if (cut == std::string::npos) return not_a("--interaction", pair, "two columns such as weeks,trained");
    m.terms.push_back({evidence::Shape::product, pair.substr(0, cut), pair.substr(cut + 1), {}, 3});
  }
  if (c.args.has("--random")) {
    for (const std::string& level : split(c.args.text("--random"), '/')) {
      if (level != "study" && level != "group" && level != "effect")
        return not_a("--random", c.args.text("--random"), "study, study/effect, study/group or study/group/effect");
      m.random.push_back(level);
    }
  }
  return m;
}

void show_fit(Context& c, const coach::EvidenceFit& fit) {
  Terminal& term = c.term;
  const evidence::Summary& s = fit.summary;
  const evidence::Coefficient& first = s.coefficients[0];
  if (s.p == 1) {
    std::string line = fmt::format("Pooled {} ({} to {})", number(first.estimate), number(first.interval.low),
                                   number(first.interval.high));
    if (evidence::is_log_ratio(fit.data.measure))
      line += fmt::format(", as a ratio {} ({} to {})", number(std::exp(first.estimate), 2),
                          number(std::exp(first.interval.low), 2), number(std::exp(first.interval.high), 2));
    term.heading(line);
  } else {
    term.heading("Regression of the effects");
  }
  term.quiet(fmt::format("{}; {}", evidence::measure_words(fit.data.measure), fit.model_words));
  show_report(c, fit.data);
  term.line();
  term.line(padded("term", 26) + padded("estimate", 10, true) + padded("se", 8, true) + padded("95 %", 18, true) +
            padded("df", 7, true) + padded("p", 9, true));
  for (const evidence::Coefficient& k : s.coefficients) {
    term.line(padded(cut(k.term, 26), 26) + padded(number(k.estimate), 10, true) + padded(number(k.se), 8, true) +
              padded(number(k.interval.low, 2) + " to " + number(k.interval.high, 2), 18, true) +
              padded(std::isinf(k.df) ? "" : number(k.df, 1), 7, true) + padded(p_text(k.p), 9, true));
  }
  term.line();
  if (s.p > 1 && fit.robust) term.quiet("of all moderators together, with the model's own errors:");
  if (s.p > 1) {
    term.line(std::isinf(s.qm_df2) ? fmt::format("moderators together: chi-square {} on {:g}, p {}", number(s.qm, 2),
                                                 s.qm_df, p_text(s.qm_p))
                                   : fmt::format("moderators together: F {} on {:g} and {:g}, p {}", number(s.qm, 2),
                                                 s.qm_df, s.qm_df2, p_text(s.qm_p)));
  }
  if (fit.tau2) {
    std::string spread = fmt::format("spread between studies: tau2 {}", number(*fit.tau2, 4));
    if (fit.tau2_interval.known())
      spread += fmt::format(" ({} to {})", number(fit.tau2_interval.low, 4),
                            std::isinf(fit.tau2_interval.high) ? "no end" : number(fit.tau2_interval.high, 4));
    term.line(spread);
  }
  for (std::size_t l = 0; l < fit.sigma2.size(); ++l) {
    std::string line = fmt::format("spread between {}: sigma2 {}",
                                   fit.model.random[l] == "study"   ? "studies"
                                   : fit.model.random[l] == "group" ? "groups of a study"
                                                                    : "effects of one study",
                                   number(fit.sigma2[l], 4));
    if (l < fit.multilevel_fit.sigma2_intervals.size()) {
      const evidence::Range& r = fit.multilevel_fit.sigma2_intervals[l];
      line += fmt::format(" ({} to {})", number(r.low, 4), std::isinf(r.high) ? "no end" : number(r.high, 4));
    }
    term.line(line);
  }
  term.line(
      fmt::format("heterogeneity: Q {} on {:g} (p {}), I2 {:.0f} %", number(s.q, 1), s.q_df, p_text(s.q_p), s.i2));
  if (s.prediction.known())
    term.line(
        fmt::format("a new study's true effect: {} to {}", number(s.prediction.low, 2), number(s.prediction.high, 2)));
  for (const std::string& w : fit.warnings) term.caution(w);
}

void show_reading(Context& c, const evidence::GrowthReading& r) {
  const auto at = [&](std::size_t reps) {
    return fmt::format("{} ({} to {})", number(r.median[reps], 2), number(r.low80[reps], 2), number(r.high80[reps], 2));
  };
  c.term.line(fmt::format("{}: growth against failure, equal sets: at 2 in reserve {}, at 5 {}, at 8 {}", r.name, at(2),
                          at(5), at(8)));
  c.term.quiet(r.rests_on, 2, 0);
}

Result<void> check_plot_name(Context& c) {
  if (!c.args.has("--plot")) return {};
  const auto format = pictures::format_of(c.args.text("--plot"));
  if (!format) return tl::unexpected(format.error());
  return {};
}

}  // namespace

Result<void> run_evidence_fit(Context& c) {
  if (const auto good = check_plot_name(c); !good) return good;
  const auto table = read_table(c);
  if (!table) return tl::unexpected(table.error());
  const auto model = read_model(c);
  if (!model) return tl::unexpected(model.error());
  auto fit = coach::fit_evidence(*table, *model);
  if (!fit) return tl::unexpected(fit.error());
  if (c.args.flag("--profile") && !model->random.empty()) {
    evidence::MultilevelOptions options = fit->multilevel_options();
    options.profile_intervals = true;
    options.start = fit->sigma2;
    if (auto again = evidence::fit_multilevel(fit->multilevel(), options)) fit->multilevel_fit = *std::move(again);
  }
  const std::string picture = c.args.text("--picture", "forest");
  std::optional<coach::EvidenceChecks> checks;
  if (c.args.flag("--check") || (c.args.has("--plot") && picture == "influence")) {
    auto made = coach::check_evidence(*fit, [&](int done, int all) {
      return c.progress.tell(static_cast<double>(done) / all, "leaving out one study after another");
    });
    c.progress.clear();
    if (!made) return tl::unexpected(made.error());
    checks = *std::move(made);
  }
  if (c.json) {
    coach::Json json = coach::to_json(*fit);
    if (checks) json["checks"] = coach::to_json(*checks);
    c.print(json);
  } else {
    show_fit(c, *fit);
    if (checks) {
      c.term.line();
      for (const std::string& line : checks->words) c.term.line(line);
    }
  }
  if (!c.args.has("--plot")) return {};
  if (picture == "influence") return plot(c, coach::influence_picture(*fit, *checks));
  return plot(c, picture == "funnel" ? coach::funnel_picture(*fit) : coach::forest_picture(*fit));
}

Result<void> run_evidence_curve(Context& c) {
  if (const auto good = check_plot_name(c); !good) return good;
  const std::string along = c.args.text("--along");
  const auto table = read_table(c);
  if (!table) return tl::unexpected(table.error());
  const auto model = read_model(c);
  if (!model) return tl::unexpected(model.error());
  const auto response = coach::dose_response(*table, *model, along);
  if (!response) return tl::unexpected(response.error());
  const coach::EvidenceFit* fit = &response->fit;
  const auto* curve = &response->curve;

  std::optional<evidence::GrowthReading> reading;
  store::ChangeId change = 0;
  if (c.args.has("--save-reading") || c.args.has("--keep")) {
    auto made = coach::reading_from(
        *fit, {c.args.text("--keep", c.args.text("--name", "own evidence")), along, c.args.number("--typical")});
    if (!made) return tl::unexpected(made.error());
    reading = *std::move(made);
    if (c.args.has("--save-reading")) {
      evidence::GrowthReading saved = *reading;
      saved.name = c.args.text("--name", reading->name);
      const auto written = pictures::write_text(coach::reading_text(saved) + "\n", c.args.text("--save-reading"));
      if (!written) return written;
    }
    if (c.args.has("--keep")) {
      const auto kept = coach::keep_reading(c.desk(), *reading);
      if (!kept) return tl::unexpected(kept.error());
      change = *kept;
    }
  }
  if (c.json) {
    coach::Json json = coach::to_json(*response);
    if (reading) json["reading"] = coach::reading_json(*reading);
    if (c.args.has("--keep")) json["change"] = change;
    c.print(json);
  } else {
    show_fit(c, *fit);
    c.term.line();
    c.term.line(padded(cut(along, 18), 18) + padded("mean", 10, true) + padded("95 %", 18, true) +
                padded("a new study", 18, true));
    for (std::size_t i = 0; i < curve->size(); i += 10) {
      const evidence::CurvePoint& p = (*curve)[i];
      c.term.line(padded(number(p.x, 1), 18) + padded(number(p.estimate), 10, true) +
                  padded(number(p.interval.low, 2) + " to " + number(p.interval.high, 2), 18, true) +
                  padded(number(p.prediction.low, 2) + " to " + number(p.prediction.high, 2), 18, true));
    }
    if (reading) {
      c.term.line();
      show_reading(c, *reading);
      if (c.args.has("--save-reading")) c.term.quiet("saved: " + c.args.text("--save-reading"));
      if (c.args.has("--keep"))
        c.say_change(change, "reading \"" + reading->name + "\" kept; every new plan is held against it too");
    }
  }
  if (!c.args.has("--plot")) return {};
  return plot(c, coach::curve_picture(*fit, along, *curve));
}

Result<void> run_evidence_reading_list(Context& c) {
  const auto kept = coach::kept_readings(c.desk());
  if (!kept) return tl::unexpected(kept.error());
  if (c.json) {
    coach::Json json = {{"shipped", {"plateau", "linear"}}, {"kept", coach::Json::array()}};
    for (const evidence::GrowthReading& r : *kept) json["kept"].push_back(coach::reading_json(r));
    c.print(json);
    return {};
  }
  c.term.line("Shipped: plateau, linear (docs/comparing.md says on what they rest). Intervals are 80 %.");
  for (const evidence::GrowthReading& r : *kept) show_reading(c, r);
  if (kept->empty()) c.term.quiet("none of your own; evidence curve --keep NAME keeps one");
  return {};
}

Result<void> run_evidence_reading_add(Context& c) {
  const std::string path = c.args.text("FILE");
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in) return fail(Code::not_found, path + ": no such file");
  auto reading = coach::parse_reading(text.str());
  if (!reading) return fail(reading.error().code, path + ": " + reading.error().message);
  if (c.args.has("--name")) reading->name = c.args.text("--name");
  const auto change = coach::keep_reading(c.desk(), *reading);
  if (!change) return tl::unexpected(change.error());
  if (c.json) {
    coach::Json json = coach::reading_json(*reading);
    json["change"] = *change;
    c.print(json);
    return {};
  }
  show_reading(c, *reading);
  c.say_change(*change, "reading \"" + reading->name + "\" kept; every new plan is held against it too");
  return {};
}

Result<void> run_evidence_reading_remove(Context& c) {
  const std::string name = c.args.text("NAME");
  const auto change = coach::remove_reading(c.desk(), name);
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, "reading \"" + name + "\" removed; plans already made keep what they were held against");
  return {};
}

Result<void> run_evidence_ask(Context& c) {
  coach::EvidenceWish rows;
  if (c.args.has("--about")) rows.where = {{"outcome", c.args.text("--about")}};
  const auto table = read_table(c, rows);
  if (!table) return tl::unexpected(table.error());
  coach::AskWish wish;
  wish.by = c.args.all("--by");
  wish.outcome = c.args.text("--about");
  const std::string compares = c.args.text("--compares");
  wish.comparison = compares == "groups" ? coach::Comparison::arms : coach::Comparison::contrast;
  wish.short_minus_failure = compares != "failure minus short";
  wish.failure = c.args.text("--failure", wish.failure);
  wish.volume = c.args.text("--volume", wish.volume);
  wish.trained = c.args.text("--trained", wish.trained);
  wish.correlation = c.args.number("--correlation").value_or(wish.correlation);
  const auto answers = coach::ask_evidence(*table, wish);
  if (!answers) return tl::unexpected(answers.error());
  if (c.json) {
    c.print(coach::to_json(*answers, *table));
    return {};
  }
  c.term.heading(answers->question);
  show_report(c, *table);
  for (const coach::Answer& a : answers->answers) {
    c.term.line();
    std::string about = a.about;
    about[0] = static_cast<char>(about[0] >= 'a' && about[0] <= 'z' ? about[0] - 'a' + 'A' : about[0]);
    c.term.line(about + ": " + a.sentence, 0, 2);
    if (!a.answered) continue;
    std::string figures =
        fmt::format("{} {} ({} to {}), p {}, adjusted {}",
                    a.prediction.known() ? "difference" : "change of the difference", number(a.estimate, 2),
                    number(a.interval.low, 2), number(a.interval.high, 2), p_text(a.p), p_text(a.p_adjusted));
    if (a.prediction.known())
      figures += fmt::format("; a new study {} to {}", number(a.prediction.low, 2), number(a.prediction.high, 2));
    c.term.quiet(figures + fmt::format("; I2 {:.0f} %, spread {}", a.i2, number(std::sqrt(a.heterogeneity), 2)), 2);
    for (const std::string& check : a.checks) c.term.quiet(check, 2);
  }
  if (!answers->multiplicity.empty()) {
    c.term.line();
    c.term.caution(answers->multiplicity);
  }
  return {};
}

Result<void> run_evidence_published(Context& c) {
  const auto results = coach::published_results(c.args.text("TOPIC"));
  if (!results) return tl::unexpected(results.error());
  if (c.json) {
    c.print(coach::to_json(*results));
    return {};
  }
  std::string topic;
  for (const coach::PublishedResult& r : *results) {
    std::string line = r.quantity;
    if (!r.value.empty()) line += ": " + r.value;
    if (!r.lower.empty()) line += " (" + r.lower + " to " + r.upper + ")";
    if (!r.unit.empty() && !r.value.empty()) line += " " + r.unit;
    if (!r.note.empty()) line += "; " + r.note;
    c.term.line(line);
    std::string source = r.status + ", " + r.source;
    if (!r.doi.empty()) source += ", doi " + r.doi;
    c.term.quiet(source, 4);
  }
  if (results->empty()) c.term.line("no published result speaks of that; without a topic all are listed");
  c.term.line();
  c.term.quiet(
      "VERIFIED: read in the work itself. RE-RUN: its data computed again by others. MEMORY: recalled, not read.");
  return {};
}

}  // namespace ullage::cli
