#include "daemon/service/wires.hpp"

#include "drivers/make_driver.hpp"

namespace standfast {
namespace {

BusThread::Parts blocks_of(const Job& job, BusId bus) {
  BusThread::Parts parts;
  parts.timeout = job.rig.buses[bus.at()].timeout;
  for (std::size_t i = 0; i < job.polls.blocks.size(); ++i) {
    if (job.polls.blocks[i].bus != bus) continue;
    parts.ids.push_back(BlockId{i});
    parts.blocks.push_back(job.polls.blocks[i]);
  }
  return parts;
}

}  // namespace

WireMakers real_wires(const Clock& clock) {
  auto lines = std::make_shared<SharedLines>();
  return {[&clock, lines](const Bus& bus) { return make_driver(bus, clock, *lines); },
          [&clock, lines](const OutputModuleStatement& module, const Bus& bus) {
            return make_output_module(module, bus, clock, *lines);
          }};
}

Wires::Wires(const Job& job, const WireMakers& makers, const Clock& clock, Inbox& inbox) {
  for (std::size_t i = 0; i < job.rig.buses.size(); ++i) {
    BusThread::Parts parts = blocks_of(job, BusId{i});
    if (parts.blocks.empty()) continue;
    auto driver = makers.driver(job.rig.buses[i]);
    if (!driver) {
      problems_.push_back("bus " + job.rig.buses[i].name + ": " + driver.error());
      continue;
    }
    parts.driver = std::move(*driver);
    buses_.push_back(std::make_unique<BusThread>(std::move(parts), clock, inbox));
  }
  if (!job.rig.output_module) return;
  const OutputModuleStatement& stated = *job.rig.output_module;
  const Bus& bus = job.rig.buses[stated.bus.at()];
  auto module = makers.outputs(stated, bus);
  if (!module) {
    problems_.push_back("output module: " + module.error());
    return;
  }
  outputs_ = std::make_unique<OutputThread>(
      OutputThread::Parts{std::move(*module), {.timeout = bus.timeout, .heartbeat_period = stated.heartbeat_period}}, clock,
      inbox);
}

// Permission goes first, then everybody is told to end before anybody is waited for.
Wires::~Wires() {
  outputs_.reset();
  for (const auto& bus : buses_) bus->end();
}

void Wires::renew(const Wanted& wanted) {
  if (outputs_) outputs_->renew(wanted);
}

void Wires::set_periods(const std::vector<Duration>& periods) {
  for (const auto& bus : buses_) {
    std::vector<Duration> own;
    for (const BlockId id : bus->ids()) own.push_back(periods[id.at()]);
    bus->set_periods(std::move(own));
  }
}

std::vector<std::int64_t> Wires::progress() const {
  std::vector<std::int64_t> all;
  for (const auto& bus : buses_) all.push_back(bus->progress());
  if (outputs_) all.push_back(outputs_->progress());
  return all;
}

}  // namespace standfast
