#include <catch2/catch.hpp>
#include <vector>

#include "daemon/service/output_pass.hpp"
#include "tests/service/hand_clock.hpp"

using namespace standfast;

namespace {

class FakeModule final : public OutputModule {
 public:
  explicit FakeModule(const Clock& clock) : clock_{clock} {}
  OutputReport exchange(const OutputImage& wanted, Instant deadline) override {
    written.push_back(wanted);
    until = deadline;
    OutputReport report;
    report.at = clock_.now();
    report.flaw = flaw;
    report.written = wanted;
    return report;
  }
  std::vector<OutputImage> written;
  Instant until{};
  Flaw flaw{Flaw::none};

 private:
  const Clock& clock_;
};

struct Bench {
  HandClock clock;
  FakeModule module{clock};
  OutputPass pass{module, {.timeout = milliseconds(200), .heartbeat_period = milliseconds(500)}, clock};
  Wanted wanted;

  // As the engine does it: another event taken, its wish renewed, one exchange.
  OutputImage decide_and_write(Duration later) {
    clock.pass(later);
    wanted.known_at = clock.now();
    ++wanted.applies;
    return write({});
  }
  OutputImage write(Duration later) {
    clock.pass(later);
    pass.once(wanted);
    return module.written.back();
  }
};

bool beat(const OutputImage& image) { return image[OutputKind::heartbeat]; }

}  // namespace

TEST_CASE("the latest wish wins and nothing is queued") {
  WantedSlot slot;
  Wanted wanted;
  wanted.image[OutputKind::raise_permit] = true;
  slot.put(wanted);
  wanted.image[OutputKind::raise_permit] = false;
  wanted.applies = 2;
  slot.put(wanted);
  CHECK(slot.sequence() == 2);
  CHECK_FALSE(slot.wait(seconds(60)).image[OutputKind::raise_permit]);
  CHECK(slot.latest().applies == 2);
}

TEST_CASE("a wish older than one second is written as all off", "[fault-26]") {
  Bench bench;
  bench.wanted.image[OutputKind::raise_permit] = true;
  CHECK(bench.decide_and_write(milliseconds(10))[OutputKind::raise_permit]);
  CHECK(bench.write(seconds(1))[OutputKind::raise_permit]);
  CHECK(bench.write(nanoseconds(1)) == OutputImage{});
}

TEST_CASE("a permit is written no later than its wish lives; what takes away may use the whole time-out") {
  Bench bench;
  bench.wanted.image[OutputKind::raise_permit] = true;
  bench.decide_and_write(milliseconds(10));
  const Instant known = bench.wanted.known_at;
  bench.write(milliseconds(900));
  CHECK(bench.module.until == known + wanted_lives);
  bench.wanted.image = {};
  bench.write({});
  CHECK(bench.module.until == known + milliseconds(1100));
}

TEST_CASE("the heartbeat changes once a period while events are taken and written") {
  Bench bench;
  bench.decide_and_write(milliseconds(100));
  std::vector<bool> levels;
  for (int i = 0; i < 15; ++i) levels.push_back(beat(bench.decide_and_write(milliseconds(100))));
  const std::vector<bool> wanted{true, true, true, true, true, false, false, false, false, false, true, true, true, true, true};
  CHECK(levels == wanted);
}

TEST_CASE("the heartbeat stands still when no event is taken any more", "[fault-26]") {
  Bench bench;
  bench.decide_and_write(milliseconds(100));
  const bool level = beat(bench.decide_and_write(milliseconds(100)));
  for (int i = 0; i < 9; ++i) CHECK(beat(bench.write(milliseconds(100))) == level);
}

TEST_CASE("the heartbeat stands still while the module does not answer") {
  Bench bench;
  bench.decide_and_write(milliseconds(100));
  const bool level = beat(bench.decide_and_write(milliseconds(100)));
  bench.module.flaw = Flaw::no_answer;
  bench.decide_and_write(milliseconds(500));
  for (int i = 0; i < 9; ++i) CHECK(beat(bench.decide_and_write(milliseconds(600))) == !level);
  // One last change: it was due, and the outputs had been written within the period.
}

TEST_CASE("a withheld heartbeat stands still while everything else is written") {
  Bench bench;
  bench.decide_and_write(milliseconds(100));
  const bool level = beat(bench.decide_and_write(milliseconds(100)));
  bench.wanted.withhold_heartbeat = true;
  bench.wanted.image[OutputKind::raise_permit] = true;
  for (int i = 0; i < 20; ++i) {
    const OutputImage image = bench.decide_and_write(milliseconds(100));
    CHECK(beat(image) == level);
    CHECK(image[OutputKind::raise_permit]);
  }
}

TEST_CASE("HOLD sounds in bursts, STOP without a pause, and silence is silence") {
  Bench bench;
  const auto heard = [&](Sound sound) {
    bench.wanted.sound = sound;
    int on = 0;
    for (int i = 0; i < 18; ++i) on += bench.decide_and_write(milliseconds(100))[OutputKind::sounder];
    return on;
  };
  CHECK(heard(Sound::silent) == 0);
  CHECK(heard(Sound::hold) == 8);
  CHECK(heard(Sound::stop) == 18);
}

TEST_CASE("the last image before the end is all off, heartbeat and sounder too") {
  Bench bench;
  bench.wanted.image[OutputKind::raise_permit] = true;
  bench.wanted.sound = Sound::stop;
  bench.decide_and_write(milliseconds(100));
  bench.wanted.last = true;
  CHECK(bench.decide_and_write(milliseconds(100)) == OutputImage{});
}

namespace {

OutputReport report_at(Duration passed) {
  OutputReport report;
  report.at = Instant{} + passed;
  report.readback[static_cast<std::size_t>(OutputKind::raise_permit)] = false;
  return report;
}

}  // namespace

TEST_CASE("a report that says nothing new is told once a second") {
  ReportRule rule;
  CHECK(rule.worth_telling(report_at({})));
  CHECK_FALSE(rule.worth_telling(report_at(milliseconds(999))));
  CHECK(rule.worth_telling(report_at(seconds(1))));
}

TEST_CASE("whatever differs from the report told last is told at once, edges of the heartbeat excepted") {
  ReportRule rule;
  rule.worth_telling(report_at({}));
  OutputReport beating = report_at(milliseconds(100));
  beating.written[OutputKind::heartbeat] = true;
  beating.readback[static_cast<std::size_t>(OutputKind::heartbeat)] = false;
  CHECK_FALSE(rule.worth_telling(beating));
  OutputReport silent = report_at(milliseconds(200));
  silent.flaw = Flaw::no_answer;
  CHECK(rule.worth_telling(silent));
  CHECK_FALSE(rule.worth_telling(silent));
  OutputReport facts = silent;
  facts.facts.simulated = true;
  CHECK(rule.worth_telling(facts));
}

TEST_CASE("every exchange is told while a read-back differs from what was written") {
  ReportRule rule;
  OutputReport differing = report_at({});
  differing.written[OutputKind::raise_permit] = true;
  for (int i = 0; i < 5; ++i) CHECK(rule.worth_telling(differing));
}
