// The permit: who gives it, on what grounds, and everything that ends it.
#include <catch2/catch.hpp>

#include "daemon/core/act_kinds.hpp"
#include "tests/core/changes.hpp"

namespace standfast::test {
namespace {

// The second step of raising runs, a quarter of the planned loads stands on the jacks, nothing is given.
Site before_raising() { return Site("002-to-full-step"); }

std::string give(Site& site, const std::string& kind, const PersonClaim& by = supervisor, const std::string& value = {},
                 const PersonClaim& with = nobody) {
  return site.act({.what = Act::permit_give, .object = kind, .value = value, .by = by, .with = with});
}

bool raise_is_on(const Site& site) { return site.newest().wanted[OutputKind::raise_permit]; }

std::optional<Cause> why_ended(const Site& site) {
  std::optional<Cause> cause;
  for (const EffectRow& row : site.rows)
    if (const auto* change = std::get_if<PermitChange>(&row); change && !change->given) cause = change->cause;
  return cause;
}

Site raising() {
  Site site = before_raising();
  REQUIRE(give(site, "raise") == "done");
  site.pass(seconds(1));
  REQUIRE(raise_is_on(site));
  return site;
}

bool ended(const Site& site, Cause cause) {
  return !site.state().permit.given() && !raise_is_on(site) && why_ended(site) == cause;
}

}  // namespace

TEST_CASE("the permit to raise is energised while it is given, and not before or after") {
  Site site = before_raising();
  site.pass(seconds(1));
  CHECK_FALSE(raise_is_on(site));
  CHECK(give(site, "raise") == "done");
  CHECK(raise_is_on(site));
  CHECK(site.act({.what = Act::permit_end}) == "done");
  CHECK_FALSE(raise_is_on(site));
  CHECK_FALSE(site.newest().wanted[OutputKind::lower_permit]);
}

TEST_CASE("a permit ends when every load has stood in the band of its step for five seconds") {
  Site site = raising();
  load_to(site, 0.5);
  site.pass(seconds(5));
  CHECK(raise_is_on(site));
  site.pass(milliseconds(300));
  CHECK(ended(site, Cause::target_reached));
  CHECK(site.signal() == Level::none);
}

TEST_CASE("a load that leaves the band within the five seconds keeps the permit") {
  Site site = raising();
  load_to(site, 0.5);
  site.pass(seconds(4));
  load_to(site, 0.48);
  site.pass(seconds(4));
  CHECK(raise_is_on(site));
}

TEST_CASE("a permit ends after fifteen minutes without rise") {
  Site site = raising();
  load_to(site, 0.3);
  site.pass(seconds(1));
  const Instant rose = site.now;
  site.pass(minutes(15) - seconds(2), seconds(1));
  CHECK(raise_is_on(site));
  site.pass(seconds(3), seconds(1));
  CHECK(ended(site, Cause::timed_out));
  CHECK(site.now - rose < minutes(16));
}

TEST_CASE("a rise renews the fifteen minutes, noise does not") {
  Site site = raising();
  for (int minute = 0; minute < 14; ++minute) {
    load_to(site, minute % 2 ? 0.25 : 0.24999);
    site.pass(minutes(1), seconds(1));
  }
  load_to(site, 0.27);
  site.pass(minutes(10), seconds(1));
  CHECK(raise_is_on(site));
}

TEST_CASE("anybody ends a permit, without a name") {
  Site site = raising();
  CHECK(site.act({.what = Act::permit_end, .pictures_old = 5}) == "done");
  CHECK(ended(site, Cause::by_person));
}

TEST_CASE("a permit ends with the shift of who gave it, and not with another's") {
  Site site = raising();
  CHECK(site.act({.what = Act::shift_end, .by = technician}) == "done");
  CHECK(raise_is_on(site));
  CHECK(site.act({.what = Act::shift_end, .by = supervisor}) == "done");
  CHECK(ended(site, Cause::shift_ended));
}

TEST_CASE("a permit ends when its stage is abandoned") {
  Site site = raising();
  CHECK(site.act({.what = Act::stage_abandon, .by = supervisor}) == "done");
  CHECK(ended(site, Cause::stage_changed));
}

TEST_CASE("a permit ends when another revision comes into force") {
  Site site = raising();
  auto other = std::make_shared<Job>(site.job());
  other->plan_sha256 = std::string(64, '1');
  site.tell(JobInForce{other});
  CHECK(ended(site, Cause::plan_changed));
}

TEST_CASE("a permit does not survive a HOLD, and its reset does not bring it back") {
  Site site = raising();
  site.shows("G1", 1.3 * mm);
  site.shows("G2", 1.3 * mm);
  site.pass(seconds(2));
  CHECK(site.signal() == Level::hold);
  CHECK(ended(site, Cause::signal_raised));
  site.shows("G1", 0);
  site.shows("G2", 0);
  site.pass(seconds(2));
  reset_all(site);
  site.pass(seconds(2));
  CHECK(site.signal() == Level::none);
  CHECK_FALSE(raise_is_on(site));
}

TEST_CASE("a permit ends with the number of a reading it needs") {
  Site site = raising();
  site.is_dead("B1");
  site.pass(milliseconds(200));
  CHECK(why_ended(site) == Cause::signal_raised);
  CHECK(site.has("instrument B1", Level::hold));
}

TEST_CASE("a permit ends when the record is not being written, and when its giving was not durable in time") {
  Site site = raising();
  site.tell(RecordHealth{RecordState::lagging});
  CHECK_FALSE(raise_is_on(site));
  CHECK(site.has("record", Level::hold));
  Site other = raising();
  other.tell(GivingNotDurable{7});
  CHECK(ended(other, Cause::giving_not_durable));
  CHECK(other.signal() == Level::hold);
}

TEST_CASE("a permit is the supervisor's; where the plan says so, the engineer's") {
  Site site = before_raising();
  CHECK(give(site, "raise", technician) == "not-permitted");
  CHECK(give(site, "raise", auditor) == "not-permitted");
  CHECK(give(site, "raise", nobody) == "not-permitted");
  CHECK(give(site, "raise", supervisor, {}, supervisor) == "not-permitted");
  auto strict = std::make_shared<Job>(site.job());
  for (Stage& stage : strict->plan.stages) stage.permit_by = Role::engineer;
  site.tell(JobInForce{strict});
  site.pass(seconds(12));
  CHECK(give(site, "raise", supervisor) == "not-permitted");
  CHECK(give(site, "raise", engineer) == "done");
}

TEST_CASE("a permit asked for on an old picture is refused") {
  Site site = before_raising();
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor, .pictures_old = 1}) == "picture-changed");
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor, .pictures_old = -1}) == "picture-changed");
  CHECK_FALSE(raise_is_on(site));
}

TEST_CASE("every act that loosens is refused on an old picture, and no other act is") {
  for (int i = 0; i < act_count; ++i) {
    const auto what = static_cast<Act>(i);
    for (const char* object : {"", "all", "raise", "P1", "jack valves shut", "weather"}) {
      Site site = before_raising();
      const std::string code = site.act({.what = what, .object = object, .by = engineer, .with = supervisor, .pictures_old = 1});
      CHECK((code == "picture-changed") == loosens(what, object));
    }
  }
  for (const Act safe : safe_acts) CHECK_FALSE(loosens(safe, "jack valves shut"));
  for (const Act withdrawing : withdrawing_acts) CHECK(makes_safe(withdrawing));
  CHECK(loosens(Act::enter_note, "jack valves shut"));
  CHECK_FALSE(loosens(Act::enter_note, "weather"));
}

TEST_CASE("a permit asked for before somebody ended it, and heard behind that, is refused; who looks again is given it") {
  Site site = before_raising();
  const auto shown = site.state().picture;
  CHECK(site.act({.what = Act::permit_end}) == "done");
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor, .pictures_old = site.state().picture - shown}) ==
        "picture-changed");
  CHECK_FALSE(raise_is_on(site));
  CHECK(give(site, "raise", supervisor) == "done");
}

TEST_CASE("a reading in doubt gives no permit until the engineer accepts it by name") {
  Site site = before_raising();
  auto overdue = std::make_shared<Job>(site.job());
  overdue->rig.channels[0].certificate.due = "2020-02-29";
  site.tell(JobInForce{overdue});
  site.pass(seconds(12));
  CHECK(site.has("instrument P1", Level::review));
  CHECK(give(site, "raise") == "reading-uncertain");
  CHECK(site.act({.what = Act::accept_uncertain, .object = "P1", .by = supervisor}) == "not-permitted");
  CHECK(site.act({.what = Act::accept_uncertain, .object = "P1", .reason = "", .by = engineer}) == "no-reason");
  CHECK(site.act({.what = Act::accept_uncertain, .object = "P2", .by = engineer}) == "not-uncertain");
  CHECK(site.act({.what = Act::accept_uncertain, .object = "P1", .by = engineer, .pictures_old = 1}) == "picture-changed");
  CHECK(site.act({.what = Act::accept_uncertain, .object = "P1", .by = engineer}) == "done");
  CHECK(give(site, "raise") == "done");
}

TEST_CASE("a value in doubt whose parts are good is accepted by the name of its limit") {
  Site site = before_raising();
  auto curved = std::make_shared<Job>(site.job());
  Jack& jack = curved->rig.jacks[0];
  for (const double mpa : {0.0, 2.0, 4.0})
    jack.rising.push_back({Pressure::from_si(mpa * 1e6), Force::from_si(mpa * 1e6 * jack.area.si())});
  jack.falling = jack.rising;
  site.tell(JobInForce{curved});
  site.pass(seconds(12));  // 107 bar, and the curve ends at 40.
  CHECK(give(site, "raise") == "limit-uncertain");
  const std::string limit = site.state().limits[0].name;
  CHECK(site.act({.what = Act::accept_uncertain, .object = limit, .by = engineer}) == "done");
  CHECK(give(site, "raise") == "limit-uncertain");  // The other limits of this load are not accepted with it.
}

TEST_CASE("a rate that is filling gives no permit and raises no alarm") {
  Site site = before_raising();
  auto other = std::make_shared<Job>(site.job());
  for (Stage& stage : other->plan.stages)
    for (Limit& limit : stage.limits)
      if (limit.of.rate) limit.of.over = seconds(60);
  other->plan_sha256 = site.job().plan_sha256;
  site.tell(JobInForce{other});
  site.pass(seconds(20));
  CHECK(give(site, "raise") == "limit-without-value");
  CHECK(site.signal() == Level::none);
  site.pass(seconds(15));
  CHECK(give(site, "raise") == "done");
}

TEST_CASE("raising is refused until the drops of the permit have been proved, whoever asks") {
  Site site = before_raising();
  auto other_rig = std::make_shared<Job>(site.job());
  other_rig->rig_sha256 = std::string(64, '2');
  other_rig->rig.output_module->settle = milliseconds(310);  // Other outputs are to be proved anew.
  site.tell(JobInForce{other_rig});
  site.pass(seconds(12));
  CHECK(give(site, "raise") == "not-proved");
  CHECK(give(site, "raise", engineer, {}, supervisor) == "not-proved");
}

TEST_CASE("a revision that leaves outputs, jacks and circuits alone leaves their proofs: work goes on where it stood") {
  struct Changed { void (*how)(Rig&); bool proved; };
  const Changed cases[] = {
      {[](Rig& rig) { rig.channels[0].certificate.number = "P-301"; }, true},
      {[](Rig& rig) { rig.channels[0].accuracy = 1e4; }, true},
      {[](Rig& rig) { rig.points[0].agree_within = Length::from_si(0.2e-3); }, true},
      {[](Rig& rig) { rig.output_module->unit_id = 8; }, false},
      {[](Rig& rig) { rig.output_module->outputs[0].readback = 23; }, false},
      {[](Rig& rig) { rig.output_module->safe_values.clear(); }, false},
      {[](Rig& rig) { rig.inputs[1].normally_closed = !rig.inputs[1].normally_closed; }, false},
      {[](Rig& rig) { rig.buses[rig.output_module->bus.at()].timeout = milliseconds(300); }, false},
      {[](Rig& rig) { rig.jacks[0].area = Area::from_si(0.01); }, false},
      {[](Rig& rig) { rig.circuits[0].check_valve = !rig.circuits[0].check_valve; }, false}};
  for (const Changed& each : cases) {
    Site site = before_raising();
    auto revision = std::make_shared<Job>(site.job());
    revision->rig_sha256 = std::string(64, '2');
    each.how(revision->rig);
    site.tell(JobInForce{revision});
    INFO(&each - cases);
    CHECK(site.state().proofs.has(Proof::heartbeat) == each.proved);
    CHECK(site.state().proofs.all_drops() == each.proved);
    const bool told = std::any_of(site.rows.begin(), site.rows.end(), [](const EffectRow& row) {
      const auto* notice = std::get_if<Notice>(&row);
      return notice && notice->code == "proofs-void";
    });
    CHECK(told == !each.proved);
  }
}

TEST_CASE("a permit is refused while the output module is silent, wrongly set, or not as simulated as the rig") {
  for (const auto fault : {rehearse::ModuleFault::cable_pulled, rehearse::ModuleFault::settings_changed,
                           rehearse::ModuleFault::mark_lost}) {
    Site site = before_raising();
    site.module_meets(fault);
    site.pass(seconds(2));
    CHECK(site.signal() == Level::hold);
    CHECK(give(site, "raise") != "done");
    CHECK_FALSE(raise_is_on(site));
  }
}

TEST_CASE("circuits that the rig does not have are refused; lowering is not in this version") {
  Site site = before_raising();
  CHECK(give(site, "raise", supervisor, "A Z") == "unknown-circuit");
  CHECK(give(site, "lower", supervisor, {}, engineer) == "not-in-this-stage");
  CHECK(give(site, "lift") == "unknown-permit");
  CHECK(give(site, "raise", supervisor, "A B") == "done");
  CHECK(give(site, "raise", supervisor, "A") == "permit-given");
}

// ---- top-up ----

namespace {

// In the observation period of the second step, all loads at the lower half of the band.
Site observing() {
  Site site = before_raising();
  auto patient = std::make_shared<Job>(site.job());
  for (Stage& stage : patient->plan.stages)
    for (Step& step : stage.steps) step.observe = minutes(1);
  site.tell(JobInForce{patient});
  site.pass(seconds(12));
  REQUIRE(give(site, "raise") == "done");
  load_to(site, 0.495);
  site.pass(seconds(6));
  REQUIRE(state_of(site.state().run) == StageState::observation);
  REQUIRE(ended(site, Cause::target_reached));
  return site;
}

}  // namespace

TEST_CASE("a top-up belongs to the observation period, and raising does not") {
  Site site = before_raising();
  CHECK(give(site, "top-up") == "not-in-this-stage");
  Site later = observing();
  CHECK(give(later, "raise") == "not-in-this-stage");
  CHECK(give(later, "top-up") == "done");
}

TEST_CASE("a top-up goes on while the load rises, and ends five seconds after it stands") {
  Site site = observing();
  REQUIRE(give(site, "top-up") == "done");
  for (const double part : {0.497, 0.499, 0.501, 0.503}) {
    load_to(site, part);
    site.pass(seconds(2));
    CHECK(raise_is_on(site));
  }
  site.pass(seconds(4));
  CHECK(ended(site, Cause::target_reached));
}

TEST_CASE("a top-up ends at the upper edge of the band") {
  Site site = observing();
  REQUIRE(give(site, "top-up") == "done");
  load_to(site, 0.509);
  site.pass(seconds(1));
  CHECK(raise_is_on(site));
  load_to(site, 0.511);
  site.pass(milliseconds(200));
  CHECK(ended(site, Cause::bound_reached));
}

TEST_CASE("a permit that is still given when its step has met everything ends with that, not with a change of stage") {
  Site site = before_raising();
  auto quick = std::make_shared<Job>(site.job());
  for (Step& step : quick->plan.stages[3].steps) {
    step.observe = seconds(2);
    step.read_at.clear();
  }
  site.tell(JobInForce{quick});
  site.pass(seconds(1));
  REQUIRE(give(site, "raise") == "done");
  load_to(site, 0.5);
  site.pass(seconds(3));
  CHECK(ended(site, Cause::criteria_met));
}

TEST_CASE("a top-up ends when a load has left the band for good, and says so") {
  Site site = before_raising();
  let_loads_fall(site);
  REQUIRE(give(site, "raise") == "done");
  load_to(site, 0.5);
  site.pass(seconds(6));
  REQUIRE(give(site, "top-up") == "done");
  load_to(site, 0.489);
  site.pass(seconds(12));
  CHECK(ended(site, Cause::band_left));
}

TEST_CASE("the stop on site ends a permit, and none is given while it is pressed") {
  Site site = raising();
  site.input_happens("site_stop", true);
  site.pass(milliseconds(300));
  CHECK_FALSE(site.state().permit.given());
  CHECK(give(site, "raise") == "site-stop");
}

}  // namespace standfast::test
