// Why an act cannot be done now: a stable code for programs, a sentence for the person.
#pragma once

#include <string>

namespace standfast {

struct Refusal { std::string code, text; };

}  // namespace standfast
