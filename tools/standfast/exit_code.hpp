// What the program tells the shell. After the BSD sysexits, so that a script can tell a typing error from a dead daemon.
#pragma once

namespace standfast::client {

enum ExitCode : int {
  done = 0,            // For `status`: a permit is given.
  findings = 1,        // The checked thing has findings, the replay differs, the act was refused by the state of things.
  no_permit = 3,       // 3 to 6: `status` only. The first true of 6, 5, 4 counts.
  on_hold = 4,
  on_stop = 5,
  nothing_to_trust = 6,  // No accepted plan, or no instrument with a number.
  usage = 64,
  bad_input = 65,
  no_input = 66,
  not_reachable = 69,
  internal = 70,
  cannot_create = 73,
  io = 74,
  try_again = 75,
  not_permitted = 77,  // For these persons.
  configuration = 78,
};

}  // namespace standfast::client
