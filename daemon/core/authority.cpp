#include "daemon/core/authority.hpp"

namespace standfast {
namespace {

int rank(Role role) {
  switch (role) {
    case Role::technician: return 1;
    case Role::supervisor: return 2;
    case Role::engineer: return 3;
    case Role::auditor: case Role::surveyor: return 0;  // They read; they decide nothing on the pump.
  }
  return 0;
}

bool named(const PersonClaim& person) { return !person.name.empty(); }
bool at_least(const PersonClaim& person, Role least) { return named(person) && rank(person.role) >= rank(least); }

bool fulfils(const Requirement& requirement, const PersonClaim& one, const PersonClaim& other) {
  if (!at_least(one, requirement.least)) return false;
  if (!requirement.two) return true;
  return named(other) && (!requirement.second_least || at_least(other, *requirement.second_least));
}

std::string wanted_text(const Requirement& requirement) {
  if (rank(requirement.least) == 0 && !requirement.two) return "needs a person by name";
  const std::string_view least = role_name(requirement.least);
  std::string text = std::string(least.starts_with('e') || least.starts_with('a') ? "needs an " : "needs a ") + std::string(least);
  if (requirement.two)
    text += " and a second person" +
            (requirement.second_least ? " (" + std::string(role_name(*requirement.second_least)) + ")" : std::string());
  return text;
}

std::string who_it_is(const PersonClaim& person) {
  if (!named(person)) return {};
  const std::string role{role_name(person.role)};
  return "; " + person.name + " is " + (role.starts_with('e') || role.starts_with('a') ? "an " : "a ") + role;
}

}  // namespace

std::string_view role_name(Role role) {
  switch (role) {
    case Role::technician: return "technician";
    case Role::supervisor: return "supervisor";
    case Role::engineer: return "engineer";
    case Role::auditor: return "auditor";
    case Role::surveyor: return "surveyor";
  }
  return "";
}

Requirement to_permit(PermitKind kind) {
  switch (kind) {
    case PermitKind::none: case PermitKind::raise: case PermitKind::top_up: return {.least = Role::supervisor};
    case PermitKind::lower: return {.least = Role::supervisor, .two = true, .second_least = Role::engineer};
    case PermitKind::commission: return {.least = Role::supervisor, .two = true, .second_least = Role::technician};
    case PermitKind::recover: return {.least = Role::supervisor, .two = true};
  }
  return {.least = Role::engineer, .two = true};
}

Requirement to_reset(const Alarm& alarm, bool calm_again, bool stop_stands) {
  const bool called_alone = alarm.cause == Cause::called_stop && !stop_stands;
  if (alarm.level == Level::stop) return {.least = called_alone ? Role::supervisor : Role::engineer, .two = true};
  if (alarm.cause == Cause::restarting) return {.least = Role::engineer, .two = true};
  if (alarm.channel >= 0 && calm_again) return {.least = Role::technician};
  return {.least = alarm.reset_by_engineer ? Role::engineer : Role::supervisor};
}

Requirement to_act(Act act) {
  switch (act) {
    case Act::accept_uncertain: return {.least = Role::engineer};
    case Act::adopt: return {.least = Role::engineer, .two = true};
    case Act::stage_skip: return {.least = Role::engineer, .two = true};
    case Act::stage_enter: case Act::stage_abandon: return {.least = Role::supervisor};
    case Act::zero_approve: case Act::swap_approve: return {.least = Role::engineer};
    case Act::enter_note: case Act::enter_reading: return {.least = Role::surveyor};  // Anybody on site who gives a name.
    case Act::zero_propose: case Act::swap_begin: return {.least = Role::technician, .two = true, .second_least = Role::supervisor};
    case Act::stop: case Act::acknowledge: case Act::silence: case Act::permit_end:
    case Act::reset: case Act::permit_give: case Act::stage_approve:
    case Act::stage_propose: case Act::prove_start: case Act::prove_end: case Act::offer:
    case Act::swap_prove: case Act::swap_abandon: case Act::shift_end: return {.least = Role::technician};
  }
  return {.least = Role::engineer, .two = true};
}

std::optional<std::string> missing(const Requirement& requirement, const Action& action) {
  if (named(action.second) && action.second.name == action.person.name) return "the two persons must differ";
  if (fulfils(requirement, action.person, action.second)) return std::nullopt;
  if (requirement.two && fulfils(requirement, action.second, action.person)) return std::nullopt;
  const std::string who = at_least(action.person, requirement.least) ? std::string() : who_it_is(action.person);
  return wanted_text(requirement) + who;
}

std::optional<Refusal> without_authority(const Requirement& requirement, const Action& action) {
  const auto text = missing(requirement, action);
  return text ? std::optional(Refusal{"not-permitted", *text}) : std::nullopt;
}

}  // namespace standfast
