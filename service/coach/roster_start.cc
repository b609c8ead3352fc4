#include "service/coach/roster_start.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/capacity/priors.h"

namespace ullage::coach {
namespace {

constexpr const char* kSetting = "start";
constexpr const char* kRoster = "roster";
constexpr const char* kPublished = "published";

}  // namespace

std::string start_text(const Start& start) {
  nlohmann::json json{{"move", nlohmann::json::array()}, {"unknowns", start.lesson.unknowns}};
  for (const auto& u : start.move.unknowns) json["move"].push_back({u.name, u.by, u.teachers});
  json["told"] = std::vector<double>(start.lesson.told.begin(), start.lesson.told.end());
  json["weight"] = std::vector<double>(start.lesson.weight.reshaped().begin(), start.lesson.weight.reshaped().end());
  return json.dump();
}

std::optional<Start> start_of(const std::string& text) {
  try {
    const auto json = nlohmann::json::parse(text);
    Start out;
    for (const auto& u : json.at("move")) {
      out.move.unknowns.push_back({u.at(0).get<std::string>(), u.at(1).get<double>(), u.at(2).get<int>()});
    }
    out.lesson.unknowns = json.at("unknowns").get<std::vector<std::string>>();
    const auto told = json.at("told").get<std::vector<double>>(), weight = json.at("weight").get<std::vector<double>>();
    const std::size_t n = out.lesson.unknowns.size();
    if (told.size() != n || weight.size() != n * n) return std::nullopt;
    const auto size = static_cast<Eigen::Index>(n);
    out.lesson.told = Eigen::Map<const Eigen::VectorXd>(told.data(), size);
    out.lesson.weight = Eigen::Map<const Eigen::MatrixXd>(weight.data(), size, size);
    return out;
  } catch (const nlohmann::json::exception&) {
    return std::nullopt;
  }
}

Result<bool> starts_from_roster(Desk& desk) {
  const auto kept = desk.store().setting(kSetting);
  if (!kept) return tl::unexpected(kept.error());
  return !*kept || **kept != kPublished;
}

Result<void> choose_start(Desk& desk, bool from_roster) {
  const auto now = starts_from_roster(desk);
  if (!now) return tl::unexpected(now.error());
  if (*now == from_roster) return {};
  const std::string word = from_roster ? kRoster : kPublished;
  const auto change = desk.store().change("estimates start from: " + word,
                                          [&](store::Writer& writer) { return writer.put_setting(kSetting, word); });
  if (!change) return tl::unexpected(change.error());
  return {};
}

std::string start_words(const capacity::RosterMove& move, const capacity::Posterior& posterior,
                        const library::Library& library) {
  if (move.empty()) return {};
  // A tenth of a rep, or two per cent: less is not worth a word.
  std::vector<std::string> parts;
  const auto percent = [](double log_change) { return 100 * std::expm1(log_change); };
  const double bias = move.by(capacity::kMoveBias) * capacity::kBias.sd;
  if (std::fabs(bias) >= 0.1) {
    parts.push_back(
        fmt::format("{:.1f} reps {} left at a call than published", std::fabs(bias), bias > 0 ? "more" : "fewer"));
  }
  const double gain = percent(move.by(capacity::kMoveGain) * capacity::kLogGain.sd);
  if (std::fabs(gain) >= 2) {
    parts.push_back(fmt::format("calls answer {:.0f} % {} to what is left than published", std::fabs(gain),
                                gain > 0 ? "more" : "less"));
  }
  const double tired = percent(
      (move.by(capacity::kMoveFast) * capacity::kLogAFast.sd + move.by(capacity::kMoveSlow) * capacity::kLogASlow.sd) /
      2);
  if (std::fabs(tired) >= 2) {
    parts.push_back(fmt::format("{:.0f} % {} fatigue from set to set than published", std::fabs(tired),
                                tired > 0 ? "more" : "less"));
  }
  for (const auto& u : move.unknowns) {
    const auto exercise = capacity::endurance_of_move(u.name);
    const Exercise* found = exercise ? library.find(*exercise) : nullptr;
    const bool done = found && std::any_of(posterior.lifts.begin(), posterior.lifts.end(),
                                           [&](const capacity::LiftSummary& l) { return l.exercise == *exercise; });
    if (!done) continue;
    const double more = percent(u.by * capacity::log_endurance(*found).sd);
    if (std::fabs(more) < 2) continue;
    parts.push_back(fmt::format("{:.0f} % {} reps in the {} than published", std::fabs(more),
                                more > 0 ? "more" : "fewer", found->name));
  }
  if (parts.empty()) parts.push_back("hardly off the published figures");
  std::string out = fmt::format("starts from {} other lifters of this roster: ", move.teachers());
  for (std::size_t i = 0; i < parts.size(); ++i) out += (i == 0 ? "" : "; ") + parts[i];
  return out;
}

}  // namespace ullage::coach
