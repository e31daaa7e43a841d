// Mends the write-ahead log after a failed sync. The system may then hold its pages for written though they never reached the
// disk, and would not write them at the next sync: what reads well now would be torn after a power cut. Writing every byte
// again makes the pages owed to the disk once more. (Rebello and others, "Can Applications Recover from fsync Failures?",
// USENIX ATC 2020.)
#pragma once

#include <filesystem>
#include <string>

namespace standfast::record {

// The record must not be open for writing. The same bytes are written again, so that a cut in between harms nothing. Empty
// where the whole log is on disk now, or there is none; otherwise why not.
std::string write_log_afresh(const std::filesystem::path& record, const char* vfs);

}  // namespace standfast::record
