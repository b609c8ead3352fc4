#include "service/coach/readings.h"

#include <algorithm>

#include "service/coach/evidence.h"
#include "service/interchange/fault.h"

namespace ullage::coach {
namespace {

constexpr std::string_view kKey = "reading ";
constexpr std::string_view kPlateau = "plateau", kLinear = "linear";
constexpr std::size_t kLongestName = 40;

planning::GrowthTable table_of(const evidence::GrowthReading& reading) {
  static_assert(evidence::kReadingReps == planning::kTableShort);
  return {reading.name, reading.rests_on, reading.draws};
}

std::string known_names(const std::vector<evidence::GrowthReading>& kept) {
  std::string out = "there are plateau, linear";
  for (const evidence::GrowthReading& r : kept) out += ", " + r.name;
  return out;
}

}  // namespace

Result<std::vector<evidence::GrowthReading>> kept_readings(Desk& desk) {
  const auto settings = desk.store().settings();
  if (!settings) return tl::unexpected(settings.error());
  std::vector<evidence::GrowthReading> out;
  for (const store::NamedText& s : *settings) {
    if (s.name.compare(0, kKey.size(), kKey) != 0) continue;
    auto reading = parse_reading(s.text);
    if (!reading)
      return fail(Code::corrupt, "the setting \"" + s.name + "\" in the data file: " + reading.error().message);
    out.push_back(*std::move(reading));
  }
  return out;
}

Result<store::ChangeId> keep_reading(Desk& desk, const evidence::GrowthReading& reading) {
  const std::string& name = reading.name;
  if (name.empty() || name.size() > kLongestName || interchange::printable(name) != name || name.front() == ' ' ||
      name.back() == ' ')
    return fail(Code::invalid_input, "a reading's name was expected to be plain text of 1 to 40 characters");
  if (name == kPlateau || name == kLinear || name == "all")
    return fail(Code::invalid_input, "\"" + name + "\" is the name of a shipped reading: give yours another");
  if (const auto usable = planning::table_reading(table_of(reading), 1, 1); !usable)
    return tl::unexpected(usable.error());
  const auto kept = kept_readings(desk);
  if (!kept) return tl::unexpected(kept.error());
  const bool there = std::any_of(kept->begin(), kept->end(), [&](const auto& r) { return r.name == name; });
  if (!there && kept->size() >= kMostKeptReadings)
    return fail(Code::conflict, std::to_string(kMostKeptReadings) +
                                    " readings of your own are kept, the most there may be: remove one first (" +
                                    known_names(*kept) + ")");
  return desk.store().change("reading " + name, [&](store::Writer& w) {
    return w.put_setting(std::string(kKey) + name, reading_text(reading));
  });
}

Result<store::ChangeId> remove_reading(Desk& desk, const std::string& name) {
  const auto kept = kept_readings(desk);
  if (!kept) return tl::unexpected(kept.error());
  if (std::none_of(kept->begin(), kept->end(), [&](const auto& r) { return r.name == name; }))
    return fail(Code::not_found, "no reading of your own is called \"" + name + "\"; " + known_names(*kept));
  return desk.store().change("reading " + name + " removed",
                             [&](store::Writer& w) { return w.remove_setting(std::string(kKey) + name); });
}

Result<std::vector<planning::Reading>> readings_for(Desk& desk, const std::vector<std::string>& names, int n,
                                                    std::uint64_t seed) {
  const auto kept = kept_readings(desk);
  if (!kept) return tl::unexpected(kept.error());
  std::vector<std::string> wanted = names;
  if (wanted.empty()) {
    wanted = {std::string(kPlateau), std::string(kLinear)};
    for (const evidence::GrowthReading& r : *kept) wanted.push_back(r.name);
  }
  std::vector<planning::Reading> out;
  for (const std::string& name : wanted) {
    if (std::any_of(out.begin(), out.end(), [&](const auto& r) { return r.name == name; })) continue;
    if (name == kPlateau) {
      out.push_back(planning::plateau_reading(n, seed));
    } else if (name == kLinear) {
      out.push_back(planning::linear_reading(n, seed + 1));
    } else {
      const auto found = std::find_if(kept->begin(), kept->end(), [&](const auto& r) { return r.name == name; });
      if (found == kept->end())
        return fail(Code::not_found, "no reading is called \"" + name + "\"; " + known_names(*kept));
      auto reading = planning::table_reading(table_of(*found), n, seed + 2);
      if (!reading) return tl::unexpected(reading.error());
      out.push_back(*std::move(reading));
    }
  }
  return out;
}

}  // namespace ullage::coach
