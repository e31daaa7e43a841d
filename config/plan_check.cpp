#include "config/plan_check.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "config/bound_value.hpp"
#include "config/complaints.hpp"
#include "config/duration_text.hpp"
#include "config/load_stages.hpp"
#include "config/poll_periods.hpp"
#include "config/unit_text.hpp"

namespace standfast {

namespace {

constexpr Dimension length{Base::length, Per::none};

// Expanded uncertainty (k = 2) of a reading whose error lies anywhere within +-accuracy: 2 a / sqrt 3 (JCGM 100:2008,
// 4.3.7).
double expanded(const Channel& channel) { return 2 * channel.accuracy.value_or(0) / std::sqrt(3.0); }

double worst_gauge(const Point& point, const Rig& rig) {
  double worst = 0;
  for (ChannelId gauge : point.gauges) worst = std::max(worst, expanded(rig.channels[gauge.at()]));
  return worst;
}

// Uncertainty of a quantity that is a change or a difference, for which a limit is a distance from nothing; 0 for others.
double uncertainty_of(const QuantityRef& of, const Rig& rig) {
  if (of.rate) return 0;
  double sum_of_squares = 0;
  switch (of.kind) {
    case QuantityKind::movement: case QuantityKind::differential: case QuantityKind::warp: case QuantityKind::agreement:
      for (std::uint16_t subject : of.subjects) sum_of_squares += std::pow(worst_gauge(rig.points[subject], rig), 2);
      return std::sqrt(sum_of_squares);
    case QuantityKind::travel: return expanded(rig.channels[rig.jacks[of.subjects.front()].stroke_channel->at()]);
    case QuantityKind::temperature_change: return expanded(rig.channels[of.subjects.front()]);
    case QuantityKind::pressure_spread: {
      for (const JackId jack : rig.circuits[of.subjects.front()].jacks)
        sum_of_squares = std::max(sum_of_squares, 2 * std::pow(expanded(rig.channels[rig.jacks[jack.at()].advance.at()]), 2));
      return std::sqrt(sum_of_squares);
    }
    case QuantityKind::supply: {
      const Circuit& circuit = rig.circuits[of.subjects.front()];
      for (const JackId jack : circuit.jacks)
        sum_of_squares = std::max(sum_of_squares, std::pow(expanded(rig.channels[rig.jacks[jack.at()].advance.at()]), 2));
      return std::sqrt(sum_of_squares + std::pow(expanded(rig.channels[circuit.supply->at()]), 2));
    }
    case QuantityKind::pressure:
    case QuantityKind::load:
    case QuantityKind::circuit_load:
    case QuantityKind::group_load:
    case QuantityKind::total_load: case QuantityKind::share: case QuantityKind::transferred: case QuantityKind::tilt:
    case QuantityKind::travel_left: case QuantityKind::load_lost: case QuantityKind::predicted_departure:
    case QuantityKind::stiffness_ratio:
    case QuantityKind::creep:
    case QuantityKind::temperature:
    case QuantityKind::channel: return 0;
  }
  return 0;
}

class PlanChecker {
 public:
  PlanChecker(const Rig& rig, const Plan& plan, std::string_view file_name)
      : rig_{rig}, plan_{plan}, complaints_{file_name} {}

  PlanCheck run() {
    PlanCheck check;
    for (const Stage& stage : plan_.stages) {
      for (const Limit& limit : stage.limits) check_uncertainty(limit);
      check_pressures(stage);
    }
    check.allowances = allowances();
    for (std::size_t i = 0; i < plan_.stages.size(); ++i) {
      const double bytes = bytes_a_day(rig_, plan_.stages[i]);
      if (bytes <= check.bytes_a_day) continue;
      check.bytes_a_day = bytes;
      check.busiest = StageId{i};
    }
    check.buses = bus_uses();
    check.shared_line = shared_line(rig_, poll_plan(rig_));
    check.findings = complaints_.take();
    return check;
  }

 private:
  // A limit inside what the instrument can be wrong by trips on nothing, or not at all.
  void check_uncertainty(const Limit& limit) {
    const double uncertainty = uncertainty_of(limit.of, rig_);
    if (uncertainty <= 0) return;
    const Dimension d = limit.of.dimension;
    for (const auto* level : {&limit.review, &limit.hold, &limit.stop}) {
      if (!*level) continue;
      for (const auto* bound : {&(*level)->above, &(*level)->below}) {
        if (!*bound || !(*bound)->terms.empty()) continue;
        const double distance = std::abs((*bound)->constant);
        if (!exceeds({d, 3 * uncertainty}, {d, distance})) continue;
        const std::string_view unit = default_unit(d);
        complaints_.add("W-limit-uncertain", {limit.place, 1},
                        "a limit of " + amount_text({d, distance}, unit, 3) + " is less than 3 x the uncertainty of " +
                            quantity_name(limit.of, rig_, plan_) + " (" + amount_text({d, uncertainty}, unit, 3) + ")",
                        {{}, "a wider limit, or a better gauge", {}});
      }
    }
  }

  // Where the load counts as evidence, the pressure behind it should be known to 2 % of itself.
  void check_pressures(const Stage& stage) {
    if (stage.kind == StageKind::snug || stage.kind == StageKind::pressure_down ||
        stage.kind == StageKind::transfer_back)
      return;
    std::set<JackId> told;
    for (const Step& step : stage.steps) {
      for (const JackTarget& target : step.targets) {
        const Jack& jack = rig_.jacks[target.jack.at()];
        const Channel& channel = rig_.channels[jack.advance.at()];
        const double pressure = target.load.si() / jack.area.si();
        if (!channel.accuracy || pressure <= 0 || *channel.accuracy <= 0.02 * pressure ||
            !told.insert(target.jack).second)
          continue;
        complaints_.add("W-pressure-accuracy", {step.place, 1},
                        "channel " + channel.name + " may be wrong by " +
                            amount_text({{Base::ratio, Per::none}, *channel.accuracy / pressure}, "%", 1) + " at the " +
                            amount_text({{Base::pressure, Per::none}, pressure}, "bar", 0) + " of this step",
                        {step.name, "at most 2 % of the reading: a transducer of smaller range", {}});
      }
    }
  }

  // As the stage says, or else the rig.
  Poll poll_of(const Stage& stage, ChannelId id) const {
    const auto poll = std::find_if(stage.polls.begin(), stage.polls.end(), [&](const Poll& p) { return p.channel == id; });
    const Channel& channel = rig_.channels[id.at()];
    return poll == stage.polls.end() ? Poll{id, channel.every, channel.stale_after} : *poll;
  }

  // While a gauge on a wire answers, the point is watched, however seldom somebody reads another by hand.
  void add_gauges(StaleAllowance& allowance, const Stage& stage) const {
    int wired = 0;
    Duration frozen_after{}, by_hand_stale_after{};
    for (const ChannelId id : rig_.points[allowance.point.at()].gauges) {
      const Channel& gauge = rig_.channels[id.at()];
      if (!gauge.bus) {
        allowance.entered_every = std::max(allowance.entered_every, poll_of(stage, id).every);
        by_hand_stale_after = std::max(by_hand_stale_after, poll_of(stage, id).stale_after);
        continue;
      }
      ++wired;
      allowance.stale_after = std::max(allowance.stale_after, poll_of(stage, id).stale_after);
      frozen_after = std::max(frozen_after, gauge.frozen_after);
    }
    if (wired > 1) allowance.frozen_after = frozen_after;
    allowance.by_hand_alone = wired == 0;
    if (wired == 0) allowance.stale_after = by_hand_stale_after;
  }

  StaleAllowance allowance_of(std::size_t point, std::size_t stage_number) const {
    const Stage& stage = plan_.stages[stage_number];
    StaleAllowance allowance{.point = PointId{point}, .stage = StageId{stage_number}};
    add_gauges(allowance, stage);
    std::optional<double> rate;
    for (const Limit& limit : stage.limits) {
      if (limit.of.kind != QuantityKind::movement || !limit.of.rate || limit.of.subjects.front() != point || limit.when)
        continue;
      for (const auto* level : {&limit.hold, &limit.stop}) {
        if (!*level) continue;
        for (const auto* bound : {&(*level)->above, &(*level)->below}) {
          if (*bound) rate = std::min(rate.value_or(1e9), std::abs((*bound)->constant));
        }
      }
    }
    if (rate) allowance.movement = Length::from_si(*rate * allowance.stale_after.seconds());
    return allowance;
  }

  // The room between HOLD and STOP of the point's movement since baseline, upwards or downwards, whichever is less.
  std::optional<double> room(std::size_t point, const Stage& stage) const {
    std::optional<double> least;
    for (const Limit& limit : stage.limits) {
      if (limit.of.kind != QuantityKind::movement || limit.of.rate || limit.of.subjects.front() != point ||
          !limit.hold || !limit.stop)
        continue;
      const auto consider = [&](const std::optional<Bound>& hold, const std::optional<Bound>& stop) {
        if (hold && stop) least = std::min(least.value_or(1e9), std::abs(stop->constant - hold->constant));
      };
      consider(limit.hold->above, limit.stop->above);
      consider(limit.hold->below, limit.stop->below);
    }
    return least;
  }

  std::vector<StaleAllowance> allowances() {
    const auto baseline = std::find_if(plan_.stages.begin(), plan_.stages.end(),
                                       [](const Stage& s) { return s.kind == StageKind::baseline; });
    const auto first = static_cast<std::size_t>(baseline - plan_.stages.begin()) + 1;
    std::vector<StaleAllowance> worst;
    for (std::size_t point = 0; point < rig_.points.size(); ++point) {
      std::optional<StaleAllowance> most;
      for (std::size_t i = first; i < plan_.stages.size(); ++i) {
        const StaleAllowance next = allowance_of(point, i);
        warn_room(next, plan_.stages[i]);
        if (!most || is_more(next, *most)) most = next;
      }
      if (most) worst.push_back(*most);
    }
    return worst;
  }

  std::vector<BusUse> bus_uses() const {
    const PollPlan polls = poll_plan(rig_);
    std::vector<BusUse> uses(rig_.buses.size());
    for (std::size_t i = 0; i < plan_.stages.size(); ++i) {
      const auto loads = bus_loads(rig_, polls, poll_periods(polls, &plan_.stages[i]));
      for (std::size_t b = 0; b < loads.size(); ++b)
        if (i == 0 || loads[b].share() > uses[b].load.share()) uses[b] = {loads[b], StageId{i}};
    }
    return uses;
  }

  static bool is_more(const StaleAllowance& a, const StaleAllowance& b) {
    if (a.movement && b.movement) return *a.movement > *b.movement;
    if (a.movement.has_value() != b.movement.has_value()) return a.movement.has_value();
    return a.stale_after > b.stale_after;
  }

  void warn_room(const StaleAllowance& allowance, const Stage& stage) {
    const auto least = room(allowance.point.at(), stage);
    if (!allowance.movement || !least || !exceeds(amount(*allowance.movement), {length, *least})) return;
    complaints_.add("W-stale-movement", {stage.place, 1},
                    "point " + rig_.points[allowance.point.at()].name + " may move " +
                        amount_text(amount(*allowance.movement), "mm", 2) + " unseen within " +
                        duration_text(allowance.stale_after) + ", more than from hold to stop (" +
                        amount_text({length, *least}, "mm", 2) + ")",
                    {stage.name, "a shorter 'stale_after', or a tighter rate limit", {}});
  }

  const Rig& rig_;
  const Plan& plan_;
  Complaints complaints_;
};

// Silence is told by time alone; a gauge that stands still by a twin on a wire that moves, and guards the point meanwhile.
// What is read by hand is compared at its entries only, and guards nothing in between.
std::string frozen_text(const StaleAllowance& allowance) {
  const std::string entered = "every " + duration_text(allowance.entered_every);
  if (allowance.by_hand_alone) return "; it is read by hand alone, " + entered;
  if (allowance.frozen_after.ns > 0)
    return "; a frozen gauge is doubted after " + duration_text(allowance.frozen_after) + ", and its twin guards meanwhile";
  if (allowance.entered_every.ns > 0)
    return "; a frozen gauge has no twin on a wire that would tell, and what is read by hand shows it at an entry, " + entered;
  return "; a frozen gauge has no twin that would tell";
}

std::string allowance_text(const StaleAllowance& allowance, const Rig& rig, const Plan& plan) {
  std::string text = "point " + rig.points[allowance.point.at()].name + ": ";
  if (allowance.movement) text += "moves at most " + amount_text(amount(*allowance.movement), "mm", 3);
  else text += "no rate limit bounds what it moves";
  text += " within " + duration_text(allowance.stale_after) + " of silence" + frozen_text(allowance);
  return text + " (stage " + plan.stages[allowance.stage.at()].name + ")\n";
}

// Up to one decimal, rounded up.
std::string tenths(double number) {
  const long rounded = static_cast<long>(std::ceil(number * 10 - 1e-6));
  return std::to_string(rounded / 10) + (rounded % 10 == 0 ? "" : "." + std::to_string(rounded % 10));
}

// As it will be opened, stated or by default.
std::string settings_text(const SerialSettings& serial) {
  const std::string_view parity = serial.parity == Parity::even ? "even" : serial.parity == Parity::odd ? "odd" : "no";
  return " at " + std::to_string(serial.baud) + " baud, " + std::string{parity} + " parity, " + std::to_string(serial.stop_bits) +
         (serial.stop_bits == 1 ? " stop bit" : " stop bits");
}

std::string bus_text(const Bus& bus, const BusUse& use, const Plan& plan) {
  const std::string share = tenths(use.load.share() * 100) + " % ";
  std::string text = "bus " + bus.name + ": " + tenths(use.load.requests_a_second) + " requests a second, ";
  const SerialSettings* serial = serial_of(bus);
  text += serial != nullptr ? share + "of its line" + settings_text(*serial)
                            : "busy " + share + "of the time if each is answered within 5 ms";
  if (use.load.outputs > 0) text += ", " + tenths(use.load.outputs * 100) + " % by the output module";
  return text + " (stage " + plan.stages[use.stage.at()].name + ")\n";
}

std::string shared_line_text(const SharedLine& line, const Bus& bus) {
  return "outputs on bus " + bus.name + ", in every stage: withdrawn within " + duration_text(line.longest_request) +
         " of one running request, within " + duration_text(line.withdrawal) +
         " behind an instrument that is silent; one that is frozen answers, and holds up nothing\n";
}

}  // namespace

double bytes_a_day(const Rig& rig, const Stage& stage) {
  const PollPlan polls = poll_plan(rig);
  const std::vector<Duration> periods = poll_periods(polls, &stage);
  double bytes = 0;
  for (std::size_t i = 0; i < periods.size(); ++i) {
    const Block& block = polls.blocks[i];
    const double readings = static_cast<double>(block.channels.size() + block.inputs.size());
    if (periods[i].ns > 0) bytes += (6 * readings + 60) * 86'400 / periods[i].seconds();
  }
  return bytes;
}

PlanCheck check_plan(const Rig& rig, const Plan& plan, std::string_view plan_file_name) {
  return PlanChecker{rig, plan, plan_file_name}.run();
}

std::string plan_check_text(const PlanCheck& check, const Rig& rig, const Plan& plan) {
  std::string text;
  for (const StaleAllowance& allowance : check.allowances) text += allowance_text(allowance, rig, plan);
  for (std::size_t i = 0; i < check.buses.size(); ++i) text += bus_text(rig.buses[i], check.buses[i], plan);
  if (check.shared_line) text += shared_line_text(*check.shared_line, rig.buses[rig.output_module->bus.at()]);
  const double hundredths = std::ceil(check.bytes_a_day / 1e7);
  const std::string number = std::to_string(static_cast<long>(hundredths));
  const std::string padded = std::string(number.size() < 3 ? 3 - number.size() : 0, '0') + number;
  text += "the record grows by about " + padded.substr(0, padded.size() - 2) + "." + padded.substr(padded.size() - 2) +
          " GB a day";
  if (!plan.stages.empty()) text += " (stage " + plan.stages[check.busiest.at()].name + ")";
  return text + "\n";
}

}  // namespace standfast
