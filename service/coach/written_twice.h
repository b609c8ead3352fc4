// Sessions that stand twice in one file: pasted again, most likely. Whoever takes the file in asks about them, since
// each set would be stored a second time. A file read again is no matter: its rows are known (service/store).
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "service/interchange/read_log.h"

namespace ullage::coach {

// Rows as they are read, in the order of the file. A session is what a lifter has in a row on one day. It stands twice
// when the same sets come again after rows of another day, or at once where sets of one exercise follow each other in
// it: exercises in turn are no sign, three rounds of two exercises are alike too. Holds a number for each session.
class WrittenTwice {
 public:
  void look(const interchange::LoggedSet& row);
  // At the first row of each repetition, in the order of the file, at most `most`.
  std::vector<interchange::Fault> found(std::size_t most = 1000) const;

 private:
  struct Session {
    Date day;
    std::vector<std::uint64_t> rows, exercises;  // what each says, as a number
    std::vector<std::uint64_t> lines;
    std::vector<std::string> places;
  };
  struct Seen {
    std::uint64_t said = 0, line = 0;
    std::size_t rows = 0;
    std::string place;
  };
  void close(const std::string& lifter, const Session& session);

  std::map<std::string, Session> under_way_;
  std::map<std::pair<std::string, Date>, std::vector<Seen>> seen_;
  std::vector<interchange::Fault> found_;
};

}  // namespace ullage::coach
