// A set of places in a list, of channels or of limits, walked in ascending order. It takes memory when it is sized, and never
// again.
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace standfast {

class PlaceSet {
 public:
  PlaceSet() = default;
  explicit PlaceSet(std::size_t places) { begin_anew(places); }

  // Empty, with room for the places 0 to `places` - 1.
  void begin_anew(std::size_t places) {
    places_ = places;
    words_.assign((places + bits - 1) / bits, 0);
  }
  std::size_t places() const { return places_; }

  bool operator[](std::size_t place) const { return (words_[place / bits] >> (place % bits) & 1U) != 0; }
  void put(std::size_t place, bool in = true) {
    const std::uint64_t bit = std::uint64_t{1} << (place % bits);
    if (in) words_[place / bits] |= bit;
    else words_[place / bits] &= ~bit;
  }

  // `see(place)` may put or take away the place it is shown.
  template <class See>
  void for_each(See see) const {
    for (std::size_t w = 0; w < words_.size(); ++w) see_word(w, words_[w], see);
  }

  template <class Is>
  bool any_of(Is is) const {
    for (std::size_t w = 0; w < words_.size(); ++w)
      for (std::uint64_t left = words_[w]; left != 0; left &= left - 1)
        if (is(w * bits + static_cast<std::size_t>(std::countr_zero(left)))) return true;
    return false;
  }

  // Those in either of two sets of the same places.
  template <class See>
  friend void for_each_in_either(const PlaceSet& one, const PlaceSet& other, See see) {
    for (std::size_t w = 0; w < one.words_.size(); ++w) see_word(w, one.words_[w] | other.words_[w], see);
  }
  friend bool operator==(const PlaceSet&, const PlaceSet&) = default;

 private:
  static constexpr std::size_t bits = 64;

  template <class See>
  static void see_word(std::size_t word, std::uint64_t left, See& see) {
    for (; left != 0; left &= left - 1) see(word * bits + static_cast<std::size_t>(std::countr_zero(left)));
  }

  std::size_t places_{0};
  std::vector<std::uint64_t> words_;
};

}  // namespace standfast
