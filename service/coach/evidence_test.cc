#include "service/coach/evidence.h"

#include <gmock/gmock.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include "engine/drawing/svg.h"
#include "service/coach/evidence_pictures.h"

namespace ullage::coach {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

const std::string kData = ULLAGE_SOURCE_DIR "/tests/data/";

std::string file_text(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

// Looked at as PNG when written: ULLAGE_GOLDEN=write keeps what is drawn now.
void expect_picture(const std::string& name, const drawing::Picture& picture) {
  const std::string path = ULLAGE_SOURCE_DIR "/tests/golden/evidence-" + name + ".svg";
  const std::string now = drawing::svg_text(picture);
  if (const char* wish = std::getenv("ULLAGE_GOLDEN"); wish && std::string(wish) == "write")
    std::ofstream(path, std::ios::binary) << now;
  EXPECT_EQ(now, file_text(path)) << name << ": look at the picture";
}

Result<EvidenceTable> arms() {
  EvidenceWish wish;
  wish.file = kData + "evidence/arms.csv";
  return gather(wish);
}

ModelWish by_study() {
  ModelWish model;
  model.random = {"study", "effect"};
  return model;
}

TEST(EvidenceArms, AWorkbookSaysTheSame) {
  const auto text = arms();
  EvidenceWish wish;
  wish.file = kData + "evidence/arms.xlsx";
  const auto book = gather(wish);
  ASSERT_TRUE(text && book) << book.error().message;
  EXPECT_EQ(book->study, text->study);
  EXPECT_EQ(book->line, text->line);
  EXPECT_EQ(book->rows_read, text->rows_read);
  ASSERT_EQ(book->y.size(), text->y.size());
  EXPECT_EQ(book->y, text->y);
  EXPECT_EQ(book->v, text->v);
}

// ---- The real, messy table: tests/data/living-meta-rt, MIT, see its NOTICE.

EvidenceWish living() {
  EvidenceWish wish;
  wish.file = kData + "living-meta-rt/all_studies.csv";
  wish.mapping = kData + "living-meta-rt/mapping.toml";
  wish.assumed_r = 0.7;
  return wish;
}

TEST(EvidenceLiving, IsRefusedUntilLeavingOutIsChosen) {
  const auto t = gather(living());
  ASSERT_TRUE(t) << t.error().message;
  EXPECT_TRUE(t->refused);
  EXPECT_EQ(t->rows_read, 1154U);
  EXPECT_FALSE(t->left_out.empty());
}

TEST(EvidenceLiving, ReportsWhatWasUsableAndWhyNot) {
  EvidenceWish wish = living();
  wish.skip_bad = true;
  const auto t = gather(wish);
  ASSERT_TRUE(t) << t.error().message;
  EXPECT_FALSE(t->refused);
  std::uint64_t all = static_cast<std::uint64_t>(t->y.size());
  for (const auto& d : t->dropped) all += d.rows;
  for (const auto& r : t->left_out) all += static_cast<std::uint64_t>(r.rows);
  EXPECT_EQ(all, t->rows_read) << "every row is accounted for once";
  const std::string json = report_json(*t).dump();
  EXPECT_THAT(json, AllOf(HasSubstr("sd before missing"), HasSubstr("a mean before or after missing"),
                          HasSubstr("sd from its standard error")));
  EXPECT_TRUE(t->turned);
}

TEST(EvidenceLiving, StrengthComesOutAsAMultilevelAnalysis) {
  EvidenceWish wish = living();
  wish.skip_bad = true;
  wish.sd_from_tests = true;
  wish.where = {{"outcome", "strength"}};
  const auto t = gather(wish);
  ASSERT_TRUE(t) << t.error().message;
  ModelWish model;
  model.random = {"study", "group", "effect"};
  model.cluster = "study";
  const auto fit = fit_evidence(*t, model);
  ASSERT_TRUE(fit) << fit.error().message;
  EXPECT_TRUE(fit->summary.converged);
  EXPECT_GT(fit->data.studies, 20);
  EXPECT_GT(fit->summary.coefficients[0].estimate, 0);
  EXPECT_EQ(fit->sigma2.size(), 3U);
  expect_picture("forest-living-strength", forest_picture(*fit));
  expect_picture("funnel-living-strength", funnel_picture(*fit));
  ModelWish by_weeks = model;
  by_weeks.terms = {{evidence::Shape::quadratic, "weeks", "", {}, 3}};
  const auto curved = fit_evidence(*t, by_weeks);
  ASSERT_TRUE(curved) << curved.error().message;
  std::vector<double> at;
  for (int i = 0; i <= 46; ++i) at.push_back(1 + i / 2.0);
  const auto curve = evidence_curve(*curved, "weeks", at);
  ASSERT_TRUE(curve) << curve.error().message;
  expect_picture("curve-living-weeks", curve_picture(*curved, "weeks", *curve));

  AskWish ask;
  ask.comparison = Comparison::arms;
  ask.outcome = "strength";
  const auto answers = ask_evidence(*t, ask);
  ASSERT_TRUE(answers) << answers.error().message;
  ASSERT_EQ(answers->answers.size(), 4U);
  EXPECT_TRUE(answers->answers[0].answered) << answers->answers[0].sentence;
  EXPECT_THAT(answers->answers[0].sentence, HasSubstr("no experiment"));
  EXPECT_FALSE(answers->answers[1].answered) << "the table does not say whether volume was equated";
}

TEST(EvidenceLiving, GrowthCannotBeAnsweredAndThatIsSaid) {
  EvidenceWish wish = living();
  wish.skip_bad = true;
  wish.sd_from_tests = true;
  wish.where = {{"outcome", "hypertrophy"}};
  const auto t = gather(wish);
  ASSERT_TRUE(t) << t.error().message;
  AskWish ask;
  ask.comparison = Comparison::arms;
  const auto answers = ask_evidence(*t, ask);
  ASSERT_TRUE(answers) << answers.error().message;
  EXPECT_FALSE(answers->answers[0].answered);
  EXPECT_THAT(answers->answers[0].sentence, AllOf(HasSubstr("Cannot be answered from this table"),
                                                  HasSubstr("groups that trained to failure gained")));
  // What it can say: how much groups that trained to failure grew.
  ModelWish model;
  model.random = {"study", "effect"};
  const auto fit = fit_evidence(*t, model);
  ASSERT_TRUE(fit) << fit.error().message;
  EXPECT_GT(fit->summary.coefficients[0].estimate, 0);
}

// ---- Invented studies.

EvidenceTable contrasts(const std::string& outcome = "") {
  EvidenceWish wish;
  wish.file = kData + "evidence/contrasts.csv";
  wish.measure = evidence::Measure::SMD;
  if (!outcome.empty()) wish.where = {{"outcome", outcome}};
  return *gather(wish);
}

TEST(Evidence, AsksForTheMeasureWhenSeveralFit) {
  EvidenceWish wish;
  wish.file = kData + "evidence/contrasts.csv";
  const auto t = gather(wish);
  ASSERT_FALSE(t);
  EXPECT_THAT(t.error().message, AllOf(HasSubstr("--measure"), HasSubstr("SMD"), HasSubstr("ROM")));
}

TEST(Evidence, AnswersCarryNumbersAndDoNotOverclaim) {
  AskWish ask;
  ask.outcome = "growth";
  const auto answers = ask_evidence(contrasts(), ask);
  ASSERT_TRUE(answers) << answers.error().message;
  EXPECT_EQ(answers->question, "Does stopping short cost growth?");
  int given = 0;
  for (const Answer& a : answers->answers) {
    if (!a.answered) continue;
    ++given;
    EXPECT_LE(a.interval.low, a.estimate);
    if (a.prediction.known()) {
      EXPECT_LT(a.prediction.low, a.interval.low + 1e-12);
    }
    EXPECT_GE(a.p_adjusted, a.p);
    if (a.interval.low < 0 && a.interval.high > 0) {
      EXPECT_THAT(a.sentence, HasSubstr("No clear"));
    }
  }
  EXPECT_GE(given, 2);
  EXPECT_THAT(answers->multiplicity, HasSubstr("adjusted p"));
  // The other way round, the same answer with the other sign.
  ask.short_minus_failure = false;
  const auto turned = ask_evidence(contrasts(), ask);
  EXPECT_DOUBLE_EQ(turned->answers[0].estimate, -answers->answers[0].estimate);
  EXPECT_DOUBLE_EQ(turned->answers[0].interval.low, -answers->answers[0].interval.high);
}

TEST(Evidence, PicturesAreAsBefore) {
  const EvidenceTable t = contrasts("growth");
  const auto fit = fit_evidence(t, {});
  ASSERT_TRUE(fit);
  expect_picture("forest", forest_picture(*fit));
  expect_picture("funnel", funnel_picture(*fit));
  const auto checks = check_evidence(*fit);
  ASSERT_TRUE(checks);
  EXPECT_EQ(checks->without.size(), 16U);
  expect_picture("influence", influence_picture(*fit, *checks));
}

TEST(Evidence, ACurveBecomesAReading) {
  const auto t = arms();
  ASSERT_TRUE(t) << t.error().message;
  ModelWish model = by_study();
  model.terms = {{evidence::Shape::spline, "reserve", "", {}, 3}};
  const auto fit = fit_evidence(*t, model);
  ASSERT_TRUE(fit) << fit.error().message;
  std::vector<double> at;
  for (int i = 0; i <= 32; ++i) at.push_back(i / 4.0);
  const auto curve = evidence::fitted_curve(fit->terms, fit->data.columns, fit->summary, "reserve", at);
  ASSERT_TRUE(curve);
  expect_picture("curve", curve_picture(*fit, "reserve", *curve));
  evidence::ReadingWish reading_wish;
  reading_wish.name = "own";
  reading_wish.along = "reserve";
  const auto reading = evidence::growth_reading(fit->terms, fit->data.columns, fit->summary, reading_wish);
  ASSERT_TRUE(reading) << reading.error().message;
  const auto back = parse_reading(reading_text(*reading));
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(back->draws, reading->draws);
  EXPECT_EQ(back->name, "own");
  for (const char* text : {"", "[]", "{\"name\":\"x\"}", "{\"name\":\"\",\"rests_on\":\"\"}"})
    EXPECT_FALSE(parse_reading(text)) << text;
}

TEST(Evidence, OnlyACurveThatCanCarryAPlanBecomesAReading) {
  const auto t = arms();
  ASSERT_TRUE(t) << t.error().message;
  ModelWish model = by_study();
  model.terms = {{evidence::Shape::straight, "reserve", "", {}, 3}};
  const auto said = [](const EvidenceFit& fit, const std::string& along) {
    const auto made = reading_from(fit, {"own", along, {}});
    return made ? "made: " + made->rests_on : made.error().message;
  };
  auto fit = fit_evidence(*t, model);
  ASSERT_TRUE(fit) << fit.error().message;
  EXPECT_THAT(said(*fit, "reserve"), AllOf(HasSubstr("made: "), HasSubstr("carried on, not measured")));
  EXPECT_THAT(said(*fit, "weeks"), HasSubstr("runs from"));
  EXPECT_THAT(said(*fit, "label"), HasSubstr("no column of numbers"));
  EvidenceFit bad = *fit;
  bad.summary.converged = false;
  EXPECT_THAT(said(bad, "reserve"), HasSubstr("did not converge"));
  bad = *fit;
  bad.data.studies = 3;
  EXPECT_THAT(said(bad, "reserve"), HasSubstr("3 studies"));
  // Robust errors are those of the curve and of the reading, with fewer degrees of freedom and so more doubt.
  model.cluster = "study";
  const auto robust = fit_evidence(*t, model);
  ASSERT_TRUE(robust) << robust.error().message;
  EXPECT_NEAR(std::sqrt(robust->summary.covariance(1, 1)), robust->summary.coefficients[1].se, 1e-12);
  const auto curve = evidence_curve(*robust, "reserve", {0, 4});
  ASSERT_TRUE(curve) << curve.error().message;
  EXPECT_NEAR((*curve)[0].interval.low, robust->summary.coefficients[0].interval.low, 1e-9)
      << "at 0 the curve is the intercept";
  EXPECT_NEAR((*curve)[0].interval.high, robust->summary.coefficients[0].interval.high, 1e-9);
  const auto reading = reading_from(*robust, {"own", "reserve", {}});
  ASSERT_TRUE(reading) << reading.error().message;
  EXPECT_THAT(reading->rests_on, HasSubstr("CR2"));
}

TEST(Evidence, AsksWhatADifferenceDependsOn) {
  AskWish ask;
  ask.outcome = "growth";
  ask.by = {"weeks", "weeks,trained", "nothing"};
  const auto answers = ask_evidence(contrasts(), ask);
  ASSERT_TRUE(answers) << answers.error().message;
  const auto about = [&](const std::string& what) -> const Answer& {
    for (const Answer& a : answers->answers) {
      if (a.about == what) return a;
    }
    ADD_FAILURE() << "no answer about " << what;
    return answers->answers.front();
  };
  EXPECT_THAT(answers->answers[0].checks.front(), HasSubstr("Any one study left out"));
  EXPECT_TRUE(answers->answers[0].without_one.known());
  const Answer& weeks = about("by weeks");
  ASSERT_TRUE(weeks.answered) << weeks.sentence;
  EXPECT_THAT(weeks.sentence, AllOf(HasSubstr("for 1 more in weeks"), HasSubstr("differ in other things too")));
  EXPECT_FALSE(weeks.prediction.known());
  // The same slope by the model itself.
  ModelWish model;
  model.cluster = "study";
  model.terms = {{evidence::Shape::straight, "weeks", "", {}, 3}};
  const EvidenceTable growth = contrasts("growth");
  if (growth.studies < static_cast<int>(growth.y.size())) {
    model.random = {"study", "effect"};
    model.correlation = 0.5;
  }
  const auto fit = fit_evidence(growth, model);
  ASSERT_TRUE(fit) << fit.error().message;
  EXPECT_NEAR(weeks.estimate, fit->summary.coefficients[1].estimate, 1e-9);
  EXPECT_NEAR(weeks.interval.low, fit->summary.coefficients[1].interval.low, 1e-9);
  const Answer& both = about("by weeks,trained");
  EXPECT_TRUE(both.answered) << both.sentence;
  EXPECT_THAT(both.sentence, HasSubstr("it moves otherwise where trained is yes than where it is no"));
  EXPECT_FALSE(about("by nothing").answered);
  if (answers->answers[1].answered && answers->answers[2].answered) {
    EXPECT_THAT(about("by volume_equated").sentence, HasSubstr("where volume_equated is yes instead of no"));
  }
}

TEST(Evidence, JsonHasTheFixedNames) {
  ModelWish model;
  model.random = {"study", "effect"};
  const auto fit = fit_evidence(contrasts(), model);
  ASSERT_TRUE(fit);
  const Json json = to_json(*fit);
  for (const char* name :
       {"model", "method", "k", "coefficients", "tau2", "sigma2", "q", "q_df", "q_p", "i2", "prediction"})
    EXPECT_TRUE(json.contains(name)) << name;
  for (const char* name : {"term", "estimate", "se", "ci_lo", "ci_hi", "p"})
    EXPECT_TRUE(json["coefficients"][0].contains(name)) << name;
  EXPECT_TRUE(json["prediction"].contains("lo"));
}

TEST(Evidence, PublishedResultsPutVerifiedFirst) {
  const auto all = published_results();
  ASSERT_TRUE(all) << all.error().message;
  EXPECT_GE(all->size(), 40U);
  EXPECT_EQ(all->front().status, "VERIFIED");
  bool other = false;
  for (const PublishedResult& r : *all) {
    EXPECT_FALSE(r.source.empty()) << r.id;
    other = other || r.status != "VERIFIED";
    EXPECT_FALSE(other && r.status == "VERIFIED") << r.id;
  }
  EXPECT_LT(published_results("failure")->size(), all->size());
}

}  // namespace
}  // namespace ullage::coach
