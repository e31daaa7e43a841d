// What the service does with its wires: a bus that hangs, a stage that polls otherwise, a module that is not what the rig
// says, files on disk that are not in force.
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <chrono>
#include <map>

#include "daemon/service/caretaker.hpp"
#include "daemon/service/whole_file.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

namespace {

constexpr int patience = 60'000;  // So often 1 ms: only a guard against waiting for ever.

void wait_until(const std::function<bool()>& is_so) {
  for (int i = 0; !is_so(); ++i) {
    REQUIRE(i < patience);
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
}

// Counts what each block is asked, and hangs on one bus while told to.
class Askings {
 public:
  void hang(const std::string& bus) {
    const std::lock_guard lock{mutex_};
    hangs_ = bus;
    hanging_ = false;
    changed_.notify_all();
  }
  int count(const std::string& bus) {
    const std::lock_guard lock{mutex_};
    return counts_[bus];
  }
  bool hanging() {
    const std::lock_guard lock{mutex_};
    return hanging_;
  }
  void asked(const std::string& bus) {
    std::unique_lock lock{mutex_};
    ++counts_[bus];
    hanging_ = hanging_ || hangs_ == bus;
    changed_.wait(lock, [&] { return hangs_ != bus; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  std::map<std::string, int> counts_;
  std::string hangs_;
  bool hanging_{false};
};

// So that nothing waits for ever for a bus that hangs.
struct LetGo {
  Askings& askings;
  ~LetGo() { askings.hang(""); }
};

// A bus on which everything stands still.
class QuietDriver final : public Driver {
 public:
  QuietDriver(std::string bus, std::shared_ptr<const Job> job, Askings& asked, const Clock& clock)
      : bus_{std::move(bus)}, job_{std::move(job)}, asked_{asked}, clock_{clock} {}
  Scan ask(BlockId id, const Block&, Instant) override {
    asked_.asked(bus_);
    return quiet_scan(*job_, id, clock_.now());
  }

 private:
  std::string bus_;
  std::shared_ptr<const Job> job_;
  Askings& asked_;
  const Clock& clock_;
};

std::string with(std::string text, const std::string& find, const std::string& put) {
  const auto at = text.find(find);
  REQUIRE(at != std::string::npos);
  return text.replace(at, find.size(), put);
}

void change(const std::string& file, const std::string& find, const std::string& put) {
  const auto text = read_whole_file(file, 1 << 20);
  REQUIRE(text);
  REQUIRE(replace_file(file, with(*text, find, put)));
}

std::shared_ptr<const Job> job_in(const Folder& folder) {
  const auto revision = JobFolder{folder.path()}.read();
  REQUIRE(revision);
  return revision->job;
}

// The grain store with its gauges on a bus of their own.
std::string on_two_buses(const Folder& folder) {
  const std::string path = grain_store_in(folder);
  change(path + "/rig.yaml", "\nchannels:", "  gauges: {modbus_tcp: {host: 127.0.0.1, port: 1503}, timeout: 200 ms}\n\nchannels:");
  for (const char* gauge : {"G1: {bus: ", "G2: {bus: "})
    change(path + "/rig.yaml", gauge + std::string("manifold"), gauge + std::string("gauges"));
  return path;
}

}  // namespace

TEST_CASE("a bus that hangs delays neither another bus nor the outputs", "[fault-2][fault-5]") {
  const Folder folder;
  on_two_buses(folder);
  const auto job = job_in(folder);
  REQUIRE(job->rig.buses.size() == 2);
  HandClock clock;
  Inbox inbox;
  Askings asked;
  FakeOutputs outputs{clock};
  const WireMakers makers{[&](const Bus& bus) -> Result<std::unique_ptr<Driver>, std::string> {
                            return std::unique_ptr<Driver>{std::make_unique<QuietDriver>(bus.name, job, asked, clock)};
                          },
                          [&](const OutputModuleStatement&, const Bus&) { return outputs.module(); }};
  for (const auto& pair : {std::pair{"manifold", "gauges"}, std::pair{"gauges", "manifold"}}) {
    const std::string hanging = pair.first, other = pair.second;
    asked.hang(hanging);
    Wires wires{*job, makers, clock, inbox};
    const LetGo let_go{asked};
    INFO(hanging << " hangs");
    wait_until([&] {
      clock.pass(milliseconds(100));
      return asked.hanging();
    });
    const int stuck_at = asked.count(hanging), got_on_from = asked.count(other);
    wait_until([&] {
      clock.pass(milliseconds(100));
      return asked.count(other) >= got_on_from + 10;
    });
    CHECK(asked.count(hanging) - stuck_at <= 1);
    Wanted wanted;
    wanted.image[OutputKind::stop_relay] = true;
    wanted.known_at = clock.now();
    wires.renew(wanted);
    outputs.wait_for_exchange();
    CHECK(outputs.newest()[OutputKind::stop_relay]);
  }
}

TEST_CASE("entering a stage that polls oftener changes the polls of the running wires") {
  const Folder folder;
  const std::string path = on_two_buses(folder);
  // By the rig the gauges are asked every second, as seldom as the plan's rates allow; by the stage every 100 ms.
  for (const char* gauge : {"input_register: 20, as: int16, every: ", "input_register: 22, as: float32, every: "})
    change(path + "/rig.yaml", gauge + std::string("100 ms"), gauge + std::string("1 s"));
  change(path + "/stages.yaml", "kind: commission\n", "kind: commission\n    polls: {\"G*\": 100 ms}\n");
  const auto job = job_in(folder);
  Askings asked;
  const Clock* clock = nullptr;
  Bench bench{path, [&](const Bus& bus) -> Result<std::unique_ptr<Driver>, std::string> {
                return std::unique_ptr<Driver>{std::make_unique<QuietDriver>(bus.name, job, asked, *clock)};
              }};
  clock = &bench.clock;
  bench.commission();
  const int before = asked.count("gauges");
  // Two seconds: the rig's period alone would not have it asked more than three times.
  for (int i = 0; i < 20; ++i) {
    const int so_far = asked.count("manifold");
    bench.run_for(milliseconds(100));
    wait_until([&] { return asked.count("manifold") > so_far; });
  }
  wait_until([&] {
    bench.settle();
    return asked.count("gauges") >= before + 6;
  });
}

TEST_CASE("a rig file on disk that is not in force is REVIEW and says which, and comes into force by nobody's hand but two") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  FileWatch files{bench.inbox, bench.folder};
  bench.run_for(seconds(1));
  files.look(bench.service->standing());
  bench.settle();
  CHECK(bench.picture().find("rig.yaml on disk") == std::string::npos);
  const auto in_force = [&] { return boost::json::parse(bench.picture()).at("job").at("rig_sha256"); };
  const auto before = in_force();
  change(bench.folder.rig_path(), "rig: Grain store", "rig: Corn store");
  files.look(bench.service->standing());
  bench.run_for(milliseconds(100));
  const std::string picture = bench.picture();
  CHECK(picture.find("rig.yaml on disk is not in force") != std::string::npos);
  CHECK(picture.find("stages.yaml on disk") == std::string::npos);
  CHECK(boost::json::parse(picture).at("signal").at("level").as_string() == "review");
  CHECK(in_force() == before);
}

TEST_CASE("a simulated output module on a real rig gets no permit, and holds", "[fault-52]") {
  const Folder folder;
  const std::string path = grain_store_in(folder);
  change(path + "/rig.yaml", "simulated: true\n", "");
  Bench bench{path};
  REQUIRE(bench.adopt().answer.accepted);
  CHECK_FALSE(bench.writer->simulated());
  bench.outputs.wait_for_exchange();
  bench.run_for(seconds(2));
  const auto picture = boost::json::parse(bench.picture());
  CHECK(picture.at("signal").at("level").as_string() == "hold");
  CHECK(bench.picture().find("differ on being simulated") != std::string::npos);
  bench.act(action_of(Act::acknowledge, "all", "", Role::technician));
  Action reset = action_of(Act::reset, "all", "S. Vane", Role::supervisor);
  reset.reason = "looked at every reading";
  CHECK_FALSE(bench.act(reset).answer.accepted);
  bench.act(action_of(Act::stage_enter, "Commission", "S. Vane", Role::supervisor));
  bench.run_for(seconds(1));
  CHECK_FALSE(bench.act(bench.commission_permit()).answer.accepted);
  bench.outputs.wait_for_exchange();
  CHECK_FALSE(bench.outputs.ever(OutputKind::raise_permit));
}
