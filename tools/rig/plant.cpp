#include "tools/rig/plant.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "tools/rig/commands.hpp"
#include "tools/rig/line_text.hpp"

namespace standfast::rig {
namespace {

constexpr double default_relief = 700e5;  // Pa, where no circuit states one.
constexpr Duration fine = milliseconds(20);  // While something is being moved.
constexpr Duration coarse = milliseconds(1000);
constexpr std::uint8_t gateway_target_silent = 11;

double relief_of(const Rig& rig) {
  double least = default_relief;
  for (const Circuit& circuit : rig.circuits) {
    if (circuit.relief) least = std::min(least, circuit.relief->si());
  }
  return least;
}

SiteStatement with_pistons_of(SiteStatement site, const Rig& rig) {
  if (!rig.jacks.empty()) site.piston_area = rig.jacks.front().area.si();
  return site;
}

}  // namespace

Result<std::unique_ptr<Plant>, std::string> Plant::make(const Rig& rig, const SiteStatement& site,
                                                        PlantOptions options) {
  auto fastening = fasten(rig, site);
  if (!fastening) return Failure{fastening.error()};
  std::unique_ptr<Plant> plant{new Plant{rig, site, *fastening, std::move(options)}};
  plant->obey_script();  // What stands at 0 s.
  return plant;
}

Plant::Plant(const Rig& rig, const SiteStatement& site, Fastening fastening, PlantOptions options)
    : rig_{rig}, options_{std::move(options)}, site_{with_pistons_of(site, rig)}, pump_{relief_of(rig)},
      instruments_{rig, std::move(fastening), options.seed}, units_{units_of(rig)}, wires_(rig.buses.size()),
      wire_chance_{options.seed + 1} {
  if (rig_.output_module) {
    relays_.emplace(*rig_.output_module);
    module()->attach(*relays_);
  }
  instruments_.sample(site_, 0, 0);
  show();
}

UnitTables* Plant::module() {
  if (!rig_.output_module) return nullptr;
  return &units_[{rig_.output_module->bus, rig_.output_module->unit_id}];
}

UnitTables* Plant::unit(int unit_id, std::optional<BusId> bus) {
  for (auto& [address, tables] : units_) {
    if (address.unit_id == unit_id && (!bus || *bus == address.bus)) return &tables;
  }
  return nullptr;
}

void Plant::freeze(BusId bus, bool frozen) {
  for (auto& [address, tables] : units_) {
    if (address.bus == bus) tables.freeze(frozen);
  }
}

void Plant::step(Duration real) {
  elapsed_ = elapsed_ + real;
  if (relays_) relays_->step(real);
  Duration left{std::llround(static_cast<double>(real.ns) * options_.speed)};
  while (left.ns > 0) {
    const Duration part = std::min(left, pump_.running() || !ramps_.empty() ? fine : coarse);
    step_site(part);
    left = left - part;
  }
  instruments_.sample(site_, pump_.delivery_pressure(site_), real.seconds());
  show();
  note_changes();
  obey_script();
}

void Plant::obey_script() {
  while (script_at_ < options_.script.size() && options_.script[script_at_].at <= site_.elapsed()) {
    obey(options_.script[script_at_++].command, "script");
  }
}

void Plant::step_site(Duration simulated) {
  const double seconds = simulated.seconds();
  move_ramps(seconds);
  pump_.step(site_, seconds, permitted(pump_.direction()));
  site_.step(simulated);
}

// A contact that the rig does not have stands in nobody's way.
bool Plant::permitted(Direction direction) const {
  if (site_stop_) return false;
  if (!relays_) return true;
  const OutputKind permit = direction == Direction::raise ? OutputKind::raise_permit : OutputKind::lower_permit;
  return relays_->contact(permit).value_or(true) && relays_->contact(OutputKind::stop_relay).value_or(true);
}

void Plant::move_ramps(double seconds) {
  for (Ramp& ramp : ramps_) {
    const double most = ramp.per_second * seconds;
    const double now = std::abs(ramp.left) <= std::abs(most) ? ramp.left : most;
    ramp.left -= now;
    switch (ramp.what) {
      case Ramp::What::weight: site_.add_weight(now); break;
      case Ramp::What::base: site_.sink_base(ramp.leg, now); break;
      case Ramp::What::head:
        held_head_ = held_head_.value_or(site_.head()) + now;
        site_.hold_head(*held_head_);
        break;
    }
  }
  std::erase_if(ramps_, [](const Ramp& ramp) { return ramp.left == 0; });
}

void Plant::let_head_go() {
  std::erase_if(ramps_, [](const Ramp& ramp) { return ramp.what == Ramp::What::head; });
  held_head_.reset();
  site_.let_head_go();
}

void Plant::press_site_stop(bool pressed) {
  site_stop_ = pressed;
  if (relays_) relays_->press_site_stop(pressed);
}

// Puts on the wire what instruments, contacts and switches say now.
void Plant::show() {
  show_instruments(units_, rig_, instruments_);
  if (relays_) module()->show_readbacks();
  for (const Input& input : rig_.inputs) {
    bool happening = false;
    switch (input.meaning) {
      case InputMeaning::pump_running: happening = pump_.running(); break;
      case InputMeaning::site_stop: happening = site_stop_; break;
      case InputMeaning::mains_power: happening = !mains_; break;
      case InputMeaning::other: break;
    }
    const bool bit = happening != input.normally_closed;
    units_[{input.bus, input.address.unit_id}].own(input.address.table).set(input.address.start, bit ? 1 : 0);
  }
}

void Plant::note_changes() {
  if (relays_) {
    for (const ContactChange& change : relays_->take_changes()) {
      log_.push_back({elapsed_, "output", std::string{name_of(change.output)}, change.on, std::string{change.by}, {}});
    }
  }
  if (pump_.state() != last_pump_) {
    last_pump_ = pump_.state();
    log_.push_back({elapsed_, "pump", std::string{name_of(last_pump_)}, false, {}, {}});
  }
}

std::string Plant::obey(const std::string& line, std::string_view by) {
  const std::string answer = obey_command(*this, line);
  show();
  if (line != "state" && line != "help") log_.push_back({elapsed_, "command", line, false, std::string{by}, answer});
  note_changes();
  return answer;
}

std::optional<Bytes> Plant::serve(BusId bus, int unit_id, std::span<const std::uint8_t> request) {
  const auto found = units_.find({bus, unit_id});
  if (found == units_.end()) {
    const std::uint8_t function = request.empty() ? std::uint8_t{0} : request[0];
    return Bytes{static_cast<std::uint8_t>(function | 0x80U), gateway_target_silent};
  }
  if (found->second.silent) return std::nullopt;
  Bytes out = answer(found->second, request);
  note_changes();
  return out;
}

bool Plant::is_silent(BusId bus, int unit_id) const {
  const auto found = units_.find({bus, unit_id});
  return found == units_.end() || found->second.silent;
}

std::vector<std::optional<std::string>> Plant::values_on(BusId bus) const {
  std::vector<std::optional<std::string>> values;
  for (std::size_t c = 0; c < rig_.channels.size(); ++c) {
    const Channel& channel = rig_.channels[c];
    if (channel.bus != bus) continue;
    const auto place = static_cast<std::size_t>(channel.address.start);
    if (values.size() <= place) values.resize(place + 1);
    values[place] = instruments_.text(ChannelId{c});
  }
  return values;
}

std::string Plant::line(BusId bus) const {
  return filled(std::get<SerialLines>(rig_.buses[bus.at()].wire), values_on(bus));
}

std::string Plant::line_said(BusId bus) const {
  return rig::line_said(std::get<SerialLines>(rig_.buses[bus.at()].wire), values_on(bus), wires_[bus.at()].line);
}

std::optional<std::vector<std::uint16_t>> Plant::words(BusId bus, int unit_id, Table table, int start, int count) const {
  const auto found = units_.find({bus, unit_id});
  if (found == units_.end() || found->second.silent || !found->second.has(table, start, count)) return std::nullopt;
  return found->second.read(table, start, count);
}

bool Plant::write(BusId bus, int unit_id, Table table, int start, const std::vector<std::uint16_t>& words) {
  const auto found = units_.find({bus, unit_id});
  const int count = static_cast<int>(words.size());
  if (found == units_.end() || found->second.silent || !found->second.has(table, start, count)) return false;
  found->second.write(table, start, words);
  note_changes();
  return true;
}

std::vector<LogEntry> Plant::take_log() { return std::exchange(log_, {}); }

}  // namespace standfast::rig
