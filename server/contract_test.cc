// The program answers as docs/api/openapi.json says: every path and method is asked, every answer is checked against
// its schema, and what is described and what is routed are the same.
#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "server/routes.h"
#include "server/testing/app_test_base.h"
#include "server/testing/schema.h"

namespace ullage::server {
namespace {

Json description() {
  std::ifstream in(std::string(ULLAGE_SOURCE_DIR) + "/docs/api/openapi.json");
  return Json::parse(in);
}

class Contract : public AppTest {
 protected:
  // Finds the operation of a method and a concrete path.
  const Json* operation(const std::string& method, const std::string& target, std::string& id) {
    http::Head head;
    head.method = method;
    head.target = target;
    http::read_target(head);
    const Match found = match(head);
    if (!found.route) return nullptr;
    std::string lower = method;
    for (char& c : lower) c = static_cast<char>(std::tolower(c));
    const Json& item = spec_.at("paths").at(std::string(found.route->path));
    if (!item.contains(lower)) return nullptr;
    id = found.route->id;
    return &item.at(lower);
  }

  // Asks, and checks request and answer against the description.
  Json told(const std::string& method, const std::string& target, const Json& body = Json(), int expected = 0,
            const std::string& raw = "", const std::string& raw_type = "") {
    SCOPED_TRACE(method + " " + target);
    std::string id;
    const Json* op = operation(method, target, id);
    EXPECT_TRUE(op);
    if (!op) return {};
    asked_.insert(id);
    const Got got =
        raw.empty() ? ask(method, target, body.is_null() ? "" : body.dump()) : ask(method, target, raw, raw_type);
    const Json& responses = op->at("responses");
    const std::string status = std::to_string(got.status);
    if (expected == 0) expected = std::stoi(responses.items().begin().key());
    EXPECT_EQ(got.status, expected) << got.body.substr(0, 600);
    EXPECT_EQ(got.field("x-content-type-options"), "nosniff");
    const bool fine = responses.contains(status);
    const Json& response = schemas_.resolve(fine ? responses.at(status) : responses.at("default"));
    const std::string type = got.field("content-type").substr(0, got.field("content-type").find(';'));
    const auto content = response.at("content").find(type);
    EXPECT_TRUE(content != response.at("content").end()) << type << " is not described";
    if (content == response.at("content").end()) return {};
    if (content.key() != "application/json") return Json(got.body);
    const Json answer = Json::parse(got.body, nullptr, false);
    EXPECT_FALSE(answer.is_discarded()) << got.body.substr(0, 200);
    for (const std::string& fault : schemas_.faults(answer, content.value().at("schema"))) ADD_FAILURE() << fault;
    if (fine && !body.is_null()) {
      const Json& schema = op->at("requestBody").at("content").at("application/json").at("schema");
      for (const std::string& fault : schemas_.faults(body, schema)) ADD_FAILURE() << "request: " << fault;
    }
    return answer;
  }
  // Follows a job to its end.
  void follow(const std::string& job) {
    Client client(app_->port());
    client.send(client.request("GET", "/api/jobs/" + job + "/events"));
    const Got events = client.read(false, 120000);
    asked_.insert("jobEvents");
    EXPECT_EQ(events.field("content-type"), "text/event-stream");
    EXPECT_NE(events.body.find("event: job\ndata: {"), std::string::npos);
    const std::size_t last = events.body.rfind("data: ");
    const Json told_job = Json::parse(events.body.substr(last + 6, events.body.find('\n', last) - last - 6));
    EXPECT_EQ(told_job.at("state"), "done") << told_job.dump();
    for (const auto& fault : schemas_.faults(told_job, spec_.at("components").at("schemas").at("Job")))
      ADD_FAILURE() << fault;
  }

  const Json spec_ = description();
  const Schemas schemas_{spec_};
  std::set<std::string> asked_;
};

TEST_F(Contract, WhatIsDescribedAndWhatIsRoutedAreTheSame) {
  std::set<std::string> described, routed;
  for (const auto& [path, item] : spec_.at("paths").items()) {
    for (const auto& [method, op] : item.items()) {
      std::string upper = method;
      for (char& c : upper) c = static_cast<char>(std::toupper(c));
      described.insert(upper + " " + path + " " + op.at("operationId").get<std::string>());
    }
  }
  for (const Route& route : routes())
    routed.insert(std::string(route.method) + " " + std::string(route.path) + " " + std::string(route.id));
  EXPECT_EQ(described, routed);
}

TEST_F(Contract, BodiesThatARouteTakesAreDescribed) {
  for (const Route& route : routes()) {
    std::string lower(route.method);
    for (char& c : lower) c = static_cast<char>(std::tolower(c));
    const Json& op = spec_.at("paths").at(std::string(route.path)).at(lower);
    const bool described = op.contains("requestBody");
    EXPECT_EQ(described, route.takes != Takes::nothing) << route.id;
    if (!described) continue;
    EXPECT_EQ(op.at("requestBody").at("required").get<bool>(), route.takes != Takes::maybe_json) << route.id;
    const char* type = route.takes == Takes::table  ? "text/csv"
                       : route.takes == Takes::file ? "application/octet-stream"
                                                    : "application/json";
    EXPECT_TRUE(op.at("requestBody").at("content").contains(type)) << route.id;
  }
}

TEST_F(Contract, EveryPathAnswersAsDescribed) {
  begin();
  const Json kg60 = {{"amount", 60}, {"unit", "kg"}};
  told("GET", "/api/about");
  told("GET", "/api/openapi.json");
  told("GET", "/api/roster?sort=name&order=desc&q=n&limit=2");
  told("GET", "/api/roster?sort=banana", {}, 422);
  told("POST", "/api/demo", {{"seed", 3}}, 409);
  told("GET", "/api/lifters/ines");
  told("GET", "/api/lifters/nobody", {}, 404);

  const Json made = told("POST", "/api/lifters",
                         {{"lifter", "Teresa Halvorsen-Oduya"},
                          {"born", "1988-02-03"},
                          {"unit", "lb"},
                          {"training_years", 3},
                          {"body_mass", {{"amount", 150}, {"unit", "lb"}}},
                          {"avoid", {"bench press"}}});
  const std::string teresa = "/api/lifters/" + made.at("profile").at("id").get<std::string>();
  told("PATCH", teresa, {{"goal", "a first pull-up"}, {"born", nullptr}});
  told("PATCH", teresa, {{"unit", "stone"}, {"colour", "red"}}, 422);
  told("POST", teresa + "/body-mass", {{"mass", {{"amount", 151}, {"unit", "lb"}}}, {"date", "2026-03-01"}});
  told("GET", teresa + "/held");

  told("GET", "/api/health-questions");
  told("GET", teresa + "/health");
  told("POST", teresa + "/intake",
       {{"answers", {{{"question", "heart or blood vessels"}, {"answer", "yes"}, {"detail", "as a child"}}}}});
  const Json held = told("POST", teresa + "/session", Json(), 403);
  EXPECT_EQ(held.at("error").at("code"), "not_allowed");
  EXPECT_EQ(held.at("error").at("holds").size(), 1u);
  told("POST", teresa + "/floor/start", Json(), 403);
  told("POST", teresa + "/holds", {{"reason", "back from a journey"}});
  told("POST", teresa + "/holds/hold-1/lift", {{"ground", "seen and well"}, {"by", "the coach"}});
  told("POST", teresa + "/holds/intake-2026-03-09-0/lift", {{"ground", "she says so"}}, 403);
  told("POST", teresa + "/words",
       {{"clinician", "Dr Amaranta"},
        {"least_reserve", 3},
        {"load_cap_share", 0.7},
        {"lifts_holds", {"all"}},
        {"until", "2026-06-01"},
        {"not_exercises", {"back squat"}}});
  told("POST", teresa + "/words/word-1/end", Json());
  told("PUT", teresa + "/consent", {{"guardian", "B. Oduya"}});
  told("DELETE", teresa + "/consent");
  const Json pains = told("POST", teresa + "/pains", {{"exercise", "back squat"}, {"note", "left knee"}});
  const std::string pain = pains.at("record").at("pains").at(0).at("id").get<std::string>();
  told("POST", teresa + "/pains/" + pain + "/clear", {{"by", "the coach"}});
  told("POST", teresa + "/settle", Json());

  told("GET", "/api/policy");
  Json policy = told("GET", teresa + "/policy").at("policy");
  policy["classes"][2]["most_reserve"] = 2;
  told("PUT", teresa + "/policy", policy);
  told("PUT", "/api/policy", policy);
  told("DELETE", teresa + "/policy");
  told("DELETE", "/api/policy");

  told("GET", "/api/places");
  told("PUT", "/api/places/boathouse",
       {{"name", "Boathouse"},
        {"unit", "kg"},
        {"safety_bars", true},
        {"bars", {{{"id", "olympic"}, {"mass", {{"amount", 20}, {"unit", "kg"}}}}}},
        {"plates",
         {{{"plate", {{"amount", 20}, {"unit", "kg"}}}, {"pairs", 4}},
          {{"plate", {{"amount", 2.5}, {"unit", "kg"}}}, {"pairs", 2}}}},
        {"dumbbells", {kg60}},
        {"stacks", {{{"exercise", ""}, {"steps", {{{"amount", 5}, {"unit", "kg"}}}}}}},
        {"without", {"leg press"}}});
  told("GET", "/api/places/boathouse");
  told("DELETE", "/api/places/boathouse");
  told("GET", "/api/places/boathouse", {}, 404);

  told("GET", "/api/exercises?q=squat&limit=5");
  told("GET", "/api/exercises/bench-press");
  told("PUT", "/api/exercises/quay-press",
       {{"name", "quay press"},
        {"class", "supported compound"},
        {"implement", "stack"},
        {"muscles", {{"chest", 1}, {"triceps", 0.5}}}});
  told("PUT", "/api/exercises/bench-press", {{"aliases", {"bench", "flat bench"}}});
  told("DELETE", "/api/exercises/quay-press");

  // A filled sheet, typed.
  const std::string typed = "bench press: 80 kg x 5 left 2; x 5 left 1; rest 120 s";
  EXPECT_EQ(told("POST", "/api/lifters/ines/session-line", {{"text", typed}, {"dry_run", true}}).at("change"), Json());
  const Json line = told("POST", "/api/lifters/ines/session-line", {{"text", typed}}, 201);
  ASSERT_EQ(line.at("sets").size(), 2U);
  EXPECT_EQ(line.at("sets")[1].at("called_reserve"), "1");
  told("POST", "/api/undo", {{"change", line.at("change")}});
  const Json pointed = told("POST", "/api/lifters/ines/session-line", {{"text", "bench press: 80 kg y 5"}}, 422);
  EXPECT_NE(pointed.at("error").at("message").get<std::string>().find('^'), std::string::npos) << pointed.dump();

  // A lifter whose log has no estimate: told, and made in the background.
  EXPECT_EQ(told("GET", "/api/lifters/hanno/estimate", {}, 409).at("error").at("code"), "not_fitted");
  const Json fit = told("POST", "/api/fits", {{"lifters", {"ines"}}});
  follow(fit.at("job").get<std::string>());
  told("GET", "/api/jobs");
  told("GET", "/api/jobs/" + fit.at("job").get<std::string>());
  told("DELETE", "/api/jobs/" + fit.at("job").get<std::string>());
  told("GET", "/api/lifters/ines/estimate");
  const Json lift = told("GET", "/api/lifters/ines/lifts/bench-press");
  EXPECT_EQ(lift.at("sets").size(), 72u);
  EXPECT_FALSE(lift.at("history").empty());
  EXPECT_NEAR(lift.at("sets").back().at("kg").get<double>(),
              lift.at("estimate").at("strength_kg").at("median").get<double>(), 12);
  told("POST", "/api/lifters/ines/forecast", {{"exercise", "bench press"}, {"load", kg60}, {"reps", {8, 8}}});

  const std::string papers = "/api/lifters/ines/papers";
  EXPECT_EQ(told("GET", papers + "/session?date=2026-03-10&paper=letter").get<std::string>().substr(0, 5), "%PDF-");
  told("GET", papers + "/sheets?days=7&format=html");
  told("GET", papers + "/overview?days=7&from=2026-03-10&format=html");
  told("GET", papers + "/report?format=html");
  told("GET", papers + "/report?format=doc", {}, 422);
  EXPECT_NE(told("GET", papers + "/report?format=html&language=de").get<std::string>().find("lang=\"de\""),
            std::string::npos);
  told("GET", papers + "/report?language=fr", {}, 422);
  told("GET", "/api/lifters/hanno/papers/sheets", {}, 403);
  EXPECT_NE(told("GET", papers + "/calendar?start=18:30&zone=Europe/Oslo&language=de")
                .get<std::string>()
                .find("BEGIN:VEVENT"),
            std::string::npos);
  EXPECT_EQ(told("GET", "/api/workbook?lifter=ines").get<std::string>().substr(0, 4), std::string("PK\3\4"));
  const Json making = told("POST", "/api/papers", {{"days", 3}, {"format", "html"}, {"language", "de"}});
  follow(making.at("job").get<std::string>());
  const Json made_papers = asked("GET", "/api/jobs/" + making.at("job").get<std::string>()).at("result");
  EXPECT_GE(made_papers.at("files").get<int>(), 1) << made_papers.dump();
  const std::string archive = "/api/papers/" + made_papers.at("paper").get<std::string>();
  for (int twice = 0; twice < 2; ++twice)
    EXPECT_EQ(told("GET", archive).get<std::string>().substr(0, 4), std::string("PK\3\4"));

  told("GET", "/api/lifters/ines/sets?exercise=bench%20press&limit=3");
  const Json logged = told(
      "POST", "/api/lifters/ines/sets",
      {{"exercise", "back squat"}, {"load", {{"amount", 90}, {"unit", "kg"}}}, {"reps", 5}, {"called_reserve", "3"}});
  const std::string at_set = "/api/sets/" + logged.at("set").at("id").get<std::string>();
  told("PATCH", at_set, {{"reps", 6}, {"called_reserve", nullptr}});
  // More likely a slip: asked about, and done when it is said to be right.
  const Json slip = {{"load", {{"amount", 900}, {"unit", "kg"}}}};
  const Json doubtful = told("PATCH", at_set, slip, 409).at("error");
  EXPECT_EQ(doubtful.at("code"), "doubtful");
  EXPECT_EQ(doubtful.at("confirm"), "sure");
  EXPECT_EQ(doubtful.at("where"), "load");
  Json certain = slip;
  certain["sure"] = true;
  told("PATCH", at_set, certain);
  Json heavy = {{"exercise", "back squat"}, {"load", {{"amount", 1200}, {"unit", "kg"}}}, {"reps", 5}};
  EXPECT_EQ(told("POST", "/api/lifters/ines/sets", heavy, 409).at("error").at("code"), "doubtful");
  const std::string typed_slip = "bench press: 900 kg x 5";
  EXPECT_EQ(
      told("POST", "/api/lifters/ines/session-line", {{"text", typed_slip}, {"dry_run", true}}).at("doubts").size(),
      1U);
  EXPECT_EQ(told("POST", "/api/lifters/ines/session-line", {{"text", typed_slip}}, 409).at("error").at("confirm"),
            "sure");
  told("DELETE", at_set);
  told("DELETE", at_set, {}, 404);

  told("GET", "/api/lifters/ines/floor");
  told("GET", "/api/lifters/ines/session?date=2026-03-10");
  told("POST", "/api/lifters/ines/session",
       {{"exercises", {{{"exercise", "bench press"}, {"sets", 3}}, {{"exercise", "back squat"}, {"sets", 2}}}}});
  told("POST", "/api/lifters/ines/floor/start", Json());
  const Json first = told("POST", "/api/lifters/ines/floor/sets", set("set-number-1"));
  EXPECT_FALSE(first.at("floor").at("next").is_null());
  told("POST", "/api/lifters/ines/floor/sets", set("set-number-1"));
  EXPECT_EQ(told("POST", "/api/lifters/ines/floor/sets", set("set-number-1", 5), 409).at("error").at("code"), "clash");
  told("DELETE", "/api/lifters/ines/floor/sets/set-number-1");
  told("GET", "/api/lifters/ines/floor/alternatives?exercise=back%20squat");
  told("POST", "/api/lifters/ines/floor/swap", {{"exercise", "back squat"}, {"with", "leg press"}});
  told("POST", "/api/lifters/ines/floor/pain", {{"exercise", "leg press"}, {"note", "hip"}});
  told("GET", "/api/floor");
  told("POST", "/api/lifters/ines/floor/finish", Json());

  // What the data ask for: nothing of ines, who may have a lighter week all the same; nothing at all on hold.
  const std::string steering = "/api/lifters/ines/steering";
  Json steered = told("GET", steering);
  EXPECT_TRUE(steered.at("proposals").empty()) << steered.dump();
  EXPECT_GT(steered.at("form").at("sessions").get<int>(), 3);
  told("POST", steering + "/accept", {{"kind", "lighter week"}}, 409);
  told("POST", steering + "/reject", {{"kind", "stall"}, {"why", "no"}, {"shown", "heavier, 4-6 reps"}}, 409);
  told("POST", steering + "/accept", {{"kind", "a holiday"}}, 422);
  told("POST", steering + "/accept", {{"kind", "stall"}, {"unasked", true}}, 422);
  EXPECT_EQ(
      told("POST", steering + "/accept", {{"kind", "lighter week"}, {"unasked", true}, {"week", "2026-02-01"}}, 422)
          .at("error")
          .at("where"),
      "week");
  const Json own = told("POST", steering + "/accept",
                        {{"kind", "lighter week"}, {"unasked", true}, {"week", "2026-03-12"}, {"why", "exams"}});
  EXPECT_EQ(own.at("decision").at("proposal").at("from"), "2026-03-09");
  steered = told("GET", steering);
  ASSERT_EQ(steered.at("decided").size(), 1u);
  EXPECT_EQ(steered.at("decided").at(0).at("said"), "exams");
  const Json lighter = told("GET", "/api/lifters/ines/session?date=2026-03-10");
  ASSERT_EQ(lighter.at("steered").size(), 1u);
  told("POST", "/api/undo", {{"change", own.at("change")}});
  EXPECT_TRUE(told("GET", steering).at("decided").empty());
  EXPECT_TRUE(told("GET", "/api/lifters/ines/session?date=2026-03-10").at("steered").empty());
  const Json held_back = told("GET", "/api/lifters/hanno/steering");
  EXPECT_EQ(held_back.at("holds").size(), 1u);
  EXPECT_TRUE(held_back.at("form").is_null());
  const Json not_now =
      told("POST", "/api/lifters/hanno/steering/accept", {{"kind", "lighter week"}, {"unasked", true}}, 403);
  EXPECT_EQ(not_now.at("error").at("holds").size(), 1u);

  // A block: proposed, changed by hand, turned down, proposed again, the plan.
  told("GET", "/api/templates");
  told("PUT", "/api/templates/quay", {{"toml", "name = \"Quay\"\nweeks = 2\n[[day]]\non = \"Tue\"\nminutes = 45\n"}});
  told("PUT", "/api/templates/quay", {{"toml", "wekks = 2"}}, 422);
  told("POST", "/api/lifters/ines/blocks", {{"template", "quai"}}, 422);
  // Rules of several parts: what is wrong is named where it stands.
  const Json wrong_rules = {{"order", {{{"first", "squat"}, {"then", "squat"}}}},
                            {"fixed", {{{"exercise", "squat"}, {"weekday", 8}}}},
                            {"tests", {{{"exercise", "squat"}}}},
                            {"balance", {{{"of", {"chest"}}, {"against", {"wings"}}, {"ratio", 1}}}},
                            {"muscles",
                             {{{"muscle", "chest"}},
                              {{"muscle", "lats"}, {"least_week", 9}, {"most_week", 8}},
                              {{"muscle", "lats"}, {"most_week", 90}},
                              {{"muscle", "wings"}, {"most_week", 9}}}},
                            {"travel", {{{"from", "2026-03-20"}, {"until", "2026-03-12"}}}},
                            {"coming_back", {{"from", "2026-03-12"}, {"first_share", 2}}},
                            {"out", {{"until", "2026-03-12"}}}};
  const Json faults = told("POST", "/api/lifters/ines/blocks", wrong_rules, 422);
  for (const char* where : {"order.0.then", "fixed.0.weekday", "tests.0.week", "balance.0.against", "travel.0.until",
                            "muscles.0.least_week", "muscles.1.most_week", "muscles.2.muscle", "muscles.2.most_week",
                            "muscles.3.muscle", "coming_back.first_share", "out.exercise"})
    EXPECT_NE(faults.dump().find(where), std::string::npos) << where << " is not named in " << faults.dump();
  const auto job_of = [&](const Json& job, const char* schema) {
    follow(job.at("job").get<std::string>());
    const Json result = told("GET", "/api/jobs/" + job.at("job").get<std::string>()).at("result");
    if (schema) {
      for (const auto& fault : schemas_.faults(result, spec_.at("components").at("schemas").at(schema)))
        ADD_FAILURE() << fault;
    }
    return result;
  };
  const auto plan = [&] {
    const Json result =
        job_of(told("POST", "/api/lifters/ines/blocks",
                    {{"template", "quay"},
                     {"days", {{{"weekday", 2}, {"minutes", 45}}, {{"weekday", 5}, {"minutes", 45}}}},
                     {"goals", {{{"muscle", "chest"}, {"weight", 2}}, {{"muscle", "lats"}, {"weight", 1}}}},
                     {"ban", {"dip"}},
                     {"muscles", {{{"muscle", "calves"}, {"most_week", 2}}}},
                     {"seconds", 0.5}},
                    202),
               "BlockResult");
    EXPECT_TRUE(result.at("none").is_null()) << result.dump();
  };
  plan();
  Json blocks = told("GET", "/api/lifters/ines/blocks");
  ASSERT_FALSE(blocks.at("proposed").is_null());
  const std::string request = blocks.at("proposed").at("block").at("request");
  EXPECT_NE(request.find("name = \"calves\"\nmost_week = 2"), std::string::npos) << request;
  const Json& days = blocks.at("proposed").at("block").at("weeks").at(0).at("days");
  ASSERT_EQ(days.size(), 2u);
  ASSERT_FALSE(days.at(0).at("exercises").empty());
  const std::string there = days.at(0).at("exercises").at(0).at("exercise");
  told("GET", "/api/lifters/ines/blocks/" + blocks.at("proposed").at("number").dump());
  told("GET", "/api/lifters/ines/blocks/99", {}, 404);
  const Json more =
      told("POST", "/api/lifters/ines/blocks/edit", {{"weekday", 2}, {"exercise", there}, {"sets", 9}}).at("block");
  EXPECT_TRUE(more.at("block").at("edited").get<bool>());
  EXPECT_FALSE(more.at("block").at("faults").empty());
  told("POST", "/api/lifters/ines/blocks/edit", {{"weekday", 2}, {"exercise", there}}, 422);
  told("POST", "/api/undo", Json());
  told("POST", "/api/lifters/ines/blocks/move", {{"weekday", 2}, {"to_weekday", 3}});
  told("POST", "/api/lifters/ines/blocks/move", {{"weekday", 2}, {"to_weekday", 3}}, 422);
  told("POST", "/api/lifters/ines/blocks/note", {{"week", 1}, {"note", "away on Friday"}});
  told("GET", "/api/lifters/ines/blocks/curve", {}, 404);
  job_of(told("POST", "/api/lifters/ines/blocks/curve", {{"watched", true}}, 202), nullptr);
  const Json curve = told("GET", "/api/lifters/ines/blocks/curve");
  EXPECT_TRUE(curve.at("current").get<bool>());
  ASSERT_FALSE(curve.at("points").empty());
  EXPECT_EQ(told("GET", "/api/lifters/ines/blocks/curve/0").at("weeks").size(), 2u);
  told("GET", "/api/lifters/ines/blocks/curve/99", {}, 404);
  told("POST", "/api/lifters/ines/blocks/reject", {{"why", "too long"}});
  told("POST", "/api/lifters/ines/blocks/accept", Json(), 409);
  plan();
  told("POST", "/api/lifters/ines/blocks/accept", {{"why", "fits"}});
  blocks = told("GET", "/api/lifters/ines/blocks");
  EXPECT_EQ(blocks.at("accepted").at("state"), "accepted");
  EXPECT_EQ(blocks.at("blocks").size(), 2u);
  // Something comes between: the accepted plan is solved again around it, and its request keeps it.
  const std::string monday = blocks.at("accepted").at("block").at("weeks").at(0).at("monday");
  const Json between = job_of(told("POST", "/api/lifters/ines/blocks",
                                   {{"out", {{"exercise", there}, {"why", "bench is in repair"}}},
                                    {"coming_back", {{"from", monday}, {"weeks", 1}, {"why", "a cold"}}},
                                    {"travel", {{{"from", monday}, {"until", monday}}}},
                                    {"seconds", 0.5}},
                                   202),
                              "BlockResult");
  EXPECT_TRUE(between.at("resolved").get<bool>());
  ASSERT_TRUE(between.at("none").is_null()) << between.dump();
  const Json around = told("GET", "/api/lifters/ines/blocks").at("proposed").at("block");
  EXPECT_EQ(around.at("weeks").dump().find('"' + there + '"'), std::string::npos) << there << " is out";
  for (const char* words : {"bench is in repair", "a cold"})
    EXPECT_NE(around.at("request").get<std::string>().find(words), std::string::npos) << words;
  told("POST", "/api/lifters/hanno/blocks", Json(), 403);
  told("POST", "/api/lifters/hanno/blocks/curve", Json(), 403);
  told("DELETE", "/api/templates/quay");
  told("DELETE", "/api/templates/quay", {}, 404);

  const Json compared = told("POST", "/api/lifters/ines/compare",
                             {{"exercise", "bench press"}, {"strategies", {"failure", "reserve:2"}}, {"sets", 3}});
  EXPECT_EQ(compared.at("strategies").size(), 2u);
  told("POST", "/api/lifters/ines/compare", {{"exercise", "bench press"}, {"strategies", {"until tea"}}}, 422);
  const Json average =
      told("POST", "/api/lifters/ines/compare",
           {{"exercise", "bench press"}, {"average", true}, {"share", 0.75}, {"strategies", {"failure", "reserve:2"}}});
  EXPECT_TRUE(average.at("lifter").is_null());
  EXPECT_FALSE(average.at("known").get<bool>());
  told("POST", "/api/lifters/ines/compare",
       {{"exercise", "bench press"},
        {"average", true},
        {"load", {{"amount", 60}, {"unit", "kg"}}},
        {"strategies", {"failure"}}},
       422);

  const std::string csv = log_text("Ines", 13);
  told("POST", "/api/imports?dry_run=true&name=march.csv", {}, 0, csv, "text/csv");
  told("POST", "/api/imports?name=march.csv", {}, 0, csv, "text/csv");
  told("POST", "/api/imports", {}, 422, "a,b\n1,2\n", "text/csv");
  const Json table = told("POST", "/api/tables?name=club.csv", {}, 0,
                          "Name,Day,Lift,Weight,Reps\nInes,2026-03-01,bench press,60,8\n", "text/csv");
  EXPECT_FALSE(table.at("open_format").get<bool>());
  const std::string at_table = "/api/tables/" + table.at("table").get<std::string>();
  EXPECT_EQ(told("GET", at_table + "/cells?rows=5").at("sheets").at(0).at("rows").size(), 2u);
  const Json offer = told("GET", at_table + "/offer");
  const Json picked = told("POST", "/api/mappings/pick",
                           {{"toml", offer.at("mapping")},
                            {"picks", {{{"field", "load"}, {"columns", {"Weight"}}, {"unit", "kg"}}}},
                            {"date_order", "ymd"}});
  told("POST", "/api/mappings/pick", {{"toml", ""}, {"picks", {{{"field", "hat"}}}}}, 422);
  const Json would = told("POST", at_table + "/read", {{"toml", picked.at("mapping")}, {"dry_run", true}});
  EXPECT_EQ(would.at("added"), 1);
  EXPECT_EQ(would.at("preview").at(0).at("set").at("reps"), 8);
  told("PUT", "/api/mappings/club", {{"toml", picked.at("mapping")}});
  EXPECT_EQ(told("POST", at_table + "/read", {{"mapping", "club"}}).at("added"), 1);
  told("DELETE", at_table);
  told("GET", at_table + "/offer", {}, 404);
  told("GET", "/api/mappings");
  told("DELETE", "/api/mappings/club");

  std::ifstream studies_in(std::string(ULLAGE_SOURCE_DIR) + "/tests/data/evidence/contrasts.csv");
  std::ostringstream studies_text;
  studies_text << studies_in.rdbuf();
  const Json sent = told("POST", "/api/tables?name=contrasts.csv", {}, 0, studies_text.str(), "text/csv");
  const Json looked =
      told("POST", "/api/studies", {{"table", sent.at("table")}, {"measure", "SMD"}, {"skip_bad", true}});
  EXPECT_GT(looked.at("report").at("studies_used").get<int>(), 5);
  told("PUT", "/api/studies/failure%20or%20short",
       {{"table", sent.at("table")}, {"measure", "SMD"}, {"skip_bad", true}, {"compares", "short minus failure"}});
  const std::string at_studies = "/api/studies/failure%20or%20short";
  told("PUT", at_studies, {{"better", "more"}});
  EXPECT_EQ(told("GET", "/api/studies").at("studies").size(), 1u);
  EXPECT_EQ(told("GET", at_studies).at("meaning").at("compares"), "short minus failure");
  EXPECT_TRUE(told("POST", at_studies + "/ask", {{"about", "growth"}, {"by", {"weeks"}}})
                  .at("answers")
                  .at(0)
                  .at("answered")
                  .get<bool>());
  EXPECT_FALSE(told("POST", at_studies + "/fit", {{"about", "growth"}, {"check", true}}).at("rows").empty());
  told("POST", at_studies + "/fit", {{"moderators", {"hat"}}}, 422);
  EXPECT_EQ(told("POST", at_studies + "/curve", {{"along", "weeks"}, {"spline", true}}).at("curve").size(), 61u);
  told("PUT", "/api/readings/ours", {{"studies", "failure or short"}, {"along", "weeks"}, {"typical", 0.5}}, 422);
  std::string doses = "study,effect,se,reserve\n";
  for (int i = 0; i < 12; ++i)
    doses += "Study " + std::to_string(i) + "," + std::to_string(0.6 - 0.02 * (i % 6) + 0.01 * (i % 4)) + ",0.1," +
             std::to_string(i % 6) + "\n";
  const Json dose = told("POST", "/api/tables?name=doses.csv", {}, 0, doses, "text/csv");
  told("PUT", "/api/studies/doses", {{"table", dose.at("table")}});
  const Json kept = told("PUT", "/api/readings/ours", {{"studies", "doses"}, {"along", "reserve"}});
  EXPECT_EQ(kept.at("reading").at("median").size(), 11u);
  EXPECT_EQ(told("GET", "/api/readings").at("kept").size(), 1u);
  told("DELETE", "/api/readings/ours");
  told("DELETE", at_studies);
  told("GET", at_studies, {}, 404);
  EXPECT_FALSE(told("GET", "/api/published?topic=failure").at("results").empty());

  told("GET", "/api/settings");
  told("PATCH", "/api/settings", {{"language", "de"}, {"unit", "lb"}});
  told("GET", "/api/history?limit=5");
  told("POST", "/api/undo", Json());
  told("GET", "/api/doctor");
  EXPECT_EQ(told("GET", "/api/export").get<std::string>().substr(0, 4), std::string("PK\3\4"));
  const std::string backup = told("GET", "/api/backup").get<std::string>();
  EXPECT_EQ(backup.substr(0, 15), "SQLite format 3");
  told("POST", "/api/restore?confirm=replace", {}, 0, backup, "application/octet-stream");
  told("POST", "/api/restore?confirm=replace", {}, 422, "no backup at all", "application/octet-stream");
  told("GET", "/api/roster");
  told("DELETE", "/api/lifters/nuria");
  told("POST", teresa + "/erase", {{"name", "Teresa"}}, 422);
  told("POST", teresa + "/erase", {{"name", "Teresa Halvorsen-Oduya"}});

  Client events(app_->port());
  events.send(events.request("GET", "/api/events"));
  EXPECT_NE(events.read_until(": \n\n").find("text/event-stream"), std::string::npos);
  asked_.insert("events");
  ask("PATCH", "/api/settings", R"({"theme":"dark"})");
  EXPECT_NE(events.read_until("event: change\ndata: {\"change\":").find("event: change"), std::string::npos);

  for (const Route& route : routes()) EXPECT_TRUE(asked_.count(std::string(route.id))) << route.id << " was not asked";
}

TEST_F(Contract, AnEmptyFileGetsTheDemoInOneRequest) {
  options_.data_file = path("empty.db");
  begin();
  EXPECT_TRUE(told("GET", "/api/about").at("empty").get<bool>());
  EXPECT_EQ(told("GET", "/api/roster").at("total"), 0);
  const Json demo = told("POST", "/api/demo", Json());
  EXPECT_EQ(demo.at("lifters").size(), 12u);
  EXPECT_EQ(told("GET", "/api/roster").at("total"), 12);
  // Fitting everyone takes minutes: it can be stopped.
  told("DELETE", "/api/jobs/" + demo.at("job").at("job").get<std::string>());
}

}  // namespace
}  // namespace ullage::server
