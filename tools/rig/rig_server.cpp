#include "tools/rig/rig_server.hpp"

#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <variant>

namespace standfast::rig {
namespace {

constexpr std::size_t most_connections = 64;

std::int64_t now_ns() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
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
    const auto* wire = std::get_if<ModbusTcp>(&rig.buses[b].wire);
    if (wire == nullptr) return "bus " + rig.buses[b].name + ": only Modbus TCP in this version";
    if (std::string error = open_bus(BusId{b}, *wire); !error.empty()) return error;
  }
  if (!options_.log.empty()) {
    log_ = std::fopen(options_.log.c_str(), "we");
    if (log_ == nullptr) return options_.log + ": " + std::strerror(errno);
    std::fprintf(log_, "%s\n", json_line({{}, "start", rig.title, false, "simulated", {}}).c_str());
  }
  return open_control();
}

std::string RigServer::open_bus(BusId bus, const ModbusTcp& wire) {
  std::uint16_t port = wire.port;
  if (options_.port) port = *options_.port == 0 ? std::uint16_t{0} : static_cast<std::uint16_t>(*options_.port + ports_.size());
  auto listener = listen_tcp(wire.host, port);
  if (!listener) return listener.error();
  ports_.push_back({bus, listener->port});
  listeners_.push_back({std::move(listener->socket), bus});
  return {};
}

std::string RigServer::open_control() {
  if (options_.control == "-") {
    connections_.push_back(control_connection(Descriptor{::dup(STDIN_FILENO)}, Descriptor{::dup(STDOUT_FILENO)}));
  } else if (!options_.control.empty()) {
    auto socket = listen_unix(options_.control);
    if (!socket) return socket.error();
    listeners_.push_back({std::move(*socket), std::nullopt});
  }
  return {};
}

void RigServer::run() {
  for (;;) {
    const Duration passed{now_ns() - stepped_ns_};
    const Duration rest = options_.step - passed;
    if (rest.ns > 0) wait_for_work(rest);
    std::uint64_t woken = 0;
    if (::read(wake_.get(), &woken, sizeof woken) > 0) return;
    if (now_ns() - stepped_ns_ >= options_.step.ns) step_plant();
  }
}

// Real time is what the clock says, however late this thread was woken.
void RigServer::step_plant() {
  const std::lock_guard lock{mutex_};
  const std::int64_t now = now_ns();
  if (!options_.time_stands) plant_->step({now - stepped_ns_});
  stepped_ns_ = now;
  std::erase_if(connections_, [&](const auto& connection) { return !connection->look_again(*plant_); });
  write_log();
}

void RigServer::wait_for_work(Duration most) {
  std::vector<pollfd> watched{{wake_.get(), POLLIN, 0}};
  for (const Listener& listener : listeners_) watched.push_back({listener.socket.get(), POLLIN, 0});
  const std::size_t first = watched.size();
  for (const auto& connection : connections_) watched.push_back({connection->in(), POLLIN, 0});
  const timespec timeout{most.ns / 1'000'000'000, most.ns % 1'000'000'000};
  if (::ppoll(watched.data(), watched.size(), &timeout, nullptr) <= 0) return;
  const std::lock_guard lock{mutex_};
  for (std::size_t n = watched.size(); n-- > first;) work_on(n - first, watched[n].revents);
  accept_all();
  write_log();
}

void RigServer::work_on(std::size_t place, short events) {
  if (events == 0) return;
  if (!connections_[place]->receive(*plant_)) {
    connections_.erase(connections_.begin() + static_cast<std::ptrdiff_t>(place));
  }
}

void RigServer::accept_all() {
  for (const Listener& listener : listeners_) {
    for (;;) {
      Descriptor socket = accept_from(listener.socket);
      if (socket.get() < 0) break;
      if (connections_.size() >= most_connections) continue;  // Closed at once.
      connections_.push_back(listener.bus ? modbus_connection(std::move(socket), *listener.bus)
                                          : control_connection(std::move(socket), Descriptor{}));
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
