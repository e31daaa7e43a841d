// Times as people read them: in this machine's zone with its offset, or in UTC where --utc asks for it.
#pragma once

#include <optional>
#include <string>

#include "config/instant.hpp"
#include "tools/standfast/command.hpp"

namespace standfast::client {

class LocalTime {
 public:
  explicit LocalTime(bool utc) : utc_{utc} {}
  explicit LocalTime(const Arguments& arguments) : utc_{arguments.has("utc")} {}

  // From RFC 3339 as the daemon sends it; what is no time comes back as it is.
  std::string clock(const std::string& rfc3339) const;  // 14:32:07
  std::string full(const std::string& rfc3339) const;   // 2027-03-01T14:32:07.125+01:00
  std::string full(WallTime time) const;

  // What people type: RFC 3339, `14:32` or `14:32:07` of today, `-10min`, `-2h`, `-1d`. None: none of these.
  std::optional<WallTime> typed(const std::string& text, WallTime now) const;

 private:
  int offset_minutes(WallTime at) const;
  bool utc_;
};

}  // namespace standfast::client
