// A circuit whose pressure before the check valves is read, too: what tells a hose that burst.
#include "tests/rig/raised_job.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

// With a transducer between pump and check valves, which feeds both circuits.
JobTexts fed_circuits() {
  JobTexts texts = short_waits();
  const std::string travel = "  # Ram travel, 0 to 150", spread = "    - {of: pressure spread *,";
  texts.rig = replaced(texts.rig, travel, R"(  PU: {bus: manifold, unit_id: 1, input_register: 6, as: uint16, every: 100 ms,
       scale: {current: [4 mA, 20 mA], value: [0 bar, 700 bar], counts_per_mA: 1000}, accuracy: 0.25 % of 700 bar,
       certificate: {number: P-105, due: 2099-12-31}, fitted_at: pump}
)" + travel);
  for (const char* jacks : {"A: {jacks: [J1, J3],", "B: {jacks: [J2, J4],"})
    texts.rig = replaced(texts.rig, jacks, std::string{jacks} + " supply: PU,");
  texts.plan = replaced(texts.plan, spread, "    - {of: supply *, hold: {below: -10 bar, persist: 5 s}}\n" + spread);
  return texts;
}

}  // namespace

TEST_CASE("a hose that bursts before the check valves is a HOLD by what feeds the circuits, and takes no load", "[trade-2]") {
  ExampleJob job{fed_circuits()};
  raise(job, {25.0, 50.0});
  pump_on(job, 65);
  job.pass(seconds(20));
  CHECK_FALSE(job.has(Level::hold, ""));
  const double before = job.total();
  job.obey("hose burst");
  job.pass(seconds(8));
  CHECK(job.has(Level::hold, "supply A"));
  CHECK(job.has(Level::hold, "supply B"));
  CHECK_FALSE(job.has(Level::hold, "pressure"));
  CHECK(job.state().permit.kind == PermitKind::none);
  CHECK(job.total() > 0.97 * before);
  CHECK_FALSE(job.has(Level::stop, ""));
}

TEST_CASE("what feeds the circuits gives no alarm on a whole raise, whether the pump runs or stands") {
  ExampleJob job{fed_circuits()};
  raise(job, all_steps);
  INFO(job.told());
  CHECK_FALSE(job.has(Level::review, ""));
  CHECK_FALSE(job.has(Level::hold, ""));
}
