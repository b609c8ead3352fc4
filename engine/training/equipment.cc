#include "engine/training/equipment.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <utility>

namespace ullage {
namespace {

// Masses are whole numbers of 1e-10 kg: fine enough that a hundredth of a pound is exact, so sums of
// plates never drift and equal sums compare equal.
using Grain = std::int64_t;
constexpr Grain kGrainsPerKilogram = 10'000'000'000;
constexpr Grain kGrainsPerPound = 4'535'923'700;
constexpr Grain kGrainsPerGram = kGrainsPerKilogram / 1000;

constexpr Grain kMostPerSide = 500 * kGrainsPerKilogram;  // more than any sleeve holds
constexpr std::size_t kManySums = 4000;                   // above this, irregular sums are thinned
constexpr Grain kThinned = 50 * kGrainsPerGram;

Grain grains(const Load& load) {
  return std::llround(load.amount *
                      static_cast<double>(load.unit == Unit::pound ? kGrainsPerPound : kGrainsPerKilogram));
}

Load from_grains(Grain mass, Unit unit) {
  if (unit == Unit::pound) return {static_cast<double>(mass) / static_cast<double>(kGrainsPerPound), unit};
  return {static_cast<double>(mass) / static_cast<double>(kGrainsPerKilogram), Unit::kilogram};
}

// A sum of plates with the fewest plates, and how many of the last kind added are in it.
struct Sum {
  Grain mass = 0;
  int plates = 0;
  int of_kind = 0;
  bool regular = true;  // regular plates alone make it
};

// Fewer plates are better; then more of the heavier kind.
bool better(const Sum& a, const Sum& b) { return a.plates != b.plates ? a.plates < b.plates : a.of_kind > b.of_kind; }

// Keeps every regular sum, and of every 50 g of the others the one with the fewest plates.
void thin(std::vector<Sum>& rising) {
  std::vector<Sum> kept;
  kept.reserve(rising.size());
  std::size_t last = 0;  // where the last irregular sum was kept, + 1
  Grain first = 0;
  for (const Sum& sum : rising) {
    if (sum.regular) {
      kept.push_back(sum);
    } else if (last > 0 && sum.mass - first <= kThinned) {
      if (last == kept.size() && better(sum, kept[last - 1])) kept[last - 1] = sum;
    } else {
      first = sum.mass;
      kept.push_back(sum);
      last = kept.size();
    }
  }
  rising.swap(kept);
}

struct PlateKind {
  Load plate;
  Grain mass = 0;
  int count = 0;
  bool regular = true;  // a whole number of quarters of the place's unit, so that sums lie on a grid
};

// All sums of up to `count` plates of each kind, with the plates that make them.
class PlateSums {
 public:
  explicit PlateSums(std::vector<PlateKind> kinds) : kinds_(std::move(kinds)) {
    std::sort(kinds_.begin(), kinds_.end(), [](const PlateKind& a, const PlateKind& b) {
      return a.regular != b.regular ? a.regular : a.mass < b.mass;
    });
    layers_.push_back({Sum{}});
    for (const PlateKind& kind : kinds_) layers_.push_back(with_kind(layers_.back(), kind));
  }

  const std::vector<Sum>& sums() const { return layers_.back(); }

  // Heaviest first.
  std::vector<Load> plates(const Sum& sum) const {
    std::vector<Load> out;
    out.reserve(static_cast<std::size_t>(sum.plates));
    Sum at = sum;
    for (std::size_t k = kinds_.size(); k > 0; --k) {
      out.insert(out.end(), static_cast<std::size_t>(at.of_kind), kinds_[k - 1].plate);
      const Grain rest = at.mass - at.of_kind * kinds_[k - 1].mass;
      const std::vector<Sum>& before = layers_[k - 1];
      at =
          *std::lower_bound(before.begin(), before.end(), rest, [](const Sum& a, Grain mass) { return a.mass < mass; });
    }
    std::sort(out.begin(), out.end(), [](const Load& a, const Load& b) { return grains(a) > grains(b); });
    return out;
  }

 private:
  static std::vector<Sum> with_kind(const std::vector<Sum>& before, const PlateKind& kind) {
    std::vector<Sum> now = before;
    for (Sum& sum : now) sum.of_kind = 0;
    std::vector<Sum> merged;
    for (int n = 1; n <= kind.count; ++n) {
      const Grain more = n * kind.mass;
      merged.clear();
      merged.reserve(now.size() + before.size());
      std::size_t i = 0;
      std::size_t j = 0;
      while (i < now.size() || j < before.size()) {
        const Sum next = j < before.size()
                             ? Sum{before[j].mass + more, before[j].plates + n, n, before[j].regular && kind.regular}
                             : Sum{};
        if (j == before.size() || (i < now.size() && now[i].mass < next.mass)) {
          merged.push_back(now[i++]);
        } else if (next.mass > kMostPerSide) {
          j = before.size();
        } else if (i == now.size() || next.mass < now[i].mass) {
          merged.push_back(next);
          ++j;
        } else {
          merged.push_back(better(next, now[i]) ? next : now[i]);
          merged.back().regular = next.regular || now[i].regular;
          ++i;
          ++j;
        }
      }
      now.swap(merged);
      if (now.size() > kManySums) thin(now);
    }
    return now;
  }

  std::vector<PlateKind> kinds_;          // regular ones first, lightest first
  std::vector<std::vector<Sum>> layers_;  // layers_[k]: sums of the first k kinds, rising
};

// What can be hung at a place: `singles` counts both plates of each pair.
std::vector<PlateKind> plate_kinds(const Place& place, bool singles) {
  const Grain quarter = grains({0.25, place.unit});
  std::vector<PlateKind> kinds;
  for (const PlatePairs& pair : place.plates) {
    if (pair.plate.unit == Unit::mark || !(pair.plate.amount > 0) || pair.pairs <= 0) continue;
    const Grain mass = grains(pair.plate);
    if (mass <= 0 || mass > kMostPerSide) continue;
    const Grain most = std::min<Grain>(kMostPerSide / mass, static_cast<Grain>(pair.pairs) * (singles ? 2 : 1));
    kinds.push_back({pair.plate, mass, static_cast<int>(most), mass % quarter == 0});
  }
  return kinds;
}

// The load in the unit all its parts share, else in `unit`.
Load load_of(Grain mass, const Load* bar, const std::vector<Load>& plates, Unit unit) {
  std::optional<Unit> shared;
  if (bar) shared = bar->unit;
  for (const Load& plate : plates) {
    if (!shared) shared = plate.unit;
    if (*shared != plate.unit) return from_grains(mass, unit);
  }
  return from_grains(mass, shared.value_or(unit));
}

// Rising; of loads within 1 g of the first of a run, the one with the fewest plates.
void keep_distinct(std::vector<Buildable>& loads) {
  std::sort(loads.begin(), loads.end(), [](const Buildable& a, const Buildable& b) {
    const Grain x = grains(a.load);
    const Grain y = grains(b.load);
    return x != y ? x < y : a.load.unit < b.load.unit;
  });
  std::size_t kept = 0;
  Grain first = 0;
  for (std::size_t i = 0; i < loads.size(); ++i) {
    const Grain mass = grains(loads[i].load);
    if (kept > 0 && mass - first <= kGrainsPerGram) {
      if (loads[i].per_side.size() < loads[kept - 1].per_side.size()) loads[kept - 1] = std::move(loads[i]);
      continue;
    }
    first = mass;
    if (kept != i) loads[kept] = std::move(loads[i]);
    ++kept;
  }
  loads.resize(kept);
}

std::vector<Buildable> as_they_are(const std::vector<Load>& loads) {
  std::vector<Buildable> out;
  for (const Load& load : loads) {
    if (load.amount > 0) out.push_back({load, {}});
  }
  keep_distinct(out);
  return out;
}

// Bar (or nothing, for a machine) and pairs of plates.
std::vector<Buildable> bar_and_pairs(const Place& place, const Load* bar, bool empty_counts, Unit unit) {
  const PlateSums sums(plate_kinds(place, false));
  std::vector<Buildable> out;
  out.reserve(sums.sums().size());
  for (const Sum& sum : sums.sums()) {
    if (sum.plates == 0 && !empty_counts) continue;
    std::vector<Load> per_side = sums.plates(sum);
    const Load load = load_of((bar ? grains(*bar) : 0) + 2 * sum.mass, bar, per_side, unit);
    out.push_back({load, std::move(per_side)});
  }
  keep_distinct(out);
  return out;
}

const Stack* stack_for(const Place& place, const std::string& exercise) {
  const Stack* general = nullptr;
  for (const Stack& stack : place.stacks) {
    if (stack.exercise == exercise) return &stack;
    if (stack.exercise.empty() && !general) general = &stack;
  }
  return general;
}

// Help from the stack's steps below 0, then nothing, then single plates.
std::vector<Buildable> hung_mass(const Place& place, const Exercise& exercise, Unit unit) {
  std::vector<Buildable> out;
  if (exercise.body_mass_share > 0) {
    if (const Stack* help = stack_for(place, exercise.id)) {
      for (const Load& step : help->steps) {
        if (step.unit != Unit::mark && step.amount > 0) out.push_back({{-step.amount, step.unit}, {}});
      }
    }
  }
  const bool empty_counts = exercise.body_mass_share > 0 || exercise.offset_kg > 0;
  const PlateSums sums(plate_kinds(place, true));
  for (const Sum& sum : sums.sums()) {
    if (sum.plates == 0 && !empty_counts) continue;
    out.push_back({load_of(sum.mass, nullptr, sums.plates(sum), unit), {}});
  }
  keep_distinct(out);
  return out;
}

tl::unexpected<Error> lacks(const Place& place, const Exercise& exercise, const std::string& what) {
  const std::string& where = place.name.empty() ? place.id : place.name;
  return fail(Code::not_found,
              exercise.name + " needs " + what + ", which " + (where.empty() ? "the place" : where) + " does not have");
}

}  // namespace

Result<std::vector<Buildable>> buildable_loads(const Place& place, const Exercise& exercise, Unit unit) {
  if (std::find(place.without.begin(), place.without.end(), exercise.id) != place.without.end()) {
    const std::string& where = place.name.empty() ? place.id : place.name;
    return fail(Code::not_found, exercise.name + " cannot be done at " + (where.empty() ? "this place" : where));
  }
  const bool empty_counts = exercise.body_mass_share > 0 || exercise.offset_kg > 0;
  std::vector<Buildable> loads;
  switch (exercise.implement) {
    case Implement::barbell: {
      const Bar* bar = nullptr;
      for (const Bar& one : place.bars) {
        if (!bar && (!exercise.bar || one.id == *exercise.bar)) bar = &one;
      }
      if (!bar) return lacks(place, exercise, exercise.bar ? "a " + *exercise.bar + " bar" : "a bar");
      return bar_and_pairs(place, &bar->mass, true, unit);
    }
    case Implement::dumbbell:
      loads = as_they_are(place.dumbbells);
      if (loads.empty()) return lacks(place, exercise, "dumbbells");
      return loads;
    case Implement::kettlebell:
      loads = as_they_are(place.kettlebells);
      if (loads.empty()) return lacks(place, exercise, "kettlebells");
      return loads;
    case Implement::stack:
      if (const Stack* stack = stack_for(place, exercise.id)) loads = as_they_are(stack->steps);
      if (loads.empty()) return lacks(place, exercise, "a stack");
      return loads;
    case Implement::plates:
      loads = bar_and_pairs(place, nullptr, empty_counts, unit);
      if (loads.empty()) return lacks(place, exercise, "plates");
      return loads;
    case Implement::added_mass:
      loads = hung_mass(place, exercise, unit);
      if (loads.empty()) return lacks(place, exercise, "plates");
      return loads;
    case Implement::band:
    case Implement::bodyweight: break;
  }
  return std::vector<Buildable>{{Load{0, unit == Unit::mark ? Unit::kilogram : unit}, {}}};
}

Place plain_gym() {
  Place gym;
  gym.id = "plain";
  gym.name = "plain gym";
  gym.bars = {{"olympic", {20, Unit::kilogram}}};
  const std::pair<double, int> pairs[] = {{25, 4}, {20, 2}, {15, 1}, {10, 2}, {5, 2}, {2.5, 2}, {1.25, 1}};
  for (const auto& [mass, count] : pairs) gym.plates.push_back({{mass, Unit::kilogram}, count});
  for (int i = 1; i <= 20; ++i) gym.dumbbells.push_back({2.5 * i, Unit::kilogram});
  Stack stack;
  for (int i = 1; i <= 20; ++i) stack.steps.push_back({5.0 * i, Unit::kilogram});
  gym.stacks.push_back(stack);
  return gym;
}

std::string plates_text(const std::vector<Load>& per_side, Unit unit) {
  if (per_side.empty()) return "empty bar";
  const bool bare = std::all_of(per_side.begin(), per_side.end(), [&](const Load& p) { return p.unit == unit; });
  std::string text;
  for (const Load& plate : per_side) {
    if (!text.empty()) text += " + ";
    text += number_text(plate.amount);
    if (!bare) text.append(" ").append(unit_name(plate.unit));
  }
  return text;
}

}  // namespace ullage
