// The readers of `jacks`, `groups` and `circuits`.
#include <algorithm>

#include "config/load_names.hpp"
#include "config/quoted.hpp"
#include "config/rig_draft.hpp"

namespace standfast {

namespace {

constexpr std::string_view jack_keys[] = {"advance", "retract", "area", "retract_area", "rated", "stroke", "at",
                                          "planned_share", "calibration"};
constexpr std::string_view stroke_keys[] = {"channel", "limit"};
constexpr std::string_view calibration_keys[] = {"rising", "falling"};
constexpr std::string_view circuit_keys[] = {"jacks", "pressure_taken_at", "check_valve", "lock_nut", "relief", "supply"};

constexpr Word<FittedAt> taken_words[] = {{"jack port", FittedAt::jack_port}, {"pump", FittedAt::pump}};

constexpr Dimension force{Base::force, Per::none}, pressure{Base::pressure, Per::none}, length{Base::length, Per::none},
    area{Base::area, Per::none}, ratio{Base::ratio, Per::none};

Names jack_names(const RigDraft& draft) { return {"jack", names_of(draft.rig.jacks)}; }

std::vector<JackId> read_jacks(const YamlNode* node, RigDraft& draft) {
  std::vector<JackId> jacks;
  for (std::size_t place : read_references(node, jack_names(draft), Star::allowed, draft.complaints))
    jacks.emplace_back(place);
  return jacks;
}

std::optional<CalibrationPoint> read_calibration_point(const YamlNode& node, Complaints& complaints) {
  const auto* pair = read_list(&node, 2, 2, "a pressure and the load at it", complaints);
  if (pair == nullptr) return std::nullopt;
  const auto p = read_amount(pair->data(), pressure, complaints, {0.0, std::nullopt, "not below 0"});
  const auto f = read_amount(&(*pair)[1], force, complaints);
  if (!p || !f) return std::nullopt;
  return CalibrationPoint{Pressure::from_si(*p), Force::from_si(*f)};
}

std::vector<CalibrationPoint> read_calibration(const YamlNode* node, Complaints& complaints) {
  std::vector<CalibrationPoint> points;
  const auto* items = read_list(node, 2, 50, "2 to 50 pairs of pressure and load", complaints);
  if (items == nullptr) return points;
  for (const YamlNode& item : *items) {
    const auto point = read_calibration_point(item, complaints);
    if (!point) continue;
    if (points.empty() || (point->pressure > points.back().pressure && point->load > points.back().load)) {
      points.push_back(*point);
      continue;
    }
    complaints.add("E-calibration", item.spot, "this point does not lie above the one before it",
                   {{}, "points by rising pressure and load, as on the certificate", {}});
  }
  return points;
}

// A channel read over a bus that measures a pressure or a length.
std::optional<ChannelId> read_channel(const YamlNode* node, Dimension wanted, RigDraft& draft) {
  const auto place = read_reference(node, {"channel", names_of(draft.rig.channels)}, draft.complaints);
  if (!place) return std::nullopt;
  const Channel& channel = draft.rig.channels[*place];
  if (draft.dimension_known[*place] && channel.dimension != wanted) {
    draft.complaints.add(
        "E-channel-kind", node->spot, "channel " + channel.name + " does not measure what is wanted here",
        {node->text, wanted == pressure ? "a channel in a unit of pressure" : "a channel in a unit of length", {}});
  }
  if (wanted == pressure && draft.by_hand[*place])
    draft.complaints.add("E-channel-kind", node->spot, "channel " + channel.name + " is read by hand: no load is told by that",
                         {node->text, "a channel that is read over a bus", {}});
  return ChannelId{*place};
}

class JackReader {
 public:
  JackReader(const YamlEntry& entry, RigDraft& draft)
      : draft_{draft},
        complaints_{draft.complaints},
        fields_{entry.value, "jack " + entry.key, jack_keys, draft.complaints} {
    jack_.name = entry.key;
    jack_.place = entry.key_spot.place;
  }

  void read() {
    if (auto channel = read_channel(fields_.need("advance"), pressure, draft_)) jack_.advance = *channel;
    jack_.retract = read_channel(fields_.find("retract"), pressure, draft_);
    if (auto a = read_above_zero(fields_.need("area"), area, complaints_)) jack_.area = Area::from_si(*a);
    if (auto a = read_above_zero(fields_.find("retract_area"), area, complaints_))
      jack_.retract_area = Area::from_si(*a);
    check_retract();
    if (auto f = read_above_zero(fields_.need("rated"), force, complaints_)) jack_.rated = Force::from_si(*f);
    read_stroke(fields_.need("stroke"));
    jack_.at = read_position(fields_.find("at"), complaints_);
    const auto share = read_amount(fields_.need("planned_share"), ratio, complaints_, {0.0, 1.0, "0 to 100 %"});
    if (share) jack_.planned_share = Ratio::from_si(*share);
    else draft_.shares_known = false;
    if (const YamlNode* node = fields_.find("calibration")) read_calibrations(*node);
    draft_.rig.jacks.push_back(std::move(jack_));
  }

 private:
  void check_retract() {
    if (fields_.has("retract") == fields_.has("retract_area")) return;
    complaints_.add("E-one-of", fields_.spot(),
                    fields_.thing() + " has one of 'retract' and 'retract_area' without the other",
                    {{}, "both, for a jack that is pressed back by oil, or neither", {}});
  }

  void read_stroke(const YamlNode* node) {
    if (node == nullptr) return;
    const Fields stroke{*node, "the stroke of " + fields_.thing(), stroke_keys, complaints_};
    jack_.stroke_channel = read_channel(stroke.find("channel"), length, draft_);
    if (auto limit = read_above_zero(stroke.need("limit"), length, complaints_))
      jack_.stroke_limit = Length::from_si(*limit);
  }

  void read_calibrations(const YamlNode& node) {
    const Fields calibration{node, "the calibration of " + fields_.thing(), calibration_keys, complaints_};
    jack_.rising = read_calibration(calibration.need("rising"), complaints_);
    jack_.falling = read_calibration(calibration.find("falling"), complaints_);
  }

  RigDraft& draft_;
  Complaints& complaints_;
  Fields fields_;
  Jack jack_;
};

void load_circuit(const YamlEntry& entry, RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{entry.value, "circuit " + entry.key, circuit_keys, complaints};
  Circuit circuit;
  circuit.name = entry.key;
  circuit.place = entry.key_spot.place;
  circuit.jacks = read_jacks(fields.need("jacks"), draft);
  circuit.pressure_taken_at =
      read_word(fields.need("pressure_taken_at"), taken_words, complaints).value_or(FittedAt::jack_port);
  circuit.check_valve = read_true_false(fields.need("check_valve"), complaints).value_or(false);
  circuit.lock_nut = read_true_false(fields.need("lock_nut"), complaints).value_or(false);
  if (auto relief = read_above_zero(fields.find("relief"), pressure, complaints))
    circuit.relief = Pressure::from_si(*relief);
  circuit.supply = read_channel(fields.find("supply"), pressure, draft);
  draft.rig.circuits.push_back(std::move(circuit));
}

}  // namespace

void load_jacks(const YamlNode* jacks, RigDraft& draft) {
  read_named(jacks, most_jacks, "jacks by name", draft.complaints, [&](const YamlEntry& entry) { JackReader{entry, draft}.read(); });
}

void load_groups(const YamlNode* groups, RigDraft& draft) {
  read_named(groups, 64, "groups of jacks by name", draft.complaints, [&](const YamlEntry& entry) {
    const YamlNode* node = readable(&entry.value, "a list of jacks", draft.complaints);
    draft.rig.groups.push_back({entry.key, read_jacks(node, draft), entry.key_spot.place});
  });
}

void load_circuits(const YamlNode* circuits, RigDraft& draft) {
  read_named(circuits, 64, "circuits by name", draft.complaints, [&](const YamlEntry& entry) { load_circuit(entry, draft); });
}

}  // namespace standfast
