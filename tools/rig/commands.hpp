// What a person may say to the simulated rig, one line at a time; scripts and the control socket use the same words.
//
//   raise J1 J3 to 120 kN [each] [at 2 kN/s]          `pump` means the same; several targets: raise J1 J3 to 120 kN, J2 J4
//   lower J1 to 80 kN [at 1 kN/s]                     to 98 kN. All arrive together; the speed is that of the largest change.
//   stop pump
//   gauge G1 stuck | unplugged | knocked +0.8 mm | drifting 0.1 mm/min | noisy 20     any channel by its name
//   gauge P1 shorted | reversed | factor 14.5         a current loop; mounted the wrong way round; set to another unit
//   cross P1 P2                                       two channels on each other's place
//   leak J2 0.5 bar/min
//   hose burst                                        between pump and check valves: nothing arrives, what is there stays
//   coupler J1 half open                              the jack gets its oil late
//   return J1 blocked                                 double-acting: the oil on the rod side cannot leave
//   mend G1 | mend J2 | mend hose | mend raise_permit | mend gauges   takes the fault away
//   head pushed +1.2 mm [over 2 s] | head let go
//   weight -100 kN [over 5 s]
//   base J1 sinks 2 mm [over 5 s]
//   module cable pulled | module cable back | module restarted | module blind | module sees
//   module watchdog 20 | module on-watchdog value 1 | module power-on value 1
//   unit 1 silent | busy | failing | answers          with several buses: unit gauges 1 silent
//   wire gauges loses 20 % | spoils 5 % | slow 300 ms | drips 400 ms | late | foreign unit | wrong length | garbage tail
//               | echoes | black hole | frozen        frozen: registers stay as they are; a bus by its name
//   wire manifold hangs up                            TCP: closes instead of an answer
//   wire gauges pulled | back                         serial: the adapter, and its device with it
//   wire dial says comma | overload | endless | zero | merged | extra     lines of text
//   contact raise_permit welded | open
//   second master writes raise_permit on | off
//   site stop pressed | let go
//   mains off | back
//   state                                             the truth as one line of JSON
//
// An answer begins with "done:" or "refused:", `state` apart.
#pragma once

#include <string>

namespace standfast::rig {

class Plant;

std::string obey_command(Plant& plant, const std::string& line);

}  // namespace standfast::rig
