"""A stop as hands type it: mistyped, with options in front of it, in any script, and too long."""
import sqlite3
import subprocess
import sys
import unittest

import program_test as programs


class TypedStop(programs.Site):
    def test_a_stop_is_called_whatever_was_mistyped_behind_it(self):
        self.working_site()
        self.assertEqual(0, self.say("stop", "--raeson", "crack", "at", "needle", "2").returncode)
        self.assertEqual(5, self.say("status").returncode)
        for words in (["stop", "--as"], ["stop"] + ["crack"] * 500, ["stop", "a\nb\x01"], ["stop", "--reason", "--reason"]):
            self.assertEqual(0, self.say(*words).returncode, words)
        self.assertIn("crack at needle 2", self.done("events"))

    def test_a_stop_is_called_with_options_in_front_of_it(self):
        self.working_site()
        station = str(self.station)
        for words in (["--station", station, "stop", "one"], [f"--station={station}", "stop", "two"],
                      ["--as", "S. Vane", "--json", "--station", station, "stop", "three"], ["--raeson", "--station", station, "stop"]):
            said = subprocess.run([programs.STANDFAST, *words], capture_output=True, text=True)
            self.assertEqual(0, said.returncode, (words, said.stderr))
            self.assertIn("STOP called", said.stdout, words)
        self.done("acknowledge", "all")
        told = self.done("events")
        for word in ("stop called: one", "stop called: two", "three"):
            self.assertIn(word, told)

    def test_only_the_word_of_the_command_calls_a_stop(self):
        self.working_site()
        for words in (["--station", "stop", "status"], ["--as", "stop"], ["--station", str(self.station), "status", "stop"]):
            said = subprocess.run([programs.STANDFAST, *words], capture_output=True, text=True)
            self.assertEqual(programs.USAGE, said.returncode, (words, said.stdout))
        self.assertNotEqual("stop", self.picture()["signal"]["level"])

    def test_the_words_of_a_stop_are_kept_in_any_script_up_to_their_bound(self):
        self.working_site()
        words = "\u0442\u0440\u0435\u0449\u0438\u043d\u0430 \u0432 \u0441\u0442\u0435\u043d\u0435"
        self.done("stop", *words.split())
        self.done("stop", "\u00e9" * 400)
        self.done("stop", b"half a character \xd0")
        self.done("stop", "a" * 100_000, "--as", "S. Vane")
        self.done("acknowledge", "all")
        asked = sqlite3.connect(f"file:{self.job / 'record.db'}?mode=ro", uri=True)
        self.addCleanup(asked.close)
        rows = asked.execute("SELECT reason, person FROM action_log WHERE act = 'stop' ORDER BY seq").fetchall()
        self.assertEqual([(words, ""), ("\u00e9" * 148 + "...", ""), ("half a character \\xd0", ""), ("a" * 297 + "...", "S. Vane")],
                         [(reason, by or "") for reason, by in rows])


if __name__ == "__main__":
    programs.STANDFASTD, programs.STANDFAST, programs.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
