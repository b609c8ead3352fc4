#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "service/words/patterns.h"

namespace ullage::embedded {
std::string_view words_de_json();
std::string_view papers_de_json();
}  // namespace ullage::embedded

namespace ullage::words {
namespace {

constexpr std::array<std::string_view, 12> kEnglishMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                             "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
constexpr std::array<std::string_view, 12> kMonths = {"Jan.", "Feb.", "M\u00e4rz", "Apr.", "Mai",  "Juni",
                                                      "Juli", "Aug.", "Sept.",     "Okt.", "Nov.", "Dez."};

// "2026-03-09" as "9. März 2026"; a month that is none stays a number.
std::string day(std::string_view iso) {
  const auto month = static_cast<std::size_t>((iso[5] - '0') * 10 + (iso[6] - '0'));
  std::string out(iso[8] == '0' ? iso.substr(9, 1) : iso.substr(8, 2));
  out += ". ";
  out += month >= 1 && month <= kMonths.size() ? kMonths[month - 1] : iso.substr(5, 2);
  return out.append(" ").append(iso.substr(0, 4));
}

// "9 Mar 2026" as "9. März 2026".
std::string paper_day(std::string_view english) {
  const std::size_t month = english.find(' ') + 1;
  const auto* const name = std::find(kEnglishMonths.begin(), kEnglishMonths.end(), english.substr(month, 3));
  std::string out(english.substr(0, month - 1));
  out += ". ";
  out += name == kEnglishMonths.end() ? english.substr(month, 3)
                                      : kMonths[static_cast<std::size_t>(name - kEnglishMonths.begin())];
  return out.append(english.substr(month + 3));
}

}  // namespace

const Patterns& german() {
  static const Patterns kGerman = [] {
    const auto shared = nlohmann::json::parse(embedded::words_de_json());
    const auto papers = nlohmann::json::parse(embedded::papers_de_json());
    std::vector<Patterns::Pair> pairs;
    // The papers first: among patterns alike they are meant for what is printed.
    for (const auto* file : {&papers, &shared}) {
      for (const auto& pair : file->at("patterns")) pairs.emplace_back(pair.at(0), pair.at(1));
    }
    Writing writing;
    writing.decimal = ',';
    writing.day = day;
    writing.paper_day = paper_day;
    writing.weekdays = shared.at("weekdays").get<decltype(writing.weekdays)>();
    writing.muscles = shared.at("muscles").get<decltype(writing.muscles)>();
    for (const auto& pair : shared.at("words")) writing.words.emplace_back(pair.at(0), pair.at(1));
    return Patterns(pairs, std::move(writing));
  }();
  return kGerman;
}

}  // namespace ullage::words
