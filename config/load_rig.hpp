// rig.yaml to a Rig. Pure: from bytes, no file is opened.
#pragma once

#include <string_view>

#include "config/loaded.hpp"
#include "config/rig.hpp"

namespace standfast {

Loaded<Rig> load_rig(std::string_view bytes, std::string_view file_name);

}  // namespace standfast
