// Small files read and written whole.
#pragma once

#include <string>

#include "config/result.hpp"

namespace standfast {

bool exists(const std::string& path);

// A regular file of at most `most` bytes. The error is the system's own words.
Result<std::string, std::string> read_whole_file(const std::string& path, std::size_t most);

// Written beside, synced, renamed: after a crash the old or the new file is there, never half of one. Whoever reaches the folder
// may read it (0644, whatever the umask): root writes what the daemon reads as a user of its own.
Result<bool, std::string> replace_file(const std::string& path, const std::string& bytes);

// A secret: a file of our own that nobody else may read (0600), and no link to one. Made whole or not at all, and never over
// another.
Result<std::string, std::string> read_secret_file(const std::string& path, std::size_t most);
Result<bool, std::string> create_secret_file(const std::string& path, const std::string& bytes);

}  // namespace standfast
