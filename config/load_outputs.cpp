// The readers of `inputs` and `output_module`: the bits that come in, and the relays that permit.
#include <algorithm>

#include "config/duration_text.hpp"
#include "config/ensure.hpp"
#include "config/load_names.hpp"
#include "config/rig_draft.hpp"
#include "config/wire_kind.hpp"

namespace standfast {

namespace {

constexpr std::string_view input_keys[] = {"bus", "unit_id", "discrete_input", "coil", "rests_at", "every"};
constexpr std::string_view bit_keys[] = {"discrete_input", "coil"};
constexpr std::string_view module_keys[] = {"bus",      "unit_id",     "outputs", "settle",
                                            "watchdog", "on_watchdog", "on_power"};
constexpr std::string_view output_keys[] = {"coil", "readback"};
constexpr std::string_view heartbeat_keys[] = {"coil", "readback", "period"};
constexpr std::string_view watchdog_keys[] = {"holding_register", "counts_of", "at_most"};
constexpr std::string_view register_keys[] = {"holding_register", "must_read"};

constexpr Duration site_stop_read_at_least = milliseconds(500);  // Common practice, no source.

// In the order of OutputKind.
constexpr std::string_view output_names[output_count] = {"raise_permit", "lower_permit", "stop_relay", "sounder",
                                                         "beacon",       "call_out",     "heartbeat"};
constexpr OutputKind needed_outputs[] = {OutputKind::raise_permit, OutputKind::stop_relay, OutputKind::heartbeat};
constexpr OutputKind read_back_outputs[] = {OutputKind::raise_permit, OutputKind::lower_permit, OutputKind::stop_relay};

std::string_view name_of(OutputKind kind) { return output_names[static_cast<std::size_t>(kind)]; }

InputMeaning meaning_of(std::string_view name) {
  if (name == "pump_running") return InputMeaning::pump_running;
  if (name == "site_stop") return InputMeaning::site_stop;
  if (name == "mains_power") return InputMeaning::mains_power;
  return InputMeaning::other;
}

bool carries_bits(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: case WireKind::modbus_rtu: return true;
    case WireKind::serial_lines: return false;
  }
  ENSURE(false);
}

std::optional<BusId> read_register_bus(const YamlNode* node, RigDraft& draft) {
  const auto place = read_reference(node, {"bus", names_of(draft.rig.buses)}, draft.complaints);
  if (!place) return std::nullopt;
  if (!carries_bits(draft.rig.buses[*place])) {
    draft.complaints.add("E-bus-kind", node->spot, "bits and relays cannot be reached over lines of text",
                         {node->text, "a bus of kind modbus_tcp or modbus_rtu", {}});
  }
  return BusId{*place};
}

// A contact that closes when it is pressed would rest for ever behind a cut cable (EN ISO 13850: it opens, second-hand).
void check_site_stop(const Fields& fields, const Input& input, Complaints& complaints) {
  const YamlNode *rests = fields.find("rests_at"), *every = fields.find("every");
  if (rests != nullptr && !input.normally_closed)
    complaints.add("E-site-stop", rests->spot, "a site stop whose cut cable would read as not pressed",
                   {rests->text, "'rests_at: 1': a contact that opens when it is pressed", {}});
  if (every != nullptr && input.every > site_stop_read_at_least)
    complaints.add("E-site-stop", every->spot, "a site stop read every " + duration_text(input.every),
                   {every->text, "at most " + duration_text(site_stop_read_at_least), {}});
}

// Behind a cut cable a pump that only says when it runs stands for ever: its line loss would pass for load, and a ram that is
// frozen for one that nobody pumps.
void check_pump_running(const Fields& fields, const Input& input, RigDraft& draft) {
  const YamlNode* rests = fields.find("rests_at");
  const auto& circuits = draft.rig.circuits;  // One that states a supply refuses such an input.
  const bool is_refused = std::any_of(circuits.begin(), circuits.end(), [](const Circuit& circuit) { return circuit.supply.has_value(); });
  if (rests != nullptr && !input.normally_closed && !is_refused)
    draft.complaints.add("W-pump-input", rests->spot, "a pump's input whose cut cable would read as a pump that stands",
                         {rests->text, "'rests_at: 1': a contact that opens while the pump runs", {}});
}

void load_input(const YamlEntry& entry, RigDraft& draft) {
  Complaints& complaints = draft.complaints;
  const Fields fields{entry.value, "input " + entry.key, input_keys, complaints};
  Input input;
  input.name = entry.key;
  input.meaning = meaning_of(entry.key);
  input.place = entry.key_spot.place;
  input.bus = read_register_bus(fields.need("bus"), draft).value_or(BusId{});
  input.address.unit_id = read_unit_id(fields.need("unit_id"), complaints).value_or(1);
  if (const auto table = fields.one_of(bit_keys)) {
    input.address.table = *table == 0 ? Table::discrete_input : Table::coil;
    input.address.start = read_whole(fields.find(bit_keys[*table]), 0, 65535, complaints).value_or(0);
  }
  input.normally_closed = read_whole(fields.need("rests_at"), 0, 1, complaints) == 1;
  if (auto every = read_duration(fields.need("every"), milliseconds(10), seconds(10), complaints)) input.every = *every;
  if (input.meaning == InputMeaning::site_stop) check_site_stop(fields, input, complaints);
  if (input.meaning == InputMeaning::pump_running) check_pump_running(fields, input, draft);
  draft.rig.inputs.push_back(std::move(input));
}

class ModuleReader {
 public:
  ModuleReader(const YamlNode& node, RigDraft& draft)
      : draft_{draft},
        complaints_{draft.complaints},
        fields_{node, "the output module", module_keys, draft.complaints} {
    module_.place = node.spot.place;
  }

  void read() {
    if (!fields_.is_map()) return;
    module_.bus = read_register_bus(fields_.need("bus"), draft_).value_or(BusId{});
    module_.unit_id = read_unit_id(fields_.need("unit_id"), complaints_).value_or(1);
    if (auto settle = read_duration(fields_.find("settle"), milliseconds(10), seconds(2), complaints_))
      module_.settle = *settle;
    if (const YamlNode* outputs = fields_.need("outputs")) read_outputs(*outputs);
    if (const YamlNode* watchdog = fields_.find("watchdog")) read_watchdog(*watchdog);
    module_.safe_values = read_registers(fields_.find("on_watchdog"));
    module_.power_on_values = read_registers(fields_.find("on_power"));
    warn_unproved();
    draft_.rig.output_module = std::move(module_);
  }

 private:
  void read_outputs(const YamlNode& node) {
    const Fields outputs{node, "the list of outputs", output_names, complaints_};
    for (OutputKind kind : needed_outputs) (void)outputs.need(name_of(kind));
    if (!outputs.is_map()) return;
    for (const YamlEntry& entry : node.entries) {
      const auto found = std::find(std::begin(output_names), std::end(output_names), entry.key);
      if (found != std::end(output_names))
        read_output(entry, static_cast<OutputKind>(found - std::begin(output_names)));
    }
  }

  void read_output(const YamlEntry& entry, OutputKind kind) {
    if (readable(&entry.value, "a mapping with 'coil'", complaints_) == nullptr) return;
    const bool beats = kind == OutputKind::heartbeat;
    const Fields fields{entry.value, "output " + entry.key,
                        beats ? std::span<const std::string_view>{heartbeat_keys} : output_keys, complaints_};
    Output output{kind, -1, std::nullopt, entry.key_spot.place};
    if (auto coil = read_whole(fields.need("coil"), 0, 65535, complaints_)) {
      refuse_second(fields.find("coil")->spot, *coil, [](const Output& o) { return std::optional<int>{o.coil}; });
      output.coil = *coil;
    }
    if (auto readback = read_whole(fields.find("readback"), 0, 65535, complaints_)) {
      refuse_second(fields.find("readback")->spot, *readback, [](const Output& o) { return o.readback; });
      output.readback = *readback;
    }
    if (beats) {
      if (auto period = read_duration(fields.find("period"), milliseconds(100), seconds(2), complaints_))
        module_.heartbeat_period = *period;
    }
    if (!fields.has("readback") && std::find(std::begin(read_back_outputs), std::end(read_back_outputs), kind) !=
                                       std::end(read_back_outputs)) {
      complaints_.add("W-readback", entry.key_spot, fields.thing() + " is not read back",
                      {{}, "'readback', the discrete input that tells whether the circuit follows", {}});
    }
    module_.outputs.push_back(output);
  }

  template <class Get>
  void refuse_second(Spot spot, int number, Get get) {
    for (const Output& other : module_.outputs) {
      if (get(other) != number) continue;
      complaints_.add("E-coil-twice", spot, "output " + std::string{name_of(other.kind)} + " stands at " +
                                                std::to_string(number) + " already",
                      {std::to_string(number), "a number of its own", {}});
    }
  }

  void read_watchdog(const YamlNode& node) {
    const Fields fields{node, "the watchdog", watchdog_keys, complaints_};
    module_.watchdog_register = read_whole(fields.need("holding_register"), 0, 65535, complaints_);
    if (auto unit = read_duration(fields.need("counts_of"), milliseconds(1), seconds(10), complaints_))
      module_.watchdog_unit = *unit;
    const YamlNode* node_at_most = fields.need("at_most");
    const auto at_most = read_duration(node_at_most, milliseconds(100), seconds(10), complaints_);
    if (!at_most) return;
    module_.watchdog_at_most = *at_most;
    if (*at_most >= module_.heartbeat_period * 2 && *at_most >= module_.watchdog_unit) return;
    complaints_.add("E-output-module", node_at_most->spot, "the watchdog would run out between two heartbeats",
                    {node_at_most->text, "at least two heartbeats (" + duration_text(module_.heartbeat_period) +
                                             " each) and one count", {}});
  }

  std::vector<ModuleRegister> read_registers(const YamlNode* node) {
    std::vector<ModuleRegister> registers;
    const auto* items = read_list(node, 1, 16, "1 to 16 registers and what they must read", complaints_);
    if (items == nullptr) return registers;
    for (const YamlNode& item : *items) {
      const Fields fields{item, "the register", register_keys, complaints_};
      const auto address = read_whole(fields.need("holding_register"), 0, 65535, complaints_);
      const auto wanted = read_whole(fields.need("must_read"), 0, 65535, complaints_);
      if (address && wanted) registers.push_back({*address, *wanted, item.spot.place});
    }
    return registers;
  }

  void warn_unproved() {
    for (std::string_view key : {"watchdog", "on_watchdog", "on_power"}) {
      if (fields_.has(key)) continue;
      complaints_.add("W-module-unproved", fields_.spot(), "the output module states no '" + std::string{key} + "'",
                      {{}, "what the module does by itself when nobody writes, and when its power comes", {}});
    }
  }

  RigDraft& draft_;
  Complaints& complaints_;
  Fields fields_;
  OutputModuleStatement module_;
};

}  // namespace

void load_inputs(const YamlNode* inputs, RigDraft& draft) {
  read_named(inputs, 256, "inputs by name", draft.complaints, [&](const YamlEntry& entry) { load_input(entry, draft); });
}

void load_output_module(const YamlNode* module, RigDraft& draft) {
  if (module != nullptr) ModuleReader{*module, draft}.read();
}

}  // namespace standfast
