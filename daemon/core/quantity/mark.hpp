// References: the mean of good readings over a window, of every channel and of every jack's load.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/ids.hpp"
#include "config/instant.hpp"
#include "daemon/core/reading.hpp"
#include "daemon/core/statistics.hpp"

namespace standfast {

struct MarkValue {
  double value{0};           // SI.
  double standard_error{0};
  std::int64_t readings{0};
  Instant taken_at{};

  template <class A>
  void visit(A& a) {
    a("value", value);
    a("standard_error", standard_error);
    a("readings", readings);
    a("taken_at", taken_at);
  }
};

// One value on its way to a reference. Only good readings enter, each once, and one that is not sends what
// stood before it away: an instrument that is in doubt again and again says nothing between.
struct MarkWindow {
  Instant from{};
  Duration window{};
  std::optional<Instant> newest;  // Of the readings seen.
  std::optional<Instant> good_since;  // After one that was not; none: from the beginning.
  Spread spread;
  bool by_hand{false};            // Its newest good entry alone is the mark;
  double uncertainty{0};          // that one's standard uncertainty, SI.

  void add(const Reading& reading);
  // The window has run out, and its newest minute (or all of a shorter one) holds at least five readings, all good; of one
  // read by hand it holds a good entry.
  bool full(Instant now) const;
  MarkValue value(Instant now) const;

  template <class A>
  void visit(A& a) {
    a("from", from);
    a("window", window);
    a("newest", newest);
    a("good_since", good_since);
    a("spread", spread);
    a("by_hand", by_hand);
    a("uncertainty", uncertainty);
  }
};

// One mark: by channel and by jack of the rig. Nothing where it was not taken.
struct MarkValues {
  std::vector<std::optional<MarkValue>> channels;
  std::vector<std::optional<MarkValue>> loads;

  template <class A>
  void visit(A& a) {
    a("channels", channels);
    a("loads", loads);
  }
};

// The channels and the jacks' loads that a mark is to hold.
struct CountedFrom {
  std::vector<ChannelId> channels;
  std::vector<JackId> loads;

  bool empty() const { return channels.empty() && loads.empty(); }
};

// What the baseline, and each mark of the plan, must hold before it is taken.
struct MarksNeeded {
  CountedFrom baseline;
  std::vector<CountedFrom> marks;  // By mark of the plan.
};

// Everything a `since` can name.
struct References {
  MarkValues baseline, lock_off;
  std::vector<MarkValues> stage_starts;  // By stage of the plan, as it was entered for the first time.
  MarkValues travel_zero;           // Of the rams, where the plan zeroes their travel; the baseline stands in for it.
  std::vector<MarkValues> marks;    // By place in Plan::marks.

  template <class A>
  void visit(A& a) {
    a("baseline", baseline);
    a("lock_off", lock_off);
    a("stage_starts", stage_starts);
    a("travel_zero", travel_zero);
    a("marks", marks);
  }
};

}  // namespace standfast
