// A first-in-first-out queue with a stated bound that says no when it is full, so that the caller must do something about
// it. Not locked: whoever shares one between threads owns the lock.
#pragma once

#include <cstddef>
#include <deque>
#include <optional>
#include <utility>

namespace standfast {

template <class T>
class BoundedQueue {
 public:
  explicit BoundedQueue(std::size_t most) : most_{most} {}

  // False: full; `item` was not taken and is unchanged.
  [[nodiscard]] bool push(T&& item) {
    if (items_.size() >= most_) return false;
    items_.push_back(std::move(item));
    return true;
  }
  std::optional<T> pop() {
    if (items_.empty()) return std::nullopt;
    std::optional<T> first{std::move(items_.front())};
    items_.pop_front();
    return first;
  }
  bool empty() const { return items_.empty(); }
  std::size_t size() const { return items_.size(); }
  void clear() { items_.clear(); }

 private:
  std::size_t most_;
  std::deque<T> items_;
};

}  // namespace standfast
