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

// A limit whose alarm stood when a recover permit was given, and how far its quantity may go under it: its bound, or where
// it stood beyond that, and so much further as the persons said. Back it may go as far as it likes.
struct Tripped {
  std::string limit;
  std::optional<Amount> highest, lowest;
  bool unseen{false};       // It had no value; the persons named it and go on without.

  template <class A>
  void visit(A& a) {
    a("limit", limit);
    a("highest", highest);
    a("lowest", lowest);
    a("unseen", unseen);
  }
};

// What a recover permit is bound to, beside its time.
struct RecoverBound {
  std::vector<std::uint16_t> jacks;
  bool up{true};
  double load{0};           // N; of each named jack, not to be passed in the direction given.
  std::vector<Tripped> tripped;
  AlarmNumber known{0};     // The newest alarm when it was given: a STOP of later ends it.

  template <class A>
  void visit(A& a) {
    a("jacks", jacks);
    a("up", up);
    a("load", load);
    a("tripped", tripped);
    a("known", known);
  }
};

struct Permit {
  PermitKind kind{PermitKind::none};
  std::string circuits, by, second;
  Instant given_at{};
  std::uint16_t stage{0}, step{0};    // By place in the plan: it ends with them.
  double highest_total{0};            // N, since given;
  Instant risen_at{};                 // when it was last passed.
  std::optional<Instant> in_band_since;  // In the band, and standing: a top-up that still rises does not stand.
  double pressure_limit{0};           // Pa; commission.
  RecoverBound recover{};

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
    a("stage", stage);
    a("step", step);
    a("highest_total", highest_total);
    a("risen_at", risen_at);
    a("in_band_since", in_band_since);
    a("pressure_limit", pressure_limit);
    a("recover", recover);
  }
};

std::string_view permit_name(PermitKind kind);
std::optional<PermitKind> permit_kind(std::string_view name);

// May this permit be given in a stage of this kind, in this state?
bool belongs_to(PermitKind permit, StageKind kind, StageState state);

// When time alone ends it.
std::optional<Instant> ends_at(const Permit& permit);

}  // namespace standfast
