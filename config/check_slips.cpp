// Stated numbers that cannot all be right, as when one was given in another's unit: 133 in2 typed as 133 cm2.
#include <algorithm>
#include <array>
#include <cmath>

#include "config/ensure.hpp"
#include "config/rig_draft.hpp"
#include "config/unit_text.hpp"

namespace standfast {
namespace {

constexpr Dimension force{Base::force, Per::none}, pressure{Base::pressure, Per::none}, area{Base::area, Per::none};

// Rams are rated at a pressure that their transducer or the relief of their circuit reaches, within a third; either alone may
// lie well away from it. Common practice, no source.
constexpr double most_of_rating = 1.5, most_alone = 5;
// No further off than `near` a factor between units explains what is found. One that is met is named alone, else all that come near:
// what a rating and a transducer leave to spare stands in the quotient, too.
constexpr double met = 1.05, near = 1.25, named = 1.35;
constexpr std::size_t named_at_most = 3;

struct TwoUnits {
  Dimension dimension;
  std::string_view large, small;
};
constexpr std::array taken_for_each_other{
    TwoUnits{force, "kip", "kN"},     TwoUnits{area, "in2", "cm2"},     TwoUnits{pressure, "psi", "kPa"}, TwoUnits{pressure, "MPa", "bar"},
    TwoUnits{pressure, "bar", "psi"}, TwoUnits{area, "cm2", "mm2"},     TwoUnits{pressure, "MPa", "psi"}, TwoUnits{pressure, "bar", "kPa"},
    TwoUnits{area, "in2", "mm2"},     TwoUnits{force, "kN", "N"}};

double factor_of(const TwoUnits& units) {
  const auto one = parse_amount("1 " + std::string{units.large}, units.dimension);
  ENSURE(one);
  const auto smaller = in_unit(*one, units.small);
  ENSURE(smaller);
  return *smaller;
}

double factor_between(double a, double b) { return std::max(a / b, b / a); }

std::string number(double factor) {
  std::string text = amount_text({{Base::ratio, Per::none}, factor / 100}, "%", 2);
  return text.substr(0, text.find(' '));
}

bool is_explained(double apart) {
  return std::ranges::any_of(taken_for_each_other,
                             [apart](const TwoUnits& units) { return factor_between(apart, factor_of(units)) < near; });
}

std::string slip_text(double apart) {
  const auto distance = [apart](const TwoUnits& units) { return factor_between(apart, factor_of(units)); };
  auto by_distance = taken_for_each_other;
  std::ranges::stable_sort(by_distance, {}, distance);
  std::string text = "a factor of " + number(apart);
  const std::size_t most = distance(by_distance[0]) < met ? 1 : named_at_most;
  for (std::size_t i = 0; i < most && distance(by_distance[i]) < named; ++i)
    text += (i ? ", the " : ", near the ") + number(factor_of(by_distance[i])) + " between " + std::string{by_distance[i].large} +
            " and " + std::string{by_distance[i].small};
  return text;
}

template <class T>
Spot spot_of(const T& thing) {
  return {thing.place, std::max(1, static_cast<int>(thing.name.size()))};
}

std::string kilonewtons(double si) { return amount_text({force, si}, "kN", 1); }
std::string bar(double si) { return amount_text({pressure, si}, "bar", 0); }

class SlipsCheck {
 public:
  explicit SlipsCheck(RigDraft& draft)
      : draft_{draft}, channel_told_(draft.rig.channels.size(), false), jack_told_(draft.rig.jacks.size(), false) {}

  std::vector<bool> run() {
    const Rig& rig = draft_.rig;
    for (std::size_t j = 0; j < rig.jacks.size(); ++j) {
      const Jack& jack = rig.jacks[j];
      const Circuit* circuit = circuit_of(JackId{j});
      jack_told_[j] = check_rating(jack, circuit);
      check_calibration(jack);
      if (jack_told_[j]) continue;
      check_channel(jack.advance, jack);
      if (circuit != nullptr && circuit->supply) check_channel(*circuit->supply, jack);
      if (circuit != nullptr && circuit->jacks.front() == JackId{j}) check_relief(*circuit, jack);
      jack_told_[j] = channel_told_[jack.advance.at()];
    }
    return jack_told_;
  }

 private:
  static double pressure_at_rating(const Jack& jack) { return jack.rated.si() / jack.area.si(); }

  const Circuit* circuit_of(JackId id) const {
    for (const Circuit& circuit : draft_.rig.circuits)
      if (std::ranges::find(circuit.jacks, id) != circuit.jacks.end()) return &circuit;
    return nullptr;
  }

  void complain(Spot spot, const std::string& what, double a, double b) {
    draft_.complaints.add("W-unit-slip", spot, what + ": " + slip_text(factor_between(a, b)),
                          {{}, "numbers that fit each other, each in its own unit", {}});
  }

  // The area is what load is computed by, and the rating what it is compared with. A transducer that is merely too short for
  // its jack is told of elsewhere.
  bool check_rating(const Jack& jack, const Circuit* circuit) {
    const double at_rating = pressure_at_rating(jack);
    double most = draft_.rig.channels[jack.advance.at()].range_high;
    if (most <= 0) return false;
    std::string where = "its transducer ends";
    if (circuit != nullptr && circuit->relief && factor_between(circuit->relief->si(), at_rating) < factor_between(most, at_rating)) {
      most = circuit->relief->si();
      where = "its relief opens";
    }
    const double apart = factor_between(most, at_rating);
    if (apart <= most_of_rating || !is_explained(apart)) return false;
    const double load = most * jack.area.si();
    complain(spot_of(jack),
             "jack " + jack.name + " makes " + kilonewtons(load) + " of " + amount_text({area, jack.area.si()}, "cm2", 1) + " at the " +
                 bar(most) + " at which " + where + ", and is rated " + kilonewtons(jack.rated.si()),
             load, jack.rated.si());
    return true;
  }

  void check_calibration(const Jack& jack) {
    if (jack.rising.empty() || jack.rising.back().load.si() <= 0) return;
    const CalibrationPoint& last = jack.rising.back();
    const double load = last.pressure.si() * jack.area.si();
    if (factor_between(last.load.si(), load) <= most_of_rating) return;
    complain(spot_of(jack),
             "the calibration of jack " + jack.name + " ends at " + kilonewtons(last.load.si()) + " and " + bar(last.pressure.si()) +
                 ", which make " + kilonewtons(load) + " of its area",
             last.load.si(), load);
  }

  void check_channel(ChannelId id, const Jack& jack) {
    const Channel& channel = draft_.rig.channels[id.at()];
    const double at_rating = pressure_at_rating(jack);
    if (channel_told_[id.at()] || channel.range_high <= 0 || factor_between(channel.range_high, at_rating) <= most_alone) return;
    channel_told_[id.at()] = true;
    complain(spot_of(channel),
             "channel " + channel.name + " ends at " + bar(channel.range_high) + ", and jack " + jack.name + " stands at its rating at " +
                 bar(at_rating),
             channel.range_high, at_rating);
  }

  void check_relief(const Circuit& circuit, const Jack& jack) {
    const double at_rating = pressure_at_rating(jack);
    if (!circuit.relief || factor_between(circuit.relief->si(), at_rating) <= most_alone) return;
    complain(spot_of(circuit),
             "the relief of circuit " + circuit.name + " opens at " + bar(circuit.relief->si()) + ", and jack " + jack.name +
                 " stands at its rating at " + bar(at_rating),
             circuit.relief->si(), at_rating);
  }

  RigDraft& draft_;
  std::vector<bool> channel_told_, jack_told_;
};

}  // namespace

std::vector<bool> check_slips(RigDraft& draft) { return SlipsCheck{draft}.run(); }

}  // namespace standfast
