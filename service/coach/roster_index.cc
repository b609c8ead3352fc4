#include "service/coach/roster_index.h"

#include <algorithm>
#include <cctype>
#include <set>
#include <tuple>

namespace ullage::coach {
namespace {

std::string folded(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return c < 0x80 ? static_cast<char>(std::tolower(c)) : static_cast<char>(c); });
  return text;
}

}  // namespace

void RosterIndex::look_again() {
  const std::lock_guard lock(mutex_);
  again_ = true;
}

void RosterIndex::forget() {
  const std::lock_guard lock(mutex_);
  entries_.clear();
  waiting_.clear();
  again_ = true;
}

Result<bool> RosterIndex::refresh(Desk& desk, std::chrono::milliseconds budget) {
  const auto until = std::chrono::steady_clock::now() + budget;
  const std::lock_guard lock(mutex_);
  const auto newest = desk.store().newest_change();
  if (!newest) return tl::unexpected(newest.error());
  if (again_ || *newest != newest_ || desk.today() != as_of_) {
    // Edits of the library touch everyone.
    const auto edits = desk.store().exercise_edits();
    if (!edits) return tl::unexpected(edits.error());
    std::string library_mark;
    for (const store::NamedText& edit : *edits) library_mark += edit.text;
    const bool everyone = library_mark != library_mark_ || desk.today() != as_of_;
    std::vector<store::LifterMark> marks;
    std::vector<Lifter> lifters;
    const auto read = desk.store().snapshot([&]() -> Result<void> {
      auto found = desk.store().lifter_marks();
      if (!found) return tl::unexpected(found.error());
      marks = std::move(*found);
      // Profiles are read with the row, but all at once the first time.
      if (entries_.empty()) {
        auto all = desk.store().lifters();
        if (!all) return tl::unexpected(all.error());
        lifters = std::move(*all);
      }
      return {};
    });
    if (!read) return tl::unexpected(read.error());
    for (Lifter& lifter : lifters) {
      Entry& entry = entries_[lifter.id];
      entry.folded = folded(lifter.name);
      entry.row.lifter = std::move(lifter);
    }
    std::set<std::string> there;
    waiting_.clear();
    for (store::LifterMark& mark : marks) {
      Entry& entry = entries_[mark.lifter];
      if (entry.row.lifter.id.empty()) {
        auto lifter = desk.store().lifter(mark.lifter);
        if (!lifter) return tl::unexpected(lifter.error());
        entry.folded = folded(lifter->name);
        entry.row.lifter = std::move(*lifter);
      }
      entry.wanted = std::move(mark.mark);
      if (everyone) entry.mark.clear();
      if (!entry.known || entry.mark != entry.wanted) waiting_.push_back(mark.lifter);
      there.insert(std::move(mark.lifter));
    }
    std::erase_if(entries_, [&](const auto& entry) { return !there.count(entry.first); });
    // Those changed last are looked at first: they are most likely what somebody is waiting for.
    std::sort(waiting_.begin(), waiting_.end(), [&](const std::string& a, const std::string& b) {
      const Entry &x = entries_[a], &y = entries_[b];
      return x.known != y.known ? y.known : a > b;
    });
    library_mark_ = std::move(library_mark);
    as_of_ = desk.today();
    newest_ = *newest;
    again_ = false;
  }
  while (!waiting_.empty() && std::chrono::steady_clock::now() < until) {
    const std::string id = waiting_.back();
    waiting_.pop_back();
    const auto at = entries_.find(id);
    if (at == entries_.end()) continue;
    const auto lifter = desk.store().lifter(id);
    if (!lifter) {
      if (lifter.error().code == Code::not_found) continue;
      return tl::unexpected(lifter.error());
    }
    auto row = look_at(desk, *lifter);
    if (!row) return tl::unexpected(row.error());
    at->second.row = std::move(*row);
    at->second.mark = at->second.wanted;
    at->second.folded = folded(lifter->name);
    at->second.known = true;
  }
  return waiting_.empty();
}

RosterPage RosterIndex::page(const RosterQuery& query) {
  const std::lock_guard lock(mutex_);
  RosterPage page;
  page.as_of = as_of_;
  page.total = static_cast<int>(entries_.size());
  const std::string text = folded(query.text);
  std::vector<const Entry*> all;
  all.reserve(entries_.size());
  for (const auto& [id, entry] : entries_) {
    if (!entry.known) ++page.pending;
    if (!entry.row.reasons.empty()) ++page.standing_out;
    std::set<Attention> kinds;
    for (const Reason& reason : entry.row.reasons) kinds.insert(reason.attention);
    for (const Attention kind : kinds) ++page.counts[kind];
    if (!text.empty() && entry.folded.find(text) == std::string::npos) continue;
    if (query.kind && !kinds.count(*query.kind)) continue;
    all.push_back(&entry);
  }
  page.matching = static_cast<int>(all.size());
  const auto urgency = [](const Entry& e) {
    if (!e.known) return 98;
    return e.row.reasons.empty() ? 99 : static_cast<int>(e.row.reasons.front().attention);
  };
  using Sort = RosterQuery::Sort;
  const auto less = [&](const Entry* a, const Entry* b) {
    switch (query.sort) {
      case Sort::attention:
        if (urgency(*a) != urgency(*b)) return urgency(*a) < urgency(*b);
        break;
      case Sort::last_session:
        if (a->row.last_session != b->row.last_session) return a->row.last_session < b->row.last_session;
        break;
      case Sort::sessions:
        if (a->row.sessions != b->row.sessions) return a->row.sessions < b->row.sessions;
        break;
      case Sort::sets:
        if (a->row.sets != b->row.sets) return a->row.sets < b->row.sets;
        break;
      case Sort::name: break;
    }
    return std::tie(a->folded, a->row.lifter.id) < std::tie(b->folded, b->row.lifter.id);
  };
  const std::size_t from = std::min(query.offset, all.size()), to = std::min(from + query.limit, all.size());
  const auto end = all.begin() + static_cast<std::ptrdiff_t>(to);
  if (query.descending)
    std::partial_sort(all.begin(), end, all.end(), [&](const Entry* a, const Entry* b) { return less(b, a); });
  else
    std::partial_sort(all.begin(), end, all.end(), less);
  for (std::size_t i = from; i < to; ++i) page.rows.push_back({all[i]->row, !all[i]->known});
  return page;
}

}  // namespace ullage::coach
