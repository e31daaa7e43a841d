// A rate's window is judged by the slowest gauge behind it: each gauge has a window of its own, and needs five readings in it.
#include <catch2/catch.hpp>

#include <algorithm>

#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  return text.replace(text.find(what), what.size(), with);
}

// HEAD has G1, read every 100 ms, and G2 as stated here.
std::string rig_with(const std::string& second_gauge) {
  const std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
  const std::size_t from = text.find("  G2: "), to = text.find("  T1: ");
  return text.substr(0, from) + "  G2: " + second_gauge + "\n" + text.substr(to);
}

std::string read_every(const std::string& period) {
  return "{bus: wire, unit_id: 1, input_register: 5, as: int16, every: " + period +
         ", scale: {counts: [0, 1000], value: [0 mm, 1 mm]}, range: [-10 mm, 10 mm]}";
}
const std::string by_hand = "{by_hand: true, every: 1 h, range: [-10 mm, 10 mm]}";

// Of a plan whose second stage, Raise, has that limit, too, and says that of its polls.
Findings findings_of(const std::string& rig_text, const std::string& limit, const std::string& polls = {}) {
  const auto rig = load_rig(rig_text, "rig.yaml");
  REQUIRE(rig.value);
  const std::string text = test::bytes_of(test::good + "two-jacks.stages.yaml"), loads = "      - {of: load J*";
  const std::string limited = replaced(text, loads, "      - {" + limit + "}\n" + loads);
  return load_stages(limited + (polls.empty() ? "" : "    " + polls + "\n"), "stages.yaml", *rig.value).findings;
}

std::string codes(const Findings& findings) {
  std::string all;
  for (const Finding& f : findings) all += (all.empty() ? "" : " ") + f.code;
  return all;
}

std::string rate_of_head(const std::string& over) { return "of: rate movement HEAD, over: " + over + ", hold: {beyond: 0.5 mm/min}"; }

}  // namespace

TEST_CASE("a window holds five readings of the slowest gauge of its point, or it is refused") {
  CHECK(codes(findings_of(rig_with(read_every("1 s")), rate_of_head("3 s"))) == "E-window");
  CHECK(codes(findings_of(rig_with(read_every("1 s")), rate_of_head("4 s"))) == "W-window");
  CHECK(codes(findings_of(rig_with(read_every("1 s")), rate_of_head("9999 ms"))) == "W-window");
  CHECK(codes(findings_of(rig_with(read_every("1 s")), rate_of_head("10 s"))).empty());
  CHECK(findings_of(rig_with(read_every("1 s")), rate_of_head("3 s")).front().message.find("channel G2 is read every 1 s") !=
        std::string::npos);
}

TEST_CASE("a gauge that is read by hand beside one on a wire is there for its movement, and the rate is the other's") {
  CHECK(codes(findings_of(rig_with(by_hand), rate_of_head("10 s"))).empty());
}

TEST_CASE("a rate of what is read by hand alone is judged by the period of its entries") {
  const std::string alone = replaced(rig_with(by_hand), "gauges: [G1, G2], agree_within: 0.15 mm", "gauges: [G2]");
  CHECK(codes(findings_of(alone, rate_of_head("3 h"))) == "E-window");
  CHECK(codes(findings_of(alone, rate_of_head("4 h"))) == "W-window");
  CHECK(codes(findings_of(alone, rate_of_head("10 h"))).empty());
  CHECK(codes(findings_of(alone, rate_of_head("10 h"), "polls: {G2: 3 h}")) == "E-window");
  CHECK(codes(findings_of(alone, rate_of_head("3 h"), "polls: {G2: 15 min}")).empty());
  CHECK(codes(findings_of(alone, "of: rate channel G2, over: 3 h, hold: {beyond: 0.5 mm/min}")) == "E-window");
}

// The sum is evaluated whenever one of them is read.
TEST_CASE("the rate of a sum has a value as often as the fastest of its channels") {
  const std::string second = "P2: {bus: wire, unit_id: 1, input_register: 1, as: uint16, every: ";
  const std::string slow = replaced(test::bytes_of(test::good + "two-jacks.rig.yaml"), second + "100 ms", second + "1 s");
  CHECK(codes(findings_of(slow, "of: rate load total, over: 1 s, hold: {beyond: 5 kN/min}")).empty());
  CHECK(codes(findings_of(slow, "of: rate load J2, over: 1 s, hold: {beyond: 5 kN/min}")) == "E-window");
}
