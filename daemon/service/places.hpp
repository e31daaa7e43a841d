// Where things lie on a machine. With --station everything of the station is in that one folder, so that an ordinary user
// can run a job; without it state and socket are where the system keeps them.
#pragma once

#include <string>

namespace standfast {

inline const std::string default_station = "/var/lib/standfast";
inline const std::string default_run_folder = "/run/standfast";

inline std::string socket_path(const std::string& run_folder) { return run_folder + "/standfast.sock"; }

}  // namespace standfast
