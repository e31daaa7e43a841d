// "Did you mean?": the known word that a mistyped one is nearest to.
#pragma once

#include <span>
#include <string_view>

namespace standfast {

// The word of `known` with the fewest slips (a letter wrong, missing, too many, or two swapped; a wrong case counts
// half), the earliest of equals. Empty where more than a third of the letters would have to change, and for words
// above 64 bytes: a far-fetched hint misleads, and a hostile file shall not cost time.
std::string_view nearest_word(std::string_view word, std::span<const std::string_view> known);

}  // namespace standfast
