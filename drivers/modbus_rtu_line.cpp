#include "drivers/modbus_rtu_line.hpp"

#include <algorithm>
#include <chrono>

namespace standfast {

namespace {

constexpr Duration longest_rest = seconds(10);
constexpr int silences_until_rest = 3;

bool is_flaw(Flaw flaw) { return flaw != Flaw::none && !is_exception(flaw); }

}  // namespace

Duration rest_after(int silences, Duration cost) {
  if (silences < silences_until_rest) return {};
  Duration rest = cost * 4;
  for (int i = silences_until_rest; i < silences && rest < longest_rest; ++i) rest = rest * 2;
  return std::min(rest, longest_rest);
}

ModbusRtuLine::ModbusRtuLine(const ModbusRtu& where, std::vector<UnitStatement> units, const Clock& clock)
    : where_{where}, stated_{std::move(units)}, clock_{clock}, port_{where, clock} {}

bool ModbusRtuLine::is_as_stated(const ModbusRtu& where, const std::vector<UnitStatement>& units) const {
  return where_ == where && stated_ == units;
}

bool ModbusRtuLine::take(Rank rank, Instant deadline) {
  std::unique_lock lock{mutex_};
  const bool outputs = rank == Rank::outputs;
  const auto may = [&] { return !taken_ && (outputs || (outputs_waiting_ == 0 && clock_.now() >= quiet_until())); };
  if (outputs) ++outputs_waiting_;
  while (!may() && clock_.now() < deadline) {
    Duration wait = std::min(deadline - clock_.now(), longest_kernel_wait);
    if (!taken_ && !outputs && quiet_until() > clock_.now()) wait = std::min(wait, quiet_until() - clock_.now());
    changed_.wait_for(lock, std::chrono::nanoseconds{std::max(wait, Duration{}).ns});
  }
  const bool mine = may();
  if (outputs && --outputs_waiting_ == 0 && !mine) changed_.notify_all();
  if (mine) taken_ = true;
  return mine;
}

void ModbusRtuLine::give_back() {
  {
    const std::lock_guard lock{mutex_};
    taken_ = false;
  }
  changed_.notify_all();
}

Flaw ModbusRtuLine::open() {
  if (port_.is_open()) return Flaw::none;
  if (!pause_.over(clock_.now())) return refusal_;
  refusal_ = port_.open();
  if (refusal_ != Flaw::none) {
    pause_.failed(clock_.now());
    return refusal_;
  }
  pause_.succeeded();
  units_.clear();
  session_ = ++sessions_;
  return Flaw::none;
}

void ModbusRtuLine::lose() {
  session_ = 0;
  pause_.failed(clock_.now());
}

Duration ModbusRtuLine::slowest_answer(int unit_id) const {
  const auto stated = std::ranges::find(stated_, unit_id, &UnitStatement::unit_id);
  return stated != stated_.end() && stated->slowest_answer ? *stated->slowest_answer : where_.slowest_answer;
}

bool ModbusRtuLine::wait_for_quiet(Instant deadline) {
  const Instant until = quiet_until();
  while (clock_.now() < std::min(until, deadline)) {
    std::unique_lock lock{mutex_};
    changed_.wait_for(lock, std::chrono::nanoseconds{std::min(std::min(until, deadline) - clock_.now(), longest_kernel_wait).ns});
  }
  if (clock_.now() < until) return false;
  if (flush_due_) port_.flush();
  flush_due_ = false;
  return true;
}

// Bytes that nobody asked for, and settings that were not ours, make every unit's next answer doubtful.
Flaw ModbusRtuLine::look() {
  const Flaw flaw = port_.look();
  if (flaw == Flaw::not_connected) lose();
  if (flaw == Flaw::line_changed || flaw == Flaw::malformed)
    for (auto& [id, unit] : units_) unit.proved = false;
  return flaw == Flaw::malformed ? Flaw::none : flaw;
}

void ModbusRtuLine::doubt(int unit_id, Flaw flaw) {
  Unit& unit = units_[unit_id];
  unit.proved = false;
  const Instant quiet = port_.sent_at() + slowest_answer(unit_id);
  quiet_until_ns_ = std::max(quiet, quiet_until()).ns;
  flush_due_ = true;
  if (flaw != Flaw::no_answer) return;
  const Duration cost = std::max(clock_.now(), quiet) - port_.sent_at();
  unit.rests_until = clock_.now() + rest_after(++unit.silences, cost);
}

ModbusRtuPort::Heard ModbusRtuLine::exchange(const ModbusRequest& request, Instant deadline) {
  const ModbusRtuPort::Heard heard = port_.exchange(request, deadline);
  if (heard.flaw == Flaw::not_connected) lose();
  else if (is_flaw(heard.flaw)) doubt(request.unit_id(), heard.flaw);
  else units_[request.unit_id()].silences = 0;
  return heard;
}

Flaw ModbusRtuLine::prove(const ModbusRequest& request, Instant deadline) {
  Unit& unit = units_[request.unit_id()];
  const Flaw flaw = exchange(unit.ignores_echo ? another_shape(request) : echo_request(request.unit_id(), ++last_number_), deadline).flaw;
  if (flaw == Flaw::no_answer) unit.ignores_echo = !unit.ignores_echo;
  unit.proved = !is_flaw(flaw);
  return unit.proved ? Flaw::none : flaw;
}

ModbusConnection::Answer ModbusRtuLine::ask(const ModbusRequest& request, Rank rank, Instant deadline) {
  if (!port_.is_open()) return {Flaw::not_connected, {}, false};
  const Unit& unit = units_[request.unit_id()];
  if (rank == Rank::instruments && clock_.now() < unit.rests_until) return {Flaw::no_answer, {}, false};
  if (!wait_for_quiet(deadline)) return {Flaw::no_answer, {}, false};
  if (const Flaw flaw = look(); flaw != Flaw::none) return {flaw, {}, false};
  if (!unit.proved) {
    if (!table_read_by(request.pdu()))
      if (const Flaw flaw = exchange(request, deadline).flaw; is_flaw(flaw)) return {flaw, {}};
    if (const Flaw flaw = prove(request, deadline); flaw != Flaw::none) return {flaw, {}};
  }
  const ModbusRtuPort::Heard heard = exchange(request, deadline);
  return {heard.flaw, heard.pdu};
}

}  // namespace standfast
