#include "tests/service/bench.hpp"

#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstring>

#include "daemon/record/record_reader.hpp"
#include "daemon/service/whole_file.hpp"

namespace standfast {

class FakeOutputModule final : public OutputModule {
 public:
  explicit FakeOutputModule(FakeOutputs& outputs) : outputs_{outputs} {}
  OutputReport exchange(const OutputImage& wanted, Instant) override { return outputs_.exchange(wanted); }

 private:
  FakeOutputs& outputs_;
};

namespace {

constexpr int patience = 20'000;  // So often 1 ms: only a guard against waiting for ever.

void pause() { std::this_thread::sleep_for(std::chrono::milliseconds(1)); }

}  // namespace

std::unique_ptr<OutputModule> FakeOutputs::module() { return std::make_unique<FakeOutputModule>(*this); }

OutputReport FakeOutputs::exchange(const OutputImage& wanted) {
  OutputReport report;
  report.at = clock_.now();
  report.written = wanted;
  for (std::size_t i = 0; i < wanted.on.size(); ++i) report.readback[i] = wanted.on[i];
  report.facts = {milliseconds(500), true, true, true};
  {
    const std::lock_guard lock{mutex_};
    images_.push_back(wanted);
    ++exchanges_;
  }
  written_.notify_all();
  return report;
}

OutputImage FakeOutputs::newest() const {
  const std::lock_guard lock{mutex_};
  return images_.empty() ? OutputImage{} : images_.back();
}

bool FakeOutputs::ever(OutputKind kind) const {
  const std::lock_guard lock{mutex_};
  return std::any_of(images_.begin(), images_.end(), [kind](const OutputImage& image) { return image[kind]; });
}

void FakeOutputs::forget() {
  const std::lock_guard lock{mutex_};
  images_.clear();
}

void FakeOutputs::wait_for_exchange() {
  std::unique_lock lock{mutex_};
  const std::int64_t wanted = exchanges_ + 2;
  written_.wait(lock, [&] { return exchanges_ >= wanted; });
}

std::string grain_store_in(const Folder& folder) {
  const std::string from = std::string(SOURCE_ROOT) + "/config/examples/grain-store/";
  const auto rig = read_whole_file(from + "rig.yaml", 1 << 20),
             plan = read_whole_file(from + "stages-demo.yaml", 1 << 20);
  REQUIRE(rig);
  REQUIRE(plan);
  REQUIRE(replace_file(folder.path() + "/rig.yaml", *rig));
  REQUIRE(replace_file(folder.path() + "/stages.yaml", *plan));
  return folder.path();
}

Action action_of(Act what, const std::string& object, const char* person, Role role) {
  Action action;
  action.what = what;
  action.object = object;
  action.person = {person, role};
  return action;
}

Scan quiet_scan(const Job& job, BlockId id, Instant at) {
  const Block& block = job.polls.blocks[id.at()];
  Scan scan;
  scan.block = id;
  scan.taken_at = at;
  if (block.table == Table::coil || block.table == Table::discrete_input) {
    Bits bits(static_cast<std::size_t>(block.count), 0);
    for (const auto& place : block.inputs)
      bits[static_cast<std::size_t>(place.offset)] = job.rig.inputs[place.input.at()].normally_closed ? 1 : 0;
    scan.raw = bits;
    return scan;
  }
  Words words(static_cast<std::size_t>(block.count), 0);
  for (const auto& place : block.channels) {
    const Channel& channel = job.rig.channels[place.channel.at()];
    const auto at_word = static_cast<std::size_t>(place.offset);
    if (channel.scale.loop) {
      words[at_word] = static_cast<std::uint16_t>(channel.scale.raw_low * 1000 * channel.scale.counts_per_mA);
    } else if (words_of(channel.type) == 1) {
      words[at_word] = static_cast<std::uint16_t>(
          static_cast<std::int16_t>(channel.scale.raw_low * 0.75 + channel.scale.raw_high * 0.25));
    } else {
      words[at_word] = 0;  // Nought as a float.
    }
  }
  scan.raw = words;
  return scan;
}

Bench::Bench(const std::string& path, DriverMaker drivers) : folder{path} {
  auto opened = record::RecordWriter::open(
      folder.record_path(), {false, "Grain store", "test", "host", clock.wall()}, [this] { inbox.wake(); }, disk,
      std::make_shared<const record::Signer>(std::string(record::seed_bytes, 'k')));
  REQUIRE(opened);
  writer = std::move(*opened);
  const record::Tail tail = writer->opened_at();
  record::Where where;
  where.span = tail.span + 1;
  where.revision = tail.revision;
  where.host = "host";
  if (!drivers) drivers = [](const Bus&) { return Failure{std::string("scans are made by hand")}; };
  const WireMakers makers{drivers,
                          [this](const OutputModuleStatement&, const Bus&) { return outputs.module(); }};
  auto reader = record::RecordReader::open(folder.record_path());
  REQUIRE(reader);
  wired_ = tail.revision > 0;
  auto rebuilt = tail.span == 0 ? Rebuilt{Engine{}, nullptr, {}} : rebuild(*reader);
  service = std::make_unique<Service>(Service::Parts{clock, [this] { return clock.wall(); }, inbox, pictures,
                                                     Journal{{writer.get(), {}, [this] { if (before_append) before_append(); }}, where},
                                                     makers, path},
                                      std::move(rebuilt));
  Service::Beginning beginning;
  beginning.started = {"boot-1", "test", tail.span == 0};
  service->start(beginning);
}

Bench::~Bench() { disk->hold(false); }

void Bench::settle() {
  while (service->turn()) {}
}

void Bench::run_for(Duration time) {
  const auto job = folder.read();
  REQUIRE(job);
  for (Duration passed{}; passed < time; passed = passed + milliseconds(50)) {
    clock.pass(milliseconds(50));
    for (std::size_t i = 0; wired_ && i < job->job->polls.blocks.size(); ++i)
      inbox.add_scan(quiet_scan(*job->job, BlockId{i}, clock.now()));
    settle();
  }
}

void Bench::ask(Action action, std::function<void(const Answered&)> answer) {
  if (action.what != Act::stop) action.seen = seen();
  REQUIRE(inbox.add_act({std::move(action), nullptr, std::move(answer)}));
  settle();
}

Answered Bench::act(Action action) {
  std::optional<Answered> answered;
  ask(std::move(action), [&](const Answered& answer) { answered = answer; });
  for (int i = 0; !answered && i < patience; ++i) {
    pause();
    settle();
  }
  REQUIRE(answered);
  return *answered;
}

Answered Bench::adopt() {
  auto revision = folder.read();
  REQUIRE(revision);
  std::optional<Answered> answered;
  Action action = action_of(Act::adopt, {}, "E. Quill", Role::engineer);
  action.second = {"S. Vane", Role::supervisor};
  action.value = revision->name();
  Action offer = action_of(Act::offer, {}, "E. Quill", Role::engineer);
  offer.value = action.value;
  REQUIRE(act(offer).answer.accepted);
  action.seen = seen();
  REQUIRE(inbox.add_act({action, std::make_shared<const Revision>(std::move(*revision)),
                         [&](const Answered& answer) { answered = answer; }}));
  for (int i = 0; !answered && i < patience; ++i) {
    settle();
    pause();
  }
  REQUIRE(answered);
  wired_ = answered->answer.accepted;
  return *answered;
}

void Bench::commission() {
  REQUIRE(adopt().answer.accepted);
  outputs.wait_for_exchange();
  run_for(seconds(2));
  REQUIRE(act(action_of(Act::acknowledge, "all", "", Role::technician)).answer.accepted);
  Action reset = action_of(Act::reset, "all", "S. Vane", Role::supervisor);
  reset.reason = "looked at every reading";
  const Answered answer = act(reset);
  CAPTURE(answer.answer.text);
  REQUIRE(answer.answer.accepted);
  REQUIRE(act(action_of(Act::stage_enter, "Commission", "S. Vane", Role::supervisor)).answer.accepted);
  run_for(seconds(1));
}

Action Bench::commission_permit() const {
  Action permit = action_of(Act::permit_give, "commission", "S. Vane", Role::supervisor);
  permit.second = {"T. Marsh", Role::technician};
  permit.value = "up to 30 bar";
  return permit;
}

std::string Bench::picture() {
  std::string json;
  pictures.ask([&](const Picture& drawn) { json = *drawn; });
  for (int i = 0; json.empty() && i < patience; ++i) {
    clock.pass(milliseconds(1));
    settle();
  }
  REQUIRE_FALSE(json.empty());
  return json;
}

std::int64_t Bench::seen() { return boost::json::parse(picture()).at("picture").to_number<std::int64_t>(); }

void Bench::finish() {
  service->finish();
  REQUIRE(writer->close());
}

}  // namespace standfast
