#include "service/documents/pdf.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <deque>
#include <filesystem>
#include <fstream>

extern char** environ;

namespace ullage::documents {
namespace {

namespace fs = std::filesystem;

constexpr int kNotInstalled = 7;  // exit code of the script below
constexpr int kFailed = 8;

// Reads lines "page TAB file"; writes "." for each file done. The collector of cycles is kept from walking through the
// modules and the page in hand again and again.
constexpr const char* kScript = R"py(
import gc, sys
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
gc.collect()
gc.freeze()
gc.set_threshold(200000, 5, 5)
for line in iter(sys.stdin.readline, ""):
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
  int line = -1;                 // both ways: documents to make, a mark for each made
  std::string errors;            // file
  std::deque<std::size_t> jobs;  // handed over and not made yet
};

constexpr std::size_t kAhead = 2;  // documents a process is given: the one in hand and the next

Result<void> start(Child& child, const PdfOptions& options) {
  int ends[2];
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0)
    return fail(Code::unavailable, "no pipe could be made (" + system_reason() + ")");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[1], 0);
  posix_spawn_file_actions_adddup2(&actions, ends[1], 1);
  posix_spawn_file_actions_addopen(&actions, 2, child.errors.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  std::string script = kScript, interpreter = options.interpreter, isolated = "-I", command = "-c";
  char* const arguments[] = {interpreter.data(), isolated.data(), command.data(), script.data(), nullptr};
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
  child.line = ends[0];
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

struct PdfPress::Inside {
  explicit Inside(PdfOptions wanted) : options(std::move(wanted)) {}
  ~Inside() {
    for (Child& child : children) end(child);
  }

  static void end(Child& child) {
    if (child.line >= 0) ::close(child.line);
    if (child.id >= 0) {
      ::kill(child.id, SIGKILL);
      wait_for(child.id);
    }
    child.line = child.id = -1;
  }

  std::string page(std::size_t job) const { return (work.path() / (std::to_string(job) + ".html")).string(); }
  std::string made(std::size_t job) const { return (work.path() / (std::to_string(job) + ".pdf")).string(); }

  Result<void> add_child() {
    if (work.path().empty())
      return fail(Code::unavailable, "no temporary folder could be made (" + system_reason() + ")");
    Child& child = children.emplace_back();
    child.errors = (work.path() / ("errors" + std::to_string(children.size()))).string();
    return start(child, options);
  }

  // Hands waiting documents to processes that have room.
  void hand_out() {
    while (!waiting.empty() && state) {
      Child* least = nullptr;
      for (Child& child : children) {
        if (child.line >= 0 && (least == nullptr || child.jobs.size() < least->jobs.size())) least = &child;
      }
      const bool more = children.size() < static_cast<std::size_t>(std::max(options.workers, 1));
      if ((least == nullptr || !least->jobs.empty()) && more) {
        state = add_child();
        continue;
      }
      if (least == nullptr || least->jobs.size() >= kAhead) return;
      const std::size_t job = waiting.front();
      waiting.pop_front();
      least->jobs.push_back(job);
      const std::string text = page(job) + '\t' + made(job) + '\n';
      // A process that is gone is found by reading from it.
      if (::send(least->line, text.data(), text.size(), MSG_NOSIGNAL) < 0 && errno != EPIPE && errno != ECONNRESET)
        state = fail(Code::unavailable, "no page could be handed over (" + system_reason() + ")");
    }
  }

  void take_in(int wait_ms) {
    std::vector<pollfd> lines;
    for (const Child& child : children) lines.push_back({child.line, POLLIN, 0});
    if (::poll(lines.data(), lines.size(), wait_ms) <= 0) return;
    for (std::size_t i = 0; i < children.size() && state; ++i) {
      Child& child = children[i];
      if (child.line < 0 || lines[i].revents == 0) continue;
      char marks[256];
      const ssize_t count = ::read(child.line, marks, sizeof marks);
      if (count < 0 && errno == EINTR) continue;
      if (count <= 0) return ended(child);
      for (ssize_t mark = 0; mark < count && !child.jobs.empty(); ++mark) {
        const std::size_t job = child.jobs.front();
        child.jobs.pop_front();
        std::ifstream in(made(job), std::ios::binary);
        const std::string bytes((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
        if (auto put = write_whole_file(files[job], bytes); !put && state) state = put;
        std::error_code ignored;
        fs::remove(made(job), ignored);
        fs::remove(page(job), ignored);
        ++done;
      }
    }
  }

  // A process ends by itself only when something went wrong.
  void ended(Child& child) {
    ::close(child.line);
    const int code = wait_for(child.id);
    child.line = child.id = -1;
    if (code == kNotInstalled) {
      state =
          fail(Code::unavailable,
               "PDF needs Debian's package weasyprint, which is not installed: apt-get install weasyprint, or write "
               "HTML instead");
      return;
    }
    const std::string why =
        code == kFailed ? first_line_of(child.errors) : "it ended with code " + std::to_string(code);
    state = fail(Code::unavailable,
                 (child.jobs.empty() ? "" : files[child.jobs.front()] + ": ") + "weasyprint could not make it: " + why);
  }

  PdfOptions options;
  WorkFolder work;
  std::vector<Child> children;
  std::vector<std::string> files;
  std::deque<std::size_t> waiting;
  std::size_t done = 0;
  Result<void> state;
};

PdfPress::PdfPress(PdfOptions options) : inside_(std::make_unique<Inside>(std::move(options))) {}
PdfPress::~PdfPress() = default;

std::size_t PdfPress::done() const { return inside_->done; }

Result<void> PdfPress::warm() {
  if (inside_->state && inside_->children.empty()) inside_->state = inside_->add_child();
  return inside_->state;
}

Result<void> PdfPress::put(std::string_view html, const std::string& file) {
  if (!inside_->state) return inside_->state;
  const fs::path place(file);
  const fs::path folder = place.has_parent_path() ? place.parent_path() : fs::path(".");
  std::error_code problem;
  if (!fs::is_directory(folder, problem)) {
    inside_->state = fail(Code::not_found, "no folder " + folder.string());
    return inside_->state;
  }
  if (auto started = warm(); !started) return started;
  const std::size_t job = inside_->files.size();
  inside_->files.push_back(file);
  std::ofstream out(inside_->page(job), std::ios::binary);
  out.write(html.data(), static_cast<std::streamsize>(html.size()));
  out.close();
  if (!out) inside_->state = fail(Code::unavailable, inside_->page(job) + " cannot be written (disk full?)");
  inside_->waiting.push_back(job);
  inside_->take_in(0);
  inside_->hand_out();
  return inside_->state;
}

Result<void> PdfPress::finish(const std::function<bool(std::size_t done, std::size_t total)>& progress) {
  while (inside_->state && inside_->done < inside_->files.size()) {
    inside_->hand_out();
    if (!inside_->state) break;
    inside_->take_in(200);
    if (progress && !progress(inside_->done, inside_->files.size())) {
      inside_->state = fail(Code::cancelled, "stopped");
      break;
    }
  }
  return inside_->state;
}

Result<void> write_pdfs(const std::vector<PdfJob>& jobs, const PdfOptions& options,
                        const std::function<bool(std::size_t done, std::size_t total)>& progress) {
  PdfPress press(options);
  for (const PdfJob& job : jobs) {
    if (auto put = press.put(job.html, job.file); !put) return put;
  }
  return press.finish(progress);
}

}  // namespace ullage::documents
