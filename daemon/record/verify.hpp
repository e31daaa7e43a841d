// Recomputes every seal of a record and says where it was first touched. Reads only.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "config/result.hpp"

namespace standfast::record {

class Database;

struct NotedHead {     // As a person wrote it down: the number of the batch and letters of its head, blanks as they like.
  std::int64_t batch{0};
  std::string letters;
};

// What a person wrote down. Of a key, the first half at least: a shorter beginning can be found by trying.
struct Noted {
  std::vector<NotedHead> heads;
  std::vector<std::string> keys;  // Given any: every checkpoint is by one of them, and there is one.
};

struct Verification {
  std::int64_t batches{0};   // Checked and found right, from the first one on.
  std::int64_t rows{0};      // In them.
  std::string head;          // 32 bytes, of the newest seal.
  std::int64_t signed_batches{0};  // Up to here the seals stand under a genuine signature. What is behind is sealed alone.
  std::vector<std::string> keys;   // Public keys of the checkpoints, lower-case hex, in the order of their first use.
  std::optional<std::int64_t> first_bad_batch;
  std::string why;           // "batch 12 (seq 100 to 120): seq 104 is missing"; empty where all is right.
  bool proved() const { return why.empty(); }
};

// Finds edit, deletion, insertion, reorder and changed tables, triggers or views; with noted heads also a cut-off end, an
// older copy in its place, and a record written anew; with a noted key whatever was changed before the newest checkpoint, seals
// and all. A key that nobody noted proves nothing: anybody can make one. The error: it cannot be read at all.
Result<Verification, std::string> verify(const std::filesystem::path& record, const Noted& noted = {});

// The same for the newest batches alone, on an open database; the head before them is taken as it stands. As many as hold
// `rows_at_most`, and the newest of all however large it is.
Result<Verification, std::string> verify_newest(Database& database, std::int64_t rows_at_most);

// SHA-256 of the text of all tables, views and triggers, as `about` keeps it.
Result<std::string, std::string> schema_sha256(Database& database);

// Why the tables, views and triggers are not to be trusted: they are not the ones that `about` states. Empty where they are.
std::string schema_fault(Database& database);

}  // namespace standfast::record
