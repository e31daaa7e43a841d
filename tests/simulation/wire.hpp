// A Modbus wire without a wire: the rig's units answer in this process, and what comes back is lost, late, torn, spoilt or
// somebody else's before the daemon's own judgement of frames sees it. The clock goes on by what an exchange takes.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "drivers/modbus_connection.hpp"
#include "tests/simulation/clock.hpp"
#include "tests/support/steady_random.hpp"
#include "tools/rig/plant.hpp"

namespace standfast::test {

// TCP numbers its answers and trusts the network with their bytes; a serial line numbers nothing and checks every byte.
enum class Framing : std::uint8_t { tcp, serial };

// What may be wrong with one exchange; unheard: the question is lost, not the answer.
enum class Spoilt : std::uint8_t { no, unheard, lost, late, torn, prolonged, spoilt_bits, foreign_unit, refused };
inline constexpr int spoilt_count = 9;

struct WireState {
  bool pulled{false};                // No connection at all.
  std::int64_t one_in{0};            // An answer in so many is spoilt; 0: none.
  std::array<bool, spoilt_count> may_be{};
};

class SimulatedWire final : public ModbusConnection {
 public:
  SimulatedWire(rig::Plant& plant, BusId bus, Framing framing, MovedClock& clock, std::uint64_t seed)
      : plant_{plant}, bus_{bus}, framing_{framing}, clock_{clock}, random_{seed} {}

  [[nodiscard]] bool connect(Instant deadline) override;
  [[nodiscard]] bool connected() const override { return connected_ && !state.pulled; }
  void close() override;
  [[nodiscard]] Answer ask(const ModbusRequest& request, Instant deadline) override;

  WireState state;
  // Function and data of what the unit itself answered to the newest request, whatever the wire made of it. None: silence.
  const std::optional<rig::Bytes>& truly_said() const { return truly_said_; }
  std::int64_t asked{0}, spoilt{0};

 private:
  using Frame = std::vector<std::uint8_t>;
  Spoilt chance();
  Frame framed(std::uint16_t transaction, std::uint8_t unit, const rig::Bytes& pdu) const;
  Frame arrives(const ModbusRequest& request, Spoilt what);
  void spoil_bits(Frame& frame);
  std::optional<Flaw> judge(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received) const;
  Answer give_up(Flaw flaw, Instant until);

  rig::Plant& plant_;
  BusId bus_;
  Framing framing_;
  MovedClock& clock_;
  SteadyRandom random_;
  bool connected_{false};
  std::uint16_t transaction_{0};
  Frame received_, before_;  // `before_`: the last whole answer, which may come once more.
  std::optional<rig::Bytes> truly_said_;
};

}  // namespace standfast::test
