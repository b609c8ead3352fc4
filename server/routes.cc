#include "server/routes.h"

#include <algorithm>

namespace ullage::server {

const std::vector<Route>& routes() {
  using enum Access;
  using enum Takes;
  static const std::vector<Route> all{
      {"GET", "/api/about", "about", read, nothing, get_about},
      {"GET", "/api/openapi.json", "description", shared, nothing, nullptr},
      {"GET", "/api/events", "events", read, nothing, get_events},
      {"GET", "/api/roster", "roster", read, nothing, get_roster},
      {"POST", "/api/demo", "makeDemo", write, maybe_json, post_demo},
      {"POST", "/api/lifters", "addLifter", write, json, post_lifter},
      {"GET", "/api/lifters/{lifter}", "lifter", read, nothing, get_lifter},
      {"PATCH", "/api/lifters/{lifter}", "editLifter", write, json, patch_lifter},
      {"DELETE", "/api/lifters/{lifter}", "removeLifter", write, nothing, delete_lifter},
      {"GET", "/api/lifters/{lifter}/held", "held", read, nothing, get_held},
      {"POST", "/api/lifters/{lifter}/erase", "eraseLifter", write, json, post_erase},
      {"POST", "/api/lifters/{lifter}/body-mass", "weigh", write, json, post_body_mass},
      {"GET", "/api/lifters/{lifter}/estimate", "estimate", read, nothing, get_estimate},
      {"GET", "/api/lifters/{lifter}/lifts/{exercise}", "lift", read, nothing, get_lift},
      {"POST", "/api/lifters/{lifter}/forecast", "forecast", read, json, post_forecast},
      {"GET", "/api/lifters/{lifter}/sets", "sets", read, nothing, get_sets},
      {"POST", "/api/lifters/{lifter}/sets", "logSet", write, json, post_set},
      {"POST", "/api/lifters/{lifter}/session-line", "logSession", write, json, post_session_line},
      {"PATCH", "/api/sets/{set}", "editSet", write, json, patch_set},
      {"DELETE", "/api/sets/{set}", "removeSet", write, nothing, delete_set},
      {"GET", "/api/lifters/{lifter}/health", "health", read, nothing, get_health},
      {"GET", "/api/health-questions", "healthQuestions", read, nothing, get_questions},
      {"POST", "/api/lifters/{lifter}/intake", "intake", write, json, post_intake},
      {"POST", "/api/lifters/{lifter}/holds", "addHold", write, json, post_hold},
      {"POST", "/api/lifters/{lifter}/holds/{hold}/lift", "liftHold", write, json, post_lift},
      {"POST", "/api/lifters/{lifter}/words", "addWord", write, json, post_word},
      {"POST", "/api/lifters/{lifter}/words/{word}/end", "endWord", write, maybe_json, post_word_end},
      {"PUT", "/api/lifters/{lifter}/consent", "putConsent", write, json, put_consent},
      {"DELETE", "/api/lifters/{lifter}/consent", "removeConsent", write, nothing, delete_consent},
      {"POST", "/api/lifters/{lifter}/pains", "addPain", write, json, post_pain},
      {"POST", "/api/lifters/{lifter}/pains/{pain}/clear", "clearPain", write, maybe_json, post_clear},
      {"POST", "/api/lifters/{lifter}/settle", "settle", write, maybe_json, post_settle},
      {"GET", "/api/lifters/{lifter}/policy", "lifterPolicy", read, nothing, get_lifter_policy},
      {"PUT", "/api/lifters/{lifter}/policy", "putLifterPolicy", write, json, put_lifter_policy},
      {"DELETE", "/api/lifters/{lifter}/policy", "resetLifterPolicy", write, nothing, delete_lifter_policy},
      {"GET", "/api/policy", "policy", read, nothing, get_policy},
      {"PUT", "/api/policy", "putPolicy", write, json, put_policy},
      {"DELETE", "/api/policy", "resetPolicy", write, nothing, delete_policy},
      {"GET", "/api/places", "places", read, nothing, get_places},
      {"GET", "/api/places/{place}", "place", read, nothing, get_place},
      {"PUT", "/api/places/{place}", "putPlace", write, json, put_place},
      {"DELETE", "/api/places/{place}", "removePlace", write, nothing, delete_place},
      {"GET", "/api/exercises", "exercises", read, nothing, get_exercises},
      {"GET", "/api/exercises/{exercise}", "exercise", read, nothing, get_exercise},
      {"PUT", "/api/exercises/{exercise}", "putExercise", write, json, put_exercise},
      {"DELETE", "/api/exercises/{exercise}", "removeExercise", write, nothing, delete_exercise},
      {"GET", "/api/lifters/{lifter}/session", "session", read, nothing, get_session},
      {"POST", "/api/lifters/{lifter}/session", "writeSession", write, maybe_json, post_session},
      {"GET", "/api/floor", "floorSessions", read, nothing, get_floors},
      {"GET", "/api/lifters/{lifter}/floor", "floor", read, nothing, get_floor},
      {"POST", "/api/lifters/{lifter}/floor/start", "startFloor", write, maybe_json, post_start},
      {"POST", "/api/lifters/{lifter}/floor/sets", "floorSet", write, json, post_floor_set},
      {"DELETE", "/api/lifters/{lifter}/floor/sets/{client_id}", "undoFloorSet", write, nothing, delete_floor_set},
      {"GET", "/api/lifters/{lifter}/floor/alternatives", "alternatives", read, nothing, get_alternatives},
      {"POST", "/api/lifters/{lifter}/floor/swap", "swapExercise", write, json, post_swap},
      {"POST", "/api/lifters/{lifter}/floor/pain", "floorPain", write, json, post_floor_pain},
      {"POST", "/api/lifters/{lifter}/floor/finish", "finishFloor", write, maybe_json, post_finish},
      {"GET", "/api/lifters/{lifter}/blocks", "blocks", read, nothing, get_blocks},
      {"POST", "/api/lifters/{lifter}/blocks", "planBlock", read, maybe_json, post_block},
      {"GET", "/api/lifters/{lifter}/blocks/{number}", "block", read, nothing, get_block},
      {"POST", "/api/lifters/{lifter}/blocks/accept", "acceptBlock", write, maybe_json, post_accept},
      {"POST", "/api/lifters/{lifter}/blocks/reject", "rejectBlock", write, maybe_json, post_reject},
      {"POST", "/api/lifters/{lifter}/blocks/edit", "editBlock", write, json, post_block_edit},
      {"POST", "/api/lifters/{lifter}/blocks/move", "moveInBlock", write, json, post_block_move},
      {"POST", "/api/lifters/{lifter}/blocks/note", "noteWeek", write, json, post_block_note},
      {"GET", "/api/lifters/{lifter}/blocks/curve", "blockCurve", read, nothing, get_curve},
      {"POST", "/api/lifters/{lifter}/blocks/curve", "drawCurve", read, maybe_json, post_curve},
      {"GET", "/api/lifters/{lifter}/blocks/curve/{point}", "blockAtPrice", read, nothing, get_curve_point},
      {"POST", "/api/lifters/{lifter}/compare", "compare", read, json, post_compare},
      {"GET", "/api/lifters/{lifter}/steering", "steering", read, nothing, get_steering},
      {"POST", "/api/lifters/{lifter}/steering/accept", "acceptSteering", write, json, post_steering_accept},
      {"POST", "/api/lifters/{lifter}/steering/reject", "rejectSteering", write, json, post_steering_reject},
      {"GET", "/api/templates", "templates", read, nothing, get_templates},
      {"PUT", "/api/templates/{name}", "putTemplate", write, json, put_template},
      {"DELETE", "/api/templates/{name}", "removeTemplate", write, nothing, delete_template},
      {"POST", "/api/fits", "startFit", read, maybe_json, post_fits},
      {"GET", "/api/jobs", "jobs", read, nothing, get_jobs},
      {"GET", "/api/jobs/{job}", "job", read, nothing, get_job},
      {"DELETE", "/api/jobs/{job}", "cancelJob", read, nothing, delete_job},
      {"GET", "/api/jobs/{job}/events", "jobEvents", read, nothing, get_job_events},
      {"POST", "/api/imports", "import", read, table, post_import},
      {"POST", "/api/tables", "sendTable", read, table, post_table},
      {"DELETE", "/api/tables/{table}", "dropTable", read, nothing, delete_table},
      {"GET", "/api/tables/{table}/cells", "tableCells", read, nothing, get_cells},
      {"GET", "/api/tables/{table}/offer", "offerMapping", read, nothing, get_offer},
      {"POST", "/api/tables/{table}/read", "readTable", read, json, post_read_table},
      {"POST", "/api/mappings/pick", "pickMapping", read, json, post_pick},
      {"GET", "/api/mappings", "mappings", read, nothing, get_mappings},
      {"PUT", "/api/mappings/{name}", "putMapping", write, json, put_mapping},
      {"DELETE", "/api/mappings/{name}", "removeMapping", write, nothing, delete_mapping},
      {"GET", "/api/lifters/{lifter}/papers/session", "sessionPaper", read, nothing, get_session_paper},
      {"GET", "/api/lifters/{lifter}/papers/sheets", "sheetsPaper", read, nothing, get_sheets_paper},
      {"GET", "/api/lifters/{lifter}/papers/overview", "overviewPaper", read, nothing, get_overview_paper},
      {"GET", "/api/lifters/{lifter}/papers/report", "reportPaper", read, nothing, get_report_paper},
      {"GET", "/api/lifters/{lifter}/papers/calendar", "calendar", read, nothing, get_calendar},
      {"GET", "/api/workbook", "workbook", read, nothing, get_workbook},
      {"POST", "/api/papers", "makePapers", read, maybe_json, post_papers},
      {"GET", "/api/papers/{paper}", "papers", read, nothing, get_papers},
      {"GET", "/api/studies", "studies", read, nothing, get_studies},
      {"POST", "/api/studies", "lookAtStudies", read, json, post_look_studies},
      {"GET", "/api/studies/{studies}", "studyTable", read, nothing, get_study_table},
      {"PUT", "/api/studies/{studies}", "putStudyTable", write, json, put_study_table},
      {"DELETE", "/api/studies/{studies}", "removeStudyTable", write, nothing, delete_study_table},
      {"POST", "/api/studies/{studies}/ask", "askStudies", read, json, post_ask},
      {"POST", "/api/studies/{studies}/fit", "fitStudies", read, json, post_fit_studies},
      {"POST", "/api/studies/{studies}/curve", "curveOfStudies", read, json, post_study_curve},
      {"GET", "/api/readings", "readings", read, nothing, get_readings},
      {"PUT", "/api/readings/{reading}", "keepReading", write, json, put_reading},
      {"DELETE", "/api/readings/{reading}", "removeReading", write, nothing, delete_reading},
      {"GET", "/api/published", "published", read, nothing, get_published},
      {"GET", "/api/settings", "settings", read, nothing, get_settings},
      {"PATCH", "/api/settings", "putSettings", write, json, patch_settings},
      {"GET", "/api/history", "history", read, nothing, get_history},
      {"POST", "/api/undo", "undo", write, maybe_json, post_undo},
      {"GET", "/api/doctor", "doctor", read, nothing, get_doctor},
      {"GET", "/api/export", "export", read, nothing, get_export},
      {"GET", "/api/backup", "backup", read, nothing, get_backup},
      {"POST", "/api/restore", "restore", write, file, post_restore},
  };
  return all;
}

std::uint64_t most_body(Takes takes) {
  switch (takes) {
    case Takes::nothing: return 0;
    case Takes::json:
    case Takes::maybe_json: return http::kUsualBody;
    case Takes::table: return std::uint64_t{256} << 20;
    case Takes::file: return std::uint64_t{4} << 30;
  }
  return 0;
}

namespace {

std::vector<std::string_view> split_path(std::string_view path) {
  std::vector<std::string_view> out;
  for (std::size_t at = 1; at <= path.size();) {
    const std::size_t end = std::min(path.find('/', at), path.size());
    out.push_back(path.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

// How many segments are written out, so that "/sets/suggest" goes before "/sets/{set}"; -1: does not fit.
int fit(const std::vector<std::string_view>& pattern, const std::vector<std::string>& segments) {
  if (pattern.size() != segments.size()) return -1;
  int plain = 0;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i].front() == '{') {
      if (segments[i].empty()) return -1;
    } else if (pattern[i] != segments[i]) {
      return -1;
    } else {
      ++plain;
    }
  }
  return plain;
}

}  // namespace

Match match(const http::Head& head) {
  static const std::vector<std::vector<std::string_view>> patterns = [] {
    std::vector<std::vector<std::string_view>> all;
    for (const Route& route : routes()) all.push_back(split_path(route.path));
    return all;
  }();
  Match out;
  int best = -1;
  std::string_view best_path;
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    const int plain = fit(patterns[i], head.segments);
    if (plain > best) {
      best = plain;
      best_path = routes()[i].path;
    }
  }
  if (best < 0) return out;
  const std::string_view wanted = head.method == "HEAD" ? std::string_view("GET") : std::string_view(head.method);
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    const Route& route = routes()[i];
    if (route.path != best_path) continue;
    out.allowed += (out.allowed.empty() ? "" : ", ") + std::string(route.method);
    if (route.method == "GET") out.allowed += ", HEAD";
    if (route.method != wanted) continue;
    out.route = &route;
    for (std::size_t k = 0; k < patterns[i].size(); ++k) {
      const std::string_view name = patterns[i][k];
      if (name.front() == '{') out.parameters[std::string(name.substr(1, name.size() - 2))] = head.segments[k];
    }
  }
  return out;
}

}  // namespace ullage::server
