#include "tools/rig/wire_commands.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "config/wire_kind.hpp"
#include "tools/rig/plant.hpp"

namespace standfast::rig {
namespace {

std::optional<BusId> bus_named(const Plant& plant, const std::string& name) {
  const auto& all = plant.rig().buses;
  const auto found = std::find_if(all.begin(), all.end(), [&](const Bus& bus) { return bus.name == name; });
  if (found == all.end()) return std::nullopt;
  return BusId{static_cast<std::size_t>(found - all.begin())};
}

std::optional<OutputKind> output_named(const std::string& name) {
  for (int n = 0; n < output_count; ++n) {
    if (name_of(static_cast<OutputKind>(n)) == name) return static_cast<OutputKind>(n);
  }
  return std::nullopt;
}

OutputKind output_next(WordReader& words) {
  const std::string name = words.next("an output");
  const auto output = output_named(name);
  if (!output) throw Refusal{"there is no output " + name};
  return *output;
}

Relays& relays_of(Plant& plant) {
  if (plant.relays() == nullptr) throw Refusal{"the rig states no output module"};
  return *plant.relays();
}

std::uint16_t counts_next(WordReader& words) {
  const auto counts = parse_number(words.next("counts"));
  if (!counts || *counts < 0 || *counts > 65535) throw Refusal{"a register takes 0 to 65535 counts"};
  words.must_end();
  return static_cast<std::uint16_t>(*counts);
}

double share_next(WordReader& words) {
  const double share = words.amount({Base::ratio});
  if (share < 0 || share > 1) throw Refusal{"a share lies between 0 % and 100 %"};
  return share;
}

std::string set_module(Relays& relays, WordReader& words) {
  if (words.take("restarted")) {
    words.must_end();
    relays.restart();
    return "the output module was off and on";
  }
  if (words.take("blind")) {  // It no longer sees the heartbeat.
    words.must_end();
    relays.set_blind(true);
    return "the module sees no heartbeat";
  }
  if (words.take("sees")) {
    words.must_end();
    relays.set_blind(false);
    return "the module sees the heartbeat";
  }
  if (words.take("watchdog")) {
    relays.set_watchdog(counts_next(words));
    return "the watchdog's time is set";
  }
  const bool on_watchdog = words.take("on-watchdog");
  if (!on_watchdog) words.must("power-on");
  words.must("value");
  const std::uint16_t value = counts_next(words);
  if (!relays.set_value(on_watchdog, value)) throw Refusal{"the rig file states no such register"};
  return "the module's register is set";
}

struct LineWord { std::string_view word; LineFault fault; };
constexpr std::array<LineWord, 6> line_words{{{"comma", LineFault::comma}, {"overload", LineFault::overload},
                                              {"endless", LineFault::endless}, {"zero", LineFault::zero_byte},
                                              {"merged", LineFault::merged}, {"extra", LineFault::extra_field}}};

LineFault line_fault_next(WordReader& words) {
  const std::string word = words.next("what the line says");
  const auto found = std::find_if(line_words.begin(), line_words.end(), [&](const LineWord& w) { return w.word == word; });
  if (found == line_words.end()) throw Refusal{"'" + word + "' is not comma, overload, endless, zero, merged or extra"};
  return found->fault;
}

struct Switch { std::string_view first, second; bool WireFault::*fault; };
constexpr std::array<Switch, 8> switches{{{"foreign", "unit", &WireFault::foreign_unit},
                                          {"wrong", "length", &WireFault::wrong_length},
                                          {"garbage", "tail", &WireFault::garbage_tail},
                                          {"black", "hole", &WireFault::black_hole},
                                          {"hangs", "up", &WireFault::hangs_up},
                                          {"echoes", "", &WireFault::echoing},
                                          {"late", "", &WireFault::late_by_one},
                                          {"pulled", "", &WireFault::pulled}}};

bool take_switch(WordReader& words, WireFault& fault) {
  for (const Switch& s : switches) {
    if (!words.take(s.first)) continue;
    if (!s.second.empty()) words.must(s.second);
    fault.*s.fault = true;
    return true;
  }
  return false;
}

void must_fit_serial(const WireFault& fault) {
  if (fault.hangs_up) throw Refusal{"a serial line does not hang up; its adapter is pulled"};
}

void must_fit_modbus(const WireFault& fault) {
  if (fault.line != LineFault::none) throw Refusal{"nothing on this wire speaks text"};
}

void must_fit(const Bus& bus, const WireFault& fault) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp:
      if (fault.pulled) throw Refusal{"a TCP wire has no adapter; it hangs up"};
      return must_fit_modbus(fault);
    case WireKind::modbus_rtu:
      must_fit_serial(fault);
      return must_fit_modbus(fault);
    case WireKind::serial_lines:
      must_fit_serial(fault);
      if (fault.foreign_unit || fault.wrong_length) throw Refusal{"a line of text has no unit and no length"};
  }
}

}  // namespace

std::string module(Plant& plant, WordReader& words) {
  Relays& relays = relays_of(plant);
  if (!words.take("cable")) return set_module(relays, words);
  const bool back = words.take("back");
  if (!back) words.must("pulled");
  words.must_end();
  plant.module()->silent = !back;
  return back ? "the cable is in" : "the cable is out";
}

std::string unit(Plant& plant, WordReader& words) {
  std::string name = words.next("a unit's number");
  const auto bus = bus_named(plant, name);
  if (bus) name = words.next("a unit's number");
  const auto number = parse_number(name);
  UnitTables* tables = number ? plant.unit(static_cast<int>(*number), bus) : nullptr;
  if (tables == nullptr) throw Refusal{"no such unit"};
  const std::string how = words.next("silent, busy, failing, another or answers");
  const bool busy = how == "busy";
  const bool failing = how == "failing";
  if (!busy && !failing && how != "silent" && how != "another" && how != "answers") {
    throw Refusal{"'" + how + "' is not silent, busy, failing, another or answers"};
  }
  words.must_end();
  tables->silent = how == "silent";
  tables->be_another(how == "another");
  tables->set_trouble(busy ? std::optional<std::uint8_t>{6} : failing ? std::optional<std::uint8_t>{4} : std::nullopt);
  return "the unit is " + (how == "answers" ? std::string{"answering"} : how);
}

std::string wire(Plant& plant, WordReader& words) {
  const std::string name = words.next("a bus");
  const auto bus = bus_named(plant, name);
  if (!bus) throw Refusal{"there is no bus " + name};
  WireFault fault = plant.wire(*bus);
  const bool frozen = words.take("frozen");
  if (words.take("loses")) fault.lost = share_next(words);
  else if (words.take("spoils")) fault.spoilt = share_next(words);
  else if (words.take("slow")) fault.slow = words.duration();
  else if (words.take("drips")) fault.drip = words.duration();
  else if (words.take("says")) fault.line = line_fault_next(words);
  else if (words.take("back")) fault.pulled = false;
  else if (!frozen && !take_switch(words, fault)) throw Refusal{"'" + words.peek() + "' is nothing that a wire does"};
  words.must_end();
  must_fit(plant.rig().buses[bus->at()], fault);
  plant.wire(*bus) = fault;
  if (frozen) plant.freeze(*bus, true);
  return name;
}

std::string contact(Plant& plant, WordReader& words) {
  const OutputKind output = output_next(words);
  const bool welded = words.take("welded");
  if (!welded) words.must("open");
  words.must_end();
  relays_of(plant).set_contact_fault(output, welded ? ContactFault::welded : ContactFault::open);
  return std::string{name_of(output)};
}

// Another program writes a coil of the output module.
std::string second(Plant& plant, WordReader& words) {
  words.must("master");
  words.must("writes");
  const OutputKind output = output_next(words);
  const bool on = words.take("on");
  if (!on) words.must("off");
  words.must_end();
  if (!relays_of(plant).order(output, on)) throw Refusal{"the rig file states no such output"};
  return "written";
}

bool mend_wire_or_contact(Plant& plant, const std::string& name) {
  if (const auto bus = bus_named(plant, name)) {
    plant.wire(*bus) = {};
    plant.freeze(*bus, false);
    return true;
  }
  const auto output = output_named(name);
  if (!output || plant.relays() == nullptr) return false;
  plant.relays()->set_contact_fault(*output, ContactFault::none);
  return true;
}

}  // namespace standfast::rig
