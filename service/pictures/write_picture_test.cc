#include "service/pictures/write_picture.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "engine/drawing/svg.h"

namespace ullage::pictures {
namespace {

using ::testing::HasSubstr;
using ::testing::StartsWith;

class WritePicture : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string name = (std::filesystem::temp_directory_path() / "pictures.XXXXXX").string();
    ASSERT_NE(::mkdtemp(name.data()), nullptr);
    folder_ = name;
    picture_.end_at(picture_.heading());
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string path(const std::string& name) const { return (folder_ / name).string(); }
  std::string bytes(const std::string& name) const {
    std::ifstream in(path(name), std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  }
  std::size_t files() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder_), {}));
  }

  std::filesystem::path folder_;
  drawing::Picture picture_{drawing::kColumn, "A finding", "A picture with a heading alone."};
};

TEST_F(WritePicture, TheEndingDecides) {
  ASSERT_TRUE(write_picture(picture_, path("a.svg")));
  EXPECT_EQ(bytes("a.svg"), drawing::svg_text(picture_));
  const auto png = write_picture(picture_, path("a.PNG"));
  ASSERT_TRUE(png) << png.error().message;
  EXPECT_THAT(bytes("a.PNG"), StartsWith("\x89PNG"));
  const auto pdf = write_picture(picture_, path("a.pdf"));
  ASSERT_TRUE(pdf) << pdf.error().message;
  EXPECT_THAT(bytes("a.pdf"), StartsWith("%PDF-"));
  EXPECT_EQ(files(), 3U) << "nothing else may be left";
  const auto bad = write_picture(picture_, path("a.gif"));
  ASSERT_FALSE(bad);
  EXPECT_EQ(bad.error().code, Code::invalid_input);
  EXPECT_THAT(bad.error().message, HasSubstr(".svg, .png or .pdf"));
}

TEST_F(WritePicture, SaysWhatIsMissing) {
  PictureOptions options;
  options.converter = "no-such-converter-here";
  const auto wanted = write_picture(picture_, path("a.pdf"), options);
  ASSERT_FALSE(wanted);
  EXPECT_EQ(wanted.error().code, Code::unavailable);
  EXPECT_THAT(wanted.error().message, HasSubstr("librsvg2-bin"));
  EXPECT_EQ(files(), 0U);
  EXPECT_TRUE(write_picture(picture_, path("a.svg"), options)) << "SVG needs nobody";
  const auto nowhere = write_picture(picture_, path("none/a.svg"));
  ASSERT_FALSE(nowhere);
  EXPECT_EQ(nowhere.error().code, Code::not_found);
}

TEST_F(WritePicture, AFailingConverterLeavesTheOldFile) {
  ASSERT_TRUE(write_picture(picture_, path("a.png")));
  const std::string before = bytes("a.png");
  const auto bad = write_svg("this is no picture", path("a.png"));
  ASSERT_FALSE(bad);
  EXPECT_EQ(bad.error().code, Code::unavailable);
  EXPECT_EQ(bytes("a.png"), before);
  EXPECT_EQ(files(), 1U);
}

}  // namespace
}  // namespace ullage::pictures
