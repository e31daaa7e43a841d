#include "daemon/core/notes.hpp"

#include "daemon/core/act_kinds.hpp"
#include "daemon/core/authority.hpp"
#include "daemon/core/by_hand.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

std::optional<Refusal> enter_note(State& state, const Action& action) {
  if (action.object.empty() && action.value.empty()) return Refusal{"empty", "a note needs words"};
  if (auto refusal = refusal_as_note(state, action)) return refusal;
  Requirement requirement = to_act(action.what);
  if (loosens(action.what, action.object)) requirement = {.least = Role::technician, .two = true};
  if (const auto text = missing(requirement, action)) return Refusal{"not-permitted", *text};
  if (!action.object.empty()) state.run.entered.push_back(action.object);
  return std::nullopt;
}

}  // namespace standfast
