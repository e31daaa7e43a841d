// standfast-rig: the simulated site of the grain store on its wires, for demonstrations and tests. It moves nothing and
// watches nothing; what it says is marked as simulated.
#include <CLI/CLI.hpp>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <optional>
#include <string>

#include "config/finding_text.hpp"
#include "config/load_rig.hpp"
#include "tools/rig/grain_store.hpp"
#include "tools/rig/rig_server.hpp"
#include "tools/rig/script.hpp"

namespace {

using namespace standfast;
using namespace standfast::rig;

struct Wishes {
  std::string rig{"config/examples/grain-store/rig.yaml"}, script;
  std::uint64_t seed{1};
  double speed{1};
  ServerOptions server;
};

int complain(const std::string& sentence) {
  std::fprintf(stderr, "standfast-rig: %s\n", sentence.c_str());
  return 2;
}

std::optional<std::string> bytes_of(const std::string& path) {
  std::ifstream file{path, std::ios::binary};
  if (!file) return std::nullopt;
  return std::string{std::istreambuf_iterator<char>{file}, {}};
}

void print_ports(RigServer& server, const Rig& rig) {
  std::printf("simulated: %s\n", rig.title.c_str());
  for (const auto& port : server.ports()) {
    const auto& wire = std::get<ModbusTcp>(rig.buses[port.bus.at()].wire);
    std::printf("bus %s: %s:%u\n", rig.buses[port.bus.at()].name.c_str(), wire.host.c_str(), unsigned{port.number});
  }
  for (const auto& device : server.devices()) {
    std::printf("bus %s: %s\n", rig.buses[device.bus.at()].name.c_str(), device.path.c_str());
  }
  std::fflush(stdout);
}

// Until somebody ends the program.
int serve(const Rig& rig, std::unique_ptr<Plant> plant, const ServerOptions& options) {
  sigset_t ends;
  sigemptyset(&ends);
  sigaddset(&ends, SIGTERM);
  sigaddset(&ends, SIGINT);
  pthread_sigmask(SIG_BLOCK, &ends, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  auto server = RigServer::start(std::move(plant), options);
  if (!server) return complain(server.error());
  print_ports(**server, rig);
  int which = 0;
  sigwait(&ends, &which);
  return 0;
}

int run(const Wishes& wishes) {
  const auto bytes = bytes_of(wishes.rig);
  if (!bytes) return complain(wishes.rig + ": cannot be read");
  const auto loaded = load_rig(*bytes, wishes.rig);
  if (!loaded.value) return complain(findings_text(loaded.findings, *bytes, wishes.rig, "nothing was loaded"));
  PlantOptions options{wishes.seed, wishes.speed, {}};
  if (!wishes.script.empty()) {
    const auto text = bytes_of(wishes.script);
    if (!text) return complain(wishes.script + ": cannot be read");
    auto script = read_script(*text);
    if (!script) return complain(wishes.script + ": " + script.error());
    options.script = std::move(*script);
  }
  auto plant = Plant::make(*loaded.value, grain_store(), options);
  if (!plant) return complain(wishes.rig + ": " + plant.error());
  return serve(*loaded.value, std::move(*plant), wishes.server);
}

}  // namespace

int main(int argc, char** argv) {
  Wishes wishes;
  CLI::App app{"The simulated rig of the grain store on its wires. For demonstrations and tests only."};
  app.add_option("--rig", wishes.rig, "rig.yaml whose instruments are simulated")->capture_default_str();
  app.add_option("--port", wishes.server.port, "port of the first TCP bus instead of the one stated; 0: any that is free");
  app.add_option("--seed", wishes.seed, "chance: the same seed gives the same noise")->capture_default_str();
  app.add_option("--speed", wishes.speed, "how much faster than real time the site runs; outputs keep real time")
      ->check(CLI::Range(0.1, 100.0))->capture_default_str();
  app.add_option("--script", wishes.script, "file of lines 'at 12 s: gauge G1 stuck'");
  app.add_option("--control", wishes.server.control, "Unix socket for commands, one a line; -: standard input. `help` lists them");
  app.add_option("--log", wishes.server.log, "file for every change of the outputs, as JSON lines");
  CLI11_PARSE(app, argc, argv);
  return run(wishes);
}
