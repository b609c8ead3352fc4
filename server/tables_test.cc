// Tables sent to the program: workbooks read as they are elsewhere, nothing stored before it is wished, hostile files
// refused, and everybody else served meanwhile.
#include "server/tables.h"

#include <gtest/gtest.h>

#include <atomic>
#include <fstream>
#include <sstream>
#include <thread>

#include "server/testing/app_test_base.h"
#include "server/turns.h"

namespace ullage::server {
namespace {

constexpr const char* kXlsx = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
constexpr const char* kOds = "application/vnd.oasis.opendocument.spreadsheet";

std::string bytes_of(const std::string& name) {
  std::ifstream in(std::string(ULLAGE_SOURCE_DIR) + "/tests/data/workbooks/" + name, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  EXPECT_FALSE(out.str().empty()) << name;
  return out.str();
}

class TablesSent : public AppTest {
 protected:
  Json send(const std::string& name, const std::string& bytes, const char* type, int status = 201) {
    const Got got = ask("POST", "/api/tables?name=" + name, bytes, type);
    EXPECT_EQ(got.status, status) << got.body;
    return Json::parse(got.body, nullptr, false);
  }
  static std::string at(const Json& table) { return "/api/tables/" + table.at("table").get<std::string>(); }
};

TEST_F(TablesSent, AWorkbookFromTheFirstLookToTheLog) {
  begin();
  const Json table = send("spring.xlsx", bytes_of("lifter-a-sheet.xlsx"), kXlsx);
  EXPECT_TRUE(table.at("workbook").get<bool>());
  EXPECT_FALSE(table.at("open_format").get<bool>());
  EXPECT_EQ(table.at("sheets").size(), 3u);
  const Json cells = asked("GET", at(table) + "/cells");
  EXPECT_EQ(cells.at("sheets").size(), 3u);
  const Json offer = asked("GET", at(table) + "/offer");
  EXPECT_EQ(offer.at("parts").at("fields").at(0).at("field"), "lifter");
  EXPECT_EQ(offer.at("parts").at("fields").at(0).at("columns"), Json({"(sheet)"}));
  std::string toml = offer.at("mapping").get<std::string>();
  Json pick = {{"toml", toml}, {"picks", Json::array()}};
  for (const Json& q : offer.at("questions")) {
    if (!q.at("required").get<bool>()) continue;
    EXPECT_EQ(q.at("key"), "columns.load.unit");
    for (const Json& f : offer.at("parts").at("fields")) {
      if (f.at("field") == "load")
        pick["picks"].push_back({{"field", "load"}, {"columns", f.at("columns")}, {"unit", "kg"}});
    }
  }
  toml = asked("POST", "/api/mappings/pick", pick).at("mapping").get<std::string>();
  const Json before = asked("GET", "/api/history?limit=1");
  const Json would = asked("POST", at(table) + "/read", {{"toml", toml}, {"dry_run", true}, {"skip_bad", true}});
  EXPECT_GT(would.at("added").get<int>(), 0) << would.dump();
  EXPECT_EQ(would.at("change"), 0);
  EXPECT_NE(would.at("preview").at(0).at("place").get<std::string>().find('!'), std::string::npos);
  // Dates after today are faults: the file runs on.
  EXPECT_EQ(would.at("bad_rows"), 1);
  EXPECT_EQ(asked("GET", "/api/history?limit=1"), before) << "a look stores nothing, the mapping neither";
  const Json done = asked("POST", at(table) + "/read", {{"toml", toml}, {"skip_bad", true}});
  EXPECT_EQ(done.at("added"), would.at("added"));
  EXPECT_EQ(done.at("new_lifters"), would.at("new_lifters"));
  EXPECT_EQ(asked("POST", at(table) + "/read", {{"toml", toml}, {"skip_bad", true}}).at("added"), 0)
      << "twice adds nothing";
  asked("POST", "/api/undo", {{"change", done.at("change")}});
  EXPECT_EQ(asked("GET", "/api/roster").at("total"), 3);
  // An OpenDocument file goes the same way.
  EXPECT_TRUE(send("autumn.ods", bytes_of("open-document.ods"), kOds).at("workbook").get<bool>());
}

TEST_F(TablesSent, AMappingPickedFromNothing) {
  begin();
  const Json table =
      send("plain.csv", "x;y;z;w\n2026-03-01;bench press;60;8\n2026-03-01;bench press;60;sieben\n", "text/csv");
  const Json picked = asked("POST", "/api/mappings/pick",
                            {{"toml", ""},
                             {"picks",
                              {{{"field", "date"}, {"columns", {"x"}}},
                               {{"field", "exercise"}, {"columns", {"#2"}}},
                               {{"field", "load"}, {"columns", {"z"}}, {"unit", "lb"}},
                               {{"field", "reps"}, {"columns", {"w"}}}}}});
  const Json would = asked("POST", at(table) + "/read",
                           {{"toml", picked.at("mapping")}, {"lifter", "Ines"}, {"dry_run", true}, {"skip_bad", true}});
  EXPECT_EQ(would.at("added"), 1);
  EXPECT_EQ(would.at("bad_rows"), 1);
  EXPECT_EQ(would.at("faults").at(0).at("value"), "sieben");
  EXPECT_EQ(would.at("preview").at(0).at("place"), "line 2");
}

TEST_F(TablesSent, HostileFilesAreRefusedAndNothingStays) {
  begin();
  std::string half = bytes_of("row-a-set.xlsx");
  half.resize(half.size() / 2);
  for (const std::string& bad :
       {std::string("PK\3\4 and then nothing of a workbook"), half,
        std::string("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 an old binary workbook, or a locked one")}) {
    const Json refused = send("bad.xlsx", bad, kXlsx, 422);
    const std::string said = refused.at("error").at("message").get<std::string>();
    EXPECT_EQ(said.find("/tmp"), std::string::npos) << said;
  }
  EXPECT_EQ(ask("POST", "/api/tables", "a,b\n", "application/zip").status, 415);
  EXPECT_EQ(ask("GET", "/api/tables/table-99/cells").status, 404);
  EXPECT_EQ(ask("GET", "/api/tables/..%2f..%2fetc/cells").status, 404);
  const Json table = send("a.csv", "a,b\n1,2\n", "text/csv");
  EXPECT_EQ(ask("GET", at(table) + "/cells?rows=100000").status, 422);
  EXPECT_EQ(asked("GET", at(table) + "/cells?sheet=June", Json(), 404).at("error").at("where"), "sheet");
  // A workbook longer than may be is refused before it is sent.
  Client client(app_->port());
  client.send("POST /api/tables HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(app_->port()) +
              "\r\nContent-Type: " + kXlsx + "\r\nContent-Length: 70000000\r\n\r\n");
  EXPECT_EQ(client.read().status, 413);
}

TEST_F(TablesSent, TheOnesUsedLongestAgoGo) {
  Tables tables;
  const auto file = std::make_shared<const std::string>("x");
  const std::string first = tables.add("a", file, 1).id;
  const std::string second = tables.add("b", file, 1).id;
  for (std::size_t i = 2; i < Tables::kMost; ++i) tables.add("c", file, 1);
  EXPECT_TRUE(tables.find(first));
  tables.add("one more", file, 1);
  EXPECT_TRUE(tables.find(first));
  EXPECT_FALSE(tables.find(second));
  const Table large = tables.add("large", file, Tables::kMostBytes);
  EXPECT_FALSE(tables.find(first));
  EXPECT_TRUE(tables.find(large.id)) << "one that fits alone is kept";
  Turns turns(2);
  {
    const auto one = turns.take(), two = turns.take();
    EXPECT_TRUE(one && two);
    EXPECT_FALSE(turns.take());
  }
  EXPECT_TRUE(turns.take());
}

// A long log is read in; changes that wait for it wait together, and whoever only reads is answered at once.
TEST_F(TablesSent, OthersAreServedWhileALongLogIsReadIn) {
  begin();
  std::string log = "lifter,date,exercise,load,reps\n";
  for (int i = 0; i < 10000; ++i)
    log += "Long Log,20" + std::to_string(10 + i / 1000) + "-0" + std::to_string(1 + i % 9) + "-1" +
           std::to_string(i % 10) + ",bench press," + std::to_string(40 + i % 60) + ",5\n";
  std::atomic<bool> over = false;
  std::thread upload([&] {
    EXPECT_EQ(ask("POST", "/api/imports", log, "text/csv").status, 200);
    over = true;
  });
  std::vector<std::thread> writers;
  std::atomic<int> written = 0;
  int answered = 0;
  while (!over) {
    if (writers.size() < 6) {
      writers.emplace_back([&, n = writers.size()] {
        if (ask("POST", "/api/lifters", Json({{"lifter", "Waiting " + std::to_string(n)}}).dump()).status == 201)
          ++written;
      });
    }
    EXPECT_EQ(ask("GET", "/api/about").status, 200);
    if (!over) ++answered;
  }
  upload.join();
  for (std::thread& writer : writers) writer.join();
  EXPECT_GE(answered, 5);
  EXPECT_EQ(written, 6);
}

}  // namespace
}  // namespace ullage::server
