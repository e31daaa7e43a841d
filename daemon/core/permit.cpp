#include "daemon/core/permit.hpp"

#include <algorithm>

namespace standfast {

std::string_view permit_name(PermitKind kind) {
  switch (kind) {
    case PermitKind::none: return "none";
    case PermitKind::raise: return "raise";
    case PermitKind::top_up: return "top-up";
    case PermitKind::lower: return "lower";
    case PermitKind::recover: return "recover";
    case PermitKind::commission: return "commission";
  }
  return "none";
}

std::optional<PermitKind> permit_kind(std::string_view name) {
  for (const PermitKind kind : {PermitKind::raise, PermitKind::top_up, PermitKind::lower, PermitKind::recover, PermitKind::commission})
    if (permit_name(kind) == name) return kind;
  return std::nullopt;
}

bool belongs_to(PermitKind permit, StageKind kind, StageState state) {
  const bool raising_kind = kind == StageKind::snug || kind == StageKind::raise;
  switch (permit) {
    case PermitKind::none: return false;
    case PermitKind::raise: return raising_kind && state == StageState::running;
    case PermitKind::top_up: return raising_kind && state == StageState::observation;
    case PermitKind::commission: return kind == StageKind::commission && state == StageState::running;
    case PermitKind::recover: return state != StageState::planned;  // Also between two stages.
    case PermitKind::lower: return false;  // Its stage kinds are not in this version.
  }
  return false;
}

std::optional<Instant> ends_at(const Permit& permit) {
  if (!permit.given()) return std::nullopt;
  Instant at = permit.risen_at + permit_without_rise;
  if (permit.kind == PermitKind::recover) at = std::min(at, permit.given_at + recover_at_most);
  if (permit.in_band_since) at = std::min(at, *permit.in_band_since + permit_in_band);
  return at;
}

}  // namespace standfast
