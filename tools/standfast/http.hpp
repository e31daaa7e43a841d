// One request to the daemon's socket and its answer. Blocking, with a deadline; a new connection each time.
#pragma once

#include <string>

#include "config/result.hpp"

namespace standfast::client {

struct HttpAnswer {
  int status{0};
  std::string body;
};

// The error is a sentence: what could not be reached, and what to do.
Result<HttpAnswer, std::string> get(const std::string& socket, const std::string& path);
Result<HttpAnswer, std::string> post(const std::string& socket, const std::string& path, const std::string& json);

}  // namespace standfast::client
