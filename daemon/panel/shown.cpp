#include "daemon/panel/shown.hpp"

#include <algorithm>
#include <cmath>

#include "config/unit_text.hpp"
#include "daemon/core/cause.hpp"

namespace standfast {
namespace {

// The smallest step worth showing, SI: 0.1 kN, 0.1 bar, 0.01 mm, 1 mm2, 0.1 K, 0.1 s, 0.1 %, 0.01 mA, 0.1 mm/m,
// 0.1 kN/mm, 0.1 kN m. Rates show a step a minute.
constexpr double step_shown[base_count] = {100, 1e4, 1e-5, 1e-6, 0.1, 0.1, 0.1, 1e-3, 1e-5, 1e-4, 1e5, 100};
constexpr int most_decimals = 5;

int decimals(Dimension dimension, const std::string& unit) {
  if (dimension.base == Base::temperature) return 1;  // Its scales have offsets; a tenth of a degree in each.
  const double step = step_shown[static_cast<int>(dimension.base)] / (dimension.per == Per::second ? 60.0 : 1.0);
  double in_that_unit = std::fabs(in_unit({dimension, step}, unit).value_or(1));
  int places = 0;
  while (in_that_unit < 0.5 && places < most_decimals) {
    in_that_unit *= 10;
    ++places;
  }
  return places;
}

}  // namespace

std::string Shown::unit(Dimension dimension) const {
  if (rig_)
    for (const DisplayUnit& wanted : rig_->display_units)
      if (wanted.dimension == dimension) return wanted.unit;
  return std::string(default_unit(dimension));
}

int Shown::decimals_to_say(const Amount& stated) const {
  const double number = in_unit(stated, unit(stated.dimension)).value_or(0);
  double scaled = std::fabs(number), tolerance = std::fabs(number) * 1e-9;
  int places = 0;
  for (; places < most_decimals && std::fabs(scaled - std::round(scaled)) > tolerance; ++places) {
    scaled *= 10;
    tolerance *= 10;
  }
  return places;
}

int Shown::decimals_of_bound(const Amount& bound) const {
  double scaled = std::fabs(in_unit(bound, unit(bound.dimension)).value_or(0));
  int places = 0;
  for (; places < most_decimals && std::fabs(scaled - std::round(scaled)) > scaled * 0.01; ++places) scaled *= 10;
  return places;
}

std::string Shown::text(const Amount& amount, Sign sign, int least_decimals) const {
  const std::string in = unit(amount.dimension);
  const std::string text = amount_text(amount, in, std::max(least_decimals, decimals(amount.dimension, in)));
  const bool nought = text.substr(0, text.find(' ')).find_first_of("123456789") == std::string::npos;
  return sign == Sign::both && amount.si > 0 && !nought ? "+" + text : text;
}

std::string Shown::text(const Reading& reading, Sign sign, int least_decimals) const {
  if (reading.quality == Quality::bad) return "no data: " + std::string(entry_of(reading.cause).text);
  if (reading.saturated == Saturation::high) return "above its range";
  if (reading.saturated == Saturation::low) return "below its range";
  return (reading.quality == Quality::uncertain ? "~" : "") + text(reading.value, sign, least_decimals);
}

}  // namespace standfast
