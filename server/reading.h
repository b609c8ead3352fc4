// Reads what a request says: its JSON body and its query, field by field, collecting every fault before anything is
// done.
//
//   Fields body(json, "");
//   wish.reps = body.whole("reps", 0, 500, true).value_or(0);
//   if (auto faults = body.faults(); !faults) return faults;
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/units.h"
#include "engine/training/set_record.h"
#include "server/http.h"
#include "server/problem.h"

namespace ullage::server {

inline constexpr std::size_t kLongestText = 10000;  // characters of one text
inline constexpr int kDeepest = 32;                 // lists and objects within each other

// One JSON text. 400 malformed says line and column: not JSON, not UTF-8, nested too deep, the same key twice.
Outcome<Json> parse_json(std::string_view text);

// The fields of an object. Each is asked for once; whatever was not asked for is a fault.
class Fields {
 public:
  // `place`: of the object in the body, "exercises.0"; empty: the body itself.
  Fields(const Json& object, std::string place);

  // Given and not null; null counts as given by has().
  bool has(const std::string& name);
  bool is_null(const std::string& name);
  // Empty when not given, null or wrong; wrong, and missing when `needed`, are faults.
  std::optional<std::string> text(const std::string& name, bool needed = false);
  std::optional<double> number(const std::string& name, double low, double high, bool needed = false);
  std::optional<int> whole(const std::string& name, int low, int high, bool needed = false);
  std::optional<bool> flag(const std::string& name, bool needed = false);
  std::optional<Date> date(const std::string& name, bool needed = false);
  std::optional<Load> load(const std::string& name, bool needed = false);
  std::optional<ullage::Call> call(const std::string& name);
  std::optional<std::vector<std::string>> texts(const std::string& name, bool needed = false);
  // One of these words: its place in the list.
  std::optional<std::size_t> choice(const std::string& name, const std::vector<std::string>& words,
                                    bool needed = false);
  const Json* list(const std::string& name, std::size_t most, bool needed = false);
  const Json* object(const std::string& name, bool needed = false);

  std::string at(const std::string& name) const { return place_.empty() ? name : place_ + "." + name; }
  void wrong(const std::string& name, std::string message) { found_.push_back({at(name), std::move(message)}); }
  void take_faults(Fields& other);
  // 422 with every fault, unknown fields among them; done when there is none.
  Outcome<void> done();

 private:
  const Json* find(const std::string& name, bool needed);

  const Json& object_;
  std::string place_;
  std::map<std::string, bool> asked_;
  std::vector<Fault> found_;
};

// The query as an object of texts, numbers and truths, read with the same Fields.
class Query {
 public:
  explicit Query(const http::Head& head) : head_(head) {}
  std::optional<std::string> text(const std::string& name, bool needed = false);
  std::optional<int> whole(const std::string& name, int low, int high);
  std::optional<bool> flag(const std::string& name);
  std::optional<Date> date(const std::string& name);
  std::optional<std::size_t> choice(const std::string& name, const std::vector<std::string>& words);
  Outcome<void> done();

 private:
  const http::Head& head_;
  std::map<std::string, bool> asked_;
  std::vector<Fault> found_;
};

}  // namespace ullage::server
