// Numbers in a mistaken unit. The factors between units are exact: international inch and pound of 1959, as printed in NIST
// SP 811 (2008), appendix B.8: in2 is 6.4516 cm2, psi is 6.894 757 kPa, kip is 4.448 222 kN.
#include <catch2/catch.hpp>

#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

// The first finding of a rig of two jacks in which that was replaced; of two jacks alike each is told of.
std::string finding_with(const std::string& what, const std::string& with, const std::string& relief = {}) {
  std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
  text.replace(text.find(what), what.size(), with);
  const std::string lock_nut = "lock_nut: false";
  if (!relief.empty()) text.replace(text.find(lock_nut), lock_nut.size(), lock_nut + ", relief: " + relief);
  const Findings findings = load_rig(text, "rig.yaml").findings;
  return findings.empty() ? "" : findings.front().code + " " + findings.front().message;
}

const std::string ram = "area: 95 cm2, rated: 660 kN", to_700_bar = "value: [0 bar, 700 bar]";

bool ends_with(const std::string& text, const std::string& end) { return text.ends_with(end); }

}  // namespace

TEST_CASE("a ram's area in another unit is told by its rating, with both numbers and the factor") {
  CHECK(finding_with(ram, "area: 133 cm2, rated: 6000 kN") ==
        "W-unit-slip jack J1 makes 931.0 kN of 133.0 cm2 at the 700 bar at which its transducer ends, and is rated 6000.0 kN: "
        "a factor of 6.44, near the 6.45 between in2 and cm2");
  CHECK(ends_with(finding_with(ram, "area: 95 in2, rated: 660 kN"), "a factor of 6.50, near the 6.45 between in2 and cm2"));
  CHECK(ends_with(finding_with(ram, "area: 95 cm2, rated: 660 kip"), "a factor of 4.41, near the 4.45 between kip and kN"));
  CHECK(ends_with(finding_with(ram, "area: 95 mm2, rated: 660 kN"), "a factor of 99.25, near the 100.00 between cm2 and mm2"));
  CHECK(finding_with(ram, "area: 133 in2, rated: 6000 kN").empty());
}

TEST_CASE("a transducer's range in another unit is told by the pressure at which its jack stands at its rating") {
  CHECK(ends_with(finding_with(to_700_bar, "value: [0 bar, 10000 bar]"), "a factor of 14.39, near the 14.50 between bar and psi"));
  CHECK(ends_with(finding_with(to_700_bar, "value: [0 bar, 70 bar]"), "a factor of 9.92, near the 10.00 between MPa and bar"));
  CHECK(ends_with(finding_with(to_700_bar, "value: [0 psi, 1450 psi]"), "a factor of 6.95, near the 6.89 between psi and kPa"));
  CHECK(finding_with(to_700_bar, "value: [0 bar, 7000 bar]", "560 bar") ==
        "W-unit-slip channel P1 ends at 7000 bar, and jack J1 stands at its rating at 695 bar: a factor of 10.08, near the 10.00 "
        "between MPa and bar");
}

TEST_CASE("a supply and a relief in another unit are told likewise") {
  CHECK(ends_with(finding_with(ram, ram, "8000 bar"),
                  "a factor of 11.52, near the 10.00 between MPa and bar, the 14.50 between bar and psi"));
  const std::string pump = "P2: {bus: wire, unit_id: 1, input_register: 1", supply = "counts_per_mA: 1000}, fitted_at: pump";
  CHECK(finding_with(to_700_bar + ", " + supply, "value: [0 bar, 70 bar], " + supply).find("W-unit-slip channel PU ends at 70 bar") == 0);
}

TEST_CASE("a calibration in another unit is told by the area") {
  const std::string share = "planned_share: 50 %";
  CHECK(ends_with(finding_with(share, share + ", calibration: {rising: [[0 bar, 0 kN], [690 bar, 147 kN]]}"),
                  "a factor of 4.46, near the 4.45 between kip and kN"));
  CHECK(finding_with(share, share + ", calibration: {rising: [[0 bar, 0 kip], [690 bar, 147 kip]]}").empty());
}

TEST_CASE("what lies well apart without a mistake is not told of as one") {
  CHECK(finding_with(to_700_bar, "value: [0 bar, 1000 bar]").empty());
  CHECK(finding_with(ram, ram, "300 bar").empty());
  CHECK(finding_with(to_700_bar, "value: [0 bar, 400 bar]").find("W-rated-reach") == 0);
  CHECK(finding_with(ram, "area: 95 cm2, rated: 330 kN").empty());  // A factor of 2.02: a jack of 350 bar on a transducer of 700.
  CHECK(finding_with(ram, "area: 95 cm2, rated: 330 kN", "350 bar").empty());
}
