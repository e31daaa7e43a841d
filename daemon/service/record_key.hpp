// The station's key: signs the record's checkpoints. Its secret half stays in record.key, 64 letters of hex in the station's own
// folder, and goes nowhere else. Made at the first start; a key that was lost is made anew, and the rows show another one.
#pragma once

#include <memory>
#include <string>

#include "config/result.hpp"
#include "daemon/record/signature.hpp"

namespace standfast {

using RecordKey = Result<std::shared_ptr<const record::Signer>, std::string>;

// The error says why there is none. That stops nobody: the record is then written without checkpoints.
RecordKey record_key(const std::string& station);

}  // namespace standfast
