#include "config/nearest_word.hpp"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

using standfast::nearest_word;

namespace {
const std::vector<std::string_view> keys{"channels", "circuits", "outputs", "inputs", "jacks", "kN", "MN", "mm"};
}

TEST_CASE("a word with one slip is led back to the known one") {
  CHECK(nearest_word("chanels", keys) == "channels");
  CHECK(nearest_word("channelss", keys) == "channels");
  CHECK(nearest_word("chammels", keys) == "channels");
  CHECK(nearest_word("jakcs", keys) == "jacks");
}

TEST_CASE("a wrong case is half a slip, so the unit that only differs in case wins") {
  CHECK(nearest_word("kn", keys) == "kN");
  CHECK(nearest_word("Mm", keys) == "mm");
}

TEST_CASE("the earliest of equally near words is named") {
  const std::vector<std::string_view> known{"cat", "bat"};
  CHECK(nearest_word("hat", known) == "cat");
}

TEST_CASE("no hint is better than a far-fetched one") {
  CHECK(nearest_word("temperature", keys).empty());
  CHECK(nearest_word("x", keys).empty());
  CHECK(nearest_word("", keys).empty());
  CHECK(nearest_word("outputs", {}).empty());
  CHECK(nearest_word(std::string(65, 'm'), keys).empty());
}
