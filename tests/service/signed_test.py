"""The record is signed by the station's key, as somebody finds it who has the programs and openssl."""
import pathlib
import signal
import sqlite3
import stat
import subprocess
import sys
import unittest

import program_test

VERIFY_SEALS = pathlib.Path(__file__).resolve().parents[1] / "record/verify_seals.py"


class Signed(program_test.Site):
    def checkpoints(self, columns):
        db = sqlite3.connect(f"file:{self.job / 'record.db'}?mode=ro", uri=True)
        self.addCleanup(db.close)
        return db.execute(f"SELECT {columns} FROM checkpoint").fetchall()

    def test_the_record_is_signed_to_its_end_by_the_stations_key_whose_public_half_is_shown(self):
        daemon = self.start_daemon()
        key = self.picture()["record"]["public_key"]
        secret = self.station / "record.key"
        self.assertEqual(0o600, stat.S_IMODE(secret.stat().st_mode))
        self.assertNotIn("NOT SIGNED", self.say("status").stdout)
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait())
        self.assertEqual({key}, {shown for (shown,) in self.checkpoints("public_key")})
        judged = subprocess.run([sys.executable, VERIFY_SEALS, self.job / "record.db", "key", key], capture_output=True, text=True)
        last = sqlite3.connect(self.job / "record.db").execute("SELECT max(batch) FROM seal").fetchone()[0]
        self.assertIn(f"proved; signed up to batch {last - 1} of {last} by key {key}", judged.stdout)
        self.assertNotIn(secret.read_text().strip().encode(), (self.job / "record.db").read_bytes())
        self.done("replay", str(self.job))

    def test_without_a_readable_key_it_serves_all_the_same_and_says_that_nothing_is_signed(self):
        (self.station / "record.key").write_text("a" * 64 + "\n")
        (self.station / "record.key").chmod(0o640)
        daemon = self.program(program_test.STANDFASTD, "--job", self.job, "--station", self.station, stderr=subprocess.PIPE, text=True)
        self.addCleanup(daemon.stderr.close)
        program_test.wait_for("the daemon to answer", lambda: self.say("status").returncode != program_test.NOT_REACHABLE)
        self.assertIn("NOT SIGNED", self.say("status").stdout)
        self.assertEqual("", self.picture()["record"]["public_key"])
        self.assertIn("others may read", self.picture()["record"]["unsigned"])
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(0, daemon.wait())
        self.assertIn("without checkpoints", daemon.stderr.read())
        self.assertEqual([], self.checkpoints("seq"))


if __name__ == "__main__":
    program_test.STANDFASTD, program_test.STANDFAST, program_test.RIG = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=2)
