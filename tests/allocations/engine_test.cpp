// What deciding costs in memory: nothing, once everything has been seen. Counted is every operator new within Engine::apply,
// event by event. What an event changes is told in rows, and rows are memory: such events are left out, and there are few.
#include <catch2/catch.hpp>

#include <fstream>
#include <iterator>

#include "config/load_stages.hpp"
#include "tests/allocations/counted.hpp"
#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

// Of every quantity that the scenarios' raise stage does not watch, a limit that nothing comes near.
constexpr const char* more_limits = R"(
      - {of: pressure J*, hold: {above: 600 bar}}
      - {of: "load circuit *", hold: {above: 1200 kN}}
      - {of: load group FRONT, hold: {above: 1200 kN}}
      - {of: load total, hold: {above: 105 % of column_load}, stop: {above: high column_load}}
      - {of: transferred, hold: {above: 110 %}}
      - {of: differential BASE_A BASE_B, since: baseline, hold: {beyond: 3 mm}}
      - {of: tilt HEAD BASE_A BASE_B, since: baseline, hold: {above: 50 mrad}}
      - {of: warp HEAD BASE_A BASE_B BACK, since: baseline, hold: {beyond: 20 mm}}
      - {of: rate tilt HEAD BASE_A BASE_B, over: 10 s, hold: {above: 50 mrad/min}}
      - {of: travel J*, since: baseline, hold: {above: 100 mm}}
      - {of: travel left J*, hold: {below: 10 mm}}
      - {of: load lost J*, since: stage start, hold: {above: 100 kN}}
      - {of: departure J*, hold: {beyond: 50 mm}}
      - {of: stiffness ratio J*, hold: {below: 1 %}}
      - {of: creep HEAD, hold: {beyond: 20 mm/decade}}
      - {of: temperature T3, hold: {above: 60 degC}}
      - {of: temperature change T1, since: stage start, hold: {beyond: 30 K}}
      - {of: agreement HEAD, hold: {above: 5 mm}}
      - {of: pressure spread *, hold: {above: 200 bar}}
      - {of: channel S1, hold: {above: 140 mm}}
    proceed_when:
      - {reading_sets: all}
      - {of: share J*, from: planned, at_least: -10 % of share, at_most: 10 % of share}
      - {of: load J*, at_least: 95 % of target, at_most: 105 % of target}
      - {of: rate movement HEAD, over: 10 s, at_least: -1 mm/min, at_most: 1 mm/min}
)";

std::string with(std::string text, const std::string& behind, const std::string& added) {
  const auto at = text.rfind(behind);
  REQUIRE(at != std::string::npos);
  return text.insert(at + behind.size(), added);
}

std::string predicted(const std::string& travel) {
  std::string text;
  for (const char* jack : {"J1", "J2", "J3", "J4"})
    text += std::string(text.empty() ? "\n        predicted: {" : ", ") + jack + ": {travel: " + travel + ", within: 1 mm}";
  return text + "}";
}

std::string plan_text() {
  std::ifstream file(TEST_DATA "/scenarios/stages.yaml");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const std::string back = "\n    - {of: movement BACK, since: baseline, stop: {beyond: 6 mm}}";
  const std::string guarded = with(text, "limit_sets:\n  structure:", back);
  const std::string planned = with(with(guarded, "- load: 25 %", predicted("2 mm")), "- load: 50 %", predicted("3 mm"));
  return with(planned, "review: {beyond: 2 mm/min}", more_limits);
}

// A point out of the line of the others, so that there is a plane; a channel with a median.
std::shared_ptr<const Job> with_every_quantity(const Job& before) {
  auto job = std::make_shared<Job>(before);
  Point back = job->rig.points[0];
  back.name = "BACK";
  back.at = Position{0, 0.5};
  job->rig.points.push_back(back);
  job->rig.points[0].at = Position{0, -0.5};
  job->rig.channels.back().median = 5;
  const auto plan = load_stages(plan_text(), "stages.yaml", job->rig);
  for (const Finding& finding : plan.findings) UNSCOPED_INFO(finding.code << ": " << finding.found << ", expected: " << finding.expected);
  REQUIRE(plan.value);
  job->plan = *plan.value;
  job->plan_sha256 = "another plan";
  return job;
}

// The raise stage with a permit, its second step under way.
Site raising() {
  Site site("002-to-full-step");
  site.tell(JobInForce{with_every_quantity(site.job())});
  load_to(site, 0.4);
  site.pass(seconds(20));
  reset_all(site);
  INFO(site.alarms());
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  site.pass(seconds(1));
  return site;
}

// Every reading differs from the one before by some steps of its instrument, as on a site.
void flicker(Site& site, double part, int poll) {
  load_to(site, part + 1e-4 * (poll % 3));
  site.shows("G1", 0.01 * mm * (poll % 4));
  site.shows("G2", 0.01 * mm * (poll % 5));
  site.shows("B1", -0.01 * mm * (poll % 3));
}

struct Counted { int quiet{0}, costly{0}; std::int64_t most{0}; std::size_t kind{0}; };

// Plays `work` on one site and tells an engine that stands alike the same events, each counted. Quiet: without a row.
template <class Work>
Counted counted(Site& site, Work work, Duration warm_up) {
  std::vector<Event> events;
  auto twin = Engine::from_snapshot(site.engine.snapshot(), std::make_shared<Job>(*site.engine.state().job));
  REQUIRE(twin);
  const Instant warm_at = site.now + warm_up;
  site.watch = [&](const Event& event, const Effects&) { events.push_back(event); };
  work();
  site.watch = nullptr;
  Counted result;
  for (const Event& event : events) {
    std::size_t rows = 0;
    const auto cost = allocations_of([&] { rows = twin->apply(event).rows.size(); });
    if (rows > 0 || event.at < warm_at) continue;
    ++result.quiet;
    if (cost == 0) continue;
    ++result.costly;
    result.most = std::max(result.most, cost);
    result.kind = event.what.index();
  }
  return result;
}

void check_free(const Counted& seen) {
  CAPTURE(seen.quiet, seen.costly, seen.most, seen.kind);
  CHECK(seen.quiet > 1000);
  CHECK(seen.costly == 0);
}

}  // namespace

TEST_CASE("while a load is raised and all stays within limits, deciding on an answer takes no memory") {
  Site site = raising();
  const auto work = [&] {
    for (int poll = 0; poll < 1200; ++poll) {
      flicker(site, 0.4, poll);
      site.pass(milliseconds(100));
    }
  };
  check_free(counted(site, work, seconds(30)));
  CHECK(site.state().permit.kind == PermitKind::raise);
  CHECK(site.signal() == Level::none);
}

TEST_CASE("while a load is observed, and when all that its step asks for is met, deciding takes no memory") {
  Site site = raising();
  const auto work = [&] {
    for (int poll = 0; poll < 1200; ++poll) {
      flicker(site, 0.5, poll);
      site.pass(milliseconds(100));
    }
  };
  check_free(counted(site, work, seconds(30)));
  CHECK(state_of(site.state().run) == StageState::criteria_met);
}

TEST_CASE("what stands beyond a limit is told anew with every event, and that is memory") {
  Site site = raising();
  site.shows("G1", 1.0 * mm);
  site.shows("G2", 1.0 * mm);
  site.pass(seconds(5));
  REQUIRE(site.has("head", Level::review));
  const Counted seen = counted(site, [&] { site.pass(seconds(60)); }, seconds(30));
  CHECK(seen.costly > 0);
  CHECK(seen.most <= 40);
}

}  // namespace standfast::test
