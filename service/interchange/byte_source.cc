#include "service/interchange/byte_source.h"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <system_error>

namespace ullage::interchange {

Result<std::size_t> StringSource::read(char* buffer, std::size_t size) {
  const std::size_t count = std::min({size, chunk_, bytes_.size() - at_});
  if (count > 0) std::memcpy(buffer, bytes_.data() + at_, count);
  at_ += count;
  return count;
}

Result<void> StringSource::rewind() {
  at_ = 0;
  return {};
}

Result<FileSource> FileSource::open(const std::string& path) {
  std::error_code error;
  if (!std::filesystem::exists(path, error)) return fail(Code::not_found, "there is no file " + path);
  if (std::filesystem::is_directory(path, error)) {
    return fail(Code::invalid_input, path + " is a folder; a file was expected");
  }
  FileSource source;
  source.path_ = path;
  source.file_.reset(std::fopen(path.c_str(), "rb"));
  if (!source.file_) return fail(Code::unavailable, "cannot open " + path + ": " + std::strerror(errno));
  const auto size = std::filesystem::file_size(path, error);
  source.total_ = error ? 0 : size;
  return source;
}

Result<std::size_t> FileSource::read(char* buffer, std::size_t size) {
  const std::size_t count = std::fread(buffer, 1, size, file_.get());
  if (count == 0 && std::ferror(file_.get())) {
    return fail(Code::unavailable, "cannot read " + path_ + ": " + std::strerror(errno));
  }
  return count;
}

Result<void> FileSource::rewind() {
  if (std::fseek(file_.get(), 0, SEEK_SET) != 0) {
    return fail(Code::unavailable, path_ + " cannot be read a second time: save it as a file first");
  }
  return {};
}

}  // namespace ullage::interchange
