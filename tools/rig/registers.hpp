// One table of one unit: registers (or bits, each 0 or 1) at stated stretches of addresses. What lies outside them does
// not exist, and asking for it is an error of the one who asks.
#pragma once

#include <cstdint>
#include <map>
#include <vector>

#include "config/ensure.hpp"

namespace standfast::rig {

class Registers {
 public:
  // Makes `count` addresses from `start` exist, with 0 in them where nothing was before.
  void cover(int start, int count) {
    for (int n = 0; n < count; ++n) words_.try_emplace(start + n, std::uint16_t{0});
  }
  bool has(int start, int count) const {
    for (int n = 0; n < count; ++n) {
      if (!words_.contains(start + n)) return false;
    }
    return true;
  }
  std::vector<std::uint16_t> read(int start, int count) const {
    std::vector<std::uint16_t> out;
    for (int n = 0; n < count; ++n) out.push_back(at(start + n));
    return out;
  }
  void add(const Registers& others) { words_.insert(others.words_.begin(), others.words_.end()); }
  std::uint16_t at(int address) const {
    const auto found = words_.find(address);
    ENSURE(found != words_.end());
    return found->second;
  }
  void set(int address, std::uint16_t value) { words_[address] = value; }

 private:
  std::map<int, std::uint16_t> words_;
};

}  // namespace standfast::rig
