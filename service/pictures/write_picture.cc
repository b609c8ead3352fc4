#include "service/pictures/write_picture.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <memory>
#include <vector>

#include "engine/drawing/svg.h"

extern char** environ;

namespace ullage::pictures {
namespace {

constexpr auto kLongestConversion = std::chrono::seconds(60);

struct Close {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, Close>;

std::string system_reason() { return std::strerror(errno); }

// The whole content of an open temporary file.
std::string content(std::FILE* file) {
  std::string bytes;
  std::rewind(file);
  char buffer[1 << 16];
  for (std::size_t n; (n = std::fread(buffer, 1, sizeof buffer, file)) > 0;) bytes.append(buffer, n);
  return bytes;
}

// Waits for the child; its exit status, or -1 when it was stopped after too long.
int wait_for(pid_t child) {
  const auto end = std::chrono::steady_clock::now() + kLongestConversion;
  for (;;) {
    int status = 0;
    const pid_t done = ::waitpid(child, &status, WNOHANG);
    if (done == child) return WIFEXITED(status) ? WEXITSTATUS(status) : 1;
    if (done < 0 && errno != EINTR) return 1;
    if (std::chrono::steady_clock::now() > end) {
      ::kill(child, SIGKILL);
      while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
      }
      return -1;
    }
    ::poll(nullptr, 0, 5);
  }
}

Result<void> put_file(std::string_view bytes, const std::string& path) {
  const std::filesystem::path place(path);
  const std::filesystem::path folder = place.has_parent_path() ? place.parent_path() : std::filesystem::path(".");
  std::error_code error;
  if (!std::filesystem::is_directory(folder, error)) return fail(Code::not_found, "no folder " + folder.string());
  const std::string name = path + "." + std::to_string(::getpid()) + ".part";
  const int file = ::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (file < 0) return fail(Code::unavailable, path + ": cannot be written (" + system_reason() + ")");
  std::size_t at = 0;
  bool good = true;
  while (good && at < bytes.size()) {
    const ssize_t n = ::write(file, bytes.data() + at, bytes.size() - at);
    if (n < 0 && errno == EINTR) continue;
    good = n > 0;
    if (good) at += static_cast<std::size_t>(n);
  }
  good = good && ::fsync(file) == 0;
  std::string reason = good ? "" : system_reason();
  if (::close(file) != 0 && good) {
    good = false;
    reason = system_reason();
  }
  if (good && std::rename(name.c_str(), path.c_str()) != 0) {
    good = false;
    reason = system_reason();
  }
  if (good) return {};
  ::unlink(name.c_str());
  return fail(Code::unavailable, path + ": cannot be written (" + reason + ")");
}

}  // namespace

Result<Format> format_of(const std::string& path) {
  std::string ending = std::filesystem::path(path).extension().string();
  for (char& c : ending) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  if (ending == ".svg") return Format::svg;
  if (ending == ".png") return Format::png;
  if (ending == ".pdf") return Format::pdf;
  return fail(Code::invalid_input, path + ": a picture's name was expected to end in .svg, .png or .pdf");
}

Result<std::string> convert_svg(std::string_view svg, Format format, const PictureOptions& options) {
  if (format == Format::svg) return std::string(svg);
  const File in(std::tmpfile()), out(std::tmpfile()), err(std::tmpfile());
  if (!in || !out || !err) return fail(Code::unavailable, "no temporary file could be made (" + system_reason() + ")");
  if (std::fwrite(svg.data(), 1, svg.size(), in.get()) != svg.size() || std::fflush(in.get()) != 0)
    return fail(Code::unavailable, "a temporary file could not be written (" + system_reason() + ")");
  std::rewind(in.get());

  std::vector<std::string> words = {options.converter, format == Format::png ? "--format=png" : "--format=pdf"};
  if (format == Format::png) {
    // Sizes are in millimetres: dots per inch decide how many dots that is.
    const std::string dots = std::to_string(static_cast<int>(options.dots_per_millimetre * 25.4 + 0.5));
    words.insert(words.end(), {"--dpi-x=" + dots, "--dpi-y=" + dots});
  }
  std::vector<char*> arguments;
  for (std::string& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);

  posix_spawn_file_actions_t actions;
  ::posix_spawn_file_actions_init(&actions);
  ::posix_spawn_file_actions_adddup2(&actions, ::fileno(in.get()), 0);
  ::posix_spawn_file_actions_adddup2(&actions, ::fileno(out.get()), 1);
  ::posix_spawn_file_actions_adddup2(&actions, ::fileno(err.get()), 2);
  pid_t child = 0;
  const int started = ::posix_spawnp(&child, arguments[0], &actions, nullptr, arguments.data(), environ);
  ::posix_spawn_file_actions_destroy(&actions);
  if (started == ENOENT)
    return fail(Code::unavailable, "a PNG or PDF is made by " + options.converter +
                                       ", which is not installed: install the package librsvg2-bin, or ask for a .svg");
  if (started != 0)
    return fail(Code::unavailable, options.converter + " could not be started (" + std::strerror(started) + ")");
  const int status = wait_for(child);
  if (status == -1) return fail(Code::unavailable, options.converter + " took more than 60 s and was stopped");
  std::string bytes = content(out.get());
  if (status != 0 || bytes.empty()) {
    std::string said = content(err.get());
    said = said.substr(0, said.find('\n')).substr(0, 200);
    return fail(Code::unavailable, options.converter + " failed" + (said.empty() ? "" : ": " + said));
  }
  return bytes;
}

Result<void> write_svg(std::string_view svg, const std::string& path, const PictureOptions& options) {
  const auto format = format_of(path);
  if (!format) return tl::unexpected(format.error());
  const auto bytes = convert_svg(svg, *format, options);
  if (!bytes) return tl::unexpected(bytes.error());
  return put_file(*bytes, path);
}

Result<void> write_text(std::string_view text, const std::string& path) { return put_file(text, path); }

Result<void> write_picture(const drawing::Picture& picture, const std::string& path, const PictureOptions& options) {
  const auto format = format_of(path);
  if (!format) return tl::unexpected(format.error());
  drawing::SvgOptions how;
  how.theme = *format == Format::pdf ? drawing::Theme::print : options.theme;
  return write_svg(drawing::svg_text(picture, how), path, options);
}

}  // namespace ullage::pictures
