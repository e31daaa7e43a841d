// How many scans the engine takes in a second with 1,000 channels and a limit of two levels over each, against a bare loop
// that decodes the same registers, scales and compares them. Both take the same answers in the same order, turn by turn;
// what counts is the time of a core, not of the clock on the wall.
//
//   engine_bench [CHANNELS]
//
// Two layouts: answers of 64 registers, as a sound plan reads them, and answers of one register, the worst case, where
// whatever the engine does once for each answer is done for each reading.
#include <time.h>

#include <cstdint>
#include <random>

#include "daemon/core/engine.hpp"
#include "daemon/core/state.hpp"
#include "daemon/service/job_folder.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/job_text.hpp"
#include "tools/rehearse/module.hpp"

namespace {

using namespace standfast;
using namespace standfast::bench;

constexpr int rounds = 7;
constexpr int polls_in_a_round = 40;
constexpr Duration poll = milliseconds(100);

WallTime wall_at(Instant at) { return WallTime{1'800'000'000'000'000'000 + at.ns}; }

// A plan may have 200 limits a stage; here each channel has one.
std::shared_ptr<const Job> job_of(const JobBytes& bytes) {
  const auto made = make_revision(bytes);
  if (!made) give_up("engine_bench: " + made.error().front().message + ", expected: " + made.error().front().expected);
  auto job = std::make_shared<Job>(*made->job);
  std::vector<Limit>& limits = job->plan.stages.front().limits;
  limits.resize(1);
  for (std::size_t i = 1; i < job->rig.channels.size(); ++i) {
    Limit& added = limits.emplace_back(limits.front());
    added.name = "limit " + job->rig.channels[i].name;
    added.of.subjects = {static_cast<std::uint16_t>(i)};
  }
  return job;
}

// One poll: each block answers once, its loop currents somewhere between 8 and 12 mA.
std::vector<Event> answers_of(const Job& job, Instant from, std::mt19937& draw) {
  std::vector<Event> events;
  const std::size_t blocks = job.polls.blocks.size();
  for (std::size_t b = 0; b < blocks; ++b) {
    const Instant at = from + nanoseconds(poll.ns / static_cast<std::int64_t>(blocks) * static_cast<std::int64_t>(b));
    Words words(static_cast<std::size_t>(job.polls.blocks[b].count));
    for (auto& word : words) word = static_cast<std::uint16_t>(8'000 + draw() % 4'000);
    events.push_back({at, wall_at(at), Scan{BlockId{b}, at, std::move(words), Flaw::none}});
  }
  return events;
}

// Decodes, scales, compares; nothing else.
class BareLoop {
 public:
  explicit BareLoop(const Job& job) {
    for (const Block& block : job.polls.blocks) {
      auto& own = blocks_.emplace_back();
      for (const auto& place : block.channels) {
        const Scale& scale = job.rig.channels[place.channel.at()].scale;
        const double gain = (scale.value_high - scale.value_low) / (scale.raw_high - scale.raw_low);
        own.push_back({gain / (1000 * scale.counts_per_mA), scale.value_low - gain * scale.raw_low, place.offset});
      }
    }
  }
  void take(const Scan& scan) {
    const Words& words = std::get<Words>(scan.raw);
    for (const Part& part : blocks_[scan.block.at()]) {
      const double value = words[static_cast<std::size_t>(part.offset)] * part.gain + part.zero;
      beyond += (value < part.hold_below || value > part.hold_above) + (value < part.stop_below || value > part.stop_above);
    }
  }
  std::int64_t beyond{0};

 private:
  struct Part {
    double gain, zero;
    int offset;
    double hold_below{2e-3}, hold_above{40e-3}, stop_below{1e-3}, stop_above{45e-3};
  };
  std::vector<std::vector<Part>> blocks_;
};

// The engine in the stage whose limits are measured, nothing beyond them, and what its instruments and relays say.
class Site {
 public:
  explicit Site(std::shared_ptr<const Job> job) : job_{std::move(job)}, module_{job_->rig} {
    tell(Started{"a boot", "bench", true});
    tell(JobInForce{job_});
    for (int i = 0; i < 30; ++i)
      for (const Event& event : next_poll()) engine.apply(event);
    act(Act::stage_enter, "Commission");
    act(Act::acknowledge, "all");
    act(Act::reset, "all");
  }
  // The relays answer once in a poll, beside what is measured.
  std::vector<Event> next_poll() {
    at_ = at_ + poll;
    effects_ = tell(module_.exchange(effects_.wanted, false, at_));
    return answers_of(*job_, at_, draw_);
  }
  bool at_work() const { return engine.state().signal < Level::hold && engine.state().limits.size() == job_->rig.channels.size(); }

  Engine engine;

 private:
  Effects tell(decltype(Event::what) what) { return engine.apply({at_, wall_at(at_), std::move(what)}); }
  void act(Act what, const std::string& object) {
    at_ = at_ + milliseconds(1);
    tell(Action{.what = what, .object = object, .reason = "bench", .person = {"E. Quill", Role::engineer},
                .second = {"S. Wren", Role::supervisor}, .seen = engine.state().picture});
  }

  std::shared_ptr<const Job> job_;
  rehearse::Module module_;
  Instant at_ = Instant{} + hours(1);
  std::mt19937 draw_{1};
  Effects effects_;
};

// Of this thread alone: what others take of the core does not count.
double core_seconds() {
  timespec time{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
  return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

void compare(std::size_t channels, std::size_t in_an_answer) {
  const auto job = job_of(job_text({.channels = channels, .limits = 1, .in_an_answer = in_an_answer,
                                    .levels = "hold: {above: 40 mm, below: 2 mm}, stop: {above: 45 mm, below: 1 mm}"}));
  Site site{job};
  BareLoop bare{*job};
  std::vector<double> rates, bare_rates, ratios, per_limit;
  for (int round = 0; round < rounds; ++round) {
    double took = 0;
    std::vector<Event> all;
    for (int i = 0; i < polls_in_a_round; ++i) {
      const auto events = site.next_poll();
      const double begin = core_seconds();
      for (const Event& event : events) site.engine.apply(event);
      took += core_seconds() - begin;
      all.insert(all.end(), events.begin(), events.end());
    }
    const double begin = core_seconds();
    for (const Event& event : all) bare.take(std::get<Scan>(event.what));
    const double bare_took = core_seconds() - begin;
    const auto answers = static_cast<double>(job->polls.blocks.size() * polls_in_a_round);
    rates.push_back(answers / took);
    bare_rates.push_back(answers / bare_took);
    ratios.push_back(took / bare_took);
    per_limit.push_back(took * 1e9 / static_cast<double>(channels * polls_in_a_round));
  }
  if (bare.beyond != 0 || !site.at_work()) give_up("engine_bench: not within limits; the two loops do not do the same");
  std::printf("answers of %zu registers, %zu channels, %zu limits of two levels\n", in_an_answer, channels, channels);
  std::printf("  engine     %s scans in a second of a core\n", spread(rates, 0).c_str());
  std::printf("             %s ns a reading with its limit\n", spread(per_limit, 1).c_str());
  const double of_a_core = 100 * 10 * 1e-9 * median(per_limit) * static_cast<double>(channels);
  std::printf("             %.2f %% of a core to take all of them ten times a second\n", of_a_core);
  std::printf("  bare loop  %s scans in a second of a core\n", spread(bare_rates, 0).c_str());
  std::printf("  the engine takes %s times as long\n\n", spread(ratios, 1).c_str());
}

}  // namespace

int main(int count, char** words) {
  const std::size_t channels = count > 1 ? std::strtoul(words[1], nullptr, 10) : 1000;
  if (count > 2 || channels == 0 || channels > 1024) give_up("engine_bench [CHANNELS]: 1 to 1024");
  compare(channels, 64);
  compare(channels, 1);
  std::printf("medians of %d rounds (smallest to largest)\n", rounds);
  return 0;
}
