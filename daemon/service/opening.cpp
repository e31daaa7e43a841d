#include "daemon/service/opening.hpp"

#include <utility>

#include "daemon/record/record_reader.hpp"
#include "daemon/service/machine.hpp"
#include "daemon/service/new_record.hpp"
#include "drivers/boot_clock.hpp"

namespace standfast {

Result<Opening, NotOpened> open_record(const JobFolder& folder, Inbox& inbox, const RecordKey& key) {
  record::About about;  // Whether it is simulated, the first job in force will say.
  about.job = folder.path();
  about.software = STANDFAST_VERSION;
  about.host = host_name();
  about.created = wall_time_now();
  Opening opening;
  opening.path_ = folder.record_path();
  if (!key) opening.why_unsigned_ = key.error();
  auto writer = record::RecordWriter::open(opening.path_, about, [&inbox] { inbox.wake(); }, {}, key ? *key : nullptr);
  if (writer) {
    opening.writer_ = std::move(*writer);
  } else if (writer.error().kind == record::RefusalKind::not_trusted) {
    opening.why_not_trusted_ = "record not trusted: " + writer.error().text + how_to_begin_anew;
  } else {
    return Failure{NotOpened{writer.error().text, writer.error().kind != record::RefusalKind::not_writable}};
  }
  return opening;
}

Journal Opening::journal() const {
  record::Where where;
  where.host = host_name();
  if (writer_) {
    where.span = writer_->opened_at().span + 1;
    where.revision = writer_->opened_at().revision;
  }
  return Journal{{writer_.get(), why_not_trusted_, {}, why_unsigned_}, where};
}

Service::Beginning Opening::beginning() const {
  Service::Beginning beginning;
  beginning.started = {boot_id(), STANDFAST_VERSION, true};
  if (!writer_ || writer_->opened_at().span == 0) return beginning;
  beginning.started.first = false;
  beginning.outage = record::Gap{writer_->opened_at().wall, wall_time_now(), 0, "the daemon did not run"};
  return beginning;
}

Rebuilt Opening::rebuild() const {
  if (writer_ && writer_->opened_at().span == 0) return {Engine{}, nullptr, {}};
  auto reader = writer_ ? record::RecordReader::open(path_) : record::RecordReader::open_not_trusted(path_);
  if (writer_ && reader) return standfast::rebuild(*reader);
  return without_state(reader ? &*reader : nullptr, writer_ ? reader.error() : why_not_trusted_);
}

}  // namespace standfast
