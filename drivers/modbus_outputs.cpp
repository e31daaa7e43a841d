#include "drivers/modbus_outputs.hpp"

#include <algorithm>
#include <utility>

#include "drivers/module_facts.hpp"

namespace standfast {

namespace {

constexpr std::array permits{OutputKind::raise_permit, OutputKind::lower_permit};

bool in_order_of_kinds(const Output& a, const Output& b) { return a.kind < b.kind; }

// The runs of all coils, those with the permits first.
std::vector<Run> coil_runs(const std::vector<Output>& outputs) {
  std::vector<int> coils;
  for (const Output& output : outputs) coils.push_back(output.coil);
  std::vector<Run> runs = runs_of(coils);
  const auto first_kind = [&outputs](Run run) {
    return std::ranges::find_if(outputs, [run](const Output& output) { return run.holds(output.coil); }) - outputs.begin();
  };
  std::ranges::sort(runs, {}, first_kind);
  return runs;
}

std::vector<Run> input_runs(const std::vector<Output>& outputs) {
  std::vector<int> inputs;
  for (const Output& output : outputs)
    if (output.readback) inputs.push_back(*output.readback);
  return runs_of(inputs);
}

bool wants_permit(const OutputImage& wanted) {
  return std::ranges::any_of(permits, [&](OutputKind kind) { return wanted[kind]; });
}

std::size_t at(OutputKind kind) { return static_cast<std::size_t>(kind); }

std::size_t place_in(Run run, int address) { return static_cast<std::size_t>(address - run.start); }

using CoilRun = std::array<std::uint8_t, longest_run>;
std::span<const std::uint8_t> part_of(const CoilRun& bits, Run run) { return {bits.data(), static_cast<std::size_t>(run.count)}; }

}  // namespace

ModbusOutputs::ModbusOutputs(std::unique_ptr<ModbusConnection> connection, OutputModuleStatement statement,
                             const Clock& clock)
    : statement_{std::move(statement)}, clock_{clock}, connection_{std::move(connection)} {
  std::ranges::sort(statement_.outputs, in_order_of_kinds);
  coil_runs_ = coil_runs(statement_.outputs);
  input_runs_ = input_runs(statement_.outputs);
  for (const Output& output : statement_.outputs) stated_[output.kind] = doubtful_[output.kind] = true;
}

OutputReport ModbusOutputs::exchange(const OutputImage& image, Instant deadline) {
  OutputImage wanted = image;
  for (std::size_t k = 0; k < output_count; ++k) wanted.on[k] = wanted.on[k] && stated_.on[k];
  if (!connection_->connected()) {
    facts_are_fresh_ = false;
    if (!connection_->connect(deadline)) return report(connection_->refusal(), {});
    look_first_ = wants_permit(written_) && !std::exchange(looked_in_vain_, false);
  }
  ModuleTalk talk{*connection_, statement_.unit_id, deadline};
  ReadBack read_back{};
  talk_through(talk, wanted, read_back);
  if (talk.first_flaw() == Flaw::none) return report(another_energised_ ? Flaw::energised_by_another : Flaw::none, read_back);
  connection_->close();
  return report(talk.first_flaw(), {});
}

void ModbusOutputs::talk_through(ModuleTalk& talk, const OutputImage& wanted, ReadBack& read_back) {
  const bool permit_needs_facts = wants_permit(wanted) && (!facts_are_fresh_ || gives_permit(wanted));
  const bool takes = takes_away(wanted);
  ReadBack found{};
  // What became of a permit while nobody could be asked. Once: a module that does not say is written off all the same.
  if (std::exchange(look_first_, false) && !wants_permit(wanted)) look_at_permits(talk, found);
  if (takes && wants_permit(wanted)) write_off(talk, wanted);
  if (!takes || wants_permit(wanted)) {
    if (permit_needs_facts) learn_facts(talk);
    compare_coils(talk, found);
  }
  find_lost_permits(found, wanted);
  another_energised_ = another_energised(found);
  write(talk, may_be_written(wanted));
  read_inputs(talk, read_back);
  for (std::size_t k = 0; k < output_count; ++k)
    if (found[k]) read_back[k] = found[k];
  if (!facts_are_fresh_) learn_facts(talk);
}

bool ModbusOutputs::goes_off(OutputKind kind, const OutputImage& wanted) const {
  return kind != OutputKind::heartbeat && !wanted[kind] && (written_[kind] || doubtful_[kind]);
}

bool ModbusOutputs::takes_away(const OutputImage& wanted) const {
  return std::ranges::any_of(statement_.outputs, [&](const Output& output) { return goes_off(output.kind, wanted); });
}

bool ModbusOutputs::gives_permit(const OutputImage& wanted) const {
  return std::ranges::any_of(permits, [&](OutputKind kind) { return wanted[kind] && !written_[kind]; });
}

void ModbusOutputs::learn_facts(ModuleTalk& talk) {
  const std::optional<ModuleFacts> facts = read_module_facts(talk, statement_);
  facts_are_fresh_ = facts && facts == told_facts_;
  if (facts) facts_ = *facts;
}

// Only where the coil is known and stands otherwise.
void ModbusOutputs::compare_coils(ModuleTalk& talk, ReadBack& found) const {
  for (const Run run : coil_runs_) {
    const auto answer = talk.read(Table::coil, run);
    if (answer.empty()) return;
    for (const Output& output : statement_.outputs) {
      if (!run.holds(output.coil) || doubtful_[output.kind]) continue;
      const bool stands = bit_in(answer, place_in(run, output.coil));
      if (stands != written_[output.kind]) found[at(output.kind)] = stands;
    }
  }
}

void ModbusOutputs::look_at_permits(ModuleTalk& talk, ReadBack& found) {
  for (const Output& output : statement_.outputs) {
    if (std::ranges::find(permits, output.kind) == permits.end() || !written_[output.kind]) continue;
    const auto frame = talk.read(Table::coil, {output.coil, 1});
    looked_in_vain_ = frame.empty();
    if (looked_in_vain_) return;
    found[at(output.kind)] = bits_in(frame, 1).front() != 0;
  }
}

void ModbusOutputs::find_lost_permits(const ReadBack& found, const OutputImage& wanted) {
  for (const OutputKind kind : permits)
    lost_[kind] = wanted[kind] && (lost_[kind] || (written_[kind] && found[at(kind)]));
}

// Off a module may go by itself. On it goes by another's hand, or by a power-on value that is not what it should be.
bool ModbusOutputs::another_energised(const ReadBack& found) const {
  return std::ranges::any_of(statement_.outputs, [&](const Output& output) {
    return output.kind != OutputKind::heartbeat && !written_[output.kind] && found[at(output.kind)] == true;
  });
}

OutputImage ModbusOutputs::may_be_written(OutputImage wanted) const {
  for (const OutputKind kind : permits) wanted[kind] = wanted[kind] && facts_are_fresh_ && !lost_[kind];
  return wanted;
}

// Nothing but noughts, so that it needs no facts and can bring back nothing that was lost.
void ModbusOutputs::write_off(ModuleTalk& talk, const OutputImage& wanted) {
  std::vector<Output> off;
  for (const Output& output : statement_.outputs)
    if (goes_off(output.kind, wanted)) off.push_back(output);
  for (const Run run : coil_runs(off)) {
    const CoilRun noughts{};
    const bool confirmed = talk.write_coils(run.start, part_of(noughts, run));
    for (const Output& output : off)
      if (run.holds(output.coil)) note_written(output.kind, false, confirmed);
  }
}

// What a coil was written to without an answer may stand there or not, until a write is confirmed.
void ModbusOutputs::note_written(OutputKind kind, bool on, bool confirmed) {
  doubtful_[kind] = !confirmed && (doubtful_[kind] || on != written_[kind]);
  if (confirmed) written_[kind] = on;
}

void ModbusOutputs::write(ModuleTalk& talk, const OutputImage& image) {
  for (const Run run : coil_runs_) {
    CoilRun bits{};
    for (const Output& output : statement_.outputs)
      if (run.holds(output.coil)) bits[place_in(run, output.coil)] = image[output.kind];
    const bool confirmed = talk.write_coils(run.start, part_of(bits, run));
    for (const Output& output : statement_.outputs)
      if (run.holds(output.coil)) note_written(output.kind, image[output.kind], confirmed);
  }
}

void ModbusOutputs::read_inputs(ModuleTalk& talk, ReadBack& read_back) const {
  for (const Run run : input_runs_) {
    const auto answer = talk.read(Table::discrete_input, run);
    if (answer.empty()) return;
    for (const Output& output : statement_.outputs)
      if (output.readback && run.holds(*output.readback))
        read_back[at(output.kind)] = bit_in(answer, place_in(run, *output.readback));
  }
}

OutputReport ModbusOutputs::report(Flaw flaw, const ReadBack& read_back) {
  OutputReport report{clock_.now(), flaw, written_, read_back, facts_};
  if (!report.answered()) return report;
  told_facts_ = facts_;
  for (const OutputKind kind : permits) {
    if (!lost_[kind]) continue;
    report.written[kind] = true;
    if (!report.readback[at(kind)]) report.readback[at(kind)] = false;
  }
  return report;
}

}  // namespace standfast
