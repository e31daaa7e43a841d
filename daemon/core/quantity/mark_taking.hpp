// Marks in the making: every channel and every jack's load on the way to its reference.
#pragma once

#include <vector>

#include "daemon/core/quantity/values.hpp"

namespace standfast {

struct MarkTaking {
  std::vector<MarkWindow> channels, loads;

  template <class A>
  void visit(A& a) {
    a("channels", channels);
    a("loads", loads);
  }
};

MarkTaking start_mark(const Job& job, Instant from, Duration window);

// After `take_scan`: what this scan brought enters.
void take_mark(MarkTaking& mark, const Scan& scan, const ValueContext& context);

// Every one of these has its mean.
bool mark_full(const MarkTaking& mark, const CountedFrom& needed, Instant now);

// What is full by now; the others stay without a reference.
MarkValues mark_values(const MarkTaking& mark, Instant now);

// A mark of one moment: the newest readings that are good.
MarkValues mark_of_now(const ValueContext& context);

}  // namespace standfast
