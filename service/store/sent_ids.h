// The ids that clients gave to the sets they sent, so that an id counts once whatever becomes of its set. They stand
// apart from Store because no undo takes them back: what was sent stays sent.
//
//   auto ids = sent_ids_of(store);
//   auto known = (*ids)->sent_id("ines", "4f1c...");  // empty: never seen
#pragma once

#include <optional>
#include <string>

#include "service/store/store.h"

namespace ullage::store {

struct SentId {
  std::string lifter;
  std::string client_id;
  SetId set = 0;        // 0: taken back before the set came
  std::string content;  // what was sent, in one form; empty: nothing came
};

// Ids that were taken back before their set came are kept for so many sets of a lifter; the oldest go first.
inline constexpr int kMostTakenBackUnseen = 200;

class SentIds {
 public:
  virtual ~SentIds() = default;
  virtual Result<std::optional<SentId>> sent_id(const std::string& lifter, const std::string& client_id) = 0;
  // Inside the change that writes the set, or that takes it back. conflict: the id is there already.
  virtual Result<void> put_sent_id(const SentId& id) = 0;
};

// Those of a data file. internal: this store keeps none.
Result<SentIds*> sent_ids_of(Store& store);

}  // namespace ullage::store
