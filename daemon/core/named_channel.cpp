#include "daemon/core/named_channel.hpp"

#include <algorithm>

#include "config/nearest_word.hpp"
#include "daemon/core/state.hpp"

namespace standfast {

Result<std::size_t, Refusal> channel_named(const State& state, const std::string& name) {
  if (!state.job) return Failure{Refusal{"no-plan", state.no_job}};
  std::vector<std::string_view> names;
  for (const Channel& channel : state.job->rig.channels) names.push_back(channel.name);
  const auto found = std::find(names.begin(), names.end(), name);
  if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
  const std::string near{nearest_word(name, names)};
  return Failure{Refusal{"unknown-channel", "no channel '" + name + "' in the rig" +
                                                (near.empty() ? "" : "; did you mean '" + near + "'?")}};
}

bool acts_as_one_of(const Action& action, const std::string& one, const std::string& other) {
  return action.person.name == one || action.person.name == other;
}

}  // namespace standfast
