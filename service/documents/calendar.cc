// iCalendar, RFC 5545: content lines end in CR LF and are folded at 75 octets (3.1), text is escaped (3.3.11), an event
// has UID and DTSTAMP (3.6.1), every zone that is named is described (3.6.5).
#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <fstream>
#include <iterator>
#include <map>

#include "service/documents/planned_sessions.h"

namespace ullage::documents {
namespace {

constexpr std::size_t kLongestLine = 75;  // octets, without the line end

class Lines {
 public:
  void put(const std::string& line) {
    std::size_t at = 0;
    std::size_t room = kLongestLine;
    while (line.size() - at > room) {
      std::size_t end = at + room;
      while (end > at && (static_cast<unsigned char>(line[end]) & 0xC0) == 0x80) --end;  // never inside a character
      text += line.substr(at, end - at) + "\r\n ";
      at = end;
      room = kLongestLine - 1;
    }
    text += line.substr(at) + "\r\n";
  }
  std::string text;
};

std::string value(const std::string& plain) {
  std::string out;
  for (const char c : plain) {
    if (c == '\\' || c == ';' || c == ',') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7F) {
      out += c;
    } else if (c == '\t') {
      out += ' ';
    }
  }
  return out;
}

std::string day(Date date) {
  std::string text = date_text(date);
  text.erase(std::remove(text.begin(), text.end(), '-'), text.end());
  return text;
}

// 20261126T180000 of a count of seconds on the wall since 1970-01-01.
std::string moment(std::int64_t seconds) {
  std::int64_t days = seconds / 86400, left = seconds % 86400;
  if (left < 0) {
    left += 86400;
    --days;
  }
  return fmt::format("{}T{:02}{:02}{:02}", day(Date{static_cast<int>(days)}), left / 3600, left / 60 % 60, left % 60);
}

std::string offset(std::int64_t seconds) {
  const std::int64_t all = seconds < 0 ? -seconds : seconds;
  std::string text = fmt::format("{}{:02}{:02}", seconds < 0 ? '-' : '+', all / 3600, all / 60 % 60);
  if (all % 60 != 0) text += fmt::format("{:02}", all % 60);
  return text;
}

// A zone as the files of the tz database hold it (RFC 8536), version 2 and later.
struct Zone {
  struct Kind {
    std::int64_t offset = 0;
    bool summer = false;
    std::string name;
  };
  std::vector<Kind> kinds;
  std::vector<std::pair<std::int64_t, std::size_t>> changes;  // UTC second, kind from then on
};

Result<Zone> read_zone(const std::string& folder, const std::string& name) {
  const auto unknown = [&] {
    return fail(Code::invalid_input,
                "--zone: \"" + name + "\" is not a time zone of this machine, such as Europe/Oslo");
  };
  const bool plain = !name.empty() && name.size() < 64 &&
                     std::all_of(
                         name.begin(), name.end(),
                         [](char c) {
                           return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                                  c == '/' || c == '_' || c == '-' || c == '+';
                         });
  if (!plain || name[0] == '/' || name.back() == '/') return unknown();
  std::ifstream in(folder + "/" + name, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  const auto number = [&](std::size_t at, int size) -> std::int64_t {
    if (at + static_cast<std::size_t>(size) > bytes.size()) return 0;
    std::uint64_t all = 0;
    for (int i = 0; i < size; ++i)
      all = (all << 8) | static_cast<unsigned char>(bytes[at + static_cast<std::size_t>(i)]);
    if (size == 4) return static_cast<std::int32_t>(static_cast<std::uint32_t>(all));
    return static_cast<std::int64_t>(all);
  };
  struct Counts {
    std::size_t utc, standard, leap, times, kinds, letters;
  };
  const auto counts = [&](std::size_t at) {
    const auto count = [&](std::size_t i) {
      return static_cast<std::size_t>(std::max<std::int64_t>(number(at + 20 + 4 * i, 4), 0));
    };
    return Counts{count(0), count(1), count(2), count(3), count(4), count(5)};
  };
  if (bytes.size() < 88 || bytes.compare(0, 4, "TZif") != 0 || bytes[4] < '2') return unknown();
  const Counts old = counts(0);
  const std::size_t second = 44 + old.times * 5 + old.kinds * 6 + old.letters + old.leap * 8 + old.standard + old.utc;
  if (second + 44 > bytes.size() || bytes.compare(second, 4, "TZif") != 0) return unknown();
  const Counts now = counts(second);
  const std::size_t times = second + 44, which = times + now.times * 8, kinds = which + now.times,
                    letters = kinds + now.kinds * 6;
  if (letters + now.letters > bytes.size() || now.kinds == 0 || now.kinds > 256) return unknown();
  Zone zone;
  for (std::size_t i = 0; i < now.kinds; ++i) {
    Zone::Kind kind;
    kind.offset = number(kinds + i * 6, 4);
    kind.summer = bytes[kinds + i * 6 + 4] != 0;
    const auto at = static_cast<unsigned char>(bytes[kinds + i * 6 + 5]);
    if (at < now.letters) kind.name = bytes.c_str() + letters + at;
    zone.kinds.push_back(kind);
  }
  for (std::size_t i = 0; i < now.times; ++i) {
    const auto kind = static_cast<unsigned char>(bytes[which + i]);
    if (kind >= now.kinds) return unknown();
    zone.changes.emplace_back(number(times + i * 8, 8), kind);
  }
  return zone;
}

// The zone over these days: what holds at the beginning, and each change.
void put_zone(Lines& out, const std::string& name, const Zone& zone, Date first, Date last) {
  const std::int64_t from = (static_cast<std::int64_t>(first.days) - 1) * 86400,
                     to = (static_cast<std::int64_t>(last.days) + 2) * 86400;
  std::size_t kind = 0;
  std::int64_t since = from;
  std::vector<std::pair<std::int64_t, std::size_t>> inside;
  for (const auto& [time, next] : zone.changes) {
    if (time <= from) {
      kind = next;
      since = time;
    } else if (time < to) {
      inside.emplace_back(time, next);
    }
  }
  out.put("BEGIN:VTIMEZONE");
  out.put("TZID:" + name);
  const auto observance = [&](std::int64_t time, std::int64_t before, const Zone::Kind& now) {
    const std::string type = now.summer ? "DAYLIGHT" : "STANDARD";
    out.put("BEGIN:" + type);
    out.put("DTSTART:" + moment(time + before));  // on the wall as it was before
    out.put("TZOFFSETFROM:" + offset(before));
    out.put("TZOFFSETTO:" + offset(now.offset));
    if (!now.name.empty()) out.put("TZNAME:" + value(now.name));
    out.put("END:" + type);
  };
  std::int64_t before = zone.kinds[kind].offset;
  observance(std::max<std::int64_t>(since, 0), before, zone.kinds[kind]);
  for (const auto& [time, next] : inside) {
    observance(time, before, zone.kinds[next]);
    before = zone.kinds[next].offset;
  }
  out.put("END:VTIMEZONE");
}

// SEQUENCE (3.8.7.4) must not fall from one file to the next, whatever moved and whatever was taken back: minutes since
// the first of January 2026.
std::int64_t revision(const std::string& stamp) {
  const auto part = [&](std::size_t at, std::size_t size) {
    std::int64_t number = 0;
    for (const char c : stamp.size() < at + size ? std::string(size, '0') : stamp.substr(at, size))
      number = number * 10 + (c >= '0' && c <= '9' ? c - '0' : 0);
    return number;
  };
  const std::string iso =
      stamp.size() < 8 ? "" : stamp.substr(0, 4) + "-" + stamp.substr(4, 2) + "-" + stamp.substr(6, 2);
  const auto date = parse_date(iso);
  if (!date) return 0;
  return std::max<std::int64_t>(
      0, (*date - *parse_date("2026-01-01")) * std::int64_t{1440} + part(9, 2) * 60 + part(11, 2));
}

std::string summary(const CalendarWish& wish, const PlannedSession& session) {
  std::string names;
  for (const PlannedExercise& e : session.exercises) names += (names.empty() ? "" : ", ") + e.name;
  return wish.lifter + ": " + (session.label.empty() ? "" : session.label + ", ") + names;
}

std::string description(const PlannedSession& session) {
  std::string out;
  for (const PlannedExercise& e : session.exercises) out += (out.empty() ? "" : "\n") + e.name + ": " + e.text;
  return out;
}

}  // namespace

Result<std::string> calendar_text(const CalendarWish& wish) {
  Lines out;
  out.put("BEGIN:VCALENDAR");
  out.put("VERSION:2.0");
  out.put("PRODID:-//Ullage//Planned sessions//EN");
  out.put("CALSCALE:GREGORIAN");
  if (wish.start_minute) {
    if (wish.zone.empty()) return fail(Code::invalid_input, "--start: needs --zone, such as Europe/Oslo");
    const auto zone = read_zone(wish.zone_folder, wish.zone);
    if (!zone) return tl::unexpected<Error>(zone.error());
    Date first = wish.sessions.empty() ? Date{} : wish.sessions.front().date, last = first;
    for (const PlannedSession& session : wish.sessions) {
      first = std::min(first, session.date);
      last = std::max(last, session.date);
    }
    if (!wish.sessions.empty()) put_zone(out, wish.zone, *zone, first, last);
  }
  for (const PlannedSession& session : wish.sessions) {
    out.put("BEGIN:VEVENT");
    out.put("UID:" + value(session.id));
    out.put("DTSTAMP:" + wish.stamp);
    out.put("SEQUENCE:" + std::to_string(revision(wish.stamp)));
    if (wish.start_minute) {
      const std::int64_t start = static_cast<std::int64_t>(session.date.days) * 86400 + *wish.start_minute * 60;
      const auto minutes = static_cast<std::int64_t>(std::max(session.minutes, 1.0) + 0.5);
      out.put("DTSTART;TZID=" + wish.zone + ":" + moment(start));
      out.put("DURATION:PT" + std::to_string(minutes) + "M");
    } else {
      out.put("DTSTART;VALUE=DATE:" + day(session.date));
      out.put("DTEND;VALUE=DATE:" + day(session.date + 1));
      out.put("TRANSP:TRANSPARENT");
    }
    out.put("SUMMARY:" + value(summary(wish, session)));
    if (!session.exercises.empty()) out.put("DESCRIPTION:" + value(description(session)));
    if (!session.place.empty()) out.put("LOCATION:" + value(session.place));
    out.put("END:VEVENT");
  }
  out.put("END:VCALENDAR");
  return std::move(out.text);
}

}  // namespace ullage::documents
