// The rig's end of a serial line: every unit, or the one instrument, that the rig file puts on it. Each byte takes the time
// that the stated speed gives it.
#pragma once

#include "tools/rig/connection.hpp"

namespace standfast::rig {

std::unique_ptr<Connection> rtu_connection(PseudoTerminal terminal, BusId bus, const ModbusRtu& wire);
// `period`: how often a line comes where nobody asks.
std::unique_ptr<Connection> lines_connection(PseudoTerminal terminal, BusId bus, const SerialLines& wire, Duration period);

}  // namespace standfast::rig
