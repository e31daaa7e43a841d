// What the instrument technician stated in rig.yaml, as plain structs. Every number is SI and has been checked by
// load_rig: finite, in range, every reference resolved to an index.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "config/ids.hpp"
#include "config/instant.hpp"
#include "config/units.hpp"

namespace standfast {

// Where in a file a thing was said; 0 where it was not.
struct Place {
  int line{0};
  int column{0};
};

struct ModbusTcp {
  std::string host;  // An IP literal: names are refused, a look-up has no time limit.
  std::uint16_t port{502};
  friend bool operator==(const ModbusTcp&, const ModbusTcp&) = default;
};
enum class Parity : std::uint8_t { none, even, odd };
enum class Rs485 : std::uint8_t { adapter, kernel };  // Who turns the line round between asking and answering.
struct SerialSettings {
  std::string device;
  int baud{19200};
  Parity parity{Parity::even};
  int stop_bits{1};
  Rs485 rs485{Rs485::adapter};
  friend bool operator==(const SerialSettings&, const SerialSettings&) = default;
};
struct ModbusRtu {
  SerialSettings serial;
  Duration slowest_answer{};  // Of a unit that states none of its own.
  friend bool operator==(const ModbusRtu&, const ModbusRtu&) = default;
};
enum class Checksum : std::uint8_t { none, xor8, sum8, crc16 };
enum class DecimalMark : std::uint8_t { point, comma };
struct SerialLines {
  SerialSettings serial;
  std::string ask;     // Empty: the instrument streams by itself.
  std::string answer;  // Pattern with {value}, without line end and checksum.
  DecimalMark decimal{DecimalMark::point};
  Checksum checksum{Checksum::none};
  std::vector<std::string> overload_words;
  Duration slowest_answer{};  // How long after a question its answer may still come.
  friend bool operator==(const SerialLines&, const SerialLines&) = default;
};
enum class Table : std::uint8_t { holding_register, input_register, coil, discrete_input };
struct UnitIdentity {  // A register by which the instrument is known.
  Table table{Table::holding_register};
  int address{0};
  int reads{0};
  friend bool operator==(const UnitIdentity&, const UnitIdentity&) = default;
};
struct UnitStatement {  // Of one unit on a Modbus wire, where there is something to say of it.
  int unit_id{1};
  std::optional<Duration> slowest_answer;  // Modbus RTU only.
  std::optional<UnitIdentity> identity;
  friend bool operator==(const UnitStatement&, const UnitStatement&) = default;
};
struct Bus {
  std::string name;
  std::variant<ModbusTcp, ModbusRtu, SerialLines> wire;
  Duration timeout{};
  std::vector<UnitStatement> units;  // By unit id, ascending.
  Place place;
};

enum class RawType : std::uint8_t { uint16, int16, uint32, int32, uint64, int64, float32, float64 };
enum class Order : std::uint8_t { big, little };  // Which end comes first.
constexpr int words_of(RawType type) {
  switch (type) {
    case RawType::uint16: case RawType::int16: return 1;
    case RawType::uint32: case RawType::int32: case RawType::float32: return 2;
    case RawType::uint64: case RawType::int64: case RawType::float64: return 4;
  }
  return 1;
}

struct Address {  // Of one value on a Modbus wire; `start` counts from 0 as on the wire.
  int unit_id{1};
  Table table{Table::holding_register};
  int start{0};
  friend bool operator==(const Address&, const Address&) = default;
};

// Raw number to physical value: a straight line through two stated points. For a 4-20 mA loop the raw number is first
// turned into current by `counts_per_mA`, NE 43 is judged on it, and the two points are in ampere.
struct Scale {
  double raw_low{0}, raw_high{1};  // Counts, or ampere if `loop`.
  double value_low{0}, value_high{1};  // SI of the channel's dimension.
  bool loop{false};
  double counts_per_mA{0};
};

struct Certificate {
  std::string number;
  std::string due;  // YYYY-MM-DD; empty where none was stated.
};

enum class FittedAt : std::uint8_t { jack_port, pump, structure };

struct Channel {
  std::string name;
  std::optional<BusId> bus;  // None: read by hand.
  Address address;
  RawType type{RawType::uint16};
  Order word_order{Order::big};
  Order byte_order{Order::big};
  Duration every{};
  Dimension dimension{};
  Scale scale;
  double range_low{0}, range_high{0};  // SI; inside it, with 10 % of its width either side, a value is a number.
  std::optional<double> accuracy;      // SI, half width of a rectangular distribution.
  double resolution{0};                // SI of one raw step.
  Certificate certificate;
  FittedAt fitted_at{FittedAt::structure};
  Duration stale_after{};
  Duration frozen_after{};
  int median{1};                   // Of so many readings: 1, 3 or 5.
  Place place;
};

inline constexpr std::size_t most_median = 5;

struct Position { double x{0}, y{0}; };  // m, in plan.

inline constexpr std::size_t most_jacks = 64;

struct CalibrationPoint { Pressure pressure; Force load; };
struct Jack {
  std::string name;
  ChannelId advance;
  std::optional<ChannelId> retract;
  Area area;
  std::optional<Area> retract_area;
  Force rated;
  std::optional<ChannelId> stroke_channel;
  Length stroke_limit;
  std::optional<Position> at;
  Ratio planned_share;
  std::vector<CalibrationPoint> rising, falling;  // As on the certificate, by pressure ascending; empty: p A.
  Place place;
};

struct Point {  // A monitored point of the structure; compared by its worst gauge.
  std::string name;
  std::vector<ChannelId> gauges;
  std::optional<Length> agree_within;
  bool up_is_positive{true};
  std::optional<Position> at;
  std::vector<Position> gauges_at;  // Of each gauge; empty where the file does not say.
  Place place;
};

struct Group { std::string name; std::vector<JackId> jacks; Place place; };

struct Circuit {
  std::string name;
  std::vector<JackId> jacks;
  FittedAt pressure_taken_at{FittedAt::jack_port};
  bool check_valve{false};
  bool lock_nut{false};
  std::optional<Pressure> relief;
  std::optional<ChannelId> supply;  // A pressure before the check valves.
  Place place;
};

enum class InputMeaning : std::uint8_t { pump_running, site_stop, mains_power, other };
struct Input {  // One bit read from a wire.
  std::string name;
  InputMeaning meaning{InputMeaning::other};
  BusId bus;
  Address address;
  Duration every{};
  bool normally_closed{false};  // True: the bit is 1 while nothing happens.
  Place place;
};

enum class OutputKind : std::uint8_t {
  raise_permit, lower_permit, stop_relay, sounder, beacon, call_out, heartbeat
};
inline constexpr int output_count = 7;

struct Output {
  OutputKind kind{};
  int coil{0};
  std::optional<int> readback;  // Discrete input of the same unit.
  Place place;
};
struct ModuleRegister {  // A holding register of the output module that must read as stated before any permit.
  int address{0};
  int wanted{0};
  Place place;
};
struct OutputModuleStatement {
  BusId bus;
  int unit_id{1};
  std::vector<Output> outputs;
  std::optional<int> watchdog_register;  // Holding register with the module's own watchdog time,
  Duration watchdog_unit{};              // in counts of this,
  Duration watchdog_at_most{};           // which must be above 0 and at most this.
  std::vector<ModuleRegister> safe_values, power_on_values;
  Duration settle{milliseconds(300)};
  Duration heartbeat_period{milliseconds(500)};
  Place place;
};

struct DisplayUnit { Dimension dimension; std::string unit; };

struct Rig {
  std::string title;
  bool simulated{false};
  std::vector<DisplayUnit> display_units;
  std::vector<Bus> buses;
  std::vector<Channel> channels;
  std::vector<Jack> jacks;
  std::vector<Point> points;
  std::vector<Group> groups;
  std::vector<Circuit> circuits;
  std::vector<Input> inputs;
  std::optional<OutputModuleStatement> output_module;
};

}  // namespace standfast
