// Pages, PDF, calendar and workbooks as files, checked by general-purpose tools: libical, poppler.
#include <gtest/gtest.h>
#include <libical/ical.h>
#include <unistd.h>
#include <zip.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "service/documents/findings.h"
#include "service/documents/html.h"
#include "service/documents/pdf.h"
#include "service/documents/planned_sessions.h"
#include "service/documents/session_sheet.h"
#include "service/documents/workbook_file.h"

namespace ullage::documents {
namespace {

namespace fs = std::filesystem;

class Files : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("ullage-documents-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }
  std::string path(const std::string& name) const { return (folder_ / name).string(); }
  static std::string read(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  }
  static std::string output_of(const std::string& command) {
    std::string out;
    std::FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
    std::array<char, 4096> buffer;
    for (std::size_t n; (n = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) out.append(buffer.data(), n);
    ::pclose(pipe);
    return out;
  }
  fs::path folder_;
};

SessionSheetPage sheet() {
  SessionSheetPage page;
  page.lifter = "Ida <Roos> & Søn";
  page.when = "Mon 9 Mar 2026, boathouse, about 40 minutes";
  SheetExercise e;
  e.name = "Bench press";
  e.aim = "end with 2 to 4 in reserve";
  e.warm_up = "Warm up: 20 kg x 8";
  for (int i = 1; i <= 3; ++i) {
    SheetSet set;
    set.number = i;
    set.load = "102.5 kg";
    set.reps = 8;
    set.cue = "stop when you would call 2; at most 8";
    set.vessel = {8, 9.5, 11, 12.4, false, false, std::nullopt, std::to_string(i)};
    set.leaves = "leaves 3 (1-4)";
    e.sets.push_back(set);
  }
  e.bars.push_back({"102.5 kg", {{25, "25"}, {15, "15"}, {1.25, "1.25"}}, "25 + 15 + 1.25 a side"});
  e.rest = "Rest 3:00 between sets; 12 minutes in all.";
  e.why = "Why: you say 2 and have about 4.";
  page.exercises = {e, e};
  page.exercises[1].name = "Back squat";
  page.cautions = {"Set the safety bars before the first work set."};
  return page;
}

FindingsPage findings() {
  FindingsPage page;
  page.lifter = "Ida Roos";
  page.when = "Report of Mon 9 Mar 2026";
  Finding strength;
  strength.heading = "Bench press: strength 64 kg (63-65), up 0.3 % a week";
  strength.paragraphs = {"Strength is the load you could lift once today, all counted."};
  strength.figure = Drawing{
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"560\" height=\"160\" viewBox=\"0 0 560 160\">"
      "<path d=\"M0 0L560 160\" stroke=\"#20262b\" opacity=\"0.5\"/></svg>",
      "Strength over time.", 104, 30};
  Finding done;
  done.heading = "11 of 12 planned sets reached their reps";
  done.columns = {"exercise", "sets done"};
  done.rows = {{"Bench press", "12"}, {"Back squat", "9"}};
  page.findings = {strength, done};
  page.notes = {"This is no medical advice."};
  return page;
}

OverviewPage overview() {
  OverviewPage page;
  page.lifter = "Ida Roos";
  page.when = "Mon 9 Mar to Sun 22 Mar 2026";
  for (int day : {0, 2, 4, 7}) {
    PlannedSession session;
    session.date = *parse_date("2026-03-09") + day;
    session.minutes = 44;
    session.exercises = {{"Bench press", "3 sets", "47.5 kg × 8, 8, 7; leave 2 to 4",
                          std::vector<Vessel>(3, sheet().exercises[0].sets[0].vessel)}};
    page.sessions.push_back(session);
  }
  return page;
}

// PDF/UA (ISO 14289-1): tagged, with a title and a language; every font inside (ISO 32000-1, 9.9); A4 is 210 by 297 mm
// (ISO 216), Letter 8.5 by 11 inches (ANSI/ASME Y14.1); 1 point is 1/72 inch (ISO 32000-1, 8.3.2.3).
TEST_F(Files, DocumentsAreTaggedSearchableTextOnTheirPaper) {
  struct Kind {
    const char* name;
    std::vector<Part> parts;
    Paper paper;
    const char* pages;
    std::vector<const char*> words;
  };
  const std::vector<Kind> kinds{
      {"sheet",
       {session_sheet(sheet()), session_sheet(sheet())},
       Paper::a4,
       "2",
       {"Ida <Roos> & Søn", "1. Bench press", "102.5 kg × 8", "stop when you would call", "reps done", "how many",
        "25 + 15 + 1.25 a side", "Rest 3:00", "Set the safety bars", "page 2 of 2"}},
      {"sheet-letter", {session_sheet(sheet())}, Paper::letter, "1", {"page 1 of 1", "Before you lift"}},
      {"report",
       {findings_part(findings())},
       Paper::letter,
       "1",
       {"strength 64 kg (63-65)", "11 of 12 planned sets", "Back squat", "no medical advice"}},
      {"overview",
       {overview_part(overview())},
       Paper::a4,
       "1",
       {"Week of Mon 9.3.", "Wed 11.3.", "47.5 kg × 8, 8, 7", "44 minutes", "Week of Mon 16.3."}}};
  for (const Kind& kind : kinds) {
    const std::string file = path(std::string(kind.name) + ".pdf");
    const auto written = write_pdf({std::string("Ida: ") + kind.name, "en", kind.paper, kind.parts}, file);
    ASSERT_TRUE(written) << written.error().message;
    EXPECT_EQ(std::to_string(written->pages), kind.pages);
    EXPECT_EQ(written->without_letters, 0u);
    const std::string info = output_of("pdfinfo " + file);
    EXPECT_NE(info.find("Tagged:          yes"), std::string::npos) << info;
    EXPECT_NE(info.find(std::string("Pages:           ") + kind.pages), std::string::npos) << kind.name << "\n" << info;
    EXPECT_NE(info.find(std::string("Title:           Ida: ") + kind.name), std::string::npos) << info;
    const bool a4 = kind.paper == Paper::a4;
    const std::size_t size = info.find("Page size:");
    ASSERT_NE(size, std::string::npos);
    double wide = 0, high = 0;
    ASSERT_EQ(std::sscanf(info.c_str() + size, "Page size: %lf x %lf pts", &wide, &high), 2);
    EXPECT_NEAR(wide, a4 ? 210 / 25.4 * 72 : 8.5 * 72, 0.01);
    EXPECT_NEAR(high, a4 ? 297 / 25.4 * 72 : 11.0 * 72, 0.01);
    const std::string text = output_of("pdftotext -layout " + file + " -");
    for (const char* wanted : kind.words) EXPECT_NE(text.find(wanted), std::string::npos) << wanted << "\n" << text;
    // Every font is inside the file: name, type, encoding, emb yes.
    std::istringstream fonts(output_of("pdffonts " + file));
    std::string line;
    int count = 0;
    for (int row = 0; std::getline(fonts, line); ++row) {
      if (row < 2) continue;
      ++count;
      EXPECT_NE(line.find(" yes yes "), std::string::npos) << line;
    }
    EXPECT_GE(count, 2);
    // Pictures stay vectors.
    EXPECT_EQ(output_of("pdfimages -list " + file).find("image"), std::string::npos) << kind.name;
  }
}

// What a reader that cannot see the page is told (PDF/UA, ISO 14289-1, 7.1 to 7.5): a language, the title shown,
// content in its order under headings and in tables with their headings, words for each figure, and no rules or page
// numbers.
TEST_F(Files, WhoCannotSeeAPageIsToldAllOfIt) {
  ASSERT_TRUE(write_pdf({"Ida: sheet", "en", Paper::a4, {session_sheet(sheet()), findings_part(findings())}},
                        path("sheet.pdf")));
  const std::string tags = output_of("pdfinfo -struct-text " + path("sheet.pdf"));
  std::size_t at = 0;
  for (const char* wanted : {"Document",
                             "H1",
                             "\"Ida <Roos> & Søn\"",
                             "H2",
                             "\"1. Bench press end with 2 to 4 in reserve\"",
                             "Figure",
                             "\"Warm up: 20 kg x 8\"",
                             "Table",
                             "THead",
                             "TH",
                             "/Scope /Column",
                             "\"how many more?\"",
                             "TBody",
                             "TR",
                             "TD",
                             "\"102.5 kg × 8\"",
                             "\"Why: you say 2 and have about 4.\"",
                             "\"2. Back squat",
                             "\"Before you lift\"",
                             "LI",
                             "LBody",
                             "\"Set the safety bars",
                             "H1",
                             "\"Ida Roos\"",
                             "Figure",
                             "Table",
                             "no medical advice"}) {
    at = tags.find(wanted, at);
    ASSERT_NE(at, std::string::npos) << wanted << "\n" << tags;
  }
  for (const char* no : {"page 1 of", "NonStruct"}) EXPECT_EQ(tags.find(no), std::string::npos) << no << "\n" << tags;
  // The bytes themselves, made readable by qpdf.
  const std::string bytes = output_of("qpdf --qdf --object-streams=disable " + path("sheet.pdf") + " -");
  for (const char* wanted : {"/Lang (en)", "/DisplayDocTitle true", "/Marked true", "/Alt (Strength over time.)",
                             "/Alt (set 1: 8 reps, leaves 3 \\(1-4\\)", "/Artifact BMC"})
    EXPECT_NE(bytes.find(wanted), std::string::npos) << wanted;
  EXPECT_NE(output_of("qpdf --check " + path("sheet.pdf")).find("No syntax or stream encoding errors"),
            std::string::npos);
}

// Long names, many exercises, a paragraph longer than a page: everything is there, in order, nothing outside the paper.
TEST_F(Files, LongAndMessyInputsStayOnThePaper) {
  SessionSheetPage page = sheet();
  page.lifter = "Maximiliane-Theodora Wolfeschlegelsteinhausenbergerdorff-Achterberg von der Tann, Ωμέγα Дарья";
  page.exercises.assign(12, page.exercises[0]);
  for (std::size_t i = 0; i < page.exercises.size(); ++i) {
    SheetExercise& e = page.exercises[i];
    e.name = "Exercise " + std::to_string(i + 1) +
             (i % 3 == 0 ? ", with a name that goes on and on until it fills more than one line of the sheet" : "");
    e.sets.resize(1 + i % 9, e.sets[0]);
    for (SheetSet& set : e.sets) set.load = i % 4 == 0 ? "1102.25 kg and a band" : set.load;
    e.why = "Why: " + std::string(i * 40, 'x') + " end" + std::to_string(i + 1) + ".";
    e.bars[0].plates.assign(2 + i, e.bars[0].plates[0]);
  }
  std::string words;
  for (int i = 0; i < 1500; ++i) words += "word" + std::to_string(i) + ' ';
  page.exercises[5].remarks = {words};
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    const auto written = write_pdf({"messy", "en", paper, {session_sheet(page)}}, path("messy.pdf"));
    ASSERT_TRUE(written) << written.error().message;
    EXPECT_EQ(written->without_letters, 0u);
    const std::string text = output_of("pdftotext " + path("messy.pdf") + " -");
    std::size_t at = 0;
    for (int i = 1; i <= 12; ++i) {
      at = text.find("end" + std::to_string(i) + ".", at);
      ASSERT_NE(at, std::string::npos) << i;
    }
    for (int i = 0; i < 1500; ++i) ASSERT_NE(text.find("word" + std::to_string(i)), std::string::npos) << i;
    // Every word lies on the sheet, inside its margins.
    std::istringstream boxes(output_of("pdftotext -bbox " + path("messy.pdf") + " -"));
    const double right = (paper == Paper::a4 ? 210 / 25.4 * 72 : 8.5 * 72) - 12.9 / 25.4 * 72,
                 bottom = paper == Paper::a4 ? 297 / 25.4 * 72 : 11.0 * 72;
    int count = 0;
    for (std::string line; std::getline(boxes, line);) {
      double x1 = 0, y1 = 0, x2 = 0, y2 = 0;
      if (std::sscanf(line.c_str(), " <word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\"", &x1, &y1, &x2, &y2) !=
          4)
        continue;
      ++count;
      EXPECT_GE(x1, 12.9 / 25.4 * 72) << line;
      EXPECT_LE(x2, right) << line;
      EXPECT_GE(y1, 0) << line;
      EXPECT_LE(y2, bottom) << line;
    }
    EXPECT_GT(count, 1500);
  }
}

// A sheet that would leave a few lines for its last page is set a little closer instead.
TEST_F(Files, ALastPageIsNotLeftNearlyEmpty) {
  SessionSheetPage page = sheet();
  page.exercises.resize(1);
  std::size_t fits = 0;
  for (std::size_t n = 7; n <= 10; ++n) {
    page.exercises[0].sets.resize(n, page.exercises[0].sets[0]);
    page.exercises.resize(2, page.exercises[0]);
    page.exercises[1] = page.exercises[0];
    const auto made = pdf({"x", "en", Paper::a4, {session_sheet(page)}});
    ASSERT_TRUE(made);
    if (made->pages == 1) fits = n;
  }
  EXPECT_EQ(fits, 9u) << "sets of two exercises each; 8 with the margins as designed";
}

TEST_F(Files, WhatIsWrongIsNamed) {
  const auto written = write_pdf({"x", "en", Paper::a4, {}}, path("none/x.pdf"));
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, Code::not_found);
  // Bytes that are no text do not stop a sheet, and letters that no font has are counted.
  Part part;
  part.title = "bad \xff\xfe bytes \x01";
  part.when = "\U0001DA00\U0010FFFD";
  const auto made = pdf({"x", "en", Paper::a4, {part}});
  ASSERT_TRUE(made) << made.error().message;
  EXPECT_EQ(made->pages, 1u);
  EXPECT_GE(made->without_letters, 1u);
}

TEST(PageText, MarkupInNamesStaysText) {
  const std::string page = html({"<title>", "en", Paper::a4, {session_sheet(sheet())}});
  EXPECT_EQ(page.find("<Roos>"), std::string::npos);
  EXPECT_EQ(page.find("<title><title>"), std::string::npos);
  EXPECT_NE(page.find("Ida &lt;Roos&gt; &amp; Søn"), std::string::npos);
  FindingsPage report;
  report.lifter = "\"<script>\"";
  report.findings = {{"<b>", {"<i>"}, {}, {"<u>"}, {{"<s>"}}}};
  const std::string findings = html({"x", "en", Paper::a4, {findings_part(report)}});
  for (const char* bad : {"<script>", "<b>", "<i>", "<u>", "<s>"})
    EXPECT_EQ(findings.find(bad), std::string::npos) << bad;
}

std::vector<PlannedSession> sessions() {
  PlannedSession one;
  one.id = "ida.2026-10-24@ullage";
  one.date = *parse_date("2026-10-24");  // the day before summer time ends in Oslo
  one.minutes = 61.6;
  one.place = "Boathouse; hall 2, \\ left";
  one.exercises = {
      {"Bench press, left side", "3 sets of up to 8 at 47.5 kg, end with 2 to 4 in reserve", "", {}},
      {"Übung mit sehr langem Namen, damit die Zeile gefaltet wird: ääääääääääääääääääääääääääääääääää", "x", "", {}}};
  PlannedSession two = one;
  two.id = "ida.2026-10-26@ullage";
  two.date = *parse_date("2026-10-26");
  return {one, two};
}

// RFC 5545 3.1: lines of at most 75 octets that end in CR LF; libical reads the text and checks it against 3.6 and 3.8.
TEST(Calendar, IsReadByAnotherLibraryAndKeepsItsIds) {
  CalendarWish wish;
  wish.lifter = "Ida Roos";
  wish.sessions = sessions();
  wish.start_minute = 18 * 60 + 30;
  wish.zone = "Europe/Oslo";
  wish.stamp = "20261020T080000Z";
  const auto text = calendar_text(wish);
  ASSERT_TRUE(text) << text.error().message;
  EXPECT_EQ(*text, *calendar_text(wish));
  std::size_t at = 0;
  while (at < text->size()) {
    const std::size_t end = text->find("\r\n", at);
    ASSERT_NE(end, std::string::npos);
    EXPECT_LE(end - at, 75u);
    EXPECT_EQ(text->substr(at, end - at).find('\n'), std::string::npos);
    at = end + 2;
  }
  icalcomponent* calendar = icalparser_parse_string(text->c_str());
  ASSERT_NE(calendar, nullptr);
  EXPECT_EQ(icalcomponent_count_errors(calendar), 0);
  EXPECT_TRUE(icalrestriction_check(calendar));
  EXPECT_EQ(icalcomponent_count_errors(calendar), 0) << icalcomponent_as_ical_string(calendar);
  int count = 0;
  for (icalcomponent* event = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT); event != nullptr;
       event = icalcomponent_get_next_component(calendar, ICAL_VEVENT_COMPONENT)) {
    const PlannedSession& session = wish.sessions[static_cast<std::size_t>(count++)];
    EXPECT_EQ(icalcomponent_get_uid(event), session.id);
    EXPECT_STREQ(icalcomponent_get_location(event), "Boathouse; hall 2, \\ left");
    EXPECT_NE(std::string(icalcomponent_get_summary(event)).find(session.exercises[1].name), std::string::npos);
    EXPECT_EQ(std::string(icalcomponent_get_description(event)),
              session.exercises[0].name + ": " + session.exercises[0].text + "\n" + session.exercises[1].name + ": x");
    const icaltimetype start = icalcomponent_get_dtstart(event);
    EXPECT_EQ(start.hour, 18);
    EXPECT_EQ(start.minute, 30);
    // The zone that the file itself describes: an hour's difference across the end of summer time.
    const icaltimetype utc = icaltime_convert_to_zone(start, icaltimezone_get_utc_timezone());
    EXPECT_EQ(utc.hour, count == 1 ? 16 : 17);
    EXPECT_EQ(icaldurationtype_as_int(icalcomponent_get_duration(event)), 62 * 60);
  }
  EXPECT_EQ(count, 2);
  icalcomponent_free(calendar);
}

// A second library, where the machine has it (Debian's python3-icalendar): the same entries, and a moved session as the
// same entry with a higher revision.
TEST_F(Files, ASecondLibraryReadsTheCalendar) {
  if (output_of("/usr/bin/python3 -c 'import icalendar'") != "") GTEST_SKIP() << "python3-icalendar is not installed";
  CalendarWish wish;
  wish.lifter = "Ida Roos";
  wish.sessions = sessions();
  wish.start_minute = 18 * 60 + 30;
  wish.zone = "Europe/Oslo";
  for (const int day : {0, 1}) {
    wish.stamp = "2026102" + std::to_string(day) + "T080000Z";
    wish.sessions[0].date = *parse_date("2026-10-24") - day;
    std::ofstream(path(std::to_string(day) + ".ics"), std::ios::binary) << *calendar_text(wish);
  }
  std::ofstream(path("read.py")) << R"py(
import icalendar, sys
seen = {}
for name in sys.argv[1:]:
    calendar = icalendar.Calendar.from_ical(open(name, "rb").read())
    assert not calendar.errors, calendar.errors
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        entry = seen.get(str(event["UID"]))
        assert entry is None or int(event["SEQUENCE"]) > int(entry["SEQUENCE"])
        seen[str(event["UID"])] = event
for uid in sorted(seen):
    event = seen[uid]
    print(uid, event.decoded("DTSTART").strftime("%Y-%m-%d %H:%M"), event.decoded("DURATION"), event["LOCATION"])
)py";
  EXPECT_EQ(output_of("/usr/bin/python3 " + path("read.py") + " " + path("0.ics") + " " + path("1.ics")),
            "ida.2026-10-24@ullage 2026-10-23 18:30 1:02:00 Boathouse; hall 2, \\ left\n"
            "ida.2026-10-26@ullage 2026-10-26 18:30 1:02:00 Boathouse; hall 2, \\ left\n");
}

TEST(Calendar, WithoutAStartEntriesAreForTheDay) {
  CalendarWish wish;
  wish.lifter = "Ida Roos";
  wish.sessions = sessions();
  wish.stamp = "20261020T080000Z";
  const auto text = calendar_text(wish);
  ASSERT_TRUE(text);
  EXPECT_NE(text->find("DTSTART;VALUE=DATE:20261024\r\nDTEND;VALUE=DATE:20261025\r\n"), std::string::npos);
  icalcomponent* calendar = icalparser_parse_string(text->c_str());
  EXPECT_TRUE(icalrestriction_check(calendar));
  EXPECT_EQ(icalcomponent_count_errors(calendar), 0);
  icalcomponent_free(calendar);
  wish.start_minute = 600;
  EXPECT_EQ(calendar_text(wish).error().message, "--start: needs --zone, such as Europe/Oslo");
  for (const char* zone : {"Mars/Base", "../../etc/passwd", "/etc/localtime", "", "Europe/"}) {
    wish.zone = zone;
    EXPECT_FALSE(calendar_text(wish)) << zone;
  }
  for (const char* zone : {"America/New_York", "Asia/Kolkata", "Australia/Lord_Howe", "Pacific/Auckland", "UTC"}) {
    wish.zone = zone;
    const auto zoned = calendar_text(wish);
    ASSERT_TRUE(zoned) << zone;
    calendar = icalparser_parse_string(zoned->c_str());
    icalcomponent* event = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT);
    const icaltimetype start = icalcomponent_get_dtstart(event);
    const int own = icaltime_as_timet_with_zone(start, start.zone) -
                    icaltime_as_timet_with_zone(start, icaltimezone_get_utc_timezone());
    icaltimezone* theirs = icaltimezone_get_builtin_timezone(zone);
    if (theirs != nullptr) {
      const int known = icaltime_as_timet_with_zone(start, theirs) -
                        icaltime_as_timet_with_zone(start, icaltimezone_get_utc_timezone());
      EXPECT_EQ(own, known) << zone;
    }
    icalcomponent_free(calendar);
  }
}

std::string part_of(const std::string& file, const std::string& name) {
  int error = 0;
  zip_t* zip = zip_open(file.c_str(), ZIP_RDONLY, &error);
  if (zip == nullptr) return "";
  zip_stat_t stat;
  std::string out;
  if (zip_stat(zip, name.c_str(), 0, &stat) == 0) {
    out.resize(stat.size);
    zip_file_t* part = zip_fopen(zip, name.c_str(), 0);
    zip_fread(part, out.data(), out.size());
    zip_fclose(part);
  }
  zip_discard(zip);
  return out;
}

TEST_F(Files, AWorkbookHasTypedCellsAndAHeaderThatStays) {
  WorkbookSheet sheet;
  sheet.name = "log";
  sheet.columns = {{"day", 12, {}}, {"load (kg)", 10, 1}, {"note", 20, {}}};
  int row = 0;
  sheet.next = [&](std::vector<CellValue>& values) -> Result<bool> {
    if (row == 2) return false;
    values = {Date{20521 + row}, 102.5, std::string("=1+1")};
    ++row;
    return true;
  };
  sheet.charts.push_back({"load", 0, {1}, 1, 2, "kg"});
  const auto written = write_workbook(path("t.xlsx"), {sheet});
  ASSERT_TRUE(written) << written.error().message;
  const std::string xml = part_of(path("t.xlsx"), "xl/worksheets/sheet1.xml");
  EXPECT_NE(xml.find("state=\"frozen\""), std::string::npos);
  EXPECT_NE(xml.find("<v>102.5</v>"), std::string::npos);
  EXPECT_NE(xml.find("<v>46090</v>"), std::string::npos) << "2026-03-09 as a serial";
  EXPECT_EQ(xml.find("<f>"), std::string::npos) << "a text that looks like a formula stays a text";
  EXPECT_NE(part_of(path("t.xlsx"), "xl/charts/chart1.xml").find("scatterChart"), std::string::npos);
  sheet.next = [](std::vector<CellValue>& values) -> Result<bool> {
    values = {std::string(40000, 'a')};
    return true;
  };
  const auto refused = write_workbook(path("u.xlsx"), {sheet});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::invalid_input);
  EXPECT_FALSE(fs::exists(path("u.xlsx")));
}

}  // namespace
}  // namespace ullage::documents
