// The sounder is energised to sound: a dead one looks like a quiet site. So it is sounded at each shift, HOLD's pattern and
// then STOP's, and a person says what was heard. Not heard is a HOLD until a test has been heard.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "daemon/core/refusal.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

inline constexpr std::string_view sounder_test_name = "sounder";
inline constexpr Duration sounder_test_part = seconds(3);  // Of each of the two patterns.

bool has_sounder(const Rig& rig);
inline constexpr std::string_view sounder_test_wants =
    "while nothing else sounds; somebody listens to both patterns, then says what he heard";
std::optional<Refusal> refusal_to_test_sounder(const State& state);
void start_sounder_test(State& state);

// The person's answer: `heard` or `not heard`.
std::optional<Refusal> answer_sounder_test(State& state, const Action& action, std::vector<EffectRow>& rows);

// What the test sounds now; an alarm sounds before it.
Sound sound_of_test(const State& state);
std::optional<Instant> next_of_sounder_test(const State& state);

void add_sounder_condition(const State& state, std::vector<Condition>& conditions);

}  // namespace standfast
