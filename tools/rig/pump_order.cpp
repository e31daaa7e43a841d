#include "tools/rig/pump_order.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "tools/rig/plant.hpp"
#include "tools/rig/words.hpp"

namespace standfast::rig {
namespace {

constexpr double usual_speed = 1e3;  // N/s: 0.7 mm a minute at a leg of 85 kN/mm (practice: 0.5 to 2 mm a minute).

struct Target { JackId jack; double load; };

struct Straight { double from_x, from_y, to_x, to_y; };
double on_line(const Straight& line, double x) {
  return line.from_y + (x - line.from_x) / (line.to_x - line.from_x) * (line.to_y - line.from_y);
}

const std::vector<CalibrationPoint>& certificate(const Jack& jack, Direction direction) {
  return direction == Direction::lower && !jack.falling.empty() ? jack.falling : jack.rising;
}

double load_now(const Plant& plant, JackId jack, Direction direction, std::size_t leg) {
  return load_shown(plant.rig().jacks[jack.at()], plant.site().pressure(leg), direction);
}

void read_targets(const Rig& rig, WordReader& words, std::vector<Target>& targets) {
  std::vector<JackId> named;
  while (words.peek() != "to") {
    const std::string name = words.next("'to'");
    const auto jack = jack_named(rig, name);
    if (!jack) throw Refusal{"there is no jack " + name};
    named.push_back(*jack);
  }
  words.must("to");
  if (named.empty()) throw Refusal{"no jack is named"};
  const double load = words.amount({Base::force});
  words.take("each");
  for (const JackId jack : named) targets.push_back({jack, load});
}

}  // namespace

std::optional<JackId> jack_named(const Rig& rig, const std::string& name) {
  for (std::size_t j = 0; j < rig.jacks.size(); ++j) {
    if (rig.jacks[j].name == name) return JackId{j};
  }
  return std::nullopt;
}

double pressure_for(const Jack& jack, double load, Direction direction) {
  const auto& points = certificate(jack, direction);
  for (std::size_t n = 1; n < points.size(); ++n) {
    const auto& a = points[n - 1];
    const auto& b = points[n];
    if (load >= a.load.si() && load <= b.load.si()) {
      return on_line({a.load.si(), a.pressure.si(), b.load.si(), b.pressure.si()}, load);
    }
  }
  return load / jack.area.si();
}

double load_shown(const Jack& jack, double pressure, Direction direction) {
  const auto& points = certificate(jack, direction);
  for (std::size_t n = 1; n < points.size(); ++n) {
    const auto& a = points[n - 1];
    const auto& b = points[n];
    if (pressure >= a.pressure.si() && pressure <= b.pressure.si()) {
      return on_line({a.pressure.si(), a.load.si(), b.pressure.si(), b.load.si()}, pressure);
    }
  }
  return pressure * jack.area.si();
}

std::string start_pump(Plant& plant, WordReader& words, Direction direction) {
  std::vector<Target> targets;
  do read_targets(plant.rig(), words, targets);
  while (words.take(","));
  double speed = usual_speed;
  if (words.take("at")) speed = words.amount({Base::force, Per::second});
  words.must_end();
  if (speed <= 0) throw Refusal{"the speed must be above 0"};
  if (!plant.permitted(direction)) throw Refusal{"the pump does not start: its permit circuit is open"};

  PumpOrder order{direction, {}, 0};
  double most = 0;
  for (const Target& target : targets) {
    const std::size_t leg = plant.instruments().leg_of(target.jack);
    const double change = target.load - load_now(plant, target.jack, direction, leg);
    order.jacks.push_back({leg, pressure_for(plant.rig().jacks[target.jack.at()], target.load, direction)});
    if (change * (direction == Direction::raise ? 1 : -1) > 0) most = std::max(most, std::abs(change));
  }
  order.seconds = most / speed;
  plant.pump().start(order, plant.site());
  char text[64];
  std::snprintf(text, sizeof text, "the pump runs for about %.0f s", order.seconds);
  return text;
}

}  // namespace standfast::rig
