// One request being answered: what it says, the desk it is answered at, and what the program shares between requests.
#pragma once

#include <atomic>
#include <map>
#include <mutex>
#include <string>

#include "server/curves.h"
#include "server/events.h"
#include "server/jobs.h"
#include "server/problem.h"
#include "server/reading.h"
#include "server/tables.h"
#include "server/turns.h"
#include "service/coach/desk.h"
#include "service/coach/roster_index.h"

namespace ullage::server {

// What all requests share.
struct Services {
  Services(DeskSource source, std::string program_version, std::string folder)
      : desks(std::move(source)),
        version(std::move(program_version)),
        work_folder(std::move(folder)),
        jobs(desks, listeners) {}

  const DeskSource desks;
  const std::string version;
  const std::string work_folder;  // for files that are on their way
  Listeners listeners;
  coach::RosterIndex roster;
  Curves curves;
  Jobs jobs;
  Tables tables;                    // sent to be read in
  Tables papers;                    // made to be fetched
  Turns reading{2}, pressing{2};    // tables being read, papers being made
  std::mutex writing;               // of changes one is made at a time
  std::atomic<int> generation = 0;  // rises when the data file was replaced: desks are opened again
  std::atomic<std::uint64_t> files = 0;

  // A name in work_folder that nobody has.
  std::string new_file(const std::string& end) { return work_folder + "/out-" + std::to_string(++files) + end; }
};

struct Call {
  Services& services;
  coach::Desk& desk;
  const http::Request& request;
  std::map<std::string, std::string> parameters;  // of the path
  Query query;
  Json body;  // null: none was sent

  const std::string& parameter(const std::string& name) const { return parameters.at(name); }
  store::Store& store() { return desk.store(); }
  // The lifter of the path.
  Outcome<Lifter> lifter() {
    auto found = desk.lifter(parameter("lifter"));
    if (!found) return problem(found.error());
    return std::move(*found);
  }
  // The body's fields; an absent body has none.
  Fields fields() {
    if (body.is_null()) body = Json::object();
    return Fields(body, "");
  }
  // Who did it: what the body says, else the user of the computer.
  std::string by(Fields& fields) { return fields.text("by").value_or(services.desks.who); }
};

using Answer = Outcome<http::Response>;

}  // namespace ullage::server
