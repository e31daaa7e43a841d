// What a start finds in the job's folder: the record, and what it says of the state. Keeps the record's writer.
#pragma once

#include <memory>
#include <string>

#include "daemon/record/record_writer.hpp"
#include "daemon/service/inbox.hpp"
#include "daemon/service/job_folder.hpp"
#include "daemon/service/journal.hpp"
#include "daemon/service/record_key.hpp"
#include "daemon/service/recorded_events.hpp"
#include "daemon/service/service.hpp"

namespace standfast {

class Opening {
 public:
  // What belongs to this start: which span it is, whether the record is new, since when nothing was recorded.
  Journal journal() const;
  Service::Beginning beginning() const;
  // May take long after a job of weeks without a snapshot.
  Rebuilt rebuild() const;

  std::int64_t durable_seq() const { return writer_ ? writer_->durable_seq() : 0; }
  // False: not everything is on disk.
  bool close() { return !writer_ || writer_->close(); }

 private:
  friend Result<Opening, struct NotOpened> open_record(const JobFolder& folder, Inbox& inbox, const RecordKey& key);

  std::unique_ptr<record::RecordWriter> writer_;  // Null: the record is not trusted; it stays as it is.
  std::string why_not_trusted_, why_unsigned_;
  std::string path_;
};

struct NotOpened {
  std::string why;
  bool writable{true};  // False: the folder cannot be written. True: what lies there is not ours.
};
Result<Opening, NotOpened> open_record(const JobFolder& folder, Inbox& inbox, const RecordKey& key);

}  // namespace standfast
