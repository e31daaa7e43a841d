// The truth of the simulated site as one line of JSON, for people who drive a demonstration and for tests. Nothing that
// watches the site may read it.
#pragma once

#include <string>

namespace standfast::rig {

class Plant;

// {"t_s":..,"pump":"idle","head_mm":..,"column_kN":..,"total_kN":..,"jacks":[{"name":"J1","shown_kN":..,"kN":..,"bar":..,
// "travel_mm":..}],"outputs":{"raise_permit":true}}: loads true, `shown_kN` what pressure and certificate say.
std::string state_line(const Plant& plant);

}  // namespace standfast::rig
