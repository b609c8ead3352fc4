#include "service/interchange/zip_parts.h"

#include <zip.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <vector>

#include "service/interchange/fault.h"

namespace ullage::interchange {

std::string name_in_quotes(std::string_view name) { return in_quotes(name, 100); }

namespace {

class Part : public ZipPart {
 public:
  Part(zip_file_t* file, std::string name, std::uint64_t packed, std::uint64_t unpacked, std::uint64_t limit)
      : file_(file), name_(std::move(name)), packed_(packed), unpacked_(unpacked), limit_(limit) {}
  ~Part() override { zip_fclose(file_); }
  Part(const Part&) = delete;
  Part& operator=(const Part&) = delete;

  Result<std::size_t> read(char* buffer, std::size_t size) override {
    const zip_int64_t count = zip_fread(file_, buffer, size);
    if (count < 0) return fail(Code::invalid_input, "its part " + name_in_quotes(name_) + " is damaged");
    given_ += static_cast<std::uint64_t>(count);
    if (given_ > limit_) {
      return fail(Code::invalid_input, "its part " + name_in_quotes(name_) + " unpacks to more than " +
                                           std::to_string(limit_ >> 20) + " MB");
    }
    if (given_ > kFreeSwelling && given_ / kMostSwelling > packed_) {
      return fail(Code::invalid_input, "its part " + name_in_quotes(name_) + " unpacks to more than " +
                                           std::to_string(kMostSwelling) + " times its size");
    }
    return static_cast<std::size_t>(count);
  }
  std::uint64_t unpacked_size() const override { return unpacked_; }

 private:
  zip_file_t* file_;
  std::string name_;
  std::uint64_t packed_, unpacked_, limit_;
  std::uint64_t given_ = 0;
};

class Parts : public ZipParts {
 public:
  explicit Parts(zip_t* zip) : zip_(zip) {}
  ~Parts() override { zip_discard(zip_); }
  Parts(const Parts&) = delete;
  Parts& operator=(const Parts&) = delete;

  bool has(const std::string& name) const override { return zip_name_locate(zip_, name.c_str(), ZIP_FL_ENC_RAW) >= 0; }

  Result<std::unique_ptr<ZipPart>> part(const std::string& name, std::uint64_t limit) override {
    const zip_int64_t at = zip_name_locate(zip_, name.c_str(), ZIP_FL_ENC_RAW);
    if (at < 0) return fail(Code::invalid_input, "it has no part " + name_in_quotes(name));
    zip_stat_t stat;
    zip_stat_init(&stat);
    if (zip_stat_index(zip_, static_cast<zip_uint64_t>(at), 0, &stat) != 0) {
      return fail(Code::invalid_input, "its part " + name_in_quotes(name) + " is damaged");
    }
    if ((stat.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 && stat.encryption_method != ZIP_EM_NONE) {
      return fail(Code::invalid_input,
                  "its part " + name_in_quotes(name) + " is locked with a password: save it without one");
    }
    if (stat.size > limit) {
      return fail(Code::invalid_input,
                  "its part " + name_in_quotes(name) + " unpacks to more than " + std::to_string(limit >> 20) + " MB");
    }
    zip_file_t* file = zip_fopen_index(zip_, static_cast<zip_uint64_t>(at), 0);
    if (file == nullptr) return fail(Code::invalid_input, "its part " + name_in_quotes(name) + " is damaged");
    return std::make_unique<Part>(file, name, std::max<std::uint64_t>(stat.comp_size, 1), stat.size, limit);
  }

 private:
  zip_t* zip_;
};

// How many entries the end of the file announces; empty when there is no such end.
std::optional<std::int64_t> announced(std::string_view tail) {
  constexpr std::string_view kSignature("PK\5\6", 4);
  const std::size_t at = tail.rfind(kSignature);
  if (at == std::string_view::npos || tail.size() - at < 22) return std::nullopt;
  const auto byte = [&](std::size_t i) { return static_cast<std::int64_t>(static_cast<unsigned char>(tail[at + i])); };
  return byte(10) + (byte(11) << 8);
}

Result<std::unique_ptr<ZipParts>> opened(zip_t* zip) {
  if (zip == nullptr) return fail(Code::invalid_input, "it is damaged: the list of its parts cannot be read");
  if (zip_get_num_entries(zip, 0) > kMostParts) {
    zip_discard(zip);
    return fail(Code::invalid_input, "it has more than " + std::to_string(kMostParts) + " parts");
  }
  return std::make_unique<Parts>(zip);
}

Result<void> check_tail(std::string_view tail) {
  const auto count = announced(tail);
  if (!count) return fail(Code::invalid_input, "it is damaged: its end is missing");
  if (*count > kMostParts)
    return fail(Code::invalid_input, "it has more than " + std::to_string(kMostParts) + " parts");
  return {};
}

}  // namespace

Result<std::unique_ptr<ZipParts>> ZipParts::open(const std::string& path) {
  std::error_code problem;
  const std::uint64_t size = std::filesystem::file_size(path, problem);
  if (problem) return fail(Code::not_found, "no file " + path + " that can be read");
  if (size > kLargestZip) {
    return fail(Code::invalid_input, "it is larger than " + std::to_string(kLargestZip >> 20) + " MB");
  }
  std::ifstream in(path, std::ios::binary);
  const std::uint64_t tail = std::min<std::uint64_t>(size, 66000);
  in.seekg(static_cast<std::streamoff>(size - tail));
  std::string end(tail, '\0');
  in.read(end.data(), static_cast<std::streamsize>(tail));
  if (!in) return fail(Code::not_found, "no file " + path + " that can be read");
  if (const auto checked = check_tail(end); !checked) return tl::unexpected<Error>(checked.error());
  int error = 0;
  return opened(zip_open(path.c_str(), ZIP_RDONLY, &error));
}

Result<std::unique_ptr<ZipParts>> ZipParts::open_bytes(std::string_view bytes) {
  if (const auto checked = check_tail(bytes.substr(bytes.size() - std::min<std::size_t>(bytes.size(), 66000)));
      !checked) {
    return tl::unexpected<Error>(checked.error());
  }
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* source = zip_source_buffer_create(bytes.data(), bytes.size(), 0, &error);
  zip_t* zip = source == nullptr ? nullptr : zip_open_from_source(source, ZIP_RDONLY, &error);
  if (zip == nullptr && source != nullptr) zip_source_free(source);
  zip_error_fini(&error);
  return opened(zip);
}

}  // namespace ullage::interchange
