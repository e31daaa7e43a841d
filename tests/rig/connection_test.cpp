// One connection of the rig, whose time the test moves by hand: when it says each byte, and that it says nothing else.
#include <fcntl.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <filesystem>
#include <thread>

#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/connection.hpp"
#include "tools/rig/rtu_stream.hpp"
#include "tools/rig/serial_connection.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

namespace fs = std::filesystem;

std::unique_ptr<Plant> plant_on_three_wires() {
  std::ifstream file{SOURCE_ROOT "/config/examples/grain-store/rig-wires.yaml"};
  auto loaded = load_rig(std::string{std::istreambuf_iterator<char>{file}, {}}, "rig.yaml");
  REQUIRE(loaded.value);
  auto plant = Plant::make(*loaded.value, grain_store(), {});
  REQUIRE(plant);
  return std::move(*plant);
}

class Talk {
 public:
  virtual ~Talk() = default;
  void tell(const std::string& command) {
    INFO(command);
    REQUIRE(plant_->obey(command, "test").starts_with("done: "));
  }
  // Asked at once; when it says something afterwards, one instant for each time.
  std::vector<Duration> ask(const Bytes& request) {
    REQUIRE(::write(other_end_.get(), request.data(), request.size()) == static_cast<ssize_t>(request.size()));
    for (int there = 0; there < static_cast<int>(request.size()); std::this_thread::yield())
      REQUIRE(::ioctl(connection_->in(), FIONREAD, &there) == 0);
    const Instant asked = now_;
    REQUIRE(connection_->receive(*plant_, now_));
    std::vector<Duration> said;
    while (const auto due = connection_->next()) {
      now_ = *due;
      said.push_back(now_ - asked);
      REQUIRE(connection_->look_again(*plant_, now_));
    }
    return said;
  }
  Bytes heard(std::size_t count) {
    Bytes bytes(count);
    for (std::size_t have = 0; have < count;) {
      pollfd one{other_end_.get(), POLLIN, 0};
      REQUIRE(::poll(&one, 1, 60'000) == 1);
      const ssize_t got = ::read(other_end_.get(), bytes.data() + have, count - have);
      REQUIRE(got > 0);
      have += static_cast<std::size_t>(got);
    }
    return bytes;
  }

 protected:
  void connect(std::unique_ptr<Connection> connection, int other_end) {
    connection_ = std::move(connection);
    other_end_ = Descriptor{other_end};
    REQUIRE(other_end >= 0);
  }
  std::unique_ptr<Plant> plant_ = plant_on_three_wires();

 private:
  std::unique_ptr<Connection> connection_;
  Descriptor other_end_;
  Instant now_{seconds(1000).ns};
};

class TcpTalk final : public Talk {
 public:
  TcpTalk() {
    int ends[2];
    REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0, ends) == 0);
    connect(modbus_connection(Descriptor{ends[0]}, BusId{0}), ends[1]);
  }
};

class SerialTalk final : public Talk {
 public:
  SerialTalk() {
    REQUIRE(::mkdtemp(folder_.data()) != nullptr);
    ModbusRtu wire = std::get<ModbusRtu>(plant_->rig().buses[1].wire);
    wire.serial.device = folder_ + "/line";
    auto terminal = PseudoTerminal::open(wire.serial);
    REQUIRE(terminal);
    const int other_end = ::open(wire.serial.device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    character = character_time(wire.serial);
    connect(rtu_connection(std::move(*terminal), BusId{1}, wire), other_end);
  }
  ~SerialTalk() override { fs::remove_all(folder_); }
  Duration character{};

 private:
  std::string folder_ = (fs::temp_directory_path() / "rig-talk-XXXXXX").string();
};

const Bytes echo = rtu_frame({3, {8, 0, 0, 0x12, 0x34}});
const Bytes tcp_request{0, 1, 0, 0, 0, 6, 1, 4, 0, 0, 0, 1};
constexpr std::size_t tcp_answer = 11;

void check_each_after(const std::vector<Duration>& said, Duration pause) {
  for (std::size_t n = 1; n < said.size(); ++n) CHECK(said[n] - said[n - 1] == pause);
}

}  // namespace

TEST_CASE("an answer on a serial line begins behind the request and the silence after it, and each byte takes its time") {
  SerialTalk line;
  const auto said = line.ask(echo);
  REQUIRE(said.size() == echo.size());
  const auto characters = static_cast<std::int64_t>(echo.size());
  CHECK(said.front() == line.character * characters + line.character * 7 / 2 + line.character);
  check_each_after(said, line.character);
  CHECK(line.heard(echo.size()) == echo);
}

TEST_CASE("a wire that drips says one byte after the other, each so long after the one before") {
  SerialTalk line;
  line.tell("wire gauges drips 5 ms");
  const auto said = line.ask(echo);
  CHECK(said.size() == echo.size());
  check_each_after(said, milliseconds(5));
  CHECK(line.heard(echo.size()) == echo);
  TcpTalk wire;
  wire.tell("wire manifold drips 5 ms");
  const auto said_by_tcp = wire.ask(tcp_request);
  CHECK(said_by_tcp.size() == tcp_answer);
  check_each_after(said_by_tcp, milliseconds(5));
  CHECK(wire.heard(tcp_answer).size() == tcp_answer);
}

TEST_CASE("a slow wire says the whole answer so much later") {
  SerialTalk line;
  const auto usual = line.ask(echo);
  line.heard(echo.size());
  line.tell("wire gauges slow 400 ms");
  const auto late = line.ask(echo);
  REQUIRE(late.size() == usual.size());
  for (std::size_t n = 0; n < late.size(); ++n) CHECK(late[n] == usual[n] + milliseconds(400));
  CHECK(line.heard(echo.size()) == echo);
  TcpTalk wire;
  CHECK(wire.ask(tcp_request).empty());  // Answered before anything could be waited for.
  const Bytes answer = wire.heard(tcp_answer);
  wire.tell("wire manifold slow 400 ms");
  CHECK(wire.ask(tcp_request) == std::vector{milliseconds(400)});
  CHECK(wire.heard(tcp_answer) == answer);
}

TEST_CASE("a wire that swallows requests or loses every answer says nothing, and nothing of it comes once it is mended") {
  for (const std::string trouble : {"black hole", "loses 100 %"}) {
    INFO(trouble);
    SerialTalk line;
    line.tell("wire gauges " + trouble);
    CHECK(line.ask(rtu_frame({3, {4, 0, 20, 0, 4}})).empty());
    line.tell("mend gauges");
    CHECK(line.ask(echo).size() == echo.size());
    CHECK(line.heard(echo.size()) == echo);
    TcpTalk wire;
    wire.tell("wire manifold " + trouble);
    CHECK(wire.ask(tcp_request).empty());
    wire.tell("mend manifold");
    Bytes next = tcp_request;
    next[1] = 2;
    CHECK(wire.ask(next).empty());
    CHECK(wire.heard(tcp_answer)[1] == 2);
  }
}
