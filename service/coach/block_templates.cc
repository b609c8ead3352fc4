// Shipped templates (data/templates, compiled in) and the coach's own.
#include <algorithm>

#include "service/coach/block.h"

namespace ullage::embedded {
std::string_view block_templates_toml();
}

namespace ullage::coach {
namespace {

// The files one after the other, parted by a line "#--- name".
std::vector<std::pair<std::string, std::string>> shipped() {
  std::vector<std::pair<std::string, std::string>> out;
  std::string_view all = embedded::block_templates_toml();
  constexpr std::string_view kMark = "#--- ";
  while (!all.empty()) {
    const auto end = all.find('\n');
    std::string_view line = all.substr(0, end);
    all = end == std::string_view::npos ? std::string_view() : all.substr(end + 1);
    if (line.substr(0, kMark.size()) == kMark)
      out.emplace_back(std::string(line.substr(kMark.size())), "");
    else if (!out.empty())
      out.back().second += std::string(line) + "\n";
  }
  return out;
}

}  // namespace

Result<std::vector<TemplateEntry>> block_templates(Desk& desk) {
  std::vector<TemplateEntry> out;
  const auto own = desk.store().templates();
  if (!own) return tl::unexpected(own.error());
  for (const store::NamedText& t : *own) {
    auto request = read_request(t.text);
    if (!request) return fail(Code::corrupt, "template " + t.name + " in the data file: " + request.error().message);
    out.push_back({t.name, std::move(*request), true});
  }
  for (const auto& [name, text] : shipped()) {
    const bool taken = std::any_of(out.begin(), out.end(), [&](const TemplateEntry& t) { return t.name == name; });
    if (taken) continue;
    auto request = read_request(text);
    if (!request) return fail(Code::internal, "shipped template " + name + ": " + request.error().message);
    out.push_back({name, std::move(*request), false});
  }
  return out;
}

Result<BlockRequest> block_template(Desk& desk, const std::string& name) {
  const auto all = block_templates(desk);
  if (!all) return tl::unexpected(all.error());
  std::vector<std::string> names;
  for (const TemplateEntry& t : *all) {
    if (t.name == name || t.request.name == name) return t.request;
    names.push_back(t.name);
  }
  return fail(Code::invalid_input, "no template \"" + name + "\"" + did_you_mean(near_names(name, names, 3)));
}

}  // namespace ullage::coach
