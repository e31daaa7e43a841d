// Movement per decade of time since the load was reached: s(t) = s1 + C log10(t / t1). m per decade.
#pragma once

#include <optional>
#include <vector>

#include "daemon/core/quantity/rate.hpp"

namespace standfast {

// The readings of one gauge since `origin`, from one minute on (the pumping has died down by then), one for each fortieth
// of the time gone by: even in the logarithm, and never more than a few hundred.
struct CreepWindow {
  std::optional<Instant> origin;
  std::vector<Sample> samples;

  // `reached`: when the load stood in the step's band; another instant starts anew, none empties it.
  void add(const Reading& reading, std::optional<Instant> reached);
  // C with its standard error: at least five samples whose last is at twice the time of the first. A gap longer than half
  // the time gone by empties it.
  Judged per_decade(Dimension dimension) const;

  template <class A>
  void visit(A& a) {
    a("origin", origin);
    a("samples", samples);
  }
};

}  // namespace standfast
