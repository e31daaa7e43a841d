// The permit: a person's word that the pump may run, for a named stage, step and circuits. It ends by itself far more
// easily than it begins, and nothing brings it back but a person.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/stages.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/stage_table.hpp"

namespace standfast {

inline constexpr Duration permit_without_rise = minutes(15);  // Then it ends.
inline constexpr Duration permit_in_band = seconds(5);        // All loads in the step's band for so long: it has done its work.
inline constexpr Duration recover_at_most = minutes(5);

// What a recover permit is bound to, beside its time: `jacks J1,J3 up to 200 kN further 0.2 mm`.
struct RecoverBound {
  std::vector<std::uint16_t> jacks;
  bool up{true};
  double load{0};           // N; of each named jack, not to be passed in the direction given.
  double further{0};        // SI of the tripped quantity: so much beyond where it stood when the permit was given.

  template <class A>
  void visit(A& a) {
    a("jacks", jacks);
    a("up", up);
    a("load", load);
    a("further", further);
  }
};

struct Permit {
  PermitKind kind{PermitKind::none};
  std::string circuits, by, second;
  Instant given_at{};
  double highest_total{0};            // N, since given;
  Instant risen_at{};                 // when it was last passed.
  std::optional<Instant> in_band_since;
  double pressure_limit{0};           // Pa; commission.
  RecoverBound recover{};
  std::vector<std::string> tripped;   // recover: the subjects of the limits that were tripped when it was given,
  std::vector<double> tripped_at;     // and where their quantities stood (SI).

  bool given() const { return kind != PermitKind::none; }
  bool upward() const { return given() && kind != PermitKind::lower && !(kind == PermitKind::recover && !recover.up); }
  bool downward() const { return given() && !upward(); }

  template <class A>
  void visit(A& a) {
    a("kind", kind);
    a("circuits", circuits);
    a("by", by);
    a("second", second);
    a("given_at", given_at);
    a("highest_total", highest_total);
    a("risen_at", risen_at);
    a("in_band_since", in_band_since);
    a("pressure_limit", pressure_limit);
    a("recover", recover);
    a("tripped", tripped);
    a("tripped_at", tripped_at);
  }
};

std::string_view permit_name(PermitKind kind);
std::optional<PermitKind> permit_kind(std::string_view name);

// May this permit be given in a stage of this kind, in this state?
bool belongs_to(PermitKind permit, StageKind kind, StageState state);

// When time alone ends it.
std::optional<Instant> ends_at(const Permit& permit);

}  // namespace standfast
