// From the JSON of a request to an act of a person, and from the engine's answer back to JSON.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "config/finding.hpp"
#include "daemon/service/asked.hpp"
#include "daemon/service/people.hpp"
#include "daemon/service/server.hpp"

namespace standfast {

struct ActRequest {
  Action action;
  std::string hint;  // Added to a refusal: why a name did not count.
};

inline constexpr std::size_t object_most = 200, value_most = 2000, reason_most = 300;

// Who is on the list; may have to wait for a disk.
using PeopleSource = std::function<Result<People, std::string>()>;

// Names are looked up among `people`. An unknown one goes on without any authority, so that the refusal is recorded too.
// Whoever gives no name is never looked up. Acts that make safe do not come this way (safe_act.hpp). `fixed`: the act the
// path names; none: the body names it.
Result<ActRequest, std::string> act_request(const Request& request, const PeopleSource& people, std::optional<Act> fixed);

Reply reply_of(const Answered& answered, const std::string& hint);
Reply reply_of(const Findings& findings);
Reply problem(int status, const std::string& code, const std::string& text);

}  // namespace standfast
