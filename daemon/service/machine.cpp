#include "daemon/service/machine.hpp"

#include <fcntl.h>
#include <poll.h>
#include <sys/stat.h>
#include <systemd/sd-daemon.h>
#include <unistd.h>

#include "daemon/service/whole_file.hpp"

namespace standfast {

std::string boot_id() {
  const auto text = read_whole_file("/proc/sys/kernel/random/boot_id", 100);
  return text ? text->substr(0, text->find('\n')) : "unknown";
}

std::string host_name() {
  char name[256] = "";
  return ::gethostname(name, sizeof name - 1) == 0 ? name : "unknown";
}

void ready_standard_streams() {
  int opened = 0;
  while (opened >= 0 && opened <= STDERR_FILENO) opened = ::open("/dev/null", O_RDWR);  // The lowest that is free.
  if (opened > STDERR_FILENO) ::close(opened);
  struct stat messages {};
  const bool known = ::fstat(STDERR_FILENO, &messages) == 0;
  if (known && (S_ISFIFO(messages.st_mode) || S_ISSOCK(messages.st_mode)))
    ::fcntl(STDERR_FILENO, F_SETFL, ::fcntl(STDERR_FILENO, F_GETFL) | O_NONBLOCK);
}

void say(const std::string& line) {
  constexpr std::size_t most = 4095;  // With its end it fits into the one page that a writable pipe has room for (pipe(7)).
  const std::string text = line.substr(0, most) + '\n';
  pollfd reader{.fd = STDERR_FILENO, .events = POLLOUT, .revents = 0};
  if (::poll(&reader, 1, 0) != 1 || (reader.revents & POLLOUT) == 0) return;
  [[maybe_unused]] const auto written = ::write(STDERR_FILENO, text.data(), text.size());
}

void tell_ready() { ::sd_notify(0, "READY=1"); }
void tell_status(const std::string& line) { ::sd_notify(0, ("STATUS=" + line).c_str()); }
void feed_watchdog() { ::sd_notify(0, "WATCHDOG=1"); }
void tell_stopping() { ::sd_notify(0, "STOPPING=1"); }

}  // namespace standfast
