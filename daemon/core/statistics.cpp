#include "daemon/core/statistics.hpp"

namespace standfast {

void Spread::add(double value) {
  ++count;
  const double from_old = value - mean;
  mean += from_old / static_cast<double>(count);
  squares += from_old * (value - mean);
}

double Spread::deviation() const {
  return count < 2 ? 0.0 : std::sqrt(squares / static_cast<double>(count - 1));
}

double Spread::standard_error() const {
  return count < 2 ? 0.0 : deviation() / std::sqrt(static_cast<double>(count));
}

}  // namespace standfast
