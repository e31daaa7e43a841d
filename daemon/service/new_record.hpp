// Beginning anew beside a record that is not trusted: a person's act, done while no daemon runs on the job.
//
// The old file is set aside under another name, unchanged. The new record begins with a gap that names it, its SHA-256 and
// why it is not trusted; with no plan in force; and with every alarm open that the old one calls latched.
#pragma once

#include <string>

#include "config/result.hpp"
#include "daemon/service/job_folder.hpp"
#include "daemon/service/people.hpp"

namespace standfast {

// Where anybody is on the station's list, `by` must be on it too. Recorded as not verified, like the names of every act.
struct BeginAnew {
  std::string by, reason;
  People people{};
};

// A sentence that says what was done. The error says why nothing was: above all, that the record is sound.
Result<std::string, std::string> begin_new_record(const JobFolder& folder, const BeginAnew& anew);

// What a person can do about it; stands behind "record not trusted: ...".
inline constexpr char how_to_begin_anew[] =
    " (it stays as it is; to begin a new one beside it: end the daemon, then standfastd --begin-new-record, see its --help)";

}  // namespace standfast
