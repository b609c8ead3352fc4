#include "service/interchange/sheet_text.h"

#include <gtest/gtest.h>
#include <unistd.h>
#include <xlsxwriter.h>

#include <filesystem>

namespace ullage::interchange {
namespace {

class SheetAsText : public ::testing::Test {
 protected:
  ~SheetAsText() override { std::filesystem::remove(path_); }
  Result<SheetText> text(std::size_t most = 1 << 20) {
    workbook_close(book_);
    auto opened = Workbook::open(path_);
    if (!opened) return tl::unexpected(opened.error());
    return first_sheet_as_csv(**opened, most);
  }
  const std::string path_ =
      (std::filesystem::temp_directory_path() / ("ullage-sheet-text-" + std::to_string(::getpid()) + ".xlsx")).string();
  lxw_workbook* book_ = workbook_new(path_.c_str());
};

TEST_F(SheetAsText, TakesTheFirstShownSheetWithCellsAndKeepsItsLines) {
  lxw_worksheet* about = workbook_add_worksheet(book_, "About");
  worksheet_write_string(about, 0, 0, "not this one", nullptr);
  workbook_add_worksheet(book_, "Blank");
  lxw_worksheet* effects = workbook_add_worksheet(book_, "Effects");
  worksheet_activate(effects);
  worksheet_hide(about);
  worksheet_write_string(effects, 1, 0, "study", nullptr);
  worksheet_write_string(effects, 1, 2, "effect", nullptr);
  worksheet_write_string(effects, 3, 0, "Fell, \"and\" Ruiz\n2019", nullptr);
  worksheet_write_number(effects, 3, 2, 0.25, nullptr);
  worksheet_write_number(effects, 3, 4, -1, nullptr);
  const auto read = text();
  ASSERT_TRUE(read) << read.error().message;
  EXPECT_EQ(read->sheet, "Effects");
  EXPECT_EQ(read->text, "\nstudy,,effect\n\n\"Fell, \"\"and\"\" Ruiz 2019\",,0.25,,-1\n");
}

TEST_F(SheetAsText, SaysWhenThereIsNoneOrTooMuch) {
  lxw_worksheet* sheet = workbook_add_worksheet(book_, "Effects");
  for (lxw_row_t row = 0; row < 400; ++row)
    worksheet_write_string(sheet, row, 0, std::string(100, 'x').c_str(), nullptr);
  const auto read = text(20000);
  ASSERT_FALSE(read);
  EXPECT_EQ(read.error().code, Code::invalid_input);
  EXPECT_NE(read.error().message.find("Effects"), std::string::npos);
}

TEST_F(SheetAsText, AnEmptyWorkbookIsSaidToBeOne) {
  workbook_add_worksheet(book_, "Blank");
  const auto read = text();
  ASSERT_FALSE(read);
  EXPECT_EQ(read.error().message, "the workbook has no sheet with cells that is not hidden");
}

}  // namespace
}  // namespace ullage::interchange
