#include "server/zip.h"

#include <boost/crc.hpp>
#include <cstdint>
#include <filesystem>
#include <fstream>

namespace ullage::server {
namespace {

void put(std::string& out, std::uint64_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out += static_cast<char>(value >> (8 * i) & 0xff);
}

struct Entry {
  std::string name;
  std::uint32_t crc = 0;
  std::uint64_t size = 0, at = 0;

  // What local header and central directory have in common: version, flags (UTF-8), stored, 1980-01-01, sizes.
  std::string middle() const {
    std::string out;
    put(out, 20, 2);
    put(out, 1 << 11, 2);
    put(out, 0, 2);
    put(out, 0, 2);
    put(out, 33, 2);
    put(out, crc, 4);
    put(out, size, 4);
    put(out, size, 4);
    put(out, name.size(), 2);
    put(out, 0, 2);
    return out;
  }
};

}  // namespace

Result<void> write_zip(const std::string& archive, const std::string& folder, const std::vector<std::string>& files) {
  std::ofstream out(archive, std::ios::binary);
  std::vector<Entry> entries;
  std::uint64_t at = 0;
  std::string buffer(1 << 16, '\0');
  for (const std::string& name : files) {
    const std::string path = folder + "/" + name;
    Entry entry;
    entry.name = name;
    entry.at = at;
    boost::crc_32_type crc;
    {
      std::ifstream in(path, std::ios::binary);
      while (in.read(buffer.data(), static_cast<std::streamsize>(buffer.size())) || in.gcount() > 0) {
        crc.process_bytes(buffer.data(), static_cast<std::size_t>(in.gcount()));
        entry.size += static_cast<std::uint64_t>(in.gcount());
      }
    }
    entry.crc = crc.checksum();
    if (at + entry.size > 0xf0000000u)
      return fail(Code::invalid_input, "the export is larger than 4 GB: use ullage export");
    std::string head = "PK\3\4" + entry.middle() + name;
    out << head;
    std::ifstream in(path, std::ios::binary);
    if (entry.size > 0) out << in.rdbuf();
    at += head.size() + entry.size;
    entries.push_back(std::move(entry));
  }
  std::string directory;
  for (const Entry& entry : entries) {
    directory += "PK\1\2";
    put(directory, 20, 2);
    directory += entry.middle();
    put(directory, 0, 2);
    put(directory, 0, 2);
    put(directory, 0, 2);
    put(directory, 0, 4);
    put(directory, entry.at, 4);
    directory += entry.name;
  }
  std::string end = "PK\5\6";
  put(end, 0, 4);
  put(end, entries.size(), 2);
  put(end, entries.size(), 2);
  put(end, directory.size(), 4);
  put(end, at, 4);
  put(end, 0, 2);
  out << directory << end;
  out.close();
  if (!out) return fail(Code::unavailable, "the archive cannot be written (disk full, or no permission)");
  return {};
}

}  // namespace ullage::server
