// The reader of `buses`: what is wired to what.
#include <arpa/inet.h>

#include <algorithm>
#include <array>

#include "config/ensure.hpp"
#include "config/load_names.hpp"
#include "config/quoted.hpp"
#include "config/rig_draft.hpp"
#include "config/wire_kind.hpp"

namespace standfast {

namespace {

constexpr std::string_view bus_keys[] = {"modbus_tcp", "modbus_rtu", "serial_lines", "timeout", "units"};
constexpr std::string_view wire_keys[] = {"modbus_tcp", "modbus_rtu", "serial_lines"};
constexpr std::string_view tcp_keys[] = {"host", "port"};
constexpr std::string_view rtu_keys[] = {"device", "baud", "parity", "stop_bits", "rs485", "slowest_answer"};
constexpr std::string_view line_keys[] = {"device", "baud", "parity", "stop_bits", "ask", "answer", "decimal",
                                          "checksum", "overload_words", "slowest_answer"};
constexpr std::string_view unit_keys[] = {"slowest_answer", "identity"};
constexpr std::string_view identity_keys[] = {"holding_register", "input_register", "reads"};
constexpr std::string_view register_keys[] = {"holding_register", "input_register"};

constexpr Word<int> baud_words[] = {{"1200", 1200}, {"2400", 2400}, {"4800", 4800}, {"9600", 9600}, {"19200", 19200},
                                    {"38400", 38400}, {"57600", 57600}, {"115200", 115200}};
constexpr Word<Parity> parity_words[] = {{"none", Parity::none}, {"even", Parity::even}, {"odd", Parity::odd}};
constexpr Word<Rs485> rs485_words[] = {{"adapter", Rs485::adapter}, {"kernel", Rs485::kernel}};
constexpr Word<DecimalMark> decimal_words[] = {{"point", DecimalMark::point}, {"comma", DecimalMark::comma}};
constexpr Word<Checksum> checksum_words[] = {
    {"none", Checksum::none}, {"xor8", Checksum::xor8}, {"sum8", Checksum::sum8}, {"crc16", Checksum::crc16}};

std::optional<std::string> read_ip_literal(const YamlNode* node, Complaints& complaints) {
  constexpr std::string_view form = "an IP address, as in 192.168.1.20 or fd00::20";
  const std::string* text = read_scalar(node, form, complaints);
  if (text == nullptr) return std::nullopt;
  std::array<unsigned char, sizeof(in6_addr)> parsed{};
  if (inet_pton(AF_INET, text->c_str(), parsed.data()) == 1 || inet_pton(AF_INET6, text->c_str(), parsed.data()) == 1)
    return *text;
  complaints.add("E-address", node->spot, quoted(*text) + " is not an IP address", {*text, std::string{form}, {}});
  return std::nullopt;
}

ModbusTcp read_tcp(const YamlNode& node, const std::string& thing, Complaints& complaints) {
  const Fields fields{node, thing, tcp_keys, complaints};
  ModbusTcp tcp;
  if (auto host = read_ip_literal(fields.need("host"), complaints)) tcp.host = *host;
  if (auto port = read_whole(fields.find("port"), 1, 65535, complaints)) tcp.port = static_cast<std::uint16_t>(*port);
  return tcp;
}

// A simulated line stands wherever the rig's program may put it; on a site a path elsewhere is a slip of the pen.
std::optional<std::string> read_device(const YamlNode* node, const RigDraft& draft) {
  const auto path = read_text(node, 120, draft.complaints);
  const std::string_view root = draft.rig.simulated ? "/" : "/dev/";
  if (!path || (path->starts_with(root) && !path->ends_with('/'))) return path;
  draft.complaints.add("E-text", node->spot, quoted(*path) + " is not a device",
                       {*path, draft.rig.simulated ? "a path that begins with /" : "a path under /dev/", {}});
  return std::nullopt;
}

SerialSettings read_serial(const Fields& fields, const RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  SerialSettings serial;
  if (auto device = read_device(fields.need("device"), draft)) serial.device = *device;
  const YamlNode* baud = fields.find("baud");
  if (read_number(baud, complaints)) serial.baud = read_word(baud, baud_words, complaints).value_or(serial.baud);
  serial.parity = read_word(fields.find("parity"), parity_words, complaints).value_or(serial.parity);
  serial.stop_bits = read_whole(fields.find("stop_bits"), 1, 2, complaints).value_or(serial.stop_bits);
  return serial;
}

ModbusRtu read_rtu(const YamlNode& node, const std::string& thing, const RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{node, thing, rtu_keys, complaints};
  ModbusRtu rtu;
  rtu.serial = read_serial(fields, draft);
  rtu.serial.rs485 = read_word(fields.find("rs485"), rs485_words, complaints).value_or(rtu.serial.rs485);
  if (auto slowest = read_duration(fields.find("slowest_answer"), milliseconds(1), seconds(5), complaints))
    rtu.slowest_answer = *slowest;
  return rtu;
}

// What makes a pattern unusable, or nothing. Behind a number there must be something that ends it.
std::string_view fault_of(std::string_view pattern, DecimalMark decimal) {
  constexpr std::string_view hole = "{value}";
  const std::string_view of_numbers = decimal == DecimalMark::comma ? "0123456789," : "0123456789.";
  if (pattern.find(hole) == std::string_view::npos) return "has no {value} in it";
  if (pattern.find_first_of("\r\n") != std::string_view::npos) return "has the line's end in it, which goes without saying";
  for (std::size_t at = pattern.find(hole); at != std::string_view::npos; at = pattern.find(hole, at)) {
    at += hole.size();
    const std::string_view behind = pattern.substr(at);
    if (behind.starts_with(hole) || behind.find_first_of(of_numbers) == 0) return "does not tell where a {value} ends";
  }
  return {};
}

// Without a checksum only the text in front of a number tells a whole line from the rest of one.
void warn_open(const YamlNode* node, const SerialLines& lines, Complaints& complaints) {
  if (node == nullptr || lines.checksum != Checksum::none || lines.answer != node->text || !lines.answer.starts_with("{value}")) return;
  complaints.add("W-line-open", node->spot,
                 "of a line that was torn, the rest can pass for an answer: it begins with its number and has no checksum",
                 {node->text, "'checksum', or a fixed text before the number, as in 'D{value} mm'; set the instrument so", {}});
}

std::string read_answer(const YamlNode* node, DecimalMark decimal, Complaints& complaints) {
  const auto answer = read_wire_text(node, complaints);
  if (!answer) return "{value}";
  const std::string_view fault = fault_of(*answer, decimal);
  if (fault.empty()) return *answer;
  complaints.add("E-line-pattern", node->spot, quoted(*answer) + " " + std::string{fault},
                 {*answer, "the answer with {value} where the number stands, as in 'D{value} mm'", {}});
  return "{value}";
}

SerialLines read_lines(const YamlNode& node, const std::string& thing, const RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{node, thing, line_keys, complaints};
  SerialLines lines;
  lines.serial = read_serial(fields, draft);
  if (auto ask = read_wire_text(fields.find("ask"), complaints)) lines.ask = *ask;
  lines.decimal = read_word(fields.find("decimal"), decimal_words, complaints).value_or(lines.decimal);
  lines.answer = read_answer(fields.need("answer"), lines.decimal, complaints);
  lines.checksum = read_word(fields.find("checksum"), checksum_words, complaints).value_or(lines.checksum);
  warn_open(fields.find("answer"), lines, complaints);
  if (const auto* words = read_list(fields.find("overload_words"), 1, 8, "a list of 1 to 8 words", complaints)) {
    for (const YamlNode& word : *words) {
      if (auto text = read_wire_text(&word, complaints)) lines.overload_words.push_back(*text);
    }
  }
  if (auto slowest = read_duration(fields.find("slowest_answer"), milliseconds(1), seconds(5), complaints))
    lines.slowest_answer = *slowest;
  return lines;
}

UnitIdentity read_identity(const YamlNode& node, const std::string& thing, Complaints& complaints) {
  const Fields fields{node, "the identity of " + thing, identity_keys, complaints};
  UnitIdentity identity;
  if (const auto table = fields.one_of(register_keys)) {
    identity.table = *table == 0 ? Table::holding_register : Table::input_register;
    identity.address = read_whole(fields.find(register_keys[*table]), 0, 65535, complaints).value_or(0);
  }
  identity.reads = read_whole(fields.need("reads"), 0, 65535, complaints).value_or(0);
  return identity;
}

// Where nothing numbers an answer, a late one must be waited for in silence.
bool is_quiet_after_silence(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_rtu: return true;
    case WireKind::modbus_tcp: case WireKind::serial_lines: return false;
  }
  ENSURE(false);
}

UnitStatement read_unit(const YamlEntry& entry, const Bus& bus, Complaints& complaints) {
  UnitStatement unit;
  YamlNode key = entry.value;  // The key as a value, so that it is read like any other unit id.
  key.kind = YamlNode::Kind::scalar;
  key.text = entry.key;
  key.spot = entry.key_spot;
  key.quoted = false;
  unit.unit_id = read_unit_id(&key, complaints).value_or(1);
  const std::string thing = "unit " + entry.key + " of bus " + bus.name;
  const Fields fields{entry.value, thing, unit_keys, complaints};
  if (!fields.is_map()) return unit;
  if (!fields.has("slowest_answer") && !fields.has("identity"))
    complaints.add("E-one-of", fields.spot(), thing + " states nothing", {{}, "'slowest_answer' or 'identity'", {}});
  if (fields.has("slowest_answer") && !is_quiet_after_silence(bus))
    complaints.add("E-bus-kind", fields.key_spot("slowest_answer"), "only on a serial line is an answer waited for in silence",
                   {"slowest_answer", "a bus of kind modbus_rtu", {}});
  unit.slowest_answer = read_duration(fields.find("slowest_answer"), milliseconds(1), seconds(5), complaints);
  if (const YamlNode* identity = fields.find("identity")) unit.identity = read_identity(*identity, thing, complaints);
  return unit;
}

bool has_units(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: case WireKind::modbus_rtu: return true;
    case WireKind::serial_lines: return false;
  }
  ENSURE(false);
}

void read_units(const YamlNode* node, const Fields& fields, Bus& bus, Complaints& complaints) {
  if (node == nullptr) return;
  if (!has_units(bus)) {
    complaints.add("E-bus-kind", fields.key_spot("units"), "an instrument that speaks lines of text has no unit id",
                   {"units", "a bus of kind modbus_tcp or modbus_rtu", {}});
    return;
  }
  const auto* units = read_map(node, 64, "units by their ids", complaints);
  if (units == nullptr) return;
  for (const YamlEntry& entry : *units) bus.units.push_back(read_unit(entry, bus, complaints));
  std::ranges::sort(bus.units, {}, &UnitStatement::unit_id);
}

void wait_by_default(Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: return;
    case WireKind::modbus_rtu: {
      Duration& slowest = std::get<ModbusRtu>(bus.wire).slowest_answer;
      if (slowest.ns == 0) slowest = bus.timeout;
      return;
    }
    case WireKind::serial_lines: {  // A line of text can be asked no question of another shape, so silence alone must do.
      Duration& slowest = std::get<SerialLines>(bus.wire).slowest_answer;
      if (slowest.ns == 0) slowest = std::max(bus.timeout, seconds(1));
      return;
    }
  }
}

void load_bus(const YamlEntry& entry, RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{entry.value, "bus " + entry.key, bus_keys, complaints};
  Bus bus{entry.key, ModbusTcp{}, milliseconds(200), {}, entry.key_spot.place};
  const auto wire = fields.one_of(wire_keys);
  const YamlNode* node = wire ? fields.find(wire_keys[*wire]) : nullptr;
  if (node != nullptr && *wire == 0) bus.wire = read_tcp(*node, fields.thing(), complaints);
  if (node != nullptr && *wire == 1) bus.wire = read_rtu(*node, fields.thing(), draft);
  if (node != nullptr && *wire == 2) bus.wire = read_lines(*node, fields.thing(), draft);
  if (auto timeout = read_duration(fields.find("timeout"), milliseconds(10), seconds(5), complaints))
    bus.timeout = *timeout;
  wait_by_default(bus);
  read_units(fields.find("units"), fields, bus, complaints);
  draft.rig.buses.push_back(std::move(bus));
}

}  // namespace

void load_buses(const YamlNode* buses, RigDraft& draft) {
  read_named(buses, 64, "buses by name", draft.complaints, [&](const YamlEntry& entry) { load_bus(entry, draft); });
}

std::optional<int> read_unit_id(const YamlNode* node, Complaints& complaints) {
  const auto id = read_whole(node, 0, 255, complaints);
  if (!id || (*id >= 1 && *id <= 247) || *id == 255) return id;
  complaints.add("E-whole-number", node->spot,
                 *id == 0 ? "unit id 0 speaks to every unit at once" : "unit ids from 248 to 254 are reserved",
                 {node->text, "1 to 247, or 255", {}});
  return std::nullopt;
}

}  // namespace standfast
