#include "tools/bench/daemon.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <fstream>
#include <thread>

#include "daemon/service/people.hpp"
#include "daemon/service/places.hpp"
#include "daemon/service/whole_file.hpp"
#include "tools/bench/figures.hpp"
#include "tools/standfast/http.hpp"

namespace standfast::bench {

namespace json = boost::json;
using std::filesystem::path;

namespace {

constexpr int patience_ms = 600'000, act_patience_ms = 60'000;  // Only guards against waiting for ever.

path program() { return std::filesystem::read_symlink("/proc/self/exe").parent_path() / "../../daemon/standfastd"; }

// It ends with us, however we end: also on the thread that gives up.
pid_t started(const path& folder, const std::string& preload) {
  const std::string name = program().string(), job = (folder / "job").string(), station = (folder / "station").string();
  const int log = ::open((folder / "daemon.log").c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
  const pid_t process = ::fork();
  if (process == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGTERM);
    ::dup2(log, STDOUT_FILENO);
    ::dup2(log, STDERR_FILENO);
    if (!preload.empty()) ::setenv("LD_PRELOAD", preload.c_str(), 1);
    ::execl(name.c_str(), name.c_str(), "--job", job.c_str(), "--station", station.c_str(), nullptr);
    ::_exit(127);
  }
  ::close(log);
  if (process < 0) give_up("cannot start " + name);
  return process;
}

// A line of /proc/PID/status in KiB. Not what `wait4` says: that counts what the starting program held in memory as well.
long status_kib(pid_t process, const std::string& key) {
  std::ifstream status{"/proc/" + std::to_string(process) + "/status"};
  for (std::string word; status >> word;)
    if (long kib = 0; word == key && status >> kib) return kib;
  return 0;
}

}  // namespace

void Daemon::lay_out(const path& folder, const JobBytes& job) {
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder / "job");
  std::filesystem::create_directories(folder / "station");
  std::ofstream{folder / "job/rig.yaml"} << job.rig;
  std::ofstream{folder / "job/stages.yaml"} << job.plan;
  auto people = with_added({}, {"E. Quill", Role::engineer, "2026-01-01T00:00:00Z", "root"});
  if (people) people = with_added(std::move(*people), {"S. Wren", Role::supervisor, "2026-01-01T00:00:00Z", "root"});
  if (!people || !write_people((folder / "station").string(), *people)) give_up("cannot write the list of people");
}

Daemon::Daemon(path folder, const std::string& preload)
    : folder_{std::move(folder)}, socket_{socket_path((folder_ / "station").string())}, process_{started(folder_, preload)} {
  for (int waited_ms = 0; !client::get(socket_, "/v1/picture"); ++waited_ms) {
    if (waited_ms > patience_ms || ::waitpid(process_, nullptr, WNOHANG) != 0) give_up("the daemon does not answer; see daemon.log");
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
}

json::object Daemon::picture() const {
  const auto answer = client::get(socket_, "/v1/picture");
  if (!answer || answer->status != 200) give_up("no picture of the daemon");
  return json::parse(answer->body).as_object();
}

std::string Daemon::send(const std::string& path, json::object body) const {
  body["as"] = "E. Quill";
  body["second"] = "S. Wren";
  body["seen"] = picture().at("picture");
  const auto answer = client::post(socket_, path, json::serialize(body));
  if (!answer) give_up(answer.error());
  const json::object said = json::parse(answer->body).as_object();
  if (!said.contains("code")) give_up(path + ": " + answer->body);
  return std::string{said.at("code").as_string()};
}

std::string Daemon::act(const Deed& deed) const {
  json::object body{{"act", deed.act}};
  if (!deed.object.empty()) body["object"] = deed.object;
  if (!deed.reason.empty()) body["reason"] = deed.reason;
  return send("/v1/act", std::move(body));
}

void Daemon::until_done(const Deed& deed) const {
  std::string code;
  for (int waited_ms = 0; waited_ms < act_patience_ms; waited_ms += 5, std::this_thread::sleep_for(std::chrono::milliseconds(5)))
    if ((code = act(deed)) == "done") return;
  give_up(deed.act + ": " + code);
}

void Daemon::adopt() const {
  const auto files = JobFolder{(folder_ / "job").string()}.read();
  if (!files) give_up(files.error().front().file + ": " + files.error().front().message);
  for (const char* act : {"/v1/offer", "/v1/adopt"})
    if (const std::string code = send(act, {{"value", files->name()}}); code != "done") give_up(std::string(act) + ": " + code);
}

double Daemon::cpu_seconds() const {
  clockid_t clock{};
  timespec time{};
  if (::clock_getcpuclockid(process_, &clock) != 0 || ::clock_gettime(clock, &time) != 0) give_up("no processor time of the daemon");
  return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

long Daemon::resident_kib() const { return status_kib(process_, "VmRSS:"); }

Used Daemon::end() {
  if (process_ < 0) return used_;
  const long peak_kib = status_kib(process_, "VmHWM:");
  ::kill(process_, SIGTERM);
  rusage usage{};
  ::wait4(process_, nullptr, 0, &usage);
  process_ = -1;
  const auto seconds = [](const timeval& time) { return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec); };
  return used_ = {seconds(usage.ru_utime) + seconds(usage.ru_stime), peak_kib};
}

}  // namespace standfast::bench
