// The example's plan as it stands, with its real times, on the rig's physics: from the first start through baseline and snug to
// full transfer, by a clock that only the test moves. What the plan asks for can be done, and nothing holds that nobody caused.
#include "tests/rig/example_job.hpp"

using namespace standfast;
using namespace standfast::rig;

TEST_CASE("the example's plan is carried out with its real times, to full transfer, and holds only where somebody pulls a cable") {
  ExampleJob job;
  job.reset("start: every reading looked at");
  job.held.clear();

  job.act(Act::stage_enter, "Commission", supervisor);
  job.permit("commission", technician);
  job.prove("heartbeat");
  job.wait("commissioning to be done", minutes(1), [&] { return job.is_ready(); });
  job.close(supervisor);

  job.act(Act::stage_enter, "Baseline", supervisor);
  job.act(Act::enter_note, "survey of bench marks", technician);
  job.wait("the baseline", minutes(31), [&] { return job.is_ready(); });
  job.close(engineer);

  job.act(Act::stage_enter, "Snug", supervisor);
  job.reach(5);
  job.every = milliseconds(100);
  for (const char* proof : {"drop-by-command", "drop-by-heartbeat", "drop-by-cable"}) {
    job.permit("top-up");
    job.prove(proof);
  }
  job.every = seconds(1);
  CHECK(job.held == std::vector<std::string>{"output module"});
  job.reset("cable was pulled for the proof");
  job.held.clear();
  job.act(Act::enter_note, "rams square and plates aligned", technician);
  job.observe(5, 0.10);
  job.close(supervisor);

  job.act(Act::stage_enter, "Raise", supervisor);
  for (const double percent : {25.0, 50.0, 65.0, 75.0, 85.0, 90.0, 95.0, 100.0}) {
    INFO(percent << " %");
    REQUIRE(job.in(StageState::running));
    job.reach(percent);
    job.act(Act::enter_note, "cracks inspected", technician);
    job.observe(percent, 0.02);
    job.close(engineer);
  }
  CHECK(job.in(StageState::closed));
  CHECK(job.held == std::vector<std::string>{});
  // What the column still carries of its 1420 kN is next to nothing.
  CHECK(job.total() > 0.98 * 1.42e6);
  CHECK(job.top_ups <= 8);
}
