// Everything the engine remembers. Plain data: walked field by field into a snapshot, shown by status, changed only by
// Engine::apply. What is derived from the job alone stands at the end and is worked out anew.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/alarms.hpp"
#include "daemon/core/attention.hpp"
#include "daemon/core/event.hpp"
#include "daemon/core/limits_in_force.hpp"
#include "daemon/core/outputs.hpp"
#include "daemon/core/permit.hpp"
#include "daemon/core/poll_book.hpp"
#include "daemon/core/proof.hpp"
#include "daemon/core/quantity/evaluate.hpp"
#include "daemon/core/quantity/mark_taking.hpp"
#include "daemon/core/stage_run.hpp"
#include "daemon/core/zeros.hpp"

namespace standfast {

// How a channel has fared, for its alarm and its reset.
struct InstrumentMemory {
  std::optional<Instant> good_since;
  std::optional<double> before;   // SI; where it last stood while good, before the fault.
  double before_sigma{0};

  template <class A>
  void visit(A& a) {
    a("good_since", good_since);
    a("before", before);
    a("before_sigma", before_sigma);
  }
};

// The engineer goes on with a doubt that he knows. Another doubt about the same thing is not accepted with it.
struct Accepted {
  std::string name;  // A channel, or a limit.
  Cause doubt{};

  template <class A>
  void visit(A& a) {
    a("name", name);
    a("doubt", doubt);
  }
};

struct State {
  std::string boot_id, software;
  Instant now{};                   // Never goes back, not even over a restart of the machine:
  Duration shift{};                // so much is this boot's clock behind it.
  WallTime wall{};
  std::int64_t picture{1};         // Goes up whenever signal, alarms, permit, stage or plan change.

  bool ended_in_order{false};      // The newest start was ended by an order, not by a crash or a loss of power.
  std::vector<Instant> crashes;    // When the daemon was back after each of the newest that count for `restarting`.
  bool starting{false};            // Only while a Started is taken: what is in force follows as the very next event.
  std::string no_job{"no plan has been adopted"};  // Why there is no job; empty while there is one.
  std::string rig_sha256, plan_sha256;
  std::string offered;             // The revision offered last; only that one can be adopted.
  Instant job_since{};

  Values values;
  PollBook polls;
  std::vector<bool> inputs;        // By input of the rig: the newest bit;
  std::vector<bool> input_known;   // whether there is one,
  std::vector<Instant> input_at;   // and when it was read.
  std::vector<LimitMemory> limits;
  std::vector<InstrumentMemory> instruments;
  std::vector<Zero> zeros;         // By channel.
  StageRun run;
  std::optional<MarkTaking> baseline_taking;
  std::optional<MarkTaking> set_taking;                 // The reading set whose window runs.
  std::vector<std::optional<MarkTaking>> marks_taking;  // By mark of the plan.
  Alarms alarms;
  Level signal{Level::none};
  std::optional<Instant> held_since;   // Since when the signal has been HOLD or above.
  Permit permit;
  std::vector<Accepted> accepted;      // In this stage.
  ProofBook proofs;
  SounderTest sounder_test;
  OutputWatch outputs;
  OutputImage wanted{};
  bool heartbeat_withheld{false};
  Sound sound{Sound::silent};
  std::optional<Instant> silenced_until;
  std::optional<Instant> stop_sounds_until;  // A STOP cannot be silenced before.
  RecordState record{RecordState::healthy};
  bool rig_differs{false}, plan_differs{false};
  std::optional<Instant> summary_at, snapshot_at;   // When the next is due, with the first scan from then on.

  template <class A>
  void visit(A& a) {
    a("boot_id", boot_id);
    a("software", software);
    a("now", now);
    a("shift", shift);
    a("wall", wall);
    a("picture", picture);
    a("ended_in_order", ended_in_order);
    a("crashes", crashes);
    a("starting", starting);
    a("no_job", no_job);
    a("rig_sha256", rig_sha256);
    a("plan_sha256", plan_sha256);
    a("offered", offered);
    a("job_since", job_since);
    a("values", values);
    a("polls", polls);
    a("inputs", inputs);
    a("input_known", input_known);
    a("input_at", input_at);
    a("limits", limits);
    a("instruments", instruments);
    a("zeros", zeros);
    a("run", run);
    a("baseline_taking", baseline_taking);
    a("set_taking", set_taking);
    a("marks_taking", marks_taking);
    a("alarms", alarms);
    a("signal", signal);
    a("held_since", held_since);
    a("permit", permit);
    a("accepted", accepted);
    a("proofs", proofs);
    a("sounder_test", sounder_test);
    a("outputs", outputs);
    a("wanted", wanted.on);
    a("heartbeat_withheld", heartbeat_withheld);
    a("sound", sound);
    a("silenced_until", silenced_until);
    a("stop_sounds_until", stop_sounds_until);
    a("record", record);
    a("rig_differs", rig_differs);
    a("plan_differs", plan_differs);
    a("summary_at", summary_at);
    a("snapshot_at", snapshot_at);
  }

  std::shared_ptr<const Job> job;      // Null: none in force.
  MarksNeeded marks_needed;            // Of the job.
  LimitsInForce in_force;              // Of the job and the newest stage.
  Attention attention;                 // Of all of it.
  std::vector<Condition> momentary;    // Conditions of this very instant; gone, and latched, at once.
};

// What the values need to know of the work.
Progress progress_of(const State& state);
ValueContext context_of(const State& state, Take take);

// The stage whose limits count: the newest entered, closed or not. Between two stages the old one's limits go on.
const Stage* stage_in_force(const State& state);
const Step* step_in_force(const State& state);

bool is_accepted(const State& state, const std::string& name, Cause doubt);

// The site's own stop, if an input says so. A bit that is not known says nothing here, and is a HOLD of its own.
bool site_stop_called(const State& state);

}  // namespace standfast
