#include "config/number_text.hpp"

#include <array>
#include <charconv>
#include <system_error>

#include "config/ensure.hpp"

namespace standfast {

std::string number_text(double value) {
  ENSURE(value - value == 0.0);
  std::array<char, 32> buffer;  // The longest is -2.2250738585072014e-308: 24 characters.
  const auto written = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  ENSURE(written.ec == std::errc{});
  return {buffer.data(), written.ptr};
}

std::optional<double> number_from_text(std::string_view text) {
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = read.ec == std::errc{} && read.ptr == text.data() + text.size();
  const bool finite = value - value == 0.0;
  return whole && finite ? std::optional{value} : std::nullopt;
}

}  // namespace standfast
