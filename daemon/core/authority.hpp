// Who may do what. What makes the site calmer (stop, acknowledge, silence, end of a permit) is never refused and is not
// in here; what loosens needs the persons of this table, two of them different where it says two.
#pragma once

#include <optional>
#include <string>

#include "daemon/core/action.hpp"
#include "daemon/core/alarms.hpp"
#include "daemon/core/refusal.hpp"

namespace standfast {

struct Requirement {
  Role least{Role::technician};      // Of one person; an engineer may do a supervisor's act, a supervisor a technician's.
  bool two{false};                   // A second, different person as well,
  std::optional<Role> second_least;  // of at least this role; none: anybody on the list.
};

Requirement to_permit(PermitKind kind);
// `calm_again`: an instrument that has been good for the stated time within three sigma of where it was.
// `stop_stands`: a STOP that nobody called is open as well.
Requirement to_reset(const Alarm& alarm, bool calm_again, bool stop_stands);
Requirement to_act(Act act);

// What is missing, in words; none if the action's persons fulfil the requirement.
std::optional<std::string> missing(const Requirement& requirement, const Action& action);
// The same as a refusal.
std::optional<Refusal> without_authority(const Requirement& requirement, const Action& action);

std::string_view role_name(Role role);

}  // namespace standfast
