// A site that a test walks through by hand: the engine, what its instruments show, its output module and its people. It
// begins where a rehearsal of tests/scenarios ends, with everything standing as it stood then.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "daemon/core/engine.hpp"
#include "daemon/core/state.hpp"
#include "tools/rehearse/module.hpp"
#include "tools/rehearse/series.hpp"

namespace standfast::test {

inline const PersonClaim nobody{};
inline const PersonClaim technician{"T. Finch", Role::technician}, supervisor{"S. Wren", Role::supervisor},
    engineer{"E. Quill", Role::engineer}, auditor{"A. Dunlin", Role::auditor}, other_supervisor{"H. Crane", Role::supervisor};

class Site {
 public:
  // Behind the rehearsal `name`.
  explicit Site(const std::string& name);
  // Nothing told yet but that the daemon has started and `job` is in force.
  explicit Site(std::shared_ptr<const Job> job);

  // From now on. Channels by name, values in SI.
  void shows(const std::string& channel, double value);
  void is_dead(const std::string& channel);
  void is_missing(const std::string& channel);
  void block_is_missing(std::size_t block) { missing_blocks_.push_back(block); }
  void module_meets(rehearse::ModuleFault fault, OutputKind output = OutputKind::raise_permit);
  void input_happens(const std::string& input, bool happens);
  void module_answers(bool answers) { module_answers_ = answers; }

  // One block alone, now; it was answered `old` ago.
  void poll(std::size_t block, Duration old = {}) {
    Scan answered = scan(block);
    answered.taken_at = now - old;
    tell(std::move(answered));
  }

  // Every block and the output module once in `every`, and time alone where the engine asks for it.
  void pass(Duration time, Duration every = milliseconds(100));

  // The output module alone answers, after `time`.
  void pass_module(Duration time) {
    now = now + time;
    answer_of_module();
  }

  const Effects& tell(decltype(Event::what) what);

  struct Wish {
    Act what{};
    std::string object, value, reason{"for a reason"};
    PersonClaim by{}, with{};
    std::int64_t pictures_old{0};  // The person looked so many changes ago.
  };
  // The code of the answer.
  std::string act(const Wish& wish);

  Engine engine;
  Instant now{};
  WallTime wall{};
  const Job& job() const { return *job_; }
  const std::shared_ptr<const Job>& shared_job() const { return job_; }
  const State& state() const { return engine.state(); }
  Level signal() const { return state().signal; }
  bool has(const std::string& alarm, Level level) const;
  // All open alarms, for a failing test to show.
  std::string alarms() const;
  const Effects& newest() const { return effects_; }
  // Everything decided since the site was made.
  std::vector<EffectRow> rows;
  // If given, called with every event and what came of it.
  std::function<void(const Event&, const Effects&)> watch;

 private:
  void begin(std::shared_ptr<const Job> job);
  Scan scan(std::size_t block) const;
  rehearse::Shown& shown(const std::string& channel);
  void answer_of_module();

  std::shared_ptr<const Job> job_;
  std::vector<rehearse::Shown> shown_;
  std::vector<bool> inputs_;
  std::vector<std::size_t> missing_blocks_;
  std::unique_ptr<rehearse::Module> module_;
  bool module_answers_{true};
  static constexpr int walked_after = 100'000;  // A walk over everything: behind so many events.
  int told_{0};
  Effects effects_;
};

inline constexpr double bar = 1e5, mm = 1e-3, kN = 1e3;

// The four jacks of the grain store at this part of their planned loads; the rams go along.
void load_to(Site& site, double part);

// All that a reset of everything takes: acknowledge, and reset by engineer and supervisor.
void reset_all(Site& site);

}  // namespace standfast::test
