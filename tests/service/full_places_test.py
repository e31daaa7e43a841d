"""A machine whose root is read-only and whose /tmp is full: the daemon needs its job's folder and the station's, nothing else.

The daemon runs in a namespace of mounts of its own (unshare(1)); where the system lets nobody make one, the test is skipped."""
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import unittest

import program_test
from program_test import wait_for
from rig_site import RigSite

# What it shall not need is taken away before it starts. 92: the system makes no such machine; 90 and 91: it is none after all.
BARE = """
mount --bind "$1" /srv && mount -t tmpfs -o size=4k tmpfs /tmp && mount -o remount,bind,ro / || exit 92
cat /dev/zero > /tmp/full 2> /dev/null
touch /written 2> /dev/null && exit 90
echo word 2> /dev/null > /tmp/word && [ -s /tmp/word ] && exit 91
exec /srv/standfastd --job /srv/job --station /srv/station
"""
UNSHARE = ["unshare", "--mount", "--propagation", "private"] + ([] if os.geteuid() == 0 else ["--map-root-user"])


class FullPlaces(RigSite):
    def setUp(self):
        super().setUp()
        made = subprocess.run([*UNSHARE, "sh", "-c", BARE.replace("exec ", "exit 0; "), "sh", str(self.folder)],
                              capture_output=True, text=True)
        if made.returncode == 92 or "unshare" in made.stderr:
            self.skipTest("this system mounts nothing for us: " + made.stderr.strip())
        self.assertEqual(0, made.returncode, made.stderr)
        shutil.copy(program_test.STANDFASTD, self.folder / "standfastd")

    def start_daemon(self):
        daemon = self.program(*UNSHARE, "sh", "-c", BARE, "sh", self.folder, stderr=subprocess.DEVNULL)
        wait_for("the daemon to answer", lambda: self.say("status").returncode != program_test.NOT_REACHABLE or daemon.poll() is not None)
        return daemon

    def test_on_a_read_only_root_with_a_full_tmp_it_permits_withdraws_records_and_starts_again(self):
        """[fault-50]"""
        daemon = self.armed()
        self.obeys("gauge P1 unplugged")
        wait_for("the permit's contact to open", lambda: not self.contact("raise_permit"))
        self.assertEqual("hold", self.level())
        self.obeys("mend P1")
        daemon.send_signal(signal.SIGKILL)
        daemon.wait()
        daemon = self.start_daemon()
        self.assertEqual("healthy", self.picture()["record"]["state"])
        wait_for("readings", lambda: all(c["reading"]["quality"] == "good" for c in self.picture()["channels"]))
        wait_for("outputs", lambda: self.output("call_out")["read_back"])
        self.looked_at()
        self.permit_anew()
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait(program_test.PATIENCE_S))
        self.assertIn("the same decisions", self.done("replay", str(self.job)))
        self.assertFalse(pathlib.Path("/written").exists())


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
