// The program itself, started as somebody would start it: it says where it listens, answers, and ends when it is told
// to.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <regex>
#include <string>
#include <vector>

#include "server/problem.h"
#include "server/testing/client.h"

namespace ullage::server {
namespace {

struct Started {
  pid_t id = 0;
  int out = -1;

  explicit Started(std::vector<std::string> arguments) {
    int ends[2];
    if (::pipe(ends) != 0) return;
    id = ::fork();
    if (id == 0) {
      ::dup2(ends[1], STDOUT_FILENO);
      ::dup2(ends[1], STDERR_FILENO);
      ::close(ends[0]);
      const std::string program = std::string(ULLAGE_BINARY_DIR) + "/ullage";
      std::vector<char*> values{const_cast<char*>(program.c_str())};
      for (std::string& argument : arguments) values.push_back(argument.data());
      values.push_back(nullptr);
      ::execv(program.c_str(), values.data());
      ::_exit(127);
    }
    ::close(ends[1]);
    out = ends[0];
  }
  ~Started() {
    if (id > 0) ::kill(id, SIGKILL), ::waitpid(id, nullptr, 0);
    ::close(out);
  }
  // Until this has been said, or the program has ended.
  std::string said(const std::string& until) {
    std::string text;
    char bytes[4096];
    while (text.find(until) == std::string::npos) {
      const auto got = ::read(out, bytes, sizeof bytes);
      if (got <= 0) break;
      text.append(bytes, static_cast<std::size_t>(got));
    }
    return text;
  }
  int end() {
    int status = 0;
    ::waitpid(id, &status, 0);
    id = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
  }
};

class Serve : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("ullage-serve-" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string file() const { return (folder_ / "served.db").string(); }
  std::filesystem::path folder_;
};

TEST_F(Serve, SaysWhereAnswersAndEndsOnSignals) {
  for (const int signal : {SIGTERM, SIGINT}) {
    Started program({"--db", file(), "serve", "--port", "0", "--json"});
    const std::string said = program.said("}");
    const Json json = Json::parse(said, nullptr, false);
    ASSERT_TRUE(json.is_object()) << said;
    const auto port = json.at("port").get<std::uint16_t>();
    EXPECT_EQ(json.at("address"), "http://127.0.0.1:" + std::to_string(port));
    const Got got = Client(port).ask("GET", "/api/about");
    EXPECT_EQ(got.status, 200);
    EXPECT_EQ(Client(port).ask("GET", "/").status, 200);
    ::kill(program.id, signal);
    EXPECT_EQ(program.end(), 0);
    EXPECT_FALSE(Client(port).connected());
  }
}

TEST_F(Serve, RefusesToListenForOthers) {
  Started program({"--db", file(), "serve", "--address", "0.0.0.0"});
  const std::string said = program.said("never said");
  EXPECT_EQ(program.end(), 2);
  EXPECT_NE(said.find("no sign-in"), std::string::npos) << said;
  EXPECT_EQ(said.find('\n'), said.size() - 1) << "one line: " << said;
  EXPECT_FALSE(std::filesystem::exists(file())) << "nothing was changed";
}

TEST_F(Serve, AFileThatIsNoneOfOursIsToldAtOnce) {
  {
    std::FILE* f = std::fopen(file().c_str(), "w");
    std::fputs("a shopping list", f);
    std::fclose(f);
  }
  Started program({"--db", file(), "serve", "--port", "0"});
  program.said("never said");
  EXPECT_EQ(program.end(), 2);
}

}  // namespace
}  // namespace ullage::server
