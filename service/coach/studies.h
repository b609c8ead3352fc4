// Study tables the coach keeps in the data file: the table as it was read, the mapping it is read through, and how its
// rows are meant. A kept table is a setting "studies NAME": in history, taken back by undo, part of backup and export.
//
//   keep_studies(desk, "failure or short", table);
//   auto answers = ask_evidence(*gather(wish_for(*studies(desk, "failure or short"))), {...});
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/coach/desk.h"
#include "service/coach/evidence.h"

namespace ullage::coach {

inline constexpr std::size_t kMostStudyTables = 20;
inline constexpr std::size_t kLongestStudyTable = 2u << 20;  // bytes of text

struct StudyTableKept {
  std::string name;     // plain text of 1 to 60 characters
  std::string file;     // that it came from
  std::string text;     // the table
  std::string mapping;  // TOML; empty: the open form
  bool skip_bad = false;
  std::optional<evidence::Measure> measure;
  std::optional<bool> more_is_better;
  std::optional<double> assumed_r;
  std::string compares;  // "short minus failure", "failure minus short", "groups"; empty: not said
};

// By name.
Result<std::vector<StudyTableKept>> kept_studies(Desk& desk);
// not_found: none of that name, with those there are.
Result<StudyTableKept> studies(Desk& desk, const std::string& name);
// One of the same name is replaced. invalid_input: a name that is none, a table that is empty, too long, or cannot be
// pooled as it is meant; conflict: kMostStudyTables are kept.
Result<store::ChangeId> keep_studies(Desk& desk, const StudyTableKept& table);
Result<store::ChangeId> remove_studies(Desk& desk, const std::string& name);

EvidenceWish wish_for(const StudyTableKept& table);
// "short minus failure" and the like as a question's wish; invalid_input when nothing is said.
Result<AskWish> ask_for(const std::string& compares);

}  // namespace ullage::coach
