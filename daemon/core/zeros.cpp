#include "daemon/core/zeros.hpp"

#include <utility>

#include "config/result.hpp"
#include "daemon/core/criteria.hpp"
#include "daemon/core/named_channel.hpp"
#include "daemon/core/state.hpp"

namespace standfast {
namespace {

Refusal refused(std::string code, std::string text) { return {std::move(code), std::move(text)}; }

// The place of a travel gauge by its name, fit to be zeroed now.
Result<std::size_t, Refusal> gauge(const State& state, const std::string& name) {
  auto place = channel_named(state, name);
  if (!place) return place;
  if (state.job->rig.channels[*place].dimension != Dimension{Base::length, Per::none})
    return Failure{refused("no-travel-gauge", "only a travel gauge can be zeroed")};
  if (state.values.channels[*place].reading.quality != Quality::good)
    return Failure{refused("reading-not-good", name + " has no good reading to zero at")};
  return place;
}

std::string offset_text(const std::optional<double>& offset) {
  return offset ? value_text({.quality = Quality::good, .value = {{Base::length, Per::none}, *offset}}) : std::string("none");
}

}  // namespace

std::optional<Refusal> propose_zero(State& state, const Action& action, std::vector<EffectRow>& rows) {
  const auto place = gauge(state, action.object);
  if (!place) return place.error();
  Zero& zero = state.zeros[*place];
  zero.proposed_by = action.person.name;
  zero.proposed_second = action.second.name;
  ++state.picture;
  rows.emplace_back(Notice{"zero-proposed", action.object + " by " + zero.proposed_by + " and " + zero.proposed_second});
  return std::nullopt;
}

std::optional<Refusal> approve_zero(State& state, const Action& action, std::vector<EffectRow>& rows) {
  const auto place = gauge(state, action.object);
  if (!place) return place.error();
  Zero& zero = state.zeros[*place];
  if (zero.proposed_by.empty()) return refused("not-proposed", "no zero of " + action.object + " has been proposed");
  if (acts_as_one_of(action, zero.proposed_by, zero.proposed_second))
    return refused("same-person", "who proposed a zero does not approve it");
  const std::optional<double> before = std::exchange(zero.offset, state.values.channels[*place].reading.value.si);
  zero.taken_at = state.now;
  ++state.picture;
  rows.emplace_back(Notice{"zero", action.object + ": offset from " + offset_text(before) + " to " +
                                       offset_text(zero.offset) + ", proposed by " + zero.proposed_by + " and " +
                                       zero.proposed_second + ", approved by " + action.person.name +
                                       (action.reason.empty() ? "" : ": " + action.reason)});
  zero.proposed_by.clear();
  zero.proposed_second.clear();
  return std::nullopt;
}

}  // namespace standfast
