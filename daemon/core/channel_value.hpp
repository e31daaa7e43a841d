// From one answer of a wire to the value of each of its channels: raw words, number, current, scale, uncertainty, quality.
//
// Every state here is plain and as of the newest event; time alone changes it only in `age_channels`, at `stale_at`.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "daemon/core/event.hpp"
#include "daemon/core/reading.hpp"
#include "daemon/core/segment.hpp"
#include "daemon/core/step_watch.hpp"

namespace standfast {

// Another channel that would have to stand still with this one: a twin gauge, or the pressure behind a ram. Behind a check
// valve the oil is shut in: the pressure then comes and goes with the structure, for hours, and the ram stands. So a
// pressure counts only by what it has risen while oil was flowing.
struct Partner {
  std::uint16_t channel{0};
  double moved{0};              // SI of the partner; by so much or more it says that this one should have moved.
  bool is_pressure{false};      // Of a ram.
  std::optional<double> then;   // Its value when this channel's raw words last changed; a pressure's follows it without oil.
  double last{0};               // Its newest value.
  std::optional<double> stood;  // Its value when this channel last stood undoubted; none where it was not good itself.

  template <class A>
  void visit(A& a) {
    a("channel", channel);
    a("moved", moved);
    a("is_pressure", is_pressure);
    a("then", then);
    a("last", last);
    a("stood", stood);
  }
};

struct ChannelState {
  Reading reading;    // Unfiltered. STOP is judged on this one, always.
  Reading earlier;    // As `reading` stood before its newest answer.
  Reading steadied;   // The median of the last `median` numbers where the channel asks for it; otherwise the same.
  Duration every{}, stale_after{};  // As now in force: a stage may poll at its own pace.
  std::optional<Instant> stale_at;  // When the newest answer no longer counts; none where none counts now.
  std::optional<Instant> due_at;    // Of one read by hand: when it is to be entered again; none where that is so already.
  Flaw flaw{Flaw::none};            // Of the newest scan.
  std::int64_t lost{0};             // Answers that did not come, since the job came into force.
  std::array<std::uint16_t, 4> raw{};  // Of the newest answer; what the channel does not use is 0.
  std::optional<Instant> unchanged_since;  // Since when `raw` has been bit-identical; none before the first answer.
  bool frozen{false};               // Until `raw` changes.
  double last_change{0};            // SI; by how much its value moved when `raw` last changed.
  bool turned_back{false};          // It moved two steps or more one way, and then as much the other.
  std::vector<Partner> partners;
  StepWatch step;
  std::vector<Reading> recent;      // For the median, oldest first; empty where none was asked for.
  std::optional<Stood> stood;
  Segment segment;

  template <class A>
  void visit(A& a) {
    a("reading", reading);
    a("earlier", earlier);
    a("steadied", steadied);
    a("every", every);
    a("stale_after", stale_after);
    a("stale_at", stale_at);
    a("due_at", due_at);
    a("flaw", flaw);
    a("lost", lost);
    a("raw", raw);
    a("unchanged_since", unchanged_since);
    a("frozen", frozen);
    a("last_change", last_change);
    a("turned_back", turned_back);
    a("partners", partners);
    a("step", step);
    a("recent", recent);
    a("stood", stood);
    a("segment", segment);
  }
};

// One state for each channel of the rig, nothing read yet.
std::vector<ChannelState> start_channels(const Job& job);

// When a scan was taken, on the engine's clock; the scan itself has it on the clock of its boot.
struct TakenAt { Instant at; WallTime wall; };

// Takes one scan. Without a flaw every channel of its block has a fresh reading, of that instant. With a flaw the old
// readings age and stay what they are until they are stale; a refusal (exceptions 1 to 4) is bad at once.
void take_scan(std::span<ChannelState> channels, const Job& job, const Scan& scan, TakenAt taken, bool oil_flows);

// Readings whose answer is `stale_after` old or older become bad, with the newest flaw as their cause.
void age_channels(std::span<ChannelState> channels, Instant now);

// The polls of a stage in force: `every` and `stale_after` from the stage where it names the channel, else from the
// rig. An answer that counts now counts no longer than a new one would from `now` on.
// What is read by hand is due, and stale, as the stage says from now on.
void set_polls(std::span<ChannelState> channels, const Job& job, const Stage& stage, Instant now);

// What was read before an outage is nothing to go by.
void forget_reading(ChannelState& state, Dimension dimension, Instant now);

// Of a raw number: scaled, judged by NE 43 (a current loop) or by the stated range, with its uncertainty. The rules alone,
// without age, partners and certificate.
Reading scaled_reading(const Channel& channel, double raw, Instant at);

// Has the certificate run out at this wall time (UTC)? It is valid through its due day. Without a day it never runs out.
bool certificate_overdue(const Certificate& certificate, WallTime wall);

}  // namespace standfast
