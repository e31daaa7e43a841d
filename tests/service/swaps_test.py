"""A gauge is swapped on the simulated rig while the real daemon watches: another one, that stands elsewhere, on the same wire."""
import sqlite3
import subprocess
import sys
import unittest

import program_test
from program_test import wait_for
from rig_site import RigSite


class Swaps(RigSite):
    def channel(self, name):
        return next(c for c in self.picture()["channels"] if c["name"] == name)

    def number(self, name):
        """mm; nothing while there is none."""
        reading = self.channel(name)["reading"]
        return reading["si"] * 1000 if reading["quality"] == "good" else None

    def at_snug(self):
        """The baseline is taken; the stage needs every gauge of the head."""
        daemon = self.working_site()
        self.done("stage", "skip", "Commission", "--as", "E. Quill", "--second", "S. Vane", "--reason", "not what is tested")
        self.done("stage", "enter", "Baseline", "--as", "S. Vane")
        wait_for("the baseline", lambda: self.picture()["stage"]["state"] == "criteria_met")
        self.done("stage", "propose", "--as", "T. Marsh")
        self.done("stage", "approve", "--as", "E. Quill")
        self.done("stage", "enter", "Snug", "--as", "S. Vane")
        return daemon

    def swap(self, *words):
        return self.done("swap", "G2", *words, "--as", "T. Marsh")

    def next_is(self, words):
        wait_for(words, lambda: words in self.done("swap"))

    def another_gauge_is_plugged_in(self):
        self.obeys("mend G2")
        self.obeys("gauge G2 knocked +2.3 mm")

    def proved_by_feeler(self):
        wait_for("a gauge that stands still", lambda: self.say("swap", "G2", "feeler", "1.00 mm", "--as", "T. Marsh").returncode == 0)
        self.next_is("put the feeler of 1.000 mm under G2")
        self.obeys("gauge G2 knocked +1.00 mm")
        self.next_is("draw the feeler")
        self.obeys("gauge G2 knocked -1.00 mm")
        self.next_is("an engineer approves")

    def test_a_gauge_is_unplugged_another_is_plugged_in_and_proved_and_the_movement_goes_on(self):
        daemon = self.at_snug()
        before = self.number("G2")
        self.obeys("gauge G2 unplugged")
        wait_for("the alarm", lambda: self.alarm("instrument G2"))
        number = self.alarm("instrument G2")["number"]
        mistyped = self.say("swap", "G2", "feler", "1.00 mm", "--as", "T. Marsh")
        self.assertEqual(program_test.USAGE, mistyped.returncode)
        self.assertIn("did you mean 'feeler'?", mistyped.stderr)
        self.assertEqual(program_test.USAGE, self.say("swap", "G2", "--as", "T. Marsh").returncode)
        alone = self.say("swap", "G2", "--certificate", "G-207", "--due", "2099-05-01", "--as", "T. Marsh")
        self.assertEqual(program_test.NOT_PERMITTED, alone.returncode)
        begun = self.swap("--certificate", "G-207", "--due", "2099-05-01", "--second", "S. Vane")
        self.assertIn("G2: next: prove it by a feeler", begun)
        self.assertEqual("being-swapped", self.channel("G2")["reading"]["cause"])
        self.another_gauge_is_plugged_in()
        self.proved_by_feeler()
        approved = self.say("swap", "G2", "approve", "--as", "E. Quill")
        self.assertEqual(0, approved.returncode, approved.stderr)
        shown = approved.stderr  # What it was decided on.
        self.assertIn("by G1 it went up by", shown)
        self.assertIn("(offset -2.", shown)
        wait_for("a value", lambda: self.number("G2") is not None)
        self.assertAlmostEqual(before, self.number("G2"), delta=0.05)
        self.assertEqual("G-207", self.channel("G2")["certificate"])
        self.assertIn("G2: certificate G-207, due 2099-05-01", self.done("readings", "G2"))
        self.assertIn("no instrument is being swapped", self.done("swap"))
        self.done("acknowledge", "all")
        reset = ["reset", "all", "--as", "T. Marsh", "--reason", "gauge swapped"]
        wait_for("the technician's reset", lambda: self.say(*reset).returncode == 0)
        self.assertEqual("none", self.level())
        wait_for("no other alarm", lambda: not self.picture()["alarms"])
        happened = self.done("events")
        self.assertEqual(1, happened.count("instrument G2) came"))
        self.assertIn(f"alarm {number} ", happened)
        offset = self.channel("G2")["join_offset_si"]
        daemon.kill()
        daemon.wait()
        self.start_daemon()
        wait_for("a value", lambda: self.number("G2") is not None)
        self.assertEqual(offset, self.channel("G2")["join_offset_si"])
        self.assertAlmostEqual(before, self.number("G2"), delta=0.05)
        self.join_is_recomputed(offset)

    def join_is_recomputed(self, offset):
        """From the rows alone, and the whole again by replay."""
        with sqlite3.connect(f"file:{self.job / 'record.db'}?mode=ro", uri=True) as record:
            rows = dict(record.execute("SELECT quantity, value FROM value WHERE quantity GLOB 'swap G2 *'"))
            acts = [act for act, in record.execute("SELECT act FROM action_log WHERE act GLOB 'swap_*' AND accepted ORDER BY seq")]
        self.assertEqual(offset, rows["swap G2 offset"])
        self.assertEqual(offset, rows["swap G2 stood"] + rows["swap G2 moved"] - rows["swap G2 shown"])
        self.assertEqual(["swap_begin", "swap_prove", "swap_approve"], acts)
        replayed = subprocess.run([program_test.STANDFAST, "replay", self.job], capture_output=True, text=True)
        self.assertEqual(0, replayed.returncode, replayed.stdout + replayed.stderr)


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
