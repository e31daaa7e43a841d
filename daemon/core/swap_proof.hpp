// What proves that an instrument which was swapped in is the one at its channel, goes the right way and is of the right
// size: a gauge by a feeler that is put under it and drawn again, anything else by what a dial gauge beside it shows.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/poll_plan.hpp"
#include "daemon/core/effect.hpp"
#include "daemon/core/refusal.hpp"
#include "daemon/core/segment.hpp"

namespace standfast {

struct State;

// Movement and travel have no zero of their own: a new instrument is joined to the old one. All else is absolute.
bool is_joined(const Channel& channel);

// +1, or -1 where the channel's number falls while its point goes up.
double upwards(const State& state, std::size_t place);

// The swap of this channel is under way. `text`: the feeler's thickness, as in `1.00 mm`, or what the dial shows.
std::optional<Refusal> start_feeler(State& state, std::size_t place, const std::string& text, const std::string& by);
std::optional<Refusal> prove_by_dial(State& state, std::size_t place, const std::string& text, const std::string& by,
                                     std::vector<EffectRow>& rows);

// After an answer of this block: has a feeler gone in, come out, or shown that something is wrong?
void watch_feelers(State& state, const Block& block, std::vector<EffectRow>& rows);

// Whatever feeler test runs ends without a result.
void interrupt_feelers(State& state, const std::string& why, std::vector<EffectRow>& rows);

// How far the good twins have gone since the channel last stood undoubted; none where there is no such twin.
std::optional<Unseen> seen_by_twins(const State& state, std::size_t place);

// `1.000 mm`, in the channel's own unit; with `signed_too` a plus as well.
std::string words_of(const Channel& channel, double si, bool signed_too = false);

}  // namespace standfast
