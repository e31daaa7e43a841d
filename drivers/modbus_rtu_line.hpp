// One Modbus RTU line, for all who speak on it: whose turn it is, and whose answers are trusted.
//
// RTU numbers nothing, so a late answer looks like the answer to the next question. Therefore, after any flaw but an
// exception: the whole line is kept quiet until the asked unit's `slowest_answer` has passed since the request had left; what
// came meanwhile is thrown away; and nothing of that unit is taken for a value until it has answered a question of another
// shape. That question is first "return query data" with a number of ours (function 8, sub-function 0); any refusal of it
// proves as much. Where it is met with silence the next try asks the same table with another count. A unit is unproved, too,
// after the device was opened. The question behind a proof is again of another shape, so that a unit that is always one
// answer late never gives a value.
//
// A write to an unproved unit is sent before the proof, so that taking away does not wait, and again behind it, because
// only then its echo confirms anything.
//
// Bytes within a frame may lie further apart than 1.5 characters: converters on USB tear frames apart. Between frames there
// is the silence that the specification asks for.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <map>
#include <mutex>
#include <vector>

#include "drivers/modbus_connection.hpp"
#include "drivers/modbus_rtu_port.hpp"

namespace standfast {

class ModbusRtuLine {
 public:
  // Units that are not among `units` are as slow as the line's `slowest_answer` says.
  ModbusRtuLine(const ModbusRtu& where, std::vector<UnitStatement> units, const Clock& clock);
  // False where the same line was stated otherwise.
  bool is_as_stated(const ModbusRtu& where, const std::vector<UnitStatement>& units) const;

  // Outputs go before instruments, and wait at most for one running request; instruments wait while the line is quiet, too.
  // True if the line is the caller's; false at the deadline. All below needs it unless it says otherwise.
  enum class Rank : std::uint8_t { instruments, outputs };
  [[nodiscard]] bool take(Rank rank, Instant deadline);
  void give_back();

  // As ModbusConnection::connect: none, not_connected, line_in_use.
  [[nodiscard]] Flaw open();
  // Of the newest refusal.
  [[nodiscard]] const std::string& trouble() const { return port_.trouble(); }
  // Another number each time the device is opened; 0 while it is not. Any thread, at any time.
  std::uint64_t session() const { return session_.load(); }

  // Not asked: the line is quiet until behind the deadline (no_answer), was changed (line_changed), or is not open. An
  // instrument that stays silent is asked less and less often, up to every 10 s, and its silence told at once between.
  [[nodiscard]] ModbusConnection::Answer ask(const ModbusRequest& request, Rank rank, Instant deadline);

  // Until then nobody should ask. Any thread, at any time.
  Instant quiet_until() const { return {quiet_until_ns_.load()}; }

 private:
  struct Unit {
    bool proved{false};
    bool ignores_echo{false};  // It was silent when asked to return query data.
    int silences{0};           // In a row.
    Instant rests_until{};
  };
  [[nodiscard]] bool wait_for_quiet(Instant deadline);
  [[nodiscard]] Flaw look();
  [[nodiscard]] ModbusRtuPort::Heard exchange(const ModbusRequest& request, Instant deadline);
  [[nodiscard]] Flaw prove(const ModbusRequest& request, Instant deadline);
  void doubt(int unit_id, Flaw flaw);
  void lose();
  Duration slowest_answer(int unit_id) const;

  const ModbusRtu where_;
  const std::vector<UnitStatement> stated_;
  const Clock& clock_;
  ModbusRtuPort port_;
  RetryPause pause_;
  Flaw refusal_{Flaw::not_connected};
  std::map<int, Unit> units_;
  bool flush_due_{false};
  std::uint16_t last_number_{0};
  std::uint64_t sessions_{0};
  std::atomic<std::uint64_t> session_{0};
  std::atomic<std::int64_t> quiet_until_ns_{0};

  std::mutex mutex_;  // Of the turn alone.
  std::condition_variable changed_;
  bool taken_{false};
  int outputs_waiting_{0};
};

// How long a unit is not asked after so many silences in a row, the last of which cost the line so much: nothing before the
// third; then four times the cost, so that the others keep four fifths of the line; doubled with each further one, up to 10 s.
[[nodiscard]] Duration rest_after(int silences, Duration cost);

}  // namespace standfast
