// A gauge that was knocked, or whose stand was moved: its reading steps, and nothing else on the site does.
//
// A *step* is a change from one reading to the next by more than five standard uncertainties of their difference, five steps
// of the resolution and 0.05 mm. It is a step of one gauge *alone* where all readings behind it, two or more, stay as far away
// from both readings before it, and no other gauge and no pressure has moved in the meantime. The others are waited for until
// each has been read half a second or more after the step: so old a line of text may be.
//
// Judged are the gauges of points and of rams, once something counts from where they stood or while the baseline is taken.
// Of a ram nothing is judged while oil flows. Where no other gauge and no pressure has a number nobody could share a step,
// and nobody is doubted.
#pragma once

#include <optional>
#include <span>

#include "daemon/core/event.hpp"
#include "daemon/core/reading.hpp"

namespace standfast {

struct ChannelState;
struct MarkValues;

inline constexpr double step_sigmas = 5, step_resolutions = 5;
inline constexpr double least_knock = 0.05e-3;   // m; a smaller one hides nothing (common practice, no source).
inline constexpr double share_of_step = 0.8;     // A partner that moved so much of a step of its own shares it.
inline constexpr Duration felt_before = seconds(1);        // So long before the step a partner may have felt it,
inline constexpr Duration felt_after = milliseconds(500);  // and so long behind it.

enum class StepRole : std::uint8_t { none, partner, gauge, ram };  // `partner`: shares steps, is never doubted itself.

// How far a value went of late: lowest and highest of the bucket that fills and of the one before it.
struct LatelySeen {
  std::optional<Instant> since;
  double low{0}, high{0}, low_before{0}, high_before{0};  // SI.

  template <class A>
  void visit(A& a) {
    a("since", since);
    a("low", low);
    a("high", high);
    a("low_before", low_before);
    a("high_before", high_before);
  }
};

// The place that a gauge has left.
struct LeftPlace {
  double low{0}, high{0}, uncertainty{0};  // SI; of the two readings before the step.
  Instant last_there{}, first_away{};
  int readings_away{1};

  template <class A>
  void visit(A& a) {
    a("low", low);
    a("high", high);
    a("uncertainty", uncertainty);
    a("last_there", last_there);
    a("first_away", first_away);
    a("readings_away", readings_away);
  }
};

struct StepWatch {
  StepRole role{StepRole::none};
  LatelySeen lately;
  std::optional<Instant> moved_at;  // The newest reading by which it had moved as a partner must.
  std::optional<double> before;     // SI; the reading before the newest but one. None where that was no number.
  std::optional<LeftPlace> left;
  bool doubted{false};              // Until it is back, or a person has taken the step as true.
  int readings_back{0};
  Cause under{Cause::none}, under_steadied{Cause::none};  // The doubts that this one lies upon.

  template <class A>
  void visit(A& a) {
    a("role", role);
    a("lately", lately);
    a("moved_at", moved_at);
    a("before", before);
    a("left", left);
    a("doubted", doubted);
    a("readings_back", readings_back);
    a("under", under);
    a("under_steadied", under_steadied);
  }
};

struct StepsWithin {
  const MarkValues& baseline;
  bool baseline_is_taken;         // It is being taken now: a step doubts one reading, and the window begins anew.
  std::optional<Instant> oil_at;  // When oil was last known to flow, in or out.
};

void set_step_roles(std::span<ChannelState> channels, const Rig& rig);

// Behind the scan's channels, which it doubts.
void watch_steps(std::span<ChannelState> channels, const Job& job, const Scan& scan, const StepsWithin& within);

// A person has looked: the gauge stands where it says. Nothing else changes, no baseline and no zero.
void take_step_as_true(ChannelState& channel);

}  // namespace standfast
