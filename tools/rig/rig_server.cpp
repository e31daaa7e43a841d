#include "tools/rig/rig_server.hpp"

#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>

#include "config/ensure.hpp"
#include "config/wire_kind.hpp"
#include "tools/rig/serial_connection.hpp"

namespace standfast::rig {
namespace {

constexpr std::size_t most_connections = 64;
constexpr Duration finest = milliseconds(1);  // How closely bytes keep their time.

std::int64_t now_ns() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

const SerialSettings& serial_of(const Bus& bus) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: break;
    case WireKind::modbus_rtu: return std::get<ModbusRtu>(bus.wire).serial;
    case WireKind::serial_lines: return std::get<SerialLines>(bus.wire).serial;
  }
  ENSURE(false);
}

// As often as the most eager channel wants it.
Duration period_of(const Rig& rig, BusId bus) {
  Duration least = seconds(1);
  for (const Channel& channel : rig.channels) {
    if (channel.bus == bus) least = std::min(least, channel.every);
  }
  return least;
}

std::unique_ptr<Connection> connection_on(PseudoTerminal terminal, const Rig& rig, BusId bus) {
  const Bus& stated = rig.buses[bus.at()];
  switch (kind_of(stated)) {
    case WireKind::modbus_tcp: break;
    case WireKind::modbus_rtu: return rtu_connection(std::move(terminal), bus, std::get<ModbusRtu>(stated.wire));
    case WireKind::serial_lines:
      return lines_connection(std::move(terminal), bus, std::get<SerialLines>(stated.wire), period_of(rig, bus));
  }
  ENSURE(false);
}

}  // namespace

Result<std::unique_ptr<RigServer>, std::string> RigServer::start(std::unique_ptr<Plant> plant,
                                                                 const ServerOptions& options) {
  std::unique_ptr<RigServer> server{new RigServer{std::move(plant), options}};
  if (std::string error = server->open(); !error.empty()) return Failure{std::move(error)};
  server->stepped_ns_ = now_ns();
  server->thread_ = std::thread{[raw = server.get()] { raw->run(); }};
  return server;
}

RigServer::RigServer(std::unique_ptr<Plant> plant, const ServerOptions& options)
    : plant_{std::move(plant)}, options_{options}, wake_{::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)} {}

RigServer::~RigServer() {
  if (thread_.joinable()) {
    const std::uint64_t one = 1;
    [[maybe_unused]] const auto written = ::write(wake_.get(), &one, sizeof one);
    thread_.join();
  }
  write_log();
  if (log_ != nullptr) std::fclose(log_);
  if (!options_.control.empty() && options_.control != "-") ::unlink(options_.control.c_str());
}

std::string RigServer::open() {
  const Rig& rig = plant_->rig();
  for (std::size_t b = 0; b < rig.buses.size(); ++b) {
    if (std::string error = open_bus(BusId{b}); !error.empty()) return error;
  }
  if (!options_.log.empty()) {
    log_ = std::fopen(options_.log.c_str(), "we");
    if (log_ == nullptr) return options_.log + ": " + std::strerror(errno);
    std::fprintf(log_, "%s\n", json_line({{}, "start", rig.title, false, "simulated", {}}).c_str());
  }
  return open_control();
}

std::string RigServer::open_bus(BusId bus) {
  const Bus& stated = plant_->rig().buses[bus.at()];
  switch (kind_of(stated)) {
    case WireKind::modbus_tcp: return open_port(bus, std::get<ModbusTcp>(stated.wire));
    case WireKind::modbus_rtu: case WireKind::serial_lines:
      devices_.push_back({bus, serial_of(stated).device});
      return open_line(bus);
  }
  ENSURE(false);
}

std::string RigServer::open_port(BusId bus, const ModbusTcp& wire) {
  std::uint16_t port = wire.port;
  if (options_.port) port = *options_.port == 0 ? std::uint16_t{0} : static_cast<std::uint16_t>(*options_.port + ports_.size());
  auto listener = listen_tcp(wire.host, port);
  if (!listener) return listener.error();
  ports_.push_back({bus, listener->port});
  listeners_.push_back({std::move(listener->socket), bus});
  return {};
}

std::string RigServer::open_line(BusId bus) {
  const Bus& stated = plant_->rig().buses[bus.at()];
  auto terminal = PseudoTerminal::open(serial_of(stated));
  if (!terminal) return "bus " + stated.name + ": " + terminal.error();
  connections_.push_back({connection_on(std::move(*terminal), plant_->rig(), bus), bus});
  return {};
}

// An adapter that was pulled and is in again: another device under the same path. Where something is in the way, it is out.
void RigServer::replug() {
  for (const Device& device : devices_) {
    const bool there = std::any_of(connections_.begin(), connections_.end(),
                                   [&](const Open& open) { return open.line == device.bus; });
    if (there || plant_->wire(device.bus).pulled) continue;
    const std::string error = open_line(device.bus);
    if (error.empty()) continue;
    std::fprintf(stderr, "%s\n", error.c_str());
    plant_->wire(device.bus).pulled = true;
  }
}

std::string RigServer::open_control() {
  if (options_.control == "-") {
    connections_.push_back({control_connection(Descriptor{::dup(STDIN_FILENO)}, Descriptor{::dup(STDOUT_FILENO)}), {}});
  } else if (!options_.control.empty()) {
    auto socket = listen_unix(options_.control);
    if (!socket) return socket.error();
    listeners_.push_back({std::move(*socket), std::nullopt});
  }
  return {};
}

void RigServer::run() {
  for (;;) {
    if (const Duration most = rest(); most.ns > 0) wait_for_work(most);
    std::uint64_t woken = 0;
    if (::read(wake_.get(), &woken, sizeof woken) > 0) return;
    if (now_ns() - stepped_ns_ >= options_.step.ns) step_plant();
  }
}

// Until the next step, or until something is due on a line.
Duration RigServer::rest() const {
  const Instant now{now_ns()};
  Duration most = options_.step - (now - Instant{stepped_ns_});
  for (const Open& open : connections_) {
    if (const auto next = open.talk->next()) most = std::min(most, std::max(*next - now, finest));
  }
  return most;
}

// Real time is what the clock says, however late this thread was woken.
void RigServer::step_plant() {
  const std::lock_guard lock{mutex_};
  const std::int64_t now = now_ns();
  if (!options_.time_stands) plant_->step({now - stepped_ns_});
  stepped_ns_ = now;
  look_at_all(Instant{now});
  replug();
  write_log();
}

void RigServer::look_at_all(Instant now) {
  std::erase_if(connections_, [&](const Open& open) { return !open.talk->look_again(*plant_, now); });
}

void RigServer::wait_for_work(Duration most) {
  std::vector<pollfd> watched{{wake_.get(), POLLIN, 0}};
  for (const Listener& listener : listeners_) watched.push_back({listener.socket.get(), POLLIN, 0});
  const std::size_t first = watched.size();
  for (const Open& open : connections_) watched.push_back({open.talk->listens() ? open.talk->in() : -1, POLLIN, 0});
  const timespec timeout{most.ns / 1'000'000'000, most.ns % 1'000'000'000};
  const bool heard = ::ppoll(watched.data(), watched.size(), &timeout, nullptr) > 0;
  const std::lock_guard lock{mutex_};
  if (heard) {
    for (std::size_t n = watched.size(); n-- > first;) work_on(n - first, watched[n].revents);
    accept_all();
  }
  look_at_all(Instant{now_ns()});  // What is due on a line does not wait for a step of the plant.
  write_log();
}

void RigServer::work_on(std::size_t place, short events) {
  if (events == 0) return;
  if (!connections_[place].talk->receive(*plant_, Instant{now_ns()})) {
    connections_.erase(connections_.begin() + static_cast<std::ptrdiff_t>(place));
  }
}

void RigServer::accept_all() {
  for (const Listener& listener : listeners_) {
    for (;;) {
      Descriptor socket = accept_from(listener.socket);
      if (socket.get() < 0) break;
      if (connections_.size() >= most_connections) continue;  // Closed at once.
      connections_.push_back({listener.bus ? modbus_connection(std::move(socket), *listener.bus)
                                           : control_connection(std::move(socket), Descriptor{}), {}});
    }
  }
}

void RigServer::write_log() {
  const auto entries = plant_->take_log();
  if (log_ == nullptr) return;
  for (const LogEntry& entry : entries) std::fprintf(log_, "%s\n", json_line(entry).c_str());
  if (!entries.empty()) std::fflush(log_);
}

}  // namespace standfast::rig
