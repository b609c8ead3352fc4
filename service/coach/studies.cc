#include "service/coach/studies.h"

#include <algorithm>

#include "service/interchange/fault.h"

namespace ullage::coach {
namespace {

constexpr std::string_view kKey = "studies ";
constexpr std::size_t kLongestName = 60;

std::string text_of(const StudyTableKept& t) {
  Json json = {{"file", t.file}, {"text", t.text}, {"mapping", t.mapping}, {"skip_bad", t.skip_bad}};
  json["measure"] = t.measure ? Json(std::string(evidence::measure_name(*t.measure))) : Json();
  json["better"] = t.more_is_better ? Json(*t.more_is_better ? "more" : "less") : Json();
  json["assumed_r"] = t.assumed_r ? Json(*t.assumed_r) : Json();
  json["compares"] = t.compares;
  return json_text(json);
}

Result<StudyTableKept> parse(const std::string& name, const std::string& text) {
  const auto wrong = [&] {
    return fail(Code::corrupt, "the setting \"" + std::string(kKey) + name + "\" in the data file is no study table");
  };
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object()) return wrong();
  StudyTableKept out;
  out.name = name;
  for (const auto& [key, to] : {std::pair<const char*, std::string*>{"file", &out.file},
                                {"text", &out.text},
                                {"mapping", &out.mapping},
                                {"compares", &out.compares}}) {
    if (!json.contains(key) || !json[key].is_string()) return wrong();
    *to = json[key].get<std::string>();
  }
  out.skip_bad = json.value("skip_bad", false);
  if (json.contains("measure") && json["measure"].is_string())
    out.measure = evidence::parse_measure(json["measure"].get<std::string>());
  if (json.contains("better") && json["better"].is_string()) out.more_is_better = json["better"] == "more";
  if (json.contains("assumed_r") && json["assumed_r"].is_number()) out.assumed_r = json["assumed_r"].get<double>();
  return out;
}

}  // namespace

Result<std::vector<StudyTableKept>> kept_studies(Desk& desk) {
  const auto settings = desk.store().settings();
  if (!settings) return tl::unexpected(settings.error());
  std::vector<StudyTableKept> out;
  for (const store::NamedText& s : *settings) {
    if (s.name.compare(0, kKey.size(), kKey) != 0) continue;
    auto table = parse(s.name.substr(kKey.size()), s.text);
    if (!table) return tl::unexpected(table.error());
    out.push_back(*std::move(table));
  }
  return out;
}

Result<StudyTableKept> studies(Desk& desk, const std::string& name) {
  const auto text = desk.store().setting(std::string(kKey) + name);
  if (!text) return tl::unexpected(text.error());
  if (*text) return parse(name, **text);
  const auto all = kept_studies(desk);
  if (!all) return tl::unexpected(all.error());
  std::vector<std::string> names;
  for (const StudyTableKept& t : *all) names.push_back(t.name);
  return fail(Code::not_found, "no studies are kept as \"" + name + "\"" + did_you_mean(near_names(name, names, 3)));
}

Result<store::ChangeId> keep_studies(Desk& desk, const StudyTableKept& table) {
  const std::string& name = table.name;
  if (name.empty() || name.size() > kLongestName || interchange::printable(name) != name || name.front() == ' ' ||
      name.back() == ' ')
    return fail(Code::invalid_input, "a name of plain text of 1 to 60 characters was expected");
  if (table.text.empty()) return fail(Code::invalid_input, "the study table is empty");
  if (table.text.size() > kLongestStudyTable)
    return fail(Code::invalid_input, "the study table is longer than 2 MB, the most that is kept");
  const auto read = gather(wish_for(table));
  if (!read) return tl::unexpected(read.error());
  if (read->refused) return fail(Code::invalid_input, "some rows cannot be used: correct them, or have them left out");
  if (!table.compares.empty()) {
    if (const auto known = ask_for(table.compares); !known) return tl::unexpected(known.error());
  }
  const auto kept = kept_studies(desk);
  if (!kept) return tl::unexpected(kept.error());
  const bool there = std::any_of(kept->begin(), kept->end(), [&](const auto& t) { return t.name == name; });
  if (!there && kept->size() >= kMostStudyTables)
    return fail(Code::conflict, std::to_string(kMostStudyTables) + " study tables are kept, the most there may be");
  return desk.store().change("studies " + name,
                             [&](store::Writer& w) { return w.put_setting(std::string(kKey) + name, text_of(table)); });
}

Result<store::ChangeId> remove_studies(Desk& desk, const std::string& name) {
  if (const auto there = studies(desk, name); !there) return tl::unexpected(there.error());
  return desk.store().change("remove studies " + name,
                             [&](store::Writer& w) { return w.remove_setting(std::string(kKey) + name); });
}

EvidenceWish wish_for(const StudyTableKept& table) {
  EvidenceWish wish;
  wish.text = table.text;
  wish.mapping_text = table.mapping;
  wish.skip_bad = table.skip_bad;
  wish.measure = table.measure;
  wish.more_is_better = table.more_is_better;
  wish.assumed_r = table.assumed_r;
  return wish;
}

Result<AskWish> ask_for(const std::string& compares) {
  AskWish wish;
  if (compares == "groups")
    wish.comparison = Comparison::arms;
  else if (compares == "failure minus short")
    wish.short_minus_failure = false;
  else if (compares != "short minus failure")
    return fail(Code::invalid_input,
                "--compares: say which way round a row is: short minus failure, failure minus short, or groups");
  return wish;
}

}  // namespace ullage::coach
