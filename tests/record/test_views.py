"""The views say what the rows hold: raw numbers against Python's own struct (IEEE 754 and two's complement)."""
import json
import math
import sqlite3
import struct
import unittest

import made

FORMATS = {"uint16": "H", "int16": "h", "uint32": "I", "int32": "i", "uint64": "Q", "int64": "q", "float32": "f", "float64": "d"}


def number_of(words, raw_type, word_order, byte_order):
    code = FORMATS[raw_type]
    words = words[: struct.calcsize(code) // 2]
    if word_order == "little":
        words = words[::-1]
    packed = b"".join(struct.pack(">H" if byte_order == "big" else "<H", word) for word in words)
    return struct.unpack(">" + code, packed)[0]


class Numbers(made.WithRecord):
    what = "numbers"

    def test_every_raw_number_is_that_of_its_words(self):
        db = sqlite3.connect(self.record)
        self.addCleanup(db.close)
        places = db.execute("SELECT name, place, raw_type, word_order, byte_order FROM block_channel "
                            "WHERE block = 100000").fetchall()
        self.assertEqual(32, len(places))
        shown = {(seq, name): number for seq, name, number in db.execute("SELECT seq, channel, raw_number FROM reading_log")}
        counts = {"float": 0, "none": 0}
        for seq, raw, flaw in db.execute("SELECT seq, raw, flaw FROM scan"):
            words = json.loads(raw)
            for name, place, *how in places:
                expected = number_of(words[place:], *how) if flaw is None else None
                if isinstance(expected, float):
                    counts["float"] += 1
                    if not math.isfinite(expected):
                        counts["none"] += 1
                        expected = None
                if how[0] == "uint64" and expected is not None and expected >= 2**63:
                    expected = float(expected)  # SQLite's whole numbers end there.
                self.assertEqual(expected, shown[seq, name], (seq, name, how))
        self.assertGreater(counts["float"], 1000)
        self.assertGreater(counts["none"], 10)

    def test_a_flawed_answer_shows_for_every_channel(self):
        db = sqlite3.connect(self.record)
        self.addCleanup(db.close)
        rows = db.execute("SELECT raw_number, flaw FROM reading_log WHERE flaw <> 'none'").fetchall()
        self.assertEqual([(None, "no_answer")] * 32, rows)


class Views(made.WithRecord):
    def rows(self, view, *columns):
        db = sqlite3.connect(self.record)
        self.addCleanup(db.close)
        return db.execute(f"SELECT {', '.join(columns)} FROM {view} ORDER BY seq").fetchall()

    def test_bits_and_lines(self):
        self.assertEqual([("pump_running", "input", 0, None), ("D1", "channel", None, "-1.25 \"mm\"\\\r\u00ff\u0001")],
                         self.rows("reading_log WHERE channel IN ('pump_running', 'D1')",
                                   "channel", "kind", "raw_number", "raw_text"))

    def test_times_are_of_the_answer(self):
        self.assertEqual((2.9e-7, "2023-11-14T22:13:20.000Z"), self.rows("reading_log", "at_s", "time_utc")[0])

    def test_every_reading_names_its_bus_and_a_wire_of_text_has_no_unit(self):
        self.assertEqual([("D1", "dial"), ("pump_running", "gauges")],
                         sorted(set(self.rows("reading_log WHERE channel IN ('pump_running', 'D1')", "channel", "bus"))))
        self.assertEqual([("dial", 0, "line")], self.rows("block WHERE bus = 'dial'", "bus", "unit_id", "register_kind"))

    def test_what_the_system_says_of_a_wire_is_a_text_and_no_number(self):
        with sqlite3.connect(self.record) as db:
            db.execute("INSERT INTO scan SELECT max(seq) + 1000, span, at_ns, wall_ns, taken_ns, 100000, "
                       "'[\"/dev/ttyS1: No such file or directory\"]', 'not_connected' FROM scan")
        self.assertEqual({(None, "/dev/ttyS1: No such file or directory")},
                         set(self.rows("reading_log WHERE flaw = 'not_connected'", "raw_number", "raw_text")))

    def test_polls_are_told_by_bus_and_minute_sent_failed_and_never_sent(self):
        with sqlite3.connect(self.record) as db:
            for seq, quantity, count in ((3001, "answered gauges", 594), (3002, "failed gauges", 6), (3003, "answered dial", 0),
                                         (3004, "failed dial", 200), (3005, "unsent dial", 99)):
                db.execute("INSERT INTO value SELECT ?, span, at_ns, wall_ns, ?, ?, 'ratio per second', 0, 'good', NULL, NULL, 0, "
                           "oldest_ns, newest_ns FROM value LIMIT 1", (seq, "polls " + quantity, count / 60))
        self.assertEqual([("gauges", 600, 6, 0), ("dial", 200, 200, 99)], self.rows("poll_log", "bus", "sent", "failed", "unsent"))

    def test_loads_and_movements_in_their_units(self):
        self.assertEqual([("load J1", 460.0001, "good"), ("load J2", None, "bad")],
                         self.rows("load_log", "quantity", "load_kN", "quality"))
        self.assertEqual([("movement HEAD", -0.3)],
                         [(q, round(m, 12)) for q, m in self.rows("movement_log", "quantity", "movement_mm")])

    def test_alarms_stages_and_gaps(self):
        self.assertEqual([(3, "stop", "m", "Stop pumping. Keep pressure.")],
                         self.rows("alarm_log", "alarm", "level", "unit_SI", "say"))
        self.assertEqual([("Preload 50 %", "running", "observation")], self.rows("stage_log", "stage", "from_state", "to_state"))
        self.assertEqual([("2023-11-14T22:13:20.000Z", "2023-11-14T22:14:20.000Z", 60.0, "outage")],
                         self.rows("gap_log", "from_utc", "until_utc", "lasted_s", "why"))

    def test_only_loads_are_loads_and_only_movements_are_movements(self):
        with sqlite3.connect(self.record) as db:
            db.execute("INSERT INTO value SELECT seq + 1000, span, at_ns, wall_ns, 'reaction ' || quantity, value, dimension, "
                       "uncertainty, quality, cause, saturated, inferred, oldest_ns, newest_ns FROM value")
        self.assertEqual([("load J1",), ("load J2",)], self.rows("load_log", "quantity"))
        self.assertEqual([("movement HEAD",)], self.rows("movement_log", "quantity"))

    def test_a_first_out_has_its_stretch_from_60_s_before_to_120_s_after(self):
        with sqlite3.connect(self.record) as db:  # Acknowledged later, and another that was not the first: neither opens one.
            for number, first_out, state in ((3, 1, "latched_unacknowledged"), (4, 0, "normal")):
                db.execute(f"INSERT INTO alarm SELECT seq + 1000 + {number}, span, at_ns, wall_ns, {number}, subject, cause, level, "
                           f"'{state}', to_state, {first_out}, value, bound, dimension, say, by FROM alarm WHERE number = 3 "
                           "AND from_state = 'normal'")
        self.assertEqual([("2023-11-14T22:13:21.000Z", 3, "movement HEAD, Preload 50 %", "stop", -58, 122,
                           "2023-11-14T22:12:21.000Z", "2023-11-14T22:15:21.000Z")],
                         self.rows("first_out_log", "time_utc", "alarm", "subject", "level", "from_at_ns / 1000000000",
                                   "until_at_ns / 1000000000", "from_utc", "until_utc"))

    def test_an_act_stands_with_its_answer(self):
        self.assertEqual([("reset", "A. Hale", "B. Wren", 0, 0, "not_now")],
                         self.rows("action_log", "act", "person", "second_person", "verified", "accepted", "answer_code"))

    def test_what_was_entered_by_hand_stands_among_the_readings_with_who_entered_it_and_what_was_refused_does_not(self):
        with sqlite3.connect(self.record) as db:
            for seq, text, accepted in ((2001, "-2.1 mm, again -2.1 mm", 1), (2003, "7 mm, again 1 mm", 0)):
                db.execute("INSERT INTO action SELECT ?, span, at_ns, wall_ns, 'enter_reading', 'LEVEL', ?, '', 'N. Field', "
                           "'surveyor', '', '', 'command_line', 1000, 0, 0 FROM action LIMIT 1", (seq, text))
                db.execute("INSERT INTO answer SELECT ?, span, at_ns, wall_ns, 'enter_reading', ?, '', '' FROM answer LIMIT 1",
                           (seq + 1, accepted))
        self.assertEqual([("LEVEL", "by_hand", None, "-2.1 mm, again -2.1 mm", "none", "N. Field")],
                         self.rows("reading_log WHERE kind = 'by_hand'", "channel", "kind", "raw_number", "raw_text", "flaw", "by"))
        self.assertEqual({""}, {by for by, in self.rows("reading_log WHERE kind <> 'by_hand'", "by")})

    def test_outputs_wanted_written_and_read_back(self):
        self.assertEqual([("read back", 0, 1, "late"), ("wanted", 0, 0, "none"), ("written", 0, 1, "late")],
                         sorted(self.rows("output_log", "what", "raise_permit", "stop_relay", "flaw")))


if __name__ == "__main__":
    unittest.main()
