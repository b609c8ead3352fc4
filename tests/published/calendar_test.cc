// The calendar file against the rules of RFC 5545 (Desruisseaux 2009, Internet Calendaring and Scheduling Core Object
// Specification, doi 10.17487/RFC5545) and of A4 and Letter paper. Sections stand beside each check.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <regex>
#include <set>

#include "service/documents/document.h"
#include "service/documents/planned_sessions.h"

namespace ullage::documents {
namespace {

std::string calendar(std::optional<int> start, const std::string& stamp = "20261020T080000Z") {
  CalendarWish wish;
  wish.lifter = "Søren; \"the\" long, \\ lifter\nwith a second line";
  wish.stamp = stamp;
  wish.start_minute = start;
  if (start) wish.zone = "Europe/Oslo";
  for (int i = 0; i < 4; ++i) {
    PlannedSession session;
    session.date = *parse_date("2026-10-22") + 2 * i;  // over the end of summer time
    session.id = "ida." + date_text(session.date) + "@ullage";
    session.minutes = 59.6;
    session.place = "Hall 2, first floor; left";
    std::string name = "Übung ";
    for (int letters = 0; letters < 40 + i; ++letters) name += "å—𝄞";
    session.exercises = {{name, "3 sets of up to 8 at 47.5 kg", "", {}}, {"Row", "x", "", {}}};
    wish.sessions.push_back(session);
  }
  return *calendar_text(wish);
}

std::vector<std::string> unfolded(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find("\r\n", at);
    if (end == std::string::npos) return {"a line that does not end in CR LF"};
    if (text[at] == ' ' || text[at] == '\t')
      lines.back() += text.substr(at + 1, end - at - 1);
    else
      lines.push_back(text.substr(at, end - at));
    at = end + 2;
  }
  return lines;
}

// 3.1: lines end in CR LF, are at most 75 octets, and no character of several octets need be cut; there are no other
// control characters.
TEST(CalendarRules, ContentLines) {
  for (const auto start : {std::optional<int>(), std::optional<int>(1110)}) {
    const std::string text = calendar(start);
    ASSERT_EQ(text.substr(text.size() - 2), "\r\n");
    std::size_t longest = 0;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = text.find("\r\n", at);
      longest = std::max(longest, end - at);
      EXPECT_NE(static_cast<unsigned char>(text[at]) & 0xC0, 0x80) << "a line begins inside a character";
      at = end + 2;
    }
    EXPECT_LE(longest, 75u);
    EXPECT_GT(longest, 70u) << "something was folded";
    for (std::size_t i = 0; i < text.size(); ++i) {
      const auto c = static_cast<unsigned char>(text[i]);
      EXPECT_TRUE(c >= 0x20 || (c == '\r' && text[i + 1] == '\n') || (c == '\n' && text[i - 1] == '\r')) << i;
    }
    for (const std::string& line : unfolded(text))
      EXPECT_TRUE(std::regex_search(line, std::regex("^[A-Z][A-Z-]*(;[A-Z]+=[^:;\"]+)*:"))) << line;
  }
}

// 3.4, 3.6, 3.6.1, 3.7.3, 3.7.4: one VCALENDAR with VERSION 2.0 and PRODID once; each VEVENT has UID and DTSTAMP once,
// DTSTART once (there is no METHOD), and never DTEND beside DURATION. 3.8.7.2: DTSTAMP is in UTC. 3.8.4.7: a UID is
// of one event only. 3.8.7.4: SEQUENCE is a whole number of 0 or more and does not fall in a later file.
TEST(CalendarRules, PropertiesOfEvents) {
  std::map<std::string, long> sequences;
  for (const char* stamp : {"20261020T080000Z", "20261021T080000Z"}) {
    for (const auto start : {std::optional<int>(), std::optional<int>(1110)}) {
      const auto lines = unfolded(calendar(start, stamp));
      EXPECT_EQ(lines.front(), "BEGIN:VCALENDAR");
      EXPECT_EQ(lines.back(), "END:VCALENDAR");
      EXPECT_EQ(std::count(lines.begin(), lines.end(), "VERSION:2.0"), 1);
      EXPECT_EQ(std::count_if(lines.begin(), lines.end(), [](const auto& l) { return l.rfind("PRODID:", 0) == 0; }), 1);
      std::set<std::string> ids;
      std::map<std::string, std::vector<std::string>> event;
      bool inside = false;
      for (const std::string& line : lines) {
        if (line == "BEGIN:VEVENT") {
          inside = true;
          event.clear();
        } else if (line == "END:VEVENT") {
          inside = false;
          for (const char* once : {"UID", "DTSTAMP", "DTSTART", "SEQUENCE", "SUMMARY"})
            EXPECT_EQ(event[once].size(), 1u) << once;
          EXPECT_EQ(event["DTEND"].size() + event["DURATION"].size(), 1u);
          EXPECT_TRUE(std::regex_match(event["DTSTAMP"][0], std::regex("[0-9]{8}T[0-9]{6}Z")));
          EXPECT_TRUE(std::regex_match(event["SEQUENCE"][0], std::regex("[0-9]{1,9}")));
          EXPECT_TRUE(ids.insert(event["UID"][0]).second) << event["UID"][0];
          const long sequence = std::stol(event["SEQUENCE"][0]);
          EXPECT_GE(sequence, sequences[event["UID"][0]]);
          EXPECT_GT(sequence, 0);
          sequences[event["UID"][0]] = sequence;
        } else if (inside) {
          event[line.substr(0, line.find_first_of(";:"))].push_back(line.substr(line.find(':') + 1));
        }
      }
      EXPECT_EQ(ids.size(), 4u);
    }
  }
}

// 3.3.11: in TEXT a backslash, a semicolon, a comma and a line break are escaped, a colon and quotes are not.
TEST(CalendarRules, TextIsEscaped) {
  const std::string text = calendar({});
  const auto lines = unfolded(text);
  const auto summary =
      std::find_if(lines.begin(), lines.end(), [](const auto& line) { return line.rfind("SUMMARY:", 0) == 0; });
  ASSERT_NE(summary, lines.end());
  EXPECT_EQ(summary->substr(0, 63), R"(SUMMARY:Søren\; "the" long\, \\ lifter\nwith a second line: Ü)");
  EXPECT_NE(std::find(lines.begin(), lines.end(), R"(LOCATION:Hall 2\, first floor\; left)"), lines.end());
}

// 3.2.19, 3.6.5: every TZID that is used is described by a VTIMEZONE, each part of which has DTSTART, TZOFFSETFROM and
// TZOFFSETTO. Summer time in the zone of Oslo ends on the last Sunday of October at 1:00 UTC (Directive 2000/84/EC,
// article 3): 25 October 2026 at 3:00 on the wall as it was before.
TEST(CalendarRules, ZonesAreDescribed) {
  const auto lines = unfolded(calendar(1110));
  const auto at = [&](const std::string& line) { return std::find(lines.begin(), lines.end(), line); };
  ASSERT_NE(at("TZID:Europe/Oslo"), lines.end());
  EXPECT_NE(at("DTSTART;TZID=Europe/Oslo:20261024T183000"), lines.end());
  EXPECT_NE(at("DURATION:PT60M"), lines.end());
  auto change = at("DTSTART:20261025T030000");
  ASSERT_NE(change, lines.end());
  EXPECT_EQ(*(change - 1), "BEGIN:STANDARD");
  EXPECT_EQ(*(change + 1), "TZOFFSETFROM:+0200");
  EXPECT_EQ(*(change + 2), "TZOFFSETTO:+0100");
}

}  // namespace
}  // namespace ullage::documents
