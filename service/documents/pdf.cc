#include "service/documents/pdf.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>

extern char** environ;

namespace ullage::documents {
namespace {

namespace fs = std::filesystem;

constexpr int kNotInstalled = 7;  // exit code of the script below
constexpr int kFailed = 8;

// Reads lines "page TAB file" from the list named on its command line; writes "." for each file done.
constexpr const char* kScript = R"py(
import sys
try:
    import weasyprint
except ImportError:
    sys.exit(7)
import logging
logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
logging.getLogger("fontTools").setLevel(logging.CRITICAL)
from weasyprint.text.fonts import FontConfiguration
def nothing(url, *more, **named):
    raise ValueError("nothing is fetched: " + url)
fonts = FontConfiguration()
for line in open(sys.argv[1], encoding="utf-8"):
    page, file = line.rstrip("\n").split("\t")
    try:
        with open(page, encoding="utf-8") as text:
            html = weasyprint.HTML(string=text.read(), url_fetcher=nothing)
        html.write_pdf(file, font_config=fonts, variant="pdf/ua-1")
    except Exception as problem:
        sys.stderr.write(str(problem).replace("\n", " ")[:300])
        sys.exit(8)
    sys.stdout.write(".")
    sys.stdout.flush()
)py";

std::string system_reason() { return std::strerror(errno); }

// A folder of our own for pages and lists, gone at the end.
class WorkFolder {
 public:
  WorkFolder() {
    std::string name = (fs::temp_directory_path() / "ullage-pages-XXXXXX").string();
    if (::mkdtemp(name.data()) != nullptr) path_ = name;
  }
  ~WorkFolder() {
    std::error_code ignored;
    if (!path_.empty()) fs::remove_all(path_, ignored);
  }
  WorkFolder(const WorkFolder&) = delete;
  WorkFolder& operator=(const WorkFolder&) = delete;
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

struct Child {
  pid_t id = -1;
  int out = -1;
  std::string errors;  // file
  std::vector<std::size_t> jobs;
  std::size_t done = 0;
};

Result<void> start(Child& child, const PdfOptions& options, const std::string& list) {
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) return fail(Code::unavailable, "no pipe could be made (" + system_reason() + ")");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, ends[1], 1);
  posix_spawn_file_actions_addopen(&actions, 2, child.errors.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  std::string script = kScript, interpreter = options.interpreter, isolated = "-I", command = "-c", argument = list;
  char* const arguments[] = {interpreter.data(), isolated.data(), command.data(),
                             script.data(),      argument.data(), nullptr};
  const int problem = ::posix_spawnp(&child.id, options.interpreter.c_str(), &actions, nullptr, arguments, environ);
  posix_spawn_file_actions_destroy(&actions);
  ::close(ends[1]);
  if (problem != 0) {
    ::close(ends[0]);
    child.id = -1;
    return fail(Code::unavailable, "PDF needs Debian's package weasyprint, which runs with " + options.interpreter +
                                       " (" + std::strerror(problem) +
                                       "): apt-get install weasyprint, or write HTML instead");
  }
  child.out = ends[0];
  return {};
}

int wait_for(pid_t id) {
  int status = 0;
  while (::waitpid(id, &status, 0) < 0) {
    if (errno != EINTR) return -1;
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

std::string first_line_of(const std::string& file) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  return line;
}

}  // namespace

Result<void> write_whole_file(const std::string& path, std::string_view bytes) {
  const fs::path place(path);
  std::error_code problem;
  const fs::path folder = place.has_parent_path() ? place.parent_path() : fs::path(".");
  if (!fs::is_directory(folder, problem)) return fail(Code::not_found, "no folder " + folder.string());
  const std::string part = path + "." + std::to_string(::getpid()) + ".part";
  std::ofstream out(part, std::ios::binary);
  out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  out.close();
  bool good = static_cast<bool>(out);
  if (good) {
    fs::rename(part, path, problem);
    good = !problem;
  }
  if (good) return {};
  fs::remove(part, problem);
  return fail(Code::unavailable, path + " cannot be written (disk full, or no permission)");
}

Result<void> write_pdfs(const std::vector<PdfJob>& jobs, const PdfOptions& options) {
  if (jobs.empty()) return {};
  const WorkFolder work;
  if (work.path().empty())
    return fail(Code::unavailable, "no temporary folder could be made (" + system_reason() + ")");
  for (const PdfJob& job : jobs) {
    const fs::path place(job.file);
    std::error_code problem;
    const fs::path folder = place.has_parent_path() ? place.parent_path() : fs::path(".");
    if (!fs::is_directory(folder, problem)) return fail(Code::not_found, "no folder " + folder.string());
  }
  const std::size_t workers =
      std::min<std::size_t>(jobs.size(), static_cast<std::size_t>(std::max(options.workers, 1)));
  std::vector<Child> children(workers);
  const auto made = [&](std::size_t job) { return (work.path() / (std::to_string(job) + ".pdf")).string(); };
  for (std::size_t job = 0; job < jobs.size(); ++job) {
    const std::string page = (work.path() / (std::to_string(job) + ".html")).string();
    std::ofstream out(page, std::ios::binary);
    out << jobs[job].html;
    out.close();
    if (!out) return fail(Code::unavailable, page + " cannot be written (disk full?)");
    children[job % workers].jobs.push_back(job);
  }
  Result<void> result;
  for (std::size_t i = 0; i < workers && result; ++i) {
    Child& child = children[i];
    const std::string list = (work.path() / ("list" + std::to_string(i))).string();
    std::ofstream out(list, std::ios::binary);
    for (const std::size_t job : child.jobs)
      out << (work.path() / (std::to_string(job) + ".html")).string() << '\t' << made(job) << '\n';
    out.close();
    child.errors = (work.path() / ("errors" + std::to_string(i))).string();
    result = start(child, options, list);
  }
  std::size_t done = 0;
  const auto open_children = [&] {
    return std::count_if(children.begin(), children.end(), [](const Child& c) { return c.out >= 0; });
  };
  while (result && open_children() > 0) {
    std::vector<pollfd> waiting;
    for (const Child& child : children) {
      if (child.out >= 0) waiting.push_back({child.out, POLLIN, 0});
    }
    ::poll(waiting.data(), waiting.size(), 200);
    for (Child& child : children) {
      const auto at = std::find_if(waiting.begin(), waiting.end(), [&](const pollfd& p) { return p.fd == child.out; });
      if (child.out < 0 || at == waiting.end() || at->revents == 0) continue;
      char marks[256];
      const ssize_t count = ::read(child.out, marks, sizeof marks);
      if (count < 0 && errno == EINTR) continue;
      if (count <= 0) {
        ::close(child.out);
        child.out = -1;
        const int code = wait_for(child.id);
        child.id = -1;
        if (code == kNotInstalled) {
          result = fail(Code::unavailable,
                        "PDF needs Debian's package weasyprint, which is not installed: apt-get install weasyprint, or "
                        "write HTML instead");
        } else if (code != 0 || child.done < child.jobs.size()) {
          const std::string& file = jobs[child.jobs[std::min(child.done, child.jobs.size() - 1)]].file;
          const std::string why =
              code == kFailed ? first_line_of(child.errors) : "it ended with code " + std::to_string(code);
          result = fail(Code::unavailable, file + ": weasyprint could not make it: " + why);
        }
        continue;
      }
      for (ssize_t i = 0; i < count && child.done < child.jobs.size(); ++i) {
        const std::size_t job = child.jobs[child.done++];
        std::ifstream in(made(job), std::ios::binary);
        std::string bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
        if (auto put = write_whole_file(jobs[job].file, bytes); !put && result) result = put;
        std::error_code ignored;
        fs::remove(made(job), ignored);
        ++done;
      }
    }
    if (result && options.progress && !options.progress(done, jobs.size())) result = fail(Code::cancelled, "stopped");
  }
  for (Child& child : children) {
    if (child.out >= 0) ::close(child.out);
    if (child.id >= 0) {
      ::kill(child.id, SIGKILL);
      wait_for(child.id);
    }
  }
  return result;
}

}  // namespace ullage::documents
