// Proofs: the permit is seen to drop, and the load to stay, before anything is raised. Without them raising is refused,
// and nobody can accept that by name.
//
// heartbeat          commission, pump isolated: the heartbeat is withheld, the module's watchdog drops the permit
// drop-by-command    under snug load: the permit is withdrawn
// drop-by-heartbeat  under snug load: the heartbeat is withheld
// drop-by-cable      under snug load: a person pulls the module's cable and puts it back
// After each drop under load no jack's pressure may fall, and no ram move, by more than the plan states.
//
// A drop by a withheld heartbeat counts only if nothing else can have made it: the module answered and the permit was
// commanded up to it, it lies within `drop_window`, and the stop on site reads as not pressed after it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "config/instant.hpp"
#include "config/units.hpp"

namespace standfast {

enum class Proof : std::uint8_t { heartbeat, drop_by_command, drop_by_heartbeat, drop_by_cable };
inline constexpr int proof_count = 4;

std::string_view proof_name(Proof proof);
std::optional<Proof> proof_of(std::string_view name);

// How long the drop is waited for; a cable is pulled by hand.
constexpr Duration drop_within(Proof proof) { return proof == Proof::drop_by_cable ? minutes(2) : seconds(10); }

// When a watchdog can act, counted from when its heartbeat was withheld: the last beat lies up to a period and the exchange
// that was due back, and one may still be on its way; then the contact settles, and an exchange tells of it.
struct DropWindow { Duration from, to; };
constexpr DropWindow drop_window(Duration watchdog, Duration heartbeat_period, Duration settle) {
  return {watchdog - heartbeat_period * 3 / 2, watchdog + heartbeat_period + settle + seconds(1)};
}

// The stop on site is to be read so soon after the drop.
inline constexpr Duration site_stop_read_within = seconds(5);

// A loss counts when it has stood for so long: one noisy reading of a transducer is none.
inline constexpr Duration loss_stands = seconds(1);

struct ProofRun {
  bool running{false};
  Proof proof{};
  bool dropped{false};              // The permit has been seen off; from now on the load is watched.
  Instant dropped_at{};             // When its contact was read off.
  bool unstopped{false};            // The stop on site has been read after that, and was not pressed.
  bool failing{false};              // drop-by-cable: an exchange has failed, and the loads of then have been noted;
  bool lost{false};                 // drop-by-cable: the module has been seen silent.
  Instant since{};                  // Start of waiting, then of watching.
  std::string by;
  std::vector<double> pressures;    // Pa, of each jack with the permit still on.
  std::vector<double> travels;      // m, likewise; a jack without a gauge holds its 0.
  std::optional<Instant> loss_since;

  template <class A>
  void visit(A& a) {
    a("running", running);
    a("proof", proof);
    a("dropped", dropped);
    a("dropped_at", dropped_at);
    a("unstopped", unstopped);
    a("failing", failing);
    a("lost", lost);
    a("since", since);
    a("by", by);
    a("pressures", pressures);
    a("travels", travels);
    a("loss_since", loss_since);
  }
};

// Why a proof did not pass, for whoever has to mend it; nothing while it was not begun, runs, or passed.
struct ProofFailure {
  std::string why;
  std::optional<Amount> lost, allowed;  // Where something fell or moved: by how much, and how much the plan allows.

  template <class A>
  void visit(A& a) {
    a("why", why);
    a("lost", lost);
    a("allowed", allowed);
  }
};

struct ProofBook {
  std::array<bool, proof_count> passed{};
  std::array<ProofFailure, proof_count> failures{};
  ProofRun run;

  bool has(Proof proof) const { return passed[static_cast<std::size_t>(proof)]; }
  bool all_drops() const {
    return has(Proof::drop_by_command) && has(Proof::drop_by_heartbeat) && has(Proof::drop_by_cable);
  }

  template <class A>
  void visit(A& a) {
    a("passed", passed);
    a("failures", failures);
    a("run", run);
  }
};

// The sounder is heard by a person, not read back: see sounder_test.hpp.
struct SounderTest {
  std::optional<Instant> since;  // While it sounds, and until it is answered.
  bool heard{false};             // By the newest answer; neither before the first.
  bool not_heard{false};

  template <class A>
  void visit(A& a) {
    a("since", since);
    a("heard", heard);
    a("not_heard", not_heard);
  }
};

}  // namespace standfast
