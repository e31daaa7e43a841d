// A trip needs two readings beyond: what one reading shows twice, because another part of the quantity or its gate was read
// meanwhile, counts once.
#include <catch2/catch.hpp>

#include <algorithm>

#include "tests/support/rehearsed.hpp"
#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

constexpr Dimension newtons{Base::force, Per::none}, metres{Base::length, Per::none};
constexpr Duration a_moment = milliseconds(50);

template <class Named>
std::size_t place(const std::vector<Named>& all, const std::string& name) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Named& each) { return each.name == name; });
  REQUIRE(found != all.end());
  return static_cast<std::size_t>(found - all.begin());
}

std::size_t block_of(const Job& job, const std::string& channel) {
  const ChannelId wanted{place(job.rig.channels, channel)};
  for (std::size_t b = 0; b < job.polls.blocks.size(); ++b)
    for (const auto& each : job.polls.blocks[b].channels)
      if (each.channel == wanted) return b;
  FAIL("no block reads " << channel);
  return 0;
}

// `channel` is read by a request of its own.
void read_apart(Job& job, const std::string& channel) {
  Block& from = job.polls.blocks[block_of(job, channel)];
  Block apart = from;
  const ChannelId moved{place(job.rig.channels, channel)};
  std::erase_if(from.channels, [&](const auto& each) { return each.channel == moved; });
  std::erase_if(apart.channels, [&](const auto& each) { return each.channel != moved; });
  job.polls.blocks.push_back(std::move(apart));
}

Limit stop_above(std::string name, QuantityRef of, double si) {
  Limit limit{.name = std::move(name), .of = std::move(of)};
  limit.stop = LevelBound{.above = Bound{.constant = si}, .persist = {}};
  return limit;
}

// Commissioning with one more limit; P3 and G2 are read by requests of their own.
class Apart {
 public:
  explicit Apart(const Limit& limit) : job_{changed(limit)}, site{job_} {
    site.pass(seconds(1));
    REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
    site.pass(seconds(1));
  }
  void reads(const std::string& channel) {
    site.now = site.now + a_moment;
    site.poll(block_of(*job_, channel));
  }
  // The answers of a while ago come in at once, as after a stall.
  void reads_late(const std::string& channel, Duration old) { site.poll(block_of(*job_, channel), old); }
  void reads(const std::string& channel, double value) {
    site.shows(channel, value);
    reads(channel);
  }

 private:
  static std::shared_ptr<const Job> changed(const Limit& limit) {
    auto job = std::make_shared<Job>(*rehearsed("001-ready-to-raise").job);
    read_apart(*job, "P3");
    read_apart(*job, "G2");
    job->plan.stages[0].limits = {limit};
    return job;
  }
  std::shared_ptr<const Job> job_;

 public:
  Site site;
};

const QuantityRef total_of_loads{.kind = QuantityKind::total_load, .dimension = newtons};

// Since the start of the stage: no baseline is needed.
QuantityRef head(const Job& job) {
  return {.kind = QuantityKind::movement, .subjects = {static_cast<std::uint16_t>(place(job.rig.points, "HEAD"))},
          .since = Since::stage_start, .dimension = metres};
}

QuantityRef load_of_first() { return {.kind = QuantityKind::load, .subjects = {0}, .dimension = newtons}; }

}  // namespace

TEST_CASE("a spike in one part of a sum counts once, however often the other parts are read") {
  Apart apart(stop_above("total", total_of_loads, 100 * kN));
  apart.reads("P1", 200 * bar);
  for (int i = 0; i < 5; ++i) apart.reads("P3");
  CHECK_FALSE(apart.site.has("total", Level::stop));
  apart.reads("P1", 0);
  apart.reads("P3");
  CHECK_FALSE(apart.site.has("total", Level::stop));
}

TEST_CASE("a part of a sum that is beyond by itself trips with its own second reading") {
  Apart apart(stop_above("total", total_of_loads, 100 * kN));
  apart.reads("P1", 200 * bar);
  apart.reads("P1");
  CHECK(apart.site.has("total", Level::stop));
}

TEST_CASE("readings that come in together after a stall are as many as were taken") {
  Apart apart(stop_above("total", total_of_loads, 100 * kN));
  apart.site.shows("P1", 200 * bar);
  apart.site.now = apart.site.now + milliseconds(300);
  apart.reads_late("P1", milliseconds(200));
  CHECK_FALSE(apart.site.has("total", Level::stop));
  apart.reads_late("P1", milliseconds(100));
  CHECK(apart.site.has("total", Level::stop));
}

TEST_CASE("what is beyond only by several parts together trips when the slowest of them has been read again") {
  Apart apart(stop_above("total", total_of_loads, 100 * kN));
  apart.reads("P1", 70 * bar);
  apart.reads("P3", 70 * bar);  // 133 kN with the other, 67 kN alone.
  for (int i = 0; i < 5; ++i) apart.reads("P1");
  CHECK_FALSE(apart.site.has("total", Level::stop));
  apart.reads("P3");
  CHECK(apart.site.has("total", Level::stop));
}

TEST_CASE("another part that goes beyond meanwhile is evidence of its own") {
  Apart apart(stop_above("total", total_of_loads, 100 * kN));
  apart.reads("P3", 200 * bar);
  apart.reads("P1", 200 * bar);
  CHECK(apart.site.has("total", Level::stop));
}

TEST_CASE("the worst gauge of a point trips by itself and does not wait for its twin") {
  const auto job = rehearsed("001-ready-to-raise").job;
  Apart apart(stop_above("head", head(*job), 1 * mm));
  apart.reads("G1", 2 * mm);
  apart.reads("G1");
  CHECK(apart.site.has("head", Level::stop));
}

TEST_CASE("a spike of the slower twin counts once, however often the other is read") {
  const auto job = rehearsed("001-ready-to-raise").job;
  Apart apart(stop_above("head", head(*job), 1 * mm));
  apart.reads("G2", 2 * mm);
  for (int i = 0; i < 5; ++i) apart.reads("G1");
  CHECK_FALSE(apart.site.has("head", Level::stop));
  apart.reads("G2", 0);
  apart.reads("G1");
  CHECK_FALSE(apart.site.has("head", Level::stop));
}

TEST_CASE("a twin that goes beyond is evidence of its own") {
  const auto job = rehearsed("001-ready-to-raise").job;
  Apart apart(stop_above("head", head(*job), 1 * mm));
  apart.reads("G2", 2 * mm);
  apart.reads("G1", 2 * mm);
  CHECK(apart.site.has("head", Level::stop));
}

TEST_CASE("a gate that is read is no reading of what it gates") {
  const auto job = rehearsed("001-ready-to-raise").job;
  Limit limit{.name = "load", .of = load_of_first()};
  limit.hold = LevelBound{.above = Bound{.constant = 50 * kN}, .persist = {}};
  limit.when = Gate{.of = {.kind = QuantityKind::temperature, .subjects = {static_cast<std::uint16_t>(place(job->rig.channels, "T1"))},
                           .dimension = {Base::temperature, Per::none}},
                    .above = Bound{.constant = 250}};
  Apart apart(limit);
  apart.site.shows("T1", 291);
  apart.reads("T1");
  apart.reads("P1", 200 * bar);
  for (int i = 0; i < 5; ++i) apart.reads("T1");
  CHECK_FALSE(apart.site.has("load", Level::hold));
  apart.reads("P1");
  CHECK(apart.site.has("load", Level::hold));
}

}  // namespace standfast::test
