// Boost.JSON 1.81 reads one double in eight a last digit off; what a person compares with the record must be what was sent.
#pragma once

#include <boost/json.hpp>
#include <string_view>

namespace standfast::client {

// As boost::json::parse, every double as std::from_chars reads it. `error` as there; the value is null where it is set.
boost::json::value exact_json(std::string_view text, boost::json::error_code& error);

}  // namespace standfast::client
