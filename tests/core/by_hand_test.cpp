// Channels that a person reads and enters: a surveyor's level every minute, a feeler every two (tests/scenarios/by-hand).
#include <catch2/catch.hpp>

#include "tests/core/by_hand_site.hpp"

namespace standfast::test {

TEST_CASE("a channel read by hand that nobody has entered is a HOLD as soon as a stage needs it, and nothing before") {
  Site site = fresh();
  CHECK_FALSE(site.has("instrument LEVEL", Level::hold));
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
  CHECK(site.has("instrument LEVEL", Level::hold));
  CHECK_FALSE(site.has("instrument FEELER", Level::hold));  // No limit of this stage needs it.
}

TEST_CASE("what is entered beyond a level trips it at once: the double entry is two readings and persist does not apply") {
  struct Case { const char* value; Level level; };
  for (const auto& [value, level] : {Case{"1.0 mm", Level::none}, Case{"1.1 mm", Level::review}, Case{"2.0 mm", Level::review},
                                     Case{"2.1 mm", Level::hold}, Case{"-2.0 mm", Level::none}, Case{"-2.1 mm", Level::hold},
                                     Case{"4.0 mm", Level::hold}, Case{"4.1 mm", Level::stop}, Case{"-4.1 mm", Level::stop}}) {
    Site site = commissioning();
    INFO(value);
    const Instant at = site.now;
    CHECK(enter(site, "LEVEL", value) == "done");
    CHECK(site.now == at);
    CHECK(site.signal() == level);
    site.pass(seconds(20));
    CHECK(site.signal() == level);
  }
}

TEST_CASE("a reading that was entered wrongly is corrected by another, and what it tripped stays latched") {
  Site site = commissioning();
  REQUIRE(enter(site, "LEVEL", "2.4 mm") == "done");
  CHECK(site.act({.what = Act::reset, .by = supervisor}) == "condition-present");
  REQUIRE(enter(site, "LEVEL", "0.4 mm") == "done");
  CHECK(site.signal() == Level::hold);
  reset_all(site);
  CHECK(site.signal() == Level::none);
}

TEST_CASE("both entries must be the same to less than a step of the resolution, and both are shown where they are not") {
  Site site = commissioning();
  CHECK(enter(site, "LEVEL", "0.7 mm", "0.8 mm") == "not-the-same");  // Just one step apart.
  CHECK(words_of(site) == "entered 0.7 mm and then 0.8 mm: look again, and enter both anew");
  CHECK(enter(site, "LEVEL", "0.7 mm", "-0.7 mm") == "not-the-same");
  CHECK(reading_of(site, "LEVEL").value.si == 0.4 * mm);
  CHECK(enter(site, "LEVEL", "0.70 mm", "0.0007 m") == "done");
  CHECK(enter(site, "LEVEL", "0.7 mm", "0.79 mm") == "done");
  CHECK(reading_of(site, "LEVEL").value.si == 0.7 * mm);
  CHECK(site.act({.what = Act::enter_reading, .object = "LEVEL", .value = "0.7 mm", .by = surveyor}) == "not-twice");
}

TEST_CASE("a channel without a resolution takes two entries only where nothing tells them apart") {
  Site site = fresh();
  change_job(site, [](Job& job) { channel_of(job, "LEVEL").resolution = 0; });
  CHECK(enter(site, "LEVEL", "0.7 mm", "0.700001 mm") == "not-the-same");
  CHECK(enter(site, "LEVEL", "0.7 mm", "0.7 mm") == "done");
}

TEST_CASE("an entry needs its unit, and one beyond the range and its margin is refused with the range named") {
  Site site = commissioning();
  CHECK(enter(site, "LEVEL", "0.7") == "unreadable");
  CHECK(enter(site, "LEVEL", "0,7 mm") == "unreadable");
  CHECK(enter(site, "LEVEL", "7 bar") == "unreadable");
  CHECK(enter(site, "LEVEL", "0.7 mm", "0.7") == "unreadable");
  CHECK(enter(site, "LEVEL", "24.1 mm") == "outside-range");  // -20 to 20 mm, and a tenth of that either side.
  CHECK(words_of(site) == "24.1 mm lies outside the range of LEVEL, -20.000 mm to 20.000 mm");
  CHECK(site.signal() == Level::none);
  CHECK(enter(site, "LEVEL", "24.0 mm") == "done");
  CHECK(reading_of(site, "LEVEL").cause == Cause::outside_range);
  CHECK(site.signal() == Level::stop);
}

TEST_CASE("everybody on site may enter a reading, but no auditor and nobody without a name") {
  for (const PersonClaim& by : {surveyor, technician, supervisor, engineer}) {
    Site site = commissioning();
    CHECK(enter(site, "LEVEL", "0.7 mm", "0.7 mm", by) == "done");
  }
  for (const PersonClaim& by : {auditor, nobody}) {
    Site site = commissioning();
    CHECK(enter(site, "LEVEL", "0.7 mm", "0.7 mm", by) == "not-permitted");
    CHECK(reading_of(site, "LEVEL").value.si == 0.4 * mm);
  }
}

TEST_CASE("only a channel that is read by hand takes an entry, and a mistyped one is asked about") {
  Site site = commissioning();
  CHECK(enter(site, "G1", "0.1 mm") == "not-by-hand");
  CHECK(words_of(site) == "G1 is read over bus manifold");
  CHECK(enter(site, "LEVLE", "0.1 mm") == "unknown-channel");
  CHECK(words_of(site) == "no channel 'LEVLE' in the rig; did you mean 'LEVEL'?");
}

TEST_CASE("a reading that was meant is not kept as a note") {
  Site site = commissioning();
  const auto note = [&](const std::string& subject, const std::string& words) {
    return site.act({.what = Act::enter_note, .object = subject, .value = words, .by = surveyor});
  };
  CHECK(note("LEVEL", "0.7 mm") == "not-a-note");
  CHECK(note("LEVEL", "read in the rain") == "not-a-note");
  CHECK(note("LEVLE", "0.7 mm") == "not-a-note");
  CHECK(note("levels", "read in the rain") == "done");
  CHECK(note("gap at north", "0.7 mm") == "done");
}

TEST_CASE("a reading as old as its period is due: no new permit, and no acceptance; a permit that runs goes on") {
  Site site = commissioning();
  REQUIRE(commission(site) == "done");
  const Instant entered = reading_of(site, "LEVEL").newest;
  site.pass(entered + minutes(1) - site.now - nanoseconds(1), milliseconds(500));
  CHECK(site.signal() == Level::none);
  site.pass(nanoseconds(1));
  CHECK(reading_of(site, "LEVEL").cause == Cause::entry_overdue);
  CHECK(site.has("instrument LEVEL", Level::review));
  CHECK(site.state().permit.given());
  REQUIRE(site.act({.what = Act::permit_end}) == "done");
  CHECK(commission(site) == "entry-overdue");
  CHECK(site.act({.what = Act::accept_uncertain, .object = "LEVEL", .by = engineer}) == "entry-overdue");
  REQUIRE(enter(site, "LEVEL", "0.4 mm") == "done");
  CHECK(commission(site) == "done");
}

TEST_CASE("a reading that is due and doubted for another reason, which is accepted, gives no permit all the same") {
  Site site = commissioning();
  change_job(site, [](Job& job) {
    channel_of(job, "LEVEL").certificate.due = "2000-01-01";
    job.rig_sha256 += "1";
  });
  site.pass(seconds(1));
  REQUIRE(enter(site, "LEVEL", "0.4 mm") == "done");
  reset_all(site);
  REQUIRE(site.act({.what = Act::accept_uncertain, .object = "LEVEL", .by = engineer}) == "done");
  site.pass(minutes(1), milliseconds(500));
  REQUIRE(reading_of(site, "LEVEL").cause == Cause::certificate_overdue);
  CHECK(commission(site) == "entry-overdue");
}

TEST_CASE("a reading twice as old as its period is no reading: HOLD, the permit ends, and an entry and a reset bring it back") {
  Site site = commissioning();
  REQUIRE(commission(site) == "done");
  const Instant entered = reading_of(site, "LEVEL").newest;
  site.pass(entered + minutes(2) - site.now - nanoseconds(1), milliseconds(500));
  CHECK(site.signal() == Level::review);
  CHECK(site.state().permit.given());
  site.pass(nanoseconds(1));
  CHECK(reading_of(site, "LEVEL").quality == Quality::bad);
  CHECK(site.has("instrument LEVEL", Level::hold));
  for (const Alarm& alarm : site.state().alarms.open)
    if (alarm.subject == "instrument LEVEL" && alarm.level == Level::hold)
      CHECK(alarm.say == "Stop pumping. Keep pressure. Read it by hand and enter it.");
  CHECK_FALSE(site.state().permit.given());
  REQUIRE(enter(site, "LEVEL", "0.5 mm") == "done");
  CHECK(site.signal() == Level::hold);
  site.pass(seconds(5));
  site.act({.what = Act::acknowledge});
  CHECK(site.act({.what = Act::reset, .by = technician}) == "done");
  CHECK(site.signal() == Level::none);
}

TEST_CASE("time alone, told or not, makes a reading due and stale at the same instants") {
  const auto instants = [](Duration every) {
    Site site = commissioning();
    std::vector<Instant> decided;
    site.watch = [&](const Event&, const Effects& effects) {
      for (std::size_t i = 0; i < effects.rows.size(); ++i)
        if (std::holds_alternative<SignalChange>(effects.rows[i])) decided.push_back(effects.instants[i]);
    };
    site.pass(minutes(3), every);
    return decided;
  };
  const auto fine = instants(milliseconds(100));
  REQUIRE(fine.size() == 2);
  CHECK(fine[1] - fine[0] == minutes(1));
  CHECK(instants(milliseconds(700)) == fine);
}

TEST_CASE("a stage may ask for a reading by hand more often") {
  Site site = commissioning();
  change_job(site, [](Job& job) {
    channel_of(job, "LEVEL").every = hours(12);
    channel_of(job, "LEVEL").stale_after = hours(24);
    const ChannelId level{std::size_t{place_by_name(job.rig.channels, "LEVEL")}};
    stage_of(job, "Commission").polls = {{level, minutes(10), minutes(20)}};
  });
  site.pass(seconds(1));
  reset_all(site);
  const Instant entered = reading_of(site, "LEVEL").newest;
  site.pass(entered + minutes(10) - site.now, milliseconds(500));
  CHECK(site.has("instrument LEVEL", Level::review));
  site.pass(minutes(10), milliseconds(500));
  CHECK(site.has("instrument LEVEL", Level::hold));
}

TEST_CASE("a limit that comes into force judges what has been entered, though its next reading is hours away") {
  Site site = fresh();
  REQUIRE(enter(site, "LEVEL", "4.1 mm") == "done");
  reset_all(site);
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Commission", .by = supervisor}) == "done");
  CHECK(site.has("level", Level::stop));
}

TEST_CASE("a limit whose gate opens judges what has been entered") {
  Site site = commissioning();
  change_job(site, [](Job& job) {
    Limit& limit = stage_of(job, "Commission").limits[0];
    limit.stop.reset();
    Gate gate;
    gate.of = {.kind = QuantityKind::pressure, .subjects = {0}, .dimension = {Base::pressure, Per::none}};
    gate.above = Bound{.constant = 10 * bar};
    limit.when = gate;
  });
  site.pass(seconds(1));
  reset_all(site);
  REQUIRE(enter(site, "LEVEL", "2.1 mm") == "done");
  CHECK(site.signal() == Level::none);
  site.shows("P1", 20 * bar);
  site.pass(milliseconds(300));
  CHECK(site.has("level", Level::hold));
}

TEST_CASE("a mark of a channel read by hand is its newest good entry in the window, and the baseline waits for one") {
  Site site = fresh();
  REQUIRE(enter(site, "LEVEL", "9.9 mm") == "done");  // Before the baseline began.
  REQUIRE(site.act({.what = Act::stage_skip, .object = "Commission", .by = engineer, .with = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Baseline", .by = supervisor}) == "done");
  site.pass(seconds(2));
  REQUIRE(enter(site, "LEVEL", "1.5 mm") == "done");
  site.pass(seconds(1));
  REQUIRE(enter(site, "LEVEL", "1.2 mm") == "done");
  site.pass(seconds(8));
  CHECK_FALSE(baseline_of(site, "LEVEL"));
  REQUIRE(criterion_text(site, "baseline taken") == "enter FEELER");
  REQUIRE(enter(site, "FEELER", "0.30 mm") == "done");
  REQUIRE(baseline_of(site, "LEVEL"));
  CHECK(baseline_of(site, "LEVEL")->value == 1.2 * mm);
  CHECK(baseline_of(site, "LEVEL")->readings == 1);
  CHECK(baseline_of(site, "LEVEL")->standard_error == reading_of(site, "LEVEL").uncertainty);
  CHECK(baseline_of(site, "FEELER")->value == 0.3 * mm);
  CHECK(baseline_of(site, "G1")->readings > 5);
}

TEST_CASE("movement since the baseline of a point that is read by hand trips at its entry") {
  Site site = at_baseline();
  REQUIRE(enter(site, "LEVEL", "1.2 mm") == "done");
  REQUIRE(enter(site, "FEELER", "0.3 mm") == "done");
  site.pass(seconds(1));
  reset_all(site);
  site.act({.what = Act::stage_propose, .by = technician});
  REQUIRE(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Snug", .by = supervisor}) == "done");
  CHECK(enter(site, "LEVEL", "3.2 mm") == "done");
  CHECK(site.signal() == Level::none);
  CHECK(enter(site, "LEVEL", "3.3 mm") == "done");
  CHECK(site.has("bench", Level::hold));
  CHECK(enter(site, "LEVEL", "5.3 mm") == "done");
  CHECK(site.has("bench", Level::stop));
}

TEST_CASE("a gauge on a wire and a feeler of the same point are compared at the entry, and one spike trips nothing by it") {
  Site site = at_baseline();
  REQUIRE(enter(site, "LEVEL", "1.2 mm") == "done");
  REQUIRE(enter(site, "FEELER", "0.3 mm") == "done");
  site.pass(seconds(1));
  reset_all(site);
  site.act({.what = Act::stage_propose, .by = technician});
  REQUIRE(site.act({.what = Act::stage_approve, .by = engineer}) == "done");
  REQUIRE(site.act({.what = Act::stage_enter, .object = "Snug", .by = supervisor}) == "done");
  for (int step = 1; step <= 20; ++step) {
    site.shows("G1", 0.05 * step * mm);
    site.pass(milliseconds(200));
  }
  CHECK_FALSE(site.has("gauges of HEAD", Level::hold));  // The feeler was read before it moved.
  CHECK(enter(site, "FEELER", "1.2 mm") == "done");
  CHECK(site.signal() == Level::none);
  CHECK(enter(site, "FEELER", "0.6 mm") == "done");
  CHECK(site.has("gauges of HEAD", Level::hold));
  reset_all(site);
  site.pass(seconds(1));
  reset_all(site);
  // One answer alone is beyond the limit of the point while the feeler, which is not, is entered.
  site.shows("G1", 1.6 * mm);
  for (std::size_t block = 0; block < site.job().polls.blocks.size(); ++block) site.poll(block);
  CHECK(enter(site, "FEELER", "1.3 mm") == "done");
  CHECK_FALSE(site.has("head", Level::hold));
}

TEST_CASE("a restart, of the daemon or the machine, keeps what was entered and its age") {
  for (const char* boot : {"a boot", "another boot"}) {
    Site site = commissioning();
    const Instant entered = reading_of(site, "LEVEL").newest;
    auto again = Engine::from_snapshot(site.engine.snapshot(), site.state().job);
    REQUIRE(again);
    site.engine = std::move(*again);
    site.wall.ns += seconds(30).ns;
    if (boot == std::string("a boot")) site.now = site.now + seconds(30);
    else site.now = Instant{} + seconds(5);
    site.tell(Started{boot, "a test", false});
    site.tell(JobInForce{site.shared_job()});
    CHECK(reading_of(site, "LEVEL").value.si == 0.4 * mm);
    CHECK(reading_of(site, "LEVEL").newest == entered);
    CHECK(site.state().now - entered >= seconds(30));
    CHECK(reading_of(site, "LEVEL").quality == Quality::good);
    site.pass(entered + minutes(1) - site.state().now, milliseconds(500));
    CHECK(reading_of(site, "LEVEL").cause == Cause::entry_overdue);
  }
}

TEST_CASE("another revision keeps what was entered where the channel is the same, and judges it by its own limits") {
  Site site = commissioning();
  change_job(site, [](Job& job) {
    stage_of(job, "Commission").limits[0].hold->above = Bound{.constant = 0.3 * mm};
    stage_of(job, "Commission").limits[0].review.reset();
  });
  CHECK(reading_of(site, "LEVEL").value.si == 0.4 * mm);
  CHECK(site.has("level", Level::hold));
}

TEST_CASE("a feeler makes no frozen gauge of its twin: hours lie between two entries") {
  Site site = at_baseline();
  REQUIRE(enter(site, "FEELER", "0.3 mm") == "done");
  site.pass(seconds(40));
  REQUIRE(enter(site, "FEELER", "1.3 mm") == "done");
  site.pass(seconds(40));
  CHECK(reading_of(site, "G1").cause != Cause::frozen);
}

TEST_CASE("a gauge that steps alone is told although a feeler of its point was entered long before") {
  Site site = at_baseline();
  REQUIRE(enter(site, "LEVEL", "1.2 mm") == "done");
  REQUIRE(enter(site, "FEELER", "0.3 mm") == "done");
  site.pass(seconds(1));
  REQUIRE(baseline_of(site, "G1"));
  site.shows("G1", 1 * mm);
  site.pass(seconds(3));
  CHECK(reading_of(site, "G1").cause == Cause::lone_step);
}

TEST_CASE("a rate over entries has a value after five of them, and trips at the entry that shows it") {
  Site site = commissioning();
  change_job(site, [](Job& job) {
    Limit limit{.name = "sinking", .of = stage_of(job, "Commission").limits[0].of};
    limit.of.rate = true;
    limit.of.over = minutes(4);
    limit.of.dimension.per = Per::second;
    limit.hold = LevelBound{.above = Bound{.constant = 1.5e-3 / 60}, .below = {}, .persist = minutes(1)};
    stage_of(job, "Commission").limits = {limit};
    job.plan_sha256 += "1";
  });
  site.pass(seconds(1));
  for (const char* value : {"0 mm", "1 mm", "2 mm", "3 mm", "4 mm", "9 mm"}) {
    CHECK_FALSE(site.has("sinking", Level::hold));
    REQUIRE(enter(site, "LEVEL", value) == "done");
    if (value != std::string("9 mm")) site.pass(seconds(50), milliseconds(500));
  }
  CHECK(site.has("sinking", Level::hold));
}

}  // namespace standfast::test
