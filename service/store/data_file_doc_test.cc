// docs/data-file.md describes every table and column there really is.
#include "service/store/schema.h"
#include "service/store/sqlite.h"
#include "service/store/testing/samples.h"

namespace ullage::store {
namespace {

TEST(DataFileDocument, NamesEveryTableAndColumnWithItsMeaning) {
  const ScratchFolder folder;
  const std::string path = folder.file("data.ullage");
  FakeClock clock;
  {
    const auto store = must(open_sqlite(path, clock, "tester"));
  }
  const auto db = must(Connection::open(path, OpenAs::read_only, 1000));
  const std::string document = bytes_of(std::string(ULLAGE_SOURCE_DIR) + "/docs/data-file.md");
  ASSERT_FALSE(document.empty());

  const auto real = must(db->rows("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"));
  EXPECT_EQ(real.size(), tables().size());
  for (const auto& row : real) {
    const std::string name = text_of(row[0]);
    const auto begin = document.find("\n### " + name + "\n");
    ASSERT_NE(begin, std::string::npos) << "no section on table " << name;
    const std::string section = document.substr(begin, document.find("\n### ", begin + 1) - begin);
    const Table& described = table(name);
    EXPECT_NE(section.find(described.meaning), std::string::npos) << name;
    const auto columns = must(db->rows("SELECT name, type FROM pragma_table_info(?)", name));
    ASSERT_EQ(columns.size(), described.columns.size()) << name;
    for (std::size_t i = 0; i < columns.size(); ++i) {
      ASSERT_EQ(text_of(columns[i][0]), described.columns[i].name);
      const std::string line = "\n| " + text_of(columns[i][0]) + " | " + text_of(columns[i][1]) + " | " +
                               described.columns[i].meaning + " |\n";
      EXPECT_NE(section.find(line), std::string::npos) << name << " lacks the line:" << line;
    }
  }
}

TEST(DataFileDocument, TheFileItselfCarriesTheMeanings) {
  for (const auto& each : tables()) {
    std::string all;
    for (const auto& step : migrations()) all += step;
    EXPECT_NE(all.find("CREATE TABLE " + each.name + " (  -- " + each.meaning), std::string::npos);
    for (const auto& column : each.columns) {
      EXPECT_NE(all.find("  -- " + column.meaning + "\n"), std::string::npos) << each.name << column.name;
    }
  }
}

}  // namespace
}  // namespace ullage::store
