// An instrument that is swapped in the middle of the work: no value until it is approved, then its numbers go on.
#include <catch2/catch.hpp>
#include <cmath>

#include "tests/core/swapping.hpp"

namespace standfast::test {
namespace {

// G2 has been swapped for an instrument that stands 2.7 mm higher; nobody has approved it yet.
Site proved() {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "G2") == "done");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  REQUIRE_FALSE(segment_of(site, "G2").swap->proof.empty());
  return site;
}

double value_of(const Site& site, const std::string& channel) { return reading_of(site, channel).value.si; }

const Reading* told(const Site& site, const std::string& quantity) {
  for (const EffectRow& row : site.rows)
    if (const auto* derived = std::get_if<DerivedValue>(&row); derived && derived->quantity == quantity) return &derived->reading;
  return nullptr;
}

void change_certificate(Site& site, const std::string& channel, const std::string& number) {
  change_job(site, [&](Job& job) {
    channel_of(job, channel).certificate.number = number;
    job.rig_sha256 += "'";
  });
  site.pass(seconds(1));
}

}  // namespace

TEST_CASE("a gauge that dies and is swapped is one HOLD and one reset, and movement goes on where it was") {
  Site site = at_work_with_head_up();
  const AlarmNumber before = site.state().alarms.last;
  site.is_dead("G2");
  site.pass(seconds(3));
  REQUIRE(begin_swap(site, "G2") == "done");
  site.pass(seconds(8));
  site.act({.what = Act::acknowledge});
  feeler_goes(site, "G2", 3 * mm, 4.01 * mm, 3 * mm);
  site.pass(seconds(1));
  CHECK(site.act({.what = Act::reset, .by = technician}) == "condition-present");
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(6));
  CHECK(site.act({.what = Act::reset, .by = technician}) == "done");
  CHECK(site.signal() == Level::none);
  CHECK(site.state().alarms.last == before + 1);
  CHECK(reading_of(site, "G2").quality == Quality::good);
  CHECK(value_of(site, "G2") == Approx(0.3 * mm).margin(0.002 * mm));
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
}

TEST_CASE("while an instrument is being swapped its channel has no value, whatever the new one shows") {
  Site site = at_work_with_head_up();
  REQUIRE(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) == "done");
  REQUIRE(begin_swap(site, "G2") == "done");
  CHECK_FALSE(site.state().permit.given());  // At once, not with the next reading.
  CHECK(reading_of(site, "G2").cause == Cause::being_swapped);
  CHECK(site.has("instrument G2", Level::hold));
  site.shows("G2", 9 * mm);  // As far beyond the STOP as it can be.
  site.pass(seconds(5));
  CHECK(reading_of(site, "G2").quality == Quality::bad);
  CHECK(site.signal() == Level::hold);
  CHECK(site.act({.what = Act::permit_give, .object = "raise", .by = supervisor}) != "done");
}

TEST_CASE("the twin guards while a gauge is being swapped") {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "G2") == "done");
  site.shows("G1", 1.9 * mm);
  site.pass(seconds(3));
  CHECK(site.has("head", Level::stop));
}

TEST_CASE("what the twin saw while nothing was read belongs to the movement") {
  Site site = at_work_with_head_up();
  site.is_dead("G2");
  site.pass(seconds(3));
  creeps(site, "G1", 0.3 * mm, 0.42 * mm);
  REQUIRE(begin_swap(site, "G2") == "done");
  feeler_goes(site, "G2", -1 * mm, 0 * mm, -1 * mm);
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "G2") == Approx(0.42 * mm).margin(0.002 * mm));
  const double stood = told(site, "swap G2 stood")->value.si, moved = told(site, "swap G2 moved")->value.si,
               shown = told(site, "swap G2 shown")->value.si, offset = told(site, "swap G2 offset")->value.si;
  CHECK(stood == Approx(0.3 * mm).margin(0.002 * mm));
  CHECK(moved == Approx(0.12 * mm).margin(0.002 * mm));
  CHECK(shown == Approx(-1 * mm));
  CHECK(offset == stood + moved - shown);  // Anybody can recompute it.
}

TEST_CASE("a gauge that was knocked beside its twin is joined where it stood before the knock") {
  Site site = at_work_with_head_up();
  site.shows("G2", 0.7 * mm);
  site.pass(seconds(5));
  REQUIRE(begin_swap(site, "G2") == "done");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "G2") == Approx(0.3 * mm).margin(0.002 * mm));
}

TEST_CASE("of a gauge that crept away from its twin no more is carried on than the two may be apart") {
  Site site = at_work_with_head_up();
  creeps(site, "G2", 0.3 * mm, 0.5 * mm);  // In parts that are no step.
  creeps(site, "G2", 0.5 * mm, 0.7 * mm);
  REQUIRE(site.has("gauges of HEAD", Level::hold));
  REQUIRE(begin_swap(site, "G2") == "done");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "G2") <= (0.3 + 0.15) * mm + 0.002 * mm);
}

TEST_CASE("a gauge without a twin that was knocked alone is joined where it stood before the knock") {
  Site site = at_work_with_head_up();
  site.shows("B1", 2 * mm);
  site.pass(seconds(5));
  REQUIRE(reading_of(site, "B1").cause == Cause::lone_step);
  REQUIRE(begin_swap(site, "B1", "B-9") == "done");
  feeler_goes(site, "B1", 2 * mm, 3 * mm, 2 * mm);
  REQUIRE(prove_swap(site, "B1", "moved 0 mm within 0.2 mm") == "done");
  REQUIRE(approve_swap(site, "B1") == "done");
  site.pass(seconds(1));
  CHECK(reading_of(site, "B1").quality == Quality::good);
  CHECK(value_of(site, "B1") == Approx(0).margin(0.002 * mm));
}

TEST_CASE("where no twin saw how far it moved a person states it, with how sure that is, after the proof") {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "B1", "B-9") == "done");
  site.pass(seconds(1));
  CHECK(prove_swap(site, "B1", "moved 0.1 mm within 0.2 mm") == "not-proved");
  feeler_goes(site, "B1", 2 * mm, 3 * mm, 2 * mm);
  CHECK(approve_swap(site, "B1") == "movement-unknown");
  for (const char* unclear :
       {"moved 0.1 mm", "moved 0.1 mm within 0 mm", "moved 0.1 within 0.2 mm", "moved -0.1 kN within 0.2 mm", "moved"})
    CHECK(prove_swap(site, "B1", unclear) == "unreadable");
  REQUIRE(prove_swap(site, "B1", "moved -0.1 mm within 0.2 mm") == "done");
  REQUIRE(approve_swap(site, "B1") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "B1") == Approx(-0.1 * mm).margin(0.002 * mm));
  // JCGM 100:2008, 4.3.7: half width a, rectangular, is a / sqrt(3). Accuracies of 0.02 mm in steps of 0.001 mm, old and new.
  const double gauge = 0.02 * 0.02 / 3 + 0.001 * 0.001 / 12, person = 0.2 * 0.2 / 3;
  CHECK(reading_of(site, "B1").uncertainty == Approx(std::sqrt(gauge + gauge + person) * mm));
}

TEST_CASE("no person states what a twin has seen") {
  Site site = proved();
  CHECK(prove_swap(site, "G2", "moved 0.0 mm within 0.1 mm") == "twin-saw");
  CHECK(refusal_text(site) == "G1 saw how far it went");
}

TEST_CASE("marks and a zero stay as they were when a gauge is swapped") {
  Site site = at_work_with_head_up();
  REQUIRE(site.act({.what = Act::zero_propose, .object = "G2", .by = technician, .with = supervisor}) == "done");
  REQUIRE(site.act({.what = Act::zero_approve, .object = "G2", .by = engineer}) == "done");
  const auto place = place_by_name(site.job().rig.channels, "G2");
  const double baseline = site.state().values.references.baseline.channels[place]->value;
  REQUIRE(begin_swap(site, "G2") == "done");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(site.state().values.references.baseline.channels[place]->value == baseline);
  CHECK(value_of(site, "G2") - *site.state().zeros[place].offset == Approx(0).margin(0.002 * mm));
}

TEST_CASE("two persons begin a swap and an engineer who neither swapped nor proved approves it") {
  Site site = at_work_with_head_up();
  CHECK(site.act({.what = Act::swap_begin, .object = "G2", .value = new_gauge, .by = technician}) == "not-permitted");
  CHECK(site.act({.what = Act::swap_begin, .object = "G2", .value = new_gauge, .by = technician, .with = {"N. Lark", Role::technician}}) ==
        "not-permitted");
  REQUIRE(site.act({.what = Act::swap_begin, .object = "G2", .value = new_gauge, .by = technician, .with = engineer}) == "done");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  CHECK(approve_swap(site, "G2", supervisor) == "not-permitted");
  CHECK(approve_swap(site, "G2", engineer) == "same-person");
  CHECK(approve_swap(site, "G2", {"T. Finch", Role::engineer}) == "same-person");
  CHECK(approve_swap(site, "G2", {"O. Heron", Role::engineer}) == "done");
}

TEST_CASE("what changed since the engineer looked is looked at again before a swap is approved") {
  Site site = proved();
  CHECK(site.act({.what = Act::swap_approve, .object = "G2", .by = engineer, .pictures_old = 1}) == "picture-changed");
}

TEST_CASE("a swapped gauge that is touched behind its proof is proved again; one that goes with its twin is not") {
  Site site = proved();
  site.shows("G2", 3.05 * mm);
  site.pass(seconds(5));
  CHECK(approve_swap(site, "G2") == "moved-since-proof");
  CHECK(refusal_text(site).find("G2 has gone +0.050 mm since it was proved") == 0);
  site.shows("G1", 0.35 * mm);
  site.pass(seconds(5));
  CHECK(approve_swap(site, "G2") == "done");
}

TEST_CASE("a swapped gauge without a good number is not approved") {
  Site site = proved();
  site.is_dead("G2");
  site.pass(seconds(3));
  CHECK(approve_swap(site, "G2") == "reading-not-good");
  site.shows("G2", 3 * mm);
  site.pass(seconds(1));
  CHECK(approve_swap(site, "G2") == "not-standing");
}

TEST_CASE("a swap that is given up leaves the channel without a value until it is done again") {
  Site site = proved();
  CHECK(abandon_swap(site, "G2", "") == "no-reason");
  REQUIRE(abandon_swap(site, "G2", "wrong range") == "done");
  site.shows("G2", 0.3 * mm);
  site.pass(seconds(10));
  CHECK(reading_of(site, "G2").cause == Cause::being_swapped);
  CHECK(approve_swap(site, "G2") == "not-being-swapped");
  REQUIRE(begin_swap(site, "G2") == "done");
  feeler_goes(site, "G2", 0.3 * mm, 1.3 * mm, 0.3 * mm);
  CHECK(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "G2") == Approx(0.3 * mm).margin(0.002 * mm));
}

TEST_CASE("a second swap goes on from the first, and its uncertainty with it") {
  Site site = proved();
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  const double once = reading_of(site, "G2").uncertainty;
  REQUIRE(begin_swap(site, "G2", "G-208 due 2099-03-01") == "done");
  feeler_goes(site, "G2", -2 * mm, -1 * mm, -2 * mm);
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "G2") == Approx(0.3 * mm).margin(0.002 * mm));
  CHECK(reading_of(site, "G2").uncertainty > once);
}

TEST_CASE("the certificate of the instrument that was swapped in is the one that runs out") {
  Site site = at_work_with_head_up();
  CHECK(begin_swap(site, "G2", "G-207 due 2001-03-01") == "certificate-overdue");
  CHECK(begin_swap(site, "G2", "G-207") == "no-due-day");
  CHECK(begin_swap(site, "G2", "G-207 due 2099-02-30") == "unreadable");
  CHECK(begin_swap(site, "G2", "") == "no-certificate");
  site = proved();
  REQUIRE(approve_swap(site, "G2") == "done");
  site.wall = WallTime{4'076'006'400'000'000'000};  // 2099-03-01, noon.
  site.pass(seconds(1));
  CHECK(reading_of(site, "G2").quality == Quality::good);
  site.wall.ns += hours(24).ns;
  site.pass(seconds(1));
  CHECK(reading_of(site, "G2").cause == Cause::certificate_overdue);
  CHECK(reading_of(site, "G1").quality == Quality::good);
}

TEST_CASE("an engineer who accepted the old instrument's doubt has not accepted the new one's") {
  Site site = at_work_with_head_up();
  change_job(site, [](Job& job) { channel_of(job, "G2").certificate.due = "2001-01-01"; });
  site.pass(seconds(1));
  REQUIRE(site.act({.what = Act::accept_uncertain, .object = "G2", .by = engineer}) == "done");
  REQUIRE(begin_swap(site, "G2") == "done");
  CHECK(site.state().accepted.empty());
}

TEST_CASE("a revision that names the new certificate keeps the join, and its certificate counts") {
  Site site = proved();
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  change_certificate(site, "G2", "G-207");
  CHECK(value_of(site, "G2") == Approx(0.3 * mm).margin(0.002 * mm));
  CHECK(segment_of(site, "G2").join);
  CHECK(segment_of(site, "G2").certificate.empty());
  CHECK_FALSE(site.has("mark of head", Level::hold));
}

TEST_CASE("a revision that names another certificate while a swap stands unproved ends it, and its marks with it") {
  for (const bool given_up : {false, true}) {
    Site site = proved();
    if (given_up) REQUIRE(abandon_swap(site, "G2", "rig.yaml will name it") == "done");
    change_certificate(site, "G2", "G-300");
    CHECK_FALSE(segment_of(site, "G2").unproved);
    CHECK(reading_of(site, "G2").quality == Quality::good);
    CHECK(site.has("mark of head", Level::hold));
  }
}

TEST_CASE("a revision of something else leaves a swap under way as it is, and what its twin saw") {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "G2") == "done");
  change_certificate(site, "P1", "P-999");
  CHECK(segment_of(site, "G2").swap);
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  REQUIRE(approve_swap(site, "G2") == "done");
  site.pass(seconds(1));
  CHECK(value_of(site, "G2") == Approx(0.3 * mm).margin(0.002 * mm));
}

TEST_CASE("a swap under way is there again after a restart, and a feeler that was in counts for nothing") {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "G2") == "done");
  site.shows("G2", 3 * mm);
  site.pass(seconds(5));
  REQUIRE(prove_swap(site, "G2", "feeler 1.00 mm") == "done");
  site.shows("G2", 4 * mm);
  site.pass(seconds(5));
  auto again = Engine::from_snapshot(site.engine.snapshot(), site.shared_job());
  REQUIRE(again);
  CHECK(again->snapshot() == site.engine.snapshot());
  site.engine = std::move(*again);
  site.tell(Started{"a boot", "a test", false});
  CHECK(reading_of(site, "G2").cause == Cause::being_swapped);
  REQUIRE(proof_row(site, "swap G2"));
  CHECK(proof_row(site, "swap G2")->facts == "interrupted by a restart");
  site.shows("G2", 3 * mm);
  site.pass(seconds(10));
  CHECK(approve_swap(site, "G2") == "not-proved");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  CHECK(approve_swap(site, "G2") == "done");
}

}  // namespace standfast::test
