// What proves an instrument that was swapped in: a feeler under a gauge, a dial beside anything else.
#include <catch2/catch.hpp>

#include "tests/core/swapping.hpp"

namespace standfast::test {
namespace {

Site being_swapped(const std::string& channel) {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, channel, "N-1 due 2099-03-01") == "done");
  site.pass(seconds(5));
  return site;
}

bool is_proved(const Site& site, const std::string& channel) { return !segment_of(site, channel).swap->proof.empty(); }

// G2 goes to `with` under the feeler, and back to `after`.
struct Case { double with, after; std::string says; };

constexpr double planned = 107.08 * bar;  // What P1 shows at this step.

}  // namespace

TEST_CASE("a feeler proves a gauge that rises by its thickness to 0.03 mm and comes back to 0.03 mm") {
  // Common practice, no source: 1.00 mm under a gauge changes it by +1.00 mm, to 0.03 mm.
  for (const double off : {-0.03, -0.02, 0.0, 0.03}) {
    Site site = being_swapped("G2");
    feeler_goes(site, "G2", 3 * mm, (4 + off) * mm, (3 - off) * mm);
    INFO(off);
    CHECK(is_proved(site, "G2"));
  }
}

TEST_CASE("a feeler proves nothing where the gauge goes another way, another distance, or does not come back") {
  const Case cases[] = {{2, 3, "it changed by -1.000 mm, not by +1.000 mm: it stands the wrong way round"},
                        {4.031, 3, "it changed by +1.031 mm, not by +1.000 mm"},
                        {3.969, 3, "it changed by +0.969 mm, not by +1.000 mm"},
                        {5, 3, "it changed by +2.000 mm, not by +1.000 mm"},
                        {4, 3.031, "drawn, it stands +0.031 mm from where it stood before"},
                        {4, 2.5, "drawn, it stands -0.500 mm from where it stood before"}};
  for (const Case& each : cases) {
    Site site = being_swapped("G2");
    feeler_goes(site, "G2", 3 * mm, each.with * mm, each.after * mm);
    INFO(each.says);
    CHECK_FALSE(is_proved(site, "G2"));
    REQUIRE(proof_row(site, "swap G2"));
    CHECK_FALSE(proof_row(site, "swap G2")->passed);
    CHECK(proof_row(site, "swap G2")->facts == each.says);
    CHECK(approve_swap(site, "G2") == "not-proved");
  }
}

TEST_CASE("a feeler that moves another gauge proves nothing, and that gauge is named") {
  for (const bool other_is_swapped : {false, true}) {
    Site site = being_swapped("G2");
    if (other_is_swapped) REQUIRE(begin_swap(site, "B1", "B-1") == "done");
    site.shows("G2", 3 * mm);
    site.pass(seconds(5));
    REQUIRE(prove_swap(site, "G2", "feeler 1.00 mm") == "done");
    site.shows("B1", 1 * mm);
    site.pass(seconds(1));
    REQUIRE(proof_row(site, "swap G2"));
    CHECK(proof_row(site, "swap G2")->facts ==
          "B1 changed by +1.000 mm meanwhile: the feeler is under another gauge, or wires are crossed");
    CHECK_FALSE(is_proved(site, "G2"));
  }
}

TEST_CASE("under a gauge whose number falls while its point goes up, a feeler makes it fall") {
  for (const bool falls : {true, false}) {
    Site site = at_work_with_head_up();
    change_job(site, [](Job& job) { by_name(job.rig.points, "BASE_A").up_is_positive = false; });
    REQUIRE(begin_swap(site, "B1", "B-1") == "done");
    feeler_goes(site, "B1", 3 * mm, (falls ? 2 : 4) * mm, 3 * mm);
    CHECK(is_proved(site, "B1") == falls);
    if (!falls) continue;
    REQUIRE(prove_swap(site, "B1", "moved 0.2 mm within 0.1 mm") == "done");  // Up.
    CHECK(segment_of(site, "B1").swap->stated->moved == Approx(-0.2 * mm));
  }
}

TEST_CASE("nothing is proved before the number has stood still for five readings and two seconds") {
  Site site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "G2") == "done");
  site.shows("G2", 3 * mm);
  site.pass(milliseconds(1900));
  CHECK(prove_swap(site, "G2", "feeler 1.00 mm") == "not-standing");
  site.pass(milliseconds(400));
  CHECK(prove_swap(site, "G2", "feeler 1.00 mm") == "done");
  site = at_work_with_head_up();
  REQUIRE(begin_swap(site, "G2") == "done");
  site.shows("G2", 3 * mm);
  site.pass(seconds(4), seconds(1));
  CHECK(prove_swap(site, "G2", "feeler 1.00 mm") == "not-standing");
  site.pass(seconds(1), seconds(1));
  CHECK(prove_swap(site, "G2", "feeler 1.00 mm") == "done");
}

TEST_CASE("a feeler that is not put in yet, or not drawn yet, is waited for") {
  Site site = being_swapped("G2");
  site.shows("G2", 3 * mm);
  site.pass(seconds(5));
  REQUIRE(prove_swap(site, "G2", "feeler 1.00 mm") == "done");
  site.pass(minutes(2));
  CHECK(segment_of(site, "G2").swap->feeler);
  site.shows("G2", 4 * mm);
  site.pass(minutes(2));
  CHECK(segment_of(site, "G2").swap->feeler->within);
  CHECK_FALSE(is_proved(site, "G2"));
  CHECK(approve_swap(site, "G2") == "not-proved");
  site.shows("G2", 3 * mm);
  site.pass(seconds(5));
  CHECK(is_proved(site, "G2"));
}

TEST_CASE("a feeler that is begun anew forgets the proof before") {
  Site site = being_swapped("G2");
  feeler_goes(site, "G2", 3 * mm, 4 * mm, 3 * mm);
  REQUIRE(is_proved(site, "G2"));
  REQUIRE(prove_swap(site, "G2", "feeler 1.00 mm") == "done");
  CHECK(approve_swap(site, "G2") == "not-proved");
}

TEST_CASE("a feeler is of 0.5 to 20 mm, and goes under gauges alone") {
  Site site = being_swapped("G2");
  for (const char* size : {"feeler 0.499 mm", "feeler 20.01 mm", "feeler -1 mm"}) CHECK(prove_swap(site, "G2", size) == "feeler-size");
  for (const char* wrong : {"feeler 1.00", "feeler 1,0 mm", "feeler 1 kN", "feeler", "", "feeler  ", "thumb 1 mm"})
    CHECK(prove_swap(site, "G2", wrong) == "unreadable");
  CHECK(prove_swap(site, "G2", "feeler 0.5 mm") == "done");
  CHECK(prove_swap(site, "G2", "dial 1 mm") == "no-dial");
  site = being_swapped("P1");
  CHECK(prove_swap(site, "P1", "feeler 1.00 mm") == "no-feeler");
  CHECK(prove_swap(site, "P1", "moved 0 mm within 1 mm") == "not-needed");
}

TEST_CASE("a pressure transducer is proved by a dial that it agrees with to 2 %, and its pressure is its own") {
  // Common practice, no source: 2 % of the dial; 0.5 % of the range, 3.5 bar of 700, at the low end.
  struct Shown { double shows; const char* dial; bool agrees; };
  const Shown cases[] = {{203.9 * bar, "dial 200 bar", true},    {204.1 * bar, "dial 200 bar", false}, {196.1 * bar, "dial 200 bar", true},
                         {195.9 * bar, "dial 200 bar", false}, {73.4 * bar, "dial 70 bar", true},    {73.6 * bar, "dial 70 bar", false}};
  for (const Shown& each : cases) {
    Site site = being_swapped("P1");
    site.shows("P1", each.shows);
    site.pass(seconds(5));
    INFO(each.shows);
    CHECK(prove_swap(site, "P1", each.dial) == (each.agrees ? "done" : "dial-differs"));
    CHECK(is_proved(site, "P1") == each.agrees);
  }
  Site site = being_swapped("P1");
  site.shows("P1", planned + 0.5 * bar);
  site.pass(seconds(5));
  REQUIRE(prove_swap(site, "P1", "dial 107 bar") == "done");
  REQUIRE(approve_swap(site, "P1") == "done");
  site.pass(seconds(1));
  CHECK_FALSE(segment_of(site, "P1").join);
  CHECK(reading_of(site, "P1").quality == Quality::good);
  CHECK(reading_of(site, "P1").value.si == Approx(planned + 0.5 * bar).margin(0.03 * bar));
}

TEST_CASE("a dial near nought proves no transducer: one of any scale agrees with it there") {
  // A transducer of 1000 bar scaled as one of 700 shows 0.7 of the pressure; at no pressure it shows none, as the right one does.
  Site site = being_swapped("P1");
  struct Shown { double pressure; const char* dial; const char* code; };
  const Shown cases[] = {{0, "dial 0 bar", "dial-too-low"},
                         {10 * bar, "dial 10 bar", "dial-too-low"},
                         {69.9 * bar, "dial 69.9 bar", "dial-too-low"},
                         {0, "dial -70 bar", "dial-differs"},
                         {70 * bar, "dial 70 bar", "dial-differs"}};
  for (const Shown& each : cases) {
    site.shows("P1", 0.7 * each.pressure);
    site.pass(seconds(5));
    INFO(each.dial);
    CHECK(prove_swap(site, "P1", each.dial) == each.code);
    CHECK_FALSE(is_proved(site, "P1"));
  }
  CHECK(prove_swap(site, "P1", "dial 0 bar") == "dial-too-low");
  CHECK(refusal_text(site) == "a dial at 0.0 bar proves nothing of the scale: bring P1 and the dial to 70.0 bar or more; where the circuit "
                              "stands lower, off the circuit on a hand pump of their own");
  site.shows("P1", 70 * bar);
  site.pass(seconds(5));
  CHECK(prove_swap(site, "P1", "dial 70 bar") == "done");
}

TEST_CASE("a pressure that goes on falling does not undo the proof by the dial") {
  Site site = being_swapped("P1");
  REQUIRE(prove_swap(site, "P1", "dial 107 bar") == "done");
  site.shows("P1", 95 * bar);
  site.pass(seconds(5));
  CHECK(approve_swap(site, "P1") == "done");
}

TEST_CASE("a swap is refused in words that say what is missing") {
  struct Refused { Act what; const char* channel; const char* value; const char* code; const char* text; };
  const Refused cases[] = {
      {Act::swap_prove, "G2", "feeler 1.00 mm", "not-being-swapped", "G2 is not being swapped: say by which certificate it is, to begin"},
      {Act::swap_begin, "G22", "G-207 due 2099-03-01", "unknown-channel", "no channel 'G22' in the rig; did you mean 'G2'?"},
      {Act::swap_begin, "G2", "G-207", "no-due-day", "until when is its certificate valid? A day, as in 2027-03-01"},
      {Act::swap_begin, "G2", "G-207 due 2001-03-01", "certificate-overdue", "certificate G-207 ran out on 2001-03-01"}};
  Site site = at_work_with_head_up();
  for (const Refused& each : cases) {
    INFO(each.text);
    CHECK(site.act({.what = each.what, .object = each.channel, .value = each.value, .by = technician, .with = supervisor}) == each.code);
    CHECK(refusal_text(site) == each.text);
  }
  const auto begin = [&site](const char* channel, const std::string& certificate) {
    return site.act({.what = Act::swap_begin, .object = channel, .value = certificate + " due 2099-03-01", .by = technician,
                     .with = supervisor});
  };
  CHECK(begin("G2", site.job().rig.channels[0].certificate.number) == "certificate-in-use");
  REQUIRE(begin_swap(site, "G2") == "done");
  CHECK(begin("G1", "G-207") == "certificate-in-use");  // Not yet proved, and at G2 all the same.
  CHECK(begin_swap(site, "G2") == "being-swapped");
  CHECK(refusal_text(site) == "G2 is being swapped; give that up first");
  site.pass(seconds(5));
  CHECK(approve_swap(site, "G2") == "not-proved");
  CHECK(refusal_text(site) == "G2 has not been proved: prove it by a feeler, as in 'feeler 1.00 mm'");
}

TEST_CASE("a channel that is read by hand has no wire on which another instrument could be put") {
  Site site = at_work_with_head_up();
  change_job(site, [](Job& job) { channel_of(job, "T1").bus.reset(); });
  CHECK(begin_swap(site, "T1", "T-1") == "read-by-hand");
}

}  // namespace standfast::test
