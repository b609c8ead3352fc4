// Every path of the interface in one table: it feeds the router, the answer to a wrong method, the limits of bodies,
// and the test that docs/api/openapi.json says the same.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "server/call.h"
#include "service/coach/estimates.h"

namespace ullage::server {

enum class Access {
  read,   // any number at once
  write,  // one at a time
  shared  // needs no desk: answered at once
};
enum class Takes {
  nothing,
  json,
  maybe_json,
  table,  // delimited text or a workbook, to a file
  file
};
// Of a workbook (a table may be as long as most_body says).
inline constexpr std::uint64_t kLargestWorkbook = std::uint64_t{64} << 20;

struct Route {
  std::string_view method;
  std::string_view path;  // "/api/lifters/{lifter}"
  std::string_view id;    // operationId
  Access access;
  Takes takes;
  Answer (*run)(Call&);
};

const std::vector<Route>& routes();
// Bytes a body of this kind may have.
std::uint64_t most_body(Takes takes);

struct Match {
  const Route* route = nullptr;
  std::map<std::string, std::string> parameters;
  std::string allowed;  // when no route fits: the methods there are, for "Allow"; empty: no such path
};
Match match(const http::Head& head);

// Fits these lifters in the background, or everyone when there are none; the job. One core is left to others.
Outcome<Json> start_fit(Call& call, std::vector<std::string> lifters, bool anew);

// Sessions are planned from estimates that are there; nobody waits for a fit: 409 not_fitted.
Outcome<coach::Fitted> need_fit(Call& call, const Lifter& lifter);
// An error with the holds that caused it beside it.
tl::unexpected<Problem> refused(Call& call, const Lifter& lifter, const Error& error);
// A file as a download; it is removed when it is sent.
http::Response download(const std::string& file, const char* type, const std::string& name);

// ---- Handlers, by file.
Answer get_about(Call&), get_events(Call&);  // api_program.cc
Answer get_history(Call&), post_undo(Call&), get_doctor(Call&), get_settings(Call&), patch_settings(Call&);
Answer get_jobs(Call&), get_job(Call&), delete_job(Call&), get_job_events(Call&), post_fits(Call&), post_demo(Call&);
Answer get_export(Call&), get_backup(Call&), post_restore(Call&);  // api_files.cc
Answer post_table(Call&), delete_table(Call&), get_cells(Call&), get_offer(Call&),
    post_read_table(Call&);  // api_tables.cc
Answer post_import(Call&), post_pick(Call&), get_mappings(Call&), put_mapping(Call&), delete_mapping(Call&);
Answer get_session_paper(Call&), get_sheets_paper(Call&), get_overview_paper(Call&);  // api_papers.cc
Answer get_report_paper(Call&), get_calendar(Call&), get_workbook(Call&), post_papers(Call&), get_papers(Call&);
Answer get_studies(Call&), post_look_studies(Call&), get_study_table(Call&), put_study_table(Call&),
    delete_study_table(Call&);  // api_evidence.cc
Answer post_ask(Call&), post_fit_studies(Call&), post_study_curve(Call&), get_readings(Call&), put_reading(Call&);
Answer delete_reading(Call&), get_published(Call&);
Answer get_roster(Call&), post_lifter(Call&), get_lifter(Call&), patch_lifter(Call&),
    delete_lifter(Call&);  // api_lifters.cc
Answer get_held(Call&), post_erase(Call&), post_body_mass(Call&);
Answer get_estimate(Call&), get_lift(Call&), post_forecast(Call&);  // api_estimates.cc
Answer get_sets(Call&), post_set(Call&), patch_set(Call&), delete_set(Call&), post_session_line(Call&);  // api_sets.cc
Answer get_health(Call&), get_questions(Call&), post_intake(Call&), post_hold(Call&),
    post_lift(Call&);  // api_health.cc
Answer post_word(Call&), post_word_end(Call&), put_consent(Call&), delete_consent(Call&), post_pain(Call&);
Answer post_clear(Call&), post_settle(Call&);
Answer get_lifter_policy(Call&), put_lifter_policy(Call&), delete_lifter_policy(Call&);  // api_library.cc
Answer get_policy(Call&), put_policy(Call&), delete_policy(Call&);
Answer get_places(Call&), get_place(Call&), put_place(Call&), delete_place(Call&);
Answer get_exercises(Call&), get_exercise(Call&), put_exercise(Call&), delete_exercise(Call&);
Answer get_session(Call&), post_session(Call&), get_floors(Call&), get_floor(Call&), post_start(Call&);  // api_floor.cc
Answer post_floor_set(Call&), delete_floor_set(Call&), get_alternatives(Call&), post_swap(Call&);
Answer post_floor_pain(Call&), post_finish(Call&);
Answer get_blocks(Call&), post_block(Call&), get_block(Call&), post_accept(Call&), post_reject(Call&);  // api_blocks.cc
Answer post_block_edit(Call&), post_block_move(Call&), post_block_note(Call&), post_compare(Call&);
Answer get_curve(Call&), post_curve(Call&), get_curve_point(Call&);
Answer get_templates(Call&), put_template(Call&), delete_template(Call&);
Answer get_steering(Call&), post_steering_accept(Call&), post_steering_reject(Call&);  // api_steering.cc

}  // namespace ullage::server
