// What test_sizes.py counts: its test knows how many lines each function here has. A brace in text ("{") is none.
#pragma once

namespace standfast::house {

inline int shortest() { return '{'; }

struct Example {
  int number{0}, other{0};
  explicit Example(int n) : number{n}, other(n) {
    ++other;
  }
  int three_lines() const {
    return number;
  }
  void outside();
};

inline constexpr int table[] = {1, 2, 3};

inline auto with_a_lambda(int a) {
  return [a](int b) {
    return a + b;
  };
}

inline void Example::outside() {
  if (number > 0) {
    number = 0;
  }
}

template <class T>
T of_a_template(T value) {
  return value;
}

}  // namespace standfast::house
