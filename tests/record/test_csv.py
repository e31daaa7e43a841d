"""The exports as Python's csv module reads them (RFC 4180)."""
import csv
import datetime
import re
import subprocess
import unittest

import made

NAMES = ["actions", "alarms", "loads", "movements", "outputs", "readings"]


class Csv(made.WithRecord):
    def setUp(self):
        super().setUp()
        self.make("csv")
        self.csv = self.record.parent / "csv"

    def lines(self, name):
        with open(self.csv / f"{name}.csv", newline="", encoding="utf-8") as file:
            return list(csv.reader(file, strict=True))

    def rows(self, name):
        with open(self.csv / f"{name}.csv", newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file, strict=True))

    def test_the_six_files_and_nothing_half_made(self):
        self.assertEqual([f"{name}.csv" for name in NAMES], sorted(path.name for path in self.csv.iterdir()))

    def test_one_header_the_same_number_of_fields_crlf_and_no_byte_order_mark(self):
        for name in NAMES:
            lines = self.lines(name)
            self.assertGreater(len(lines), 1, name)
            self.assertEqual({len(lines[0])}, {len(line) for line in lines}, name)
            self.assertEqual(["time_utc", "time_local", "monotonic_s", "simulated"], lines[0][:4])
            raw = (self.csv / f"{name}.csv").read_bytes()
            self.assertFalse(raw.startswith(b"\xef\xbb\xbf"))
            self.assertTrue(raw.endswith(b"\r\n"))
            outside = re.sub(rb'"[^"]*"', b"", raw)
            self.assertEqual(outside.count(b"\n"), outside.count(b"\r\n"))

    def test_every_line_bears_the_mark_simulated(self):
        for name in NAMES:
            self.assertEqual({"1"}, {row["simulated"] for row in self.rows(name)}, name)

    def test_times_are_the_same_instant_three_times(self):
        for name in NAMES:
            for row in self.rows(name):
                self.assertRegex(row["time_utc"], r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$")
                utc = datetime.datetime.fromisoformat(row["time_utc"].replace("Z", "+00:00"))
                self.assertEqual(utc, datetime.datetime.fromisoformat(row["time_local"]))
                float(row["monotonic_s"])

    def test_numbers_stay_numbers_and_units_stand_in_the_names(self):
        movement, load = self.rows("movements")[0], self.rows("loads")[0]
        self.assertAlmostEqual(-0.3, float(movement["movement_HEAD_mm"]), 12)
        self.assertEqual(460.0001, float(load["load_J1_kN"]))
        self.assertEqual(("", "bad"), (load["load_J2_kN"], load["quality_load_J2"]))
        self.assertEqual(0.0018, float(self.rows("alarms")[0]["bound_SI"]))

    def test_each_number_has_its_standard_uncertainty_beside_it_and_no_digit_beyond_what_is_compared(self):
        for name, unit, stated in (("loads", "kN", "load_J1"), ("movements", "mm", "movement_HEAD")):
            header = self.lines(name)[0]
            place = header.index(f"{stated}_{unit}")
            self.assertEqual([f"standard_uncertainty_{stated}_{unit}", f"quality_{stated}"], header[place + 1:place + 3])
            for row in self.rows(name):
                for column, text in row.items():
                    if column.endswith(f"_{unit}"):
                        self.assertRegex(text, r"^(-?\d+\.\d{6})?$", column)
        self.assertTrue(any(float(row["standard_uncertainty_load_J1_kN"] or 0) > 0 for row in self.rows("loads")))

    def test_text_that_looks_like_a_formula_is_guarded_and_quotes_survive(self):
        action = self.rows("actions")[0]
        self.assertEqual("'=1+1", action["value"])
        self.assertEqual('gauge mended, "seen" by both', action["reason"])
        self.assertEqual("'-the condition still stands", action["answer"])
        lines = {row["channel"]: row["raw_text"] for row in self.rows("readings")}
        self.assertEqual("'-1.25 \"mm\"\\\r\u00ff\u0001", lines["D1"])

    def test_readings_have_a_line_for_each_channel_of_each_answer(self):
        readings = self.rows("readings")
        self.assertEqual(32 * 2 + 1 + 1, len(readings))
        self.assertEqual({"12345"}, {row["raw_number"] for row in readings if row["channel"] == "0Bb" and row["flaw"] == "none"})
        self.assertEqual({"D1": "dial", "pump_running": "gauges"},
                         {row["channel"]: row["bus"] for row in readings if row["channel"] in ("D1", "pump_running")})
        self.assertEqual({""}, {row["by"] for row in readings})


if __name__ == "__main__":
    unittest.main()
