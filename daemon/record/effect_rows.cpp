// Effects, revisions and gaps as rows.
#include <charconv>

#include "config/ensure.hpp"
#include "config/wire_kind.hpp"
#include "daemon/record/json_text.hpp"
#include "daemon/record/row_fields.hpp"
#include "daemon/record/rows.hpp"
#include "daemon/record/seal.hpp"

namespace standfast::record {
namespace {

void put_image(PutFields& put, const OutputImage& image) {
  for (const bool on : image.on) put.flag(on);
}

struct RowOfEffect {
  const Moment& moment;

  Row operator()(const AlarmChange& alarm) const {
    PutFields put{RecordTable::alarm, moment};
    put.number(alarm.number).text(alarm.subject).cause(alarm.cause).word(alarm.level).word(alarm.from).word(alarm.to);
    put.flag(alarm.first_out);
    alarm.value ? put.real(alarm.value->si) : put.none();
    alarm.bound ? put.real(alarm.bound->si) : put.none();
    const auto& either = alarm.value ? alarm.value : alarm.bound;
    either ? put.dimension(either->dimension) : put.none();
    return std::move(put.text(alarm.say).text(alarm.by)).done();
  }
  Row operator()(const SignalChange& signal) const {
    PutFields put{RecordTable::signal, moment};
    return std::move(put.word(signal.from).word(signal.to).cause(signal.cause).text(signal.subject)).done();
  }
  Row operator()(const PermitChange& permit) const {
    PutFields put{RecordTable::permit, moment};
    put.word(permit.kind).flag(permit.given).cause(permit.cause).text(permit.stage).text(permit.step);
    return std::move(put.text(permit.circuits).text(permit.by).text(permit.second)).done();
  }
  Row operator()(const StageChange& stage) const {
    PutFields put{RecordTable::stage, moment};
    put.text(stage.stage).text(stage.step).word(stage.from).word(stage.to).text(stage.by).text(stage.second);
    return std::move(put.text(stage.facts)).done();
  }
  Row operator()(const OutputChange& output) const {
    PutFields put{RecordTable::output_wanted, moment};
    put_image(put, output.wanted);
    return std::move(put.flag(output.gives).flag(output.heartbeat_withheld)).done();
  }
  Row operator()(const ActionAnswer& answer) const {
    PutFields put{RecordTable::answer, moment};
    return std::move(put.word(answer.what).flag(answer.accepted).text(answer.code).text(answer.text)).done();
  }
  Row operator()(const Notice& notice) const {
    PutFields put{RecordTable::notice, moment};
    return std::move(put.text(notice.code).text(notice.text)).done();
  }
  Row operator()(const MarkTaken& mark) const {
    PutFields put{RecordTable::mark, moment};
    put.text(mark.mark).text(mark.point).real(mark.mean.si).real(mark.standard_error).dimension(mark.mean.dimension);
    return std::move(put.number(mark.readings)).done();
  }
  Row operator()(const ReadingSet& set) const {
    PutFields put{RecordTable::reading_set, moment};
    return std::move(put.text(set.stage).text(set.step).number(set.after.ns).text(set.values)).done();
  }
  Row operator()(const ProofResult& proof) const {
    PutFields put{RecordTable::proof, moment};
    return std::move(put.text(proof.proof).flag(proof.passed).text(proof.facts)).done();
  }
  Row operator()(const DerivedValue& derived) const {
    const Reading& reading = derived.reading;
    PutFields put{RecordTable::value, moment};
    put.text(derived.quantity);
    reading.has_number() ? put.real(reading.value.si) : put.none();
    put.dimension(reading.value.dimension);
    reading.has_number() ? put.real(reading.uncertainty) : put.none();
    put.word(reading.quality);
    reading.cause != Cause::none ? put.cause(reading.cause) : put.none();
    reading.saturated != Saturation::none ? put.word(reading.saturated) : put.none();
    return std::move(put.flag(reading.inferred).number(reading.oldest.ns).number(reading.newest.ns)).done();
  }
  Row operator()(const SnapshotDue&) const { ensure_failed("a snapshot needs its text", __FILE__, __LINE__); }
};

Row snapshot_row(Cause why, const Moment& moment, const std::string& state) {
  PutFields put{RecordTable::snapshot, moment};
  return std::move(put.cause(why).number(rules_version).text(sha256_hex(state)).text(state)).done();
}

Row block_row(const Job& job, std::size_t place, std::int64_t revision) {
  const Block& block = job.polls.blocks[place];
  PutFields put{RecordTable::block};
  put.number(block_key(revision, BlockId{place})).number(revision).number(static_cast<std::int64_t>(place));
  const Bus& bus = job.rig.buses[block.bus.at()];
  const bool text = kind_of(bus) == WireKind::serial_lines;
  put.text(bus.name).number(text ? 0 : block.unit_id).text(text ? "line" : name_of(block.table));
  return std::move(put.number(block.start).number(block.count).number(block.every.ns)).done();
}

std::string_view raw_type_of(const Bus& bus, Table table, RawType type) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: case WireKind::modbus_rtu:
      return table == Table::coil || table == Table::discrete_input ? "bit" : name_of(type);
    case WireKind::serial_lines: return "text";
  }
  ENSURE(false);
}

Row channel_row(const Job& job, std::int64_t key, const Block& block, const Block::ChannelPlace& place) {
  const Channel& channel = job.rig.channels[place.channel.at()];
  PutFields put{RecordTable::block_channel};
  put.number(key).number(place.offset).text(channel.name).text("channel");
  put.text(raw_type_of(job.rig.buses[block.bus.at()], block.table, channel.type)).word(channel.word_order).word(channel.byte_order);
  return std::move(put.dimension(channel.dimension)).done();
}

Row input_row(const Job& job, std::int64_t key, const Block::InputPlace& place) {
  PutFields put{RecordTable::block_channel};
  put.number(key).number(place.offset).text(job.rig.inputs[place.input.at()].name).text("input").text("bit");
  return std::move(put.word(Order::big).word(Order::big).dimension({})).done();
}

void append_field(std::string& line, const Value& value) {
  char digits[32];
  if (const auto* number = std::get_if<std::int64_t>(&value))
    line.append(digits, std::to_chars(digits, digits + sizeof digits, *number).ptr);
  else if (const auto* real = std::get_if<double>(&value))
    line.append(digits, std::to_chars(digits, digits + sizeof digits, *real).ptr);
  else if (const auto* text = std::get_if<std::string>(&value))
    line += quoted_utf8(*text);
  else
    line += '-';
}

}  // namespace

bool wants_snapshot(const std::vector<EffectRow>& effects) {
  for (const EffectRow& effect : effects)
    if (std::holds_alternative<SnapshotDue>(effect)) return true;
  return false;
}

std::vector<Row> rows_of(const Effects& effects, const Moment& moment, const std::string& snapshot) {
  std::vector<Row> rows;
  const SnapshotDue* due = nullptr;
  for (std::size_t i = 0; i < effects.rows.size(); ++i) {
    const EffectRow& effect = effects.rows[i];
    Moment decided = moment;
    if (i < effects.instants.size()) {
      decided.at = effects.instants[i];
      decided.wall = WallTime{moment.wall.ns - (moment.at - decided.at).ns};
    }
    if (const auto* wanted = std::get_if<SnapshotDue>(&effect)) due = wanted;
    else rows.push_back(std::visit(RowOfEffect{decided}, effect));
  }
  if (due != nullptr) rows.push_back(snapshot_row(due->why, moment, snapshot));
  return rows;
}

std::vector<Row> rows_of(const std::vector<EffectRow>& effects, const Moment& moment, const std::string& snapshot) {
  Effects at_once;
  at_once.rows = effects;
  return rows_of(at_once, moment, snapshot);
}

std::vector<Row> rows_of(const RevisionBytes& bytes, const Job& job, std::int64_t number, const Moment& moment) {
  std::vector<Row> rows;
  PutFields put{RecordTable::revision, moment};
  put.number(number).text(sha256_hex(bytes.rig_yaml)).text(bytes.rig_yaml);
  rows.push_back(std::move(put.text(sha256_hex(bytes.stages_yaml)).text(bytes.stages_yaml)).done());
  for (std::size_t place = 0; place < job.polls.blocks.size(); ++place) {
    const Block& block = job.polls.blocks[place];
    const std::int64_t key = block_key(number, BlockId{place});
    rows.push_back(block_row(job, place, number));
    for (const auto& channel : block.channels) rows.push_back(channel_row(job, key, block, channel));
    for (const auto& input : block.inputs) rows.push_back(input_row(job, key, input));
  }
  return rows;
}

Row row_of(const Gap& gap, const Moment& moment) {
  PutFields put{RecordTable::gap, moment};
  return std::move(put.number(gap.from.ns).number(gap.until.ns).number(gap.lost).text(gap.why)).done();
}

std::string effect_text(const Row& row) {
  std::string line{entry_of(row.table).name};
  for (std::size_t i = 0; i < row.values.size(); ++i) {
    const std::string_view column = column_name(row.table, i + 1);
    // The same decision may be taken in another run at another wall time; a state is told by its SHA-256.
    if (column == "span" || column == "wall_ns" || (row.table == RecordTable::snapshot && column == "state")) continue;
    line.append(" ").append(column).append("=");
    append_field(line, row.values[i]);
  }
  return line;
}

}  // namespace standfast::record
