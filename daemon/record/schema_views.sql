-- What an auditor reads, with any SQLite program. time_utc is the wall clock in UTC, cut to milliseconds; at_s counts the
-- seconds since the machine's boot on a clock that never steps. In order: SELECT * FROM alarm_log ORDER BY seq.

-- Raw answers taken apart: one row for each channel or input of each answer, its number as the instrument sent it, before
-- any scale. What a person read and entered stands among them: its kind is by_hand, raw_text what was entered, twice, raw_number
-- the first number of that, by who entered it; what was refused stands in action_log alone. A value of several words is put together by its word and byte order. A float is read as IEEE 754 binary32 or
-- binary64 (no number where it is infinite or none): significand times two to the exponent, by exact steps.
CREATE VIEW block_place AS
  SELECT block, bus, name, kind, raw_type, byte_order, words,
         '$[' || (CASE word_order WHEN 'little' THEN place + words - 1 ELSE place END) || ']' AS path0,
         '$[' || (CASE word_order WHEN 'little' THEN place + words - 2 ELSE place + 1 END) || ']' AS path1,
         '$[' || (CASE word_order WHEN 'little' THEN place + words - 3 ELSE place + 2 END) || ']' AS path2,
         '$[' || (CASE word_order WHEN 'little' THEN place + words - 4 ELSE place + 3 END) || ']' AS path3
    FROM (SELECT c.*, b.bus, CASE WHEN raw_type LIKE '%32' THEN 2 WHEN raw_type LIKE '%64' THEN 4 ELSE 1 END AS words
            FROM block_channel AS c JOIN block AS b ON b.key = c.block);

CREATE VIEW reading_words AS
  SELECT s.seq, s.span, coalesce(s.taken_ns, s.at_ns) AS at_ns, s.wall_ns, c.bus, c.name, c.kind, c.raw_type, c.byte_order,
         CASE WHEN c.raw_type = 'text' OR s.raw LIKE '["%' THEN json_extract(s.raw, '$[0]') END AS raw_text,
         CASE WHEN c.raw_type = 'text' OR s.raw LIKE '["%' THEN NULL
              WHEN c.words = 1 THEN json_extract(s.raw, path0)
              WHEN c.words = 2 THEN (json_extract(s.raw, path0) << 16) | json_extract(s.raw, path1)
              ELSE (json_extract(s.raw, path0) << 48) | (json_extract(s.raw, path1) << 32)
                   | (json_extract(s.raw, path2) << 16) | json_extract(s.raw, path3) END AS words,
         coalesce(s.flaw, 'none') AS flaw
    FROM scan AS s JOIN block_place AS c ON c.block = s.block;

CREATE VIEW reading_bits AS
  SELECT seq, span, at_ns, wall_ns, bus, name, kind, raw_type, raw_text, flaw,
         CASE byte_order
           WHEN 'little' THEN ((words & 0x00FF00FF00FF00FF) << 8) | ((words >> 8) & 0x00FF00FF00FF00FF)
           ELSE words END AS bits
    FROM reading_words;

CREATE VIEW reading_parts AS
  SELECT *, CASE WHEN raw_type = 'float32' THEN (bits >> 23) & 255 ELSE (bits >> 52) & 2047 END AS exponent,
         CASE WHEN raw_type = 'float32' THEN bits & 0x7FFFFF ELSE bits & 0xFFFFFFFFFFFFF END AS fraction,
         CASE WHEN raw_type = 'float32' THEN 0x800000 ELSE 0x10000000000000 END AS leading,
         CASE WHEN raw_type = 'float32' THEN 255 ELSE 2047 END AS not_finite,
         CASE WHEN raw_type = 'float32' THEN 150 ELSE 1075 END AS bias,
         CASE WHEN (raw_type = 'float32' AND bits & 0x80000000) OR (raw_type = 'float64' AND bits < 0) THEN -1.0
              ELSE 1.0 END AS sign
    FROM reading_bits;

CREATE VIEW reading_power AS
  SELECT *, sign * (fraction + CASE exponent WHEN 0 THEN 0 ELSE leading END) AS significand,
         max(exponent, 1) >= bias AS upwards, abs(max(exponent, 1) - bias) AS power
    FROM reading_parts;

CREATE VIEW reading_steps AS
  SELECT *, 4294967296.0 * 4294967296.0 AS two_to_64,
         (CASE WHEN power & 1 THEN 2.0 ELSE 1.0 END) * (CASE WHEN power & 2 THEN 4.0 ELSE 1.0 END)
         * (CASE WHEN power & 4 THEN 16.0 ELSE 1.0 END) * (CASE WHEN power & 8 THEN 256.0 ELSE 1.0 END)
         * (CASE WHEN power & 16 THEN 65536.0 ELSE 1.0 END) * (CASE WHEN power & 32 THEN 4294967296.0 ELSE 1.0 END) AS below_64
    FROM reading_power;

CREATE VIEW reading_factor AS
  SELECT *, below_64 * (CASE WHEN power & 64 THEN two_to_64 ELSE 1.0 END)
         * (CASE WHEN power & 128 THEN two_to_64 * two_to_64 ELSE 1.0 END)
         * (CASE WHEN power & 256 THEN two_to_64 * two_to_64 * two_to_64 * two_to_64 ELSE 1.0 END) AS below_512,
         two_to_64 * two_to_64 * two_to_64 * two_to_64 * two_to_64 * two_to_64 * two_to_64 * two_to_64 AS two_to_512
    FROM reading_steps;

CREATE VIEW reading_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, name AS channel, kind,
         CASE
           WHEN raw_type IN ('bit', 'uint16', 'uint32', 'int64') THEN bits
           WHEN raw_type = 'int16' THEN bits - (bits >> 15) * 0x10000
           WHEN raw_type = 'int32' THEN bits - (bits >> 31) * 0x100000000
           WHEN raw_type = 'uint64' THEN CASE
             WHEN bits < 0 THEN ((bits >> 32) & 0xFFFFFFFF) * 4294967296.0 + (bits & 0xFFFFFFFF) ELSE bits END
           WHEN exponent = not_finite THEN NULL
           WHEN upwards THEN significand * below_512 * (CASE WHEN power & 512 THEN two_to_512 ELSE 1.0 END)
           ELSE significand / below_512 / (CASE WHEN power & 512 THEN two_to_512 ELSE 1.0 END)
                / (CASE WHEN power & 1024 THEN two_to_512 ELSE 1.0 END)
                / (CASE WHEN power & 1024 THEN two_to_512 ELSE 1.0 END) END AS raw_number,
         raw_text, flaw, '' AS by, bus
    FROM reading_factor
  UNION ALL
  SELECT seq, time_utc, at_s, at_ns, wall_ns, span, object, 'by_hand', NULL, value, 'none', person, 'by hand'
    FROM action_log WHERE act = 'enter_reading' AND accepted = 1;

-- How the polls of each bus fared, minute by minute; time_utc is the end of the minute. sent are the polls that went out, failed
-- those of them without a good answer, unsent those that were due and never went out: the line was full, or the machine late. Each
-- single failure stands in reading_log.
CREATE VIEW poll_minute AS
  SELECT seq, span, at_ns, wall_ns, quantity, CAST(round(value * 60) AS INTEGER) AS polls
    FROM value WHERE quantity GLOB 'polls *';

CREATE VIEW poll_log AS
  SELECT a.seq, strftime('%Y-%m-%dT%H:%M:%S', a.wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', a.wall_ns / 1000000 % 1000) AS time_utc,
         a.at_ns / 1e9 AS at_s, a.at_ns, a.wall_ns, a.span, substr(a.quantity, 16) AS bus,
         a.polls + f.polls AS sent, f.polls AS failed, coalesce(u.polls, 0) AS unsent
    FROM poll_minute AS a JOIN poll_minute AS f ON f.seq = a.seq + 1
         LEFT JOIN poll_minute AS u ON u.seq = a.seq + 2 AND u.quantity = 'polls unsent ' || substr(a.quantity, 16)
   WHERE a.quantity GLOB 'polls answered *';

-- Loads in kN and movements in mm as the engine computed them; empty where there is no number.
CREATE VIEW load_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, quantity, value / 1000.0 AS load_kN,
         uncertainty / 1000.0 AS uncertainty_kN, quality, cause, inferred
    FROM value WHERE dimension = 'force' AND quantity GLOB 'load *';

CREATE VIEW movement_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, quantity, value * 1000.0 AS movement_mm,
         uncertainty * 1000.0 AS uncertainty_mm, quality, cause, inferred
    FROM value WHERE dimension = 'length' AND quantity GLOB 'movement *';

CREATE VIEW si_unit (dimension, unit) AS
  WITH base (name, unit) AS (VALUES
         ('force', 'N'), ('pressure', 'Pa'), ('length', 'm'), ('area', 'm2'), ('temperature', 'K'),
         ('temperature difference', 'K'), ('duration', 's'), ('ratio', '1'), ('current', 'A'), ('angle', 'rad'),
         ('stiffness', 'N/m'), ('moment', 'N m')),
       per (name, unit) AS (VALUES ('', ''), (' per second', '/s'), (' per decade', '/decade'))
  SELECT base.name || per.name, base.unit || per.unit FROM base, per;

CREATE VIEW alarm_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, number AS alarm, subject, level, cause, from_state, to_state,
         first_out, value AS value_SI, bound AS bound_SI,
         (SELECT unit FROM si_unit WHERE si_unit.dimension = alarm.dimension) AS unit_SI, say, by
    FROM alarm;

-- What opened while nothing else called for HOLD or STOP, and the stretch to look at first: 60 s before it to 120 s after it.
CREATE VIEW first_out_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, number AS alarm, subject, level,
         at_ns - 60000000000 AS from_at_ns, at_ns + 120000000000 AS until_at_ns,
         strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000 - 60, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS from_utc,
         strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000 + 120, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS until_utc
    FROM alarm WHERE first_out = 1 AND from_state = 'normal';

CREATE VIEW stage_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, stage, step, from_state, to_state, by, second, facts
    FROM stage;

-- Each act with its answer: the first answer behind it and before the next act.
CREATE VIEW action_log AS
  SELECT a.seq, strftime('%Y-%m-%dT%H:%M:%S', a.wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', a.wall_ns / 1000000 % 1000) AS time_utc,
         a.at_ns / 1e9 AS at_s, a.at_ns, a.wall_ns, a.span, a.act, a.object, a.value, a.reason, a.person, a.role,
         a.second_person, a.second_role, a.way, a.peer_uid, a.verified,
         b.accepted, b.code AS answer_code, b.text AS answer
    FROM action AS a LEFT JOIN answer AS b
      ON b.seq = (SELECT min(seq) FROM answer WHERE seq > a.seq)
         AND b.seq < coalesce((SELECT min(seq) FROM action WHERE seq > a.seq), b.seq + 1);

-- What was wanted of the outputs, what was written, and what was read back (empty: no read-back).
CREATE VIEW output_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000) AS time_utc,
         at_ns / 1e9 AS at_s, at_ns, wall_ns, span, 'wanted' AS what, raise_permit, lower_permit, stop_relay, sounder,
         beacon, call_out, heartbeat, 'none' AS flaw
    FROM output_wanted
  UNION ALL
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000),
         coalesce(taken_ns, at_ns) / 1e9, coalesce(taken_ns, at_ns), wall_ns, span, 'written', raise_permit, lower_permit,
         stop_relay, sounder, beacon, call_out, heartbeat, coalesce(flaw, 'none')
    FROM output_report
  UNION ALL
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', wall_ns / 1000000 % 1000),
         coalesce(taken_ns, at_ns) / 1e9, coalesce(taken_ns, at_ns), wall_ns, span, 'read back', raise_permit_read,
         lower_permit_read, stop_relay_read, sounder_read, beacon_read, call_out_read, heartbeat_read,
         coalesce(flaw, 'none')
    FROM output_report;

CREATE VIEW gap_log AS
  SELECT seq, strftime('%Y-%m-%dT%H:%M:%S', from_wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', from_wall_ns / 1000000 % 1000) AS from_utc,
         strftime('%Y-%m-%dT%H:%M:%S', until_wall_ns / 1000000000, 'unixepoch')
         || printf('.%03dZ', until_wall_ns / 1000000 % 1000) AS until_utc,
         (until_wall_ns - from_wall_ns) / 1e9 AS lasted_s, lost AS rows_lost, why, span, at_ns, wall_ns
    FROM gap;
