"""A level that a surveyor reads and enters, with the real programs: typed twice, shown hollow with its age, kept over a kill."""
import os
import pty
import re
import sqlite3
import subprocess
import sys
import unittest

import program_test
from program_test import USAGE, Site, wait_for

LEVEL = "  LEVEL: {by_hand: true, every: 12 h, range: [-20 mm, 20 mm], accuracy: 0.3 mm, resolution: 0.1 mm}\n"
LIMIT = "      - {of: channel LEVEL, hold: {beyond: 2 mm, persist: 10 s}, stop: {beyond: 4 mm}}\n"


class ByHand(Site):
    def start_rig(self):
        rig = super().start_rig()
        text = (self.job / "rig.yaml").read_text()
        (self.job / "rig.yaml").write_text(text.replace("\njacks:\n", LEVEL + "\njacks:\n", 1))
        plan = (self.job / "stages.yaml").read_text()
        of_loads = "      - {of: load J*, hold: {above: 10 % of full target}, stop: {above: rated}}\n"
        (self.job / "stages.yaml").write_text(plan.replace(of_loads, of_loads + LIMIT, 1))
        return rig

    def adopt(self):
        self.done("people", "add", "N. Field", "--role", "surveyor", "--as", "E. Quill")
        revision = re.search(r"revision (\w+)", self.done("check", str(self.job)))[1]
        self.done("offer", "--as", "T. Marsh")
        self.done("adopt", revision, "--as", "E. Quill", "--second", "S. Vane")
        wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"] if not c["by_hand"]))
        wait_for("outputs", lambda: self.picture()["outputs"]["answered"])

    def level(self):
        return next(c for c in self.picture()["channels"] if c["name"] == "LEVEL")

    def enter(self, value, again=None):
        return self.say("enter", "LEVEL", value, *([] if again is None else ["--again", again]), "--as", "N. Field")

    def test_a_reading_by_hand_is_entered_twice_shown_hollow_and_kept_over_a_kill(self):
        daemon = self.working_site()
        self.done("stage", "enter", "Commission", "--as", "S. Vane")
        self.assertIn("instrument LEVEL", self.done("alarms"))
        once = self.enter("-0.4 mm")
        self.assertEqual(USAGE, once.returncode)
        self.assertIn("--again VALUE", once.stderr)
        differs = self.enter("-0.4 mm", "-4.0 mm")
        self.assertEqual(1, differs.returncode)
        self.assertIn("entered -0.4 mm and then -4.0 mm", differs.stderr)
        self.assertEqual(1, self.enter("-0.4", "-0.4").returncode)
        self.assertEqual("bad", self.level()["reading"]["quality"])
        self.assertIn("entered: LEVEL -0.4 mm", self.done("enter", "LEVEL", "-0.4 mm", "--again", "-0.4 mm", "--as", "N. Field"))
        self.within_limits()
        self.assertRegex(self.done("readings", "LEVEL"), r"LEVEL +\u25cb -0\.4\d* mm +0:0\d  good .* by hand")
        self.assertRegex(self.done("limits"), r"channel LEVEL +\u25cb -0\.4\d* mm .*by hand 0:0\d ago")
        self.assertRegex(self.say("status").stdout, r"channel LEVEL, by hand 0:\d\d ago +\u25cb -0\.4\d* mm")
        entered = self.level()
        daemon.kill()
        daemon.wait()
        self.start_daemon()
        kept = self.level()
        self.assertEqual(entered["reading"]["si"], kept["reading"]["si"])
        self.assertGreaterEqual(kept["reading"]["age_ms"], entered["reading"]["age_ms"])
        wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"]))
        self.within_limits()
        self.assertIn("N. Field (surveyor) asked to enter the reading of LEVEL: -0.4 mm, again -0.4 mm", self.done("events"))
        beyond = self.enter("4.1 mm", "4.1 mm")
        self.assertEqual(0, beyond.returncode)
        self.assertRegex(beyond.stdout, r"STOP  channel LEVEL")
        wait_for("the record", lambda: self.rows() == [(None, "-0.4 mm, again -0.4 mm", "N. Field"),
                                                       (None, "4.1 mm, again 4.1 mm", "N. Field")])
        self.assertIn("the same decisions", self.done("replay", str(self.job)))

    def rows(self):
        db = sqlite3.connect(f"file:{self.job}/record.db?mode=ro", uri=True)
        rows = db.execute("SELECT raw_number, raw_text, by FROM reading_log WHERE channel = 'LEVEL' ORDER BY seq").fetchall()
        db.close()
        return rows

    def test_on_a_terminal_it_is_asked_for_a_second_time(self):
        self.working_site()
        person, terminal = pty.openpty()
        self.addCleanup(os.close, person)
        said = subprocess.Popen([program_test.STANDFAST, "enter", "LEVEL", "0.4 mm", "--as", "N. Field", "--station", str(self.station)],
                                stdin=terminal, stdout=terminal, stderr=terminal)
        os.close(terminal)
        text = b""
        while b"again, with its unit: " not in text:
            text += os.read(person, 1000)
        self.assertEqual("bad", self.level()["reading"]["quality"])
        os.write(person, b"0.4 mm\n")
        self.assertEqual(0, said.wait())
        self.assertEqual(0.0004, self.level()["reading"]["si"])

    def test_a_reading_is_not_kept_as_a_note_and_a_note_is_none(self):
        self.working_site()
        lost = self.say("enter", "LEVLE", "0.4 mm", "--as", "N. Field")
        self.assertEqual(1, lost.returncode)
        self.assertIn("LEVEL is a channel that is read by hand", lost.stderr)
        self.assertIn("did you mean 'LEVEL'?", self.say("enter", "LEVLE", "0.4 mm", "--again", "0.4 mm", "--as", "N. Field").stderr)
        self.assertIn("entered: weather", self.done("enter", "weather", "wind from the north", "--as", "N. Field"))


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
