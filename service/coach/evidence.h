// The evidence bench: study tables in, pooled results in plain words out.
//
//   EvidenceWish wish;
//   wish.file = "studies.csv";
//   auto table = gather(wish);                  // reads, computes effects, says what was left out and why
//   auto fit = fit_evidence(*table, wish.model);
//
// Sign: effects are as in the table, or, computed, the first group minus the second and after minus before. With
// `better` (an option, or a column holding more or less) every effect is turned so that above 0 is the better side.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/result.h"
#include "engine/evidence/design.h"
#include "engine/evidence/effect_size.h"
#include "engine/evidence/influence.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"
#include "engine/evidence/reading.h"
#include "engine/evidence/robust.h"
#include "engine/evidence/small_study.h"
#include "service/coach/views.h"
#include "service/interchange/study_table.h"

namespace ullage::coach {

struct ModelWish {
  evidence::Method method = evidence::Method::REML;
  bool knapp_hartung = false;
  std::vector<evidence::Term> terms;
  std::vector<std::string> random;  // study, group, effect, outermost first; empty: one effect a study is assumed
  std::string cluster;              // study: robust errors
  double correlation = 0;           // of sampling errors within a study
  double level = 0.95;
};

struct EvidenceWish {
  std::string file, mapping;       // mapping: a TOML file; empty: the open form
  std::string text, mapping_text;  // instead of the files, where not empty
  bool skip_bad = false;           // leave bad rows out instead of stopping
  std::optional<evidence::Measure> measure;
  std::optional<bool> more_is_better;  // none: a column `better`, or effects stay as they are
  std::optional<double> assumed_r;     // correlation of before and after where the table gives none
  bool sd_from_tests = false;          // an sd that is missing is worked out from a change's sd, se or t
  std::vector<std::pair<std::string, std::string>> where;  // column = value, all must hold
  std::vector<std::string> levels;                         // number columns read as words
};

// Rows left out, or worked out, for one reason.
struct RowsWith {
  std::string reason;
  int rows = 0;
  std::uint64_t first_line = 0;
};

// A table ready to be pooled. Entry i of everything is one effect.
struct EvidenceTable {
  evidence::Measure measure = evidence::Measure::given;
  Eigen::VectorXd y, v;
  std::vector<evidence::Column> columns;  // moderators; study, group, effect_id as words
  std::vector<std::string> study, label;
  std::vector<int> study_of, group_of;  // numbered in order of appearance
  std::vector<std::uint64_t> line;
  int studies = 0;
  bool turned = false;  // signs mean better and worse
  // The report.
  std::uint64_t rows_read = 0;
  std::vector<interchange::DroppedRows> dropped;  // by the mapping's rules and --where
  std::vector<RowsWith> left_out, worked_out;
  std::vector<interchange::Fault> faults, remarks;
  bool refused = false;  // faults or unusable rows, and skip_bad was not wished: nothing may be pooled
  EvidenceTable subset(const std::vector<std::size_t>& rows) const;
};
inline constexpr std::size_t kLongestStudyFile = 64u << 20;  // bytes of text
// The text of a study table; of a workbook, that of its first sheet that is not hidden and has cells, as CSV.
// invalid_input: longer than `most` bytes, or what is wrong with the workbook.
Result<std::string> study_text(const std::string& path, std::size_t most);
// Errors: not_found, no such file; invalid_input, the table or mapping as a whole; the measure cannot be told from the
// columns (says which fit).
Result<EvidenceTable> gather(const EvidenceWish& wish);

struct EvidenceFit {
  EvidenceTable data;  // complete for the terms
  int incomplete = 0;  // effects left out because a moderator is missing
  ModelWish model;
  evidence::Terms terms;
  Eigen::MatrixXd x;
  evidence::Summary summary;  // with robust errors in the coefficients when a cluster was asked for
  bool robust = false;
  std::vector<evidence::Coefficient> by_model;  // the coefficients with the model's own errors
  std::optional<double> tau2;
  evidence::Range tau2_interval;
  std::vector<double> sigma2;
  std::vector<std::string> warnings;
  std::string model_words;  // "random effects of study and effect, REML, robust errors (CR2)"
  evidence::PoolOptions pool_options() const;
  evidence::MultilevelData multilevel() const;
  evidence::MultilevelOptions multilevel_options() const;
  evidence::MultilevelFit multilevel_fit;  // when multilevel
  evidence::WorkingCovariance working;     // what robust errors start from
};
// Errors: invalid_input, from the design (which terms) or the levels.
Result<EvidenceFit> fit_evidence(const EvidenceTable& table, const ModelWish& model);
Json to_json(const EvidenceFit& fit);

// What lies around a fit: each study left out, and small studies. keep_going as in engine/evidence/influence.h.
struct EvidenceChecks {
  std::vector<std::string> names;  // of what was left out
  std::vector<evidence::WithoutGroup> without;
  std::optional<evidence::EggerTest> egger;
  std::optional<evidence::RankTest> rank;
  std::vector<std::string> words;  // what they say
};
// which: the coefficient that is followed; others than the first need random levels.
Result<EvidenceChecks> check_evidence(const EvidenceFit& fit, const std::function<bool(int, int)>& keep_going = {},
                                      int which = 0);
Json to_json(const EvidenceChecks& checks);

// ---- Questions in a coach's words: does stopping short cost growth (or strength)?

// How the table holds the answer.
enum class Comparison {
  contrast,  // each row compares stopping short with failure
  arms       // each row is one group's gain, with a column saying how it trained
};
struct AskWish {
  std::string outcome;  // value of the column `outcome`; empty: all rows
  Comparison comparison = Comparison::contrast;
  bool short_minus_failure = true;  // contrast: what an effect above 0 favours; must be said by the asker
  std::string failure = "failure";  // arms: column with yes and no
  std::string volume = "volume_equated", trained = "trained";  // columns with yes and no
  double level = 0.95;
  double correlation = 0.5;  // of sampling errors within a study (assumption)
  // Columns on which the difference may depend; "a,b": how it depends on a where b is otherwise (contrast only).
  std::vector<std::string> by;
};
struct Answer {
  std::string
      about;  // "all studies", "volume equated", ..., "by weeks": then the estimate is a change of the difference
  int studies = 0, effects = 0;
  bool answered = false;
  double estimate = 0, p = 0, p_adjusted = 0;  // Holm 1979 over the answers given
  evidence::Range interval, prediction;        // above 0: stopping short did better; no prediction of a change
  double df = 0, i2 = 0, heterogeneity = 0;
  evidence::Range without_one;      // of all studies: with any one left out
  std::vector<std::string> checks;  // of all studies: single studies, small studies
  std::string sentence;
};
struct Answers {
  std::string question;
  std::vector<Answer> answers;
  std::string multiplicity;
};
Result<Answers> ask_evidence(const EvidenceTable& table, const AskWish& wish);
Json to_json(const Answers& answers, const EvidenceTable& table);
Json report_json(const EvidenceTable& table);

// The curve along a column of the fit, and growth short of failure from it. With robust errors both have them, with
// Satterthwaite's degrees of freedom.
Result<std::vector<evidence::CurvePoint>> evidence_curve(const EvidenceFit& fit, const std::string& along,
                                                         const std::vector<double>& at);
// A fit and its curve over the whole of a column, at kCurvePoints places; a straight slope where the model has no term
// of that column. Errors, invalid_input: no such column, or it holds words; those of fit_evidence.
inline constexpr int kCurvePoints = 61;
struct DoseResponse {
  EvidenceFit fit;
  std::string along;
  std::vector<evidence::CurvePoint> curve;
};
Result<DoseResponse> dose_response(const EvidenceTable& table, ModelWish model, const std::string& along);
Json to_json(const DoseResponse& response);
inline constexpr int kFewestReadingStudies = 5;    // below: no reading (assumption)
inline constexpr double kLeastReadingReserve = 3;  // the table must reach so far from failure (assumption)
struct CurveReadingWish {
  std::string name, along;
  std::optional<double> typical;  // effects are differences: the gain at failure they are held against
};
// Errors, invalid_input, in words: not converged, few studies, a column that does not run from 0 to
// kLeastReadingReserve, fewer than 4 degrees of freedom, and those of growth_reading.
Result<evidence::GrowthReading> reading_from(const EvidenceFit& fit, const CurveReadingWish& wish);

// ---- A reading of the stimulus as a text that planning takes.
std::string reading_text(const evidence::GrowthReading& reading);
// What of it is shown, without the draws.
Json reading_json(const evidence::GrowthReading& reading);
// Error: invalid_input, says what was expected.
Result<evidence::GrowthReading> parse_reading(std::string_view json);

// ---- Published pooled results that are shipped (data/published_results.csv): facts with citation and status.
struct PublishedResult {
  std::string id, topic, quantity, value, lower, upper, n, unit, protocol, source, doi, status, note;
};
// VERIFIED first. topic: part of a topic or quantity; empty: all. Error: corrupt, the shipped table cannot be read.
Result<std::vector<PublishedResult>> published_results(const std::string& topic = "");
Json to_json(const std::vector<PublishedResult>& results);

}  // namespace ullage::coach
