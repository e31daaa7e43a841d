// The rig on real wires: Modbus TCP, the control socket, the log, and another program that reads it.
#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>

#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/rig_server.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

std::unique_ptr<RigServer> served(ServerOptions options) {
  options.port = 0;
  auto server = RigServer::start(grain_store_plant(), options);
  REQUIRE(server);
  return std::move(*server);
}

std::unique_ptr<RigServer> standing() {
  ServerOptions options;
  options.time_stands = true;
  return served(options);
}

// A socket that asks and waits; the answer must come, however long the machine takes.
class Peer {
 public:
  explicit Peer(std::uint16_t port) : socket_{::socket(AF_INET, SOCK_STREAM, 0)} {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    connect(&to, sizeof to);
  }
  explicit Peer(const std::string& path) : socket_{::socket(AF_UNIX, SOCK_STREAM, 0)} {
    sockaddr_un to{};
    to.sun_family = AF_UNIX;
    std::strncpy(to.sun_path, path.c_str(), sizeof to.sun_path - 1);
    connect(&to, sizeof to);
  }
  void send(const Bytes& bytes) { REQUIRE(::send(socket_.get(), bytes.data(), bytes.size(), MSG_NOSIGNAL) > 0); }
  Bytes receive(std::size_t count) {
    Bytes bytes(count);
    const auto got = ::recv(socket_.get(), bytes.data(), count, MSG_WAITALL);
    bytes.resize(got < 0 ? 0 : static_cast<std::size_t>(got));
    return bytes;
  }
  std::string say(const std::string& line) {
    send(Bytes(line.begin(), line.end()));
    send({'\n'});
    std::string answer;
    for (Bytes one = receive(1); !one.empty() && one[0] != '\n'; one = receive(1)) answer += static_cast<char>(one[0]);
    return answer;
  }

 private:
  void connect(const void* to, socklen_t size) {
    REQUIRE(::connect(socket_.get(), static_cast<const sockaddr*>(to), size) == 0);
  }
  Descriptor socket_;
};

std::string temporary(const std::string& name) {
  return (std::filesystem::temp_directory_path() / (name + "." + std::to_string(::getpid()))).string();
}

std::string output_of(const std::string& command) {
  std::string text;
  std::FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::array<char, 256> piece{};
  while (std::fgets(piece.data(), piece.size(), pipe) != nullptr) text += piece.data();
  ::pclose(pipe);
  return text;
}

// What mbpoll prints for one address: `[20]: \t123`, the number that follows.
double polled(const std::string& output, int address) {
  const std::string mark = "[" + std::to_string(address) + "]:";
  const auto at = output.find(mark);
  INFO(output);
  REQUIRE(at != std::string::npos);  // Also where mbpoll is not installed: this test does not pass without it.
  return std::stod(output.substr(at + mark.size()));
}

}  // namespace

TEST_CASE("several connections are answered, each with its own transaction") {
  auto server = standing();
  Peer one{server->ports().front().number};
  Peer two{server->ports().front().number};
  one.send({0, 1, 0, 0, 0, 6, 9, 3, 0xfe, 0x4c, 0, 2});
  two.send({0, 2, 0, 0, 0, 6, 9, 3, 0xfe, 0x4c, 0, 2});
  CHECK(two.receive(13) == Bytes{0, 2, 0, 0, 0, 7, 9, 3, 4, 0x53, 0x46, 0x53, 0x49});
  CHECK(one.receive(13) == Bytes{0, 1, 0, 0, 0, 7, 9, 3, 4, 0x53, 0x46, 0x53, 0x49});
}

TEST_CASE("a request may come in pieces") {
  auto server = standing();
  Peer peer{server->ports().front().number};
  peer.send({0, 1, 0, 0});
  peer.send({0, 6, 9, 3, 0xfe, 0x4c, 0});
  peer.send({1});
  CHECK(peer.receive(11) == Bytes{0, 1, 0, 0, 0, 5, 9, 3, 2, 0x53, 0x46});
}

TEST_CASE("a peer that talks nonsense is cut off and the others are not") {
  auto server = standing();
  Peer good{server->ports().front().number};
  Peer bad{server->ports().front().number};
  bad.send({'G', 'E', 'T', ' ', '/', ' ', 'H', 'T', 'T', 'P'});
  CHECK(bad.receive(1).empty());
  good.send({0, 1, 0, 0, 0, 6, 9, 3, 0xfe, 0x4c, 0, 1});
  CHECK(good.receive(11).size() == 11);
}

TEST_CASE("a silent unit leaves its neighbours to answer") {
  auto server = standing();
  server->with_plant([](Plant& plant) { plant.obey("module cable pulled", "test"); });
  Peer peer{server->ports().front().number};
  peer.send({0, 1, 0, 0, 0, 6, 9, 3, 0xfe, 0x4c, 0, 1});
  peer.send({0, 2, 0, 0, 0, 6, 1, 4, 0, 0, 0, 1});
  CHECK(peer.receive(11)[1] == 2);
}

TEST_CASE("Debian's mbpoll reads the rig's registers, floats, coils and inputs") {
  auto server = standing();
  const std::string to = " -m tcp -0 -1 -p " + std::to_string(server->ports().front().number) + " 127.0.0.1";
  std::vector<std::uint16_t> words;
  double metre = 0;
  server->with_plant([&](Plant& plant) {
    Hand hand{plant};
    hand.permit();
    words = *plant.words(BusId{}, 1, Table::input_register, 0, 33);
    const std::uint32_t bits = static_cast<std::uint32_t>(words[22]) << 16 | words[23];
    float value;
    std::memcpy(&value, &bits, sizeof value);
    metre = static_cast<double>(value);
  });
  const std::string inputs = output_of("mbpoll -a 1 -t 3 -r 0 -c 14" + to);
  for (int n = 0; n < 14; ++n) CHECK(polled(inputs, n) == words[static_cast<std::size_t>(n)]);
  CHECK(polled(output_of("mbpoll -B -a 1 -t 3:float -r 22 -c 1" + to), 22) == Approx(metre).epsilon(1e-4));
  const std::string holding = output_of("mbpoll -a 9 -t 4 -r 65100 -c 2" + to);
  CHECK(polled(holding, 65100) == 0x5346);
  CHECK(polled(holding, 65101) == 0x5349);
  const std::string coils = output_of("mbpoll -a 9 -t 0 -r 0 -c 8" + to);
  CHECK(polled(coils, 0) == 1);
  CHECK(polled(coils, 1) == 0);
  CHECK(polled(coils, 2) == 1);
  const std::string readbacks = output_of("mbpoll -a 9 -t 1 -r 16 -c 10" + to);
  CHECK(polled(readbacks, 16) == 1);
  CHECK(polled(readbacks, 17) == 0);
  CHECK(polled(readbacks, 25) == 1);  // The stop button rests at 1.
}

TEST_CASE("Debian's mbpoll writes coils and registers of the output module") {
  auto server = standing();
  const std::string to = " -m tcp -0 -1 -p " + std::to_string(server->ports().front().number) + " 127.0.0.1 ";
  CHECK(output_of("mbpoll -a 9 -t 0 -r 0" + to + "1 0 1 0 0 1 0 1").find("Written 8 references") != std::string::npos);
  CHECK(output_of("mbpoll -a 9 -t 0 -r 3" + to + "1").find("Written 1 references") != std::string::npos);
  CHECK(output_of("mbpoll -a 9 -t 4 -r 40" + to + "30").find("Written 1 references") != std::string::npos);
  CHECK(output_of("mbpoll -a 9 -t 4 -r 41" + to + "5 0").find("Written 2 references") != std::string::npos);
  server->with_plant([](Plant& plant) {
    CHECK(*plant.words(BusId{}, 9, Table::holding_register, 40, 3) == std::vector<std::uint16_t>{30, 5, 0});
    CHECK(*plant.relays()->contact(OutputKind::stop_relay));
  });
}

TEST_CASE("Debian's mbpoll is told which address is not there") {
  auto server = standing();
  const std::string to = " -m tcp -0 -1 -p " + std::to_string(server->ports().front().number) + " 127.0.0.1";
  CHECK(output_of("mbpoll -a 1 -t 3 -r 5000 -c 1" + to).find("Illegal data address") != std::string::npos);
}

TEST_CASE("commands over the socket are answered line by line, and `wait` when the pump stands") {
  ServerOptions options;
  options.control = temporary("rig-control");
  options.log = temporary("rig-log");
  {
    auto server = served(options);
    Peer person{options.control};
    CHECK(person.say("gauge G1 stuck") == "done: G1");
    CHECK(person.say("nothing of the kind").starts_with("refused: "));
    CHECK(person.say("wait") == "done: idle");
    CHECK(person.say("module watchdog 0").starts_with("done: "));  // Nobody beats here, however slow the machine is.
    server->with_plant([](Plant& plant) {
      Hand hand{plant};
      hand.permit();
    });
    CHECK(person.say("raise J1 J2 J3 J4 to 5 kN at 100 kN/s").starts_with("done: "));
    CHECK(person.say("wait") == "done: done");
    CHECK(person.say("state").find("\"pump\":\"done\"") != std::string::npos);
  }
  std::ifstream log{options.log};
  const std::string text{std::istreambuf_iterator<char>{log}, {}};
  CHECK(text.find("\"start\":\"Grain store, column C4\"") != std::string::npos);
  CHECK(text.find("\"output\":\"raise_permit\",\"on\":true,\"by\":\"coil\"") != std::string::npos);
  CHECK(text.find("\"command\":\"gauge G1 stuck\",\"by\":\"control\",\"answer\":\"done: G1\"") != std::string::npos);
  CHECK(text.find("\"pump\":\"done\"") != std::string::npos);
  CHECK_FALSE(std::filesystem::exists(options.control));
  std::filesystem::remove(options.log);
}

TEST_CASE("a port that is taken is said, not waited for") {
  auto first = standing();
  ServerOptions options;
  options.port = first->ports().front().number;
  const auto second = RigServer::start(grain_store_plant(), options);
  REQUIRE_FALSE(second);
  CHECK(second.error().find("Address already in use") != std::string::npos);
}
