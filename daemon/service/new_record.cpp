#include "daemon/service/new_record.hpp"

#include <algorithm>
#include <utility>

#include "daemon/core/engine.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/record/record_writer.hpp"
#include "daemon/service/inbox.hpp"
#include "daemon/service/journal.hpp"
#include "daemon/service/machine.hpp"
#include "drivers/boot_clock.hpp"

namespace standfast {
namespace {

record::About about_now(const JobFolder& folder) {
  record::About about;
  about.job = folder.path();
  about.software = STANDFAST_VERSION;
  about.host = host_name();
  about.created = wall_time_now();
  return about;
}

constexpr std::string_view goes_on =
    "record.db goes on, nothing was done: its newest rows bear their seals, and its tables are as they were made. What lies further "
    "back was not looked at; verify_seals.py and `standfast replay` do that";

// Why the record is not trusted. The error says what else is the matter.
Result<std::string, std::string> distrust(const JobFolder& folder) {
  const auto found = record::look_at(folder.record_path());
  if (found && *found == record::Found::nothing) return Failure{std::string("there is no record; a start makes one")};
  const auto opened = record::RecordWriter::open(folder.record_path(), about_now(folder));
  if (opened) return Failure{std::string{goes_on}};
  if (opened.error().kind != record::RefusalKind::not_trusted) return Failure{opened.error().text};
  return opened.error().text;
}

// What can still be read of it.
struct Before { LatchedAlarms latched; std::int64_t rows{0}; };

Before read_before(const std::string& path) {
  auto reader = record::RecordReader::open_not_trusted(path);
  if (!reader) return {latched_unknown(reader.error()), 0};
  const auto latched = reader->latched_alarms();
  const auto rows = reader->newest_seq();
  return {latched ? *latched : latched_unknown(latched.error()), rows ? *rows : 0};
}

std::string origin(const record::SetAside& aside, const std::string& why, const BeginAnew& anew) {
  std::string text = "this record follows " + aside.path.filename().string() + " (SHA-256 " + aside.sha256;
  if (!aside.log_sha256.empty()) text += ", its log " + aside.log_sha256;
  const char* verified = anew.people.list.empty() ? " (not verified, the station has no list of people): " : " (not verified): ";
  return text + "), which is not trusted: " + why + ". Begun by " + anew.by + verified + anew.reason;
}

// The first span, as any start writes it; then the gap with what was latched, for where the plan no longer loads only rows
// tell; and behind it a snapshot, for the state behind a gap follows from no event.
bool write_beginning(record::RecordWriter& writer, const Before& before, const std::string& why) {
  record::Where where;
  where.span = 1;
  where.host = host_name();
  Journal journal{{&writer, {}, {}}, where};
  const BootClock clock;
  Engine engine;
  const auto now = [&clock](News what) { return Event{clock.now(), wall_time_now(), std::move(what)}; };
  for (const News& what : {News{Started{boot_id(), STANDFAST_VERSION, true}}, News{NoJob{why}}}) {
    const Event event = now(what);
    const Effects effects = engine.apply(event);
    journal.write(event, effects, [&engine] { return engine.snapshot(); });
  }
  const auto brought_back = engine.bring_back(before.latched);
  engine.leave_pictures_behind(before.rows);
  const Event tick = now(Tick{});
  journal.write_gap({tick.wall, tick.wall, std::max<std::int64_t>(1, before.rows), why}, tick, brought_back);
  const Effects effects = engine.apply(tick);
  journal.write_with_snapshot(tick, effects, engine.snapshot());
  return writer.close();
}

}  // namespace

Result<std::string, std::string> begin_new_record(const JobFolder& folder, const BeginAnew& anew) {
  if (anew.by.empty() || anew.reason.empty()) return Failure{std::string("say who does it and why: --as NAME --reason TEXT")};
  if (!anew.people.list.empty())
    if (const auto named = claim(anew.people, anew.by); !named) return Failure{named.error()};
  const auto why = distrust(folder);
  if (!why) return Failure{why.error()};
  const Before before = read_before(folder.record_path());
  const auto aside = record::set_aside(folder.record_path());
  if (!aside) return Failure{"the old record cannot be set aside: " + aside.error()};
  auto writer = record::RecordWriter::open(folder.record_path(), about_now(folder));
  if (!writer) return Failure{"the old record lies at " + aside->path.string() + ", and no new one can be made: " + writer.error().text};
  const std::string text = origin(*aside, *why, anew);
  if (!write_beginning(**writer, before, text)) return Failure{std::string("the new record cannot be written; see the disk")};
  return text + "\nThe next start is on HOLD without a plan: the engineer puts one in force anew.";
}

}  // namespace standfast
