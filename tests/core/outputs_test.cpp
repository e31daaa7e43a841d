// What the output module says, held against what was written; and what each output is wanted to be.
#include <catch2/catch.hpp>

#include "tests/core/changes.hpp"
#include "tests/support/site.hpp"

namespace standfast::test {
namespace {

using rehearse::ModuleFault;

constexpr auto raise_bit = static_cast<std::size_t>(OutputKind::raise_permit);

// A module's reports, one by one.
struct Watched {
  OutputWatch watch;
  Instant now{};
  ModuleFacts facts{.watchdog = seconds(2), .safe_values_as_stated = true, .power_on_values_as_stated = true};

  void report(bool written, std::optional<bool> readback, Flaw flaw = Flaw::none) {
    now = now + milliseconds(100);
    OutputReport each{.at = now, .flaw = flaw};
    each.facts = facts;
    each.written.on[raise_bit] = written;
    each.readback[raise_bit] = readback;
    take(watch, each, milliseconds(300));
  }
  OutputModuleStatement module = [] {
    OutputModuleStatement stated;
    stated.watchdog_at_most = seconds(2);
    stated.watchdog_register = 40;
    stated.safe_values.resize(2);
    stated.safe_values[0].address = 41;
    stated.safe_values[1].address = 43;
    stated.power_on_values.resize(1);
    stated.power_on_values[0].address = 42;
    return stated;
  }();
  std::vector<Condition> conditions(bool site_stop = false) const {
    Rig rig;
    rig.output_module = module;
    std::vector<Condition> all;
    add_conditions(watch, rig, site_stop, now, all);
    return all;
  }
};

Watched settled(bool written) {
  Watched watched;
  for (int i = 0; i < 5; ++i) watched.report(written, written);
  return watched;
}

Site raising() {
  Site site("002-to-full-step");
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  site.pass(seconds(1));
  return site;
}

}  // namespace

TEST_CASE("commanded off and read on is a STOP, by the second read-back in a row", "[fault-22]") {
  Watched watched = settled(false);
  watched.report(false, true);
  CHECK(watched.conditions().empty());
  watched.report(false, true);
  REQUIRE(watched.conditions().size() == 1);
  CHECK(watched.conditions()[0].level == Level::stop);
  CHECK(watched.conditions()[0].cause == Cause::output_stuck_on);
}

TEST_CASE("an output that another hand switched on is a HOLD at once, though it has been written off again", "[fault-25]") {
  Watched watched = settled(false);
  watched.report(false, true, Flaw::energised_by_another);
  REQUIRE(watched.conditions().size() == 1);
  CHECK(watched.conditions()[0].level == Level::hold);
  CHECK(watched.conditions()[0].cause == Cause::output_energised_by_another);
  CHECK_FALSE(watched.watch.failing_since.has_value());
  watched.report(false, false);
  CHECK(watched.conditions().empty());
  for (int i = 0; i < 2; ++i) watched.report(false, true, Flaw::energised_by_another);
  CHECK(std::ranges::any_of(watched.conditions(), [](const Condition& c) { return c.cause == Cause::output_stuck_on; }));
}

TEST_CASE("commanded on and read off is a HOLD, and the site's stop where that input says so", "[fault-22]") {
  Watched watched = settled(true);
  watched.report(true, false);
  watched.report(true, false);
  REQUIRE(watched.conditions().size() == 1);
  CHECK(watched.conditions()[0].level == Level::hold);
  CHECK(watched.conditions()[0].cause == Cause::output_circuit_open);
  CHECK(watched.conditions(true)[0].cause == Cause::site_stop);
}

TEST_CASE("one read-back that agrees begins the count anew") {
  Watched watched = settled(false);
  for (int i = 0; i < 5; ++i) {
    watched.report(false, true);
    watched.report(false, false);
  }
  CHECK(watched.conditions().empty());
}

TEST_CASE("a contact has its time to settle after a change") {
  Watched watched = settled(false);
  for (int i = 0; i < 4; ++i) watched.report(true, false);  // At 0, 100, 200 and 300 ms after the change.
  CHECK(watched.conditions().empty());
  watched.report(true, false);
  CHECK(watched.conditions().size() == 1);
}

TEST_CASE("a module that answers nothing for a second is silent, one lost answer is not", "[fault-21]") {
  Watched watched = settled(true);
  watched.report(true, {}, Flaw::no_answer);
  CHECK_FALSE(is_silent(watched.watch, watched.now));
  for (int i = 0; i < 9; ++i) watched.report(true, {}, Flaw::no_answer);
  CHECK_FALSE(is_silent(watched.watch, watched.now));
  watched.report(true, {}, Flaw::no_answer);
  CHECK(is_silent(watched.watch, watched.now));
  CHECK(watched.conditions()[0].level == Level::hold);
  watched.report(true, true);
  CHECK_FALSE(is_silent(watched.watch, watched.now));
}

TEST_CASE("a module of which nothing at all is heard is silent too, by time alone", "[fault-21]") {
  Site site = raising();
  site.module_answers(false);
  site.pass(milliseconds(2400));
  CHECK(site.signal() == Level::none);
  site.pass(milliseconds(300));
  CHECK(site.has("output module", Level::hold));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
}

TEST_CASE("a contact that stays on when the permit has gone is a STOP for the whole site", "[fault-22]") {
  Site site = raising();
  site.module_meets(ModuleFault::contact_welded);
  site.act({.what = Act::permit_end});
  site.pass(seconds(1));
  CHECK(site.has("output raise permit", Level::stop));
  CHECK_FALSE(site.newest().wanted[OutputKind::stop_relay]);
}

TEST_CASE("a setting of the module that is not as stated is a HOLD with the register's number", "[fault-23]") {
  Watched watched;
  const auto names = [&] {
    watched.report(false, false);
    std::vector<std::string> subjects;
    for (const Condition& condition : watched.conditions()) {
      CHECK(condition.cause == Cause::output_module_settings);
      CHECK(condition.level == Level::hold);
      subjects.push_back(condition.subject);
    }
    return subjects;
  };
  CHECK(names().empty());
  for (const auto& wrong : {std::optional<Duration>{}, std::optional{Duration{}}, std::optional{milliseconds(2001)}}) {
    watched.facts.watchdog = wrong;
    CHECK(names() == std::vector<std::string>{"output module register 40"});
  }
  watched.facts = {.watchdog = seconds(2), .safe_values_as_stated = false, .power_on_values_as_stated = true};
  CHECK(names() == std::vector<std::string>{"output module registers 41 43"});
  watched.facts = {.watchdog = seconds(2), .safe_values_as_stated = true, .power_on_values_as_stated = false};
  CHECK(names() == std::vector<std::string>{"output module register 42"});
  watched.module = {};  // Nothing stated: never fine.
  watched.facts = {};
  CHECK(names() == std::vector<std::string>{"output module watchdog", "output module values on watchdog",
                                            "output module values at power-on"});
}

TEST_CASE("a site stop is a HOLD, and one that nobody can read any more is one too") {
  Site site = raising();
  site.input_happens("site_stop", true);
  site.pass(milliseconds(200));
  CHECK(site.has("site stop", Level::hold));
  CHECK_FALSE(site.newest().wanted[OutputKind::raise_permit]);
  Site unread = raising();
  for (std::size_t b = 0; b < unread.job().polls.blocks.size(); ++b)
    if (!unread.job().polls.blocks[b].inputs.empty()) unread.block_is_missing(b);
  unread.pass(milliseconds(1900));
  CHECK(unread.signal() == Level::none);
  unread.pass(milliseconds(300));
  CHECK(unread.has("input site_stop", Level::hold));
  CHECK(alarm_of(unread, "input site_stop", Level::hold)->cause == Cause::stale);
  CHECK_FALSE(unread.newest().wanted[OutputKind::raise_permit]);
}

TEST_CASE("a stop on site on an output module whose cable is pulled is told as the module's, and sends nobody to an instrument") {
  Site site = raising();
  for (std::size_t b = 0; b < site.job().polls.blocks.size(); ++b)
    if (!site.job().polls.blocks[b].inputs.empty()) site.block_is_missing(b);
  site.module_meets(rehearse::ModuleFault::cable_pulled);
  site.pass(seconds(4));
  const Alarm* alarm = alarm_of(site, "input site_stop", Level::hold);
  REQUIRE(alarm);
  CHECK(alarm->cause == Cause::output_silent);
  CHECK(alarm->say == "Stop pumping. Keep pressure. See to the output module.");
  CHECK(site.has("output module", Level::hold));
}

TEST_CASE("the stop relay drops at STOP and no sooner; the beacon is lit from HOLD on") {
  Site site = raising();
  const auto wanted = [&](OutputKind kind) { return site.newest().wanted[kind]; };
  CHECK(wanted(OutputKind::stop_relay));
  CHECK_FALSE(wanted(OutputKind::beacon));
  site.tell(QueueOverflow{1});
  CHECK(wanted(OutputKind::stop_relay));
  CHECK(wanted(OutputKind::beacon));
  site.act({.what = Act::stop});
  CHECK_FALSE(wanted(OutputKind::stop_relay));
  CHECK(wanted(OutputKind::beacon));
  CHECK_FALSE(wanted(OutputKind::call_out));
}

}  // namespace standfast::test
