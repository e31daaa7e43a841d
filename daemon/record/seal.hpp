// The seal of a commit: one SHA-256 over the seal before it and everything the commit holds. Who changes, deletes, inserts
// or moves a row, changes every head from there on; who holds an older head, written down or printed, can tell.
//
// The bytes. A value is written
//   NULL as `n`, an INTEGER as `i`, its decimal digits, `;`, a REAL as `r`, its digits as "%.17g" prints them, `;`,
//   a TEXT as `t`, its length in bytes, `:`, its bytes (UTF-8).
// A row is the name of its table as a TEXT value, then all its columns in the order of the table, seq first. A batch is
// the 32 bytes of the head before it (the first: 32 zero bytes), its number, first_seq and last_seq as INTEGER values, then
// its rows by ascending seq, all tables together. The head is the SHA-256 of these bytes.
// The batches are numbered from 1, each begins at the seq behind the one before, and every seq from 1 to the last stands
// exactly once: a missing or doubled number breaks the chain even where no hash is looked at.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "daemon/record/rows.hpp"

namespace standfast::record {

inline constexpr std::size_t head_bytes = 32;

void append_canonical(std::string& bytes, std::int64_t number);
void append_canonical(std::string& bytes, double number);
void append_canonical(std::string& bytes, std::string_view text);
void append_canonical(std::string& bytes, const Value& value);

class Sha256 {
 public:
  Sha256();
  ~Sha256();
  Sha256(const Sha256&) = delete;
  Sha256& operator=(const Sha256&) = delete;
  void add(std::string_view bytes);
  std::string finish();  // 32 bytes; begins anew.

 private:
  struct Context;
  std::unique_ptr<Context> context_;
};

class Sealer {
 public:
  void begin(std::string_view head_before, std::int64_t batch, std::int64_t first_seq, std::int64_t last_seq);
  void add(std::int64_t seq, const Row& row);
  void add_canonical(std::string_view bytes) { hash_.add(bytes); }
  std::string finish() { return hash_.finish(); }

 private:
  Sha256 hash_;
  std::string bytes_;
};

std::string sha256_hex(std::string_view bytes);  // Lower-case hex of the SHA-256 of these bytes.
std::string hex_of(std::string_view bytes);
std::string from_hex(std::string_view letters);  // Of lower-case hex alone; anything else: empty.
// A head for a person to write down: the first half of it as eight groups of four letters, "3fa9 0c11 ...".
std::string head_text(std::string_view head);

}  // namespace standfast::record
