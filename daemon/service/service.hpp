// The main path, and the only place where time, threads and the disk meet the engine: take an event, apply it, withdraw
// what is no longer permitted, record, give what is durable, answer, show.
//
// One thread calls `start`, then `run`. Everybody else speaks through the inbox.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/engine.hpp"
#include "daemon/panel/last_numbers.hpp"
#include "daemon/service/giving.hpp"
#include "daemon/service/inbox.hpp"
#include "daemon/service/journal.hpp"
#include "daemon/service/pending_answers.hpp"
#include "daemon/service/pictures.hpp"
#include "daemon/service/recorded_events.hpp"
#include "daemon/service/wires.hpp"

namespace standfast {

class Service {
 public:
  struct Parts {
    const Clock& clock;
    std::function<WallTime()> wall;
    Inbox& inbox;
    Pictures& pictures;
    Journal journal;
    WireMakers makers;
    std::string job_folder;  // For people to read.
  };
  Service(Parts parts, Rebuilt rebuilt);  // What the record gave.
  ~Service();

  struct Beginning { Started started; std::optional<record::Gap> outage; };
  void start(const Beginning& beginning);

  void run();        // Until `end`.
  void end();        // Any thread.
  // Withdraws everything, writes the last snapshot. The record is to be closed after it.
  void finish();

  // One turn of `run` without waiting: takes what waits, or lets time pass. False: nothing waited.
  bool turn();

  // For those who look after the service, at most a second old.
  struct Standing {
    std::string headline;                 // "HOLD: differential A-B".
    bool job{false};
    std::string rig_sha256, plan_sha256;  // Of the job in force.
    std::vector<std::int64_t> progress;   // One number for each thread at work; all of them go up.
  };
  Standing standing() const;  // Any thread.

 private:
  static constexpr Duration longest_silence = milliseconds(250);
  static constexpr Duration shortest_tick = milliseconds(1);
  static constexpr Duration picture_pace = milliseconds(50);
  static constexpr Duration standing_pace = milliseconds(500);

  void take(Inbox::Taken taken);
  Effects decide(const Event& event);
  struct Applied { Effects effects; std::int64_t seq; };
  Applied apply(News what);
  void apply_act(Asked asked);
  std::int64_t put_in_force(const Revision& revision);
  void start_wires();
  void renew_outputs(const OutputImage& write);
  void write_snapshot();
  void look_after();
  void show();
  void write_standing();
  Event event_now(News what) const;
  Instant next_look() const;

  Parts parts_;
  LastNumbers last_numbers_;
  Engine engine_;
  std::shared_ptr<const Job> job_;
  std::string no_job_{"no plan has been adopted"};
  // The start has no state to go on from: which rows it does not follow from, and what stands in none of them.
  struct LeftBehind { std::int64_t rows; std::vector<EffectRow> brought_back; };
  std::optional<LeftBehind> left_behind_;
  Giving giving_;
  PendingAnswers answers_;
  std::unique_ptr<Wires> wires_;
  std::optional<const Stage*> polled_stage_;  // Whose polls the wires were told; none yet for this job.
  Effects newest_;                     // Of the newest apply, without its rows.
  Instant taken_at_{};                 // When that was.
  Instant known_at_{};                 // What the engine's knowledge is worth: see `take`.
  bool behind_{false};
  Instant shown_at_{}, stood_at_{};
  mutable std::mutex standing_mutex_;
  Standing standing_;
  std::int64_t applies_{0};
  std::atomic<bool> ending_{false};
};

}  // namespace standfast
