// The people of a simulated life: a crew that carries the plan out as it is meant, and every now and then somebody who asks
// for anything at all, rightly or wrongly, on a picture of before.
#pragma once

#include "tests/simulation/troubles.hpp"

namespace standfast::test {

class Crew {
 public:
  Crew(const Job& job, rig::Plant& plant, std::uint64_t seed);

  Instant due() const { return next_; }
  void turn(Daemon* daemon, Troubles& troubles, Instant now);
  void clock_went_back(Duration by) { next_ = next_ - by; }

 private:
  void go_on(Daemon& daemon, Troubles& troubles);
  void after_hold(Daemon& daemon, Troubles& troubles);
  void next_stage(Daemon& daemon);
  void work(Daemon& daemon, Troubles& troubles, const Stage& stage);
  void prove(Daemon& daemon, Troubles& troubles);
  void pump(const Step& step, bool down);
  void ask_for_anything(Daemon& daemon);
  void act(Daemon& daemon, Act what, const std::string& object, const PersonClaim& by, const PersonClaim& with = {},
           const std::string& value = {});

  const Job& job_;
  rig::Plant& plant_;
  SteadyRandom random_;
  std::int64_t wrong_one_in_;  // So rarely somebody asks for anything at all.
  Instant next_{};
};

}  // namespace standfast::test
