// An invariant of our own code, checked in release builds too. It never sees data from a wire, a file or a person.
// Ending the process is acceptable here only because every output is energised-to-permit and the heartbeat stops with us.
#pragma once

namespace standfast {

[[noreturn]] void ensure_failed(const char* condition, const char* file, int line) noexcept;

}  // namespace standfast

#define ENSURE(condition) \
  (static_cast<bool>(condition) ? void(0) : ::standfast::ensure_failed(#condition, __FILE__, __LINE__))
