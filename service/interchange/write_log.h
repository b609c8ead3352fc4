// Writes sets in the open log format: every column of every set, exactly as read_log reads it back.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/training/set_record.h"

namespace ullage::interchange {

// Gets the text piece by piece.
using TextSink = std::function<void(std::string_view)>;

// Names of the sets' extra columns, each as often as one set holds it, in order of first appearance.
// `names` are those known before: call it for each lifter, then write. What is read back has a set's
// extra columns in this order.
std::vector<std::string> extra_columns(const std::vector<SetRecord>& sets, std::vector<std::string> names = {});

class LogWriter {
 public:
  // Writes the header. `extra` must hold every extra name of the sets to come.
  LogWriter(TextSink sink, std::vector<std::string> extra);
  void write(std::string_view lifter, const SetRecord& set);

 private:
  TextSink sink_;
  std::vector<std::string> extra_;
  std::string row_;
};

// Header and all sets of one lifter.
void write_log(const TextSink& sink, std::string_view lifter, const std::vector<SetRecord>& sets);

// One field as it stands in a row: quoted when it must be. Bytes that are no UTF-8 and NUL become U+FFFD.
void append_csv_field(std::string& row, std::string_view text);

}  // namespace ullage::interchange
