// Dependencies point one way, and the engine touches nothing outside. Reads every source file of the tree.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;

// What each folder may include, besides itself. docs: the rule of one way in CONTRIBUTING.md.
const std::map<std::string, std::set<std::string>>& allowed() {
  static const std::set<std::string> engine = {
      "engine/base",     "engine/training",  "engine/capacity", "engine/safety",  "engine/simulation",
      "engine/planning", "engine/comparing", "engine/evidence", "engine/drawing", "engine/calibration"};
  static const auto plus = [](std::set<std::string> all, const std::set<std::string>& more) {
    all.insert(more.begin(), more.end());
    return all;
  };
  static const auto coach = plus(engine, {"service/library", "service/interchange", "service/store", "service/pictures",
                                          "service/solver", "service/documents", "service/words"});
  static const std::map<std::string, std::set<std::string>> rules = {
      {"engine/base", {}},
      {"engine/training", {"engine/base"}},
      {"engine/capacity", {"engine/training", "engine/base"}},
      {"engine/safety", {"engine/training", "engine/base"}},
      {"engine/simulation", {"engine/capacity", "engine/training", "engine/base"}},
      {"engine/calibration", {"engine/simulation", "engine/capacity", "engine/training", "engine/base"}},
      {"engine/planning", {"engine/capacity", "engine/safety", "engine/training", "engine/base"}},
      {"engine/comparing", {"engine/planning", "engine/capacity", "engine/safety", "engine/training", "engine/base"}},
      {"engine/evidence", {"engine/base"}},
      {"engine/drawing", {"engine/base"}},
      {"service/toml", {}},
      {"service/library", {"service/toml", "engine/training", "engine/base"}},
      {"service/interchange", {"service/toml", "engine/training", "engine/base"}},
      {"service/store", engine},
      {"service/pictures", {"engine/drawing", "engine/base"}},
      {"service/solver", engine},
      {"service/documents", {"engine/drawing", "engine/base"}},
      {"service/words", {"engine/base"}},
      {"service/coach", plus(coach, {"service/toml"})},
      {"server", plus(coach, {"service/coach"})},
      {"cli", plus(coach, {"service/coach", "server"})},
  };
  return rules;
}

// Headers the engine must not see: files, streams, threads, clocks, processes, other libraries, and what em++ lacks.
// The calendar types of <chrono> are allowed, its clocks are not (below).
const std::regex kForbiddenHeaders(
    "barrier|condition_variable|csignal|ctime|execution|filesystem|format|fstream|future|iomanip|iostream|latch|mutex|"
    "random|ranges|semaphore|shared_mutex|source_location|stop_token|syncstream|thread|"
    "(fcntl|pthread|signal|sqlite3|stdio|time|unistd)\\.h|(sys|fmt|nlohmann|CLI|toml\\+\\+)/.*");
// Names the engine must not call; <cstdio> is there for snprintf alone.
const std::regex kForbiddenNames(
    R"(\b(v?f?printf|v?sprintf|puts|fputs|putchar|fopen|fwrite|fread|popen|getenv|system|exit|abort|time|clock|rand|srand)"
    R"(|std::cout|std::cerr|std::ranges|std::views|std::random_device)\s*[(<:]|\b(std::cout|std::cerr|FILE|\w+_clock)\b)");

// The code without comments and without the insides of string and character literals, line ends kept.
std::string bare_code(const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text.compare(i, 2, "//") == 0) {
      while (i < text.size() && text[i] != '\n') ++i;
      if (i < text.size()) out += '\n';
    } else if (text.compare(i, 2, "/*") == 0) {
      const std::size_t end = std::min(text.find("*/", i + 2), text.size());
      for (; i < end; ++i) {
        if (text[i] == '\n') out += '\n';
      }
      ++i;
    } else if (text.compare(i, 3, "R\"(") == 0) {
      const std::size_t end = std::min(text.find(")\"", i), text.size());
      out += "\"\"";
      for (; i < end; ++i) {
        if (text[i] == '\n') out += '\n';
      }
      ++i;
    } else if (text[i] == '"' ||
               (text[i] == '\'' && (i == 0 || !std::isalnum(static_cast<unsigned char>(text[i - 1]))))) {
      const char quote = text[i];
      out += quote;
      for (++i; i < text.size() && text[i] != quote && text[i] != '\n'; ++i) {
        if (text[i] == '\\') ++i;
      }
      out += quote;
    } else {
      out += text[i];
    }
  }
  return out;
}

// Fakes lie in <folder>/testing: under the rule of the folder, and for tests only.
std::string without_testing(const std::string& folder) {
  return folder.ends_with("/testing") ? folder.substr(0, folder.rfind('/')) : folder;
}

// Faults of one file; `path` is relative to the root of the tree, with '/'.
std::vector<std::string> faults(const std::string& path, const std::string& text) {
  std::vector<std::string> found;
  const std::string own = path.substr(0, path.rfind('/'));
  const std::string folder = without_testing(own);
  const bool engine = path.starts_with("engine/");
  const bool test = path.ends_with("_test.cc") || own != folder;
  if (!allowed().contains(folder)) {
    found.push_back(path + ": folder " + folder + " has no rule in tests/architecture/architecture_test.cc");
    return found;
  }
  static const std::regex include(R"(^\s*#\s*include\s*([<"])([^>"]+)[>"])");
  std::istringstream lines(text);
  std::string line;
  for (int number = 1; std::getline(lines, line); ++number) {
    std::smatch match;
    if (!std::regex_search(line, match, include)) continue;
    const std::string where = path + ":" + std::to_string(number) + ": ";
    const std::string header = match[2];
    if (match[1] == "<") {
      if (engine && !test && std::regex_match(header, kForbiddenHeaders))
        found.push_back(where + "the engine may not include <" + header + ">");
      continue;
    }
    const std::string named = header.substr(0, header.rfind('/'));
    const std::string target = without_testing(named);
    if (named != target && !test) found.push_back(where + "\"" + header + "\" is for tests only");
    if (!allowed().contains(target)) {
      found.push_back(where + "\"" + header + "\" is not named from the root of the tree, or its folder has no rule");
    } else if (target != folder && !allowed().at(folder).contains(target)) {
      found.push_back(where + folder + " may not include from " + target);
    }
  }
  if (engine && !test) {
    std::istringstream code(bare_code(text));
    for (int number = 1; std::getline(code, line); ++number) {
      std::smatch match;
      if (std::regex_search(line, match, kForbiddenNames))
        found.push_back(path + ":" + std::to_string(number) + ": the engine may not use " + match.str());
    }
  }
  return found;
}

TEST(Architecture, EveryFileKeepsTheDirections) {
  const fs::path root = ULLAGE_SOURCE_DIR;
  int files = 0;
  for (const char* top : {"engine", "service", "server", "cli"}) {
    for (const auto& entry : fs::recursive_directory_iterator(root / top)) {
      if (!entry.is_regular_file() || (entry.path().extension() != ".h" && entry.path().extension() != ".cc")) continue;
      std::ifstream in(entry.path(), std::ios::binary);
      const std::string text{std::istreambuf_iterator<char>(in), {}};
      for (const auto& fault : faults(fs::relative(entry.path(), root).generic_string(), text)) ADD_FAILURE() << fault;
      ++files;
    }
  }
  EXPECT_GT(files, 15);
}

TEST(Architecture, EveryHeaderIsIncludedOnce) {
  const fs::path root = ULLAGE_SOURCE_DIR;
  for (const char* top : {"engine", "service", "server", "cli"}) {
    for (const auto& entry : fs::recursive_directory_iterator(root / top)) {
      if (entry.path().extension() != ".h") continue;
      std::ifstream in(entry.path());
      const std::string text{std::istreambuf_iterator<char>(in), {}};
      EXPECT_NE(text.find("#pragma once"), std::string::npos) << entry.path();
    }
  }
}

TEST(ArchitectureRules, SeeAnIncludeAgainstTheDirection) {
  EXPECT_EQ(faults("engine/base/x.h", "#include \"engine/training/lifter.h\"\n").size(), 1U);
  EXPECT_EQ(faults("engine/capacity/x.h", "#include \"engine/planning/x.h\"\n").size(), 1U);
  EXPECT_EQ(faults("engine/safety/x.h", "#include \"engine/capacity/x.h\"\n").size(), 1U);
  EXPECT_EQ(faults("engine/planning/x_test.cc", "#include \"service/store/x.h\"\n").size(), 1U);
  EXPECT_EQ(faults("service/coach/x.h", "#include \"cli/x.h\"\n").size(), 1U);
  EXPECT_EQ(faults("service/store/x.h", "#include \"service/coach/x.h\"\n").size(), 1U);
  EXPECT_EQ(faults("engine/base/x.cc", "#include \"units.h\"\n").size(), 1U);
  EXPECT_EQ(faults("engine/extra/x.cc", "").size(), 1U);
  EXPECT_EQ(faults("service/store/x.cc", "#include \"service/store/testing/x.h\"\n").size(), 1U);
  EXPECT_TRUE(faults("service/store/x_test.cc", "#include \"service/store/testing/x.h\"\n").empty());
  EXPECT_TRUE(faults("engine/planning/x.h", "#include \"engine/capacity/x.h\"\n#include <vector>\n").empty());
  EXPECT_TRUE(faults("cli/x.cc", "#include \"service/coach/x.h\"\n#include <iostream>\n").empty());
}

TEST(ArchitectureRules, SeeTheEngineReachOutside) {
  for (const char* text : {"#include <fstream>", "#include <thread>", "#include <fmt/core.h>", "std::printf(\"x\");",
                           "fprintf(stderr, \"x\");", "std::cout << 1;", "auto t = steady_clock::now();",
                           "time(nullptr);", "std::ranges::sort(v);", "FILE* f;", "# include <iostream>"}) {
    EXPECT_EQ(faults("engine/base/x.cc", std::string(text) + "\n").size(), 1U) << text;
  }
  for (const char* text :
       {"std::snprintf(buffer, sizeof buffer, \"%g\", x);", "// printf(\"x\")", "const char* s = \"printf(x)\";",
        "/* time(nullptr) */", "double rest_time(int set);", "int n = 1'000'000;", "bool at_time = true;"}) {
    EXPECT_TRUE(faults("engine/base/x.cc", std::string(text) + "\n").empty()) << text;
  }
  EXPECT_TRUE(faults("engine/base/x_test.cc", "#include <fstream>\n").empty());
}

}  // namespace
