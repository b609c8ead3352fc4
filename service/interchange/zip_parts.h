// The parts of a zipped file, read one at a time within limits, so that a small file cannot swell without end.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "engine/base/result.h"

namespace ullage::interchange {

// What a zipped file may cost at most.
inline constexpr std::uint64_t kLargestZip = 512ull << 20;   // bytes on the disk
inline constexpr std::int64_t kMostParts = 5000;             // entries in it
inline constexpr std::uint64_t kLargestPart = 1ull << 30;    // bytes of one part, unpacked
inline constexpr std::uint64_t kFreeSwelling = 32ull << 20;  // bytes a part may give before its ratio counts
inline constexpr std::uint64_t kMostSwelling = 250;          // times its packed size

// A part, or what stands in one, called by its name: in quotes, for messages.
std::string name_in_quotes(std::string_view name);

// One part being read. Must not outlive its ZipParts.
class ZipPart {
 public:
  virtual ~ZipPart() = default;
  // As ByteSource::read. Error: invalid_input when it is damaged, packed with a password or beyond the limits.
  virtual Result<std::size_t> read(char* buffer, std::size_t size) = 0;
  // Packed bytes in all, for showing progress against `used`.
  virtual std::uint64_t unpacked_size() const = 0;
};

class ZipParts {
 public:
  virtual ~ZipParts() = default;
  // Error: not_found when there is no such file, invalid_input when it is no zip or beyond the limits.
  static Result<std::unique_ptr<ZipParts>> open(const std::string& path);
  // Bytes held by someone else, who must keep them alive.
  static Result<std::unique_ptr<ZipParts>> open_bytes(std::string_view bytes);

  virtual bool has(const std::string& name) const = 0;
  // `limit`: bytes it may give. Error: invalid_input when it is not there.
  virtual Result<std::unique_ptr<ZipPart>> part(const std::string& name, std::uint64_t limit = kLargestPart) = 0;
};

}  // namespace ullage::interchange
