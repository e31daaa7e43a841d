// The reader of `channels`: where each raw number stands, what it means, and how often it is asked for.
#include <algorithm>
#include <limits>

#include "config/duration_text.hpp"
#include "config/ensure.hpp"
#include "config/load_names.hpp"
#include "config/quoted.hpp"
#include "config/rig_draft.hpp"
#include "config/unit_text.hpp"
#include "config/wire_kind.hpp"

namespace standfast {

namespace {

constexpr std::string_view channel_keys[] = {"bus",
                                             "by_hand",
                                             "unit_id",
                                             "holding_register",
                                             "input_register",
                                             "as",
                                             "word_order",
                                             "byte_order",
                                             "value_number",
                                             "every",
                                             "scale",
                                             "range",
                                             "accuracy",
                                             "resolution",
                                             "certificate",
                                             "fitted_at",
                                             "stale_after",
                                             "frozen_after",
                                             "median"};
constexpr std::string_view source_keys[] = {"bus", "by_hand"};
constexpr std::string_view register_keys[] = {"holding_register", "input_register"};
constexpr std::string_view modbus_only[] = {"unit_id", "holding_register", "input_register",
                                            "as",      "word_order",       "byte_order"};
constexpr std::string_view wire_only[] = {"unit_id",     "holding_register", "input_register", "as",
                                          "word_order",  "byte_order",       "value_number",   "scale",
                                          "stale_after", "frozen_after",     "median"};
constexpr std::string_view scale_keys[] = {"current", "counts", "value", "counts_per_mA"};
constexpr std::string_view raw_keys[] = {"current", "counts"};
constexpr std::string_view certificate_keys[] = {"number", "due"};

constexpr Word<RawType> raw_type_words[] = {{"uint16", RawType::uint16},   {"int16", RawType::int16},
                                            {"uint32", RawType::uint32},   {"int32", RawType::int32},
                                            {"uint64", RawType::uint64},   {"int64", RawType::int64},
                                            {"float32", RawType::float32}, {"float64", RawType::float64}};
constexpr Word<Order> order_words[] = {{"big", Order::big}, {"little", Order::little}};
constexpr Word<FittedAt> fitted_words[] = {
    {"jack port", FittedAt::jack_port}, {"pump", FittedAt::pump}, {"structure", FittedAt::structure}};

// The smallest and largest number a raw type holds; none for floating point, which holds any.
std::optional<std::pair<double, double>> ends_of(RawType type) {
  switch (type) {
    case RawType::uint16: return {{0, std::numeric_limits<std::uint16_t>::max()}};
    case RawType::int16: return {{std::numeric_limits<std::int16_t>::min(), std::numeric_limits<std::int16_t>::max()}};
    case RawType::uint32: return {{0, std::numeric_limits<std::uint32_t>::max()}};
    case RawType::int32: return {{std::numeric_limits<std::int32_t>::min(), std::numeric_limits<std::int32_t>::max()}};
    case RawType::uint64: return {{0, 18446744073709551615.0}};
    case RawType::int64: return {{-9223372036854775808.0, 9223372036854775807.0}};
    case RawType::float32: case RawType::float64: return std::nullopt;
  }
  return std::nullopt;
}

using Wire = std::optional<WireKind>;  // None: not known, complained about before.

// Whether a raw number has a type of its own, with ends and steps; a line of text has digits.
bool has_raw_type(WireKind wire) {
  switch (wire) {
    case WireKind::modbus_tcp: case WireKind::modbus_rtu: return true;
    case WireKind::serial_lines: return false;
  }
  ENSURE(false);
}

class ChannelReader {
 public:
  ChannelReader(const YamlEntry& entry, RigDraft& draft)
      : draft_{draft},
        complaints_{draft.complaints},
        fields_{entry.value, "channel " + entry.key, channel_keys, draft.complaints} {
    channel_.name = entry.key;
    channel_.place = entry.key_spot.place;
  }

  void read() {
    errors_before_ = complaints_.errors();
    const auto source = fields_.one_of(source_keys);
    if (source == 0u) read_from_wire();
    if (source == 1u) read_by_hand();
    read_evidence();
    draft_.rig.channels.push_back(std::move(channel_));
    draft_.dimension_known.push_back(dimension_known_);
    draft_.by_hand.push_back(source == 1u);
  }

 private:
  void refuse_keys(std::string_view code, std::span<const std::string_view> keys, const std::string& why) {
    for (std::string_view key : keys) {
      if (!fields_.has(key)) continue;
      complaints_.add(code, fields_.key_spot(key), fields_.thing() + " cannot have '" + std::string{key} + "': " + why,
                      {std::string{key}, {}, {}});
    }
  }

  void read_from_wire() {
    if (auto bus = read_reference(fields_.find("bus"), {"bus", names_of(draft_.rig.buses)}, complaints_))
      channel_.bus = BusId{*bus};
    const Wire wire = channel_.bus ? Wire{kind_of(draft_.rig.buses[channel_.bus->at()])} : std::nullopt;
    if (wire) read_place(*wire);
    if (auto every = read_duration(fields_.need("every"), milliseconds(10), hours(1), complaints_))
      channel_.every = *every;
    read_scale(wire);
    read_range();
    check_reach(wire);
    read_resolution(wire);
    read_times();
  }

  void read_place(WireKind wire) {
    switch (wire) {
      case WireKind::modbus_tcp: case WireKind::modbus_rtu: return read_modbus_address();
      case WireKind::serial_lines: return read_line_place();
    }
  }

  void read_modbus_address() {
    constexpr std::string_view lines_only[] = {"value_number"};
    refuse_keys("E-bus-kind", lines_only, "its bus carries registers");
    if (auto id = read_unit_id(fields_.need("unit_id"), complaints_)) channel_.address.unit_id = *id;
    const YamlNode* start = nullptr;
    if (const auto table = fields_.one_of(register_keys)) {
      channel_.address.table = *table == 0 ? Table::holding_register : Table::input_register;
      start = fields_.find(register_keys[*table]);
    }
    channel_.type = read_word(fields_.need("as"), raw_type_words, complaints_).value_or(channel_.type);
    channel_.word_order = read_word(fields_.find("word_order"), order_words, complaints_).value_or(channel_.word_order);
    channel_.byte_order = read_word(fields_.find("byte_order"), order_words, complaints_).value_or(channel_.byte_order);
    const auto number = read_whole(start, 0, 65535, complaints_);
    if (!number) return;
    channel_.address.start = *number;
    if (*number + words_of(channel_.type) <= 65536) return;
    complaints_.add("E-address-end", start->spot,
                    "a value of " + std::to_string(words_of(channel_.type)) + " registers does not fit from register " +
                        std::to_string(*number) + " on",
                    {start->text, "a register up to " + std::to_string(65536 - words_of(channel_.type)), {}});
  }

  void read_line_place() {
    refuse_keys("E-bus-kind", modbus_only, "its bus carries lines of text");
    const std::string& answer = std::get<SerialLines>(draft_.rig.buses[channel_.bus->at()].wire).answer;
    const YamlNode* node = fields_.find("value_number");
    if (node == nullptr && answer.find("{value}") != answer.rfind("{value}")) {
      complaints_.add("E-line-pattern", fields_.key_spot("bus"),
                      "the answer " + quoted(answer) + " has several values, and " + fields_.thing() + " does not say which it is",
                      {{}, "a 'value_number', counted from 1", {}});
    }
    const int number = read_whole(node, 1, 32, complaints_).value_or(1);
    channel_.address.start = number - 1;
    std::size_t at = 0;
    for (int i = 0; i < number && at != std::string::npos; ++i) at = answer.find("{value}", i == 0 ? 0 : at + 1);
    if (at != std::string::npos) return;
    complaints_.add("E-line-pattern", node->spot, "the answer " + quoted(answer) + " has fewer values than that",
                    {node->text, "a number of a {value} in the answer of the bus", {}});
  }

  void read_by_hand() {
    if (read_true_false(fields_.find("by_hand"), complaints_) == false) {
      complaints_.add("E-one-of", fields_.key_spot("by_hand"),
                      fields_.thing() + " is neither read over a bus nor by hand",
                      {{}, "'bus', or 'by_hand: true'", {}});
    }
    refuse_keys("E-kind-key", wire_only, "it is read by hand");
    if (auto every = read_duration(fields_.need("every"), minutes(1), hours(24 * 31), complaints_))
      channel_.every = *every;
    channel_.stale_after = channel_.every * 2;
    channel_.scale = {0, 1, 0, 1, false, 0};
    read_range();
    if (auto resolution = read_resolution_amount(fields_.find("resolution"))) channel_.resolution = *resolution;
  }

  // Two raw numbers and the two values they stand for.
  void read_scale(Wire wire) {
    const YamlNode* node = fields_.need("scale");
    if (node == nullptr) return;
    const Fields scale{*node, "the scale of " + fields_.thing(), scale_keys, complaints_};
    const auto raw = scale.one_of(raw_keys);
    if (!raw) return;
    channel_.scale.loop = *raw == 0;
    if (channel_.scale.loop && wire && !has_raw_type(*wire)) {
      complaints_.add("E-bus-kind", scale.key_spot("current"), "a line of text carries no current",
                      {{}, "'counts'", {}});
    }
    read_raw_ends(scale, raw_keys[*raw]);
    if (const auto* values = read_list(scale.need("value"), 2, 2, "two values with their units", complaints_)) {
      const auto low = read_any_amount(values->data(), complaints_);
      if (!low) return;
      take_dimension(low->dimension);
      const auto high = read_amount(&(*values)[1], low->dimension, complaints_);
      if (!high) return;
      channel_.scale.value_low = low->si;
      channel_.scale.value_high = *high;
      if (*high == low->si) complain_flat(*scale.find("value"), "the two values are the same");
    }
    read_counts_per_mA(scale);
  }

  void read_raw_ends(const Fields& scale, std::string_view key) {
    const YamlNode* node = scale.find(key);
    const auto* ends = read_list(node, 2, 2, "two raw numbers, the lower first", complaints_);
    if (ends == nullptr) return;
    const auto read = [&](const YamlNode& end) {
      if (!channel_.scale.loop) return read_number(&end, complaints_);
      return read_amount(&end, {Base::current, Per::none}, complaints_, {0.0, 0.024, "0 to 24 mA"});
    };
    const auto low = read((*ends)[0]);
    const auto high = read((*ends)[1]);
    if (!low || !high) return;
    channel_.scale.raw_low = *low;
    channel_.scale.raw_high = *high;
    if (*high <= *low) complain_flat(*node, "the second raw number is not above the first");
  }

  void read_counts_per_mA(const Fields& scale) {
    if (!channel_.scale.loop) {
      if (scale.has("counts_per_mA")) {
        complaints_.add("E-kind-key", scale.key_spot("counts_per_mA"), "a scale in counts needs no 'counts_per_mA'",
                        {});
      }
      return;
    }
    const YamlNode* node = scale.need("counts_per_mA");
    const auto counts = read_number(node, complaints_);
    if (!counts) return;
    channel_.scale.counts_per_mA = *counts;
    if (*counts <= 0 || *counts > 1e9) {
      complaints_.add("E-amount-range", node->spot, quoted(node->text) + " makes no sense here",
                      {node->text, "above 0, at most 1000000000", {}});
    }
  }

  void complain_flat(const YamlNode& node, std::string message) {
    complaints_.add("E-scale", node.spot, std::move(message),
                    {{}, "two raw numbers that rise, for two different values", {}});
  }

  void take_dimension(Dimension dimension) {
    channel_.dimension = dimension;
    dimension_known_ = true;
  }

  // A loop's range is its scale unless it says otherwise. By hand, the range also tells the dimension.
  void read_range() {
    channel_.range_low = std::min(channel_.scale.value_low, channel_.scale.value_high);
    channel_.range_high = std::max(channel_.scale.value_low, channel_.scale.value_high);
    const YamlNode* node = channel_.scale.loop ? fields_.find("range") : fields_.need("range");
    const auto* ends = read_list(node, 2, 2, "two amounts, the lower first", complaints_);
    if (ends == nullptr) return;
    if (!channel_.bus && fields_.has("by_hand")) {
      const auto any = read_any_amount(ends->data(), complaints_);
      if (!any) return;
      take_dimension(any->dimension);
    }
    if (!dimension_known_) return;
    const auto low = read_amount(ends->data(), channel_.dimension, complaints_);
    const auto high = read_amount(&(*ends)[1], channel_.dimension, complaints_);
    if (!low || !high) return;
    channel_.range_low = *low;
    channel_.range_high = *high;
    if (exceeds({channel_.dimension, *high}, {channel_.dimension, *low})) return;
    complaints_.add("E-range", node->spot, "the high end of the range is not above its low end",
                    {{}, "two amounts, the lower first", {}});
  }

  // Can the raw number say what the range promises?
  void check_reach(Wire wire) {
    const auto ends = ends_of(channel_.type);
    const Scale& scale = channel_.scale;
    const double raw_span = scale.raw_high - scale.raw_low;
    if (!wire || !has_raw_type(*wire) || !ends || complaints_.errors() != errors_before_ || raw_span <= 0) return;
    const double per_raw = (scale.value_high - scale.value_low) / raw_span;
    const double raw_of_count = scale.loop ? 1e-3 / std::max(scale.counts_per_mA, 1e-9) : 1.0;
    const double a = scale.value_low + (ends->first * raw_of_count - scale.raw_low) * per_raw;
    const double b = scale.value_low + (ends->second * raw_of_count - scale.raw_low) * per_raw;
    const Dimension d = channel_.dimension;
    const bool short_below = !scale.loop && exceeds({d, std::min(a, b)}, {d, channel_.range_low});
    const bool short_above = exceeds({d, channel_.range_high}, {d, std::max(a, b)});
    if (!short_below && !short_above) return;
    complaints_.add("W-range-reach", fields_.has("range") ? fields_.key_spot("range") : fields_.key_spot("scale"),
                    "the raw number of " + fields_.thing() + " cannot reach the " + (short_above ? "high" : "low") +
                        " end of its range",
                    {{}, "a scale that covers the range, or a smaller range", {}});
  }

  std::optional<double> read_resolution_amount(const YamlNode* node) {
    return dimension_known_ ? read_above_zero(node, difference_of(channel_.dimension), complaints_) : std::nullopt;
  }

  // One raw step, where the raw number has steps; stated otherwise.
  void read_resolution(Wire wire) {
    const bool has_steps = wire && has_raw_type(*wire) && ends_of(channel_.type);
    const YamlNode* node =
        has_steps || !wire ? fields_.find("resolution") : fields_.need("resolution");
    const Scale& scale = channel_.scale;
    const double span = (scale.raw_high - scale.raw_low) * (scale.loop ? 1e3 * scale.counts_per_mA : 1.0);
    if (has_steps && span > 0) channel_.resolution = std::abs(scale.value_high - scale.value_low) / span;
    if (auto stated = read_resolution_amount(node)) channel_.resolution = *stated;
  }

  void read_times() {
    channel_.stale_after = std::clamp(channel_.every * 3, seconds(2), seconds(10));
    const YamlNode* node = fields_.find("stale_after");
    if (auto stale = read_duration(node, milliseconds(100), hours(2), complaints_)) channel_.stale_after = *stale;
    const Duration most = node == nullptr ? channel_.stale_after / 2 : channel_.stale_after;
    if (channel_.every > most) {
      complaints_.add("E-stale", fields_.key_spot(node == nullptr ? "every" : "stale_after"),
                      fields_.thing() + " is asked every " + duration_text(channel_.every) + " and stale after " +
                          duration_text(channel_.stale_after),
                      {{}, node == nullptr ? "at most half of that between two polls, or a 'stale_after' of its own"
                                           : "a 'stale_after' of at least one poll", {}});
    }
    channel_.frozen_after = seconds(30);
    if (auto frozen = read_duration(fields_.find("frozen_after"), seconds(1), hours(1), complaints_))
      channel_.frozen_after = *frozen;
    constexpr Word<int> median_words[] = {{"1", 1}, {"3", 3}, {"5", 5}};
    const YamlNode* median = fields_.find("median");
    if (read_number(median, complaints_)) channel_.median = read_word(median, median_words, complaints_).value_or(1);
  }

  static Dimension difference_of(Dimension d) {
    return d.base == Base::temperature ? Dimension{Base::temperature_difference, d.per} : d;
  }

  // `0.02 mm`, or `0.25 % of 700 bar`.
  std::optional<double> read_accuracy(const YamlNode* node) {
    const std::string* text = read_scalar(node, "an amount, or a percentage of one", complaints_);
    if (text == nullptr || !dimension_known_) return std::nullopt;
    const std::size_t of = text->find(" of ");
    const Dimension dimension = difference_of(channel_.dimension);
    if (of == std::string::npos) return read_above_zero(node, dimension, complaints_);
    YamlNode part = *node, whole = *node;
    part.text = text->substr(0, of);
    whole.text = text->substr(of + 4);
    const auto percent = read_above_zero(&part, {Base::ratio, Per::none}, complaints_);
    const auto amount = read_above_zero(&whole, dimension, complaints_);
    if (!percent || !amount) return std::nullopt;
    return *percent * *amount;
  }

  void read_evidence() {
    channel_.accuracy = read_accuracy(fields_.find("accuracy"));
    channel_.fitted_at = read_word(fields_.find("fitted_at"), fitted_words, complaints_).value_or(FittedAt::structure);
    const YamlNode* node = fields_.find("certificate");
    if (node == nullptr) return;
    const Fields certificate{*node, "the certificate of " + fields_.thing(), certificate_keys, complaints_};
    if (auto number = read_text(certificate.need("number"), 40, complaints_)) channel_.certificate.number = *number;
    if (auto due = read_date(certificate.find("due"), complaints_)) channel_.certificate.due = *due;
  }

  RigDraft& draft_;
  Complaints& complaints_;
  Fields fields_;
  Channel channel_;
  bool dimension_known_{false};
  int errors_before_{0};
};

}  // namespace

void load_channels(const YamlNode* channels, RigDraft& draft) {
  read_named(channels, 2048, "channels by name", draft.complaints, [&](const YamlEntry& entry) { ChannelReader{entry, draft}.read(); });
}

}  // namespace standfast
