// A value or the reason why there is none; it cannot be ignored. (std::expected is not in C++20.)
#pragma once

#include <utility>
#include <variant>

#include "config/ensure.hpp"

namespace standfast {

template <class E>
struct Failure {
  E error;
};
template <class E>
Failure(E) -> Failure<E>;

template <class T, class E>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_{std::in_place_index<0>, std::move(value)} {}
  Result(Failure<E> failure) : held_{std::in_place_index<1>, std::move(failure.error)} {}

  explicit operator bool() const { return held_.index() == 0; }
  T& value() { ENSURE(*this); return std::get<0>(held_); }
  const T& value() const { ENSURE(*this); return std::get<0>(held_); }
  const E& error() const { ENSURE(!*this); return std::get<1>(held_); }
  T& operator*() { return value(); }
  const T& operator*() const { return value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }

 private:
  std::variant<T, E> held_;
};

}  // namespace standfast
