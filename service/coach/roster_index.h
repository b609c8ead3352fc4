// The roster kept at hand: rows are worked out once and again only when something about their lifter was written, so
// that thousands of lifters are shown at once. Several threads may use one index, each with its own desk.
#pragma once

#include <chrono>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "service/coach/roster.h"

namespace ullage::coach {

struct RosterQuery {
  enum class Sort { attention, name, last_session, sessions, sets };
  Sort sort = Sort::attention;
  bool descending = false;
  std::string text;               // part of the name, letters' case ignored
  std::optional<Attention> kind;  // only lifters with such a reason
  std::size_t offset = 0, limit = 100;
};

struct RosterPage {
  Date as_of;
  int total = 0;         // lifters in the file
  int standing_out = 0;  // of them with reasons
  int matching = 0;      // that fit the query
  int pending = 0;       // not looked at yet
  std::map<Attention, int> counts;
  struct Row {
    RosterRow row;
    bool pending = false;
  };
  std::vector<Row> rows;
};

class RosterIndex {
 public:
  // Brings rows up to date for at most about `budget`; true when none is left to do. Cheap when nothing was written.
  Result<bool> refresh(Desk& desk, std::chrono::milliseconds budget);
  // What another program wrote is only looked for after this.
  void look_again();
  // The data file is another one.
  void forget();
  RosterPage page(const RosterQuery& query);

 private:
  struct Entry {
    RosterRow row;
    std::string mark;    // under which the row was worked out
    std::string wanted;  // mark it has now
    std::string folded;  // name for searching
    bool known = false;
  };
  std::mutex mutex_;
  bool again_ = true;
  Date as_of_;
  store::ChangeId newest_ = -1;
  std::string library_mark_;
  std::unordered_map<std::string, Entry> entries_;  // by lifter id
  std::vector<std::string> waiting_;                // ids, the next last
};

}  // namespace ullage::coach
