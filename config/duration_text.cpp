#include "config/duration_text.hpp"

#include <string_view>

namespace standfast {

std::string duration_text(Duration duration) {
  struct Unit { Duration length; std::string_view name; };
  constexpr Unit units[] = {{hours(24), " d"}, {hours(1), " h"}, {minutes(1), " min"}, {seconds(1), " s"},
                            {milliseconds(1), " ms"}, {microseconds(1), " us"}};
  if (duration.ns == 0) return "0 s";
  for (const Unit& unit : units) {
    if (duration.ns % unit.length.ns == 0) return std::to_string(duration.ns / unit.length.ns) + std::string{unit.name};
  }
  return std::to_string(duration.ns) + " ns";
}

}  // namespace standfast
