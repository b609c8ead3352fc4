// Everything in the data file in open formats, for the owner to take away.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "service/coach/desk.h"

namespace ullage::coach {

struct ExportReport {
  std::string folder;
  std::vector<std::string> files;
  int lifters = 0;
  std::int64_t sets = 0;
};
// Writes log.csv (docs/log-format.md: every column of every set), profiles.json (lifters, health records, policies,
// sheets), studio.json (places, policies, mappings, settings, imports) and exercises.toml (the coach's edits) into a
// new folder. With a lifter: only what is kept about them. Nothing half-written: the folder appears when all is there.
// conflict: the folder exists already.
Result<ExportReport> export_all(Desk& desk, const std::string& folder, const std::string& lifter = "");

}  // namespace ullage::coach
