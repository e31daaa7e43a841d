// A first-in-first-out queue with a stated bound that says no when it is full, so that the caller must do something about
// it. Not locked: whoever shares one between threads owns the lock. What room it once needed it keeps.
#pragma once

#include <algorithm>
#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

namespace standfast {

template <class T>
class BoundedQueue {
 public:
  explicit BoundedQueue(std::size_t most) : most_{most} {}

  // False: full; `item` was not taken and is unchanged.
  [[nodiscard]] bool push(T&& item) {
    if (size_ >= most_) return false;
    if (size_ == ring_.size()) grow();
    ring_[(first_ + size_) % ring_.size()] = std::move(item);
    ++size_;
    return true;
  }
  std::optional<T> pop() {
    if (size_ == 0) return std::nullopt;
    std::optional<T> first = std::exchange(ring_[first_], std::nullopt);
    first_ = (first_ + 1) % ring_.size();
    --size_;
    return first;
  }
  bool empty() const { return size_ == 0; }
  std::size_t size() const { return size_; }
  void clear() {
    while (pop()) {}
  }

 private:
  void grow() {
    std::vector<std::optional<T>> wider(std::min(most_, std::max<std::size_t>(8, 2 * ring_.size())));
    for (std::size_t i = 0; i < size_; ++i) wider[i] = std::move(ring_[(first_ + i) % ring_.size()]);
    ring_ = std::move(wider);
    first_ = 0;
  }

  std::size_t most_;
  std::vector<std::optional<T>> ring_;  // From `first_` on, round its end, `size_` items.
  std::size_t first_{0}, size_{0};
};

}  // namespace standfast
