#include <catch2/catch.hpp>
#include <mutex>
#include <thread>

#include "daemon/service/caretaker.hpp"
#include "daemon/service/file_lock.hpp"
#include "daemon/service/job_folder.hpp"
#include "daemon/service/whole_file.hpp"
#include "daemon/service/worker.hpp"
#include "tests/service/folder.hpp"
#include "tests/service/hand_clock.hpp"

using namespace standfast;

namespace {

struct JobOnDisk {  // The grain store in a folder of its own.
  JobOnDisk() {
    for (const char* name : {"rig.yaml", "stages.yaml"}) {
      const auto bytes = read_whole_file(std::string(SOURCE_ROOT) + "/config/examples/grain-store/" + name, 1 << 20);
      REQUIRE(bytes);
      REQUIRE(replace_file(folder.path() + "/" + name, *bytes));
    }
  }
  Folder folder;
  JobFolder job{folder.path()};
};

std::optional<News> news_in(Inbox& inbox) {
  const auto taken = inbox.take();
  if (!taken) return std::nullopt;
  return std::get<News>(taken->what);
}

}  // namespace

TEST_CASE("SHA-256 of a file is that of the standard") {
  // FIPS 180-4, example of the one-block message "abc".
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST_CASE("files that are in force are not said to differ, changed and missing ones are") {
  const JobOnDisk at;
  const auto revision = at.job.read();
  REQUIRE(revision);
  const Job& job = *revision->job;
  CHECK_FALSE(at.job.compare(job.rig_sha256, job.plan_sha256).plan_differs);
  REQUIRE(replace_file(at.job.plan_path(), revision->bytes.plan + "# a remark\n"));
  CHECK(at.job.compare(job.rig_sha256, job.plan_sha256).plan_differs);
  CHECK_FALSE(at.job.compare(job.rig_sha256, job.plan_sha256).rig_differs);
  REQUIRE(std::filesystem::remove(at.job.rig_path()));
  CHECK(at.job.compare(job.rig_sha256, job.plan_sha256).rig_differs);
}

TEST_CASE("a file that cannot be read is a finding, a folder and an endless file too") {
  const JobOnDisk at;
  REQUIRE(std::filesystem::remove(at.job.plan_path()));
  REQUIRE(at.job.read().error().size() == 1);
  CHECK(at.job.read().error().front().file == "stages.yaml");
  CHECK(at.job.read().error().front().code == "E-file-unreadable");
  std::filesystem::create_directory(at.job.plan_path());
  CHECK_FALSE(at.job.read());
  CHECK_FALSE(read_whole_file("/dev/zero", 1000));
}

// Day numbers since 1970-01-01: 2027-03-01 is 20878, by `date -d 2027-03-01 +%s` / 86400.
TEST_CASE("a certificate is told of from the day after it was due") {
  const JobOnDisk at;
  const auto bytes = at.job.read_bytes();
  REQUIRE(bytes);
  std::string rig = bytes->rig;
  const std::string due = "number: P-102, due: 2099-12-31";
  rig.replace(rig.find(due), due.size(), "number: P-102, due: 2027-03-01");
  const auto examined = examine({rig, bytes->plan});
  REQUIRE(examined.job);
  constexpr std::int64_t day_ns = hours(24).ns;
  CHECK(overdue_certificates(examined.job->rig, {20'879 * day_ns - 1}).empty());
  const Findings told = overdue_certificates(examined.job->rig, {20'879 * day_ns});
  REQUIRE(told.size() == 1);
  CHECK(told.front().code == "W-certificate");
  CHECK(told.front().severity == Severity::warning);
  CHECK(told.front().message == "certificate P-102 of channel P2 was due on 2027-03-01");
  CHECK(told.front().line == examined.job->rig.channels[1].place.line);
}

TEST_CASE("a revision is named by both files") {
  const JobOnDisk at;
  const auto before = at.job.read();
  REQUIRE(before);
  REQUIRE(replace_file(at.job.rig_path(), before->bytes.rig + "# a remark\n"));
  const auto after = at.job.read();
  REQUIRE(after);
  CHECK(before->name().size() == 12);
  CHECK(before->name() != after->name());
}

TEST_CASE("a lock that is held is refused to everybody else, and free again when its holder is gone") {
  const Folder folder;
  const std::string path = folder.path() + "/lock";
  {
    const auto held = FileLock::take(path);
    REQUIRE(held);
    const auto second = FileLock::take(path);
    REQUIRE_FALSE(second);
    CHECK(second.error().find("another") != std::string::npos);
  }
  CHECK(FileLock::take(path));
  CHECK_FALSE(FileLock::take(folder.path() + "/missing/lock"));
}

TEST_CASE("a wall clock that is set is an event, one that drifts is none", "[fault-42]") {
  HandClock clock;
  Inbox inbox;
  Caretaker caretaker{{clock, [&] { return clock.wall(); }, inbox}};
  caretaker.look({});
  for (int i = 0; i < 10; ++i) {
    clock.pass(seconds(1));
    clock.step_wall(milliseconds(100));
    caretaker.look({});
  }
  CHECK_FALSE(inbox.take());
  clock.step_wall(hours(-1));
  caretaker.look({});
  const auto news = news_in(inbox);
  REQUIRE(news);
  CHECK(std::get<ClockStep>(*news).by == hours(-1));
}

TEST_CASE("a file on disk that is not in force is said once, and once more when it is in force again") {
  const JobOnDisk at;
  const auto revision = at.job.read();
  REQUIRE(revision);
  Inbox inbox;
  FileWatch files{inbox, at.job};
  Service::Standing standing;
  standing.job = true;
  standing.rig_sha256 = revision->job->rig_sha256;
  standing.plan_sha256 = revision->job->plan_sha256;
  const auto look = [&] {
    files.look(standing);
    const auto news = news_in(inbox);
    return news ? std::optional{std::get<FilesOnDisk>(*news).plan_differs} : std::nullopt;
  };
  CHECK(look() == false);
  CHECK(look() == std::nullopt);
  REQUIRE(replace_file(at.job.plan_path(), revision->bytes.plan + "# a remark\n"));
  CHECK(look() == true);
  CHECK(look() == std::nullopt);
  REQUIRE(replace_file(at.job.plan_path(), revision->bytes.plan));
  CHECK(look() == false);
}

TEST_CASE("a worker does one thing after the other, and says no when too much waits") {
  std::mutex gate;
  gate.lock();
  int done = 0, taken = 0;
  {
    Worker worker;
    while (worker.run([&] {
      const std::lock_guard pass{gate};
      ++done;
    }))
      ++taken;
    CHECK(taken >= 16);
    CHECK(taken <= 17);
    gate.unlock();
    const auto one_is_done = [&] {
      const std::lock_guard pass{gate};
      return done >= 1;
    };
    while (!one_is_done()) std::this_thread::yield();
  }
  CHECK(done >= 1);
}

TEST_CASE("the watchdog is fed only while every thread gets on") {
  HandClock clock;
  Inbox inbox;
  Caretaker caretaker{{clock, [&] { return clock.wall(); }, inbox}};
  Service::Standing standing;
  const auto fed = [&](std::vector<std::int64_t> progress) {
    standing.progress = std::move(progress);
    return caretaker.look(standing);
  };
  CHECK(fed({1, 1, 1}));
  CHECK(fed({2, 2, 2}));
  CHECK_FALSE(fed({3, 2, 3}));
  CHECK_FALSE(fed({9, 2, 9}));
  CHECK(fed({10, 3, 10}));
  CHECK(fed({1, 1}));  // New wires.
}
