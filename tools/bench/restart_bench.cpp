// How long the daemon needs after a crash until it answers with its state, at the end of a long record and of a short one,
// and how fast a record is decided again.
//
//   restart_bench FOLDER [SCANS]
//
// The record is made by the engine and the real writer, without wires: one block of 16 registers ten times a second, a
// limit over each; 10,000,000 scans (eleven days, about 2 GB) if nothing else is said. It ends as a crash leaves it, with
// no last snapshot. The short one ends as far behind its last snapshot. Neither is in memory when the daemon starts.
#include <fcntl.h>
#include <unistd.h>

#include <random>
#include <thread>

#include "daemon/core/engine.hpp"
#include "daemon/core/state.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/record/record_writer.hpp"
#include "daemon/service/journal.hpp"
#include "daemon/service/machine.hpp"
#include "daemon/service/replay.hpp"
#include "drivers/boot_clock.hpp"
#include "tools/bench/daemon.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/job_text.hpp"

namespace {

using namespace standfast;
using namespace standfast::bench;
using std::filesystem::path;

constexpr int starts = 3;
constexpr std::size_t channels = 16;
constexpr Duration poll = milliseconds(100);
constexpr std::int64_t in_a_snapshot = 6000, most_in_flight = 100'000;  // Scans between two snapshots; rows ahead of the disk.

double seconds_since(Instant begin) { return (BootClock{}.now() - begin).seconds(); }

// The engine and its journal, as the service ties them together.
class Recording {
 public:
  Recording(record::RecordWriter& writer, std::int64_t scans)
      : journal_{{&writer, {}, {}}, {1, 0, host_name()}}, wall_{wall_time_now()} {
    at_ = Instant{} + hours(1);
    wall_.ns -= (poll * scans + minutes(2)).ns;
  }

  void tell(decltype(Event::what) what) {
    const Event event = now(std::move(what));
    const Effects effects = engine_.apply(event);
    if (journal_.write(event, effects, [this] { return engine_.snapshot(); }) == lost_row) give_up("no room for rows");
    while (journal_.last_seq() - journal_.durable_seq() > most_in_flight) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  void begin(const Revision& revision) {
    tell(Started{"an earlier boot", "bench", true});
    journal_.mark_simulated(*revision.job, now(Tick{}));
    journal_.write_revision(revision, now(Tick{}));
    tell(JobInForce{revision.job});
    tell(Action{.what = Act::stage_enter, .object = "Commission", .person = {"E. Quill", Role::engineer}, .seen = engine_.state().picture});
  }
  void scan() {
    at_ = at_ + poll;
    wall_.ns += poll.ns;
    Words words(channels);
    for (auto& word : words) word = static_cast<std::uint16_t>(8'000 + draw_() % 100);
    tell(Scan{BlockId{0}, at_, std::move(words), Flaw::none});
  }

 private:
  Event now(decltype(Event::what) what) const { return {at_, wall_, std::move(what)}; }

  Journal journal_;
  Engine engine_;
  Instant at_;
  WallTime wall_;
  std::mt19937 draw_{1};
};

void make_record(const path& job_folder, std::int64_t scans) {
  const JobFolder folder{job_folder.string()};
  const auto revision = folder.read();
  if (!revision) give_up(revision.error().front().message);
  record::About about{.simulated = true, .job = folder.path(), .software = "bench", .host = host_name(), .created = wall_time_now()};
  auto writer = record::RecordWriter::open(folder.record_path(), about);
  if (!writer) give_up(writer.error().text);
  const Instant begin = BootClock{}.now();
  Recording recording{**writer, scans};
  recording.begin(*revision);
  for (std::int64_t i = 0; i < scans; ++i) recording.scan();
  if (!(*writer)->close()) give_up("the record could not be closed");
  const double took = seconds_since(begin);
  std::printf("made a record of %lld scans in %.0f s (engine and writer together %.0f scans/s): %.1f MB\n", static_cast<long long>(scans),
              took, static_cast<double>(scans) / took, static_cast<double>(std::filesystem::file_size(folder.record_path())) * 1e-6);
  std::fflush(stdout);
}

// On the disk, and nowhere else.
void forget(const path& file) {
  const int opened = ::open(file.c_str(), O_RDONLY | O_CLOEXEC);
  ::fsync(opened);
  ::posix_fadvise(opened, 0, 0, POSIX_FADV_DONTNEED);
  ::close(opened);
}

// The median of the starts, in milliseconds. The record is put back as the crash left it before each.
double restart(const path& folder) {
  const path record = folder / "job/record.db", kept = folder / "record.kept";
  std::filesystem::rename(record, kept);
  std::vector<double> took_ms, resident_kib, peak_kib;
  for (int i = 0; i < starts; ++i) {
    for (const char* ending : {"", "-wal", "-shm"}) std::filesystem::remove(record.string() + ending);
    std::filesystem::copy_file(kept, record);
    forget(record);
    const Instant begin = BootClock{}.now();
    Daemon daemon{folder};
    took_ms.push_back(seconds_since(begin) * 1e3);
    const auto picture = daemon.picture();
    if (!picture.at("job").at("in_force").as_bool() || picture.at("stage").at("name").as_string() != "Commission")
      give_up("the state did not come back");
    resident_kib.push_back(static_cast<double>(daemon.resident_kib()));
    peak_kib.push_back(static_cast<double>(daemon.end().peak_kib));
  }
  std::filesystem::remove(record);
  std::filesystem::rename(kept, record);
  std::printf("  restart until it answers: %s ms; resident then %.0f KiB, at most %.0f KiB\n", spread(took_ms, 0).c_str(),
              median(resident_kib), median(peak_kib));
  std::fflush(stdout);
  return median(took_ms);
}

void decide_again(const path& record) {
  Instant begin = BootClock{}.now();
  auto reader = record::RecordReader::open(record);
  std::int64_t events = 0;
  for (std::int64_t from = 1;;) {
    const auto page = reader->events(from);
    if (!page) give_up(page.error());
    if (page->empty()) break;
    events += static_cast<std::int64_t>(page->size());
    from = page->back().seq + 1;
  }
  const double read_took = seconds_since(begin);
  begin = BootClock{}.now();
  const auto replayed = replay(*reader, ReplayFrom::start);
  if (!replayed) give_up(replayed.error());
  if (replayed->first_difference) give_up("the replay differs at row " + std::to_string(replayed->first_difference->seq));
  const double took = seconds_since(begin);
  std::printf("  replay, the same decisions: %.0f events/s, %.1f s; reading them alone %.0f events/s, so %.2f times as long\n",
              static_cast<double>(replayed->events) / took, took, static_cast<double>(events) / read_took, took / read_took);
  std::fflush(stdout);
}

double measure(const path& folder, std::int64_t scans) {
  Daemon::lay_out(folder, job_text({.channels = channels, .limits = channels}));
  make_record(folder / "job", scans);
  std::printf("  behind the last snapshot: %lld scans\n", static_cast<long long>(scans % in_a_snapshot));
  const double took_ms = restart(folder);
  decide_again(folder / "job/record.db");
  std::filesystem::remove_all(folder);
  return took_ms;
}

}  // namespace

int main(int count, char** words) {
  const std::int64_t scans = count > 2 ? std::atoll(words[2]) : 10'000'000;
  if (count < 2 || count > 3 || scans < in_a_snapshot) give_up("restart_bench FOLDER [SCANS]");
  const double after_few = measure(path{words[1]} / "short", in_a_snapshot + scans % in_a_snapshot);
  const double after_many = measure(path{words[1]} / "long", scans);
  std::printf("a restart takes %.2f times as long after the long record as after the short one\n", after_many / after_few);
  return 0;
}
