#include "service/coach/compare.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/comparing/average_lifter.h"
#include "engine/safety/rules.h"
#include "service/coach/readings.h"

namespace ullage::coach {
namespace {

using comparing::Basis;
using comparing::Contender;
using comparing::Outcome;
using comparing::WayResult;

constexpr int kDraws = 2000;
constexpr std::uint64_t kAverageSeed = 20240101;

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string percent(double share, int decimals = 0) { return fmt::format("{:.{}f} %", 100 * share, decimals); }

// "5.6 %", "12 %": two figures.
double lost_share(double margin) { return -std::expm1(-margin); }
std::string lost(double margin) { return percent(lost_share(margin), margin < 0.0995 ? 1 : 0); }

double median_strength(const capacity::LifterDraws& draws) {
  std::vector<double> strength;
  for (const capacity::Draw& d : draws.draws) strength.push_back(std::exp(d.lifts[0].log_strength));
  return capacity::interval_of(std::move(strength)).median;
}

// The buildable load whose total is nearest to what is wanted; without a list, to the half kilogram or whole mark.
Load nearest_load(const Place& place, const Exercise& exercise, Unit unit, double total, double mass, bool marks) {
  if (!marks) {
    if (const auto loads = buildable_loads(place, exercise, unit); loads && !loads->empty()) {
      const auto off = [&](const Buildable& b) { return std::abs(total_load(exercise, b.load, mass) - total); };
      return std::min_element(loads->begin(), loads->end(),
                              [&](const auto& a, const auto& b) { return off(a) < off(b); })
          ->load;
    }
  }
  Load load = written_load(exercise, total, mass, marks ? Unit::mark : unit);
  load.amount = marks ? std::max(1.0, std::round(load.amount)) : std::round(2 * load.amount) / 2;
  return load;
}

// What stands against a way: limits and gates. Only said, since this is a comparison.
void add_cautions(const safety::Gate& gate, const ClassPolicy& policy, bool safety_bars, CompareView& view,
                  const std::vector<comparing::Way>& ways) {
  std::vector<std::string>& out = view.cautions;
  out.push_back("A comparison, not a prescription: the session sheet keeps the reserve policy and the limits.");
  if (!gate.allowed()) {
    out.push_back((view.lifter ? view.lifter->name : std::string("This lifter")) + " is on hold: " + gate.held_text() +
                  ". None of this is to be trained.");
    return;
  }
  if (const auto barred = gate.barred_because(view.exercise.id)) {
    out.push_back(capital(view.exercise.name) + " is out: " + *barred + ".");
  }
  for (std::size_t i = 0; i < ways.size(); ++i) {
    const int count = static_cast<int>(std::ceil(view.comparison.ways[i].sets - 1e-9));
    int least = 100;
    int failures = 0;
    for (int k = 0; k < count; ++k) {
      const auto end = ways[i].end_of(k, count);
      failures += end ? 0 : 1;
      least = std::min(least, end.value_or(0));
    }
    if (failures > 0) {
      safety::FailureWish wish;
      wish.cls = view.exercise.cls;
      wish.needs_spotter = view.exercise.needs_spotter;
      wish.last_set = failures == 1 && !ways[i].end_of(count - 1, count);
      wish.safety_bars = safety_bars;
      wish.today = view.date;
      const safety::Permission permission = safety::failure_allowed(gate, policy, wish);
      if (!permission.allowed) {
        out.push_back(capital(ways[i].name) + " is no plan for this exercise: " + permission.because + ".");
      }
    } else if (least < gate.least_reserve) {
      out.push_back(capital(ways[i].name) + " is no plan for this lifter: at least " + number_text(gate.least_reserve) +
                    " in reserve (" + gate.least_reserve_from + ").");
    }
  }
  if (gate.load_cap_share && !view.shares.empty() &&
      *std::max_element(view.shares.begin(), view.shares.end()) > *gate.load_cap_share) {
    out.push_back("The load is above " + percent(*gate.load_cap_share) + " of strength (" + gate.load_cap_from + ").");
  }
}

std::string of_stimulus(double ratio) { return percent(ratio); }

// What the second way brings and costs against the first, or what the only one does.
std::string finding(const CompareView& view) {
  const comparing::Comparison& c = view.comparison;
  const WayResult& a = c.ways.front();
  if (c.ways.size() == 1) {
    return fmt::format("{}: {:.0f} reps ({:.0f}-{:.0f}) in {}, then {} of strength is gone", capital(a.name),
                       a.outcome.total_reps.interval.median, a.outcome.total_reps.interval.lo80,
                       a.outcome.total_reps.interval.hi80, sets_words(a.sets), lost(a.outcome.margin_lost_end.mean));
  }
  const WayResult& b = c.ways[1];
  const auto ratio = [&](std::size_t r) {
    const double of = a.outcome.stimulus[r].mean;
    return of > 0 ? b.outcome.stimulus[r].mean / of : 0;
  };
  std::string added;
  if (c.basis != Basis::sets) {
    added = fmt::format(" At {}: {} against {}.", c.by_tonnage ? "equal tonnage" : basis_name(c.basis),
                        sets_words(b.sets), sets_words(a.sets));
  }
  return fmt::format(
      "{} brings {} of the stimulus of {}, {} if every rep short counts; it leaves strength {} down instead of {}.{}",
      capital(b.name), of_stimulus(ratio(0)), a.name, of_stimulus(ratio(1)), lost(b.outcome.margin_lost_end.mean),
      lost(a.outcome.margin_lost_end.mean), added);
}

}  // namespace

capacity::Interval strength_lost(const capacity::Interval& log_margin) {
  return {lost_share(log_margin.median), lost_share(log_margin.lo80), lost_share(log_margin.hi80), log_margin.sd};
}

std::string sets_words(double sets) {
  const int whole = static_cast<int>(std::floor(sets + 1e-9));
  const double part = sets - whole;
  if (part < 1e-6) return fmt::format("{} {}", whole, whole == 1 ? "set" : "sets");
  return fmt::format("{:.1f} sets", sets);
}

Result<CompareView> compare_ways(Desk& desk, const CompareWish& wish, const Share& progress) {
  CompareView view;
  std::string faults;
  const auto fault = [&](const std::string& text) { faults += (faults.empty() ? "" : "\n") + text; };
  const auto exercise = desk.exercise(wish.exercise);
  if (!exercise) fault(exercise.error().message);
  std::vector<comparing::Way> ways;
  for (const std::string& text : wish.strategies) {
    auto way = comparing::parse_way(text);
    if (way) {
      ways.push_back(std::move(*way));
    } else {
      fault("--strategy: " + way.error().message);
    }
  }
  if (wish.strategies.empty()) fault("--strategy: at least one was expected, such as failure or reserve:2");
  if (wish.loads.size() > 1 && wish.loads.size() != wish.strategies.size()) {
    fault(fmt::format("--load: one for all or one for each of the {} strategies was expected, {} were given",
                      wish.strategies.size(), wish.loads.size()));
  }
  if (!faults.empty()) return fail(Code::invalid_input, faults);
  view.exercise = **exercise;
  view.side = wish.side;
  view.date = wish.date.value_or(desk.today());
  const ExerciseClass cls = view.exercise.cls;

  ReservePolicy policy;
  capacity::LifterDraws draws;
  std::optional<Fitted> fitted;
  std::optional<Desk::Where> where;
  safety::Gate gate;
  std::uint64_t seed = kAverageSeed;
  double mass = 75;
  if (wish.lifter.empty()) {
    view.known = false;
    draws = comparing::average_lifter(view.exercise, kDraws, seed);
  } else {
    auto lifter = desk.lifter(wish.lifter);
    if (!lifter) return tl::unexpected(lifter.error());
    auto fit = ensure_fitted(desk, lifter->id, progress);
    if (!fit) return tl::unexpected(fit.error());
    fitted = std::move(*fit);
    view.lifter = fitted->lifter;
    auto own = desk.policy(fitted->lifter);
    if (!own) return tl::unexpected(own.error());
    policy = std::move(*own);
    auto at = desk.where(fitted->lifter, wish.place);
    if (!at) return tl::unexpected(at.error());
    where = std::move(*at);
    auto of_day = desk.session_gate(fitted->lifter, view.date, session_days(fitted->sets));
    if (!of_day) return tl::unexpected(of_day.error());
    gate = std::move(*of_day);
    mass = body_mass_of(*fitted, view.date);
    seed = draw_seed(fitted->lifter.id, view.date) + 3;
    draws = fitted->posterior.draw({{view.exercise, wish.side}}, view.date, mass, kDraws, seed);
    view.known = draws.info[0].known;
    if (const int lift = fitted->posterior.find_lift(view.exercise.id, wish.side); lift >= 0) {
      view.marks = fitted->posterior.lifts[static_cast<std::size_t>(lift)].marks;
      view.learned_fatigability = fitted->posterior.lifts[static_cast<std::size_t>(lift)].learned_fatigability;
    }
  }
  const ClassPolicy& usual = policy.of(cls);

  comparing::CompareRequest request;
  request.rest_s = wish.rest_s.value_or(usual.rest_s);
  request.basis = wish.basis;
  request.hard_below = usual.most_reserve + 1;
  request.seed = seed + 1;
  request.sets = usual.sets;
  for (const comparing::Way& way : ways) {
    if (const auto own = way.own_count()) request.sets = *own;
  }
  request.sets = wish.sets.value_or(request.sets);
  view.sets = request.sets;
  view.rest_s = request.rest_s;

  const double strength = median_strength(draws);
  const int usual_reps = static_cast<int>(
      std::lround((usual.least_reps + usual.most_reps + usual.least_reserve + usual.most_reserve) / 2));
  for (std::size_t i = 0; i < ways.size(); ++i) {
    LoadAsked asked;
    asked.reps = usual_reps;
    if (!wish.loads.empty()) asked = wish.loads[wish.loads.size() == 1 ? 0 : i];
    Contender contender{ways[i], {}, wish.loads.size() > 1};
    if (!fitted) {
      if (asked.load) {
        return fail(Code::invalid_input,
                    "--load: an average lifter has no strength in kg; give a share such as 75%, or --reps");
      }
      contender.log_total_loads = asked.share ? std::vector<double>(draws.draws.size(), std::log(*asked.share))
                                              : comparing::load_for_reps(draws, 0, *asked.reps);
      std::vector<double> shares;
      for (const double log_load : contender.log_total_loads) shares.push_back(std::exp(log_load));
      view.shares.push_back(capacity::interval_of(std::move(shares)).median);
    } else {
      Load load;
      if (asked.load) {
        load = *asked.load;
        if ((load.unit == Unit::mark) != view.marks && view.known) {
          return fail(Code::invalid_input, view.marks
                                               ? "--load: this lift is logged in marks of its machine; such as 12mark"
                                               : "--load: this lift is logged in kilograms or pounds, not in marks");
        }
      } else {
        double total = asked.share ? *asked.share * strength : 0;
        if (!asked.share) {
          std::vector<double> loads;
          for (const double log_load : comparing::load_for_reps(draws, 0, *asked.reps))
            loads.push_back(std::exp(log_load));
          total = capacity::interval_of(std::move(loads)).median;
        }
        load = nearest_load(where->place, view.exercise, fitted->lifter.unit, total, mass, view.marks);
      }
      const double total = total_load(view.exercise, load, mass);
      if (!(total > 0)) {
        return fail(Code::invalid_input, "--load: the total load is not above 0 kg (assistance larger than body mass)");
      }
      contender.log_total_loads.assign(draws.draws.size(), std::log(total));
      view.loads.push_back(load);
      view.shares.push_back(total / strength);
    }
    request.contenders.push_back(std::move(contender));
  }

  const auto readings = readings_for(desk, {}, kDraws, seed + 5);
  if (!readings) return tl::unexpected(readings.error());
  for (const planning::Reading& reading : *readings) view.readings.push_back(reading.name);
  auto comparison = comparing::compare(draws, *readings, request);
  if (!comparison) return tl::unexpected(comparison.error());
  view.comparison = std::move(*comparison);
  view.finding = finding(view);
  add_cautions(gate, usual, where && where->place.safety_bars, view, ways);
  for (const WayResult& way : view.comparison.ways) {
    if (!way.reached) {
      view.cautions.push_back(fmt::format("{}: {} sets bring less than the others; it is not at {}.", capital(way.name),
                                          comparing::kMostSetsOfWay, basis_name(view.comparison.basis)));
    }
  }
  if (!fitted) {
    view.cautions.push_back("Intervals are those between lifters, from published spreads, not the doubt about one.");
  } else if (!view.known) {
    view.cautions.push_back("Never done by this lifter: a first guess from related exercises.");
  } else if (view.learned_fatigability < kMostlyAssumedBelow) {
    view.cautions.push_back(fmt::format(
        "How much this lifter tires from set to set is mostly assumed (learned {:.2f}): the later sets rest on "
        "published figures.",
        view.learned_fatigability));
  }
  return view;
}

Json to_json(const CompareView& view) {
  const auto of = [](const comparing::Measure& m) {
    Json json = to_json(m.interval);
    json["mean"] = m.mean;
    return json;
  };
  const auto outcome = [&](const Outcome& o, Json& json) {
    json["total_reps"] = of(o.total_reps);
    json["tonnage_kg"] = of(o.tonnage_kg);
    json["hard_sets"] = of(o.hard_sets);
    for (std::size_t r = 0; r < o.stimulus.size(); ++r) json["stimulus"][view.readings[r]] = of(o.stimulus[r]);
    json["minutes"] = o.minutes.mean;
    json["margin_lost_end"] = of(o.margin_lost_end);
    json["residual_24h"] = of(o.residual_24h);
  };
  Json json;
  json["lifter"] = view.lifter ? Json(view.lifter->name) : Json();
  json["exercise"] = view.exercise.id;
  json["side"] = std::string(side_name(view.side));
  json["date"] = date_text(view.date);
  json["basis"] = std::string(comparing::basis_name(view.comparison.basis));
  json["by_tonnage"] = view.comparison.by_tonnage;
  json["rest_s"] = view.rest_s;
  json["known"] = view.known;
  json["finding"] = view.finding;
  json["strategies"] = Json::array();
  for (std::size_t i = 0; i < view.comparison.ways.size(); ++i) {
    const WayResult& way = view.comparison.ways[i];
    Json one;
    one["name"] = way.key;
    one["words"] = way.name;
    one["load"] = view.loads.empty() ? Json() : to_json(view.loads[i]);
    one["share_of_strength"] = view.shares[i];
    one["set_count"] = way.sets;
    one["reached"] = way.reached;
    one["sets"] = Json::array();
    for (const comparing::WaySet& s : way.each) {
      Json set;
      set["reps"] = to_json(s.reps);
      set["share"] = s.share;
      set["to_failure"] = !s.reserve;
      set["asked_reserve"] = s.reserve ? Json(*s.reserve) : Json();
      set["cue"] = s.cue ? Json(call_text(*s.cue)) : Json();
      set["fixed_reps"] = s.fixed_reps > 0 ? Json(s.fixed_reps) : Json();
      set["capacity"] = to_json(s.capacity);
      set["reserve"] = to_json(s.true_reserve);
      set["p_miss"] = s.p_miss;
      one["sets"].push_back(std::move(set));
    }
    outcome(way.outcome, one);
    one["p_miss"] = way.p_miss;
    if (i > 0) outcome(view.comparison.against_first[i], one["against_first"]);
    json["strategies"].push_back(std::move(one));
  }
  json["cautions"] = view.cautions;
  return json;
}

}  // namespace ullage::coach
