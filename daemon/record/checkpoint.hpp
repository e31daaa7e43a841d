// A checkpoint: the head of the batch before its own, signed. Who changes a row can recompute every seal behind it, but
// cannot sign the new heads without the key; who holds the public key, written down, can tell.
//
// Signed is: "standfast checkpoint" as a TEXT value of the seal, the number of the batch as an INTEGER value, the 32 bytes of
// its head. The row has key, head and signature as lower-case hex, like every digest in the evidence.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/record/rows.hpp"
#include "daemon/record/signature.hpp"

namespace standfast::record {

inline constexpr Duration checkpoint_every = minutes(1);

struct SealedHead {
  std::int64_t batch{0};
  std::string head;  // 32 bytes.
};
std::string signed_bytes(const SealedHead& of);

// The row takes its place when it is due, and what it signs when its batch is sealed.
Row unsigned_checkpoint(const Moment& moment);
bool is_unsigned_checkpoint(const Row& row);
void sign(Row& checkpoint, const SealedHead& before, const Signer& signer);

// Whether a checkpoint read back signs the head before its batch; if not, `why` says what is wrong.
struct CheckpointFound { std::string public_key, why; };  // The key in hex.
CheckpointFound judge_checkpoint(const Row& row, const SealedHead& before);

// When the next one is due, by the instants of the rows: at most once a minute, the first as soon as this start stands in
// the record, the last behind everything else.
class CheckpointTurn {
 public:
  // Called for each group of rows before it takes its place: whether a checkpoint goes in front of it.
  std::optional<Moment> in_front_of(const std::vector<Row>& rows, std::int64_t durable_seq);
  std::optional<Moment> behind(std::int64_t last_seq) const { return last_seq == seq_ ? std::nullopt : newest_; }
  void taken(const Moment& moment, std::int64_t seq);

 private:
  std::optional<Moment> newest_;  // Of the rows that have their place.
  std::optional<Instant> at_;     // Of the newest checkpoint, and its seq.
  std::int64_t seq_{0};
};

}  // namespace standfast::record
