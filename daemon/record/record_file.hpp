// The record's file: one SQLite file per job. Creates it whole or not at all, and looks before it trusts.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "config/instant.hpp"
#include "config/result.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::record {

// What the record says of itself. A newer row of it may be appended later; once simulated, the record stays so.
struct About {
  bool simulated{false};
  std::string job, software, host;
  WallTime created;
};

enum class RefusalKind : std::uint8_t {
  foreign,      // Another program's file, or not a regular file (a directory, a symbolic link): exit, nothing written.
  other_version,  // Made by another version, an older one too: exit, nothing written.
  not_writable, // The folder or the file: exit, nothing written.
  not_trusted,  // Zero length, corrupt, a WAL without its file, a broken chain: serve with HOLD, the file stays as it is.
};
struct OpenRefusal {
  RefusalKind kind{};
  std::string text;  // For a person: "record.db is a symbolic link".
};

// The end of the record: from where a writer goes on.
struct Tail {
  std::int64_t seq{0};       // Newest row.
  std::int64_t batch{0};     // Newest seal.
  std::string head;          // Its 32 bytes.
  std::int64_t span{0};      // Newest start of the daemon; 0: none yet.
  std::int64_t revision{0};  // Newest pair of rig and plan; 0: none yet.
  WallTime wall;             // Of the newest row that has one.
  bool simulated{false};     // Any row of `about` says so.
  std::string schema_sha256; // As the newest row of `about` has it.
};

// Nothing is written. None: there is no record yet, and its folder takes one.
enum class Found : std::uint8_t { nothing, a_record };
Result<Found, OpenRefusal> look_at(const std::filesystem::path& record);

// Makes the record with its first row and seal under another name and then gives it its own: it is there whole, or not.
std::optional<OpenRefusal> create(const std::filesystem::path& record, const About& about);

// What is said of a record with that number of its layout, which is not `schema_version`.
std::string of_other_version(std::int64_t version);

Row row_of(const About& about, const std::string& schema_sha256);

// A record that is not trusted is set aside under a name of its own, with its -wal; it is never changed or deleted.
struct SetAside { std::filesystem::path path; std::string sha256, log_sha256; };  // The log's is empty where there is none.
Result<SetAside, std::string> set_aside(const std::filesystem::path& record);

}  // namespace standfast::record
