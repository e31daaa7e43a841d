// A serial line of pseudo terminals: one end for a test, the other under a path that stays the same when the line is pulled
// and plugged in again, as a link under /dev/serial/by-id does.
#pragma once

#include <string>

namespace standfast {

class PseudoLine {
 public:
  PseudoLine();
  ~PseudoLine();
  PseudoLine(const PseudoLine&) = delete;
  PseudoLine& operator=(const PseudoLine&) = delete;

  const std::string& device() const { return link_; }
  int end() const { return master_; }  // The instrument's; -1 while pulled. Not blocking.
  int device_end() const { return slave_; }  // The device, held open so that its other end lives.
  std::string terminal() const;        // Where the link leads.
  void pull();
  void plug_in();                      // Another terminal under the same link.

 private:
  std::string folder_, link_;
  int master_{-1}, slave_{-1};
};

}  // namespace standfast
