#include "tools/rig/grain_store.hpp"

namespace standfast::rig {

// The engineer of the example expects 1480 kN at full transfer. The column really carries 1420 kN; with what the frame
// takes on while the head comes up 0.78 mm, and with what the seals rub, the gauges say about 1475 kN when it lets go.
SiteStatement grain_store() {
  SiteStatement s;
  s.column = {1.42e6, 30e9 * 0.5 * 0.5 / 3.5, 12e9};  // Concrete, 0.5 m square, 3.5 m; footing on rock-like ground.
  s.frame = {50e6, 0};
  s.beam = {210e9, 81e9, 9.0e-4, 9.0e-3};
  s.tower = {3.2, 1.6e-2, 210e9, 12e-6};
  s.ground = {250e6, 2.0e-10, 10, 0};  // 0.08 mm for a decade of time under 400 kN.
  s.bedding = {0.8e-3, 30e3, 0.2, 0};
  s.friction = {0.01, 200e6, 0, 0};
  s.places = {{{-1.35, -0.40}, {1.65, -0.40}, {-1.35, 0.40}, {1.65, 0.40}}};
  s.collar_stiffness = 50e6;
  s.roll_stiffness = 50e6;
  s.piston_area = 95.03e-4;
  s.oil_column = 0.04;
  s.oil_modulus = 1.5e9;
  s.oil_expansion = 7e-4;
  s.sun_on_tower_b = 3;
  return s;
}

}  // namespace standfast::rig
