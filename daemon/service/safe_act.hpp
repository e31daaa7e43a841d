// The acts that make safe: stop, permit end, acknowledge, silence. They are anybody's and are never refused for their form:
// what is too long is cut, what cannot be shown is spelled out, what cannot be read at all is recorded as it came.
//
// POST /v1/stop is a stop whatever comes with it. POST /v1/act is one of them as soon as its JSON names one, whatever else
// stands in it and of whatever content type it is. From a body that is no JSON, cut off for one, only stop and permit end
// are taken: which alarm, and for how long, may be what is missing.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/service/asked.hpp"
#include "daemon/service/people.hpp"
#include "daemon/service/server.hpp"

namespace standfast {

// What the server must hand over whatever is wrong with it.
bool never_refused(std::string_view method, std::string_view target);

// None: it names no act that makes safe. Names are looked up in `people`; one that is not there acts without a role's
// authority, which none of these acts needs.
std::optional<Action> safe_act(const Request& request, const People& people);

// One line of at most so many bytes of UTF-8: control characters and bytes that are none appear as \xNN, and what is cut
// off, between characters, is marked by dots. Plain words within the bound come back as they are.
std::string plain_words(std::string_view text, std::size_t most);

}  // namespace standfast
