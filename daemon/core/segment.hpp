// Which instrument stands at a channel, and how its numbers go on from those of the one before. While an instrument is being
// swapped: what the new one has shown of itself so far. Plain data; the rules are in swaps and swap_proof.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/rig.hpp"
#include "daemon/core/reading.hpp"
#include "daemon/core/statistics.hpp"

namespace standfast {

// Where a channel stood when nobody doubted its number.
struct Stood {
  double value{0}, uncertainty{0};  // SI.
  Instant at{};

  template <class A>
  void visit(A& a) {
    a("value", value);
    a("uncertainty", uncertainty);
    a("at", at);
  }
};

inline constexpr Duration stands_for = seconds(2);  // So long, and
inline constexpr std::int64_t stands_readings = 5;  // so many readings at least, make a stretch.

// A number that stands still, by the means of whole stretches one behind the other.
struct Standing {
  std::optional<double> level;   // SI; the mean of the newest whole stretch. None: it does not stand.
  std::optional<Instant> since;  // Of the stretch that runs.
  Spread spread;

  // A reading that is not good, or further than `within` from where the others stand, begins anew.
  void add(const Reading& reading, double within);

  template <class A>
  void visit(A& a) {
    a("level", level);
    a("since", since);
    a("spread", spread);
  }
};

// A feeler is to go under the gauge and to be drawn again.
struct FeelerTest {
  double rise{0};                // m; by so much the number has to change, negative where the gauge counts downwards.
  double before{0};              // m; where it stood.
  std::optional<double> within;  // m; where it stood with the feeler in; none: not in yet.
  std::vector<std::optional<double>> others;  // m; by channel: where the other lengths stood.

  template <class A>
  void visit(A& a) {
    a("rise", rise);
    a("before", before);
    a("within", within);
    a("others", others);
  }
};

// How far a channel moved between its last reading that nobody doubted and the proof of its new instrument.
struct Unseen {
  double moved{0}, uncertainty{0};  // m.
  std::string by;                   // The twins that saw it, or the person who states it.

  template <class A>
  void visit(A& a) {
    a("moved", moved);
    a("uncertainty", uncertainty);
    a("by", by);
  }
};

struct Swap {
  std::string certificate, due;  // Of the new instrument; `due` may be empty.
  std::string begun_by, second, proved_by;
  Reading shown;                 // By the new instrument itself; no value of the channel.
  Standing standing;             // Of `shown`.
  std::optional<FeelerTest> feeler;
  std::string proof;             // What proved it, in words; empty: nothing has.
  double proved_at{0};           // SI; what it showed then.
  std::optional<Unseen> twins, stated;

  template <class A>
  void visit(A& a) {
    a("certificate", certificate);
    a("due", due);
    a("begun_by", begun_by);
    a("second", second);
    a("proved_by", proved_by);
    a("shown", shown);
    a("standing", standing);
    a("feeler", feeler);
    a("proof", proof);
    a("proved_at", proved_at);
    a("twins", twins);
    a("stated", stated);
  }
};

// The new instrument's numbers continue the old one's: value = shown + offset, u2 = u2(shown) + u2(join).
struct Join {
  double offset{0}, uncertainty{0};  // SI.

  template <class A>
  void visit(A& a) {
    a("offset", offset);
    a("uncertainty", uncertainty);
  }
};

struct Segment {
  std::optional<Join> join;      // None: the channel's numbers are what its instrument shows.
  std::string certificate, due;  // Of an instrument that was swapped in; empty: rig.yaml's counts.
  bool unproved{false};          // Begun, and not approved: the channel has no value. Without a `swap` it was abandoned.
  std::optional<Swap> swap;

  template <class A>
  void visit(A& a) {
    a("join", join);
    a("certificate", certificate);
    a("due", due);
    a("unproved", unproved);
    a("swap", swap);
  }
};

// Of the instrument that stands at the channel now.
Certificate certificate_in_place(const Channel& channel, const Segment& segment);

// What an instrument shows, as a number of its channel.
Reading joined(Reading shown, const Segment& segment);

// So far from each other are readings of an instrument that stands still. SI.
double still_within(const Channel& channel);

}  // namespace standfast
