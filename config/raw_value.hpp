// From the words of an answer to a plain number: type, word order and byte order as the rig states them. Pure.
#pragma once

#include <cstdint>
#include <span>

#include "config/result.hpp"
#include "config/rig.hpp"

namespace standfast {

enum class RawFault : std::uint8_t {
  wrong_count,   // not words_of(type) words
  not_a_number,  // float: NaN
  infinite,      // float: an infinity
  denormal,      // float: below the smallest normal number and not zero; in practice words in the wrong order
  too_large,     // 64-bit integer beyond 2^53 in magnitude: there neighbouring counts are no longer told apart
};

// The number is finite and exact: no accepted bit pattern is rounded. `words` are as the wire's table has them, the first
// register first; `word_order` says which end of a number of several words comes first, `byte_order` little means that the
// two bytes inside each word are swapped. With the bytes of a 32-bit number called A (most significant) to D, big/big
// reads A B C D, word little C D A B, byte little B A D C, both little D C B A.
// The negative zero of a float reads as -0.0, which compares equal to 0.
Result<double, RawFault> raw_value(std::span<const std::uint16_t> words, RawType type, Order word_order,
                                   Order byte_order);

}  // namespace standfast
