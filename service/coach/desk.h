// The coach's desk: the open data, the exercise library with the coach's edits, and today's date. Every use case
// of service/coach starts from one.
//
//   store::SystemClock clock;
//   auto desk = Desk::open("studio.ullage", clock, "coach");
//   auto lifter = (*desk)->lifter("ines");       // by id or name; offers near names when there is none
//   auto plan = write_session(**desk, {.lifter = "ines"});
//
// Threads: a desk is used by one thread at a time.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/safety/rules.h"
#include "engine/training/equipment.h"
#include "engine/training/lifter.h"
#include "engine/training/policy.h"
#include "service/library/library.h"
#include "service/store/store.h"

namespace ullage::coach {

class EstimateCache;  // service/coach/estimate_cache.h

class Desk {
 public:
  // Opens the data file, making it and its folder when there is none. as_of: the day taken for today; empty: the
  // clock's. Fails as store::open_sqlite does.
  static Result<std::unique_ptr<Desk>> open(const std::string& path, store::Clock& clock, const std::string& who,
                                            std::optional<Date> as_of = std::nullopt);
  Desk(std::unique_ptr<store::Store> store, store::Clock& clock, std::optional<Date> as_of);

  store::Store& store() { return *store_; }
  store::Clock& clock() { return clock_; }
  Date today() const { return today_; }

  // The library with the coach's edits; read once, so edits through this desk call library_changed().
  // corrupt: the edits kept in the file cannot be read.
  Result<const library::Library*> library();
  void library_changed() { library_.reset(); }
  // Lets go of the library when its edits were changed by somebody else. Pointers into it end here, so between two use
  // cases only.
  Result<void> renew();

  // not_found: says which names are near.
  Result<Lifter> lifter(const std::string& id_or_name);
  Result<const Exercise*> exercise(const std::string& text);
  Result<Place> place(const std::string& id_or_name);

  // Where the lifter trains: the named place, else the lifter's usual one, else the only place there is, else a
  // plain gym in the lifter's unit (`assumed`).
  struct Where {
    Place place;
    bool assumed = false;
  };
  Result<Where> where(const Lifter& lifter, const std::string& named = "");
  // The lifter's own policy, else the coach's, else the default.
  Result<ReservePolicy> policy(const Lifter& lifter);
  // Estimates at hand, shared with other desks; null: each is read from the store.
  void share_estimates(std::shared_ptr<EstimateCache> cache) { estimates_ = std::move(cache); }
  EstimateCache* estimates() { return estimates_.get(); }
  // What may be prescribed on `day`, with the sessions logged up to then. `sessions`: the day of each session in the
  // log, read from the store where it is not at hand.
  Result<safety::Gate> gate(const Lifter& lifter, Date day, const std::vector<Date>& sessions);
  Result<safety::Gate> gate(const Lifter& lifter, Date day);
  // What may be written for `day`: the stricter of that day's gate and the gate of the clock's own day, so that taking
  // another day for today lifts no hold and no limit.
  Result<safety::Gate> strict_gate(const Lifter& lifter, Date day, const std::vector<Date>& sessions);
  Result<safety::Gate> strict_gate(const Lifter& lifter, Date day);
  // The same for a session on `day`, the next one that is done: what holds after time off is in it. A block's later
  // weeks are planned without, since its sessions lie between.
  Result<safety::Gate> session_gate(const Lifter& lifter, Date day, const std::vector<Date>& sessions);
  Result<safety::Gate> session_gate(const Lifter& lifter, Date day);

 private:
  std::unique_ptr<store::Store> store_;
  store::Clock& clock_;
  Date today_;
  std::unique_ptr<library::Library> library_;
  std::string edits_;  // that library_ was made with
  std::shared_ptr<EstimateCache> estimates_;
};

// The place assumed when the coach has described none, with parts in pounds: one 45 lb bar, pairs of 45 35 25 10 5
// 2.5, dumbbells 5-100 in 5, stacks 10-250 in 10. Common practice, no source.
Place plain_gym_in_pounds();

// Names nearest to `text` among `names`, best first, at most `most`.
std::vector<std::string> near_names(const std::string& text, const std::vector<std::string>& names, std::size_t most);
// ": did you mean a, b or c?"; empty when there are none.
std::string did_you_mean(const std::vector<std::string>& names);

// A lower-case id of letters, digits and hyphens made from a name, not among `taken`.
std::string make_name_id(const std::string& name, const std::vector<std::string>& taken);

// Without blanks at the ends, and with one where there were several.
std::string plain_name(const std::string& name);
// Whose name or id this is, ignoring case and blanks too many; empty when nobody's.
Result<std::optional<Lifter>> lifter_called(store::Store& store, const std::string& name);

// Both gates' limits, the stricter of each kind.
safety::Gate stricter(const safety::Gate& a, const safety::Gate& b);

// The day of each session, rising, as Store::session_days. `sets` in any order.
std::vector<Date> session_days(const std::vector<store::StoredSet>& sets);
// How many of `days`, rising, are not after `day`.
int count_until(const std::vector<Date>& days, Date day);

}  // namespace ullage::coach
