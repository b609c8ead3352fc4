// So many at once and no more: what takes long leaves workers free for what does not.
#pragma once

#include <atomic>

namespace ullage::server {

class Turns {
 public:
  explicit Turns(int most) : most_(most) {}

  // Held while the work lasts; false when there are as many already.
  class Turn {
   public:
    explicit Turn(Turns& of) : of_(of), got_(++of.running_ <= of.most_) {}
    ~Turn() { --of_.running_; }
    Turn(const Turn&) = delete;
    Turn& operator=(const Turn&) = delete;
    explicit operator bool() const { return got_; }

   private:
    Turns& of_;
    const bool got_;
  };
  Turn take() { return Turn(*this); }

 private:
  const int most_;
  std::atomic<int> running_ = 0;
};

}  // namespace ullage::server
