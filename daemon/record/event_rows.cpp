// Events as rows, and back.
#include "daemon/record/json_text.hpp"
#include "daemon/record/row_fields.hpp"
#include "daemon/record/rows.hpp"

namespace standfast::record {
namespace {

std::string raw_text(const Scan& scan) {
  if (const auto* words = std::get_if<Words>(&scan.raw)) return json_numbers(std::span<const std::uint16_t>{*words});
  if (const auto* bits = std::get_if<Bits>(&scan.raw)) return json_numbers(std::span<const std::uint8_t>{*bits});
  return json_line(std::get<std::string>(scan.raw));
}

void put_taken(PutFields& put, Instant taken, Instant at) { taken == at ? put.none() : put.number(taken.ns); }
void put_flaw(PutFields& put, Flaw flaw) { flaw == Flaw::none ? put.none() : put.word(flaw); }

// Nobody has no role.
void put_person(PutFields& put, const PersonClaim& person) {
  put.text(person.name);
  if (person.name.empty()) put.text("");
  else put.word(person.role);
}

struct RowOfEvent {
  const Moment moment;
  const Where& where;

  Row other(std::string_view kind, const JsonFields& fields) const {
    PutFields put{RecordTable::event, moment};
    return std::move(put.text(kind).text(json_object(fields))).done();
  }

  Row operator()(const Tick&) const { return other("tick", {}); }
  Row operator()(const Ended&) const { return other("ended", {}); }
  Row operator()(const NoJob& event) const { return other("no_job", {{"why", event.why}}); }
  Row operator()(const RecordHealth& event) const {
    return other("record_health", {{"state", std::string{name_of(event.state)}}});
  }
  Row operator()(const GivingNotDurable& event) const { return other("giving_not_durable", {{"seq", event.seq}}); }
  Row operator()(const ClockStep& event) const { return other("clock_step", {{"by_ns", event.by.ns}}); }
  Row operator()(const QueueOverflow& event) const { return other("queue_overflow", {{"lost", event.lost}}); }
  Row operator()(const EngineLate& event) const { return other("engine_late", {{"by_ns", event.by.ns}}); }
  Row operator()(const FilesOnDisk& event) const {
    return other("files_on_disk", {{"rig_differs", event.rig_differs}, {"plan_differs", event.plan_differs}});
  }

  Row operator()(const Started& event) const {
    PutFields put{RecordTable::span};
    put.number(where.span).number(moment.at.ns).number(moment.wall.ns).text(event.boot_id).text(event.software);
    return std::move(put.text(where.host).number(rules_version).flag(event.first)).done();
  }
  Row operator()(const JobInForce&) const {
    return std::move(PutFields{RecordTable::in_force, moment}.number(where.revision)).done();
  }
  Row operator()(const Scan& scan) const {
    PutFields put{RecordTable::scan, moment};
    put_taken(put, scan.taken_at, moment.at);
    put.number(block_key(where.revision, scan.block)).text(raw_text(scan));
    put_flaw(put, scan.flaw);
    return std::move(put).done();
  }
  Row operator()(const OutputReport& report) const {
    PutFields put{RecordTable::output_report, moment};
    put_taken(put, report.at, moment.at);
    put_flaw(put, report.flaw);
    for (const bool on : report.written.on) put.flag(on);
    for (const auto& read : report.readback) read ? put.flag(*read) : put.none();
    report.facts.watchdog ? put.number(report.facts.watchdog->ns) : put.none();
    put.flag(report.facts.safe_values_as_stated).flag(report.facts.power_on_values_as_stated);
    return std::move(put.flag(report.facts.simulated)).done();
  }
  Row operator()(const Action& action) const {
    PutFields put{RecordTable::action, moment};
    put.word(action.what).text(action.object).text(action.value).text(action.reason);
    put_person(put, action.person);
    put_person(put, action.second);
    return std::move(put.word(action.way).number(action.peer_uid).flag(action.verified).number(action.seen)).done();
  }
};

// --- and back ------------------------------------------------------------------------------------------------------------

Instant taken_or(const std::optional<std::int64_t>& taken, Instant at) { return taken ? Instant{*taken} : at; }

Flaw flaw_from(TakeFields& take) {
  const auto name = take.text_or_none();
  return name ? take.one_of<Flaw>(*name) : Flaw::none;
}

Scan scan_from(TakeFields& take, Instant at, bool bits) {
  Scan scan;
  scan.taken_at = taken_or(take.number_or_none(), at);
  scan.block = BlockId{static_cast<std::size_t>(take.number() % block_key(1, BlockId{}))};
  const std::string raw = take.text();
  if (raw.starts_with("[\"")) {
    auto line = line_of(raw);
    if (!line) take.fail("an array of one string");
    else scan.raw = std::move(*line);
  } else {
    auto words = numbers_of(raw, bits ? 1 : 65535);
    if (!words) take.fail("an array of register words or of 0 and 1");
    else if (bits) scan.raw = Bits(words->begin(), words->end());
    else scan.raw = std::move(*words);
  }
  scan.flaw = flaw_from(take);
  return scan;
}

OutputReport report_from(TakeFields& take, Instant at) {
  OutputReport report;
  report.at = taken_or(take.number_or_none(), at);
  report.flaw = flaw_from(take);
  for (bool& on : report.written.on) on = take.flag();
  for (auto& read : report.readback) {
    const auto value = take.number_or_none();
    if (value) read = *value != 0;
  }
  const auto watchdog = take.number_or_none();
  if (watchdog) report.facts.watchdog = Duration{*watchdog};
  report.facts.safe_values_as_stated = take.flag();
  report.facts.power_on_values_as_stated = take.flag();
  report.facts.simulated = take.flag();
  return report;
}

PersonClaim person_from(TakeFields& take) {
  PersonClaim person;
  person.name = take.text();
  if (person.name.empty()) (void)take.text();
  else person.role = take.word<Role>();
  return person;
}

Action action_from(TakeFields& take) {
  Action action;
  action.what = take.word<Act>();
  action.object = take.text();
  action.value = take.text();
  action.reason = take.text();
  action.person = person_from(take);
  action.second = person_from(take);
  action.way = take.word<Way>();
  action.peer_uid = take.number();
  action.verified = take.flag();
  action.seen = take.number();
  return action;
}

template <class T>
T field(TakeFields& take, const JsonFields& fields, std::string_view name) {
  for (const auto& [key, value] : fields)
    if (key == name && std::holds_alternative<T>(value)) return std::get<T>(value);
  take.fail("a field " + std::string{name});
  return T{};
}

decltype(Event::what) other_from(TakeFields& take) {
  const std::string kind = take.text();
  const auto detail = object_of(take.text());
  if (!detail) {
    take.fail("a JSON object");
    return Tick{};
  }
  if (kind == "tick") return Tick{};
  if (kind == "ended") return Ended{};
  if (kind == "no_job") return NoJob{field<std::string>(take, *detail, "why")};
  if (kind == "record_health")
    return RecordHealth{take.one_of<RecordState>(field<std::string>(take, *detail, "state"))};
  if (kind == "giving_not_durable") return GivingNotDurable{field<std::int64_t>(take, *detail, "seq")};
  if (kind == "clock_step") return ClockStep{Duration{field<std::int64_t>(take, *detail, "by_ns")}};
  if (kind == "queue_overflow") return QueueOverflow{field<std::int64_t>(take, *detail, "lost")};
  if (kind == "engine_late") return EngineLate{Duration{field<std::int64_t>(take, *detail, "by_ns")}};
  if (kind == "files_on_disk")
    return FilesOnDisk{field<bool>(take, *detail, "rig_differs"), field<bool>(take, *detail, "plan_differs")};
  take.fail("the detail of a known kind of event");
  return Tick{};
}

}  // namespace

Row row_of(const Event& event, const Where& where) {
  return std::visit(RowOfEvent{{where.span, event.at, event.wall}, where}, event.what);
}

Result<Event, std::string> event_of(const Row& row, bool bits) {
  if (entry_of(row.table).part != Part::event)
    return Failure{std::string{entry_of(row.table).name} + ": not a table of events"};
  TakeFields take{row};
  Event event;
  take.number();  // Span: or, in the table span, its number.
  event.at = Instant{take.number()};
  event.wall = WallTime{take.number()};
  if (row.table == RecordTable::span) {
    Started started;
    started.boot_id = take.text();
    started.software = take.text();
    take.text();    // Host.
    take.number();  // Rules.
    started.first = take.flag();
    event.what = std::move(started);
  } else if (row.table == RecordTable::in_force) {
    take.number();
    event.what = JobInForce{};
  } else if (row.table == RecordTable::scan) {
    event.what = scan_from(take, event.at, bits);
  } else if (row.table == RecordTable::output_report) {
    event.what = report_from(take, event.at);
  } else if (row.table == RecordTable::action) {
    event.what = action_from(take);
  } else {
    event.what = other_from(take);
  }
  if (!take.error().empty()) return Failure{take.error()};
  return event;
}

}  // namespace standfast::record
