// One simulated life of the whole job from one seed: site, pump, instruments, wires, output module, daemon, disk and people, in
// one process, without threads and without real time. After every event and every exchange the invariants are checked.
#pragma once

#include <memory>
#include <string>

#include "tests/simulation/crew.hpp"

namespace standfast::test {

struct Lived {
  double hours{0};
  std::int64_t events{0}, permits{0}, recovers{0}, holds{0}, stops{0}, starts{0}, troubles{0}, asked{0}, spoilt{0};
  std::int64_t replays{0};   // Stretches from one snapshot to the next.
  std::int64_t compared{0};  // Starts that lost no row, so that what died was there to compare with.
  int stages{0};       // How many were closed, at most.
  std::int64_t lives{0}, ended{0};  // Those that came to where the plan ends in this version.
  std::string broken;  // Empty while all held; else what did not, and when.
  void add(const Lived& other);
};

class World {
 public:
  explicit World(std::uint64_t seed);
  // Goes on for so long, or until something does not hold; or until a HOLD that nobody could end has stood for half an hour (what
  // the site has become no reset mends), or the plan's end in this version lies ten minutes back: nothing more would happen.
  void live(Duration time);
  Lived lived() const;

 private:
  void turn();
  Instant due() const;
  bool given_up() const;
  bool is_over() const;
  void note_stages();
  void catch_up();  // The site lives through what the clock has passed.
  void check_contacts();
  void die(const Troubles::Death& death);
  void start();
  void compare_with(Engine& dead, const Disk::Again& again, const Event& event);
  void count_wires(Lived& lived) const;

  SteadyRandom random_;
  MovedClock clock_;
  std::shared_ptr<const Job> job_;
  Framing framing_;
  std::unique_ptr<rig::Plant> plant_;
  Disk disk_;
  Invariants invariants_;
  Troubles troubles_;
  Crew crew_;
  std::unique_ptr<Daemon> daemon_;
  Engine rebuilt_;
  Instant site_at_, back_at_;
  std::array<Instant, output_count> last_wanted_{};
  std::optional<Instant> ended_at_;  // On the site's own clock.
  bool first_{true};
  std::int64_t boots_{0};
  Lived lived_;
};

}  // namespace standfast::test
