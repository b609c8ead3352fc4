// Tables on their way in: sent once, then looked at and read as often as it takes until they are right. They lie in the
// program's work folder, are told to nobody else, and go when they are let go, when others need the room, or with the
// program.
#pragma once

#include <cstdint>
#include <list>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

namespace ullage::server {

struct Table {
  std::string id;
  std::string name;                         // of the file, as its owner calls it
  std::shared_ptr<const std::string> file;  // removed with the last owner
  std::uint64_t bytes = 0;
};

class Tables {
 public:
  static constexpr std::size_t kMost = 12;                               // the one used longest ago goes first
  static constexpr std::uint64_t kMostBytes = std::uint64_t{512} << 20;  // of all of them

  Table add(std::string name, std::shared_ptr<const std::string> file, std::uint64_t bytes);
  // Counts as a use.
  std::optional<Table> find(const std::string& id);
  bool remove(const std::string& id);

 private:
  std::mutex mutex_;
  std::list<Table> kept_;  // the one used last is in front
  std::uint64_t last_ = 0;
};

}  // namespace ullage::server
