#include "daemon/panel/target_pressure.hpp"

namespace standfast {

constexpr int halvings = 60;

std::optional<Pressure> target_pressure(const Jack& jack, Force load, Direction way, Pressure against) {
  if (jack.area.si() <= 0 || load.si() < 0) return std::nullopt;
  const double wanted = load.si() + (jack.retract ? against.si() * jack.retract_area.value_or(Area{}).si() : 0);
  double low = 0, high = 1.5 * jack.rated.si() / jack.area.si();
  const auto made = [&](double pressure) { return advance_load(jack, Pressure::from_si(pressure), way).load.si(); };
  if (made(high) < wanted) return std::nullopt;
  for (int i = 0; i < halvings; ++i) {  // Load rises with pressure, on every certificate that the loader takes.
    const double middle = (low + high) / 2;
    (made(middle) < wanted ? low : high) = middle;
  }
  return Pressure::from_si(high);
}

}  // namespace standfast
