#include "tools/rig/pseudo_terminal.hpp"

#include <fcntl.h>
#include <poll.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <utility>

namespace standfast::rig {
namespace {

namespace fs = std::filesystem;

std::string trouble(const std::string& where) { return where + ": " + std::strerror(errno); }

constexpr std::array<std::pair<int, speed_t>, 8> speeds{{{1200, B1200}, {2400, B2400}, {4800, B4800}, {9600, B9600},
                                                         {19200, B19200}, {38400, B38400}, {57600, B57600},
                                                         {115200, B115200}}};
speed_t speed_of(int baud) {
  for (const auto& [number, speed] : speeds) {
    if (number == baud) return speed;
  }
  return B0;
}

std::string read_link(const std::string& path) {
  std::error_code error;
  return fs::read_symlink(path, error).string();
}

std::string make_folder(const fs::path& folder) {
  std::error_code error;
  if (!fs::exists(folder, error)) {
    if (std::string above = make_folder(folder.parent_path()); !above.empty()) return above;
    if (::mkdir(folder.c_str(), 0700) != 0) return trouble(folder.string());
  }
  return {};
}

// Whoever may write in the folder could put another line in the place of this one.
std::string check_folder(const fs::path& folder) {
  struct stat there {};
  if (::lstat(folder.c_str(), &there) != 0) return trouble(folder.string());
  if (S_ISDIR(there.st_mode) && there.st_uid == ::geteuid() && (there.st_mode & 022U) == 0) return {};
  return folder.string() + ": not a folder in which its owner alone, who runs the rig, may write";
}

// A link to a pseudo terminal is one of ours, of now or of a rig that died.
std::string put_link(const std::string& path, const std::string& target) {
  struct stat there {};
  if (::lstat(path.c_str(), &there) == 0) {
    if (!S_ISLNK(there.st_mode) || !read_link(path).starts_with("/dev/pts/")) {
      return path + ": something else than a link to a pseudo terminal is there";
    }
    ::unlink(path.c_str());
  }
  return ::symlink(target.c_str(), path.c_str()) == 0 ? std::string{} : trouble(path);
}

}  // namespace

Result<PseudoTerminal, std::string> PseudoTerminal::open(const SerialSettings& serial) {
  const fs::path folder = fs::path{serial.device}.parent_path();
  if (std::string error = make_folder(folder); !error.empty()) return Failure{std::move(error)};
  if (std::string error = check_folder(folder); !error.empty()) return Failure{std::move(error)};
  Descriptor rigs_end{::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC)};
  std::array<char, 64> name{};
  if (rigs_end.get() < 0 || ::grantpt(rigs_end.get()) != 0 || ::unlockpt(rigs_end.get()) != 0 ||
      ::ptsname_r(rigs_end.get(), name.data(), name.size()) != 0) {
    return Failure{trouble("pseudo terminal")};
  }
  ::chmod(name.data(), 0600);
  { const Descriptor other_end{::open(name.data(), O_RDWR | O_NOCTTY | O_CLOEXEC)}; }  // From now on it is told who has it open.
  PseudoTerminal terminal{std::move(rigs_end), name.data(), serial};
  terminal.make_raw();
  if (std::string error = put_link(serial.device, terminal.target_); !error.empty()) return Failure{std::move(error)};
  return terminal;
}

PseudoTerminal::~PseudoTerminal() {
  if (rigs_end_.get() >= 0 && read_link(serial_.device) == target_) ::unlink(serial_.device.c_str());
}

bool PseudoTerminal::is_parted() const {
  pollfd one{rigs_end_.get(), POLLIN, 0};
  return ::poll(&one, 1, 0) > 0 && (one.revents & POLLHUP) != 0;
}

bool PseudoTerminal::speed_differs() const {
  termios set{};
  return ::tcgetattr(rigs_end_.get(), &set) == 0 && ::cfgetospeed(&set) != speed_of(serial_.baud);
}

void PseudoTerminal::make_raw() const {
  termios set{};
  if (::tcgetattr(rigs_end_.get(), &set) != 0) return;
  ::cfmakeraw(&set);
  // As new: a pseudo terminal forgets parity, and the C library calls settings in which nothing else changes a failure. Who
  // was killed on this line has left his behind.
  set.c_iflag = 0;
  set.c_cflag &= ~static_cast<tcflag_t>(CLOCAL);
  ::cfsetspeed(&set, speed_of(serial_.baud));
  ::tcsetattr(rigs_end_.get(), TCSANOW, &set);
}

}  // namespace standfast::rig
