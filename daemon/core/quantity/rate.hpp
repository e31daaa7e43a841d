// Slope of a value over a window of time, per second.
#pragma once

#include <optional>
#include <vector>

#include "config/instant.hpp"
#include "daemon/core/quantity/judged.hpp"

namespace standfast {

struct Sample {
  Instant at{};
  double value{0};       // SI.
  Cause doubt{Cause::none};
  Saturation saturated{Saturation::none};

  template <class A>
  void visit(A& a) {
    a("at", at);
    a("value", value);
    a("doubt", doubt);
    a("saturated", saturated);
  }
};

// At most this many samples: one that comes sooner than a 512th of the window after the last is left out.
inline constexpr std::int64_t window_samples = 512;

// A sample counts as a part of what is computed from it.
Reading reading_of(const Sample& sample);
Sample sample_of(const Reading& reading);

// The readings of one window. Bad ones do not enter, uncertain ones do and make the slope uncertain. A gap longer than half
// the window empties it.
struct SlopeWindow {
  Duration window{};
  std::vector<Sample> samples;  // Oldest first.

  void add(const Reading& reading);
  // dy/dt by least squares with its standard error; its doubts are those of the samples. It has a value with at least five
  // samples that span half the window, and until `empties_at`; before and after that it is filling.
  Judged slope(Dimension per_second, Instant now) const;
  // When it empties if nothing comes.
  std::optional<Instant> empties_at() const;

  template <class A>
  void visit(A& a) {
    a("window", window);
    a("samples", samples);
  }
};

}  // namespace standfast
