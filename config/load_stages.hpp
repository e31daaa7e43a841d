// stages.yaml to a Plan, resolved against the rig. Pure: from bytes, no file is opened.
#pragma once

#include <string_view>

#include "config/loaded.hpp"
#include "config/stages.hpp"

namespace standfast {

Loaded<Plan> load_stages(std::string_view bytes, std::string_view file_name, const Rig& rig);

// "movement HEAD since baseline", "rate load J1 over 30 s": what the quantity is called in the file, on the panel and in
// the record.
std::string quantity_name(const QuantityRef& of, const Rig& rig, const Plan& plan);

// `raise`, `lock-off`: as written in the file.
std::string_view stage_kind_word(StageKind kind);

}  // namespace standfast
