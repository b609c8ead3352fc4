// Where bytes come from: a file, a string, or anything else that can be read from start to end twice.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "engine/base/result.h"

namespace ullage::interchange {

class ByteSource {
 public:
  virtual ~ByteSource() = default;
  // Puts up to `size` bytes into `buffer`; the number put there, 0 at the end. Error: unavailable.
  virtual Result<std::size_t> read(char* buffer, std::size_t size) = 0;
  // Back to the first byte. Error: unavailable.
  virtual Result<void> rewind() = 0;
  // Number of bytes in all; 0 when unknown.
  virtual std::uint64_t total() const = 0;
};

// Bytes held by someone else, who must keep them alive. `chunk` limits how many come at a time.
class StringSource : public ByteSource {
 public:
  explicit StringSource(std::string_view bytes, std::size_t chunk = static_cast<std::size_t>(-1))
      : bytes_(bytes), chunk_(chunk) {}
  Result<std::size_t> read(char* buffer, std::size_t size) override;
  Result<void> rewind() override;
  std::uint64_t total() const override { return bytes_.size(); }

 private:
  std::string_view bytes_;
  std::size_t chunk_;
  std::size_t at_ = 0;
};

// A file on disk, read piece by piece. One thread at a time.
class FileSource : public ByteSource {
 public:
  // Error: not_found when there is no such file, unavailable when it cannot be read.
  static Result<FileSource> open(const std::string& path);
  Result<std::size_t> read(char* buffer, std::size_t size) override;
  Result<void> rewind() override;
  std::uint64_t total() const override { return total_; }

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  std::string path_;
  std::unique_ptr<std::FILE, Close> file_;
  std::uint64_t total_ = 0;
};

// Told from time to time how many bytes of how many are done; false stops the work (Code::cancelled).
using Progress = std::function<bool(std::uint64_t done, std::uint64_t total)>;

}  // namespace ullage::interchange
