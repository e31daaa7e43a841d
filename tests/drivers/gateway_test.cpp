// Gateways whose serial side is one answer late, behind a TCP connection that is in order.
#include "drivers/modbus_gateway.hpp"

#include <catch2/catch.hpp>

#include <map>
#include <utility>

#include "drivers/modbus_identity.hpp"

using namespace standfast;

namespace {

// One unit with a word at some registers. From its first time-out on the gateway hands out the answer before.
struct LateGateway final : ModbusConnection {
  std::map<int, std::uint16_t> holds{{0, 111}, {100, 222}};
  bool late{false}, reached{true};
  std::vector<std::uint8_t> kept, said;
  int asked{0};

  bool connect(Instant) override { return true; }
  bool connected() const override { return true; }
  void close() override {}
  Answer ask(const ModbusRequest& request, Instant) override {
    ++asked;
    if (!reached) return {Flaw::exception_gateway, {}};
    const auto pdu = request.pdu();
    const int start = pdu[1] << 8 | pdu[2], count = pdu[3] << 8 | pdu[4];
    std::vector<std::uint8_t> own{pdu[0], static_cast<std::uint8_t>(2 * count)};
    own.resize(2 + 2 * static_cast<std::size_t>(count));
    own[2] = static_cast<std::uint8_t>(holds[start] >> 8);
    own[3] = static_cast<std::uint8_t>(holds[start]);
    if (late && kept.empty()) {  // It has given up waiting.
      kept = own;
      return {Flaw::exception_gateway, {}};
    }
    said = late ? std::exchange(kept, own) : own;
    const Flaw flaw = judge_whole(pdu, said);
    return flaw == Flaw::none ? Answer{flaw, said} : Answer{flaw, {}};
  }
};

ModbusRequest at(int start) { return read_request({3, Table::input_register, start}, 1); }

struct Bench {
  LateGateway* far;
  ModbusGateway near;
  Bench() : Bench{std::make_unique<LateGateway>()} {}
  explicit Bench(std::unique_ptr<LateGateway> gateway) : far{gateway.get()}, near{std::move(gateway)} {}
};

}  // namespace

TEST_CASE("an answer that a gateway hands out one question late is never a value", "[fault-1]") {
  Bench bench;
  REQUIRE(words_in(bench.near.ask(at(0), {}).pdu).front() == 111);
  bench.far->late = true;
  CHECK(bench.near.ask(at(0), {}).flaw == Flaw::exception_gateway);
  for (int i = 0; i < 20; ++i) {
    const int start = i % 2 ? 0 : 100;
    const auto answer = bench.near.ask(at(start), {});
    CHECK((answer.flaw != Flaw::none || words_in(answer.pdu).front() == bench.far->holds[start]));
  }
  bench.far->late = false;  // It has been switched off and on.
  CHECK(words_in(bench.near.ask(at(100), {}).pdu).front() == 222);
}

TEST_CASE("a unit that refuses by itself has answered, and is asked nothing else first") {
  Bench bench;
  for (int i = 0; i < 3; ++i) REQUIRE(bench.near.ask(at(0), {}).flaw == Flaw::none);
  CHECK(bench.far->asked == 3);
  bench.far->reached = false;
  CHECK(bench.near.ask(at(0), {}).flaw == Flaw::exception_gateway);
  bench.far->reached = true;
  CHECK(bench.near.ask(at(0), {}).flaw == Flaw::none);
  CHECK(bench.far->asked == 6);  // With the proof between.
}

TEST_CASE("a unit that the gateway did not reach has to say anew who it is", "[fault-10]") {
  auto inner = std::make_unique<LateGateway>();
  LateGateway& far = *inner;
  far.holds[200] = 4711;
  ModbusIdentity connection{std::move(inner), {{3, std::nullopt, UnitIdentity{Table::input_register, 200, 4711}}}};
  REQUIRE(connection.ask(at(0), {}).flaw == Flaw::none);
  far.reached = false;
  CHECK(connection.ask(at(0), {}).flaw == Flaw::exception_gateway);
  far.reached = true;
  far.holds = {{0, 900}, {200, 4712}};  // Somebody else's under the same number.
  CHECK(connection.ask(at(0), {}).flaw == Flaw::wrong_instrument);
}
