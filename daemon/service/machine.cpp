#include "daemon/service/machine.hpp"

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

void tell_ready() { ::sd_notify(0, "READY=1"); }
void tell_status(const std::string& line) { ::sd_notify(0, ("STATUS=" + line).c_str()); }
void feed_watchdog() { ::sd_notify(0, "WATCHDOG=1"); }
void tell_stopping() { ::sd_notify(0, "STOPPING=1"); }

}  // namespace standfast
