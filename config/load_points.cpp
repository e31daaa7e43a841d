// The reader of `points`: where the structure is watched, and by which gauges.
#include "config/load_names.hpp"
#include "config/quoted.hpp"
#include "config/rig_draft.hpp"

namespace standfast {

namespace {

constexpr std::string_view point_keys[] = {"gauges", "gauges_at", "agree_within", "up", "at"};
constexpr std::size_t most_placed = 16;  // As many as a plane is fitted through.
constexpr Word<bool> up_words[] = {{"positive", true}, {"negative", false}};
constexpr Dimension length{Base::length, Per::none};

std::vector<ChannelId> read_gauges(const YamlNode* node, RigDraft& draft) {
  std::vector<ChannelId> gauges;
  const Names names{"channel", names_of(draft.rig.channels)};
  for (std::size_t place : read_references(node, names, Star::allowed, draft.complaints)) {
    gauges.emplace_back(place);
    const Channel& channel = draft.rig.channels[place];
    if (!draft.dimension_known[place] || channel.dimension == length) continue;
    draft.complaints.add("E-channel-kind", node->spot, "channel " + channel.name + " measures no length",
                         {channel.name, "gauges in a unit of length", {}});
  }
  return gauges;
}

// Of every gauge or of none: a tilt is fitted through all of them.
std::vector<Position> read_places(const YamlNode* node, const Point& point, RigDraft& draft) {
  const auto* entries = read_map(node, most_placed, "the place of each gauge by its name, at most 16", draft.complaints);
  if (entries == nullptr || point.gauges.empty()) return {};
  Names names{"gauge of the point", {}};
  for (const ChannelId gauge : point.gauges) names.known.push_back(draft.rig.channels[gauge.at()].name);
  std::vector<std::optional<Position>> places(point.gauges.size());
  std::vector<bool> named(point.gauges.size(), false);
  for (const YamlEntry& entry : *entries) {
    const auto gauge = look_up(entry.key, entry.key_spot, names, draft.complaints);
    const auto place = read_position(&entry.value, draft.complaints);
    if (!gauge) continue;
    named[*gauge] = true;
    places[*gauge] = place;
  }
  std::vector<Position> all;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (places[i]) all.push_back(*places[i]);
    if (!named[i])
      draft.complaints.add("E-key-missing", node->spot, "gauges_at of point " + point.name + " has no place of " + quoted(names.known[i]),
                           {{}, "the place of every gauge of the point", {}});
  }
  return all.size() == places.size() ? all : std::vector<Position>{};
}

void load_point(const YamlEntry& entry, RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{entry.value, "point " + entry.key, point_keys, complaints};
  Point point;
  point.name = entry.key;
  point.place = entry.key_spot.place;
  point.gauges = read_gauges(fields.need("gauges"), draft);
  point.gauges_at = read_places(fields.find("gauges_at"), point, draft);
  if (auto within = read_above_zero(fields.find("agree_within"), length, complaints))
    point.agree_within = Length::from_si(*within);
  point.up_is_positive = read_word(fields.need("up"), up_words, complaints).value_or(true);
  point.at = read_position(fields.find("at"), complaints);
  if (point.gauges.size() > 1 && !fields.has("agree_within")) {
    complaints.add("E-key-missing", fields.spot(), fields.thing() + " has several gauges and no 'agree_within'",
                   {{}, "how far two gauges of one point may differ", {}});
  }
  draft.rig.points.push_back(std::move(point));
}

}  // namespace

void load_points(const YamlNode* points, RigDraft& draft) {
  read_named(points, 256, "points by name", draft.complaints, [&](const YamlEntry& entry) { load_point(entry, draft); });
}

std::optional<Position> read_position(const YamlNode* node, Complaints& complaints) {
  const auto* pair = read_list(node, 2, 2, "x and y in plan", complaints);
  if (pair == nullptr) return std::nullopt;
  const Within near{-10'000.0, 10'000.0, "within 10 km"};
  const auto x = read_amount(pair->data(), length, complaints, near);
  const auto y = read_amount(&(*pair)[1], length, complaints, near);
  if (!x || !y) return std::nullopt;
  return Position{*x, *y};
}

}  // namespace standfast
