// The proofs at work: waiting for the drop, then watching the load.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/permits.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

std::optional<Refusal> refusal_to_prove(const State& state, Proof proof);
// Under what it is begun, for whoever plans the day.
std::string_view proof_wants(Proof proof);
void start_proof(State& state, Proof proof, const std::string& by, std::vector<EffectRow>& rows);

// What ends a proof before it has shown anything, other than the drop itself. It has not failed: it is to be done again.
void interrupt_proof(State& state, const std::string& why, std::vector<EffectRow>& rows);

// After every evaluation. A proof that the permit does not drop is a HOLD of its own.
void settle_proof(State& state, std::vector<EffectRow>& rows);

std::optional<Instant> next_of_proof(const State& state);

}  // namespace standfast
