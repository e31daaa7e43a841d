"""`run-demo --stay` leaves rig and daemon answering, and ends both in order at Ctrl-C. With a job of one step, so that it is short."""
import pathlib
import re
import signal
import socket
import subprocess
import sys
import tempfile
import unittest

HERE = pathlib.Path(__file__).resolve().parent
BUILD = pathlib.Path()
A_SHORT_DAY = """
import sys
sys.path.insert(0, sys.argv.pop(1))
import demo, job
job.Job.do_all = job.Job.adopt
demo.judge = lambda module, alarms: None
demo.main()
"""
ONLY_A_GUARD_S = 120


class Stay(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name).resolve()
        self.demo = subprocess.Popen(
            [sys.executable, "-c", A_SHORT_DAY, HERE.parents[1] / "tools/demo", "--build", BUILD, "--folder", self.folder, "--stay"],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True)
        self.addCleanup(self.demo.stdout.close)
        self.addCleanup(self.demo.wait)
        self.addCleanup(self.demo.kill)
        self.said = ""
        for line in self.demo.stdout:
            self.said += line
            if "End with Ctrl-C." in line:
                break

    def status(self):
        client = [BUILD / "tools/standfast/standfast", "status", "--station", self.folder / "station"]
        return subprocess.run(client, capture_output=True, text=True)

    def rig_answers(self):
        try:
            with socket.socket(socket.AF_UNIX) as wire:
                wire.connect(str(self.folder / "rig.socket"))
                wire.sendall(b"state\n")
                return bool(wire.makefile().readline())
        except OSError:
            return False

    def test_rig_and_daemon_go_on_until_ctrl_c_and_then_both_are_gone_and_the_record_replays(self):
        self.assertRegex(self.said, r"Rig and daemon go on\. Look: \S+ watch --station \S+")
        self.assertRegex(self.said, r"the run took \d+ s")
        self.assertIsNone(self.demo.poll())
        self.assertIn("WITHIN LIMITS", self.status().stdout)
        self.assertTrue(self.rig_answers())
        self.demo.send_signal(signal.SIGINT)
        rest, _ = self.demo.communicate(timeout=ONLY_A_GUARD_S)
        self.assertEqual(0, self.demo.returncode, rest)
        self.assertIn("the same decisions, byte for byte", rest)
        self.assertEqual(69, self.status().returncode)
        self.assertFalse(self.rig_answers())
        self.assertNotIn("Traceback", self.said + rest)
        self.assertTrue(re.search(r"standfast replay \S+", self.said))


if __name__ == "__main__":
    BUILD = pathlib.Path(sys.argv[1]).resolve()
    unittest.main(argv=sys.argv[:1] + sys.argv[2:], verbosity=2)
