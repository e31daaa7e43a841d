// How fast the record becomes durable and how much room it takes, beside a bare SQLite loop on the same disk in the same run.
//   record_bench DIR [SCANS]
// Each figure is the median of five runs with the smallest and the largest behind it; bare loop and record take turns.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <string>
#include <vector>

#include "daemon/record/database.hpp"
#include "daemon/record/export_csv.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/record/record_writer.hpp"
#include "daemon/record/verify.hpp"

using namespace standfast;
using namespace standfast::record;

namespace {

constexpr int runs = 5, channels = 64, single_commits = 2000;
constexpr std::size_t scans_in_a_batch = 1000;

double now() { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); }

void print(const char* what, std::vector<double> figures, const char* unit) {
  std::sort(figures.begin(), figures.end());
  std::printf("| %-58s | %12.6g | %10.6g .. %-10.6g | %s |\n", what, figures[figures.size() / 2], figures.front(),
              figures.back(), unit);
  std::fflush(stdout);
}

double percentile(std::vector<double> figures, double part) {
  std::sort(figures.begin(), figures.end());
  return figures[std::min(figures.size() - 1, static_cast<std::size_t>(part * static_cast<double>(figures.size())))];
}

void must(bool went_well, const char* what) {
  if (went_well) return;
  std::fprintf(stderr, "record_bench: %s failed\n", what);
  std::exit(1);
}

// One block of 64 registers, as 4-20 mA modules answer that count in microampere.
std::shared_ptr<const Job> bench_job() {
  auto job = std::make_shared<Job>();
  Bus bus;
  bus.name = "gauges";
  bus.wire = ModbusTcp{"127.0.0.1", 502};
  job->rig.buses = {bus};
  Block block;
  block.count = channels;
  for (int i = 0; i < channels; ++i) {
    Channel channel;
    channel.name = "C" + std::to_string(i);
    job->rig.channels.push_back(channel);
    block.channels.push_back({ChannelId{static_cast<std::size_t>(i)}, i});
  }
  job->polls.blocks = {block};
  return job;
}

std::vector<Event> make_scans(std::size_t count) {
  std::mt19937 draw{1};
  std::vector<Event> scans;
  Words words(channels);
  for (std::size_t i = 0; i < count; ++i) {
    for (auto& word : words) word = static_cast<std::uint16_t>(4'000 + draw() % 16'000);
    const Instant at{static_cast<std::int64_t>(i) * 1'000'000 + 86'400'000'000'000};
    scans.push_back({at, WallTime{1'700'000'000'000'000'000 + at.ns}, Scan{BlockId{}, at, words, Flaw::none}});
  }
  return scans;
}

double bytes_a_reading(const std::filesystem::path& path, double empty, std::size_t scans) {
  return (static_cast<double>(std::filesystem::file_size(path)) - empty) / static_cast<double>(scans * channels);
}

struct Bench {
  std::filesystem::path folder;
  std::vector<Event> scans;
  std::vector<double> bare_rows, record_rows, ratio, bare_commit, record_commit, burst_bytes, single_bytes, verified, exported,
      replayed, opened;

  std::filesystem::path fresh(const char* name) const {
    for (const char* ending : {"", "-wal", "-shm", ".ballast"}) std::filesystem::remove(folder / (std::string{name} + ending));
    return folder / name;
  }
  void bare();
  // A record with its opening rows in the file itself; `bytes`: its size then.
  std::unique_ptr<RecordWriter> open(const std::filesystem::path& path, double& bytes) const;
  void burst();
  void singles();
  void read_back();
};

// The least that puts the same text on the disk durably: one table, prepared insert, no seal, no trigger, no thread.
class BareLoop {
 public:
  explicit BareLoop(const std::filesystem::path& path) {
    must(database_.open(path, OpenAs::creator) == 0, "open");
    database_.run("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE scan (seq INTEGER PRIMARY KEY, span, "
                  "at_ns, wall_ns, taken_ns, block, raw, flaw)");
    insert_ = database_.prepare("INSERT INTO scan VALUES (?,?,?,?,?,?,?,?)");
  }
  void put(const Row& row) {
    int place = 1;
    insert_.bind(place++, ++seq_);
    for (const Value& value : row.values) insert_.bind(place++, value);
    insert_.step();
    insert_.reset();
  }
  void begin() { database_.run("BEGIN"); }
  void commit() { must(database_.run("COMMIT") == 0, "commit"); }
  void checkpoint_if_due() {
    if (database_.pages_in_log() >= 1000) database_.checkpoint(false);
  }

 private:
  Database database_;
  Statement insert_;
  std::int64_t seq_{0};
};

void Bench::bare() {
  std::vector<Row> rows;
  for (const Event& scan : scans) rows.push_back(row_of(scan, {1, 1, {}}));
  BareLoop many{fresh("bare.db")};
  const double begin = now();
  for (std::size_t i = 0; i < rows.size();) {
    many.begin();
    for (const std::size_t until = std::min(rows.size(), i + scans_in_a_batch); i < until; ++i) many.put(rows[i]);
    many.commit();
    many.checkpoint_if_due();
  }
  bare_rows.push_back(static_cast<double>(rows.size()) / (now() - begin));
  BareLoop each{fresh("bare-single.db")};
  std::vector<double> latencies;
  for (std::size_t i = 0; i < single_commits; ++i) {
    const double at = now();
    each.put(rows[i]);
    latencies.push_back((now() - at) * 1e3);
    each.checkpoint_if_due();
  }
  bare_commit.push_back(percentile(latencies, 0.5));
}

// A scan is committed as soon as the disk is free, and waits for no company.
class AtOnce : public WriterSeam {
 public:
  Duration gathers_for() const override { return {}; }
};

std::unique_ptr<RecordWriter> Bench::open(const std::filesystem::path& path, double& bytes) const {
  const About about{true, "bench", "bench", "bench", {}};
  auto writer = RecordWriter::open(path, about, {}, std::make_shared<AtOnce>());
  must(static_cast<bool>(writer), "open");
  const Where where{1, 1, "bench"};
  std::vector<Row> rows{row_of({{}, {}, Started{"boot", "bench", true}}, where)};
  for (Row& row : rows_of({"rig", "stages"}, *bench_job(), 1, {1, {}, {}})) rows.push_back(std::move(row));
  must((*writer)->append(std::move(rows)).has_value() && (*writer)->close(), "append");
  bytes = static_cast<double>(std::filesystem::file_size(path));
  writer = RecordWriter::open(path, about, {}, std::make_shared<AtOnce>());
  must(static_cast<bool>(writer), "open");
  return std::move(*writer);
}

// As fast as it will take them; making the rows from events is part of it.
void Bench::burst() {
  const auto path = fresh("burst.db");
  double empty = 0;
  const auto writer = open(path, empty);
  const double begin = now();
  for (const Event& scan : scans)
    while (!writer->append({row_of(scan, {1, 1, {}})})) {}  // Full: the disk is the slower one.
  must(writer->close(), "close");
  record_rows.push_back(static_cast<double>(scans.size()) / (now() - begin));
  ratio.push_back(record_rows.back() / bare_rows.back());
  burst_bytes.push_back(bytes_a_reading(path, empty, scans.size()));
}

// Each scan a commit of its own, seal included: what a slow job writes.
void Bench::singles() {
  const auto path = fresh("single.db");
  double empty = 0;
  const auto writer = open(path, empty);
  std::vector<double> latencies;
  for (std::size_t i = 0; i < single_commits; ++i) {
    const double at = now();
    const auto seq = writer->append({row_of(scans[i], {1, 1, {}})});
    while (writer->durable_seq() < *seq) {}
    latencies.push_back((now() - at) * 1e3);
  }
  record_commit.push_back(percentile(latencies, 0.5));
  must(writer->close(), "close");
  single_bytes.push_back(bytes_a_reading(path, empty, single_commits));
}

void Bench::read_back() {
  const auto path = folder / "burst.db";
  double begin = now();
  const auto proved = verify(path);
  must(proved && proved->proved(), "verify");
  verified.push_back(static_cast<double>(scans.size() * channels) / (now() - begin));
  begin = now();
  auto reader = RecordReader::open(path);
  std::size_t events = 0;
  for (std::int64_t from = 1;;) {
    const auto page = reader->events(from);
    if (!page || page->empty()) break;
    events += page->size();
    from = page->back().seq + 1;
  }
  must(events == scans.size() + 1, "events");
  replayed.push_back(static_cast<double>(events) / (now() - begin));
  begin = now();
  must(static_cast<bool>(export_csv(path, folder / "csv", {})), "export");
  exported.push_back(static_cast<double>(scans.size() * channels) / (now() - begin));
  begin = now();
  must(static_cast<bool>(RecordWriter::open(path, {true, "bench", "bench", "bench", {}})), "open");
  opened.push_back((now() - begin) * 1e3);
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) return std::fprintf(stderr, "record_bench DIR [SCANS]\n"), 64;
  Bench bench;
  bench.folder = words[1];
  bench.scans = make_scans(count > 2 ? std::strtoul(words[2], nullptr, 10) : 100'000);
  std::filesystem::create_directories(bench.folder);
  for (int run = 0; run < runs; ++run) {
    bench.bare();
    bench.burst();
    bench.singles();
    bench.read_back();
  }
  std::printf("%zu scans of %d readings\n", bench.scans.size(), channels);
  print("bare SQLite loop, commits of 1000 rows", bench.bare_rows, "rows/s");
  print("record, durable", bench.record_rows, "rows/s");
  print("record over bare loop", bench.ratio, "");
  print("bare loop, a commit for each row, median", bench.bare_commit, "ms");
  print("record, from append to durable, median", bench.record_commit, "ms");
  print("record, many rows a commit", bench.burst_bytes, "bytes a reading");
  print("record, a commit for each scan", bench.single_bytes, "bytes a reading");
  print("verify", bench.verified, "readings/s");
  print("events read for a replay", bench.replayed, "scans/s");
  print("export as CSV", bench.exported, "readings/s");
  print("open an existing record", bench.opened, "ms");
  return 0;
}
