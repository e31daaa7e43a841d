"""standfastd and standfast as programs on a bad day: a record that is not trusted, a crowded socket, an old picture."""
import re
import signal
import socket
import subprocess
import sys
import unittest

import program_test
from program_test import Site


class HardDays(Site):
    def test_a_new_record_is_begun_beside_one_that_is_not_trusted_by_a_named_person_and_while_no_daemon_runs(self):
        (self.job / "record.db").touch()
        begin = [program_test.STANDFASTD, "--job", self.job, "--station", self.station, "--begin-new-record"]
        daemon = self.start_daemon()
        named = [*begin, "--as", "E. Quill", "--reason", "the disk was changed"]
        self.assertEqual(73, subprocess.run(named, capture_output=True).returncode)
        daemon.send_signal(signal.SIGTERM)
        daemon.wait()
        self.assertEqual(78, subprocess.run(begin, capture_output=True).returncode)
        self.crew()
        stranger = subprocess.run([*begin, "--as", "N. Obody", "--reason", "x"], capture_output=True, text=True)
        self.assertEqual(78, stranger.returncode, stranger.stdout)
        self.assertIn("'N. Obody' is not on the station's list of people", stranger.stderr)
        begun = subprocess.run(named, capture_output=True, text=True)
        self.assertEqual(0, begun.returncode, begun.stderr)
        self.assertIn("record.db.set-aside-1", begun.stdout)
        self.assertEqual(b"", (self.job / "record.db.set-aside-1").read_bytes())
        self.start_daemon()
        self.assertEqual("healthy", self.picture()["record"]["state"])
        self.assertEqual("hold", self.picture()["signal"]["level"])
        self.assertIn("Begun by E. Quill (not verified): the disk was changed", self.done("events"))

    def test_a_daemon_that_is_killed_again_and_again_says_so_and_an_engineer_and_a_second_person_reset_it(self):
        """[fault-28]"""
        self.crew()
        for killed in range(3):
            daemon = self.start_daemon()
            self.assertNotIn("restarting again and again", self.done("alarms"))
            daemon.kill()
            daemon.wait()
        daemon = self.start_daemon()
        self.assertIn("restarting again and again", self.done("alarms"))
        self.done("acknowledge", "all")
        number = next(a["number"] for a in self.picture()["alarms"] if a["subject"] == "restarting again and again")
        reset = ["reset", str(number), "--reason", "power supply changed"]
        self.assertNotEqual(0, self.say(*reset, "--as", "S. Vane").returncode)
        self.assertNotEqual(0, self.say(*reset, "--as", "E. Quill").returncode)
        self.done(*reset, "--as", "E. Quill", "--second", "S. Vane")
        daemon.send_signal(signal.SIGTERM)
        daemon.wait()
        self.start_daemon()
        self.assertNotIn("restarting again and again", self.done("alarms"))

    def test_a_stop_is_heard_whatever_its_words_are_and_however_many_hold_the_line(self):
        self.working_site()
        lines = []
        for _ in range(64):
            line = socket.socket(socket.AF_UNIX)
            self.addCleanup(line.close)
            line.connect(str(self.station / "standfast.sock"))
            lines.append(line)
        self.assertIn("STOP called", self.done("stop", "crack " * 200 + "\n\t\x07"))
        for body in (b"", b'{"reason": "cra', b"\xff\xfe", b"x" * 200_000):
            peer = socket.socket(socket.AF_UNIX)
            self.addCleanup(peer.close)
            peer.connect(str(self.station / "standfast.sock"))
            peer.sendall(b"POST /v1/stop HTTP/1.1\r\nContent-Type: text/plain\r\nContent-Length: %d\r\n\r\n" % len(body) + body)
            self.assertIn(b"HTTP/1.1 200", peer.recv(4096))
        self.done("permit", "end")
        self.done("acknowledge", "all")
        alarms = self.done("alarms")
        self.assertIn("stop called: crack", alarms)
        self.assertNotIn("\x07", alarms)

    def test_a_stop_is_called_in_capitals_and_with_one_slip_and_two_slips_are_another_word(self):
        self.working_site()
        for number, word in enumerate(("STOP", "Stop", "stopp", "stp", "sotp", "SOTP")):
            self.assertIn("STOP called", self.done(word, "crack", str(number)))
        for word in ("steop2", "strap", "st"):
            self.assertEqual(program_test.USAGE, self.say(word, "crack").returncode, word)
        said = self.done("events")
        self.assertTrue(all(f"crack {number}" in said for number in range(6)))

    def test_an_adoption_decided_on_an_old_picture_is_refused(self):
        self.working_site()
        revision = re.search(r"revision (\w+)", self.done("check", str(self.job)))[1]
        self.done("offer", "--as", "T. Marsh")
        said = self.say("adopt", revision, "--as", "E. Quill", "--second", "S. Vane", "--seen", "1")
        self.assertEqual(75, said.returncode, said.stderr)
        shown = self.say("adopt", revision, "--as", "E. Quill", "--second", "S. Vane")
        self.assertEqual(0, shown.returncode, shown.stderr)
        self.assertRegex(shown.stderr, r"decided on picture \d+")

    def test_the_note_that_lets_the_pressure_go_higher_is_entered_on_what_was_seen(self):
        self.working_site()
        note = ["enter", "jack valves shut", "by hand", "--as", "T. Marsh", "--second", "S. Vane"]
        self.assertEqual(75, self.say(*note, "--seen", "1").returncode)
        shown = self.say(*note)
        self.assertEqual(0, shown.returncode, shown.stderr)
        self.assertRegex(shown.stderr, r"decided on picture \d+")
        weather = self.say("enter", "weather", "wind from the north", "--as", "T. Marsh")
        self.assertNotIn("decided on", weather.stderr)


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
