// The rig on its serial lines: the link at the stated path, units that answer as on a wire, instruments that speak text, and
// what goes wrong with wires of every kind.
#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <bit>
#include <filesystem>
#include <fstream>
#include <thread>

#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/rig_server.hpp"
#include "tools/rig/rtu_stream.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

namespace fs = std::filesystem;

// The example on three kinds of wire, its lines in a folder of the test's own.
class Served {
 public:
  Served() : folder_{make_folder()} {
    auto server = start();
    REQUIRE(server);
    server_ = std::move(*server);
  }
  ~Served() {
    server_.reset();
    fs::remove_all(folder_);
  }
  Served(const Served&) = delete;

  Result<std::unique_ptr<RigServer>, std::string> start() const {
    std::ifstream file{SOURCE_ROOT "/config/examples/grain-store/rig-wires.yaml"};
    std::string text{std::istreambuf_iterator<char>{file}, {}};
    const std::string there = "/tmp/standfast-grain-store";
    for (auto at = text.find(there); at != std::string::npos; at = text.find(there, at)) text.replace(at, there.size(), folder_);
    auto loaded = load_rig(text, "rig.yaml");
    REQUIRE(loaded.value);
    auto plant = Plant::make(*loaded.value, grain_store(), {});
    REQUIRE(plant);
    ServerOptions options;
    options.port = 0;
    options.time_stands = true;
    return RigServer::start(std::move(*plant), options);
  }
  std::string path(const std::string& name) const { return folder_ + "/" + name; }
  std::uint16_t port() const { return server_->ports().front().number; }
  void tell(const std::string& command) {
    INFO(command);
    REQUIRE(server_->with_plant([&](Plant& plant) { return plant.obey(command, "test"); }).starts_with("done: "));
  }
  std::vector<std::uint16_t> words(int unit, int start, int count) {
    return *server_->with_plant([&](Plant& plant) {
      return plant.words(BusId{unit == 3 ? 1U : 0U}, unit, Table::input_register, start, count);
    });
  }
  std::string line() {
    return server_->with_plant([](Plant& plant) { return plant.line_said(BusId{2}); });
  }
  void end() { server_.reset(); }

 private:
  static std::string make_folder() {
    std::string name = (fs::temp_directory_path() / "rig-lines-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    return name;
  }
  std::string folder_;
  std::unique_ptr<RigServer> server_;
};

// One end of a wire that asks; what must come is waited for however long the machine takes.
class Asker {
 public:
  explicit Asker(const std::string& device, speed_t speed = B38400)
      : wire_{::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK)} {
    termios set{};
    REQUIRE(::tcgetattr(wire_.get(), &set) == 0);
    ::cfmakeraw(&set);
    ::cfsetspeed(&set, speed);
    REQUIRE(::tcsetattr(wire_.get(), TCSANOW, &set) == 0);
  }
  explicit Asker(std::uint16_t port) : wire_{::socket(AF_INET, SOCK_STREAM, 0)} {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    REQUIRE(::connect(wire_.get(), reinterpret_cast<const sockaddr*>(&to), sizeof to) == 0);
  }
  void send(const Bytes& bytes) { REQUIRE(::write(wire_.get(), bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size())); }
  // Fewer where the wire is at its end.
  Bytes receive(std::size_t count) {
    Bytes bytes;
    while (bytes.size() < count) {
      pollfd one{wire_.get(), POLLIN, 0};
      REQUIRE(::poll(&one, 1, 60'000) == 1);
      Bytes piece(count - bytes.size());
      const ssize_t got = ::read(wire_.get(), piece.data(), piece.size());
      if (got <= 0) return bytes;
      bytes.insert(bytes.end(), piece.begin(), piece.begin() + got);
    }
    return bytes;
  }
  bool hears(const Bytes& wanted) {
    for (Bytes heard; heard.size() < 1000;) {
      heard.push_back(receive(1).at(0));
      if (heard.size() >= wanted.size() && std::equal(wanted.rbegin(), wanted.rend(), heard.rbegin())) return true;
    }
    return false;
  }
  Bytes ask(const Bytes& request, std::size_t count) {
    send(request);
    return receive(count);
  }
  std::string ask_line(const std::string& request) {
    send(Bytes(request.begin(), request.end()));
    std::string line;
    while (!line.ends_with('\n')) line += static_cast<char>(receive(1).at(0));
    return line;
  }

 private:
  Descriptor wire_;
};

// Function 4 of unit 3: the two registers of gauge G2 and what stands before them.
const Bytes gauges_pdu{4, 0, 20, 0, 4};
Bytes gauges_answer(Served& served) {
  Bytes pdu{4, 8};
  for (const std::uint16_t word : served.words(3, 20, 4)) {
    pdu.push_back(static_cast<std::uint8_t>(word >> 8));
    pdu.push_back(static_cast<std::uint8_t>(word));
  }
  return pdu;
}
const Bytes echo = rtu_frame({3, {8, 0, 0, 0x12, 0x34}});
const Bytes tcp_request{0, 1, 0, 0, 0, 6, 1, 4, 0, 0, 0, 1};

}  // namespace

TEST_CASE("a unit on a serial line answers with unit, words and checksum") {
  Served served;
  Asker line{served.path("gauges")};
  CHECK(line.ask(rtu_frame({3, gauges_pdu}), 13) == rtu_frame({3, gauges_answer(served)}));
}

TEST_CASE("a unit on a serial line sends back what a line test sends it") {  // MODBUS Application Protocol V1.1b3, 6.8.1
  Served served;
  Asker line{served.path("gauges")};
  CHECK(line.ask(echo, echo.size()) == echo);
}

TEST_CASE("a unit that is not on a serial line is silent, and no gateway speaks for it") {
  Served served;
  Asker line{served.path("gauges")};
  line.send(rtu_frame({7, gauges_pdu}));
  CHECK(line.ask(echo, echo.size()) == echo);
}

TEST_CASE("who opens a serial line at another speed reads nothing of what was said") {
  Served served;
  Asker line{served.path("gauges"), B9600};
  CHECK(line.ask(echo, echo.size()) != echo);
}

TEST_CASE("an instrument that speaks text answers when it is asked, and to nothing else") {
  Served served;
  Asker dial{served.path("dial"), B9600};
  const std::string line = served.line();
  CHECK(line.starts_with("B "));
  CHECK(dial.ask_line("?\r") == line);
  CHECK(dial.ask_line("What?\r") == line);
  CHECK(dial.ask_line("X\r?\r") == line);
  served.tell("wire dial says overload");
  CHECK(dial.ask_line("?\r").starts_with("B OL mm "));  // An answer to the X would come first.
}

TEST_CASE("a serial line's link lies at the stated path while the rig runs, and replaces one of a rig that died") {
  Served served;
  CHECK(fs::read_symlink(served.path("gauges")).string().starts_with("/dev/pts/"));
  served.end();
  CHECK_FALSE(fs::is_symlink(served.path("gauges")));
  fs::create_symlink("/dev/pts/99999", served.path("gauges"));
  const auto again = served.start();
  CHECK(again);
}

TEST_CASE("what lies at a serial line's path and is no such link is left alone, and the rig does not start") {
  Served served;
  served.end();
  std::ofstream{served.path("dial")} << "mine";
  auto refused = served.start();
  REQUIRE_FALSE(refused);
  CHECK(refused.error().find("something else than a link") != std::string::npos);
  CHECK(fs::file_size(served.path("dial")) == 4);
  fs::remove(served.path("dial"));
  fs::permissions(served.path(""), fs::perms::all);
  refused = served.start();
  REQUIRE_FALSE(refused);
  CHECK(refused.error().find("its owner alone") != std::string::npos);
}

TEST_CASE("an adapter that is pulled takes its device with it, and comes back as another under the same path") {
  Served served;
  Asker line{served.path("gauges")};
  CHECK(line.ask(echo, echo.size()) == echo);
  served.tell("wire gauges pulled");
  CHECK(line.receive(1).empty());  // The end of the line, not silence.
  while (fs::is_symlink(served.path("gauges"))) std::this_thread::yield();
  served.tell("wire gauges back");
  while (!fs::is_symlink(served.path("gauges"))) std::this_thread::yield();
  Asker again{served.path("gauges")};
  CHECK(again.ask(echo, echo.size()) == echo);
}

TEST_CASE("a serial wire in trouble answers as it was told") {
  Served served;
  Asker line{served.path("gauges")};
  const Bytes request = rtu_frame({3, gauges_pdu});
  const Bytes good = rtu_frame({3, gauges_answer(served)});
  SECTION("from a foreign unit") {
    served.tell("wire gauges foreign unit");
    CHECK(line.ask(request, 13) == rtu_frame({4, gauges_answer(served)}));
  }
  SECTION("too short") {
    served.tell("wire gauges wrong length");
    Bytes pdu = gauges_answer(served);
    pdu.pop_back();
    CHECK(line.ask(request, 12) == rtu_frame({3, pdu}));
  }
  SECTION("with garbage behind") {
    served.tell("wire gauges garbage tail");
    Bytes longer = good;
    longer.insert(longer.end(), {0xde, 0xad, 0x01});
    CHECK(line.ask(request, 16) == longer);
  }
  SECTION("with an echo before") {
    served.tell("wire gauges echoes");
    Bytes both = request;
    both.insert(both.end(), good.begin(), good.end());
    CHECK(line.ask(request, 21) == both);
  }
  SECTION("late by one") {
    served.tell("wire gauges late");
    line.send(request);
    CHECK(line.ask(echo, 13) == good);
    CHECK(line.ask(request, 8) == echo);
  }
  SECTION("with a bit changed") {
    served.tell("wire gauges spoils 100 %");
    int bits = 0;
    const Bytes said = line.ask(request, 13);
    for (std::size_t n = 0; n < said.size(); ++n) bits += std::popcount(static_cast<unsigned>(said[n] ^ good[n]));
    CHECK(bits == 1);
  }
  served.tell("mend gauges");
  line.send(echo);
  CHECK(line.hears(echo));  // Behind what a late mend let through.
}

TEST_CASE("a share of the answers is lost by chance, the same for the same seed") {
  const auto lost_of_200 = [] {
    TroubledWire wire;
    WireFault fault;
    fault.lost = 0.2;
    Random chance{7};
    int lost = 0;
    for (int n = 0; n < 200; ++n) lost += wire.through(fault, chance, {1}) ? 0 : 1;
    return lost;
  };
  CHECK(lost_of_200() > 25);
  CHECK(lost_of_200() < 55);
  CHECK(lost_of_200() == lost_of_200());
}

TEST_CASE("a TCP wire in trouble answers as it was told") {
  Served served;
  Asker wire{served.port()};
  const Bytes good = wire.ask(tcp_request, 11);
  SECTION("from a foreign unit") {
    served.tell("wire manifold foreign unit");
    Bytes other = good;
    other[6] = 2;
    CHECK(wire.ask(tcp_request, 11) == other);
  }
  SECTION("too short, and its header agrees with that") {
    served.tell("wire manifold wrong length");
    const Bytes said = wire.ask(tcp_request, 10);
    CHECK(said[5] == 4);
    CHECK(said[8] == 2);
  }
  SECTION("late by one") {
    served.tell("wire manifold late");
    wire.send(tcp_request);
    Bytes next = tcp_request;
    next[1] = 2;
    CHECK(wire.ask(next, 11)[1] == 1);
  }
  SECTION("and hangs up") {
    served.tell("wire manifold hangs up");
    CHECK(wire.ask(tcp_request, 1).empty());
    served.tell("mend manifold");
    CHECK(Asker{served.port()}.ask(tcp_request, 11) == good);
    return;
  }
  served.tell("mend manifold");
  CHECK(wire.ask(tcp_request, 11).size() == 11);
}

