// The commands of the rig, as `help` lists them.
#include "tools/rig/commands.hpp"

namespace standfast::rig {

std::string help_text() {
  return
      "raise J1 J3 to 120 kN [each] [at 2 kN/s]          `pump` means the same\n"
      "raise J1 J3 to 120 kN, J2 J4 to 98 kN             all arrive together; the speed is that of the largest change\n"
      "lower J1 to 80 kN [at 1 kN/s]\n"
      "stop pump\n"
      "gauge G1 stuck | unplugged | knocked +0.8 mm | drifting 0.1 mm/min | noisy 20     any channel by its name\n"
      "gauge P1 shorted | reversed | factor 14.5         a current loop; mounted the wrong way round; set to another unit\n"
      "cross P1 P2                                       two channels on each other's place\n"
      "leak J2 0.5 bar/min\n"
      "hose burst                                        between pump and check valves: nothing arrives, what is there stays\n"
      "coupler J1 half open                              the jack gets its oil late\n"
      "return J1 blocked                                 double-acting: the oil on the rod side cannot leave\n"
      "mend G1 | mend J2 | mend hose | mend raise_permit | mend gauges   takes the fault away\n"
      "head pushed +1.2 mm [over 2 s] | head let go\n"
      "weight -100 kN [over 5 s]\n"
      "base J1 sinks 2 mm [over 5 s]\n"
      "module cable pulled | module cable back | module restarted | module blind | module sees\n"
      "module watchdog 20 | module on-watchdog value 1 | module power-on value 1\n"
      "unit 1 silent | busy | failing | answers          with several buses: unit gauges 1 silent\n"
      "unit 1 another                                    its identity reads otherwise, until it answers\n"
      "wire gauges loses 20 % | spoils 5 % | slow 300 ms | drips 400 ms | late | foreign unit | wrong length | garbage tail\n"
      "            | echoes | black hole | frozen        frozen: registers stay as they are; a bus by its name\n"
      "wire manifold hangs up                            TCP: closes instead of an answer\n"
      "wire gauges pulled | back                         serial: the adapter, and its device with it\n"
      "wire dial says comma | overload | endless | zero | merged | extra     lines of text\n"
      "contact raise_permit welded | open\n"
      "second master writes raise_permit on | off\n"
      "site stop pressed | let go\n"
      "mains off | back\n"
      "state                                             the truth as one line of JSON\n"
      "help                                              this list\n"
      "done: that is all";
}

}  // namespace standfast::rig
