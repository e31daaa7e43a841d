// The example's job with short waits, brought through its stages by its crew.
#pragma once

#include <string>

#include "tests/rig/example_job.hpp"

namespace standfast::rig {

// The example's plan with short waits.
inline JobTexts short_waits(JobTexts texts = {}) {
  texts.plan = replaced(texts.plan, "window: 30 min", "window: 1 min");
  texts.plan = replaced(texts.plan, "{for: 5 min, within: 10 %, read_at: [1 min, 2 min, 5 min]}",
                        "{for: 1 min, within: 10 %, read_at: [1 min]}");
  texts.plan = replaced(texts.plan, "{for: 10 min, within: 2 %, read_at: [1 min, 2 min, 3 min, 5 min, 10 min]}",
                        "{for: 1 min, within: 2 %, read_at: [1 min]}");
  texts.plan = replaced(texts.plan, "over: 5 min, at_least: -0.004 mm/min, at_most: 0.004 mm/min",
                        "over: 30 s, at_least: -1 mm/min, at_most: 1 mm/min");
  texts.plan = replaced(texts.plan, "      - {proofs: passed}\n", "");
  return texts;
}

inline const std::initializer_list<double> all_steps = {25.0, 50.0, 65.0, 75.0, 85.0, 90.0, 95.0, 100.0};

inline void start(ExampleJob& job) {
  job.reset("start: every reading looked at");
  job.raised.clear();
  job.act(Act::stage_enter, "Commission", supervisor);
}

inline void enter_baseline(ExampleJob& job) {
  start(job);
  job.permit("commission", technician);
  job.prove("heartbeat");
  job.close(supervisor);
  job.act(Act::stage_enter, "Baseline", supervisor);
  job.act(Act::enter_note, "survey of bench marks", technician);
}

inline void snug(ExampleJob& job) {
  enter_baseline(job);
  job.wait("the baseline", minutes(3), [&] { return job.is_ready(); });
  job.close(engineer);
  job.act(Act::stage_enter, "Snug", supervisor);
}

inline void raise(ExampleJob& job, std::initializer_list<double> steps) {
  snug(job);
  job.reach(5);
  job.every = milliseconds(500);
  job.pass(minutes(1));  // What settles at first is no loss.
  for (const char* proof : {"drop-by-command", "drop-by-heartbeat", "drop-by-cable"}) {
    job.permit("top-up");
    job.prove(proof);
  }
  job.reset("cable was pulled for the proof");
  job.act(Act::enter_note, "rams square and plates aligned", technician);
  job.observe(5, 0.10);
  job.close(supervisor);
  job.act(Act::stage_enter, "Raise", supervisor);
  job.raised.clear();
  for (const double percent : steps) {
    job.reach(percent);
    job.act(Act::enter_note, "cracks inspected", technician);
    job.observe(percent, 0.02);
    if (percent != *(steps.end() - 1)) job.close(engineer);
  }
}

// The step is signed, and the pump runs for the next.
inline void pump_on(ExampleJob& job, double percent) {
  job.close(engineer);
  job.permit("raise");
  job.pump(percent);
}

}  // namespace standfast::rig
