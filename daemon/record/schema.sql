-- The record of one job. Every table but `seal` is evidence; its first column, seq, is shared by all of them: each number
-- from 1 stands exactly once, in the order in which things were taken and decided. Nothing is changed or deleted; what was
-- wrong is corrected by a new row. What each table and column means stands in the view `description`.
PRAGMA application_id = 1397125732;  -- The letters SFrd.
PRAGMA user_version = 2;

CREATE TABLE about (
  seq INTEGER PRIMARY KEY, wall_ns INTEGER NOT NULL, simulated INTEGER NOT NULL CHECK (simulated IN (0, 1)),
  job TEXT NOT NULL, software TEXT NOT NULL, host TEXT NOT NULL, schema_version INTEGER NOT NULL,
  schema_sha256 TEXT NOT NULL, sqlite_version TEXT NOT NULL) STRICT;
CREATE TABLE span (
  seq INTEGER PRIMARY KEY, number INTEGER NOT NULL UNIQUE, at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  boot_id TEXT NOT NULL, software TEXT NOT NULL, host TEXT NOT NULL, rules INTEGER NOT NULL,
  first INTEGER NOT NULL CHECK (first IN (0, 1))) STRICT;
CREATE TABLE revision (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  number INTEGER NOT NULL UNIQUE, rig_sha256 TEXT NOT NULL, rig_yaml TEXT NOT NULL, stages_sha256 TEXT NOT NULL,
  stages_yaml TEXT NOT NULL) STRICT;
CREATE TABLE block (
  seq INTEGER PRIMARY KEY, key INTEGER NOT NULL UNIQUE, revision INTEGER NOT NULL REFERENCES revision (number),
  number INTEGER NOT NULL, bus TEXT NOT NULL, unit_id INTEGER NOT NULL, register_kind TEXT NOT NULL,
  start INTEGER NOT NULL, count INTEGER NOT NULL, every_ns INTEGER NOT NULL) STRICT;
CREATE TABLE block_channel (
  seq INTEGER PRIMARY KEY, block INTEGER NOT NULL REFERENCES block (key), place INTEGER NOT NULL, name TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('channel', 'input')), raw_type TEXT NOT NULL, word_order TEXT NOT NULL,
  byte_order TEXT NOT NULL, dimension TEXT NOT NULL, UNIQUE (block, place, name)) STRICT;

-- What came in: replay reads these, in the order of seq.
CREATE TABLE in_force (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  revision INTEGER NOT NULL REFERENCES revision (number)) STRICT;
CREATE TABLE scan (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  taken_ns INTEGER, block INTEGER NOT NULL REFERENCES block (key), raw TEXT NOT NULL, flaw TEXT) STRICT;
CREATE TABLE output_report (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  taken_ns INTEGER, flaw TEXT,
  raise_permit INTEGER NOT NULL, lower_permit INTEGER NOT NULL, stop_relay INTEGER NOT NULL, sounder INTEGER NOT NULL,
  beacon INTEGER NOT NULL, call_out INTEGER NOT NULL, heartbeat INTEGER NOT NULL,
  raise_permit_read INTEGER, lower_permit_read INTEGER, stop_relay_read INTEGER, sounder_read INTEGER,
  beacon_read INTEGER, call_out_read INTEGER, heartbeat_read INTEGER,
  watchdog_ns INTEGER, safe_values_as_stated INTEGER NOT NULL, power_on_values_as_stated INTEGER NOT NULL,
  simulated INTEGER NOT NULL) STRICT;
CREATE TABLE action (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  act TEXT NOT NULL, object TEXT NOT NULL, value TEXT NOT NULL, reason TEXT NOT NULL,
  person TEXT NOT NULL, role TEXT NOT NULL, second_person TEXT NOT NULL, second_role TEXT NOT NULL, way TEXT NOT NULL,
  peer_uid INTEGER NOT NULL, verified INTEGER NOT NULL CHECK (verified IN (0, 1)), seen INTEGER NOT NULL) STRICT;
CREATE TABLE event (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  kind TEXT NOT NULL, detail TEXT NOT NULL) STRICT;

-- What followed: replay must produce these again.
CREATE TABLE answer (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  act TEXT NOT NULL, accepted INTEGER NOT NULL CHECK (accepted IN (0, 1)), code TEXT NOT NULL, text TEXT NOT NULL) STRICT;
CREATE TABLE alarm (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  number INTEGER NOT NULL, subject TEXT NOT NULL, cause TEXT NOT NULL, level TEXT NOT NULL, from_state TEXT NOT NULL,
  to_state TEXT NOT NULL, first_out INTEGER NOT NULL CHECK (first_out IN (0, 1)), value REAL CHECK (abs(value) < 1e300),
  bound REAL CHECK (abs(bound) < 1e300), dimension TEXT, say TEXT NOT NULL, by TEXT NOT NULL) STRICT;
CREATE TABLE signal (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  from_level TEXT NOT NULL, to_level TEXT NOT NULL, cause TEXT NOT NULL, subject TEXT NOT NULL) STRICT;
CREATE TABLE permit (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  kind TEXT NOT NULL, given INTEGER NOT NULL CHECK (given IN (0, 1)), cause TEXT NOT NULL, stage TEXT NOT NULL,
  step TEXT NOT NULL, circuits TEXT NOT NULL, by TEXT NOT NULL, second TEXT NOT NULL) STRICT;
CREATE TABLE stage (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  stage TEXT NOT NULL, step TEXT NOT NULL, from_state TEXT NOT NULL, to_state TEXT NOT NULL, by TEXT NOT NULL,
  second TEXT NOT NULL, facts TEXT NOT NULL) STRICT;
CREATE TABLE output_wanted (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  raise_permit INTEGER NOT NULL, lower_permit INTEGER NOT NULL, stop_relay INTEGER NOT NULL, sounder INTEGER NOT NULL,
  beacon INTEGER NOT NULL, call_out INTEGER NOT NULL, heartbeat INTEGER NOT NULL, gives INTEGER NOT NULL,
  heartbeat_withheld INTEGER NOT NULL) STRICT;
CREATE TABLE notice (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  code TEXT NOT NULL, text TEXT NOT NULL) STRICT;
CREATE TABLE mark (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  mark TEXT NOT NULL, point TEXT NOT NULL, mean REAL NOT NULL CHECK (abs(mean) < 1e300),
  standard_error REAL NOT NULL CHECK (abs(standard_error) < 1e300), dimension TEXT NOT NULL, readings INTEGER NOT NULL) STRICT;
CREATE TABLE reading_set (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  stage TEXT NOT NULL, step TEXT NOT NULL, after_ns INTEGER NOT NULL, readings TEXT NOT NULL) STRICT;
CREATE TABLE proof (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  proof TEXT NOT NULL, passed INTEGER NOT NULL CHECK (passed IN (0, 1)), facts TEXT NOT NULL) STRICT;
CREATE TABLE value (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  quantity TEXT NOT NULL, value REAL CHECK (abs(value) < 1e300), dimension TEXT NOT NULL,
  uncertainty REAL CHECK (abs(uncertainty) < 1e300), quality TEXT NOT NULL, cause TEXT, saturated TEXT,
  inferred INTEGER NOT NULL CHECK (inferred IN (0, 1)), oldest_ns INTEGER NOT NULL, newest_ns INTEGER NOT NULL) STRICT;
CREATE TABLE snapshot (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  why TEXT NOT NULL, rules INTEGER NOT NULL, sha256 TEXT NOT NULL, state TEXT NOT NULL) STRICT;

-- What is missing.
CREATE TABLE gap (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  from_wall_ns INTEGER NOT NULL, until_wall_ns INTEGER NOT NULL, lost INTEGER NOT NULL, why TEXT NOT NULL) STRICT;

-- The head of the commit before, signed.
CREATE TABLE checkpoint (
  seq INTEGER PRIMARY KEY, span INTEGER NOT NULL REFERENCES span (number), at_ns INTEGER NOT NULL, wall_ns INTEGER NOT NULL,
  batch INTEGER NOT NULL REFERENCES seal (batch), head TEXT NOT NULL CHECK (length(head) = 64),
  public_key TEXT NOT NULL CHECK (length(public_key) = 64), signature TEXT NOT NULL CHECK (length(signature) = 128)) STRICT;

-- One for each commit: what it seals, and the head of the chain behind it.
CREATE TABLE seal (
  batch INTEGER PRIMARY KEY, first_seq INTEGER NOT NULL, last_seq INTEGER NOT NULL CHECK (last_seq >= first_seq),
  head BLOB NOT NULL CHECK (length(head) = 32)) STRICT;
CREATE TRIGGER seal_kept BEFORE UPDATE ON seal BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER seal_left BEFORE DELETE ON seal BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER seal_last BEFORE INSERT ON seal WHEN new.batch <= (SELECT max(batch) FROM seal)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;

-- Neither UPDATE nor DELETE, nor an INSERT before or over an earlier row (INSERT OR REPLACE deletes without asking).
CREATE TRIGGER about_kept BEFORE UPDATE ON about BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER about_left BEFORE DELETE ON about BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER about_last BEFORE INSERT ON about WHEN new.seq <= (SELECT max(seq) FROM about)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER span_kept BEFORE UPDATE ON span BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER span_left BEFORE DELETE ON span BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER span_last BEFORE INSERT ON span
  WHEN new.seq <= (SELECT max(seq) FROM span)
    OR EXISTS (SELECT 1 FROM span WHERE number = new.number)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER revision_kept BEFORE UPDATE ON revision BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER revision_left BEFORE DELETE ON revision BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER revision_last BEFORE INSERT ON revision
  WHEN new.seq <= (SELECT max(seq) FROM revision)
    OR EXISTS (SELECT 1 FROM revision WHERE number = new.number)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER block_kept BEFORE UPDATE ON block BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER block_left BEFORE DELETE ON block BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER block_last BEFORE INSERT ON block
  WHEN new.seq <= (SELECT max(seq) FROM block)
    OR EXISTS (SELECT 1 FROM block WHERE key = new.key)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER block_channel_kept BEFORE UPDATE ON block_channel BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER block_channel_left BEFORE DELETE ON block_channel BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER block_channel_last BEFORE INSERT ON block_channel
  WHEN new.seq <= (SELECT max(seq) FROM block_channel)
    OR EXISTS (SELECT 1 FROM block_channel WHERE block = new.block AND place = new.place AND name = new.name)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER in_force_kept BEFORE UPDATE ON in_force BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER in_force_left BEFORE DELETE ON in_force BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER in_force_last BEFORE INSERT ON in_force WHEN new.seq <= (SELECT max(seq) FROM in_force)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER scan_kept BEFORE UPDATE ON scan BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER scan_left BEFORE DELETE ON scan BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER scan_last BEFORE INSERT ON scan WHEN new.seq <= (SELECT max(seq) FROM scan)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER output_report_kept BEFORE UPDATE ON output_report BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER output_report_left BEFORE DELETE ON output_report BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER output_report_last BEFORE INSERT ON output_report WHEN new.seq <= (SELECT max(seq) FROM output_report)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER action_kept BEFORE UPDATE ON action BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER action_left BEFORE DELETE ON action BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER action_last BEFORE INSERT ON action WHEN new.seq <= (SELECT max(seq) FROM action)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER event_kept BEFORE UPDATE ON event BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER event_left BEFORE DELETE ON event BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER event_last BEFORE INSERT ON event WHEN new.seq <= (SELECT max(seq) FROM event)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER answer_kept BEFORE UPDATE ON answer BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER answer_left BEFORE DELETE ON answer BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER answer_last BEFORE INSERT ON answer WHEN new.seq <= (SELECT max(seq) FROM answer)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER alarm_kept BEFORE UPDATE ON alarm BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER alarm_left BEFORE DELETE ON alarm BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER alarm_last BEFORE INSERT ON alarm WHEN new.seq <= (SELECT max(seq) FROM alarm)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER signal_kept BEFORE UPDATE ON signal BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER signal_left BEFORE DELETE ON signal BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER signal_last BEFORE INSERT ON signal WHEN new.seq <= (SELECT max(seq) FROM signal)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER permit_kept BEFORE UPDATE ON permit BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER permit_left BEFORE DELETE ON permit BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER permit_last BEFORE INSERT ON permit WHEN new.seq <= (SELECT max(seq) FROM permit)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER stage_kept BEFORE UPDATE ON stage BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER stage_left BEFORE DELETE ON stage BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER stage_last BEFORE INSERT ON stage WHEN new.seq <= (SELECT max(seq) FROM stage)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER output_wanted_kept BEFORE UPDATE ON output_wanted BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER output_wanted_left BEFORE DELETE ON output_wanted BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER output_wanted_last BEFORE INSERT ON output_wanted WHEN new.seq <= (SELECT max(seq) FROM output_wanted)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER notice_kept BEFORE UPDATE ON notice BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER notice_left BEFORE DELETE ON notice BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER notice_last BEFORE INSERT ON notice WHEN new.seq <= (SELECT max(seq) FROM notice)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER mark_kept BEFORE UPDATE ON mark BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER mark_left BEFORE DELETE ON mark BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER mark_last BEFORE INSERT ON mark WHEN new.seq <= (SELECT max(seq) FROM mark)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER reading_set_kept BEFORE UPDATE ON reading_set BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER reading_set_left BEFORE DELETE ON reading_set BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER reading_set_last BEFORE INSERT ON reading_set WHEN new.seq <= (SELECT max(seq) FROM reading_set)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER proof_kept BEFORE UPDATE ON proof BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER proof_left BEFORE DELETE ON proof BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER proof_last BEFORE INSERT ON proof WHEN new.seq <= (SELECT max(seq) FROM proof)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER value_kept BEFORE UPDATE ON value BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER value_left BEFORE DELETE ON value BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER value_last BEFORE INSERT ON value WHEN new.seq <= (SELECT max(seq) FROM value)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER snapshot_kept BEFORE UPDATE ON snapshot BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER snapshot_left BEFORE DELETE ON snapshot BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER snapshot_last BEFORE INSERT ON snapshot WHEN new.seq <= (SELECT max(seq) FROM snapshot)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER gap_kept BEFORE UPDATE ON gap BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER gap_left BEFORE DELETE ON gap BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER gap_last BEFORE INSERT ON gap WHEN new.seq <= (SELECT max(seq) FROM gap)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER checkpoint_kept BEFORE UPDATE ON checkpoint BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER checkpoint_left BEFORE DELETE ON checkpoint BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
CREATE TRIGGER checkpoint_last BEFORE INSERT ON checkpoint WHEN new.seq <= (SELECT max(seq) FROM checkpoint)
  BEGIN SELECT raise(ABORT, 'the record is append-only'); END;
