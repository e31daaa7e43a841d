// Any text as a quantity of any dimension: refused with a code, or a number within the range in which numbers are compared.
#include <string_view>

#include "config/unit_text.hpp"

using namespace standfast;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 1) return 0;
  const Dimension wanted{static_cast<Base>(data[0] % base_count), static_cast<Per>(data[0] / base_count % 3)};
  const std::string_view text{reinterpret_cast<const char*>(data) + 1, size - 1};
  const auto amount = parse_amount(text, wanted);
  if (amount) {
    ENSURE(amount->dimension == wanted);
    const std::int64_t steps = on_grid(*amount);
    ENSURE(steps > -INT64_MAX && steps < INT64_MAX);
  } else {
    ENSURE(amount.error().code.starts_with("E-"));
  }
  if (const auto duration = parse_duration(text)) ENSURE(duration->ns >= 0);
  if (const auto number = parse_number(text)) ENSURE(*number - *number == 0.0);
  return 0;
}
