#include "daemon/record/verify.hpp"

#include <algorithm>
#include <utility>

#include <sqlite3.h>

#include "daemon/record/checkpoint.hpp"
#include "daemon/record/database.hpp"
#include "daemon/record/record_file.hpp"
#include "daemon/record/row_walk.hpp"
#include "daemon/record/schema.hpp"
#include "daemon/record/seal.hpp"

namespace standfast::record {
namespace {

struct SealFound {
  std::int64_t batch{0}, first_seq{0}, last_seq{0};
  std::string head;
};

// One batch after the other; `walk` stands before the first row of the first.
class ChainCheck {
 public:
  ChainCheck(RowWalk walk, std::string head_before, std::int64_t batch, std::int64_t seq, std::vector<std::string> noted_keys)
      : walk_{std::move(walk)}, noted_keys_{std::move(noted_keys)}, batch_{batch}, seq_{seq} {
    found_.head = std::move(head_before);
    more_ = walk_.next();
  }

  bool takes(const SealFound& seal) {
    if (seal.batch != batch_) return bad(batch_, "batch " + std::to_string(batch_) + " is missing");
    if (seal.first_seq != seq_ || seal.last_seq < seal.first_seq)
      return bad(seal.batch, name_of_batch(seal) + ": does not begin behind the batch before it");
    sealer_.begin(found_.head, seal.batch, seal.first_seq, seal.last_seq);
    for (; seq_ <= seal.last_seq; ++seq_)
      if (!takes_row(seal)) return false;
    if (sealer_.finish() != seal.head)
      return bad(seal.batch, name_of_batch(seal) + ": its rows or the head before it have been changed");
    if (!takes_checkpoints(seal)) return false;
    ++batch_;
    ++found_.batches;
    found_.rows += seal.last_seq - seal.first_seq + 1;
    found_.head = seal.head;
    return true;
  }
  void ends() {
    if (more_) bad(batch_, "seq " + std::to_string(walk_.seq()) + " stands behind the last seal");
  }
  bool trouble() const { return walk_.trouble(); }
  Verification found() && { return std::move(found_); }

 private:
  bool takes_row(const SealFound& seal) {
    if (!more_ || walk_.seq() > seq_)
      return bad(seal.batch, name_of_batch(seal) + ": seq " + std::to_string(seq_) + " is missing");
    if (walk_.seq() < seq_)
      return bad(seal.batch, name_of_batch(seal) + ": seq " + std::to_string(walk_.seq()) + " stands twice");
    bytes_.clear();
    if (walk_.table() == RecordTable::checkpoint) checkpoints_.push_back(walk_.row());
    append_canonical(bytes_, entry_of(walk_.table()).name);
    const int columns = walk_.statement().columns();
    for (int column = 0; column < columns; ++column) walk_.statement().append_canonical(bytes_, column);
    sealer_.add_canonical(bytes_);
    more_ = walk_.next();
    return true;
  }
  // `found_.head` is still that of the batch before.
  bool takes_checkpoints(const SealFound& seal) {
    for (const Row& row : std::exchange(checkpoints_, {})) {
      const CheckpointFound checkpoint = judge_checkpoint(row, {seal.batch - 1, found_.head});
      if (!checkpoint.why.empty()) return bad(seal.batch, name_of_batch(seal) + ": a checkpoint in it: " + checkpoint.why);
      if (!is_noted(checkpoint.public_key))
        return bad(seal.batch, name_of_batch(seal) + ": a checkpoint in it is by another key: " + checkpoint.public_key);
      if (std::find(found_.keys.begin(), found_.keys.end(), checkpoint.public_key) == found_.keys.end())
        found_.keys.push_back(checkpoint.public_key);
      found_.signed_batches = seal.batch - 1;
    }
    return true;
  }
  bool is_noted(const std::string& key) const {
    return noted_keys_.empty() || std::any_of(noted_keys_.begin(), noted_keys_.end(),
                                              [&](const std::string& letters) { return key.starts_with(letters); });
  }
  static std::string name_of_batch(const SealFound& seal) {
    return "batch " + std::to_string(seal.batch) + " (seq " + std::to_string(seal.first_seq) + " to " +
           std::to_string(seal.last_seq) + ")";
  }
  bool bad(std::int64_t batch, std::string why) {
    found_.first_bad_batch = batch;
    found_.why = std::move(why);
    return false;
  }

  RowWalk walk_;
  std::vector<std::string> noted_keys_;  // None: any.
  std::vector<Row> checkpoints_;         // Of the batch under way.
  Sealer sealer_;
  std::string bytes_;
  std::int64_t batch_, seq_;
  bool more_{false};
  Verification found_;
};

std::string letters_of(std::string_view noted) {
  std::string letters;
  for (const char c : noted)
    if (c != ' ') letters += static_cast<char>(c >= 'A' && c <= 'F' ? c - 'A' + 'a' : c);
  return letters;
}

// Why this noted head does not fit; empty where it does.
std::string against_noted(Database& database, const NotedHead& noted) {
  const std::string name = "noted head of batch " + std::to_string(noted.batch) + ": ";
  const std::string letters = letters_of(noted.letters);
  if (letters.size() < 8) return name + "fewer than eight letters prove nothing";
  const auto head = database.text_of("SELECT lower(hex(head)) FROM seal WHERE batch = " + std::to_string(noted.batch));
  if (!head) return name + "the record ends before it: cut off, or an older copy";
  if (!head->starts_with(letters)) return name + "another head stands there: the record was written anew or set back";
  return {};
}

Result<Verification, std::string> verify_chain(Database& database, std::int64_t from_batch, SealFound before,
                                               std::vector<std::string> noted_keys = {}) {
  auto walk = RowWalk::over(database, all_tables(), before.last_seq + 1, INT64_MAX);
  if (!walk) return Failure{walk.error()};
  Statement seals = database.prepare("SELECT batch, first_seq, last_seq, head FROM seal WHERE batch >= ?1 ORDER BY batch");
  if (!seals) return Failure{database.message()};
  seals.bind(1, from_batch);
  ChainCheck check{std::move(*walk), std::move(before.head), from_batch, before.last_seq + 1,
                   std::move(noted_keys)};
  int code = seals.step();
  bool right = true;
  for (; right && code == SQLITE_ROW; code = seals.step())
    right = check.takes({seals.number(0), seals.number(1), seals.number(2), std::string{seals.text(3)}});
  if (check.trouble() || (right && code != SQLITE_DONE)) return Failure{database.message()};
  if (right) check.ends();
  return std::move(check).found();
}

Result<Verification, std::string> verify_open(Database& database, const Noted& noted) {
  std::vector<std::string> keys;
  for (const std::string& key : noted.keys) keys.push_back(letters_of(key));
  auto found = verify_chain(database, 1, {0, 0, 0, std::string(head_bytes, '\0')}, keys);
  if (!found || !found->proved()) return found;
  if (found->batches == 0) found->why = "there is no seal";
  if (std::string fault = schema_fault(database); !fault.empty()) found->why = std::move(fault);
  if (!keys.empty() && found->keys.empty()) found->why = "no checkpoint by the noted key";
  if (std::any_of(keys.begin(), keys.end(), [](const auto& key) { return key.size() < public_key_bytes; }))
    found->why = "a noted key of fewer than 32 letters proves nothing";
  std::vector<NotedHead> by_batch = noted.heads;
  std::stable_sort(by_batch.begin(), by_batch.end(), [](const auto& a, const auto& b) { return a.batch < b.batch; });
  for (const NotedHead& head : by_batch) {
    std::string why = against_noted(database, head);
    if (why.empty()) continue;
    found->why = std::move(why);
    found->first_bad_batch = std::min(head.batch, found->batches + 1);
    break;
  }
  return found;
}

}  // namespace

Result<Verification, std::string> verify(const std::filesystem::path& record, const Noted& noted) {
  Database database;
  const int code = database.open(record, OpenAs::reader);
  if (code != SQLITE_OK) return Failure{record.string() + ": " + sqlite3_errstr(code)};
  if (database.run("BEGIN") != SQLITE_OK) return Failure{database.message()};
  if (const auto version = database.number_of("PRAGMA user_version"); version && *version != schema_version)
    return Failure{record.filename().string() + " " + of_other_version(*version)};
  auto found = verify_open(database, noted);
  database.run("COMMIT");
  return found;
}

Result<Verification, std::string> verify_newest(Database& database, std::int64_t rows_at_most) {
  const auto newest = database.number_of("SELECT coalesce(max(batch), 0) FROM seal");
  if (!newest) return Failure{newest.error()};
  // No index on seq: a batch holds a row at least, so no more batches than rows are looked at.
  const std::string rows = std::to_string(rows_at_most);
  const auto begin = database.number_of(
      "SELECT coalesce(min(batch), 0) FROM (SELECT batch, first_seq FROM seal ORDER BY batch DESC LIMIT " + rows +
      ") WHERE first_seq > (SELECT last_seq FROM seal ORDER BY batch DESC LIMIT 1) - " + rows);
  if (!begin) return Failure{begin.error()};
  const std::int64_t first = *begin > 0 ? *begin : std::max<std::int64_t>(1, *newest);
  SealFound before{0, 0, 0, std::string(head_bytes, '\0')};
  if (first > 1) {
    Statement seal = database.prepare("SELECT last_seq, head FROM seal WHERE batch = ?1");
    if (!seal) return Failure{database.message()};
    seal.bind(1, first - 1);
    if (seal.step() != SQLITE_ROW) return Failure{"batch " + std::to_string(first - 1) + " is missing"};
    before = {first - 1, 0, seal.number(0), std::string{seal.text(1)}};
    if (before.head.size() != head_bytes) return Failure{std::string{"a head is not of 32 bytes"}};
  }
  return verify_chain(database, first, std::move(before));
}

Result<std::string, std::string> schema_sha256(Database& database) {
  Statement schema = database.prepare(
      "SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' "
      "ORDER BY type, name");
  if (!schema) return Failure{database.message()};
  Sha256 hash;
  int code = schema.step();
  for (; code == SQLITE_ROW; code = schema.step())
    for (int column = 0; column < 3; ++column) {
      hash.add(schema.text(column));
      hash.add("\n");
    }
  if (code != SQLITE_DONE) return Failure{database.message()};
  return hex_of(hash.finish());
}

std::string schema_fault(Database& database) {
  const auto schema = schema_sha256(database);
  const auto stated = database.text_of("SELECT schema_sha256 FROM about ORDER BY seq DESC LIMIT 1");
  if (!schema || !stated) return schema ? stated.error() : schema.error();
  return *schema == *stated ? "" : "a table, view or trigger is not the one that the record was made with";
}

}  // namespace standfast::record
