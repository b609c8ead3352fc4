#include "service/solver/cbc.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <unordered_map>

namespace ullage::solver {
namespace {

namespace files = std::filesystem;
using planning::Mip;
using planning::MipAnswer;
using planning::MipEnd;
using planning::MipWish;

constexpr double kTolerance = 1e-5;

// A folder of its own that goes when it is left.
class Folder {
 public:
  Folder() {
    std::error_code none;
    std::string name = (files::temp_directory_path(none) / "ullage-solve-XXXXXX").string();
    if (::mkdtemp(name.data())) path_ = name;
  }
  ~Folder() {
    std::error_code none;
    if (!path_.empty()) files::remove_all(path_, none);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  explicit operator bool() const { return !path_.empty(); }
  std::string file(const char* name) const { return path_ + "/" + name; }

 private:
  std::string path_;
};

bool write_file(const std::string& path, const std::string& text) {
  std::ofstream out(path, std::ios::binary);
  out << text;
  out.close();
  return out.good();
}

// The child with its output on a pseudo-terminal, so that it is told line by line and not when a buffer is full; killed
// and waited for when left.
class Child {
 public:
  Child(const std::vector<std::string>& arguments, const std::string& folder) {
    output_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    char name[128];
    if (output_ < 0 || ::grantpt(output_) != 0 || ::unlockpt(output_) != 0 ||
        ::ptsname_r(output_, name, sizeof name) != 0)
      return;
    const int far_end = ::open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (far_end < 0) return;
    std::vector<char*> argv;
    for (const std::string& a : arguments) argv.push_back(const_cast<char*>(a.c_str()));
    argv.push_back(nullptr);
    pid_ = ::fork();
    if (pid_ == 0) {
      const int nothing = ::open("/dev/null", O_RDWR);
      ::dup2(nothing, 0);
      ::dup2(far_end, 1);
      ::dup2(nothing, 2);
      if (::chdir(folder.c_str()) != 0) ::_exit(127);
      ::signal(SIGINT, SIG_IGN);  // the caller hears Ctrl-C and decides
      ::execv(argv[0], argv.data());
      ::_exit(127);
    }
    ::close(far_end);
  }
  ~Child() {
    stop();
    if (output_ >= 0) ::close(output_);
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  bool started() const { return pid_ > 0; }
  // Reads what is there within `milliseconds`; false at the end of the output.
  bool read(int milliseconds, std::string& into) {
    pollfd waiting{output_, POLLIN, 0};
    if (::poll(&waiting, 1, milliseconds) <= 0) return true;
    char bytes[4096];
    const auto n = ::read(output_, bytes, sizeof bytes);
    if (n < 0) return errno == EINTR || errno == EAGAIN;  // EIO: the child has closed its end
    if (n == 0) return false;
    into.append(bytes, static_cast<std::size_t>(n));
    return true;
  }
  void stop() {
    if (pid_ <= 0 || waited_) return;
    ::kill(pid_, SIGKILL);
    int status = 0;
    while (::waitpid(pid_, &status, 0) < 0 && errno == EINTR) {
    }
    waited_ = true;
  }

 private:
  pid_t pid_ = -1;
  int output_ = -1;
  bool waited_ = false;
};

std::optional<double> number_after(const std::string& line, const char* words) {
  const auto at = line.find(words);
  if (at == std::string::npos) return std::nullopt;
  const char* from = line.c_str() + at + std::strlen(words);
  char* end = nullptr;
  const double value = std::strtod(from, &end);
  if (end == from || !std::isfinite(value) || std::abs(value) > 1e49) return std::nullopt;
  return value;
}

// The solution file: a line of what it is, then "index name value cost"; columns at 0 may be left out.
std::optional<std::vector<double>> read_solution(const std::string& path, const Mip& mip) {
  std::ifstream in(path);
  std::string line;
  if (!std::getline(in, line) || line.find("nfeasible") != std::string::npos) return std::nullopt;
  std::unordered_map<std::string, std::size_t> by_name;
  for (std::size_t c = 0; c < mip.columns.size(); ++c) by_name[mip.columns[c].name] = c;
  std::vector<double> at(mip.columns.size(), 0);
  while (std::getline(in, line)) {
    const auto start = line.find_first_not_of(" *");
    if (start == std::string::npos) continue;
    std::istringstream fields(line.substr(start));
    std::size_t index = 0;
    std::string name;
    double value = 0;
    if (!(fields >> index >> name >> value)) return std::nullopt;
    const auto found = by_name.find(name);
    if (found == by_name.end()) return std::nullopt;
    at[found->second] = mip.columns[found->second].whole ? std::round(value) : value;
  }
  return at;
}

std::string said(double value) {
  std::ostringstream text;
  text << value;
  return text.str();
}

Result<MipAnswer> run(const std::string& program, const Mip& mip, const MipWish& wish) {
  const auto begun = std::chrono::steady_clock::now();
  const auto gone = [&] { return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count(); };
  Folder folder;
  if (!folder) return fail(Code::unavailable, "no temporary folder could be made for the solver");
  if (!write_file(folder.file("model.mps"), planning::to_mps(mip)))
    return fail(Code::unavailable, "the model could not be written to the temporary folder: is the disk full?");
  MipAnswer answer;
  const bool start = !wish.start.empty() && planning::worst_breach(mip, wish.start) < kTolerance;
  std::vector<std::string> arguments{program, "model.mps"};
  if (start) {
    answer.at = wish.start;
    answer.value = planning::worth(mip, wish.start);
    std::ostringstream text;
    text.precision(15);
    text << "start\n";
    for (std::size_t c = 0; c < mip.columns.size(); ++c) {
      if (wish.start[c] != 0) text << c << ' ' << mip.columns[c].name << ' ' << wish.start[c] << '\n';
    }
    if (write_file(folder.file("start.txt"), text.str())) arguments.insert(arguments.end(), {"-mipstart", "start.txt"});
  }
  if (wish.hard_cuts) {
    for (const char* part : {"-gomoryCuts", "forceOn", "-reduceAndSplitCuts", "on", "-twoMirCuts", "forceOn"})
      arguments.emplace_back(part);
  }
  for (const auto& part :
       std::vector<std::string>{"-threads", "0", "-timeMode", "elapsed", "-seconds", said(std::max(0.05, wish.seconds)),
                                "-ratioGap", said(wish.gap), "-solve", "-solution", "solution.txt", "-quit"})
    arguments.push_back(part);

  std::string rest;
  std::optional<double> value, bound;
  bool infeasible = false, optimal = false, spoke = false, cancelled = false, overran = false;
  if (start) value = answer.value;
  const auto has = [](const std::string& line, const char* words) { return line.find(words) != std::string::npos; };
  const auto hear = [&](const std::string& line) {
    spoke = spoke || has(line, "Welcome to the CBC");
    const CbcProgress p = read_progress(line);
    if (p.value && (!value || *p.value > *value)) value = p.value;
    if (p.bound && (!bound || *p.bound < *bound)) bound = p.bound;
    infeasible = infeasible || says_infeasible(line);
    optimal = optimal || has(line, "Optimal solution found");
  };
  {
    Child child(arguments, folder.file(""));
    if (!child.started()) return fail(Code::unavailable, "the solver " + program + " could not be started");
    while (child.read(100, rest)) {
      for (auto end = rest.find('\n'); end != std::string::npos; end = rest.find('\n')) {
        hear(rest.substr(0, end));
        rest.erase(0, end + 1);
      }
      if (wish.progress && !wish.progress(gone(), value, bound)) {
        cancelled = true;
        break;
      }
      if (gone() > wish.seconds + kPatience) {
        overran = true;
        break;
      }
    }
  }
  hear(rest);
  answer.seconds = gone();
  if (!spoke && !cancelled && !overran)
    return fail(Code::unavailable, "the solver " + program + " did not run: it said nothing that CBC would say");
  if (bound) answer.bound = *bound;
  if (!cancelled) {
    if (auto found = read_solution(folder.file("solution.txt"), mip);
        found && !infeasible && planning::worst_breach(mip, *found) < kTolerance) {
      const double worth = planning::worth(mip, *found);
      if (answer.at.empty() || worth > answer.value) {
        answer.at = std::move(*found);
        answer.value = worth;
      }
    }
  }
  if (cancelled) {
    answer.end = MipEnd::cancelled;
  } else if (infeasible && answer.at.empty()) {
    answer.end = MipEnd::infeasible;
  } else if (answer.at.empty()) {
    answer.end = MipEnd::deadline;
  } else {
    // CBC drops every branch that cannot gain more than the gap asked for, and then says "optimal".
    if (optimal) answer.bound = std::min(answer.bound, answer.value + wish.gap * std::abs(answer.value));
    answer.bound = std::max(answer.bound, answer.value);
    answer.end = answer.gap() <= 1e-6              ? MipEnd::optimal
                 : answer.gap() <= wish.gap + 1e-9 ? MipEnd::good_enough
                                                   : MipEnd::deadline;
  }
  return answer;
}

}  // namespace

bool says_infeasible(const std::string& line) {
  const auto has = [&](const char* words) { return line.find(words) != std::string::npos; };
  return has("proven infeasible") || has("Problem is infeasible") || has("relaxation infeasible");
}

CbcProgress read_progress(const std::string& line) {
  CbcProgress out;
  const auto negated = [](std::optional<double> x) { return x ? std::optional<double>(-*x) : x; };
  // The objective is handed over negated, to be minimised.
  if (line.find("best solution, best possible") != std::string::npos) {
    out.bound = negated(number_after(line, "best possible "));
    out.value = negated(number_after(line, "on tree, "));
  } else if (line.find("Continuous objective value is ") != std::string::npos) {
    out.bound = negated(number_after(line, "Continuous objective value is "));
  } else if (line.find("Integer solution of ") != std::string::npos) {
    out.value = negated(number_after(line, "Integer solution of "));
  } else if (line.find("MIPStart provided solution with cost ") != std::string::npos) {
    out.value = negated(number_after(line, "with cost "));
  } else if (line.find("Lower bound:") != std::string::npos) {
    out.bound = negated(number_after(line, "Lower bound:"));
  } else if (line.find("best objective ") != std::string::npos && line.find("best possible ") != std::string::npos) {
    out.value = negated(number_after(line, "best objective "));
    out.bound = negated(number_after(line, "best possible "));
  }
  return out;
}

Result<std::string> find_cbc(const std::string& named) {
  const auto runs = [](const std::string& path) { return ::access(path.c_str(), X_OK) == 0; };
  if (!named.empty()) {
    if (runs(named)) return named;
    return fail(Code::unavailable, "no solver can be run at " + named);
  }
  const char* path = std::getenv("PATH");
  std::istringstream folders(path && *path ? path : "/usr/local/bin:/usr/bin:/bin");
  for (std::string folder; std::getline(folders, folder, ':');) {
    if (!folder.empty() && folder.front() == '/' && runs(folder + "/cbc")) return folder + "/cbc";
  }
  return fail(Code::unavailable,
              "plans need the solver CBC and it is not installed: on Debian, apt-get install coinor-cbc");
}

planning::MipSolver cbc_solver(const std::string& named) {
  return [named](const Mip& mip, const MipWish& wish) -> Result<MipAnswer> {
    const auto program = find_cbc(named);
    if (!program) return tl::unexpected(program.error());
    return run(*program, mip, wish);
  };
}

}  // namespace ullage::solver
