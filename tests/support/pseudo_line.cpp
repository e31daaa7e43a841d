#include "tests/support/pseudo_line.hpp"

#include <fcntl.h>
#include <pty.h>
#include <termios.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <stdexcept>

namespace standfast {

PseudoLine::PseudoLine() {
  char folder[] = "/tmp/standfast-line-XXXXXX";
  if (::mkdtemp(folder) == nullptr) throw std::runtime_error("no folder for a line");
  folder_ = folder;
  link_ = folder_ + "/line";
  plug_in();
}

PseudoLine::~PseudoLine() {
  pull();
  std::filesystem::remove_all(folder_);
}

std::string PseudoLine::terminal() const { return std::filesystem::read_symlink(link_); }

void PseudoLine::pull() {
  if (master_ < 0) return;
  std::filesystem::remove(link_);
  ::close(slave_);
  ::close(master_);
  master_ = slave_ = -1;
}

void PseudoLine::plug_in() {
  termios raw{};
  ::cfmakeraw(&raw);
  ::cfsetspeed(&raw, B9600);
  char name[128];
  if (::openpty(&master_, &slave_, name, &raw, nullptr) != 0) throw std::runtime_error("no pseudo terminal");
  ::fcntl(master_, F_SETFD, FD_CLOEXEC);
  ::fcntl(slave_, F_SETFD, FD_CLOEXEC);
  ::fcntl(master_, F_SETFL, O_NONBLOCK);
  std::filesystem::create_symlink(name, link_);
}

}  // namespace standfast
