// Writes the record: a thread of its own and the only connection that writes and checkpoints.
//
// `append` puts the rows of one event behind the others and returns at once. The thread commits whatever waits, as soon
// as the commit before is done (group commit, back to back); but what only was read waits for company until `gathers_for`
// has passed since the commit before began, unless something else comes: nobody waits for it, and a commit costs more than
// many answers. Rows of one `append` are never split between two commits, and each commit carries its seal. A row is durable
// when `durable_seq` has reached it, never before: nothing is confirmed to anybody and nothing is given earlier.
//
// With a key, checkpoints (checkpoint.hpp) find their places among the rows: at most one a minute, and one at a clean end.
//
// A failed commit is in doubt: the state is `failed`, the connection is closed, the file opened again and looked at; if the
// rows are not there they are appended again with the same seq and seal, and every page of the log is written afresh,
// because after a failed sync the system may hold for written what never reached the disk. That happens once by itself; a
// second failure stays `failed` until `try_again` (a person) or a restart. A full disk is no failure of that kind: the
// ballast file is given back to the disk and the commit tried again, each second, for as long as it takes. A file that
// another program holds is waited for.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/result.hpp"
#include "daemon/core/event.hpp"
#include "daemon/record/record_file.hpp"
#include "daemon/record/rows.hpp"
#include "daemon/record/signature.hpp"

namespace standfast::record {

// Rows waiting for the disk, those in the running commit included. At either bound `append` refuses.
inline constexpr std::size_t most_waiting_rows = 500'000;
inline constexpr std::size_t most_waiting_bytes = std::size_t{64} << 20;
inline constexpr std::size_t most_rows_in_a_commit = 20'000;
inline constexpr Duration lagging_after = seconds(5);
inline constexpr Duration gathers_for = milliseconds(10);
inline constexpr std::int64_t ballast_bytes = std::int64_t{64} << 20;

struct Health {
  RecordState state{RecordState::healthy};
  bool disk_full{false};      // Now, or since the ballast was given back and could not be laid down again.
  bool latched{false};        // Failed twice: waits for a person or a restart.
  int failures{0};            // Since opening.
  std::string why;            // Empty while healthy.
};

// What a test takes hold of. The daemon uses it as it stands.
class WriterSeam {
 public:
  virtual ~WriterSeam() = default;
  virtual const char* vfs() const { return nullptr; }
  virtual const char* synchronous() const { return "FULL"; }
  virtual std::int64_t ballast() const { return ballast_bytes; }
  virtual bool acknowledges_early() const { return false; }
  virtual Duration gathers_for() const { return standfast::record::gathers_for; }
  virtual void before_commit() {}           // On the writer's thread; may block.
  virtual void before_ballast() {}          // Is laid down again; likewise.
  virtual void ballast_given_back() {}
  virtual std::chrono::steady_clock::time_point now() const { return std::chrono::steady_clock::now(); }  // Lag is measured by it.
};

class RecordWriter {
 public:
  // Opens the record, or creates it with its first row and seal. One that is not marked as simulated gets the mark if
  // `about` has it, never the other way round. Checks application id, version, structure (whole up to
  // 64 MiB, see record_store) and the newest part of the chain. `notify` is called on the writer's thread whenever
  // `durable_seq` or `health` has changed; it must be quick and may call nothing but `durable_seq`.
  static Result<std::unique_ptr<RecordWriter>, OpenRefusal> open(const std::filesystem::path& path, const About& about,
                                                                 std::function<void()> notify = {},
                                                                 std::shared_ptr<WriterSeam> seam = {},
                                                                 std::shared_ptr<const Signer> signer = {});
  ~RecordWriter();  // As close().
  RecordWriter(const RecordWriter&) = delete;
  RecordWriter& operator=(const RecordWriter&) = delete;

  // As it was found at opening (after creation: one row, one seal). The new start is `opened_at().span + 1`.
  const Tail& opened_at() const;

  // The seq of the last of these rows; they have consecutive ones. None: no room, and none of them was taken. Any thread.
  std::optional<std::int64_t> append(std::vector<Row>&& rows);

  // Half of both bounds is free: what comes next will not be refused.
  bool has_room() const;

  // A newer row of `about`: where the rig in force is simulated and the record does not say so yet.
  std::optional<std::int64_t> append_about(const About& about);
  bool simulated() const;  // The record says so, durable or not.

  std::int64_t durable_seq() const;
  // Lag is measured at the call: ask at every tick. A failure stands in at least one answer, even if it was mended within a
  // moment, so only one place may ask.
  Health health();
  Tail durable_tail() const;  // The head to show and to write down: seq, batch and head of the newest seal on disk.

  std::string public_key() const;  // Of the checkpoints, 32 bytes; empty: none are written.

  void try_again();        // A person says that the disk is mended. Does nothing unless `latched`.

  // Commits what waits, signs its head where there is a key, closes. False: not everything is on disk. Nothing may be appended any more.
  bool close();

 private:
  struct Work;
  explicit RecordWriter(std::unique_ptr<Work> work);
  std::unique_ptr<Work> work_;
};

}  // namespace standfast::record
