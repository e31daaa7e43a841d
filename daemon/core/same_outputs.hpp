// Whether what the proofs of the outputs have shown of one rig holds of another, too.
#pragma once

#include "config/rig.hpp"

namespace standfast {

// The output module as it is stated, its wire, the inputs, the jacks by their names and rams, and
// which circuit feeds which. Of channels only the names: an instrument that was swapped has nothing to do with the outputs.
bool same_outputs(const Rig& one, const Rig& other);

}  // namespace standfast
