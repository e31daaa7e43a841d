#include "daemon/record/checkpoint.hpp"

#include "daemon/record/row_fields.hpp"
#include "daemon/record/seal.hpp"

namespace standfast::record {
namespace {

constexpr std::size_t moment_columns = 3;

std::optional<Moment> moment_of(const std::vector<Row>& rows) {
  for (const Row& row : rows) {
    const std::string_view columns = entry_of(row.table).columns;
    if (!columns.starts_with("seq span at_ns wall_ns") && row.table != RecordTable::span) continue;
    TakeFields take{row};  // A span row begins alike: its number, at_ns, wall_ns.
    const std::int64_t span = take.number(), at = take.number();
    return Moment{span, Instant{at}, WallTime{take.number()}};
  }
  return std::nullopt;
}

}  // namespace

std::string signed_bytes(const SealedHead& of) {
  std::string bytes;
  append_canonical(bytes, std::string_view{"standfast checkpoint"});
  append_canonical(bytes, of.batch);
  return bytes + of.head;
}

Row unsigned_checkpoint(const Moment& moment) {
  return {RecordTable::checkpoint, {moment.span, moment.at.ns, moment.wall.ns}};
}

bool is_unsigned_checkpoint(const Row& row) {
  return row.table == RecordTable::checkpoint && row.values.size() == moment_columns;
}

void sign(Row& checkpoint, const SealedHead& before, const Signer& signer) {
  const std::string signature = signer.sign(signed_bytes(before));
  for (Value value : {Value{before.batch}, Value{hex_of(before.head)}, Value{hex_of(signer.public_key())},
                      Value{hex_of(signature)}})
    checkpoint.values.push_back(std::move(value));
}

CheckpointFound judge_checkpoint(const Row& row, const SealedHead& before) {
  TakeFields take{row};
  for (std::size_t column = 0; column < moment_columns; ++column) take.number();
  const SealedHead stated{take.number(), from_hex(take.text())};
  CheckpointFound found{take.text(), {}};
  const std::string public_key = from_hex(found.public_key), signature = from_hex(take.text());
  if (!take.error().empty()) found.why = take.error();
  else if (stated.batch != before.batch || stated.head != before.head) found.why = "it signs another head than the one before it";
  else if (!is_genuine({public_key, signed_bytes(stated), signature})) found.why = "its signature is not genuine";
  return found;
}

std::optional<Moment> CheckpointTurn::in_front_of(const std::vector<Row>& rows, std::int64_t durable_seq) {
  const auto moment = moment_of(rows);
  const bool begun = newest_.has_value();  // The start itself has its place: its span may be named.
  if (moment) newest_ = moment;
  const bool on_disk = durable_seq >= seq_;  // Else two might sign the same head.
  return begun && moment && on_disk && (!at_ || moment->at - *at_ >= checkpoint_every) ? moment : std::nullopt;
}

void CheckpointTurn::taken(const Moment& moment, std::int64_t seq) {
  at_ = moment.at;
  seq_ = seq;
}

}  // namespace standfast::record
