#include "tools/rig/relays.hpp"

#include <utility>

namespace standfast::rig {
namespace {

constexpr std::size_t place(OutputKind kind) { return static_cast<std::size_t>(kind); }

// The hard-wired stop button breaks the circuits that let the pump run; it is no business of sounder and lamps.
bool broken_by_site_stop(OutputKind kind) {
  return kind == OutputKind::raise_permit || kind == OutputKind::lower_permit;
}

// One bit of a register for each coil, the lowest for coil 0.
bool masked(std::uint16_t mask, int coil) { return coil < 16 && (mask >> coil & 1) != 0; }

}  // namespace

std::string_view name_of(OutputKind kind) {
  switch (kind) {
    case OutputKind::raise_permit: return "raise_permit";
    case OutputKind::lower_permit: return "lower_permit";
    case OutputKind::stop_relay: return "stop_relay";
    case OutputKind::sounder: return "sounder";
    case OutputKind::beacon: return "beacon";
    case OutputKind::call_out: return "call_out";
    case OutputKind::heartbeat: return "heartbeat";
  }
  return "";
}

Relays::Relays(const OutputModuleStatement& statement) : said_{statement} {
  coils_.cover(0, 8);
  holding_.cover(0, 1);
  for (const Output& output : said_.outputs) {
    coils_.cover(0, output.coil + 1);
    if (output.kind == OutputKind::heartbeat) heartbeat_coil_ = output.coil;
  }
  const auto settings = [&](int address, int value) {
    holding_.cover(0, address + 1);
    holding_.set(address, static_cast<std::uint16_t>(value));
  };
  if (said_.watchdog_register && said_.watchdog_unit.ns > 0) {
    settings(*said_.watchdog_register, static_cast<int>(said_.watchdog_at_most.ns / said_.watchdog_unit.ns));
  }
  for (const ModuleRegister& r : said_.safe_values) settings(r.address, 0);
  for (const ModuleRegister& r : said_.power_on_values) settings(r.address, 0);
  holding_.set(identification_register, identification[0]);
  holding_.set(identification_register + 1, identification[1]);
  tripped_ = watchdog_time().ns > 0;
  holding_.set(watchdog_state_register, tripped_ ? 1 : 0);
  holding_.set(watchdog_trips_register, 0);
}

Duration Relays::watchdog_time() const {
  if (!said_.watchdog_register) return {};
  return said_.watchdog_unit * holding_.at(*said_.watchdog_register);
}

void Relays::step(Duration real) {
  since_edge_ = since_edge_ + real;
  const Duration time = watchdog_time();
  if (time.ns > 0 && !tripped_ && since_edge_ >= time) trip();
  if (time.ns == 0) tripped_ = false;  // Switched off: nothing drops the outputs any more.
  holding_.set(watchdog_state_register, tripped_ ? 1 : 0);
}

void Relays::trip() {
  tripped_ = true;
  holding_.set(watchdog_trips_register, static_cast<std::uint16_t>(holding_.at(watchdog_trips_register) + 1));
  force(said_.safe_values.empty() ? std::uint16_t{0} : holding_.at(said_.safe_values.front().address));
  note("watchdog");
}

// What was ordered before counts no more.
void Relays::force(std::uint16_t mask) {
  forced_ = mask;
  for (const Output& output : said_.outputs) coils_.set(output.coil, masked(mask, output.coil) ? 1 : 0);
}

// Between two writes of the master, not against what the coil was set to by a trip: a heartbeat that stands at 1 is dead.
bool Relays::sees_edge(int start, const std::vector<std::uint16_t>& bits) {
  if (blind_) return false;
  if (!heartbeat_coil_) return true;  // Without a heartbeat every write is a sign of life.
  const int n = *heartbeat_coil_ - start;
  if (n < 0 || n >= static_cast<int>(bits.size())) return false;
  const bool beat = bits[static_cast<std::size_t>(n)] != 0;
  const auto before = std::exchange(last_beat_, beat);
  return !before || *before != beat;  // After power-on the first write is a sign of life.
}

void Relays::write_coils(int start, const std::vector<std::uint16_t>& bits) {
  const bool edge = sees_edge(start, bits);
  for (std::size_t n = 0; n < bits.size(); ++n) coils_.set(start + static_cast<int>(n), bits[n]);
  if (edge) {
    if (tripped_) changes_.push_back({OutputKind::heartbeat, true, "coil"});
    tripped_ = false;
    since_edge_ = {};
  }
  note("coil");
}

void Relays::write_holding(int start, const std::vector<std::uint16_t>& words) {
  for (std::size_t n = 0; n < words.size(); ++n) {
    const int address = start + static_cast<int>(n);
    if (address < identification_register) holding_.set(address, words[n]);
  }
}

bool Relays::contact_of(const Output& output) const {
  const ContactFault fault = faults_[place(output.kind)];
  if (fault == ContactFault::welded) return true;
  if (fault == ContactFault::open) return false;
  if (site_stop_ && broken_by_site_stop(output.kind)) return false;
  if (tripped_) return masked(forced_, output.coil);  // Orders are taken down, and wait for a first beat.
  return coils_.at(output.coil) != 0;
}

std::vector<std::pair<int, bool>> Relays::readbacks() const {
  std::vector<std::pair<int, bool>> out;
  for (const Output& output : said_.outputs) {
    if (output.readback) out.emplace_back(*output.readback, contact_of(output));
  }
  return out;
}

std::optional<bool> Relays::contact(OutputKind kind) const {
  for (const Output& output : said_.outputs) {
    if (output.kind == kind) return contact_of(output);
  }
  return std::nullopt;
}

// What changed since the last look, heartbeat apart: its edges would drown the rest.
void Relays::note(std::string_view by) {
  for (const Output& output : said_.outputs) {
    const bool on = contact_of(output);
    bool& last = last_[place(output.kind)];
    if (on == last) continue;
    last = on;
    if (output.kind != OutputKind::heartbeat) changes_.push_back({output.kind, on, by});
  }
  if (by == "watchdog") changes_.push_back({OutputKind::heartbeat, false, by});
}

void Relays::set_contact_fault(OutputKind kind, ContactFault fault) {
  faults_[place(kind)] = fault;
  note("contact");
}

void Relays::press_site_stop(bool pressed) {
  site_stop_ = pressed;
  note("site stop");
}

void Relays::set_watchdog(std::uint16_t counts) {
  if (said_.watchdog_register) holding_.set(*said_.watchdog_register, counts);
}

bool Relays::set_value(bool on_watchdog, std::uint16_t value) {
  const auto& stated = on_watchdog ? said_.safe_values : said_.power_on_values;
  if (stated.empty()) return false;
  holding_.set(stated.front().address, value);
  return true;
}

bool Relays::order(OutputKind kind, bool on) {
  for (const Output& output : said_.outputs) {
    if (output.kind != kind) continue;
    coils_.set(output.coil, on ? 1 : 0);
    note("another master");
    return true;
  }
  return false;
}

void Relays::restart() {
  force(said_.power_on_values.empty() ? std::uint16_t{0} : holding_.at(said_.power_on_values.front().address));
  tripped_ = watchdog_time().ns > 0;
  last_beat_.reset();
  note("power");
}

std::vector<ContactChange> Relays::take_changes() { return std::exchange(changes_, {}); }

}  // namespace standfast::rig
