// Hostile files are refused with bounded memory: each is read by a process of its own, whose peak is looked at.
#include <gtest/gtest.h>
#include <unistd.h>
#include <zip.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "service/interchange/open_table.h"
#include "service/interchange/read_log.h"

namespace ullage::interchange {
namespace {

// Under the address sanitizer a process holds more than it asks for.
#if defined(__has_feature)
constexpr bool kWatched = __has_feature(address_sanitizer);
#elif defined(__SANITIZE_ADDRESS__)
constexpr bool kWatched = true;
#else
constexpr bool kWatched = false;
#endif

constexpr const char* kFileName = "ULLAGE_HOSTILE_FILE";

// What the process that reads does: says what is wrong with the file and its own peak.
void read_here(const char* file) {
  std::string said;
  auto open = open_table(file);
  if (!open) {
    said = open.error().message;
  } else {
    ReadLogOptions reading;
    reading.today = *make_date(2026, 3, 20);
    const auto summary = read_log(*open->table, reading, {});
    said = summary ? std::to_string(summary->sets) + " sets" : summary.error().message;
  }
  std::printf("SAID %s\n", said.c_str());
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("VmHWM:")) std::printf("PEAK %s\n", line.c_str() + 6);
  }
}

struct Reading {
  std::string said;
  long peak_kb = 0;
};

Reading read_apart(const std::string& file) {
  ::setenv(kFileName, file.c_str(), 1);
  const std::string command = std::filesystem::read_symlink("/proc/self/exe").string() +
                              " --gtest_filter=HostileFiles.AreRefusedWithLittleMemory";
  std::FILE* pipe = ::popen(command.c_str(), "r");
  std::string out;
  std::array<char, 4096> buffer;
  for (std::size_t n; (n = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) out.append(buffer.data(), n);
  ::pclose(pipe);
  ::unsetenv(kFileName);
  Reading reading;
  std::istringstream lines(out);
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("SAID ")) reading.said = line.substr(5);
    if (line.starts_with("PEAK ")) reading.peak_kb = std::atol(line.c_str() + 5);
  }
  EXPECT_GT(reading.peak_kb, 0) << out;
  return reading;
}

using Parts = std::vector<std::pair<std::string, std::string>>;

void write_zip(const std::string& path, const Parts& parts, bool packed = true) {
  int error = 0;
  zip_t* zip = zip_open(path.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &error);
  ASSERT_NE(zip, nullptr);
  for (const auto& [name, text] : parts) {
    const zip_int64_t at =
        zip_file_add(zip, name.c_str(), zip_source_buffer(zip, text.data(), text.size(), 0), ZIP_FL_OVERWRITE);
    zip_set_file_compression(zip, static_cast<zip_uint64_t>(at), packed ? ZIP_CM_DEFLATE : ZIP_CM_STORE, 1);
  }
  ASSERT_EQ(zip_close(zip), 0);
}

Parts book(const std::string& sheet, const std::string& texts = "<sst/>") {
  return {{"xl/workbook.xml",
           "<workbook xmlns:r=\"r\"><sheets><sheet name=\"log\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"},
          {"xl/_rels/workbook.xml.rels",
           "<Relationships><Relationship Id=\"rId1\" Type=\"x/worksheet\" Target=\"worksheets/sheet1.xml\"/>"
           "<Relationship Id=\"rId2\" Type=\"x/sharedStrings\" Target=\"sharedStrings.xml\"/></Relationships>"},
          {"xl/worksheets/sheet1.xml", sheet},
          {"xl/sharedStrings.xml", texts}};
}

std::string times(int count, const std::string& text) {
  std::string out;
  out.reserve(static_cast<std::size_t>(count) * text.size());
  for (int i = 0; i < count; ++i) out += text;
  return out;
}

TEST(HostileFiles, AreRefusedWithLittleMemory) {
  if (const char* file = std::getenv(kFileName)) return read_here(file);
  const auto folder = std::filesystem::temp_directory_path() / ("ullage-hostile-" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  const std::string file = (folder / "file.xlsx").string();
  const auto sheet = [](const std::string& inside) {
    return "<worksheet><sheetData>" + inside + "</sheetData></worksheet>";
  };
  struct Case {
    const char* name;
    Parts parts;
    const char* said;
    long most_mb = 40;  // 8 are the process itself
    bool packed = true;
  };
  const auto try_one = [&](const Case& one) {
    write_zip(file, one.parts, one.packed);
    const Reading reading = read_apart(file);
    EXPECT_NE(reading.said.find(one.said), std::string::npos) << one.name << ": " << reading.said;
    if (!kWatched) {
      EXPECT_LT(reading.peak_kb, one.most_mb << 10) << one.name;
    }
  };
  try_one({"64 MB of blanks", book(sheet(times(1 << 19, std::string(128, ' ')))), "4 MB of text in one place"});
  try_one({"10 million empty rows", book(sheet(times(10000000, "<row/>"))), "more than"});
  // What may be kept of texts is the largest that a workbook can ask for.
  try_one({"100 MB of texts",
           book(sheet(""), "<sst>" + times(100 << 10, "<si><t>" + std::string(1007, 'x') + "</t></si>") + "</sst>"),
           "96 MB of text", 160, false});
  try_one({"entities",
           book("<!DOCTYPE x [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\">]>" + sheet("")),
           "document type"});
  try_one({"a tag without an end", book("<worksheet><sheetData><row r=\"" + std::string(32 << 20, '1')),
           "tag of more than 1 MB", 40, false});
  try_one({"a text without an end", book("<worksheet><sheetData><row><c t=\"str\"><v>" + std::string(32 << 20, 'x')),
           "4 MB of text in one place", 40, false});
  try_one({"a damaged part", book(sheet("<row r=\"1\"><c><v>1</v>")), "sheet log"});
  // A file cut off in the middle.
  const auto size = std::filesystem::file_size(file);
  std::filesystem::resize_file(file, size / 2);
  EXPECT_NE(read_apart(file).said.find("damaged"), std::string::npos);
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace ullage::interchange
