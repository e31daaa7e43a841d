// What no single part of rig.yaml can see: shares that make a whole, things that are used twice.
#include <algorithm>
#include <map>

#include "config/rig_draft.hpp"
#include "config/unit_text.hpp"

namespace standfast {

namespace {

constexpr std::size_t gauges_that_fit_any_tilt = 3;

template <class T>
Spot spot_of(const T& thing) {
  return {thing.place, std::max(1, static_cast<int>(thing.name.size()))};
}

void check_shares(RigDraft& draft) {
  const auto& jacks = draft.rig.jacks;
  if (jacks.empty() || !draft.shares_known) return;
  double sum = 0;
  for (const Jack& jack : jacks) sum += jack.planned_share.si();
  constexpr Dimension ratio{Base::ratio, Per::none};
  if (!exceeds({ratio, sum}, {ratio, 1.001}) && !exceeds({ratio, 0.999}, {ratio, sum})) return;
  draft.complaints.add("E-share-sum", spot_of(jacks.front()),
                       "the planned shares make " + amount_text({ratio, sum}, "%", 2), {{}, "100 %, within 0.1 %", {}});
}

bool is_one_wire(BusId a, BusId b, const Rig& rig) {
  if (a == b) return true;
  const auto *x = std::get_if<ModbusTcp>(&rig.buses[a.at()].wire), *y = std::get_if<ModbusTcp>(&rig.buses[b.at()].wire);
  return x != nullptr && y != nullptr && x->host == y->host && x->port == y->port;
}

bool share_a_register(const Channel& a, const Channel& b, const Rig& rig) {
  if (!a.bus || !b.bus || !is_one_wire(*a.bus, *b.bus, rig)) return false;
  const Address &x = a.address, &y = b.address;
  return x.unit_id == y.unit_id && x.table == y.table && x.start < y.start + words_of(b.type) &&
         y.start < x.start + words_of(a.type);
}

// Of each channel: is it a gauge of a point or of a ram, or a pressure of a jack or of a circuit's supply?
std::vector<bool> gauges_of(const Rig& rig) {
  std::vector<bool> gauges(rig.channels.size(), false);
  for (const Jack& jack : rig.jacks) {
    gauges[jack.advance.at()] = true;
    if (jack.retract) gauges[jack.retract->at()] = true;
  }
  for (const Circuit& circuit : rig.circuits)
    if (circuit.supply) gauges[circuit.supply->at()] = true;
  for (const Point& point : rig.points)
    for (const ChannelId gauge : point.gauges) gauges[gauge.at()] = true;
  for (const Jack& jack : rig.jacks)
    if (jack.stroke_channel) gauges[jack.stroke_channel->at()] = true;
  return gauges;
}

// One instrument under two names would confirm its own reading beyond a limit, and never disagree with itself, nor be seen
// to stand still or to step alone.
void complain_one_instrument(const Channel& earlier, const Channel& gauge, Complaints& complaints) {
  complaints.add("E-gauge-twice", spot_of(gauge),
                 "channels " + earlier.name + " and " + gauge.name + " read the same place: they are one instrument, and no twins",
                 {{}, "a place of its own for each, or one channel where one instrument is meant", {}});
}

void check_addresses(RigDraft& draft) {
  const auto& channels = draft.rig.channels;
  const std::vector<bool> is_gauge = gauges_of(draft.rig);
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const Channel *gauge = nullptr, *other = nullptr;  // The first of each that stands before it at its place.
    for (std::size_t j = 0; j < i; ++j) {
      if (!share_a_register(channels[j], channels[i], draft.rig)) continue;
      const Channel*& found = is_gauge[i] && is_gauge[j] ? gauge : other;
      if (found == nullptr) found = &channels[j];
    }
    if (gauge != nullptr) complain_one_instrument(*gauge, channels[i], draft.complaints);
    if (gauge != nullptr || other == nullptr) continue;
    draft.complaints.add("W-address-shared", spot_of(channels[i]),
                         "channels " + other->name + " and " + channels[i].name + " read the same place",
                         {{}, "a place of its own for each channel", {}});
  }
}

void check_transducers(RigDraft& draft) {
  std::map<ChannelId, const Jack*> first;
  for (const Jack& jack : draft.rig.jacks) {
    const auto [other, is_new] = first.try_emplace(jack.advance, &jack);
    if (is_new) continue;
    draft.complaints.add("W-transducer-shared", spot_of(jack),
                         "jacks " + other->second->name + " and " + jack.name +
                             " are one piece of evidence: both stand on one transducer",
                         {{}, "a transducer at each jack", {}});
  }
}

// Of the jacks whose numbers do not fit each other anyhow that is told already.
void check_reach(RigDraft& draft, const std::vector<bool>& told) {
  constexpr Dimension force{Base::force, Per::none};
  for (std::size_t j = 0; j < told.size(); ++j) {
    if (told[j]) continue;
    const Jack& jack = draft.rig.jacks[j];
    const Channel& advance = draft.rig.channels[jack.advance.at()];
    const double most = advance.range_high * jack.area.si();
    if (!exceeds({force, jack.rated.si()}, {force, most})) continue;
    draft.complaints.add("W-rated-reach", spot_of(jack),
                         "channel " + advance.name + " ends at " + amount_text({force, most}, "kN", 1) + " on jack " +
                             jack.name + ", rated " + amount_text({force, jack.rated.si()}, "kN", 1),
                         {{}, "a transducer that reaches the rating", {}});
  }
}

void check_circuits(RigDraft& draft) {
  std::map<JackId, const Circuit*> first;
  for (const Circuit& circuit : draft.rig.circuits) {
    for (JackId jack : circuit.jacks) {
      const auto [other, is_new] = first.try_emplace(jack, &circuit);
      if (is_new) continue;
      draft.complaints.add(
          "E-jack-in-two", spot_of(circuit),
          "jack " + draft.rig.jacks[jack.at()].name + " is on circuits " + other->second->name + " and " + circuit.name,
          {{}, "one circuit for each jack", {}});
    }
  }
}

// What a circuit's supply is compared with, and when.
void check_supplies(RigDraft& draft) {
  const auto& inputs = draft.rig.inputs;
  const bool pump_is_known = std::any_of(inputs.begin(), inputs.end(), [](const Input& input) {
    return input.meaning == InputMeaning::pump_running && input.normally_closed;
  });
  const auto feeds = [&](const Circuit& circuit, ChannelId supply) {
    return std::any_of(circuit.jacks.begin(), circuit.jacks.end(),
                       [&](JackId jack) { return draft.rig.jacks[jack.at()].advance == supply; });
  };
  for (const Circuit& circuit : draft.rig.circuits) {
    if (!circuit.supply) continue;
    const Channel& supply = draft.rig.channels[circuit.supply->at()];
    const auto complain = [&](const std::string& message, std::string_view wanted) {
      draft.complaints.add("E-supply", spot_of(circuit), message, {{}, std::string{wanted}, {}});
    };
    if (supply.fitted_at != FittedAt::pump)
      complain("channel " + supply.name + ", the supply of circuit " + circuit.name + ", is not fitted at the pump",
               "a channel with fitted_at: pump");
    if (feeds(circuit, *circuit.supply))
      complain("channel " + supply.name + " is the supply of circuit " + circuit.name + " and the pressure of one of its jacks",
               "a channel of its own");
    if (circuit.pressure_taken_at == FittedAt::pump)
      complain("circuit " + circuit.name + " takes its pressures at the pump: its supply can be compared with nothing",
               "pressure_taken_at: jack port");
    if (!pump_is_known)
      complain("circuit " + circuit.name + " states a supply, and no input tells when the pump runs, even with its cable cut",
               "an input pump_running with rests_at: 1");
  }
}

void check_gauges(RigDraft& draft) {
  std::map<ChannelId, std::string> first;
  const auto use = [&](ChannelId channel, Spot spot, const std::string& user) {
    const auto [other, is_new] = first.try_emplace(channel, user);
    if (is_new) return;
    draft.complaints.add(
        "E-gauge-in-two", spot,
        "channel " + draft.rig.channels[channel.at()].name + " serves " + other->second + " and " + user,
        {{}, "a gauge of its own for each", {}});
  };
  for (const Point& point : draft.rig.points) {
    for (ChannelId gauge : point.gauges) use(gauge, spot_of(point), "point " + point.name);
  }
  for (const Jack& jack : draft.rig.jacks) {
    if (jack.stroke_channel) use(*jack.stroke_channel, spot_of(jack), "jack " + jack.name);
  }
}

void check_gauge_places(RigDraft& draft) {
  for (const Point& point : draft.rig.points) {
    if (point.gauges_at.empty() || point.gauges_at.size() > gauges_that_fit_any_tilt) continue;
    draft.complaints.add("W-gauge-places", spot_of(point),
                         "point " + point.name + " says where its gauges sit, and has too few for a tilt to be told from a fault",
                         {{}, "four gauges or more, or no 'gauges_at'", {}});
  }
}

}  // namespace

void check_rig(RigDraft& draft) {
  check_shares(draft);
  check_circuits(draft);
  check_supplies(draft);
  check_gauges(draft);
  if (draft.complaints.errors() > 0) return;  // What a jack was given may be missing.
  check_addresses(draft);
  check_transducers(draft);
  check_reach(draft, check_slips(draft));
  check_gauge_places(draft);
  check_buses(draft);
  check_lines(draft);
}

}  // namespace standfast
