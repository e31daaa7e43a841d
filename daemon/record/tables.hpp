// The tables of the record and their columns, in order. schema.sql is the truth; a test holds the two together.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace standfast::record {

enum class RecordTable : std::uint8_t {
  about, span, revision, block, block_channel, in_force, scan, output_report, action, event,  // what came in
  answer, alarm, signal, permit, stage, output_wanted, notice, mark, reading_set, proof, value, snapshot, gap, checkpoint  // what followed
};
inline constexpr int table_count = static_cast<int>(RecordTable::checkpoint) + 1;

// definition: neither; event: replay reads it; effect: replay must produce it again; state: neither, but evidence.
enum class Part : std::uint8_t { definition, event, effect, state };

struct TableEntry {
  RecordTable table;
  std::string_view name;
  Part part;
  std::string_view columns;  // Separated by one space; the first is always seq.
};

inline constexpr std::array<TableEntry, table_count> table_entries{{
    {RecordTable::about, "about", Part::definition,
     "seq wall_ns simulated job software host schema_version schema_sha256 sqlite_version"},
    {RecordTable::span, "span", Part::event, "seq number at_ns wall_ns boot_id software host rules first"},
    {RecordTable::revision, "revision", Part::definition,
     "seq span at_ns wall_ns number rig_sha256 rig_yaml stages_sha256 stages_yaml"},
    {RecordTable::block, "block", Part::definition,
     "seq key revision number bus unit_id register_kind start count every_ns"},
    {RecordTable::block_channel, "block_channel", Part::definition,
     "seq block place name kind raw_type word_order byte_order dimension"},
    {RecordTable::in_force, "in_force", Part::event, "seq span at_ns wall_ns revision"},
    {RecordTable::scan, "scan", Part::event, "seq span at_ns wall_ns taken_ns block raw flaw"},
    {RecordTable::output_report, "output_report", Part::event,
     "seq span at_ns wall_ns taken_ns flaw raise_permit lower_permit stop_relay sounder beacon call_out heartbeat "
     "raise_permit_read lower_permit_read stop_relay_read sounder_read beacon_read call_out_read heartbeat_read "
     "watchdog_ns safe_values_as_stated power_on_values_as_stated simulated"},
    {RecordTable::action, "action", Part::event,
     "seq span at_ns wall_ns act object value reason person role second_person second_role way peer_uid verified seen"},
    {RecordTable::event, "event", Part::event, "seq span at_ns wall_ns kind detail"},
    {RecordTable::answer, "answer", Part::effect, "seq span at_ns wall_ns act accepted code text"},
    {RecordTable::alarm, "alarm", Part::effect,
     "seq span at_ns wall_ns number subject cause level from_state to_state first_out value bound dimension say by"},
    {RecordTable::signal, "signal", Part::effect, "seq span at_ns wall_ns from_level to_level cause subject"},
    {RecordTable::permit, "permit", Part::effect,
     "seq span at_ns wall_ns kind given cause stage step circuits by second"},
    {RecordTable::stage, "stage", Part::effect, "seq span at_ns wall_ns stage step from_state to_state by second facts"},
    {RecordTable::output_wanted, "output_wanted", Part::effect,
     "seq span at_ns wall_ns raise_permit lower_permit stop_relay sounder beacon call_out heartbeat gives heartbeat_withheld"},
    {RecordTable::notice, "notice", Part::effect, "seq span at_ns wall_ns code text"},
    {RecordTable::mark, "mark", Part::effect,
     "seq span at_ns wall_ns mark point mean standard_error dimension readings"},
    {RecordTable::reading_set, "reading_set", Part::effect, "seq span at_ns wall_ns stage step after_ns readings"},
    {RecordTable::proof, "proof", Part::effect, "seq span at_ns wall_ns proof passed facts"},
    {RecordTable::value, "value", Part::effect,
     "seq span at_ns wall_ns quantity value dimension uncertainty quality cause saturated inferred oldest_ns newest_ns"},
    {RecordTable::snapshot, "snapshot", Part::effect, "seq span at_ns wall_ns why rules sha256 state"},
    {RecordTable::gap, "gap", Part::state, "seq span at_ns wall_ns from_wall_ns until_wall_ns lost why"},
    {RecordTable::checkpoint, "checkpoint", Part::state, "seq span at_ns wall_ns batch head public_key signature"},
}};

constexpr const TableEntry& entry_of(RecordTable table) { return table_entries[static_cast<std::size_t>(table)]; }

}  // namespace standfast::record
